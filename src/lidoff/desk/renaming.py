"""A part or a node under another name, in every place of a record that names it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.errors import LidoffError
from lidoff.record.edit import set_in_table
from lidoff.record.problems import quoted
from lidoff.record.source import parse_toml


class RenamingError(LidoffError):
    """A name that cannot be given; the text says why."""


def renamed_part(text: str, old: str, new: str) -> str:
    """The text with the part called `new` wherever it was called `old`. Raises RenamingError, RecordError.

    A block's member keeps its block: "section/R1" becomes "section/R2".
    """
    block, _, ref = new.rpartition("/")
    if block and block != old.rpartition("/")[0]:
        raise RenamingError(f"{old} cannot be moved to another block by renaming it.")
    full = f"{old.rpartition('/')[0]}/{ref}" if "/" in old else ref
    data = parse_toml(text, "")
    names = [_name(part) for part in _tables(data, "part")]
    if full in names:
        raise RenamingError(f"There is a part {full} already; give it another name first.")
    if old not in names:
        raise RenamingError(f"There is no part {quoted(old)} in this record.")
    text = set_in_table(text, "part", names.index(old), "ref", ref)
    for number, state in enumerate(_tables(data, "state")):
        for key in ("remove", "bypass"):
            text = _listed(text, "state", number, key, state.get(key), old, full)
        held = state.get("set")
        if isinstance(held, Mapping) and old in held:
            moved = {full if name == old else name: value for name, value in held.items()}
            text = set_in_table(text, "state", number, "set", moved)
    for kind in ("reading", "recording"):
        for number, table in enumerate(_tables(data, kind)):
            if table.get("at") == old:
                text = set_in_table(text, kind, number, "at", full)
    return text


def renamed_node(text: str, old: str, new: str) -> str:
    """The text with the node called `new` wherever it was called `old`; where both are there they become one.

    Nodes inside a block are its own and are renamed with it only where they carry the name too. Raises RecordError.
    """
    data = parse_toml(text, "")
    for kind in ("part", "block"):
        for number, table in enumerate(_tables(data, kind)):
            text = _noded(text, kind, number, "nodes", table.get("nodes"), old, new)
    for number, state in enumerate(_tables(data, "state")):
        supply = state.get("supply")
        if isinstance(supply, Mapping):
            text = _noded(text, "state", number, "supply.nodes", supply.get("nodes"), old, new)
    for kind, key in (("reading", "at"), ("recording", "at"), ("gap", "between")):
        for number, table in enumerate(_tables(data, kind)):
            if isinstance(table.get(key), list):
                text = _noded(text, kind, number, key, table[key], old, new)
    for number, surface in enumerate(_tables(data, "surface")):
        if surface.get("node") == old:
            text = set_in_table(text, "surface", number, "node", new)
    return text


def _noded(text: str, kind: str, number: int, key: str, nodes: Any, old: str, new: str) -> str:
    if isinstance(nodes, list):
        return _listed(text, kind, number, key, nodes, old, new)
    if isinstance(nodes, Mapping):
        for pin, node in nodes.items():
            if node == old:
                text = set_in_table(text, kind, number, f"{key}.{pin}", new)
    return text


def _listed(text: str, kind: str, number: int, key: str, names: Any, old: str, new: str) -> str:
    if not isinstance(names, list) or old not in names:
        return text
    return set_in_table(text, kind, number, key, [new if name == old else name for name in names])


def _tables(data: Mapping[str, Any], kind: str) -> list[Mapping[str, Any]]:
    found = data.get(kind, [])
    return [one if isinstance(one, Mapping) else {} for one in found] if isinstance(found, list) else []


def _name(table: Mapping[str, Any]) -> str:
    block, ref = table.get("block"), table.get("ref")
    return f"{block}/{ref}" if block else str(ref)
