"""One or two unknowns found on a grid, everything else that is uncertain averaged over.

The grid is drawn closer about what explains the readings, a box at a time; between its nodes results are interpolated.
Tolerances and mains move the results from there by straight lines and parabolas taken at a few points, and are averaged
over by draws that are themselves drawn closer where the readings are sharp (JCGM 101 for the drawing; Bayes' rule).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.inputs import Input
from lidoff.readings.lattice import Box, Lattice, axis, lattice_of, nodes_of
from lidoff.readings.likelihood import WRONG, Evidence
from lidoff.readings.posterior import Posterior
from lidoff.readings.seeking import Seeker
from lidoff.readings.uncertainty import spread_points

_NODES: Final = {1: 17, 2: 9}
_NODES_CLOSE: Final = {1: 9, 2: 9}  # once a box is so much smaller than the last (`_CLOSE`) that results hardly bend
_CLOSE: Final = 0.3
_FINE: Final = {1: 401, 2: 55}
_SUBDIVIDED: Final = {1: 12, 2: 8}
_ROUNDS: Final = 8
_DRAWS: Final = {1: 256, 2: 96}
_ENOUGH: Final = 40.0  # effective draws below which they are drawn again, closer
_SMALL: Final = 0.03  # of the reading's own uncertainty: what an input moves less is left out
_ROUGH: Final = 0.2  # of the reading's own uncertainty, up to which interpolation may be off
_LOST: Final = 1e-4  # posterior mass that may lie outside of the next box
_GLIMPSES: Final = 5
_HERE: Final = 0.02  # share of an unknown's value: slopes taken this near are those of the place itself


@dataclass(frozen=True, slots=True)
class Nuisance:
    """How the other inputs (`places` among all) move results: slopes and bends at a few points, linear between.

    `slope` and `bend` are (1 + unknowns, results, inputs): a constant and a gradient along each unknown from `centre`.
    """

    places: tuple[int, ...]
    centre: Floats
    slope: Floats
    bend: Floats

    def at(self, theta: Floats) -> tuple[Floats, Floats]:
        """Slopes and bends (points, results, inputs) at points of the unknowns."""
        basis = np.concatenate([np.ones((theta.shape[0], 1)), theta - self.centre], axis=1)
        return np.tensordot(basis, self.slope, 1), np.tensordot(basis, self.bend, 1)

    @property
    def u(self) -> Floats:
        """Standard uncertainty that they give each result at the centre."""
        return np.asarray(np.sqrt((self.slope[0] ** 2 / 3.0 + self.bend[0] ** 2 * (4.0 / 45.0)).sum(axis=-1)))


class Search(Seeker):
    """The search on a grid."""

    def run(self) -> Posterior:
        """The posterior of the unknowns."""
        box: Box = ((-1.0, 1.0),) * self.unknowns
        count = _NODES[self.unknowns]
        nuisance: Nuisance | None = None
        felt = tuple(range(self.unknowns, len(self.inputs)))
        for turn in range(_ROUNDS):
            lattice = self._lattice(box, count)
            best, tight, doubt = self._tighter(lattice, nuisance)
            if turn < 2 and felt and not self._is_near(nuisance, best):
                # What else is uncertain widens what could explain the readings: known only where it is looked at.
                known = self.sloped_at
                at = known if known is not None and near(self.inputs, known, best) else best
                nuisance = self._nuisance(at[None, :], felt)
                felt = nuisance.places
                best, tight, doubt = self._tighter(lattice, nuisance)
            shrunk = math.prod((b[1] - b[0]) / (a[1] - a[0]) for a, b in zip(box, tight, strict=True))
            rough = bool((doubt > _ROUGH * self.sigma).any())
            if shrunk > 0.5:
                if not rough or count > 2 * _NODES[self.unknowns]:
                    break
                count = 2 * count - 1
            else:
                box = tight
                if shrunk < _CLOSE:
                    count = _NODES_CLOSE[self.unknowns]
        return self._finish(lattice, best, felt, nuisance)

    def _is_near(self, nuisance: Nuisance | None, theta: Floats) -> bool:
        """Whether slopes were taken close enough to `theta` to hold there."""
        return nuisance is not None and near(self.inputs, nuisance.centre, theta)

    def _full(self, theta: Floats, others: Floats | None = None) -> Floats:
        """Results with the unknowns at theta and the other inputs at `others` (at their middles by default)."""
        z = np.zeros(len(self.inputs))
        z[: self.unknowns] = theta
        if others is not None:
            z[self.unknowns :] = others
        self.solves += 1
        return self.function(z)

    def _lattice(self, box: Box, count: int) -> Lattice:
        values = np.array([self._full(theta) for theta in nodes_of(box, count)])
        return lattice_of(box, count, values)

    def _tighter(self, lattice: Lattice, nuisance: Nuisance | None) -> tuple[Floats, Box, Floats]:
        """The best point of a box, the box that still holds what could explain the readings, the doubt there."""
        fine = (lattice.count - 1) * _SUBDIVIDED[self.unknowns] + 1
        points = nodes_of(lattice.box, fine)
        shown = lattice.at(points)
        # As much slack as the result changes from one point to the next: nothing narrow is stepped over.
        table = shown.reshape(*(fine,) * self.unknowns, -1)
        slack = np.zeros_like(table)
        for side in range(self.unknowns):
            slack = np.maximum(slack, np.abs(np.nan_to_num(np.gradient(table, axis=side))))
        doubt = lattice.doubt(points, shown)
        slack = slack.reshape(shown.shape) + 2.0 * doubt
        if nuisance is not None:
            slack = np.hypot(slack, nuisance.u)
        elif len(self.inputs) > self.unknowns:
            slack = np.hypot(slack, self._glimpse)
        logs = self._robust(self.evidence.logs(shown, slack))
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        best = points[int(weights.argmax())]
        tight = []
        for side, (low, high) in enumerate(lattice.box):
            places = axis((low, high), fine)
            mass = weights.reshape((fine,) * self.unknowns).sum(
                axis=tuple(k for k in range(self.unknowns) if k != side)
            )
            total = np.cumsum(mass)
            first = int(np.searchsorted(total, _LOST))
            last = int(np.searchsorted(total, 1.0 - _LOST))
            margin = max(2.0 * (high - low) / (fine - 1), 0.1 * (places[min(last, fine - 1)] - places[first]))
            tight.append((max(low, places[first] - margin), min(high, places[min(last, fine - 1)] + margin)))
        return best, tuple(tight), weights @ doubt

    @cached_property
    def _glimpse(self) -> Floats:
        """Roughly how much all other inputs together move each result, from a few draws at the middle of the ranges."""
        count = len(self.inputs) - self.unknowns
        middle = np.zeros(self.unknowns)
        centre = self._full(middle)
        moved = np.array([self._full(middle, row) for row in 2.0 * spread_points(_GLIMPSES, count) - 1.0]) - centre
        return np.asarray(np.sqrt(np.mean(np.nan_to_num(moved) ** 2, axis=0)))

    def _robust(self, logs: Floats) -> Floats:
        """Log density with any one reading perhaps wrong."""
        whole = logs.sum(axis=1)
        if logs.shape[1] <= self.unknowns:
            return np.asarray(whole)
        each = whole[:, None] - logs + self.evidence.if_wrong + math.log(WRONG / logs.shape[1])
        return np.asarray(np.logaddexp(whole, np.logaddexp.reduce(each, axis=1)))

    @staticmethod
    def _peaked(logs: Floats) -> Floats:
        return np.asarray(logs - logs.max())

    def _nuisance(self, at: Floats, places: Sequence[int]) -> Nuisance:
        """Slopes and bends of the inputs at `places` at points of the unknowns, fitted by a plane."""
        count = len(places)
        results = self.sigma.size
        slopes = np.zeros((at.shape[0], results, count))
        bends = np.zeros((at.shape[0], results, count))
        for row, theta in enumerate(at):
            centre = self._full(theta)
            for k in range(count):
                end = np.zeros(len(self.inputs) - self.unknowns)
                end[places[k] - self.unknowns] = 1.0
                above, below = self._full(theta, end), self._full(theta, -end)
                slopes[row, :, k] = 0.5 * (above - below)
                bends[row, :, k] = 0.5 * (above + below) - centre
        if self.sloped_at is None:
            self.sloped_at = at[0]
        slopes, bends = np.nan_to_num(slopes), np.nan_to_num(bends)
        size = np.abs(slopes).max(axis=0) + np.abs(bends).max(axis=0)
        kept = [k for k in range(count) if bool((size[:, k] > _SMALL * self.sigma).any())]
        middle = at.mean(axis=0)
        basis = np.concatenate([np.ones((at.shape[0], 1)), at - middle], axis=1)
        if at.shape[0] == 1:
            basis[:, 1:] = 0.0

        def plane(table: Floats) -> Floats:
            flat = np.linalg.lstsq(basis, table.reshape(at.shape[0], -1), rcond=None)[0]
            return np.asarray(flat.reshape(1 + self.unknowns, results, -1))

        return Nuisance(
            places=tuple(places[k] for k in kept),
            centre=middle,
            slope=plane(slopes[:, :, kept]),
            bend=plane(bends[:, :, kept]),
        )

    def _finish(self, lattice: Lattice, best: Floats, felt: Sequence[int], before: Nuisance | None) -> Posterior:
        points = self._fine(lattice.box)
        shown = lattice.at(points)
        known = before if self._is_near(before, best) else None
        first = self._nuisance(best[None, :], felt) if known is None else known
        weight = np.exp(self._peaked(self._robust(self.evidence.logs(shown, np.broadcast_to(first.u, shown.shape)))))
        doubt = (weight / weight.sum()) @ lattice.doubt(points, shown)
        evidence = Evidence(self.evidence.errors, np.hypot(self.evidence.slack, doubt))
        nuisance = first
        if first.places:
            spanning = _spanning(points, weight)
            if not all(self._is_near(first, place) for place in spanning):
                nuisance = self._nuisance(spanning, first.places)
        return _Averaging(self, evidence, points, shown, nuisance, lattice.box).posterior()

    def _fine(self, box: Box) -> Floats:
        sides = []
        for one, side in zip(self.inputs, box, strict=False):
            if one.whole:
                low, high = math.ceil(one.at(side[0]) - 1e-9), math.floor(one.at(side[1]) + 1e-9)
                values = range(low, high + 1) if high >= low else [round(float(one.at(0.5 * (side[0] + side[1]))))]
                sides.append(np.array([one.coordinate(float(value)) for value in values]))
            else:
                sides.append(axis(side, _FINE[self.unknowns]))
        grids = np.meshgrid(*sides, indexing="ij")
        return np.stack([grid.ravel() for grid in grids], axis=1)


def near(inputs: Sequence[Input], first: Floats, second: Floats) -> bool:
    """Whether two places of the unknowns (the first of `inputs`) are so close that slopes are the same at both."""
    for one, a, b in zip(inputs, first, second, strict=False):
        low, high = float(one.at(float(a))), float(one.at(float(b)))
        if abs(high - low) > _HERE * max(abs(low), abs(high)):
            return False
    return True


def _spanning(points: Floats, weights: Floats) -> Floats:
    """A few points that span what weights hold: the middle, and one and a half deviations along each main axis."""
    share = weights / weights.sum()
    mean = share @ points
    centred = points - mean
    covariance = np.atleast_2d((centred * share[:, None]).T @ centred)
    values, vectors = np.linalg.eigh(covariance)
    low, high = points.min(axis=0), points.max(axis=0)
    found = [mean]
    for value, vector in zip(values, vectors.T, strict=True):
        reach = 1.5 * math.sqrt(max(float(value), 0.0)) * vector
        if np.abs(reach).max() > 1e-9:
            found += [np.clip(mean + reach, low, high), np.clip(mean - reach, low, high)]
    return np.array(found)


class _Averaging:
    """The posterior on a fine grid, averaged over draws of the other inputs."""

    def __init__(
        self, search: Search, evidence: Evidence, points: Floats, shown: Floats, nuisance: Nuisance, box: Box
    ) -> None:
        self.search = search
        self.evidence = evidence
        self.points = points
        self.shown = shown
        self.nuisance = nuisance
        self.box = box
        self.slope, self.bend = nuisance.at(points)
        self.count = len(nuisance.places)
        # Where a fine grid of two is large, points that cannot matter are left out from the start.
        slack = np.broadcast_to(np.hypot(nuisance.u, 0.0), shown.shape)
        logs = search._robust(evidence.logs(shown, slack))
        self.active = np.flatnonzero(logs > logs.max() - 14.0)

    def posterior(self) -> Posterior:
        draws, log_prior = self._first_draws()
        sums = self._sums(draws, log_prior)
        for _ in range(4):
            if self.count == 0 or sums.effective >= _ENOUGH:
                break
            draws, log_prior = self._closer(draws, sums.draw_weights)
            sums = self._sums(draws, log_prior)
        return self._posterior(sums, draws)

    def _first_draws(self) -> tuple[Floats, Floats]:
        if self.count == 0:
            return np.zeros((1, 0)), np.zeros(1)
        draws = 2.0 * spread_points(_DRAWS[self.search.unknowns], self.count) - 1.0
        return draws, np.zeros(draws.shape[0])

    def _closer(self, draws: Floats, weights: Floats) -> tuple[Floats, Floats]:
        """New draws from a normal curve about the ones that counted, with what corrects for drawing them so."""
        mean = weights @ draws
        centred = draws - mean
        covariance = (centred * weights[:, None]).T @ centred * 2.0 + 1e-4 * np.eye(self.count)
        root = np.linalg.cholesky(covariance)
        from scipy.special import ndtri

        normal = ndtri(spread_points(3 * _DRAWS[self.search.unknowns], self.count))
        fresh = mean + normal @ root.T
        inside = (np.abs(fresh) <= 1.0).all(axis=1)
        if not inside.any():
            return draws, np.zeros(draws.shape[0])
        fresh, normal = fresh[inside], normal[inside]
        return fresh, 0.5 * (normal**2).sum(axis=1)

    def _sums(self, draws: Floats, log_prior: Floats) -> _Sums:
        readings, active = self.shown.shape[1], self.active
        shown = self.shown[active].T.copy()
        slope = self.slope[active].transpose(2, 1, 0).copy()
        bend = self.bend[active].transpose(2, 1, 0).copy()
        # Weight of "all are right" is 1; of "this one is wrong" its density then over the largest it can have.
        wrong = np.exp(self.evidence.if_wrong - self.evidence.tops) * (WRONG / readings) / (1.0 - WRONG)
        middle = np.array([error.measured for error in self.evidence.errors])
        whole = np.zeros(active.size)
        without = np.zeros((readings, active.size))
        first, second = np.zeros(readings), np.zeros(readings)
        draw_weights = np.zeros(draws.shape[0])
        fits = self.evidence.fits()
        share = np.exp(log_prior - log_prior.max())
        for m, draw in enumerate(draws):
            here = shown.copy()
            for k, place in enumerate(draw):
                here += place * slope[k] + (place * place) * bend[k]
            one, each = products(fits(here))
            each *= (wrong * share[m])[:, None]
            one *= share[m]
            whole += one
            without += each
            left = np.where(np.isfinite(here), here, middle[:, None]) - middle[:, None]
            first += np.einsum("ij,ij->i", each, left)
            second += np.einsum("ij,ij,ij->i", each, left, left)
            draw_weights[m] = one.sum() + each.sum()
        size = draw_weights.sum()
        part = draw_weights / size if size > 0.0 else np.full(draws.shape[0], 1.0 / draws.shape[0])
        return _Sums(whole, without.T, first, second, part, 1.0 / float((part**2).sum()), middle)

    def _posterior(self, sums: _Sums, draws: Floats) -> Posterior:
        search = self.search
        readings = self.shown.shape[1]
        right, wrongs = float(sums.whole.sum()), sums.without.sum(axis=0)
        total = right + float(wrongs.sum())
        fits = total > 0.0 and math.isfinite(total)
        wrong = wrongs / total if fits else np.zeros(readings)
        if readings <= search.unknowns:
            wrong = np.zeros(readings)
        # All readings taken as right unless that is the less likely; then the one that is wrong left out, or each.
        if not fits:
            weights = np.zeros(self.points.shape[0])
            logs = search._robust(
                self.evidence.logs(self.shown, np.broadcast_to(10.0 * search.sigma, self.shown.shape))
            )
            weights[:] = np.exp(logs - logs.max())
        else:
            weights = np.zeros(self.points.shape[0])
            if float(wrong.sum()) < 0.5:
                weights[self.active] = sums.whole
            elif float(wrong.max()) > 0.5:
                weights[self.active] = sums.without[:, int(wrong.argmax())]
            else:
                weights[self.active] = sums.without.sum(axis=1)
        weights /= weights.sum()
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.where(wrongs > 0.0, sums.first / wrongs, 0.0)
            variance = np.where(wrongs > 0.0, sums.second / wrongs - mean**2, 0.0)
        all_mean, all_covariance = self._inputs(weights, sums.draw_weights, draws)
        return Posterior(
            inputs=search.inputs,
            unknowns=search.unknowns,
            points=self.points,
            weights=weights,
            expected=sums.middle + mean,
            spread=np.sqrt(np.clip(variance, 0.0, None)),
            wrong=wrong,
            fits=fits,
            inputs_mean=all_mean,
            inputs_covariance=all_covariance,
            box=self.box,
            regular=True,
            solves=search.solves,
            sloped_at=search.sloped_at,
        )

    def _inputs(self, weights: Floats, draw_weights: Floats, draws: Floats) -> tuple[Floats, Floats]:
        """Mean and covariance of all inputs; between an unknown and the others it is left out."""
        search = self.search
        size = len(search.inputs)
        mean, covariance = np.zeros(size), np.eye(size) / 3.0
        theta = weights @ self.points
        centred = self.points - theta
        d = search.unknowns
        mean[:d] = theta
        covariance[:d, :] = covariance[:, :d] = 0.0
        covariance[:d, :d] = (centred * weights[:, None]).T @ centred
        if self.count:
            rest = list(self.nuisance.places)
            middle = draw_weights @ draws
            off = draws - middle
            mean[rest] = middle
            covariance[np.ix_(rest, rest)] = (off * draw_weights[:, None]).T @ off
        return mean, covariance


def products(fits: Floats) -> tuple[Floats, Floats]:
    """The product of all rows, and for each row that of all others."""
    rows = fits.shape[0]
    before, after = np.ones_like(fits), np.ones_like(fits)
    for j in range(1, rows):
        before[j] = before[j - 1] * fits[j - 1]
        after[rows - 1 - j] = after[rows - j] * fits[rows - j]
    return before[-1] * fits[-1], before * after


@dataclass(frozen=True, slots=True)
class _Sums:
    whole: Floats
    without: Floats
    first: Floats
    second: Floats
    draw_weights: Floats
    effective: float
    middle: Floats
