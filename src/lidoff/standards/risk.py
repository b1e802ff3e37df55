"""The EU's product-risk method: severities, probability bands, the matrix, and the level of a scenario."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from lidoff.standards.rows import Row, Source, Table

Level = Literal["serious", "high", "medium", "low"]
LEVELS: Final[tuple[Level, ...]] = ("low", "medium", "high", "serious")
"""Risk levels, mildest first."""

_DOC: Final[dict[str, Any]] = {
    "document": "(EU) 2024/3173",
    "edition": "2024",
    "seen": "verified",
    "witness": "text",
}
_S: Final = Source(table="risk-severity", clause="Annex II, 3.3.3", unit="text", **_DOC)
SEVERITY: Final = Table(
    id="risk-severity",
    title="Severity of an injury (our words)",
    keys=("severity",),
    rows=(
        _S.row(1, value="first aid only; no real loss of function, fully reversible"),
        _S.row(2, value="a hospital visit may be needed, normally no stay; function affected for up to 6 months"),
        _S.row(3, value="normally a hospital stay; function affected for over 6 months, or lost for good"),
        _S.row(4, value="fatal, or could be; or a severe loss of limb or function, over about 10 % disability"),
    ),
)

_P: Final = Source(table="risk-probability", clause="Annex II, 3.4.4", unit="probability over the life", **_DOC)
PROBABILITY: Final = Table(
    id="risk-probability",
    title="Names of probabilities, from this value up",
    keys=("name",),
    rows=(
        _P.row("very frequent", value=0.5),
        _P.row("frequent", value=1e-1),
        _P.row("common", value=1e-2),
        _P.row("occasional", value=1e-3),
        _P.row("unlikely", value=1e-4),
        _P.row("unusual", value=1e-5),
        _P.row("rare", value=1e-6),
        _P.row("extremely rare", value=0.0),
    ),
)

_M: Final = Source(table="risk-matrix", clause="Annex II, 3.6.2", unit="text", **_DOC)
_LETTER: Final[dict[str, Level]] = {"S": "serious", "H": "high", "M": "medium", "L": "low"}
MATRIX: Final = Table(
    id="risk-matrix",
    title="Risk level by overall probability (above this value) and severity",
    keys=("probability above", "severity"),
    rows=tuple(
        _M.row(bound, severity, value=_LETTER[letter])
        for bound, letters in (
            (0.5, "HSSS"),
            (1e-1, "MSSS"),
            (1e-2, "MSSS"),
            (1e-3, "LHSS"),
            (1e-4, "LMHS"),
            (1e-5, "LLMH"),
            (1e-6, "LLLM"),
            (0.0, "LLLL"),
        )
        for severity, letter in enumerate(letters, start=1)
    ),
)

_E: Final = Source(
    table="risk-example",
    document="2010/15/EU",
    edition="2010",
    clause="section 6.1, folding chair",
    unit="1",
    seen="verified",
    witness="text",
)
EXAMPLE: Final = Table(
    id="risk-example",
    title="Worked example: a folding chair pinches a finger",
    keys=("step",),
    rows=(
        _E.row("the chair is unfolded", value=1.0),
        _E.row("it is gripped at the wrong corner", value=1 / 50, note="1/50"),
        _E.row("a finger is caught", value=1 / 10, note="1/10"),
        _E.row("a minor pinch follows", value=1.0),
        _E.row("severity", value=1.0),
        _E.row("level", value="low", unit="text"),
    ),
)

TABLES: Final = (SEVERITY, PROBABILITY, MATRIX, EXAMPLE)

MOST_STEPS: Final = 5
"""A scenario takes the shortest path and at most five steps (Annex II, 3.4)."""


def _band(probability: float) -> float:
    """The lower bound of the matrix row that `probability` [1] falls in."""
    bounds = [float(bound) for bound in MATRIX.axis(0)]
    # Products of simple fractions must land on the side they have on paper: 1/100 is not "above 1/100".
    return next((bound for bound in bounds if probability > bound * (1.0 + 1e-9)), 0.0)


def risk_row(severity: int, probability: float) -> Row:
    """The cell of the matrix for `severity` 1 to 4 and overall `probability` [1] over the foreseeable life.

    Raises ValueError outside these ranges.
    """
    if severity not in (1, 2, 3, 4):
        raise ValueError(f"severity runs from 1 to 4, not {severity}")
    if not 0.0 <= probability <= 1.0:
        raise ValueError(f"a probability lies between 0 and 1, not {probability:g}")
    return MATRIX.row(_band(probability), severity)


def risk_level(severity: int, probability: float) -> Level:
    """The risk level for `severity` 1 to 4 and overall `probability` [1] ((EU) 2024/3173, Annex II, 3.6.2)."""
    value = risk_row(severity, probability).value
    return next(level for level in LEVELS if level == value)


def probability_name(probability: float) -> str:
    """The method's name for `probability` [1] (Annex II, 3.4.4)."""
    return next(str(row.key[0]) for row in PROBABILITY.rows if probability >= row.number * (1.0 - 1e-9))


def overall_probability(steps: Sequence[float]) -> float:
    """The product of step probabilities [1]. Raises ValueError for none, over five, or one outside 0 to 1."""
    if not 1 <= len(steps) <= MOST_STEPS:
        raise ValueError(f"a scenario has one to {MOST_STEPS} steps, not {len(steps)}")
    if any(not 0.0 <= step <= 1.0 for step in steps):
        raise ValueError(f"each step's probability lies between 0 and 1: {list(steps)}")
    return math.prod(steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRange:
    """The level of a scenario, and those at the ends of its probability's interval."""

    level: Level
    low: Level
    high: Level

    @property
    def flips(self) -> bool:
        """Whether the level changes within the uncertainty of the probability."""
        return self.low != self.high


def risk_level_range(severity: int, probability: float, factor: float) -> LevelRange:
    """The level at `probability` [1] and at that probability divided and multiplied by `factor` [1, at least 1]."""
    if factor < 1.0:
        raise ValueError(f"an uncertainty factor is at least 1, not {factor:g}")
    return LevelRange(
        level=risk_level(severity, probability),
        low=risk_level(severity, probability / factor),
        high=risk_level(severity, min(1.0, probability * factor)),
    )


def highest(levels: Sequence[Level]) -> Level | None:
    """The highest of several scenarios' levels, which is the product's level; None for none."""
    return max(levels, key=LEVELS.index, default=None)
