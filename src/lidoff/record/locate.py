"""Where each table, key and value of a TOML text stands.

The standard library's parser gives values without places. This scanner gives the places without values: it is run on
text that the parser has already accepted, so it need not find mistakes, only boundaries. Offsets count characters of
the text as given; lines count from 1.
Source of the grammar: TOML 1.0.0 (toml.io/en/v1.0.0), sections Keys, String, Table, Inline Table, Array of Tables.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Final

Path = tuple[str | int, ...]

_SPACE: Final = re.compile(r"[ \t]*")
_BLANK: Final = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_STRING: Final = re.compile(
    r'"""(?:\\.|"{1,2}(?!")|[^"\\])*"{3,5}'
    r"|'''(?:'{1,2}(?!')|[^'])*'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
# A date and its time may be parted by one blank; nothing else that is not quoted holds one.
_SCALAR: Final = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:[^\s,\]}#]*|[^\s,\]}#]+")
_ESCAPE: Final = re.compile(r"\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|(.))")
_LETTERS: Final = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
_HEADER_OR_PAIR: Final = r'[ \t]*(?:(?:[\w-]+|"[^"\n]*"|\'[^\'\n]*\')[ \t]*\.[ \t]*)'
DEEPEST: Final = 40
_TOO_DEEP: Final = re.compile(rf"(?:^|[\[{{,]){_HEADER_OR_PAIR}{{{DEEPEST}}}", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Entry:
    """One key with its value, or one element of an array.

    The text from `start` to `end` is the whole of it, key included; the value begins at `value`. `holder` is the path
    of the inline table or array that it stands in, None for a line of its own.
    """

    path: Path
    line: int
    start: int
    value: int
    end: int
    holder: Path | None


@dataclass(slots=True)
class Section:
    """A table header with the keys under it; the first section is the part of the text before any header.

    `start` and `end` bound the header itself, brackets included; `body` lists the paths of the keys written under it.
    """

    path: Path
    line: int
    start: int
    end: int
    body: list[Path] = field(default_factory=list)


@dataclass(slots=True)
class Places:
    """Every place in one text: `sections` in file order, `entries` by path, and the line of every table and key."""

    text: str
    sections: list[Section]
    entries: dict[Path, Entry]
    lines: dict[Path, int]

    def line(self, path: Path) -> int:
        """The line of `path`, or of the nearest table around it; 1 where there is none."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def section(self, path: Path) -> Section | None:
        """The section whose header names exactly `path`."""
        return next((section for section in self.sections[1:] if section.path == path), None)

    def held(self, holder: Path) -> list[Entry]:
        """What an inline table or array holds itself, in file order."""
        return sorted((one for one in self.entries.values() if one.holder == holder), key=lambda one: one.start)


def too_deep(text: str) -> int | None:
    """The line of a dotted key of more than `DEEPEST` steps, or None.

    The parser takes time with the square of that number, so such text must be refused before it is parsed.
    """
    match = _TOO_DEEP.search(text)
    return None if match is None else text.count("\n", 0, match.end()) + 1


def locate(text: str) -> Places:
    """The place of every table, key and value in `text`, which must be valid TOML.

    Raises ValueError with the line where the text is not TOML after all.
    """
    return _Scanner(text).scan()


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.starts = [0, *(match.end() for match in re.finditer(r"\n", text))]
        self.places = Places(text, [Section((), 1, 0, 0)], {}, {})
        self.arrays: dict[Path, int] = {}

    def scan(self) -> Places:
        at = self._skip(0)
        section = self.places.sections[0]
        while at < len(self.text):
            if self.text[at] == "[":
                section, at = self._header(at)
            else:
                path, at = self._pair(section.path, at)
                section.body.append(path)
            at = self._skip(at)
        return self.places

    def _line(self, at: int) -> int:
        return bisect_right(self.starts, at)

    def _skip(self, at: int) -> int:
        match = _BLANK.match(self.text, at)
        return match.end() if match else at

    def _space(self, at: int) -> int:
        match = _SPACE.match(self.text, at)
        return match.end() if match else at

    def _expect(self, sign: str, at: int) -> int:
        if not self.text.startswith(sign, at):
            raise ValueError(f"line {self._line(at)}: {sign!r} expected")
        return at + len(sign)

    def _header(self, start: int) -> tuple[Section, int]:
        array = self.text.startswith("[[", start)
        keys, at = self._key(self._space(start + (2 if array else 1)))
        at = self._expect("]]" if array else "]", at)
        line = self._line(start)
        path: Path = ()
        for depth, key in enumerate(keys):
            path += (key,)
            self.places.lines.setdefault(path, line)
            last = depth == len(keys) - 1
            if array and last:
                self.arrays[path] = self.arrays.get(path, 0) + 1
            if path in self.arrays:
                path += (self.arrays[path] - 1,)
                self.places.lines.setdefault(path, line)
        # A header may open a table that an earlier, deeper header only implied.
        self.places.lines[path] = line
        section = Section(path, line, start, at)
        self.places.sections.append(section)
        return section, at

    def _key(self, at: int) -> tuple[list[str], int]:
        keys: list[str] = []
        while True:
            bare = _BARE_KEY.match(self.text, at)
            match = bare or _STRING.match(self.text, at)
            if match is None:
                raise ValueError(f"line {self._line(at)}: a key expected")
            keys.append(match[0] if bare else unquoted(match[0]))
            at = self._space(match.end())
            if not self.text.startswith(".", at):
                return keys, at
            at = self._space(at + 1)

    def _pair(self, base: Path, start: int, holder: Path | None = None) -> tuple[Path, int]:
        """One `key = value` below `base`; gives its path and where it ends."""
        keys, at = self._key(start)
        at = self._space(self._expect("=", at))
        line = self._line(start)
        path = base
        for key in keys:
            path += (key,)
            self.places.lines.setdefault(path, line)
        return path, self._value(path, start, at, holder)

    def _value(self, path: Path, start: int, at: int, holder: Path | None) -> int:
        self.places.lines.setdefault(path, self._line(start))
        head = self.text[at : at + 1]
        if head == "[":
            end = self._array(path, at)
        elif head == "{":
            end = self._inline(path, at)
        else:
            match = (_STRING if head in ('"', "'") else _SCALAR).match(self.text, at)
            if match is None:
                raise ValueError(f"line {self._line(at)}: a value expected")
            end = match.end()
        self.places.entries[path] = Entry(path, self._line(start), start, at, end, holder)
        return end

    def _array(self, path: Path, at: int) -> int:
        at = self._skip(at + 1)
        index = 0
        while not self.text.startswith("]", at):
            at = self._skip(self._value((*path, index), at, at, path))
            index += 1
            if self.text.startswith(",", at):
                at = self._skip(at + 1)
            elif not self.text.startswith("]", at):
                raise ValueError(f"line {self._line(at)}: ',' or ']' expected")
        return at + 1

    def _inline(self, path: Path, at: int) -> int:
        at = self._space(at + 1)
        while not self.text.startswith("}", at):
            _, at = self._pair(path, at, path)
            at = self._space(at)
            if self.text.startswith(",", at):
                at = self._space(at + 1)
            elif not self.text.startswith("}", at):
                raise ValueError(f"line {self._line(at)}: ',' or '}}' expected")
        return at + 1


def unquoted(text: str) -> str:
    """What a one-line TOML string stands for, quotes included in `text`."""
    inner = text[1:-1]
    return _ESCAPE.sub(_unescape, inner) if text[0] == '"' and "\\" in inner else inner


def _unescape(match: re.Match[str]) -> str:
    code = match[1] or match[2]
    return chr(int(code, 16)) if code else _LETTERS.get(match[3], match[3])
