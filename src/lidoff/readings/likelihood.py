"""How well values of the inputs explain the readings, all of them or all but one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError

WRONG: Final = 0.02
"""How often a reading is taken to be plainly wrong (our choice; of careful bench notes a few in a hundred are)."""
_NOWHERE: Final = -400.0  # log density of a reading for which the circuit gives no value at all
_BROAD: Final = 10.0  # a wrong reading may be anything up to this many times what is read, either way


@dataclass(frozen=True, slots=True)
class Evidence:
    """The readings with their errors; `slack` (readings,) is how far each computed value itself may be off."""

    errors: Sequence[MeterError]
    slack: Floats

    def fits(self, shown: Floats) -> Floats:
        """Each reading's density over its largest [0 to 1] where the meters would show `shown` (readings first)."""
        found = np.empty_like(shown)
        for j, error in enumerate(self.errors):
            known = np.isfinite(shown[j])
            values = error.fit(np.where(known, shown[j], error.measured), float(self.slack[j]))
            found[j] = np.where(known, values, 0.0)
        return found

    def logs(self, shown: Floats, more: Floats) -> Floats:
        """Log densities (points, readings), roughly: a normal curve as wide as each reading and `more` slack together.

        Both (points, readings). For finding one's way; `fits` is exact.
        """
        sigma = np.array([error.sigma for error in self.errors])
        wide = np.maximum(np.sqrt(sigma**2 + self.slack**2 + more**2), 1e-300)
        measured = np.array([error.measured for error in self.errors])
        known = np.isfinite(shown)
        apart = np.where(known, measured - np.where(known, shown, 0.0), 0.0) / wide
        return np.where(known, -0.5 * np.minimum(apart**2, 1200.0) - np.log(wide), _NOWHERE)

    @property
    def tops(self) -> Floats:
        """The largest log density that each reading can have."""
        return np.array([error.top(float(slack)) for error, slack in zip(self.errors, self.slack, strict=True)])

    @property
    def if_wrong(self) -> Floats:
        """Log density of each reading if it is plainly wrong: even over a wide range about it."""
        spans = [2.0 * max(_BROAD * abs(error.measured), 20.0 * error.sigma, 1e-300) for error in self.errors]
        return np.array([math.log(1.0 / span) for span in spans])
