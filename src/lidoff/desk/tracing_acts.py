"""What a hand does to a trace: pads, holes, boxes, answers, wires. Every act gives a new trace and what was done.

    {"do": "answer", "a": "P1", "b": "P2", "joined": true, "by": "continuity", "note": ""}     "by": or "user"
    {"do": "forget", "a": "P1", "b": "P2"}                                    the answer about that pair is taken out
    {"do": "add", "what": "pad", "x": 3.2, "y": 4}      and "hole" with "diameter", "body" with "width" and "height"
    {"do": "move", "what": "pad", "which": 3, "x": 3.4, "y": 4}               and "hole", "body"
    {"do": "remove", "what": "pad", "which": 3}                               and "hole", "body", "wire"
    {"do": "name", "what": "pad", "which": 3, "pin": "R1.1", "node": "live"}  and "body" with "part"
    {"do": "wire", "a": "P1", "b": "P2", "note": "blue wire"}

Places are in mm on the board.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from lidoff.photos.kept import (
    Continuity,
    KeptBody,
    KeptHole,
    KeptJoin,
    KeptPad,
    KeptWire,
    Trace,
    TraceError,
    Word,
)
from lidoff.photos.naming import pin_of
from lidoff.photos.telling import without
from lidoff.record import Item

MOST: Final = 2000
"""The most pads, holes or boxes that are taken."""
_NOT_KNOWN: Final = "The page asked for something about the trace that the desk does not know."
T = TypeVar("T")


def acted(trace: Trace, item: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    """The trace after an act, and what was done, for the undo button. Raises TraceError."""
    doer = _DOERS.get(str(act.get("do")))
    if doer is None:
        raise TraceError(_NOT_KNOWN)
    try:
        return doer(trace, item, act)
    except ValidationError as error:
        raise TraceError(f"That cannot be kept: {error.errors()[0]['msg']}.") from error


def title(pad: KeptPad) -> str:
    """A pad by the pin that it is, else by its id."""
    return f"{pad.part}.{pad.pin}" if pad.part and pad.pin else pad.id


def told(trace: Trace) -> tuple[KeptJoin, ...]:
    """The joins that rest on somebody's word."""
    return tuple(one for one in trace.joins if one.evidence.kind != "picture")


