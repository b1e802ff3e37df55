"""How well values of the inputs explain the readings, all of them or all but one."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError

WRONG: Final = 0.02
"""How often a reading is taken to be plainly wrong (our choice; of careful bench notes a few in a hundred are)."""
_NOWHERE: Final = -400.0  # log density of a reading for which the circuit gives no value at all
_TAIL: Final = 1e-4  # of the plateau, in the tails: a meter outside its limits is the robust part's business
_BROAD: Final = 10.0  # a wrong reading may be anything up to this many times what is read, either way


@dataclass(frozen=True, slots=True)
class Evidence:
    """The readings with their errors; `slack` (readings,) is how far each computed value itself may be off."""

    errors: Sequence[MeterError]
    slack: Floats

    def fits(self) -> Callable[[Floats], Floats]:
        """A function of what the meters would show (readings, points): each reading's density over its largest [0 to
        1].

        Within its limits a reading is as likely everywhere: a rectangle, blurred by a second one. Beyond them the
        density falls off fast but never to nothing, so that a search can find its way back.
        """
        errors, slack = self.errors, [float(one) for one in self.slack]
        measured = np.array([[error.measured] for error in errors])
        edges = np.array([error.edges(s) for error, s in zip(errors, slack, strict=True)]).reshape(-1, 2)
        reach, blur = edges.sum(axis=1)[:, None], 2.0 * edges[:, 1:2]
        wide, steep = edges[:, 0:1], 4.0 / edges[:, 0:1]
        normal = np.array([error.normal for error in errors], dtype=bool)
        deviation = np.array([[error.deviation(s)] for error, s in zip(errors, slack, strict=True)])

        def fit(shown: Floats) -> Floats:
            known = np.isfinite(shown)
            whole = bool(known.all())
            distance = np.abs((shown if whole else np.where(known, shown, measured)) - measured)
            beyond = np.maximum(distance - wide, 0.0) * steep
            found = np.clip((reach - distance) / blur, 0.0, 1.0) + _TAIL / (1.0 + beyond * beyond) ** 2
            found *= 1.0 / (1.0 + _TAIL)
            if normal.any():
                curve = np.exp(-0.5 * np.minimum((distance[normal] / deviation[normal]) ** 2, 1400.0))
                found[normal] = curve
            return found if whole else np.where(known, found, 0.0)

        return fit

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
