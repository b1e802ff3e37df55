"""From traced pads to pieces of copper, and from pieces to the names of nodes.

A meter overrules a picture, and so does the user's word: what they join is joined first, what they keep apart bars the
pictures' joins across it. Mains nodes come first, by the pads that were told to be theirs; then the user's own words,
each for the piece that most of its pins are on; then the rails of a bridge rectifier, p and m; then n1, n2 and so on.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lidoff.kinds import KINDS, MAINS_NODES
from lidoff.photos.kept import KeptJoin, KeptPad, Picture, Trace
from lidoff.record import Item, Part

_RAILS = {"plus": "p", "minus": "m"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Pads in pieces of copper, in the pads' order, and what contradicts itself, as sentences."""

    pieces: tuple[tuple[str, ...], ...]
    contradictions: tuple[str, ...]


def pieces_of(trace: Trace) -> Pieces:
    """The pieces that the joins and wires of a trace make of its pads."""
    group = {pad.id: pad.id for pad in trace.pads}

    def root(name: str) -> str:
        while group[name] != name:
            group[name] = group[group[name]]
            name = group[name]
        return name

    said: list[str] = []
    told = [one for one in trace.joins if one.evidence.kind != "picture"]
    by_hand = [(one.a, one.b) for one in told if one.joined] + [(wire.a, wire.b) for wire in trace.wires]
    for a, b in by_hand:
        group[root(b)] = root(a)
    barred = []
    for one in told:
        if not one.joined:
            if root(one.a) == root(one.b):
                said.append(f"{one.a} and {one.b} were told to be apart, and by other answers they are joined.")
            else:
                barred.append((one.a, one.b))
    for join in sorted(trace.joins, key=_margin, reverse=True):
        if join.evidence.kind == "picture" and join.joined:
            a, b = root(join.a), root(join.b)
            if a != b and not any({root(x), root(y)} == {a, b} for x, y in barred):
                group[b] = a
    held: dict[str, list[str]] = defaultdict(list)
    for pad in trace.pads:
        held[root(pad.id)].append(pad.id)
    return Pieces(pieces=tuple(tuple(piece) for piece in held.values()), contradictions=tuple(said))


def _margin(join: KeptJoin) -> float:
    return join.evidence.margin if isinstance(join.evidence, Picture) else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The node of each pad that has one, and what the trace and the typed nodes disagree on, as sentences."""

    nodes: Mapping[str, str]
    disagreements: tuple[str, ...]


def name_nodes(trace: Trace, item: Item) -> Named:
    """Names for the pieces of a trace.

    A pad on its own gets a name only where one was told or typed: that nothing is joined to it may be because nobody
    has looked.
    """
    found = pieces_of(trace)
    parts = {part.name: part for part in item.parts}
    pads = {pad.id: pad for pad in trace.pads}
    said = list(found.contradictions)
    names: dict[int, str] = {}
    for number, piece in enumerate(found.pieces):
        told = list(dict.fromkeys(node for name in piece if (node := pads[name].node)))
        if len(told) > 1:
            said.append(f"{_list(told)} are one piece of copper: {_list(_titles(pads, piece))}.")
        if told:
            # Mains first, as they stand in the list of mains nodes.
            names[number] = min(told, key=lambda node: MAINS_NODES.index(node) if node in MAINS_NODES else 9)
    for node in sorted({name for name in names.values() if list(names.values()).count(name) > 1}):
        said.append(f"{node} was told on several pieces of copper that nothing joins; say which wire or track does.")
    _typed_names(names, found.pieces, pads, parts)
    taken = set(names.values()) | _typed_nodes(item) | set(MAINS_NODES)
    for number, piece in enumerate(found.pieces):
        if number in names or len(piece) < 2:
            continue
        rail = next((word for name in piece if (word := _RAILS.get(pads[name].pin or "")) and word not in taken), None)
        names[number] = rail or _next(taken)
        taken.add(names[number])
    nodes = {name: names[number] for number, piece in enumerate(found.pieces) if number in names for name in piece}
    said += _against_typed(found.pieces, nodes, pads, parts)
    return Named(nodes=nodes, disagreements=tuple(said))


def _next(taken: set[str]) -> str:
    number = 1
    while f"n{number}" in taken:
        number += 1
    return f"n{number}"


def _typed(pad: KeptPad, parts: Mapping[str, Part]) -> str | None:
    """The node that the user typed for the pin of a pad."""
    part = parts.get(pad.part or "")
    return None if part is None or pad.pin is None else part.nodes.get(pad.pin)


def _typed_nodes(item: Item) -> set[str]:
    return {node for part in item.parts for node in part.nodes.values()} | {
        node for block in item.blocks for node in block.nodes if node
    }


def _typed_names(
    names: dict[int, str], pieces: Iterable[tuple[str, ...]], pads: Mapping[str, KeptPad], parts: Mapping[str, Part]
) -> None:
    """Gives each piece without a name the typed one that most of its pins bear; each name goes to one piece."""
    votes: list[tuple[int, int, str]] = []
    for number, piece in enumerate(pieces):
        if number not in names:
            counted = Counter(node for name in piece if (node := _typed(pads[name], parts)))
            votes += [(-count, number, node) for node, count in counted.items()]
    used = set(names.values())
    for _, number, node in sorted(votes):
        if number not in names and node not in used:
            names[number] = node
            used.add(node)


def _against_typed(
    pieces: Iterable[tuple[str, ...]], nodes: Mapping[str, str], pads: Mapping[str, KeptPad], parts: Mapping[str, Part]
) -> list[str]:
    said = []
    for piece in pieces:
        for name in piece:
            typed, traced = _typed(pads[name], parts), nodes.get(name)
            if typed is None or traced is None or typed == traced:
                continue
            others = [_title(pads[other]) for other in piece if other != name][:3]
            joined = f", with {_list(others)}" if others else ", joined to nothing else"
            said.append(f'{_title(pads[name])} is typed at "{typed}"; the trace has it at "{traced}"{joined}.')
    return said


def _title(pad: KeptPad) -> str:
    return f"{pad.part}.{pad.pin}" if pad.part and pad.pin else pad.id


def _titles(pads: Mapping[str, KeptPad], piece: Iterable[str]) -> list[str]:
    return [_title(pads[name]) for name in piece]


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def pin_of(item: Item, text: str) -> tuple[str, str]:
    """The part and pin that "R1.2", "BR1.plus" or "section/R1.2" names.

    Raises KeyError with a sentence where the record has no such part, or the part no such pin.
    """
    ref, dot, pin = text.rpartition(".")
    part = item.part(ref) if dot else None
    if part is None:
        raise KeyError(f'there is no part "{ref or text}" in this record; name a pin as R1.2 or BR1.plus')
    kind = KINDS.get(part.kind)
    if kind is not None and pin not in kind.pins:
        raise KeyError(f"{part.name} has no pin {pin}; its pins: {', '.join(kind.pins)}")
    return part.name, pin
