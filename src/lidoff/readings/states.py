"""Which state each reading belongs to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from lidoff.readings.accuracy import error_of
from lidoff.readings.forward import Forward
from lidoff.readings.observe import UNPOWERED
from lidoff.readings.words import amount, listed
from lidoff.record import Item, Reading

_MOST_STATES: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Assigned:
    """The state of every reading; `undecided` says why a reading has none although it would need one."""

    states: tuple[str | None, ...]
    undecided: Mapping[int, str]
    warnings: tuple[str, ...] = ()


def assign(item: Item) -> Assigned:
    """A reading's own state; without one the only state, or the first where that makes no difference."""
    first = item.states[0].name if item.states else None
    states = [reading.state if reading.state is not None else first for reading in item.readings]
    undecided: dict[int, str] = {}
    if len(item.states) > 1:
        for number, reading in enumerate(item.readings):
            if reading.state is None and reading.quantity not in UNPOWERED:
                sentence = _difference(item, number, reading)
                if sentence:
                    undecided[number] = sentence
    warnings = tuple(f"Reading {number + 1} ({item.readings[number].quantity}) says no state." for number in undecided)
    return Assigned(states=tuple(states), undecided=undecided, warnings=warnings)


def _difference(item: Item, number: int, reading: Reading) -> str:
    """The sentence for a reading without a state whose value is another in each; "" where it is the same in all."""
    found: list[tuple[str, float]] = []
    names = [state.name for state in item.states[:_MOST_STATES]]
    one = _only(item, number)
    for name in names:
        seen = Forward(one, [name]).seen()
        if seen and seen[0] is not None:
            found.append((name, seen[0].shown))
    if len(found) < 2:
        return ""
    values = [value for _, value in found]
    allowed = 2.0 * error_of(item, reading).sigma
    if max(values) - min(values) <= max(allowed, 1e-9) or not math.isfinite(max(values)):
        return ""
    words = listed([f"{amount(value, reading.unit)} in '{name}'" for name, value in found])
    return f"This reading says no state, and the states differ: {words} are computed; write state = … beside it."


def _only(item: Item, number: int) -> Item:
    return replace(item, readings=(item.readings[number],))
