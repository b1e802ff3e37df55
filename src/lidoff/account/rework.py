"""Rework with the hazard rules plugged in: what the rework room asks of its caller, this room has."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from lidoff.account.hazards import facts_of
from lidoff.cycle import Solution
from lidoff.hazards import Findings
from lidoff.hazards import judge as judge_hazards
from lidoff.record import Item
from lidoff.rework import Attempt, Rework, attempt, design
from lidoff.rework.energy import HOURS


def judge(item: Item, solved: Solution | None, known: Mapping[str, Any]) -> Findings:
    """The findings on an item; `solved` and `known` are its main state and its studies, where those were done."""
    return judge_hazards(facts_of(item, solved=solved, known=known))


def rework(
    item: Item,
    goals: Iterable[str],
    *,
    state: str | None = None,
    hours: float = HOURS,
    progress: Callable[[str], None] | None = None,
) -> Rework:
    """Designs that reach the goals ("light=8–13 %"), each proved, and what was turned down. `hours` [h] a year.

    Raises LidoffError where a goal cannot be set for this item, or the item cannot be solved.
    """
    return design(item, list(goals), judge, state=state, hours=hours, progress=progress)


def try_out(item: Item, changes: Sequence[str], *, state: str | None = None, hours: float = HOURS) -> Attempt:
    """The item with changes ("R2=100R") beside what it was, with the findings that appear and vanish.

    Raises LidoffError where a change does not fit, or either cannot be solved.
    """
    return attempt(item, list(changes), judge, state=state, hours=hours)