def _answer(trace: Trace, _: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    a, b = _pair(trace, act)
    joined, by, note = act.get("joined"), act.get("by"), _text(act, "note")
    if not isinstance(joined, bool) or by not in ("user", "continuity"):
        raise TraceError(_NOT_KNOWN)
    evidence = Continuity(value=note) if by == "continuity" else Word(note=note)
    kept = [one for one in trace.joins if {one.a, one.b} != {a.id, b.id}]
    kept.append(KeptJoin(a=a.id, b=b.id, joined=joined, evidence=evidence))
    said = f"{title(a)} and {title(b)} {'joined' if joined else 'not joined'}"
    return trace.model_copy(update={"joins": tuple(kept)}), said


def _forget(trace: Trace, _: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    a, b = _pair(trace, act)
    kept = tuple(one for one in trace.joins if {one.a, one.b} != {a.id, b.id})
    return trace.model_copy(update={"joins": kept}), f"answer about {title(a)} and {title(b)} taken out"


def _wire(trace: Trace, _: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    a, b = _pair(trace, act)
    if any({one.a, one.b} == {a.id, b.id} for one in trace.wires):
        raise TraceError(f"There is a wire from {title(a)} to {title(b)} already.")
    wires = (*trace.wires, KeptWire(a=a.id, b=b.id, note=_text(act, "note")))
    return trace.model_copy(update={"wires": wires}), f"wire from {title(a)} to {title(b)}"


def _add(trace: Trace, item: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    what, x, y = act.get("what"), _mm(act, "x"), _mm(act, "y")
    if what == "pad":
        pad = KeptPad(id=_new_name(trace), x=x, y=y)
        part, pin = _pin(item, act)
        pad = pad.model_copy(update={"part": part, "pin": pin})
        return trace.model_copy(update={"pads": (*_room(trace.pads), pad)}), f"pad {title(pad)}"
    if what == "hole":
        hole = KeptHole(x=x, y=y, diameter=_mm(act, "diameter"), origin="user")
        return trace.model_copy(update={"holes": (*_room(trace.holes), hole)}), "a hole"
    if what == "body":
        body = KeptBody(x=x, y=y, width=_mm(act, "width"), height=_mm(act, "height"), part=_part(item, act))
        return trace.model_copy(update={"bodies": (*_room(trace.bodies), body)}), "a box round a body"
    raise TraceError(_NOT_KNOWN)


def _move(trace: Trace, _: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    place = {"x": _mm(act, "x"), "y": _mm(act, "y"), "origin": "user"}
    field, found, which = _one(trace, act)
    changed = tuple(one.model_copy(update=place) if n == which else one for n, one in enumerate(found))
    return trace.model_copy(update={field: changed}), f"{act['what']} moved"


def _remove(trace: Trace, _: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    field, found, which = _one(trace, act)
    if field == "pads":
        pad = trace.pads[which]
        return without(trace, (pad.id,)), f"pad {title(pad)} taken out"
    left = tuple(one for n, one in enumerate(found) if n != which)
    return trace.model_copy(update={field: left}), f"{act['what']} taken out"


def _name(trace: Trace, item: Item | None, act: Mapping[str, Any]) -> tuple[Trace, str]:
    field, found, which = _one(trace, act)
    if field == "pads":
        part, pin = _pin(item, act)
        before = trace.pads[which]
        update = {"part": part, "pin": pin, "node": _text(act, "node") or None, "origin": "user"}
        pad = before.model_copy(update=update)
        changed: tuple[Any, ...] = tuple(pad if n == which else one for n, one in enumerate(found))
        return trace.model_copy(update={"pads": changed}), f"pad {before.id} named {title(pad)}"
    if field == "bodies":
        update = {"part": _part(item, act), "origin": "user"}
        changed = tuple(one.model_copy(update=update) if n == which else one for n, one in enumerate(found))
        return trace.model_copy(update={"bodies": changed}), "a body named"
    raise TraceError(_NOT_KNOWN)


_DOERS: Final[Mapping[str, Callable[[Trace, Item | None, Mapping[str, Any]], tuple[Trace, str]]]] = {
    "answer": _answer,
    "forget": _forget,
    "wire": _wire,
    "add": _add,
    "move": _move,
    "remove": _remove,
    "name": _name,
}
_FIELDS: Final = {"pad": "pads", "hole": "holes", "body": "bodies", "wire": "wires"}


def _one(trace: Trace, act: Mapping[str, Any]) -> tuple[str, tuple[Any, ...], int]:
    """Which list an act means, the list, and the place in it. A pad may be named by its id."""
    field = _FIELDS.get(str(act.get("what")))
    if field is None:
        raise TraceError(_NOT_KNOWN)
    found: tuple[Any, ...] = getattr(trace, field)
    which = act.get("which")
    if field == "pads" and isinstance(which, str):
        which = next((n for n, pad in enumerate(trace.pads) if pad.id == which), None)
    if isinstance(which, bool) or not isinstance(which, int) or not 0 <= which < len(found):
        raise TraceError(f"That {act['what']} is no longer there; the page shows the trace as it is now.")
    return field, found, which


def _pair(trace: Trace, act: Mapping[str, Any]) -> tuple[KeptPad, KeptPad]:
    pads = [trace.pad(str(act.get(key))) for key in ("a", "b")]
    if pads[0] is None or pads[1] is None:
        raise TraceError("One of the two pads is no longer there; the page shows the trace as it is now.")
    if pads[0].id == pads[1].id:
        raise TraceError("A pad is always joined to itself; choose two.")
    return pads[0], pads[1]


def _mm(act: Mapping[str, Any], key: str) -> float:
    value = act.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or abs(value) > 2000:
        raise TraceError("A place on the board is a number of mm, at most 2000.")
    return round(float(value), 3)


def _text(act: Mapping[str, Any], key: str) -> str:
    value = act.get(key)
    return " ".join(value.split())[:120] if isinstance(value, str) else ""


def _pin(item: Item | None, act: Mapping[str, Any]) -> tuple[str | None, str | None]:
    text = _text(act, "pin")
    if not text or item is None:
        return None, None
    try:
        return pin_of(item, text)
    except KeyError as error:
        sentence = str(error.args[0])
        raise TraceError(f"{sentence[:1].upper()}{sentence[1:]}.") from error


def _part(item: Item | None, act: Mapping[str, Any]) -> str | None:
    text = _text(act, "part")
    if not text:
        return None
    part = item.part(text) if item is not None else None
    if part is None:
        raise TraceError(f'There is no part "{text}" in this record.')
    return part.name


def _room(found: tuple[T, ...]) -> tuple[T, ...]:
    if len(found) >= MOST:
        raise TraceError(f"There are {MOST} already, more than one board is traced with.")
    return found


def _new_name(trace: Trace) -> str:
    taken = {pad.id for pad in trace.pads}
    number = len(taken) + 1
    while f"P{number:03d}" in taken:
        number += 1
    return f"P{number:03d}"
