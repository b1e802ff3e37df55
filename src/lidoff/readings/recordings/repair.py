"""What a probe did to a wave, recognised and undone: a blocked mean, an offset, a drift, the wrong way round."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats

_QUIET: Final = 0.06  # rms left in the blocked half, share of the peak, up to which a half-wave is believed
_SLOPE: Final = 0.15  # how much of the conducting half's slope on the voltage the blocked half may show
_EDGE: Final = 0.1  # of a half-cycle at either end, left out: current there is small in any case


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfWave:
    """A half-wave load behind an ac-coupled probe: the current with its mean put back, and the probe's time constant.

    time_constant [s] is infinite where only the mean was lost; `quiet` is the rms left in the blocked half over the
    peak [1].
    """

    current: Floats
    time_constant: float
    quiet: float
    blocked_mean: float


def half_wave(voltage: Floats, current: Floats, period: float) -> HalfWave | None:
    """The half-wave behind one cycle of current, or None where it is none.

    Voltage begins at its rising zero. In the blocked half nothing flows, so what the probe shows there is its own
    droop: with x shown, y = x + k X + c flows, X being the integral of x, and k and c follow from y = 0 there (a
    first-order high-pass undone; k is the inverse of its time constant).
    """
    count = current.size
    angle = np.arange(count) / count
    found: list[HalfWave] = []
    for start in (0.0, 0.5):
        blocked = (angle > start + 0.5 * _EDGE) & (angle < start + 0.5 - 0.5 * _EDGE)
        others = ~((angle >= start) & (angle < start + 0.5))
        slope = _slope(voltage[blocked], current[blocked])
        passing = _slope(voltage[others], current[others])
        if passing <= 0.0 or abs(slope) > _SLOPE * passing:
            continue
        total = np.concatenate([[0.0], np.cumsum(0.5 * (current[1:] + current[:-1]))]) * period / count
        basis = np.stack([total[blocked], np.ones(int(blocked.sum()))], axis=1)
        k, c = np.linalg.lstsq(basis, -current[blocked], rcond=None)[0]
        if k < 0.0:
            k, c = 0.0, -float(current[blocked].mean())
        flows = current + k * total + c
        peak = float(np.abs(flows).max())
        quiet = math.sqrt(float((flows[blocked] ** 2).mean())) / peak if peak > 0.0 else math.inf
        if (
            quiet <= _QUIET
            and _stands(current, start, float(current[blocked].mean()), peak)
            and _alike(voltage[others], flows[others])
        ):
            found.append(
                HalfWave(
                    current=flows,
                    time_constant=1.0 / k if k > 0.0 else math.inf,
                    quiet=quiet,
                    blocked_mean=float(current[blocked].mean()),
                )
            )
    return min(found, key=lambda one: one.quiet) if found else None


def _stands(current: Floats, start: float, level: float, peak: float) -> bool:
    """Whether the current stands at the blocked half's level already where the voltage passes through zero.

    A flat-topped current would look much the same over the half-cycle, but it passes through zero there.
    """
    if abs(level) < 0.03 * peak:
        return True
    count = current.size
    few = max(1, count // 60)
    ends = [int((start + side) * count) for side in (0.0, 0.5)]
    # Just inside the blocked half, from either end.
    first = float(current[np.arange(ends[0], ends[0] + few) % count].mean())
    last = float(current[np.arange(ends[1] - few, ends[1]) % count].mean())
    return 0.5 * (first + last) / level > 0.6


def _slope(voltage: Floats, current: Floats) -> float:
    off = voltage - voltage.mean()
    return float(off @ (current - current.mean()) / max(float(off @ off), 1e-300))


def _alike(voltage: Floats, current: Floats) -> bool:
    """Whether the conducting half follows the voltage well enough to be a load and not a pulse or noise."""
    size = math.sqrt(float(voltage @ voltage) * float(current @ current))
    return size > 0.0 and float(voltage @ current) / size > 0.85


def drift_of(every: Floats) -> Floats:
    """The mean of each cycle (cycles, points) [unit of the wave]."""
    return np.asarray(every.mean(axis=1))


def without_drift(wave: Floats, cycles: int) -> Floats:
    """A wave of whole cycles without the straight line through its cycles' means."""
    means = wave[: wave.size // cycles * cycles].reshape(cycles, -1).mean(axis=1)
    place = (np.arange(cycles) + 0.5) / cycles
    slope, start = np.polyfit(place, means, 1)
    return np.asarray(wave - (start + slope * (np.arange(wave.size) + 0.5) / wave.size))


def seam(cycle: Floats) -> float:
    """The step from a cycle's end to its beginning [unit of the wave]: nothing where it repeats.

    Straight lines through the last and the first thirtieth, led on to where they meet, so that neither noise nor a
    steep passage counts as a step.
    """
    few = max(4, cycle.size // 30)
    place = np.arange(few) + 0.5
    begins = np.polyval(np.polyfit(place, cycle[:few], 1), 0.0)
    ends = np.polyval(np.polyfit(place - few, cycle[-few:], 1), 0.0)
    return float(ends - begins)


def without_ramp(cycle: Floats) -> Floats:
    """A single cycle without the ramp that keeps its end from meeting its beginning."""
    place = (np.arange(cycle.size) + 0.5) / cycle.size
    return np.asarray(cycle - seam(cycle) * (place - 0.5))
