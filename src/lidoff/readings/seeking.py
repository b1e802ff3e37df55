"""What every search for unknown values starts from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.inputs import Input
from lidoff.readings.likelihood import Evidence
from lidoff.readings.uncertainty import Function


class Seeker:
    """A search for the first `unknowns` of `inputs`; `function` gives results at coordinates of all inputs.

    `solves` counts how often the function was asked.
    """

    def __init__(
        self,
        function: Function,
        inputs: Sequence[Input],
        unknowns: int,
        evidence: Evidence,
        solved_at: Floats | None = None,
    ) -> None:
        """`solved_at` is where another search has already had the circuit solved with every other input moved."""
        self.function = function
        self.inputs = tuple(inputs)
        self.unknowns = unknowns
        self.evidence = evidence
        self.solves = 0
        self.sigma = np.array([error.sigma for error in evidence.errors])
        self.sloped_at = solved_at
