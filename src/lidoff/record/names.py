"""What the names used in one record refer to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lidoff.kinds import MAINS_NODES
from lidoff.record.fields import Fields
from lidoff.record.model import EMPTY, Block, Meter, Part, State
from lidoff.record.problems import quoted

INPUT = "input"


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """Every name of a record that another place in it may refer to."""

    parts: Mapping[str, Part] = field(default_factory=lambda: EMPTY)
    blocks: Mapping[str, Block] = field(default_factory=lambda: EMPTY)
    states: Mapping[str, State] = field(default_factory=lambda: EMPTY)
    meters: Mapping[str, Meter] = field(default_factory=lambda: EMPTY)

    def everywhere(self, state: str | None = None) -> dict[str, Part]:
        """The parts by name with those that states add; a state's own go before the others."""
        added = {part.name: part for one in self.states.values() for part in one.add}
        here = self.states.get(state) if state is not None else None
        own = {part.name: part for part in here.add} if here is not None else {}
        return {**added, **self.parts, **own}

    def nodes(self, state: str | None = None) -> set[str]:
        """The nodes of the mains, and those that some part outside of a block joins."""
        joined = {
            node for part in self.everywhere(state).values() if part.block is None for node in part.nodes.values()
        }
        return joined | set(MAINS_NODES) | {node for block in self.blocks.values() for node in block.nodes if node}


def part_name(written: str, parts: Mapping[str, Part]) -> str | None:
    """The full name of the part that `written` names: "section/R1" for "R1" where only that block has an R1."""
    if written in parts:
        return written
    bearers = [name for name, part in parts.items() if part.ref == written]
    return bearers[0] if len(bearers) == 1 else None


def reference(fields: Fields, key: str, known: Mapping[str, Any], what: str) -> str | None:
    """The name of a state or meter that has to exist."""
    name = fields.text(key)
    if name is None or name in known:
        return name
    if what in fields.notes.lost:
        return None
    fields.error(key, f"there is no {what} named {quoted(name)}{fields.notes.nearest(name, known)}")
    return None


def place(fields: Fields, names: Names, state: str | None) -> str | tuple[str, str]:
    """Where a reading was taken: "input", a part, or two nodes."""
    written = fields.take("at")
    if written is None or written == INPUT:
        return INPUT
    parts = names.everywhere(state)
    nodes = names.nodes(state)
    if isinstance(written, str):
        name = part_name(written.strip(), parts)
        if name is not None:
            return name
        if "part" in fields.notes.lost:
            return INPUT
        if written in nodes:
            fields.error("at", f'"{written}" is a node; a reading between nodes names two, such as at = ["p", "m"]')
        else:
            near = fields.notes.nearest(written, [*parts, INPUT])
            fields.error("at", f'{quoted(written)} is neither "input" nor a part of this record{near}')
        return INPUT
    pair = fields.node_pair("at")
    # Until some part says what it joins, no node name can be told from a misspelt one.
    if pair is None or "node" in fields.notes.lost or not any(part.nodes for part in parts.values()):
        return pair or INPUT
    for node in pair:
        if node not in nodes:
            fields.error("at", f"no part joins a node named {quoted(node)}{fields.notes.nearest(node, nodes)}")
    return pair
