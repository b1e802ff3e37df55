"""Which of several readings that contradict one another is the wrong one: each is left out in turn.

Leaving a reading out mends the matter where no relation among the rest is broken and the rest fit the circuit together,
whatever the mains and the parts are within their ranges (chi-squared of the best fit; JCGM 100 has no rule for this).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import chdtri

from lidoff.figures.wave import Floats
from lidoff.readings.contradictions import Broken, Notes, broken_relations
from lidoff.readings.uncertainty import Response

_ODDS: Final = 0.0455  # chance of a miss beyond two standard uncertainties
_CLEARER: Final = 6.0  # chi-squared by which the next best must be worse (odds of 20 to 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Readings of one state as the circuit gives them: `readings` in the order of the response's results."""

    readings: tuple[int, ...]
    measured: Floats
    sigma: Floats
    response: Response


@dataclass(frozen=True, slots=True, kw_only=True)
class Culprit:
    """What leaving out tells: the one reading that is wrong, or None where it cannot be told among `suspects`."""

    reading: int | None
    suspects: tuple[int, ...]
    broken: tuple[Broken, ...]


def best_fit(fit: Fit, chosen: Sequence[int]) -> float:
    """Chi-squared of the chosen results (places in `fit.readings`) with the inputs where they fit best [1].

    Gauss-Newton; each input's range counts as a standard uncertainty of its half-width over the root of three.
    """
    rows = list(chosen)
    inputs = fit.response.slope.shape[1]
    z = np.zeros(inputs)
    weight = 1.0 / fit.sigma[rows]

    def misses(at: Floats) -> Floats:
        return np.concatenate([(fit.measured[rows] - fit.response.at(at[None, :])[0][rows]) * weight, -at * 3.0**0.5])

    best = float(misses(z) @ misses(z))
    for _ in range(12):
        slope = (fit.response.slope[rows] + 2.0 * fit.response.bend[rows] * z) * weight[:, None]
        matrix = np.concatenate([slope, np.eye(inputs) * 3.0**0.5])
        step = np.linalg.lstsq(matrix, misses(z), rcond=None)[0]
        for _ in range(6):
            value = float(misses(z + step) @ misses(z + step))
            if value <= best:
                break
            step = 0.5 * step
        else:
            break
        z = z + step
        done = best - value < 1e-6
        best = value
        if done:
            break
    return best


def find_culprit(
    notes: Notes,
    broken: Sequence[Broken],
    fit_of: Callable[[tuple[int, ...]], Fit | None],
    aside: frozenset[int] = frozenset(),
    suspect: int | None = None,
) -> Culprit:
    """The wrong one among readings whose relations are broken.

    `fit_of` gives the circuit's side for a set of readings, None where there is no circuit to ask; readings in `aside`
    are bound by no relation; `suspect` is the reading that other considerations already call wrong.
    """
    involved = tuple(sorted({reading for one in broken for reading in one.readings}))
    mending: list[tuple[float, int]] = []
    for reading in involved:
        rest = [one for one in broken_relations(notes, without=aside | {reading}) if set(one.readings) & set(involved)]
        if rest:
            continue
        remaining = tuple(other for other in involved if other != reading)
        fit = fit_of(remaining)
        if fit is None or not fit.readings:
            mending.append((0.0, reading))
            continue
        chi2 = best_fit(fit, range(len(fit.readings)))
        if chi2 <= chdtri(float(len(fit.readings)), _ODDS):
            mending.append((chi2, reading))
    mending.sort()
    if len(mending) == 1 or (len(mending) > 1 and mending[1][0] > mending[0][0] + _CLEARER):
        return Culprit(reading=mending[0][1], suspects=(mending[0][1],), broken=tuple(broken))
    suspects = tuple(sorted(reading for _, reading in mending)) or involved
    if suspect in suspects:
        return Culprit(reading=suspect, suspects=(suspect,), broken=tuple(broken))
    return Culprit(reading=None, suspects=suspects, broken=tuple(broken))
