"""What the readings leave of the unknowns: points with weights, and the figures taken from them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.inputs import Input
from lidoff.readings.model import Inferred, Joint
from lidoff.record import Table

_EDGE: Final = 0.05  # density at an end of the range, as a share of the largest, from which that side is open
_VALLEY: Final = 0.3  # of the lower peak: what lies between two separate values
_TOGETHER: Final = 0.95  # correlation beyond which two unknowns are not told apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """Points of the unknowns (points, unknowns), in coordinates, with weights that sum to 1.

    `expected` and `spread` (readings,) are the mean and standard deviation of what each meter would show as the *other*
    readings have it. `wrong` (readings,) is the probability that this reading, and no other, is plainly wrong.
    `fits` is False where no point explains the readings, even all but one. `inputs_mean` and `inputs_covariance` are of
    all inputs' coordinates, unknowns first. `sloped_at` (unknowns,) is where the circuit was first solved with every
    other input moved to its ends, None where that was not done.
    """

    inputs: tuple[Input, ...]
    unknowns: int
    points: Floats
    weights: Floats
    expected: Floats
    spread: Floats
    wrong: Floats
    fits: bool
    inputs_mean: Floats
    inputs_covariance: Floats
    box: tuple[tuple[float, float], ...]
    regular: bool
    solves: int = 0
    sloped_at: Floats | None = None

    @property
    def suspect(self) -> int | None:
        """The reading that is more likely wrong than not, None where there is none."""
        if self.wrong.size == 0:
            return None
        worst = int(self.wrong.argmax())
        return worst if self.wrong[worst] > 0.5 else None

    @property
    def correlation(self) -> Floats:
        """Correlation of the unknowns' coordinates."""
        mean = self.weights @ self.points
        centred = self.points - mean
        covariance = (centred * self.weights[:, None]).T @ centred
        size = np.sqrt(np.clip(np.diag(covariance), 1e-300, None))
        return np.asarray(covariance / np.outer(size, size))


def marginal(places: Floats, weights: Floats, bins: int = 60) -> tuple[Floats, Floats]:
    """The density of one coordinate: places and densities, each place once (or in bins where there are many)."""
    unique, index = np.unique(places, return_inverse=True)
    mass: Floats = np.bincount(index.ravel(), weights).astype(np.float64)
    if unique.size <= 4 * bins:
        return unique, mass
    low, high = float(unique[0]), float(unique[-1])
    counted, edges = np.histogram(places, bins=bins, range=(low, high), weights=weights)
    return 0.5 * (edges[1:] + edges[:-1]), np.asarray(counted, dtype=np.float64)


def quantiles(places: Floats, weights: Floats, shares: Sequence[float]) -> list[float]:
    """Weighted quantiles, each point's weight spread evenly to the middles between it and its neighbours."""
    unique, index = np.unique(places, return_inverse=True)
    mass = np.bincount(index.ravel(), weights)
    if unique.size == 1:
        return [float(unique[0])] * len(shares)
    middles = 0.5 * (unique[1:] + unique[:-1])
    edges = np.concatenate([[unique[0]], middles, [unique[-1]]])
    total = np.concatenate([[0.0], np.cumsum(mass)])
    return [float(value) for value in np.interp(np.asarray(shares) * total[-1], total, edges)]


def inferred_of(posterior: Posterior, touched: Sequence[bool]) -> tuple[Inferred, ...]:
    """Each unknown with its median and 95 % interval; `touched` says whether any reading hangs on it."""
    correlation = posterior.correlation
    found = []
    for k in range(posterior.unknowns):
        one = posterior.inputs[k]
        others = {
            posterior.inputs[j].id: round(float(correlation[k, j]), 4) for j in range(posterior.unknowns) if j != k
        }
        found.append(_inferred(posterior, k, one, others, touched[k]))
    return tuple(found)


def untouched(one: Input) -> Inferred:
    """An unknown that no reading hangs on: its whole range, and nothing learnt."""
    low, median, high = (float(one.at(z)) for z in (-1.0, 0.0, 1.0))
    return Inferred(
        key=one.name,
        state=one.state or None,
        median=median,
        low95=low,
        high95=high,
        unit=one.unit,
        searched=(one.low, one.high),
        open_low=True,
        open_high=True,
        touched=False,
        note=f"No reading hangs on {one.name}: nothing is learnt about it.",
    )


def _inferred(posterior: Posterior, k: int, one: Input, others: dict[str, float], touched: bool) -> Inferred:
    places, weights = posterior.points[:, k], posterior.weights
    if not touched:
        return untouched(one)
    low_z, median_z, high_z = quantiles(places, weights, (0.025, 0.5, 0.975))
    if one.whole:
        low_z, median_z, high_z = (_whole(one, places, weights, share) for share in (0.025, 0.5, 0.975))
    grid, mass = marginal(places, weights)
    density = mass / np.gradient(grid) if grid.size > 1 else mass
    open_low, open_high = _open_ends(posterior.box[k], density)
    low, median, high = (float(one.at(z)) for z in (low_z, median_z, high_z))
    modes = _modes(one, grid, density, mass)
    return Inferred(
        key=one.name,
        state=one.state or None,
        median=median,
        low95=float(one.low) if open_low and not one.given else low,
        high95=float(one.high) if open_high and not one.given else high,
        unit=one.unit,
        searched=(one.low, one.high),
        open_low=open_low,
        open_high=open_high,
        modes=modes,
        correlation=Table(others),
        note=_note(one, open_low, open_high, modes, others, posterior),
    )


