"""What a page's script may ask to have changed, as changes of the record's text.

    {"do": "set", "name": "R1.value", "value": "4k7"}                          a key of a part, block or single table
    {"do": "set", "kind": "reading", "which": 0, "key": "value", "value": "8.1 W"}   a key of one of several tables
    {"do": "add", "kind": "reading", "table": {"quantity": "power", "value": "8.1 W"}}
    {"do": "remove", "kind": "reading", "which": 0}
    {"do": "add", "kind": "writeup.paragraph", "table": {"after": "cycle", "text": "…"}}    the user's own words
    {"do": "rename", "what": "part", "from": "R1", "to": "R7"}                 and "node": everywhere it is named
    {"do": "say", "sentence": "R1 4k7 from p to m"}                            a part, new or changed
    {"do": "answer", "about": "cord-grip", "seen": "knot only"}                an answer to the look list

A value that is empty or null takes the key out. Whether the record is right afterwards is not asked here: what
somebody typed is kept, and what is wrong with it is shown beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from lidoff.desk.renaming import renamed_node, renamed_part
from lidoff.desk.saying import said
from lidoff.desk.telling import PARAGRAPH, add_paragraph, remove_paragraph, set_paragraph, set_telling
from lidoff.errors import LidoffError
from lidoff.record import RecordError, examine
from lidoff.record.edit import add_part, add_table, remove_part, remove_table, remove_value, set_in_table, set_value
from lidoff.record.problems import quoted
from lidoff.record.reading import TABLES
from lidoff.record.source import parse_toml

SINGLE: Final = ("item", "supply", "plug", "verdict", "drawing", "writeup")
MANY: Final = tuple(name for name in TABLES if name not in (*SINGLE, "lidoff"))
_LONGEST: Final = 20_000  # characters of one text
_DEEPEST: Final = 5
_MOST: Final = 500  # entries of one value, and changes of one edit
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_COUNT: Final = re.compile(r"\d{1,6}")
_COUNTED: Final = frozenset(
    {"series", "parallel", "repeat", "count", "strands", "minutes_on", "pollution_degree", "sample_rate"}
)
_FLAGS: Final = frozenset({"closed", "warm", "measured", "body_diode"})
_WORDS: Final[Mapping[str, bool]] = {"true": True, "false": False}


class EditError(LidoffError):
    """A change that cannot be made; the text says why."""


def changed(text: str, changes: Any) -> str:
    """The text with every one of the changes made, in order. Raises EditError, RecordError."""
    if not isinstance(changes, list) or not changes or len(changes) > _MOST:
        raise EditError("The page asked for a change that the desk does not know.")
    for one in changes:
        if not isinstance(one, dict) or one.get("do") not in _DOERS:
            raise EditError("The page asked for a change that the desk does not know.")
        text = _DOERS[one["do"]](text, one)
    return text


def _set(text: str, asked: Mapping[str, Any]) -> str:
    if "kind" in asked:
        key = _word(asked, "key")
        value = _value(key, asked.get("value"))
        if asked["kind"] == PARAGRAPH:
            return _paragraph(text, asked, lambda which: set_paragraph(text, which, key, value))
        if key == "at":
            value = _as_named(text, value)
        kind, which = _kind(asked), _which(asked)
        if value is None and not _held(_table(text, kind, which), key):
            return text
        return set_in_table(text, kind, which, key, value)
    name = _word(asked, "name")
    owner, _, key = name.partition(".")
    if owner == "lidoff":
        raise EditError("The format version of a record is not changed by hand.")
    value = _value(key, asked.get("value"))
    if owner == "writeup":
        return set_telling(text, key, value)
    if value is not None:
        return set_value(text, name, value)
    if owner in SINGLE and not _held(parse_toml(text, "").get(owner), key):
        return text
    if owner not in SINGLE and not _held(_table(text, "part", owner) or _table(text, "block", owner), key):
        return text
    return remove_value(text, name)


def _add(text: str, asked: Mapping[str, Any]) -> str:
    table = asked.get("table")
    if not isinstance(table, dict):
        raise EditError("The page asked for a change that the desk does not know.")
    values = {key: _value(key, value) for key, value in table.items()}
    kept = {key: value for key, value in values.items() if value is not None}
    if asked.get("kind") == PARAGRAPH:
        if not isinstance(kept.get("text"), str):
            raise EditError("Write the paragraph first.")
        return add_paragraph(text, kept)
    kind = _kind(asked)
    if "at" in kept:
        kept["at"] = _as_named(text, kept["at"])
    return add_part(text, kept) if kind == "part" else add_table(text, kind, kept)


def _paragraph(text: str, asked: Mapping[str, Any], change: Callable[[int], str]) -> str:
    """A change of one of the user's own paragraphs. Raises EditError where there is no such one."""
    which = _which(asked)
    written = parse_toml(text, "").get("writeup")
    held = written.get("paragraph") if isinstance(written, dict) else None
    if not isinstance(which, int) or not isinstance(held, list) or not 0 <= which < len(held):
        raise EditError("That paragraph is no longer there.")
    return change(which)


def _as_named(text: str, at: Any) -> Any:
    """A place as the record names it: "c1" is the part C1 where nothing is called c1 and one part C1."""
    if not isinstance(at, str):
        return at
    parts = [_name_of(one) for one in _tables(text, "part")]
    close = [name for name in parts if name.lower() == at.lower()]
    return close[0] if at not in parts and len(close) == 1 and at.lower() != "input" else at


