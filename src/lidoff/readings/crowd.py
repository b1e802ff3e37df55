"""Three unknowns and more: a crowd of points moved to where the readings are explained.

The circuit's results are stood in for by parabolic surfaces fitted to runs of the circuit, again and again over a
smaller box and about what explains the readings; the crowd moves on the surfaces, which costs next to nothing
(tempering and Metropolis steps: the common practice of sequential Monte Carlo). What the surfaces miss counts as slack.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.figures.wave import Floats
from lidoff.readings.likelihood import WRONG, Evidence
from lidoff.readings.posterior import Posterior
from lidoff.readings.search import products
from lidoff.readings.seeking import Seeker
from lidoff.readings.uncertainty import spread_points

_CROWD: Final = 1500
_STEPS: Final = 8
_LAST_STEPS: Final = 30
_ROUNDS: Final = 6
_GOOD: Final = 0.3  # of a reading's uncertainty: a surface that misses less leaves the reading its sharp limits
_FINE: Final = 0.1  # of a reading's uncertainty: surfaces that miss less are not fitted anew
_NEAR: Final = 3.0  # standard uncertainties off, from which a run counts less in fitting the surfaces
_CAREFUL: Final = 3.0  # times what a surface misses on the mean: it misses more at the rim
_SEED: Final = 20251125  # the same record always gives the same answer


@dataclass(frozen=True, slots=True)
class Surface:
    """Results, or their logarithms where `logarithmic` (results,), as parabolas of the coordinates.

    `missed` is what the surfaces miss (rms, per result, in the result's unit about the reading).
    """

    low: Floats
    high: Floats
    terms: Floats
    missed: Floats
    logarithmic: NDArray[np.bool_]

    def at(self, z: Floats) -> Floats:
        """Results (points, results)."""
        found = _basis(z, self.low, self.high) @ self.terms
        return np.where(self.logarithmic, np.exp(np.minimum(found, 300.0)), found)


def _basis(z: Floats, low: Floats, high: Floats) -> Floats:
    x = (2.0 * z - low - high) / (high - low)
    count = x.shape[1]
    columns = [np.ones(x.shape[0]), *x.T]
    columns += [x[:, i] * x[:, j] for i in range(count) for j in range(i, count)]
    return np.stack(columns, axis=1)


class Crowd(Seeker):
    """The search by a crowd of points."""

    def run(self) -> Posterior:
        """The posterior of the unknowns."""
        self.measured = np.array([error.measured for error in self.evidence.errors])
        self._fits = self.evidence.fits()
        self.random = np.random.default_rng(_SEED)
        places = [*range(self.unknowns), *self._felt()]
        low, high = np.full(len(places), -1.0), np.full(len(places), 1.0)
        known_z, known_f = np.empty((0, len(places))), np.empty((0, self.sigma.size))
        needed = 3 * (len(places) + 1) * (len(places) + 2) // 4 + 20
        crowd = np.empty((0, len(places)))
        for _ in range(_ROUNDS):
            inside = ((known_z >= low) & (known_z <= high)).all(axis=1)
            known_z, known_f = known_z[inside], known_f[inside]
            fresh = self._fresh(crowd, low, high, needed)
            known_z = np.concatenate([known_z, fresh])
            known_f = np.concatenate([known_f, np.array([self._run(z, places) for z in fresh])])
            surface = _fitted(known_z, known_f, low, high, self.measured, self._nearness(known_f, low.size))
            self._fits = Evidence(
                self.evidence.errors, np.hypot(self.evidence.slack, math.sqrt(3.0) * surface.missed)
            ).fits()
            crowd = self._settle(surface, low, high)
            if bool((surface.missed < _FINE * self.sigma).all()):
                break
            near = np.quantile(crowd, (0.001, 0.999), axis=0)
            margin = 0.5 * (near[1] - near[0]) + 1e-4
            box = low, high
            low, high = np.maximum(low, near[0] - margin), np.minimum(high, near[1] + margin)
            # The other inputs keep their whole range: the readings tell little of them.
            low[self.unknowns :], high[self.unknowns :] = -1.0, 1.0
        else:
            low, high = box
        return self._posterior(surface, crowd, low, high, places)

    def _fresh(self, crowd: Floats, low: Floats, high: Floats, count: int) -> Floats:
        """Places for new runs (count, coordinates): all over the box, and half of them about the crowd there is."""
        even = low + (high - low) * ((spread_points(count, low.size) + self.random.random(low.size)) % 1.0)
        if not crowd.size:
            return even
        picked = crowd[self.random.integers(0, crowd.shape[0], count // 2)]
        about = picked + 0.5 * crowd.std(axis=0) * self.random.standard_normal(picked.shape)
        return np.concatenate([even[: count - count // 2], np.clip(about, low, high)])

    def _nearness(self, f: Floats, size: int) -> Floats:
        """How much each run counts in fitting the surfaces (runs,): those that nearly explain the readings count most.

        One reading may be wrong, so the worst of each run is passed over; and enough runs always count.
        """
        off = np.nan_to_num(np.abs(f - self.measured) / self.sigma, nan=1e3)
        worst = np.sort(off, axis=1)[:, -2] if off.shape[1] > 1 else off[:, 0]
        terms = (size + 1) * (size + 2) // 2
        enough = float(np.sort(worst)[min(2 * terms, worst.size - 1)])
        return np.asarray(1.0 / (1.0 + (worst / max(_NEAR, enough)) ** 2))

    def _run(self, z: Floats, places: Sequence[int]) -> Floats:
        full = np.zeros(len(self.inputs))
        full[list(places)] = z
        self.solves += 1
        return self.function(full)

    def _felt(self) -> list[int]:
        """The other inputs that move any result at the middle of the ranges by more than a little."""
        felt = []
        for k in range(self.unknowns, len(self.inputs)):
            z = np.zeros(len(self.inputs))
            z[k] = 1.0
            moved = 0.5 * np.abs(np.nan_to_num(self.function(z) - self.function(-z)))
            self.solves += 2
            # At the middle of the ranges the results may be small: a share of the reading counts too.
            if bool((moved > 0.05 * self.sigma).any()):
                felt.append(k)
        return felt

    def _weights(self, surface: Surface, z: Floats) -> tuple[Floats, Floats]:
        """For each point how well all readings fit, and all but each (readings first).

        Where a surface misses much, that reading is taken as a normal curve wide enough for what it misses.
        """
        shown = surface.at(z)
        fits = self._fits(shown.T)
        rough = surface.missed > _GOOD * self.sigma
        if rough.any():
            wide = np.hypot(self.sigma, _CAREFUL * surface.missed)
            curve = np.exp(-0.5 * np.minimum(((shown - self.measured) / wide) ** 2, 150.0)).T
            fits = np.where(rough[:, None], curve, fits)
        one, each = products(fits)
        wrong = np.exp(self.evidence.if_wrong - self.evidence.tops) * (WRONG / self.sigma.size) / (1.0 - WRONG)
        return one, each * np.minimum(wrong, 0.1)[:, None]

    def _log(self, surface: Surface, z: Floats, low: Floats, high: Floats) -> Floats:
        one, each = self._weights(surface, z)
        inside = ((z >= low) & (z <= high)).all(axis=1)
        return np.where(inside, np.log(np.maximum(one + each.sum(axis=0), 1e-290)), -math.inf)

    def _settle(self, surface: Surface, low: Floats, high: Floats) -> Floats:
        """Points drawn from the posterior on the surface."""
        size = low.size
        crowd = low + (high - low) * self.random.random((_CROWD, size))
        logs = self._log(surface, crowd, low, high)
        heat = 0.0
        while heat < 1.0:
            step = _next_step(logs, 1.0 - heat)
            heat = min(1.0, heat + step)
            weights = np.exp(step * (logs - logs.max()))
            weights /= weights.sum()
            picked = np.searchsorted(
                np.cumsum(weights), (np.arange(_CROWD) + self.random.random()) / _CROWD, side="left"
            ).clip(max=_CROWD - 1)
            crowd, logs = crowd[picked], logs[picked]
            covariance = np.atleast_2d(np.cov(crowd.T)) + 1e-10 * np.eye(size)
            root = np.linalg.cholesky(covariance * (2.38**2 / size))
            for turn in range(_STEPS if heat < 1.0 else _LAST_STEPS):
                scale = (1.0, 0.3, 0.1)[turn % 3]
                moved = crowd + scale * self.random.standard_normal((_CROWD, size)) @ root.T
                new = self._log(surface, moved, low, high)
                with np.errstate(invalid="ignore"):
                    taken = np.log(self.random.random(_CROWD)) < heat * (new - logs)
                crowd[taken], logs[taken] = moved[taken], new[taken]
        return crowd

    def _posterior(
        self, surface: Surface, crowd: Floats, low: Floats, high: Floats, places: Sequence[int]
    ) -> Posterior:
        one, each = self._weights(surface, crowd)
        total = np.maximum(one + each.sum(axis=0), 1e-290)
        wrong = (each / total).mean(axis=1) if self.sigma.size > self.unknowns else np.zeros(self.sigma.size)
        fits = bool(total.max() > 1e-30)
        if float(wrong.sum()) < 0.5:
            weights = one / total
        elif float(wrong.max()) > 0.5:
            weights = each[int(wrong.argmax())] / total
        else:
            weights = each.sum(axis=0) / total
        weights = weights / weights.sum()
        shown = surface.at(crowd)
        share = each / total
        share = share / np.maximum(share.sum(axis=1, keepdims=True), 1e-300)
        expected = np.einsum("jn,nj->j", share, shown)
        spread = np.sqrt(np.maximum(np.einsum("jn,nj->j", share, (shown - expected) ** 2), 0.0))
        mean, covariance = np.zeros(len(self.inputs)), np.eye(len(self.inputs)) / 3.0
        middle = weights @ crowd
        off = crowd - middle
        mean[list(places)] = middle
        covariance[np.ix_(places, places)] = (off * weights[:, None]).T @ off
        unknown = slice(0, self.unknowns)
        return Posterior(
            inputs=self.inputs,
            unknowns=self.unknowns,
            points=crowd[:, unknown],
            weights=weights,
            expected=expected,
            spread=np.hypot(spread, surface.missed),
            wrong=wrong,
            fits=fits,
            inputs_mean=mean,
            inputs_covariance=covariance,
            box=tuple((float(a), float(b)) for a, b in zip(low[unknown], high[unknown], strict=True)),
            regular=False,
            solves=self.solves,
        )


def _next_step(logs: Floats, most: float) -> float:
    """How far the temperature may go so that half of the crowd still counts."""
    low, high = 0.0, most
    for _ in range(40):
        middle = high if low == 0.0 and high == most else 0.5 * (low + high)
        weights = np.exp(middle * (logs - logs.max()))
        effective = weights.sum() ** 2 / (weights**2).sum()
        if effective >= 0.5 * logs.size:
            if middle == most:
                return most
            low = middle
        else:
            high = middle if middle != most or high != most else 0.5 * most
        if high - low < 1e-3 * high:
            break
    return max(low, 1e-6)


def _fitted(z: Floats, f: Floats, low: Floats, high: Floats, measured: Floats, weights: Floats) -> Surface:
    """Surfaces through the runs, each counted by its weight (runs,), each result by itself.

    Runs without a value for a result are left out there. A result that is above nothing everywhere is fitted by its
    logarithm: currents and powers run over decades where resistances do.
    """
    basis = _basis(z, low, high)
    terms = np.zeros((basis.shape[1], f.shape[1]))
    missed = np.full(f.shape[1], math.inf)
    logarithmic = np.zeros(f.shape[1], dtype=bool)
    for j in range(f.shape[1]):
        known = np.isfinite(f[:, j])
        if known.sum() < 4:
            continue
        logarithmic[j] = bool((f[known, j] > 0.0).all()) and measured[j] > 0.0
        wanted = np.log(f[known, j]) if logarithmic[j] else f[known, j]
        share = weights[known] / weights[known].sum()
        root = np.sqrt(share)
        terms[:, j] = np.linalg.lstsq(basis[known] * root[:, None], wanted * root, rcond=None)[0]
        left = wanted - basis[known] @ terms[:, j]
        effective = 1.0 / float(share @ share)
        free = max(effective - basis.shape[1], 1.0) / effective
        missed[j] = math.sqrt(float(share @ (left * left)) / free) * (measured[j] if logarithmic[j] else 1.0)
    missed[~np.isfinite(missed)] = 1e6
    return Surface(low, high, terms, missed, logarithmic)