def _whole(one: Input, places: Floats, weights: Floats, share: float) -> float:
    order = np.argsort(places)
    total = np.cumsum(weights[order])
    return float(places[order][min(int(np.searchsorted(total, share * total[-1])), places.size - 1)])


def _open_ends(box: tuple[float, float], density: Floats) -> tuple[bool, bool]:
    """Whether the density is still up where the searched range ends."""
    top = float(density.max())
    return (
        bool(box[0] <= -1.0 + 1e-9 and float(density[0]) > _EDGE * top),
        bool(box[1] >= 1.0 - 1e-9 and float(density[-1]) > _EDGE * top),
    )


def _modes(one: Input, grid: Floats, density: Floats, mass: Floats) -> tuple[tuple[float, float], ...]:
    """Separate peaks with the share of the mass about each, where there is more than one worth naming."""
    if grid.size < 5 or one.whole:
        return ()
    smooth = np.convolve(np.pad(density, 2, mode="edge"), np.ones(5) / 5.0, mode="valid")
    peaks = [
        i
        for i in range(grid.size)
        if smooth[i] == smooth[max(i - 3, 0) : i + 4].max() and smooth[i] > 0.02 * smooth.max()
    ]
    kept: list[int] = []
    for peak in peaks:
        if kept and smooth[kept[-1] : peak + 1].min() > _VALLEY * min(smooth[kept[-1]], smooth[peak]):
            if smooth[peak] > smooth[kept[-1]]:
                kept[-1] = peak
            continue
        kept.append(peak)
    if len(kept) < 2:
        return ()
    cuts = [a + int(smooth[a : b + 1].argmin()) for a, b in itertools.pairwise(kept)]
    shares = [float(part.sum()) for part in np.split(mass, cuts)]
    found = [(float(one.at(grid[p])), share) for p, share in zip(kept, shares, strict=True) if share > 0.03]
    return tuple(sorted(found, key=lambda mode: -mode[1])) if len(found) > 1 else ()


def _note(
    one: Input,
    open_low: bool,
    open_high: bool,
    modes: tuple[tuple[float, float], ...],
    others: dict[str, float],
    posterior: Posterior,
) -> str:
    from lidoff.readings.words import amount

    said = []
    if not one.given:
        said.append(
            f"No bounds were written; {amount(one.low, one.unit)} to {amount(one.high, one.unit)} was searched."
        )
    if open_low and open_high:
        said.append("The readings do not bound it: every value in the range explains them.")
    elif open_low or open_high:
        side = "below" if open_low else "above"
        end = "with the range that was written" if one.given else "where the search did"
        said.append(f"The readings do not bound it {side}: the interval ends {end}.")
    if modes:
        values = " or ".join(f"{amount(value, one.unit)} ({share:.0%})".replace("%", " %") for value, share in modes)
        said.append(f"Separate values explain the readings: {values}.")
    for name, value in others.items():
        if abs(value) > _TOGETHER:
            said.append(
                f"It is not told apart from {name} (correlation {value:+.2f}): the readings hold the two together only."
            )
    if not posterior.fits:
        said.append("No value in the range explains the readings: this is only where they fit least badly.")
    return " ".join(said)


def joint_of(posterior: Posterior, bins: int = 41) -> Joint | None:
    """The joint density of the first two unknowns, None where there are fewer."""
    if posterior.unknowns != 2:
        return None
    first, second = posterior.inputs[:2]
    sides = []
    for k in (0, 1):
        low, high = quantiles(posterior.points[:, k], posterior.weights, (0.0005, 0.9995))
        margin = 0.1 * (high - low) + 1e-6
        sides.append((max(low - margin, -1.0), min(high + margin, 1.0)))
    table, x, y = _table(posterior, sides, bins)
    density = table.T / table.max()
    return Joint(
        keys=(first.id, second.id),
        units=(first.unit, second.unit),
        x=tuple(float(value) for value in np.atleast_1d(first.at(x))),
        y=tuple(float(value) for value in np.atleast_1d(second.at(y))),
        density=tuple(tuple(round(float(v), 5) for v in row) for row in density),
        logarithmic=(first.logarithmic, second.logarithmic),
    )


def _table(posterior: Posterior, sides: list[tuple[float, float]], bins: int) -> tuple[Floats, Floats, Floats]:
    """Mass by places of the first and the second unknown: the grid's own places, or bins where points lie anyhow."""
    if not posterior.regular:
        counted, x, y = np.histogram2d(
            posterior.points[:, 0], posterior.points[:, 1], bins=bins, range=sides, weights=posterior.weights
        )
        return np.asarray(counted), 0.5 * (x[1:] + x[:-1]), 0.5 * (y[1:] + y[:-1])
    places, index = zip(*(np.unique(posterior.points[:, k], return_inverse=True) for k in (0, 1)), strict=True)
    table = np.zeros((places[0].size, places[1].size))
    table[index[0].ravel(), index[1].ravel()] = posterior.weights
    kept = [(places[k] >= sides[k][0]) & (places[k] <= sides[k][1]) for k in (0, 1)]
    return table[np.ix_(kept[0], kept[1])], places[0][kept[0]], places[1][kept[1]]
