"""What a design family is: its equations, source and limits, and how it makes plans for a case."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from lidoff.record.model import EMPTY, Value
from lidoff.rework.edits import Edits

if TYPE_CHECKING:
    from lidoff.rework.case import Case

COST: Final[Mapping[int, str]] = {1: "few and common parts", 2: "a handful of parts", 3: "parts to be looked for"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One way of going about it, before its values are settled.

    `edits` make the circuit with some starting values; each of the `axes` holds sets of values to try ("C9.value":
    farads), the cheapest first: one set of each axis makes a choice. `variant` tells apart plans of one family.
    `equations` are the family's, with this case's numbers in; `checks` names figures told beside the goals ("floor":
    how far down a knob goes). `cautions` are this plan's own, `why` says in a sentence what it does. `live_everywhere`
    says that it separates nothing from the mains.
    """

    variant: str
    edits: Edits
    axes: tuple[tuple[Mapping[str, Value], ...], ...]
    equations: tuple[str, ...]
    why: str
    cautions: tuple[str, ...] = ()
    cost: int = 1
    live_everywhere: bool = False
    checks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A design family.

    `equations` are its rules as they are written in the source named in `source`; `limits` says where they end.
    `serves` are the goals that it can move; a case with none of them passes it by. `plan` gives its plans for a
    case, or the sentence that says why it has none.
    """

    id: str
    title: str
    about: str
    equations: tuple[str, ...]
    source: str
    limits: str
    serves: tuple[str, ...]
    plan: Callable[[Case], Iterable[Plan] | str]
    cautions: tuple[str, ...] = ()
    examples: tuple[str, ...] = field(default_factory=tuple)


NOTHING: Final[Mapping[str, Value]] = EMPTY
"""The only choice of a plan that has nothing to settle."""
