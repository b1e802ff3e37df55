"""Before and after a rework as a still: the best design that was offered, beside the item as found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.drawing import DrawingError
from lidoff.quantity import engineering
from lidoff.rework import Rework
from lidoff.rework.saving import picture_of
from lidoff.writeup.blocks import Comparison


def comparison_of(found: Rework) -> Comparison | None:
    """The best design of a rework beside the item as found; None where none is offered, or there is no cycle."""
    if not found.offered:
        return None
    design = found.offered[0]
    try:
        wide, narrow = (picture_of(found, design, narrow=form) for form in (False, True))
    except DrawingError:
        return None
    changes = [f"power {_changed(found.before, design.proof.figures, 'input', 'power', 'W')}"]
    if found.before.get("light") and design.proof.figures.get("light"):
        changes.append(f"flicker {_changed(found.before, design.proof.figures, 'light', 'percent_flicker', '%')}")
    return Comparison(wide=wide, narrow=narrow, headline=f"{design.title}: before and after", words="; ".join(changes))


def _changed(before: Mapping[str, Any], after: Mapping[str, Any], table: str, key: str, unit: str) -> str:
    """A figure before and after, to two digits: "86 % → 3.1 %"."""
    first, second = before[table][key], after[table][key]
    return " → ".join("none" if value is None else engineering(float(value), unit, 2) for value in (first, second))
