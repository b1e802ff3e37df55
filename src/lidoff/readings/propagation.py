"""How what the meters would show answers tolerances and mains: each input moved to both ends of its range.

Straight lines and parabolas through the ends (JCGM 100 to second order); where that does not match the circuit itself
at a few random points, the circuit is solved at random points instead (JCGM 101).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.forward import Forward
from lidoff.readings.inputs import Input
from lidoff.readings.uncertainty import Response, spread_points

_CHECKS: Final = 5
_DRAWS: Final = 60
_OFF: Final = 0.35  # of a result's uncertainty by which the parabolas may miss the circuit
_NAMES: Final = {"mains": "the mains", "shape": "the shape of the mains", "tolerance": "the parts"}


@dataclass(frozen=True, slots=True)
class Spread:
    """The response of all probes with the interval that holds 95 % of each, and its standard uncertainty.

    `inputs` are the places of the inputs that were moved (the columns of the response are all inputs).
    """

    response: Response
    inputs: tuple[Input, ...]
    u: Floats
    low: Floats
    high: Floats

    def shares(self, probe: int) -> dict[str, float]:
        """What mains, shape and parts bring to a probe's standard uncertainty [unit of the reading]."""
        variances = self.response.variances[probe]
        found: dict[str, float] = {}
        for one, variance in zip(self.inputs, variances, strict=True):
            if one.origin in _NAMES:
                found[_NAMES[one.origin]] = found.get(_NAMES[one.origin], 0.0) + float(variance)
        total = sum(found.values())
        # Where draws from the circuit itself gave another size, the shares keep their proportions.
        scale = float(self.u[probe]) / math.sqrt(total) if total > 0.0 else 1.0
        return {name: math.sqrt(value) * scale for name, value in found.items()}

    def ends(self, probe: int, inputs: Sequence[Input], state: str | None) -> tuple[float, float] | None:
        """The probe's value with its state's mains at either end of its range."""
        for k, one in enumerate(inputs):
            if one.origin == "mains" and one.name == "supply.voltage" and (one.state or None) == state:
                centre, slope = self.response.centre[probe], self.response.slope[probe, k]
                bend = self.response.bend[probe, k]
                return float(centre - slope + bend), float(centre + slope + bend)
        return None


def spread_of(
    forward: Forward,
    z: Floats,
    fixed: frozenset[int],
    asked: Sequence[int] | None = None,
    solved_at: Floats | None = None,
) -> Spread:
    """The spread of every probe about coordinates `z`, the inputs in `fixed` held there.

    Only the probes `asked` for (all by default) are held against the circuit where parabolas may mislead. `solved_at`
    is a place next to `z` at which slopes are already known; they are taken over from there.
    """
    count = len(forward.inputs)
    centre = forward.values(z)
    about = z if solved_at is None else solved_at
    there = forward.values(about)
    slope, bend = np.zeros((centre.size, count)), np.zeros((centre.size, count))
    moving = [k for k in range(count) if k not in fixed]
    for k in moving:
        up, down = about.copy(), about.copy()
        up[k], down[k] = 1.0, -1.0
        above, below = forward.values(up), forward.values(down)
        # Where one end has no such value (nothing fires, say) the other end tells what it can.
        above = np.where(np.isfinite(above), above, 2.0 * there - below)
        below = np.where(np.isfinite(below), below, 2.0 * there - above)
        slope[:, k] = np.nan_to_num(0.5 * (above - below))
        bend[:, k] = np.nan_to_num(0.5 * (above + below) - there)
    response = Response(np.nan_to_num(centre), slope, bend)
    low, high = response.interval()
    spread = Spread(response, forward.inputs, response.u, low, high)
    rows = list(range(centre.size) if asked is None else asked)
    if not moving or not rows or not response.rows(rows).bent:
        return spread
    return _checked(forward, z, moving, spread, rows)


def spread_with_unknowns(forward: Forward, spread: Spread, middle: Floats, covariance: Floats) -> Spread:
    """The spread of every probe with the unknowns not held but about `middle` with that covariance (coordinates).

    `spread` is that about the same place with the unknowns held. The columns of the unknowns become their main axes,
    each taken as equally likely within the root of three times its standard deviation.
    """
    count = middle.size
    z = np.zeros(len(forward.inputs))
    z[:count] = middle
    centre = forward.values(z)
    slope, bend = spread.response.slope.copy(), spread.response.bend.copy()
    sizes, axes = np.linalg.eigh(np.atleast_2d(covariance))
    for j in range(count):
        reach = math.sqrt(3.0 * max(float(sizes[j]), 0.0)) * axes[:, j]
        up, down = z.copy(), z.copy()
        up[:count], down[:count] = np.clip(middle + reach, -1.0, 1.0), np.clip(middle - reach, -1.0, 1.0)
        above, below = forward.values(up), forward.values(down)
        above = np.where(np.isfinite(above), above, 2.0 * centre - below)
        below = np.where(np.isfinite(below), below, 2.0 * centre - above)
        slope[:, j] = np.nan_to_num(0.5 * (above - below))
        bend[:, j] = np.nan_to_num(0.5 * (above + below) - centre)
    response = Response(np.nan_to_num(centre), slope, bend)
    low, high = response.interval()
    return Spread(response, spread.inputs, response.u, low, high)


def _checked(forward: Forward, z: Floats, moving: list[int], spread: Spread, rows: list[int]) -> Spread:
    """The spread as it is where the parabolas match the circuit, else from draws of the circuit."""
    draws = 2.0 * spread_points(_DRAWS, len(moving)) - 1.0

    def values(row: Floats) -> Floats:
        at = z.copy()
        at[moving] = row
        return forward.values(at, rows)

    def guesses(rows: Floats) -> Floats:
        at = np.tile(z, (rows.shape[0], 1))
        at[:, moving] = rows
        # Coordinates of fixed inputs do not move the response: their slopes are 0.
        return spread.response.at(at)

    first = np.array([values(row) for row in draws[:_CHECKS]])
    missed = np.nan_to_num(np.abs(first - guesses(draws[:_CHECKS])))[:, rows]
    if not bool((missed.max(axis=0) > _OFF * spread.u[rows]).any()):
        return spread
    solved = np.concatenate([first, np.array([values(row) for row in draws[_CHECKS:]])])
    with np.errstate(all="ignore"):
        kept = np.where(np.isfinite(solved), solved, spread.response.centre)
    u, low, high = spread.u.copy(), spread.low.copy(), spread.high.copy()
    u[rows] = kept[:, rows].std(axis=0)
    low[rows], high[rows] = np.quantile(kept[:, rows], (0.025, 0.975), axis=0)
    return Spread(spread.response, spread.inputs, u, low, high)
