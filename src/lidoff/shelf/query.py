"""A question to the shelf: words to be found and conditions to be met, each of which says itself back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal

from lidoff.shelf.measures import Measure
from lidoff.standards.risk import LEVELS

Field = Literal["class", "region", "kind"]


def group_words(name: str) -> str:
    """The name of a recognised group as it is said."""
    return name.replace("-", " ").replace("led ", "LED ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Any one of these words or phrases, in any of their forms, anywhere in what was written of an item."""

    any_of: tuple[str, ...]
    without: bool = False

    @property
    def said(self) -> str:
        """The condition in words."""
        listed = " or ".join(f"“{word}”" for word in self.any_of)
        plain = f"the word{'s' if len(self.any_of) > 1 else ''} {listed}"
        return f"without {plain}" if self.without else plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Within:
    """A figure between two bounds [SI, as kept]; a bound itself counts where `with_low` or `with_high` says so."""

    measure: Measure
    low: float = -math.inf
    high: float = math.inf
    with_low: bool = False
    with_high: bool = False

    @property
    def said(self) -> str:
        """The condition in words."""
        name = self.measure.title
        if math.isinf(self.low):
            return f"{name} {'at most' if self.with_high else 'under'} {self.measure.written(self.high)}"
        if math.isinf(self.high):
            return f"{name} {'at least' if self.with_low else 'over'} {self.measure.written(self.low)}"
        return f"{name} from {self.measure.written(self.low)} to {self.measure.written(self.high)}"

    def holds(self, value: float) -> bool:
        """Whether a value [SI, as kept] meets it."""
        above = value >= self.low if self.with_low else value > self.low
        return above and (value <= self.high if self.with_high else value < self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class HasPart:
    """A part of that kind, of a value [SI] between bounds that both count, or with a marking."""

    kind: str | None = None
    title: str = ""
    low: float | None = None
    high: float | None = None
    shown: str = ""
    marking: str = ""
    without: bool = False

    @property
    def said(self) -> str:
        """The condition in words."""
        told = self.title or "part"
        told += f" of {self.shown}" if self.shown else ""
        told += f" marked “{self.marking}”" if self.marking else ""
        return f"no {told}" if self.without else f"a {told}"


@dataclass(frozen=True, slots=True, kw_only=True)
class HasGroup:
    """A recognised group of that name."""

    name: str
    without: bool = False

    @property
    def said(self) -> str:
        """The condition in words."""
        return f"{'no' if self.without else 'a'} {group_words(self.name)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class HasFinding:
    """A finding: of that rule, at that severity [1 to 4] or above, at that level of risk or above, all in one.

    With `without`: no such finding, and the rule not left undecided either.
    """

    rule: str | None = None
    severity: int | None = None
    risk: str | None = None
    without: bool = False

    @property
    def levels(self) -> tuple[str, ...]:
        """The levels of risk that count; empty where any does."""
        return () if self.risk is None else LEVELS[LEVELS.index(self.risk) :]

    @property
    def said(self) -> str:
        """The condition in words."""
        told = f"finding “{self.rule}”" if self.rule else "finding"
        told += f" of severity {self.severity}{'' if self.severity == 4 else ' or more'}" if self.severity else ""
        if self.risk:
            told += f" at {self.risk} risk{'' if self.risk == LEVELS[-1] else ' or more'}"
        if not self.without:
            return f"a {told}"
        return f"judged, and no {told}" + (" found or left undecided" if self.rule else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Saw:
    """A question of the look list with that answer; `answer` None: nobody looked, though it applies."""

    question: str
    answer: str | None
    without: bool = False

    @property
    def said(self) -> str:
        """The condition in words."""
        told = "not looked at" if self.answer is None else f"“{self.answer}”"
        return f"{self.question}: {'looked at, and not ' if self.without else ''}{told}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Is:
    """A word in the head of the record: protection class, region or kind."""

    field: Field
    value: str

    @property
    def said(self) -> str:
        """The condition in words."""
        return f"{self.field} {self.value}"


Condition = Words | Within | HasPart | HasGroup | HasFinding | Saw | Is


@dataclass(frozen=True, slots=True, kw_only=True)
class Query:
    """Conditions that all have to be met; figures of states all in one and the same state.

    `passed_over` are the words of a sentence that were taken to mean nothing.
    """

    conditions: tuple[Condition, ...] = ()
    passed_over: tuple[str, ...] = ()

    @property
    def words(self) -> tuple[Words, ...]:
        """The words that have to be found."""
        return tuple(one for one in self.conditions if isinstance(one, Words) and not one.without)

    @property
    def of_states(self) -> tuple[Within, ...]:
        """Figures that one and the same state has to have."""
        return tuple(one for one in self.conditions if isinstance(one, Within) and not one.measure.of_item)

    @property
    def figures(self) -> tuple[Within, ...]:
        """All figures that are asked for."""
        return tuple(one for one in self.conditions if isinstance(one, Within))

    @property
    def understood(self) -> str:
        """What was understood, as a sentence."""
        if not self.conditions:
            return "Understood as: everything on the shelf."
        together = " (in one and the same state)" if len(self.of_states) > 1 else ""
        return f"Understood as: {'; '.join(one.said for one in self.conditions)}{together}."

    def and_(self, other: Query) -> Query:
        """Both together."""
        return Query(
            conditions=tuple(dict.fromkeys((*self.conditions, *other.conditions))),
            passed_over=(*self.passed_over, *other.passed_over),
        )

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            "understood": self.understood,
            "conditions": [one.said for one in self.conditions],
            "passed_over": list(self.passed_over),
        }


EVERYTHING: Final = Query()
