"""From text to an item: every table in its turn, every problem noted."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from lidoff.record.fields import Fields
from lidoff.record.locate import locate
from lidoff.record.measured import read_meters, read_readings, read_recordings
from lidoff.record.model import Item, Problem, Supply
from lidoff.record.names import Names
from lidoff.record.parts import read_blocks, read_parts
from lidoff.record.problems import Notes, RecordError, in_order, quoted
from lidoff.record.source import BYTE_ORDER_MARK, LARGEST, load, parse_toml, too_large
from lidoff.record.states import read_states
from lidoff.record.supply import NOMINAL_MAINS, read_supply
from lidoff.record.telling import read_telling
from lidoff.record.things import (
    GAP,
    PLUG,
    SURFACE_KEYS,
    VERDICT,
    WIRE,
    check_gaps,
    read_drawing,
    read_many,
    read_one,
    read_photos,
    read_rated,
    read_sightings,
    top_table,
)

FORMAT: Final = 1
"""The version of the record format that this program reads and writes."""
CLASSES: Final = ("I", "II", "III")
ITEM_KINDS: Final = ("luminaire", "appliance", "adapter", "dimmer", "other")
TABLES: Final = (
    "lidoff",
    "item",
    "supply",
    "part",
    "block",
    "state",
    "meter",
    "reading",
    "recording",
    "photo",
    "sighting",
    "wire",
    "gap",
    "surface",
    "plug",
    "verdict",
    "drawing",
    "writeup",
)
_OTHER_TABLES: Final = {
    "component": "part",
    "mains": "supply",
    "measurement": "reading",
    "conclusion": "verdict",
    "report": "writeup",
}


def open(path: str | os.PathLike[str]) -> Item:
    """The record at `path`: a folder with an `item.toml`, an `item.toml`, or a lone `.toml` file.

    Raises RecordError, which carries every problem, where it cannot be read or is wrong. What is merely doubtful
    stands in the item's `warnings`.
    """
    source = load(path)
    return read_text(source.text, source.file)


def read_text(text: str, path: str | os.PathLike[str]) -> Item:
    """The record that `text` is; `path` is the file it stands in, or would.

    Raises RecordError as `open` does. Reads and writes no file.
    """
    item, problems = examine(text, Path(path))
    if any(problem.level == "error" for problem in problems):
        raise RecordError(problems)
    return item


def examine(text: str, path: Path) -> tuple[Item, tuple[Problem, ...]]:
    """The record as far as it can be read, and all its problems in line order.

    Raises RecordError where nothing can be read at all.
    """
    file = str(path)
    if len(text) > LARGEST or len(text.encode("utf-8", "surrogatepass")) > LARGEST:
        raise too_large(file)
    text = text.removeprefix(BYTE_ORDER_MARK)
    data = parse_toml(text, file)
    notes = Notes(file, locate(text))
    top = Fields(notes, data, (), "", "a record")
    if _is_newer(top):
        # Every other complaint would be about keys that the newer version knows and this one does not.
        raise RecordError(notes.problems)
    item = _read_item(notes, data, path)
    for key in TABLES:
        top.take(key)
    top.finish(other_names=_OTHER_TABLES)
    problems = in_order(notes.problems)
    warnings = tuple(problem for problem in problems if problem.level == "warning")
    return Item(**item, warnings=warnings), problems


def _is_newer(top: Fields) -> bool:
    """Notes what is wrong with the format version; true where the record is of a later one."""
    version = top.take("lidoff")
    if version is None:
        top.notes.warn(
            (), "lidoff", f"is missing; the record is read as format version {FORMAT}, write lidoff = {FORMAT}"
        )
    elif isinstance(version, bool) or not isinstance(version, int) or version < 1:
        top.error("lidoff", f"must be the format version, lidoff = {FORMAT}, but {quoted(version)} is written")
    elif version > FORMAT:
        top.error(
            "lidoff",
            f"the record has format version {version} and this program reads version {FORMAT}; use a newer Lidoff",
        )
        return True
    return False


def _read_item(notes: Notes, data: Mapping[str, Any], path: Path) -> dict[str, Any]:
    blocks = {block.name: block for block in read_blocks(notes, data)}
    parts = {part.name: part for part in read_parts(notes, data, blocks)}
    states = {state.name: state for state in read_states(notes, data, parts, blocks)}
    meters = {meter.name: meter for meter in read_meters(notes, data)}
    names = Names(parts, blocks, states, meters)
    _check_block_nodes(notes, data, names)
    gaps = read_many(notes, data, "gap", GAP)
    surfaces = read_many(notes, data, "surface", SURFACE_KEYS)
    check_gaps(notes, gaps, surfaces, names)
    supply = top_table(notes, data, "supply", "a supply")
    return {
        "path": path,
        **_read_head(notes, data),
        "supply": Supply() if supply is None else read_supply(notes, supply.data, ("supply",), "supply"),
        "parts": tuple(parts.values()),
        "blocks": tuple(blocks.values()),
        "states": tuple(states.values()),
        "meters": tuple(meters.values()),
        "readings": read_readings(notes, data, names),
        "recordings": read_recordings(notes, data, names),
        "photos": read_photos(notes, data),
        "sightings": read_sightings(notes, data),
        "wires": tuple(read_many(notes, data, "wire", WIRE)),
        "gaps": tuple(gaps),
        "surfaces": tuple(surfaces),
        "plug": read_one(notes, data, "plug", PLUG),
        "verdict": read_one(notes, data, "verdict", VERDICT),
        "drawing": read_drawing(notes, data),
        "writeup": read_telling(notes, data),
    }


def _read_head(notes: Notes, data: Mapping[str, Any]) -> dict[str, Any]:
    fields = top_table(notes, data, "item", "an item")
    if fields is None:
        return {}
    head = {
        "title": fields.text("title") or "",
        "protection_class": fields.word("class", [*CLASSES, "?"]) or "?",
        "region": _known_word(fields, "region", tuple(NOMINAL_MAINS)),
        "kind": _known_word(fields, "kind", ITEM_KINDS),
        "use": fields.text("use", blank=True),
        "note": fields.text("note", blank=True),
        "rated": read_rated(fields),
    }
    fields.finish()
    return head


def _known_word(fields: Fields, key: str, choices: tuple[str, ...]) -> str | None:
    """One of the words, where "?" says as much as leaving it out."""
    word = fields.word(key, [*choices, "?"])
    return None if word == "?" else word


def _check_block_nodes(notes: Notes, data: Mapping[str, Any], names: Names) -> None:
    """The two nodes of a block must be joined by something else too, or the block hangs in the air."""
    joined = {node for part in names.everything.values() if part.block is None for node in part.nodes.values()}
    if not joined or "node" in notes.lost:
        return
    written = [one.get("name") if isinstance(one, Mapping) else None for one in data.get("block", [])]
    for block in names.blocks.values():
        others = {node for other in names.blocks.values() if other is not block for node in other.nodes}
        for node in block.nodes:
            if node and node not in joined | others and node not in ("live", "neutral", "earth"):
                near = notes.nearest(node, joined)
                path = ("block", written.index(block.name), "nodes")
                notes.warn(path, f"{block.name}.nodes", f"nothing else joins the node {quoted(node)}{near}")
