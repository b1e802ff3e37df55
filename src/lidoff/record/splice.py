"""Changing one place of a TOML text and leaving every other character as it was.

A change is a splice at the bounds that the locator gives. A library that takes the text apart and writes it anew was
not used: its promise to keep comments and order covers most texts, a splice covers all by its nature. Every result is
read again with the standard parser and compared with what the change was to make of the data.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from itertools import pairwise
from typing import Any

from lidoff.record.locate import Entry, Path, Places, Section, locate
from lidoff.record.toml_text import key_text, value_text

# Possessive, so that a comma inside a comment is never taken for the one behind an element.
_TO_COMMA = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+,")


def set_at(text: str, path: Path, value: Any) -> str:
    """The text with `value` at `path`; tables on the way that do not exist are made.

    A last step that is the length of an array appends to it. Raises KeyError where a step cannot be taken.
    """
    data = tomllib.loads(text)
    expected = _data_set(data, path, value)
    return text if _same(data, expected) else _checked(_set(text, data, path, value), expected)


def remove_at(text: str, path: Path) -> str:
    """The text without what stands at `path`. Raises KeyError where nothing stands there."""
    data = tomllib.loads(text)
    expected = _data_removed(data, path)
    return _checked(_remove(text, locate(text), path), expected)


def _set(text: str, data: Mapping[str, Any], path: Path, value: Any) -> str:
    places = locate(text)
    entry = places.entries.get(path)
    if entry is not None:
        return _replace(text, data, entry, value)
    if path in places.lines:
        old = _held(data, path)
        if not isinstance(value, Mapping) or not isinstance(old, Mapping):
            text = _remove(text, places, path)
            return _insert(text, locate(text), tomllib.loads(text), path, value)
        return _merge(text, old, path, value)
    return _insert(text, places, data, path, value)


def _merge(text: str, old: Mapping[str, Any], path: Path, value: Mapping[str, Any]) -> str:
    """A table that has headers or dotted keys of its own gets new values one by one."""
    for key, held in value.items():
        if key not in old or not _same(old[key], held):
            text = _set(text, tomllib.loads(text), (*path, key), held)
    for key in old:
        if key not in value:
            text = _remove(text, locate(text), (*path, key))
    return text


def _replace(text: str, data: Mapping[str, Any], entry: Entry, value: Any) -> str:
    old = _held(data, entry.path)
    if _is_list(old) and _is_list(value) and "\n" in text[entry.value : entry.end]:
        # A list over several lines may hold comments: only the elements that differ are touched.
        return _change_list(text, old, entry.path, value)
    return text[: entry.value] + value_text(value) + text[entry.end :]


def _change_list(text: str, old: Sequence[Any], path: Path, value: Sequence[Any]) -> str:
    for index in range(len(old) - 1, len(value) - 1, -1):
        text = _remove(text, locate(text), (*path, index))
    for index, held in enumerate(value):
        if index >= len(old):
            text = _append_element(text, locate(text), path, held)
        elif not _same(old[index], held):
            text = _set(text, tomllib.loads(text), (*path, index), held)
    return text


def _insert(text: str, places: Places, data: Mapping[str, Any], path: Path, value: Any) -> str:
    parent, key = path[:-1], path[-1]
    if isinstance(key, int):
        if parent in places.entries:
            return _append_element(text, places, parent, value)
        return _append_table(text, places, parent, value)
    if parent and parent not in places.lines:
        return _set(text, data, parent, {key: value})
    if parent in places.entries:
        return _insert_inline(text, places, parent, f"{key_text(key)} = {value_text(value)}")
    if not parent and isinstance(value, Mapping):
        return _append_section(text, places, key, value)
    if not parent and _is_list(value) and value and all(isinstance(one, Mapping) for one in value):
        for one in value:
            text = _append_table(text, locate(text), (key,), one)
        return text
    return _insert_line(text, places, parent, key, value)


def _insert_line(text: str, places: Places, parent: Path, key: str, value: Any) -> str:
    """A new `key = value` line in a table that has a header, or whose keys are dotted."""
    line = f"{key_text(key)} = {value_text(value)}"
    section = places.section(parent) if parent else places.sections[0]
    if section is not None:
        return _put_line(text, *_end_of_body(text, places, section), line)
    # What stands below a deeper header speaks of the deeper table alone.
    for section in reversed([one for one in places.sections if len(one.path) < len(parent)]):
        dotted = [one for one in section.body if one[: len(parent)] == parent]
        if dotted:
            entry = places.entries[dotted[-1]]
            steps = ".".join(key_text(str(step)) for step in parent[len(section.path) :])
            return _put_line(text, _line_end(text, entry.end), _indent(text, entry.start), f"{steps}.{line}")
    # Only deeper headers speak of the table: it gets its own in front of them.
    first = next(section for section in places.sections[1:] if section.path[: len(parent)] == parent)
    at, newline = _line_start(text, first.start), _newline(text)
    return f"{text[:at]}[{_header(parent)}]{newline}{line}{newline}{newline}{text[at:]}"


def _header(path: Path) -> str:
    """What stands between the brackets of a header."""
    return ".".join(key_text(step) for step in path if isinstance(step, str))


def _end_of_body(text: str, places: Places, section: Section) -> tuple[int, str]:
    """Where the next line of a section goes, and how far it is indented."""
    if section.body:
        last = places.entries[section.body[-1]]
        return _line_end(text, last.end), _indent(text, last.start)
    if section is places.sections[0]:
        return 0, ""
    return _line_end(text, section.end), ""


def _put_line(text: str, at: int, indent: str, line: str) -> str:
    newline = _newline(text)
    if at and text[at - 1] != "\n":
        return f"{text[:at]}{newline}{indent}{line}{text[at:]}{newline if at == len(text) else ''}"
    return f"{text[:at]}{indent}{line}{newline}{text[at:]}"


def _append_section(text: str, places: Places, key: str, table: Mapping[str, Any]) -> str:
    return _put_block(text, len(text), f"[{key_text(key)}]", table)


def _append_table(text: str, places: Places, path: Path, table: Any) -> str:
    """A new `[[part]]` behind the last one, else at the end of the text, or between brackets where it cannot stand."""
    if not isinstance(table, Mapping):
        raise KeyError(path)
    before = [section for section in places.sections[1:] if section.path[: len(path)] == path]
    # A header speaks of the last element of an array above it: the first one of another element finds no place there.
    within = any(isinstance(step, int) for step in path)
    if not before and (within or _is_closed(places, path[:-1])):
        return _set(text, tomllib.loads(text), path, [table])
    at = max((_end_of_body(text, places, section)[0] for section in before), default=len(text))
    return _put_block(text, at, f"[[{_header(path)}]]", table)


def _is_closed(places: Places, path: Path) -> bool:
    """Whether a table stands between braces or in dotted keys, so that TOML lets no header add to it."""
    return any(
        len(section.path) < deep and one[:deep] == path[:deep]
        for section in places.sections
        for one in section.body
        for deep in range(1, len(path) + 1)
    )


def _put_block(text: str, at: int, header: str, table: Mapping[str, Any]) -> str:
    newline = _newline(text)
    before, after = text[:at], text[at:]
    if before and not before.endswith("\n"):
        before += newline
    if before and not re.search(r"(?:^|\n)[ \t\r]*\n$", before):
        before += newline
    lines = [header, *(f"{key_text(key)} = {value_text(value)}" for key, value in table.items())]
    block = "".join(line + newline for line in lines)
    return before + block + (newline if after and not re.match(r"[ \t\r]*\n", after) else "") + after


def _insert_inline(text: str, places: Places, holder: Path, pair: str) -> str:
    items = places.held(holder)
    if items:
        return f"{text[: items[-1].end]}, {pair}{text[items[-1].end :]}"
    inside = places.entries[holder].value + 1
    return f"{text[:inside]} {pair} {text[inside:]}"


def _append_element(text: str, places: Places, holder: Path, value: Any) -> str:
    entry, items, written = places.entries[holder], places.held(holder), value_text(value)
    if not items:
        return f"{text[: entry.value + 1]}{written}{text[entry.value + 1 :]}"
    end = items[-1].end
    comma = _TO_COMMA.match(text, end)
    if "\n" not in text[end : entry.end]:
        return f"{text[:end]}, {written}{text[comma.end() if comma else end :]}"
    close = entry.end - 1
    if comma is None:
        text = f"{text[:end]},{text[end:]}"
        end, close = end + 1, close + 1
    else:
        end = comma.end()
    at = _line_end(text, end)
    if at > close:
        return f"{text[:end]} {written}{text[end:]}"
    return _put_line(text, at, _indent(text, items[-1].start), f"{written},")


def _remove(text: str, places: Places, path: Path) -> str:
    """Everything at and below `path`: lines, elements between commas, and whole sections, last ones first."""
    deep = len(path)
    # Between braces several dotted keys may begin with the path; elsewhere it is one element at most.
    for _ in _inside(places, path):
        entry = _inside(places, path)[-1]
        text = _cut(text, *_between_commas(text, places.held(entry.holder or ()), entry))
        places = locate(text)
    cuts: list[tuple[int, int]] = []
    for section in places.sections:
        if section.path[:deep] == path:
            end = max(section.end, *(places.entries[one].end for one in section.body), section.end)
            cuts.append((_line_start(text, section.start), _line_end(text, end)))
        else:
            for one in section.body:
                if one[:deep] == path:
                    entry = places.entries[one]
                    cuts.append((_line_start(text, entry.start), _line_end(text, entry.end)))
    for start, end in sorted(cuts, reverse=True):
        text = _cut(text, start, end)
    return text


def _inside(places: Places, path: Path) -> list[Entry]:
    """What stands at or below `path` between the brackets of something that goes on standing."""
    deep = len(path)
    found = [
        entry
        for entry in places.entries.values()
        if entry.path[:deep] == path and entry.holder is not None and entry.holder[:deep] != path
    ]
    return sorted(found, key=lambda entry: entry.start)


def _between_commas(text: str, items: list[Entry], entry: Entry) -> tuple[int, int]:
    """One element and the comma that goes with it."""
    number = items.index(entry)
    comma = _TO_COMMA.match(text, entry.end)
    is_last = number == len(items) - 1
    if is_last and number and "\n" not in text[items[number - 1].end : entry.end]:
        return items[number - 1].end, entry.end
    end = comma.end() if comma else entry.end
    if not is_last:
        while text[end : end + 1] in (" ", "\t"):
            end += 1
    return entry.start, end


def _cut(text: str, start: int, end: int) -> str:
    """Without the text from `start` to `end`; of two blank lines that meet one goes too, as does one at the end."""
    before, after = text[:start], text[end:]
    if not after:
        blank = re.search(r"\n([ \t\r]*\n)$", before)
        return before[: blank.start(1)] if blank else before
    is_lines = not before or before.endswith("\n")
    if is_lines and (not before or re.search(r"\n[ \t\r]*\n$", before)):
        blank = re.match(r"[ \t\r]*\n", after)
        after = after[blank.end() :] if blank else after
    return before + after


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Behind the line break of the line that `at` is in."""
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def _indent(text: str, at: int) -> str:
    match = re.compile(r"[ \t]*").match(text, _line_start(text, at))
    return match[0] if match else ""