def _remove(text: str, asked: Mapping[str, Any]) -> str:
    if asked.get("kind") == PARAGRAPH:
        return _paragraph(text, asked, lambda which: remove_paragraph(text, which))
    kind, which = _kind(asked), _which(asked)
    return remove_part(text, which) if kind == "part" and isinstance(which, str) else remove_table(text, kind, which)


def _answer(text: str, asked: Mapping[str, Any]) -> str:
    about = _word(asked, "about")
    told = {key: _value(key, asked[key]) for key in ("seen", "photo", "note") if key in asked}
    tables = _tables(text, "sighting")
    which = next((number for number, one in enumerate(tables) if one.get("about") == about), None)
    if which is None:
        kept = {key: value for key, value in told.items() if value is not None}
        return add_table(text, "sighting", {"about": about, **kept}) if kept else text
    left = {**tables[which], **told}
    if not any(left.get(key) for key in ("seen", "photo", "note")):
        return remove_table(text, "sighting", which)
    for key, value in told.items():
        if value is not None or key in tables[which]:
            text = set_in_table(text, "sighting", which, key, value)
    return text


def _say(text: str, asked: Mapping[str, Any]) -> str:
    sentence = asked.get("sentence")
    if not isinstance(sentence, str):
        raise EditError("The page asked for a change that the desk does not know.")
    try:
        item, _ = examine(text, Path())
    except RecordError as error:
        raise EditError("Mend first what keeps the record from being read.") from error
    told = said(sentence, {part.name: part for part in item.parts})
    names = [_name_of(one) for one in _tables(text, "part")]
    if told.name not in names:
        return add_part(text, told.table)
    which = names.index(told.name)
    for key, value in told.table.items():
        if key in ("ref", "block"):
            continue
        pairs = value.items() if key == "rating" and isinstance(value, Mapping) else ()
        for name, one in pairs:
            text = set_in_table(text, "part", which, f"rating.{name}", one)
        if not pairs:
            text = set_in_table(text, "part", which, key, value)
    return text


def _rename(text: str, asked: Mapping[str, Any]) -> str:
    """A part or a node under another name, in every place of the record that names it."""
    old, new = _word(asked, "from").strip(), _word(asked, "to").strip()
    return renamed_part(text, old, new) if asked.get("what") == "part" else renamed_node(text, old, new)


def _name_of(table: Mapping[str, Any]) -> str:
    block = table.get("block")
    return f"{block}/{table.get('ref')}" if block else str(table.get("ref"))


_DOERS: Final[Mapping[str, Callable[[str, Mapping[str, Any]], str]]] = {
    "set": _set,
    "add": _add,
    "remove": _remove,
    "answer": _answer,
    "say": _say,
    "rename": _rename,
}


def _kind(asked: Mapping[str, Any]) -> str:
    kind = asked.get("kind")
    if kind not in MANY:
        raise EditError(f"A record has no tables of the kind {quoted(kind)}.")
    return str(kind)


def _which(asked: Mapping[str, Any]) -> int | str:
    which = asked.get("which")
    if isinstance(which, bool) or not isinstance(which, int | str):
        raise EditError("The page asked for a change that the desk does not know.")
    return which


def _word(asked: Mapping[str, Any], key: str) -> str:
    word = asked.get(key)
    if not isinstance(word, str) or not word.strip() or len(word) > 200 or _CONTROL.search(word):
        raise EditError("The page asked for a change that the desk does not know.")
    return word


def _value(key: str, value: Any, depth: int = 0) -> Any:
    """The value as the record writes it; None for one that is to be left out."""
    last = key.rpartition(".")[2]
    if isinstance(value, str):
        value = value.strip()
        if len(value) > _LONGEST:
            raise EditError(f"That is longer than {_LONGEST} characters; shorten it, or keep it in a file of its own.")
        if _CONTROL.search(value):
            raise EditError("That holds a control character, which text in a record must not.")
        if last in _COUNTED and _COUNT.fullmatch(value):
            return int(value)
        if last in _FLAGS and value in _WORDS:
            return _WORDS[value]
        return value or None
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float) and math.isfinite(value):
        return value
    if isinstance(value, list | dict) and (depth >= _DEEPEST or len(value) > _MOST):
        raise EditError("That is too much for one value of a record.")
    if isinstance(value, list):
        held = [_value("", one, depth + 1) for one in value]
        return [one for one in held if one is not None] or None
    if isinstance(value, dict):
        pairs = {str(name): _value(str(name), one, depth + 1) for name, one in value.items()}
        return {name: one for name, one in pairs.items() if one is not None} or None
    raise EditError("The page asked for a change that the desk does not know.")


def _tables(text: str, kind: str) -> Sequence[Mapping[str, Any]]:
    found = parse_toml(text, "").get(kind, [])
    return [one if isinstance(one, dict) else {} for one in found] if isinstance(found, list) else []


def _table(text: str, kind: str, which: int | str) -> Mapping[str, Any] | None:
    tables = _tables(text, kind)
    if isinstance(which, int):
        return tables[which] if 0 <= which < len(tables) else None
    for one in tables:
        ref, block = one.get("ref", one.get("name")), one.get("block")
        if which in (ref, f"{block}/{ref}"):
            return one
    return None


def _held(table: Any, key: str) -> bool:
    """Whether that dotted key stands in a table."""
    for step in key.split("."):
        if not isinstance(table, Mapping) or step not in table:
            return False
        table = table[step]
    return True
