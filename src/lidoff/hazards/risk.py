"""An injury scenario rated by the method of Delegated Regulation (EU) 2024/3173, Annex II."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from lidoff.hazards.model import Risk, Step
from lidoff.standards.risk import overall_probability, risk_level_range


def rate(steps: Sequence[Step], severity: int) -> Risk:
    """The risk of a scenario: step probabilities multiplied, the level from the matrix (Annex II, 3.4 and 3.6.2).

    The factors by which single steps may be off are taken as independent: their logarithms add as squares. Raises
    ValueError for no step, more than five, a probability outside 0 to 1 or a severity outside 1 to 4.
    """
    probability = overall_probability([step.probability for step in steps])
    factor = math.exp(math.sqrt(math.fsum(math.log(step.factor) ** 2 for step in steps)))
    levels = risk_level_range(severity, probability, factor)
    return Risk(
        steps=tuple(steps),
        severity=severity,
        probability=probability,
        level=levels.level,
        low=levels.low,
        high=levels.high,
        factor=factor,
    )


def with_chosen(steps: Sequence[Step], id: str, chosen: Mapping[str, float]) -> tuple[Step, ...]:
    """The steps with those replaced whose probability the user chose: `chosen` maps "rule-id.2" to it [1]."""
    return tuple(
        replace(step, probability=chosen[key], origin="chosen") if (key := f"{id}.{number}") in chosen else step
        for number, step in enumerate(steps, start=1)
    )
