"""Reading `[[part]]` and `[[block]]`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from lidoff.kinds import (
    CAPACITOR_CLASSES,
    KINDS,
    MAINS_NODES,
    OTHER_KEYS,
    OTHER_KINDS,
    OTHER_NODES,
    RATING_UNITS,
    Key,
    Kind,
)
from lidoff.record.fields import Fields, positive, tabled, tables
from lidoff.record.locate import Path
from lidoff.record.model import EMPTY, Block, Part, Unknown, Value
from lidoff.record.problems import Notes, listed, nearest, quoted

COMMON_KEYS: Final = ("ref", "kind", "marking", "tolerance", "rating", "nodes", "block", "count", "note", "between")
BLOCK_COUNTS: Final = tuple(
    Key(name=name, unit="", default=1.0, least=1.0, least_open=False, whole=True) for name in ("repeat", "parallel")
)
# These stand beside refs where a part is named, and would be taken for one.
RESERVED_REFS: Final = frozenset({"input", "supply"})
_NOT_IN_REF: Final = re.compile(r"[\s./=,\"']")
_OTHER_KINDS: Final = dict(OTHER_KINDS)
_OTHER_KEYS: Final = dict(OTHER_KEYS)
# What stands on a fuse for its speed: letters of IEC 60127-1, marking of fuse-links (from memory).
_SPEEDS: Final = {"FF": "very quick", "F": "quick", "M": "medium", "T": "slow", "TT": "very slow"}


def read_blocks(notes: Notes, data: Mapping[str, Any]) -> tuple[Block, ...]:
    """Every block of the record."""
    blocks: dict[str, Block] = {}
    for path, one in tables(notes, data, "block"):
        block = _read_block(notes, one, path, blocks)
        if block is not None:
            blocks[block.name] = block
        else:
            notes.lost |= {"part", "node"}
    return tuple(blocks.values())


def _read_block(notes: Notes, data: Mapping[str, Any], path: Path, before: Mapping[str, Block]) -> Block | None:
    raw_name = data.get("name")
    key = raw_name if isinstance(raw_name, str) and raw_name else "block"
    fields = Fields(notes, data, path, key, "a block", BLOCK_COUNTS)
    name = _new_name(fields, "name", before, blanks=True)
    counts = {spec.name: fields.number(spec) for spec in BLOCK_COUNTS}
    nodes = fields.node_pair("nodes")
    if "nodes" not in data:
        fields.lacks("nodes", 'must name the two nodes that the block stands between, such as ["p", "m"]')
    count = fields.whole("count")
    note = fields.text("note", blank=True)
    fields.finish()
    if name is None:
        return None
    return Block(
        name=name,
        repeat=_count(counts["repeat"]),
        parallel=_count(counts["parallel"]),
        nodes=nodes or ("", ""),
        count=count,
        note=note,
        line=fields.line,
    )


def _count(value: float | Unknown | None) -> int | Unknown:
    if value is None:
        return 1
    return value if isinstance(value, Unknown) else int(value)


def read_parts(notes: Notes, data: Mapping[str, Any], blocks: Mapping[str, Block]) -> tuple[Part, ...]:
    """Every part of the record; the blocks are checked against their members."""
    parts: dict[str, Part] = {}
    paths: dict[str, Path] = {}
    for path, one in tables(notes, data, "part"):
        part = read_part(notes, one, path, blocks, parts)
        if part is not None:
            parts[part.name] = part
            paths[part.name] = path
    written = [one.get("name") for one in data.get("block", []) if isinstance(one, Mapping)] if blocks else []
    for block in blocks.values():
        path = ("block", written.index(block.name))
        if block.name in parts:
            notes.error((*path, "name"), block.name, "is the name of a part too; give the block another")
        _check_members(notes, path, block, [part for part in parts.values() if part.block == block.name])
    _check_node_names(notes, parts, paths)
    return tuple(parts.values())


def read_part(
    notes: Notes, data: Mapping[str, Any], path: Path, blocks: Mapping[str, Block], before: Mapping[str, Part]
) -> Part | None:
    """One part, or None where its ref or kind is not known; `before` are the parts whose names are taken."""
    fields = Fields(notes, data, path, _shown_name(data), "a part")
    kind = _read_kind(fields)
    if kind is not None:
        fields.what = _with_article(kind.title)
        fields.infer = inferable(kind)
        fields.find_unknowns()
    block = fields.text("block")
    if block is not None and block not in blocks:
        fields.error("block", f"there is no block named {quoted(block)}{notes.nearest(block, blocks)}")
        notes.lost |= {"part", "node"}
        block = None
    ref = _new_name(fields, "ref", {})
    marking = fields.text("marking")
    values = {} if kind is None else read_values(fields, kind)
    tolerance = _read_tolerance(fields, kind)
    rating = _read_rating(fields, kind, values)
    nodes = EMPTY if kind is None else _read_nodes(fields, kind)
    count = fields.whole("count")
    note = fields.text("note", blank=True)
    if kind is not None:
        fields.finish(more=[spec.name for spec in kind.keys], other_names=_OTHER_KEYS)
    if ref is None or kind is None:
        notes.lost |= {"part", "node"}
        return None
    if not nodes and "nodes" in data:
        notes.lost.add("node")
    part = Part(
        ref=ref,
        kind=kind.name,
        marking=None if marking == "?" else marking,
        values=tabled(values),
        tolerance=tolerance,
        rating=rating,
        nodes=nodes,
        block=block,
        count=count,
        note=note,
        line=fields.line,
    )
    if part.name in before:
        at = f" (line {before[part.name].line})"
        fields.error("ref", f"there are two parts named {part.name}{at}; give one of them another ref")
        notes.lost |= {"part", "node"}
        return None
    return part


def inferable(kind: Kind) -> tuple[Key, ...]:
    """The keys of a kind that are numbers, and so may be unknown."""
    return tuple(spec for spec in kind.keys if spec.unit not in ("bool", "word"))


def read_values(fields: Fields, kind: Kind) -> dict[str, Value | None]:
    """The keys of a kind's law, as far as they are written."""
    return {spec.name: _read_value(fields, spec) for spec in kind.keys if spec.name in fields.data}


