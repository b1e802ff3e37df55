"""What a trace makes of a record: the parts' nodes as a change to `item.toml` that is shown before it is made."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from lidoff.kinds import KINDS
from lidoff.photos.kept import Trace
from lidoff.photos.naming import name_nodes
from lidoff.record import Item, Part, edit, read_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The nodes of one part, by pin: as typed (empty where nothing is), and as traced."""

    part: str
    before: Mapping[str, str]
    after: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Connections:
    """What follows from a trace.

    `changes` are made when asked; `disagreements` between trace and typed nodes and what is `missing`, such as a pin
    without a pad, are sentences.
    """

    changes: tuple[Change, ...]
    disagreements: tuple[str, ...]
    missing: tuple[str, ...]


def connections(item: Item, trace: Trace, *, replace: bool = False) -> Connections:
    """The nodes of the parts as traced. What the user typed stays, unless `replace` says that the trace goes before."""
    named = name_nodes(trace, item)
    at: dict[str, dict[str, str | None]] = {}
    for pad in trace.pads:
        if pad.part and pad.pin:
            pins = at.setdefault(pad.part, {})
            # Of a pin with two pads (a lead that is bent over, say) the one that is joined to something tells.
            pins[pad.pin] = pins.get(pad.pin) or named.nodes.get(pad.id)
    changes, missing = [], []
    for part in item.parts:
        traced = at.pop(part.name, None)
        if traced is None:
            continue
        change, lacks = _change(part, traced, replace=replace)
        if change is not None:
            changes.append(change)
        missing += lacks
    missing += [f"The pads of {name} belong to no part of the record; add the part, or rename them." for name in at]
    return Connections(changes=tuple(changes), disagreements=named.disagreements, missing=tuple(missing))


def _change(part: Part, traced: Mapping[str, str | None], *, replace: bool) -> tuple[Change | None, list[str]]:
    kind = KINDS.get(part.kind)
    if kind is None:
        return None, []
    found = {pin: node for pin, node in traced.items() if node is not None}
    after = {**part.nodes, **found} if replace else {**found, **part.nodes}
    lacking = [pin for pin in kind.pins if pin not in after and pin not in kind.optional_pins]
    if lacking:
        said = [
            f"{part.name}.{pin} is joined to nothing yet." if pin in traced else f"{part.name}.{pin} has no pad yet."
            for pin in lacking
        ]
        return None, said
    ordered = {pin: after[pin] for pin in kind.pins if pin in after}
    if ordered == dict(part.nodes):
        return None, []
    return Change(part=part.name, before=dict(part.nodes), after=ordered), []


def changed_text(item: Item, text: str, changes: tuple[Change, ...]) -> str:
    """The text of `item.toml` with the changes made, every other character kept; what comes out is read again.

    Raises RecordError where that is no longer a legal record.
    """
    for change in changes:
        part = item.part(change.part)
        listed = part is not None and (kind := KINDS.get(part.kind)) is not None and kind.listed
        value = list(change.after.values()) if listed else dict(change.after)
        text = edit.set_value(text, f"{change.part}.nodes", value)
    if changes:
        read_text(text, item.path)
    return text


def shown(before: str, after: str, name: str) -> str:
    """The change as lines taken out and put in, with a line round each to find it by."""
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), name, f"{name}, as traced", lineterm="", n=2)
    return "\n".join(lines)
