"""The arithmetic of uncertainty: from several inputs, perhaps correlated, to several results.

Linear propagation after JCGM 100:2008 (GUM), 5.1.2 and 5.2.2, for several results at once as in its H.2; random draws
after JCGM 101:2008 where the function is not linear over the inputs' range. Nothing here knows a circuit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Function = Callable[[Floats], Floats]

_STEP: Final = 1e-4  # of a standard uncertainty; small against it, large against rounding


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value equally likely anywhere within ±half_width [same unit] (JCGM 100, 4.3.7)."""
    return half_width / math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Estimates:
    """Best values and their covariance matrix [units of the values, multiplied pairwise]."""

    values: Floats
    covariance: Floats

    @property
    def u(self) -> Floats:
        """Standard uncertainties [unit of each value]."""
        return np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))

    @property
    def correlation(self) -> Floats:
        """Correlation coefficients [1]; 0 where a value has no uncertainty."""
        u = self.u
        scale = np.outer(u, u)
        return np.divide(self.covariance, scale, out=np.zeros_like(self.covariance), where=scale > 0.0)

    def without_correlation(self) -> Estimates:
        """The same with every correlation dropped: only to show what that would do."""
        return Estimates(self.values, np.diag(np.diag(self.covariance)))


def from_observations(rows: ArrayLike) -> Estimates:
    """Means of quantities observed together, one row per quantity, with the covariance of the means.

    JCGM 100, 4.2.3 and 5.2.3 (equations 4 and 17). Raises ValueError for fewer than two observations.
    """
    data = np.atleast_2d(np.asarray(rows, dtype=np.float64))
    count = data.shape[1]
    if count < 2:
        raise ValueError(f"{count} observation has no spread; give at least two")
    return Estimates(data.mean(axis=1), np.atleast_2d(np.cov(data)) / count)


def propagate(function: Function, inputs: Estimates) -> Estimates:
    """Results of `function` with the covariance that the inputs' covariance gives them, to first order.

    `function` takes the vector of inputs and returns a vector of results; its slopes are taken by central differences
    over a small part of each uncertainty. JCGM 100, 5.2.2 (equation 13); for several results, H.2.3.
    """
    at = inputs.values
    centre = np.atleast_1d(np.asarray(function(at), dtype=np.float64))
    slopes = np.zeros((centre.size, at.size))
    for k, u in enumerate(inputs.u):
        if u > 0.0:
            step = np.zeros_like(at)
            step[k] = _STEP * u
            slopes[:, k] = (np.atleast_1d(function(at + step)) - np.atleast_1d(function(at - step))) / (2.0 * step[k])
    return Estimates(centre, slopes @ inputs.covariance @ slopes.T)


def spread_points(count: int, dimensions: int) -> Floats:
    """`count` points that fill the unit cube evenly, always the same ones.

    The additive recurrence with the roots of x^(d+1) = x + 1 (a Kronecker sequence; common practice, no source).
    """
    if dimensions == 0:
        return np.zeros((count, 0))
    root = 1.5
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = root ** -np.arange(1, dimensions + 1, dtype=np.float64)
    return np.asarray((0.5 + np.outer(np.arange(1, count + 1), steps)) % 1.0)


@dataclass(frozen=True, slots=True)
class Response:
    """How results answer inputs that are each equally likely within ±1 (their half-widths taken as the unit).

    results(z) = centre + slope @ z + bend @ z², from runs at the two ends of each input. Exact where the true response
    is of second order in each input and the inputs do not act on each other.
    """

    centre: Floats  # (results,)
    slope: Floats  # (results, inputs)
    bend: Floats  # (results, inputs)

    def rows(self, chosen: Sequence[int]) -> Response:
        """The response of some of the results."""
        rows = list(chosen)
        return Response(self.centre[rows], self.slope[rows], self.bend[rows])

    def at(self, z: Floats) -> Floats:
        """Results (points, results) at points (points, inputs)."""
        return np.asarray(self.centre + z @ self.slope.T + (z * z) @ self.bend.T)

    @property
    def u(self) -> Floats:
        """Standard uncertainties: uniform inputs, first and second order (moments of the rectangular distribution)."""
        return np.asarray(np.sqrt(self.variances.sum(axis=1)))

    @property
    def variances(self) -> Floats:
        """What each input adds to the variance of each result (results, inputs)."""
        return np.asarray(self.slope**2 / 3.0 + self.bend**2 * (4.0 / 45.0))

    @property
    def covariance(self) -> Floats:
        """Covariance of the results: one input moves all of them together."""
        return np.asarray(self.slope @ self.slope.T / 3.0 + self.bend @ self.bend.T * (4.0 / 45.0))

    @property
    def bent(self) -> bool:
        """Whether any result is so bent that straight lines would mislead (a tenth of its uncertainty)."""
        shift = np.abs(self.bend).sum(axis=1) / 3.0
        return bool((shift > 0.1 * np.maximum(self.u, 1e-300)).any())

    @property
    def ruled_by_one(self) -> bool:
        """Whether one input is more than half of any result's variance: then its rectangle shows."""
        variances = self.variances
        total = variances.sum(axis=1)
        largest = variances.max(axis=1, initial=0.0)
        return bool(((total > 0.0) & (largest > 0.5 * total)).any())

    def interval(self, count: int = 4000) -> tuple[Floats, Floats]:
        """The interval that holds 95 % [units of the results].

        Value ± 2u where the response is straight and no input is most of it (JCGM 100, 6.3.3), else between the 2.5 %
        and 97.5 % points of draws (JCGM 101, 7.7): twice the u of one rectangle is more than the whole of it.
        """
        if not self.bent and not self.ruled_by_one:
            return self.centre - 2.0 * self.u, self.centre + 2.0 * self.u
        draws = self.at(2.0 * spread_points(count, self.slope.shape[1]) - 1.0)
        found = np.quantile(draws, (0.025, 0.975), axis=0)
        return np.asarray(found[0]), np.asarray(found[1])


def response_of(function: Callable[[Floats], Floats], inputs: int, centre: Floats) -> Response:
    """The response of `function` of z (each input's half-width as the unit) from its values at both ends of each."""
    slope = np.zeros((centre.size, inputs))
    bend = np.zeros((centre.size, inputs))
    for k in range(inputs):
        z = np.zeros(inputs)
        z[k] = 1.0
        above, below = function(z), function(-z)
        slope[:, k] = 0.5 * (above - below)
        bend[:, k] = 0.5 * (above + below) - centre
    return Response(centre, slope, bend)