def _newline(text: str) -> str:
    at = text.find("\n")
    return "\r\n" if at > 0 and text[at - 1] == "\r" else "\n"


def _is_list(value: Any) -> bool:
    return isinstance(value, list | tuple)


def _plain(value: Any) -> Any:
    """As the parser would give it."""
    if isinstance(value, Mapping):
        return {str(key): _plain(held) for key, held in value.items()}
    return [_plain(one) for one in value] if _is_list(value) else value


def _same(one: Any, other: Any) -> bool:
    """Equal in type too, and nan equal to itself."""
    return repr(_sorted(_plain(one))) == repr(_sorted(_plain(other)))


def _sorted(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(one) for one in value] if isinstance(value, list) else value


def _held(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def _data_set(data: Mapping[str, Any], path: Path, value: Any) -> Any:
    changed: Any = deepcopy(data)
    at = changed
    for step, after in pairwise(path):
        if isinstance(at, dict) and step not in at:
            at[step] = [] if isinstance(after, int) else {}
        at = _step(at, step, path)
    last = path[-1]
    if isinstance(at, dict):
        at[last] = _plain(value)
    elif not isinstance(at, list) or not isinstance(last, int) or not 0 <= last <= len(at):
        raise KeyError(path)
    else:
        at[last:] = [_plain(value), *at[last + 1 :]]
    return changed


def _data_removed(data: Mapping[str, Any], path: Path) -> Any:
    changed: Any = deepcopy(data)
    holders = [changed]
    for step in path[:-1]:
        holders.append(_step(holders[-1], step, path))
    _step(holders[-1], path[-1], path)
    del holders[-1][path[-1]]
    return changed


def _step(at: Any, step: str | int, path: Path) -> Any:
    try:
        return at[step]
    except (KeyError, IndexError, TypeError) as error:
        raise KeyError(path) from error


def _checked(text: str, expected: Any) -> str:
    """The changed text, if it holds what it should.

    An array of tables or a table of headers that has become empty is no longer in the text at all.
    """
    found = tomllib.loads(text)
    if not _same(_without_empty(found), _without_empty(expected)):
        raise AssertionError("the change did not come out as meant; nothing was written")
    return text


def _without_empty(value: Any) -> Any:
    if isinstance(value, Mapping):
        kept = {key: _without_empty(held) for key, held in value.items()}
        return {key: held for key, held in kept.items() if held not in ({}, [])}
    return [_without_empty(one) for one in value] if _is_list(value) else value
