"""Steps in a current wave: where a switch closes or opens, and by how much the current jumps."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from lidoff.figures.wave import Floats

LONGEST_STEP: Final = 20e-6
"""Samples further apart than this [s] cannot tell a step from a slope."""

LONGEST_EDGE: Final = 5e-6
"""What takes longer than this [s], two samples of spread apart, is a slope and no edge (our choice).

A rectifier that begins to charge a capacitor takes tens of microseconds even in a wave computed without inductance; on
the artificial mains network, 50 uH in each line, it takes longer still.
"""

STEEP: Final = 10.0
"""A stretch of an edge is steeper than this many sines of the same peak and period at their zero crossing (ours)."""

STANDS_OUT: Final = 10.0
"""An edge on a slope is this many times steeper than the wave beside it (ours)."""

LEAST: Final = 0.01
"""Steps below this share of the peak are left out (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A step of the current: its time [s], its height [A, signed], and how long the wave takes for it [s]."""

    time: float
    step: float
    rise: float


def find_edges(time: ArrayLike, current: ArrayLike, period: float) -> tuple[Edge, ...]:
    """The steps of a current wave over one period or more, in the order of time.

    time [s] rises (two equal times make a step), current [A] is piecewise linear between, `period` [s] is that of the
    mains. Neighbouring steep stretches of one direction are one edge; a steep part that takes long, as where a diode
    begins to charge a capacitor or a regulator leaves its knee, is a slope. How long a solved wave takes for a step is
    a property of the model and of the sampling, not of the part. On samples d apart, steps below about 20 pi d/period
    of the peak drown. Raises ValueError for a wave too coarse to show a step.
    """
    t = np.asarray(time, dtype=np.float64)
    i = np.asarray(current, dtype=np.float64)
    gap, jump = np.diff(t), np.diff(i)
    if gap.size and float(gap.min()) > LONGEST_STEP:
        raise ValueError(
            f"samples {1e6 * float(gap.min()):.0f} us apart cannot tell a step from a slope; "
            f"give {1.0 / LONGEST_STEP:.0f} samples a second or more"
        )
    top = float(np.abs(i).max(initial=0.0))
    if top == 0.0:
        return ()
    # A vertical stretch has no slope to speak of; it counts as a very short one.
    slope = np.where(gap <= LONGEST_STEP, jump / np.maximum(gap, 1e-9), 0.0)
    level = STEEP * top * 2.0 * np.pi / period
    found = []
    for start, end in _runs(slope, level):
        part = (start, end) if _short(gap, start, end) else _standing_out(slope, gap, start, end)
        if part is not None and abs(float(i[part[1]] - i[part[0]])) >= LEAST * top:
            first, last = part
            found.append(Edge(time=float(t[first]), step=float(i[last] - i[first]), rise=float(t[last] - t[first])))
    return tuple(found)


def _runs(slope: Floats, level: float) -> list[tuple[int, int]]:
    """Runs of stretches of one direction that are all steeper than `level`: first and last point of each."""
    direction = np.where(np.abs(slope) > level, np.sign(slope), 0.0)
    turns = np.nonzero(np.diff(direction, prepend=0.0, append=0.0))[0].tolist()
    return [(start, end) for start, end in pairwise(turns) if direction[start] != 0.0]


def _short(gap: Floats, start: int, end: int) -> bool:
    """Whether a run is short enough for an edge, the two samples that a step may spread over taken off."""
    spread = 2.0 * float(gap[start:end].max())
    return float(gap[start:end].sum()) - spread <= LONGEST_EDGE


def _standing_out(slope: Floats, gap: Floats, start: int, end: int) -> tuple[int, int] | None:
    """The short part of a long run that is far steeper than the wave on either side of it, if there is one."""
    top = start + int(np.argmax(np.abs(slope[start:end])))
    first, last = top, top + 1
    # A step spreads over two stretches at most: the steepest takes its steeper neighbour along.
    before = abs(float(slope[top - 1])) if top > start else 0.0
    after = abs(float(slope[top + 1])) if top + 1 < end else 0.0
    if max(before, after) > 0.0:
        first, last = (top - 1, last) if before > after else (first, last + 1)
    beside = max(abs(float(slope[first - 1])) if first > start else 0.0, abs(float(slope[last])) if last < end else 0.0)
    steepest = abs(float(slope[top]))
    return (first, last) if _short(gap, first, last) and steepest > STANDS_OUT * beside else None