def _read_value(fields: Fields, spec: Key) -> Value | None:
    if spec.name == "rating" and isinstance(fields.data["rating"], Mapping):
        return None
    if spec.unit not in ("bool", "word"):
        return fields.number(spec)
    if fields.data[spec.name] == "?":
        # A word cannot be inferred: not known means that the default holds.
        fields.take(spec.name)
        return None
    if spec.name == "speed" and isinstance(written := fields.data["speed"], str) and written.strip() in _SPEEDS:
        fields.take("speed")
        return _SPEEDS[written.strip()]
    return fields.flag(spec.name) if spec.unit == "bool" else fields.word(spec.name, spec.choices)


def _shown_name(data: Mapping[str, Any]) -> str:
    ref, block = data.get("ref"), data.get("block")
    if not isinstance(ref, str) or not ref.strip():
        return "part"
    return f"{block}/{ref}" if isinstance(block, str) and block else ref


def _new_name(fields: Fields, key: str, before: Mapping[str, Any], *, blanks: bool = False) -> str | None:
    """The ref of a part or the name of a block: present, plain, not taken."""
    name = fields.text(key)
    if key not in fields.data or fields.data[key] == "":
        example = "section" if blanks else "R1"
        fields.lacks(key, f'is missing; every part and block needs one, such as {key} = "{example}"')
        return None
    if name is None:
        return None
    if _NOT_IN_REF.search(name.replace(" ", "") if blanks else name):
        fields.error(key, f"{quoted(name)} must not hold blanks, points, strokes, commas, quotes or equals signs")
        return None
    if name in RESERVED_REFS or name == "?":
        fields.error(key, f"{quoted(name)} has a meaning of its own in a record; choose another {key}")
        return None
    if name in before:
        fields.error(key, f"there are two blocks named {quoted(name)} (line {before[name].line}); rename one of them")
        return None
    return name


def _read_kind(fields: Fields) -> Kind | None:
    if "kind" not in fields.data:
        fields.take("kind")
        fields.lacks("kind", 'is missing; say what the part is, such as kind = "resistor"')
        return None
    word = fields.word("kind", KINDS, _OTHER_KINDS)
    return None if word is None else KINDS[word]


def _with_article(title: str) -> str:
    return f"{'an' if title[0] in 'aeioLM' and not title.startswith('mot') else 'a'} {title}"


def _read_tolerance(fields: Fields, kind: Kind | None) -> float | Mapping[str, float] | None:
    value = fields.data.get("tolerance")
    if not isinstance(value, Mapping):
        return fields.share("tolerance")
    table = fields.table("tolerance", "a tolerance")
    if table is None or kind is None:
        return None
    shares = {name: table.share(name) for name in value if any(spec.name == name for spec in fields.infer)}
    table.finish(more=[spec.name for spec in fields.infer], other_names=_OTHER_KEYS)
    return tabled(shares)


def _read_rating(fields: Fields, kind: Kind | None, values: dict[str, Value | None]) -> Mapping[str, float | str]:
    """The `rating` table. A fuse may give its rated current alone (`rating = "2 A"`), which is one of its values."""
    is_fuse = kind is not None and kind.key("rating") is not None
    if is_fuse and not isinstance(fields.data.get("rating"), Mapping):
        return EMPTY
    written = fields.take("rating")
    if isinstance(written, str | int | float):
        form = '{ power = "0.5 W" }'
        fields.error("rating", f"must be a table that says of what, such as {form}, but {quoted(written)} is written")
        return EMPTY
    table = fields.table("rating", "a rating")
    if table is None:
        return EMPTY
    rating: dict[str, Any] = {name: table.known(positive(name, unit)) for name, unit in RATING_UNITS.items()}
    if kind is not None and kind.name == "capacitor":
        rating["class"] = None if table.data.get("class") == "?" else table.word("class", CAPACITOR_CLASSES)
        table.take("class")
    table.finish()
    if is_fuse and rating.get("current") is not None:
        values["rating"] = rating["current"]
    return tabled(rating)


