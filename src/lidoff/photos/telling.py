"""What the user says of a trace in words: which pad is which pin, what a pad is joined to, pads from a file.

Every function gives a new trace; what is said wrongly is one sentence and changes nothing.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from lidoff.photos.kept import Continuity, KeptJoin, KeptPad, KeptWire, Trace, TraceError, Word
from lidoff.photos.naming import pin_of
from lidoff.photos.pads import read_pads
from lidoff.photos.straighten import Floats, mapped
from lidoff.record import Item


def each(said: Sequence[str]) -> list[str]:
    """What was said, one by one: several may stand in one text, with blanks or commas between them."""
    return [word for one in said for word in one.replace(",", " ").split()]


def split(text: str, form: str) -> tuple[str, str]:
    """The two sides of "A=B". Raises TraceError, naming the form that is wanted."""
    one, sign, other = (side.strip() for side in text.partition("="))
    if not (one and sign and other):
        raise TraceError(f'"{text}" is not of the form {form}.')
    return one, other


def point(text: str) -> tuple[float, float]:
    """The pixel "x,y". Raises TraceError."""
    try:
        x, y = (float(side) for side in text.split(","))
    except ValueError as error:
        raise TraceError(f'"{text}" is no place in a photo; write x,y in pixels.') from error
    return x, y


def named(trace: Trace, item: Item, said: Sequence[str]) -> Trace:
    """The trace with pads named: each "P007=R1.2" says of which part's pin a pad is."""
    for one in each(said):
        name, pin_text = split(one, "P007=R1.2")
        pad = _pad(trace, name)
        try:
            part, pin = pin_of(item, pin_text)
        except KeyError as error:
            raise TraceError(f"{one}: {error.args[0]}.") from error
        trace = _with_pad(trace, pad.model_copy(update={"part": part, "pin": pin}))
    return trace


def told(trace: Trace, said: Sequence[str]) -> Trace:
    """The trace with nodes told: each "P003=live" says on which node a pad is."""
    for one in each(said):
        name, node = split(one, "P003=live")
        trace = _with_pad(trace, _pad(trace, name).model_copy(update={"node": node}))
    return trace


def answered(trace: Trace, pairs: Sequence[str], *, joined: bool, measured: bool, value: str = "") -> Trace:
    """The trace with joins told: each "P001=P004", by a meter or by the user's word."""
    joins = list(trace.joins)
    for one in each(pairs):
        a, b = (_pad(trace, name).id for name in split(one, "P001=P004"))
        if a == b:
            raise TraceError(f"{one}: a pad is always joined to itself; name two.")
        joins = [join for join in joins if {join.a, join.b} != {a, b}]
        evidence = Continuity(value=value) if measured else Word()
        joins.append(KeptJoin(a=a, b=b, joined=joined, evidence=evidence))
    return trace.model_copy(update={"joins": tuple(joins)})


def wired(trace: Trace, said: Sequence[str]) -> Trace:
    """The trace with jumpers and wires laid by hand: each "P001=P004"."""
    wires = list(trace.wires)
    for one in each(said):
        a, b = (_pad(trace, name).id for name in split(one, "P001=P004"))
        if not any({wire.a, wire.b} == {a, b} for wire in wires):
            wires.append(KeptWire(a=a, b=b))
    return trace.model_copy(update={"wires": tuple(wires)})


def without(trace: Trace, said: Sequence[str]) -> Trace:
    """The trace without these pads, and without what was said of them."""
    gone = {_pad(trace, one).id for one in each(said)}
    return trace.model_copy(
        update={
            "pads": tuple(pad for pad in trace.pads if pad.id not in gone),
            "joins": tuple(one for one in trace.joins if not {one.a, one.b} & gone),
            "wires": tuple(one for one in trace.wires if not {one.a, one.b} & gone),
        }
    )


def with_more(trace: Trace, said: Sequence[str], to_board: Floats) -> Trace:
    """The trace with pads set by hand: each "P020=x,y" in pixels of the copper photo."""
    pads = list(trace.pads)
    for one in said:
        name, where = split(one, "P020=x,y")
        if trace.pad(name) is not None or any(pad.id == name for pad in pads):
            raise TraceError(f"{one}: there is a pad {name} already; give the new one another name.")
        x, y = mapped(to_board, [point(where)])[0]
        pads.append(KeptPad(id=name, x=round(float(x), 4), y=round(float(y), 4)))
    return trace.model_copy(update={"pads": tuple(pads)})


def with_pads(trace: Trace, item: Item, file: Path, to_board: Floats) -> Trace:
    """The trace with the pads of a file in the place of its own, what is known of pads of the same id kept.

    The file is that of `trace --photo`, in pixels of the copper photo; a pad may also say "part", "pin" and "node".
    Raises PhotoError and TraceError.
    """
    placed = read_pads(file)
    places = mapped(to_board, [[pad.x, pad.y] for pad in placed])
    more = {one["id"]: one for one in json.loads(file.read_bytes())}
    pads = []
    for pad, (x, y) in zip(placed, places, strict=True):
        before = trace.pad(pad.id)
        one, node = more[pad.id], more[pad.id].get("node")
        part, pin = (before.part, before.pin) if before is not None else (None, None)
        if one.get("part") is not None:
            try:
                part, pin = pin_of(item, f"{one['part']}.{one.get('pin')}")
            except KeyError as error:
                raise TraceError(f"{file}: pad {pad.id}: {error.args[0]}.") from error
        pads.append(
            KeptPad(
                id=pad.id,
                x=round(float(x), 4),
                y=round(float(y), 4),
                part=part,
                pin=pin,
                node=str(node) if node is not None else (before.node if before is not None else None),
            )
        )
    known = {pad.id for pad in pads}
    answers = [one for one in trace.joins if one.evidence.kind != "picture"]
    used = {name for one in answers for name in (one.a, one.b)} | {
        name for one in trace.wires for name in (one.a, one.b)
    }
    if gone := sorted(used - known):
        raise TraceError(f"{file}: the trace holds an answer about pad {gone[0]}, which this file does not have.")
    # What the pictures said of other pads is said anew.
    kept = tuple(one for one in trace.joins if one.a in known and one.b in known)
    return trace.model_copy(update={"pads": tuple(pads), "joins": kept})


def _pad(trace: Trace, name: str) -> KeptPad:
    """The pad of that id, or of that pin as R1.2."""
    pad = trace.pad(name)
    if pad is None:
        pad = next((one for one in trace.pads if one.part and f"{one.part}.{one.pin}" == name), None)
    if pad is None:
        raise TraceError(f"There is no pad {name} on this board; lidoff trace ITEM lists them.")
    return pad


def _with_pad(trace: Trace, pad: KeptPad) -> Trace:
    return trace.model_copy(update={"pads": tuple(pad if one.id == pad.id else one for one in trace.pads)})
