"""Writing back: changes to the text of a record that keep everything else the user wrote, and saving it.

Every function takes a text and gives a text; the caller decides when to `save`. Names are those of the record:
"R2.value", "section/R1.tolerance", "BR1.nodes.plus", "section.repeat", "supply.voltage", "item.title", "plug.fuse".
Readings, meters, states and the like are tables of a kind, told apart by their number (from 0) or their name.
A changed text is legal TOML; whether it is still a legal record is for `lidoff.record.read_text` to say.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path as FilePath
from typing import Any, Final

from lidoff.record.dump import part_table
from lidoff.record.locate import Path
from lidoff.record.model import Part
from lidoff.record.problems import RecordError, listed, nearest, quoted, refusal
from lidoff.record.source import BYTE_ORDER_MARK, LARGEST, Source, load, parse_toml, too_large
from lidoff.record.splice import remove_at, set_at

_SINGLE: Final = ("item", "supply", "plug", "verdict", "drawing", "writeup")
_NAMED: Final = {"part": "ref", "block": "name", "state": "name", "meter": "name", "surface": "name", "wire": "ref"}

__all__ = [
    "Source",
    "add_part",
    "add_table",
    "load",
    "remove_part",
    "remove_table",
    "remove_value",
    "save",
    "set_in_table",
    "set_value",
]


def set_value(text: str, name: str, value: Any) -> str:
    """The text with one value changed, or added where the key is not there: `set_value(text, "R2.value", "470R")`.

    Raises RecordError where the record has no such part or table, or is not TOML.
    """
    return _edited(text, name, lambda body: set_at(body, _path(body, name), value))


def remove_value(text: str, name: str) -> str:
    """The text without one key. Raises RecordError where it is not there."""
    return _edited(text, name, lambda body: remove_at(body, _path(body, name)))


def add_part(text: str, part: Part | Mapping[str, Any]) -> str:
    """The text with one more `[[part]]`, behind the last one.

    Raises RecordError where there is a part of that name already.
    """
    table = part_table(part) if isinstance(part, Part) else dict(part)
    name = _part_name(table)

    def change(body: str) -> str:
        if name in map(_part_name, _tables(body, "part")):
            raise refusal(f"there is a part {name} already", "", key=name)
        return _appended(body, "part", table)

    return _edited(text, name, change)


def remove_part(text: str, name: str) -> str:
    """The text without the part of that name. What names it in states and readings stays, and is for reading to find.

    Raises RecordError where there is no such part.
    """
    return _edited(text, name, lambda body: remove_at(body, ("part", _part_index(body, name))))


def add_table(text: str, kind: str, table: Mapping[str, Any]) -> str:
    """The text with one more `[[kind]]` ("reading", "state", "photo" …), behind the last one."""
    return _edited(text, kind, lambda body: _appended(body, kind, table))


def set_in_table(text: str, kind: str, which: int | str, key: str, value: Any) -> str:
    """The text with one key of a table changed: `set_in_table(text, "reading", 0, "value", "8.1 W")`.

    `which` is the number of the table from 0, or its name where that kind has names; `key` may be dotted. A value of
    None takes the key out. Raises RecordError where there is no such table, or no such key to take out.
    """

    def change(body: str) -> str:
        path: Path = (kind, _index(body, kind, which), *key.split("."))
        return remove_at(body, path) if value is None else set_at(body, path, value)

    return _edited(text, f"{kind} {which}.{key}", change)


def remove_table(text: str, kind: str, which: int | str) -> str:
    """The text without one table of a kind. Raises RecordError where there is no such table."""
    return _edited(text, f"{kind} {which}", lambda body: remove_at(body, (kind, _index(body, kind, which))))


def save(source: Source, text: str) -> Source:
    """Writes `text` over the record that `source` was read from; gives what it is now.

    The file is whole at every instant: the text goes into a file beside it, which then takes its place. Raises
    RecordError, and leaves the file as it is, where it has changed since it was read, where the text is not TOML or
    over 1 MB, or where it cannot be written.
    """
    data = text.encode("utf-8")
    name = str(source.file)
    if len(data) > LARGEST:
        raise too_large(name)
    parse_toml(text, name)
    # A link stays a link: what it leads to is replaced.
    file = FilePath(os.path.realpath(source.file))
    _check_unchanged(file, source)
    try:
        if not os.access(file, os.W_OK):
            raise PermissionError(13, "the file is read-only")
        _replace(file, data, source)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise refusal(f"could not be saved: {reason}; the file is as it was", name) from error
    return Source(file=source.file, text=text, data=data)


def _replace(file: FilePath, data: bytes, source: Source) -> None:
    handle, beside = tempfile.mkstemp(prefix=f".{file.name}.", suffix=".new", dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        FilePath(beside).chmod(file.stat().st_mode & 0o7777)
        # Somebody may have saved while the text was being written out.
        _check_unchanged(file, source)
        FilePath(beside).replace(file)
    except BaseException:
        with contextlib.suppress(OSError):
            FilePath(beside).unlink()
        raise


def _check_unchanged(file: FilePath, source: Source) -> None:
    try:
        now = file.read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise refusal(f"could not be saved, for it can no longer be read: {reason}", str(source.file)) from error
    if now != source.data:
        raise refusal("was changed by someone else since it was read; read it again first", str(source.file))


def _edited(text: str, name: str, change: Callable[[str], str]) -> str:
    """The change made to the text behind its byte order mark, if it has one."""
    mark = BYTE_ORDER_MARK if text.startswith(BYTE_ORDER_MARK) else ""
    body = text.removeprefix(BYTE_ORDER_MARK)
    parse_toml(body, "")
    try:
        return mark + change(body)
    except KeyError as error:
        raise refusal(f"{name}: there is nothing of that name in the record", "", key=name) from error
    except TypeError as error:
        raise refusal(f"{name}: {error}", "", key=name) from error


def _tables(text: str, kind: str) -> list[Mapping[str, Any]]:
    found = parse_toml(text, "").get(kind, [])
    return [one if isinstance(one, Mapping) else {} for one in found] if isinstance(found, list) else []


def _appended(text: str, kind: str, table: Mapping[str, Any]) -> str:
    return set_at(text, (kind, len(_tables(text, kind))), table)


def _part_name(table: Mapping[str, Any]) -> str:
    ref, block = table.get("ref"), table.get("block")
    return f"{block}/{ref}" if block else str(ref)


def _part_index(text: str, name: str) -> int:
    names = [_part_name(table) for table in _tables(text, "part")]
    if name in names:
        return names.index(name)
    bearers = [index for index, table in enumerate(_tables(text, "part")) if table.get("ref") == name]
    if len(bearers) == 1:
        return bearers[0]
    raise _nothing(name, "part", names)


def _index(text: str, kind: str, which: int | str) -> int:
    if isinstance(which, int):
        if not 0 <= which < len(_tables(text, kind)):
            raise refusal(f"there is no {kind} of number {which}", "", key=f"{kind} {which}")
        return which
    if kind == "part":
        return _part_index(text, which)
    names = [str(table.get(_NAMED.get(kind, ""))) for table in _tables(text, kind)]
    if which not in names:
        raise _nothing(which, kind, names)
    return names.index(which)


def _path(text: str, name: str) -> Path:
    """Where the key of that dotted name stands, or would."""
    owner, dot, key = name.partition(".")
    if owner == "lidoff" and not dot:
        return ("lidoff",)
    if not dot or not key:
        raise refusal(f"{quoted(name)} has not the form REF.KEY, such as R1.value", "", key=name)
    steps = key.split(".")
    if owner in _SINGLE:
        return (owner, *steps)
    blocks = [table.get("name") for table in _tables(text, "block")]
    if owner in blocks:
        return ("block", blocks.index(owner), *steps)
    return ("part", _part_index(text, owner), *steps)


def _nothing(name: str, kind: str, names: list[str]) -> RecordError:
    near = nearest(name, names)
    known = f"; nearest known: {near}" if near else (f"; known: {listed(names[:20])}" if names else "")
    return refusal(f"there is no {kind} {quoted(name)} in this record{known}", "", key=name)
