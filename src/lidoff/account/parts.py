"""The parts: what their markings mean, where values come from, what they belong to and how hard they work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from lidoff.account.model import Origin, PartAccount, StateAccount
from lidoff.circuit import Element
from lidoff.circuit.groups import Groups
from lidoff.kinds import KINDS
from lidoff.markings import UNIT_OF_KIND, Decoded, MarkingError, decode
from lidoff.readings import Inferred
from lidoff.record import Item, Part
from lidoff.record.model import Table
from lidoff.studies import Stress

_NEAR: Final = 0.01  # a value written within this share of what the marking says is the marking's


def account_parts(
    item: Item,
    elements: Mapping[str, Element],
    states: Sequence[StateAccount],
    groups: Groups | None,
    used: Mapping[str, Inferred],
) -> tuple[PartAccount, ...]:
    """Every part of the record, those nearest to or furthest over a rating first, those that were not solved last."""
    added = [part for state in item.states for part in state.add]
    found = [
        _account_part(part, elements.get(part.name), states, groups, used)
        for part in {part.name: part for part in (*added, *item.parts)}.values()
    ]
    return tuple(sorted(found, key=_worst_first))


def _worst_first(one: PartAccount) -> tuple[bool, float]:
    worst = one.worst
    return (worst is None, -(worst.times or 0.0) if worst is not None else 0.0)


def _account_part(
    part: Part,
    element: Element | None,
    states: Sequence[StateAccount],
    groups: Groups | None,
    used: Mapping[str, Inferred],
) -> PartAccount:
    decoded = _decoded(part)
    stress, state = _worst_state(part.name, states)
    return PartAccount(
        part=part,
        element=element,
        decoded=decoded,
        taken=decoded.candidates[0] if decoded is not None and decoded.candidates else None,
        origins=Table({} if element is None else _origins(part, element, decoded, used)),
        groups=groups.of(part.name) if groups is not None else (),
        stress=stress,
        worst_state=state,
    )


def _decoded(part: Part) -> Decoded | None:
    """What the marking can mean as a part of that kind; None without a marking that is one."""
    if not part.marking:
        return None
    try:
        return decode(part.marking, kind=part.kind if part.kind in UNIT_OF_KIND else None)
    except MarkingError:
        return None


def _origins(part: Part, element: Element, decoded: Decoded | None, used: Mapping[str, Inferred]) -> dict[str, Origin]:
    """Where the value of each key comes from."""
    found: dict[str, Origin] = {}
    for key in KINDS[part.kind].keys:
        if key.name not in element.values:
            continue
        if f"{part.name}.{key.name}" in used:
            found[key.name] = "inferred"
        elif key.name in element.marked:
            found[key.name] = "marked"
        elif key.name in element.assumed or key.name in element.unknown:
            found[key.name] = "assumed"
        else:
            first = key is KINDS[part.kind].keys[0]
            found[key.name] = "marked" if first and _as_marked(element, key.name, decoded) else "recorded"
    return found


def _as_marked(element: Element, key: str, decoded: Decoded | None) -> bool:
    value = element.values[key]
    if decoded is None or not isinstance(value, float | int):
        return False
    return any(
        candidate.value is not None and abs(candidate.value - float(value)) <= _NEAR * abs(candidate.value)
        for candidate in decoded.candidates
    )


def _worst_state(ref: str, states: Sequence[StateAccount]) -> tuple[tuple[Stress, ...], str | None]:
    """The rows of stress of the state in which the part is worst off, and that state's name."""
    best: tuple[float, tuple[Stress, ...], str | None] | None = None
    for state in states:
        rows = tuple(row for row in state.stress if row.part == ref)
        times = max((row.times for row in rows if row.times is not None), default=-1.0)
        if rows and (best is None or times > best[0]):
            best = (times, rows, state.name)
    return ((), None) if best is None else (best[1], best[2])
