"""What the names used in one record refer to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from lidoff.kinds import MAINS_NODES
from lidoff.record.fields import Fields
from lidoff.record.model import Block, Meter, Part, State
from lidoff.record.problems import quoted

INPUT = "input"


class Names:
    """Every name of a record that another place in it may refer to."""

    def __init__(
        self,
        parts: Mapping[str, Part],
        blocks: Mapping[str, Block],
        states: Mapping[str, State],
        meters: Mapping[str, Meter],
    ) -> None:
        self.parts = parts
        self.blocks = blocks
        self.states = states
        self.meters = meters
        added = {part.name: part for state in states.values() for part in state.add}
        self.everything = {**added, **parts}
        self.refs = short_names(self.everything)
        self.nodes = known_nodes([*added.values(), *parts.values()], blocks)
        self.traced = any(part.nodes for part in self.everything.values())


def known_nodes(parts: Iterable[Part], blocks: Mapping[str, Block]) -> set[str]:
    """The nodes of the mains and of blocks, and those that some part outside of a block joins."""
    joined = {node for part in parts if part.block is None for node in part.nodes.values()}
    return joined | set(MAINS_NODES) | {node for block in blocks.values() for node in block.nodes if node}


def short_names(parts: Iterable[str]) -> dict[str, str]:
    """What a part may be called, to its full name: "R1" means "section/R1" where only that block has an R1."""
    names: dict[str, str | None] = {}
    full = list(parts)
    for name in full:
        ref = name.rpartition("/")[2]
        names[ref] = None if ref in names else name
    return {**{ref: name for ref, name in names.items() if name is not None}, **{name: name for name in full}}


def reference(fields: Fields, key: str, known: Mapping[str, Any], what: str) -> str | None:
    """The name of a state or meter that has to exist."""
    name = fields.text(key)
    if name is None or name in known:
        return name
    if what in fields.notes.lost:
        return None
    fields.error(key, f"there is no {what} named {quoted(name)}{fields.notes.nearest(name, known)}")
    return None


_OF_SURFACES: Final = frozenset({"temperature", "temperature_rise", "touch_current"})
_OUTSIDE: Final = ("surface:", "wire:")


def place(fields: Fields, names: Names, quantity: str | None = None) -> str | tuple[str, str]:
    """Where a reading was taken: "input", a part, or two nodes; heat and touch also at "surface:NAME", "wire:REF"."""
    written = fields.take("at")
    if written is None or written == INPUT:
        return INPUT
    if quantity in _OF_SURFACES and isinstance(written, str) and written.strip().startswith(_OUTSIDE):
        return written.strip()
    nodes = names.nodes
    if isinstance(written, str):
        name = names.refs.get(written.strip())
        if name is not None:
            return name
        if "part" in fields.notes.lost:
            return INPUT
        if written in nodes:
            fields.error("at", f'"{written}" is a node; a reading between nodes names two, such as at = ["p", "m"]')
        else:
            near = fields.notes.nearest(written, [*names.everything, INPUT])
            if quantity in _OF_SURFACES:
                near += f'; what is touched is written "surface:{written}", a cord "wire:{written}"'
            fields.error("at", f'{quoted(written)} is neither "input" nor a part of this record{near}')
        return INPUT
    pair = fields.node_pair("at")
    # Until some part says what it joins, no node name can be told from a misspelt one.
    if pair is None or "node" in fields.notes.lost or not names.traced:
        return pair or INPUT
    for node in pair:
        if node not in nodes and not node.startswith("surface:"):
            fields.error("at", f"no part joins a node named {quoted(node)}{fields.notes.nearest(node, nodes)}")
    return pair
