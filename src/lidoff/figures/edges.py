"""Steps in a current wave: where a switch closes or opens, and by how much the current jumps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

LONGEST_STEP: Final = 20e-6
"""Samples further apart than this [s] cannot tell a step from a slope."""

STEEP: Final = 100.0
"""A step rises this many times faster than a sine of the same peak and period crosses zero (our choice)."""

LEAST: Final = 0.01
"""Steps below this share of the peak are left out (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A step of the current: its time [s], its height [A, signed], and how long the wave takes for it [s]."""

    time: float
    step: float
    rise: float


def find_edges(time: ArrayLike, current: ArrayLike, period: float) -> tuple[Edge, ...]:
    """The steps of a current wave over one period or more, in the order of time.

    time [s] rises (two equal times make a step), current [A] is piecewise linear between, `period` [s] is that of the
    mains. Neighbouring steep stretches of one direction are one edge. How long a solved wave takes for a step is a
    property of the model, not of the part. Raises ValueError for a uniform wave too coarse to show a step.
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
    steepest = STEEP * top * 2.0 * np.pi / period
    steep = (np.abs(jump) > steepest * gap) & (gap <= LONGEST_STEP)
    direction = np.where(steep, np.sign(jump), 0.0)
    found = []
    starts = np.nonzero((direction != 0.0) & (np.concatenate(([0.0], direction[:-1])) != direction))[0]
    for start in starts.tolist():
        end = start
        while end + 1 < direction.size and direction[end + 1] == direction[start]:
            end += 1
        step = float(i[end + 1] - i[start])
        if abs(step) >= LEAST * top:
            found.append(Edge(time=float(t[start]), step=step, rise=float(t[end + 1] - t[start])))
    return tuple(found)