def _read_nodes(fields: Fields, kind: Kind) -> Mapping[str, str]:
    written = fields.take("nodes")
    if written is None:
        return EMPTY
    nodes = _listed_nodes(fields, kind, written) if kind.listed else _named_nodes(fields, kind, written)
    if len(kind.pins) == 2 and len(nodes) == 2 and len(set(nodes.values())) == 1:
        fields.warn("nodes", f'both pins are at "{next(iter(nodes.values()))}", so that the part does nothing')
    return nodes


def _listed_nodes(fields: Fields, kind: Kind, written: Any) -> Mapping[str, str]:
    if not isinstance(written, list) or len(written) != len(kind.pins):
        fields.error("nodes", f'must be a list of two nodes, such as ["x", "m"], but {_as_written(written)} is written')
        return EMPTY
    nodes: dict[str, str] = {}
    for pin, node in zip(kind.pins, written, strict=True):
        name = fields.node("nodes", node)
        if name is None:
            return EMPTY
        nodes[pin] = name
    return tabled(nodes)


def _named_nodes(fields: Fields, kind: Kind, written: Any) -> Mapping[str, str]:
    if not isinstance(written, Mapping):
        form = ", ".join(f'{pin} = "…"' for pin in kind.pins)
        fields.error("nodes", f"must say which pin is where, {{ {form} }}, but {_as_written(written)} is written")
        return EMPTY
    pins = fields.table("nodes", f"{fields.what}'s pins")
    if pins is None:
        return EMPTY
    nodes: dict[str, str] = {}
    whole = True
    for pin, node in written.items():
        if pin not in kind.pins:
            pins.error(pin, f"{fields.what} has no pin {quoted(pin)}{fields.notes.nearest(pin, kind.pins)}")
            whole = False
        elif (name := pins.node(pin, node)) is None:
            whole = False
        else:
            nodes[pin] = name
    absent = [pin for pin in kind.pins if pin not in nodes]
    missing = [pin for pin in absent if pin not in kind.optional_pins]
    if whole and not missing and kind.optional_pins and set(absent) >= kind.optional_pins:
        missing = absent
    if whole and missing:
        which = " or ".join(missing) if set(missing) == kind.optional_pins else ", ".join(missing)
        fields.error("nodes", f"does not say where {which} of {fields.key} is; its pins: {listed(kind.pins)}")
    # In the kind's own order, whatever the order written: what comes after counts on it.
    return tabled({pin: nodes[pin] for pin in kind.pins if pin in nodes}) if whole and not missing else EMPTY


def _as_written(value: Any) -> str:
    if isinstance(value, Mapping):
        return "a table of pins"
    return "a list of " + (f"{len(value)}" if value else "none") if isinstance(value, list) else quoted(value)


def _check_members(notes: Notes, path: Path, block: Block, members: list[Part]) -> None:
    """A block needs members that join its ends."""
    if "part" in notes.lost:
        return
    if not members:
        notes.warn(path, block.name, f'no part belongs to this block; write block = "{block.name}" in its parts')
        return
    used = {node for part in members for node in part.nodes.values()}
    if all(part.nodes for part in members) and not used & set(MAINS_NODES):
        for end in ("in", "out"):
            if end not in used:
                notes.error(path, block.name, f'none of its parts joins the node "{end}", so the block has a loose end')


def _check_node_names(notes: Notes, parts: Mapping[str, Part], paths: Mapping[str, Path]) -> None:
    """Names that look like a node of the mains but are not, and inner names of a block that look like outer ones."""
    outside = {node for part in parts.values() if part.block is None for node in part.nodes.values()}
    for part in parts.values():
        path, key = (*paths[part.name], "nodes"), f"{part.name}.nodes"
        for node in sorted(set(part.nodes.values())):
            if part.block is not None:
                if node in MAINS_NODES:
                    notes.error(path, key, f'"{node}" cannot be reached inside a block; join it outside')
                elif node in outside:
                    notes.warn(path, key, f'"{node}" inside the block is not the node "{node}" outside of it')
            elif (meant := _mains_node_meant(node, outside)) is not None:
                notes.warn(path, key, f'"{node}" is not the node "{meant}" of the mains; rename it if it should be')


def _mains_node_meant(node: str, used: set[str]) -> str | None:
    """The node of the mains that a name was probably meant to be; a name of one's own ("live2") is left alone."""
    if node in MAINS_NODES or any(node.startswith(name) for name in MAINS_NODES):
        return None
    other = OTHER_NODES.get(node)
    if other is not None:
        return other if other not in used else None
    return nearest(node, MAINS_NODES, cutoff=0.8)
