"""From a path to the text of a record, refusing what cannot be one."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lidoff.record.locate import DEEPEST, too_deep
from lidoff.record.problems import RecordError, refusal

FILE_NAME: Final = "item.toml"
LARGEST: Final = 1_000_000
"""The largest record that is read [bytes]."""
BYTE_ORDER_MARK: Final = "\N{ZERO WIDTH NO-BREAK SPACE}"
_PLACE: Final = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_NOT_CLOSED: Final = "a quotation mark or bracket that was opened is not closed"
# What the standard parser says, and what the one who wrote the line can do about it.
_HINTS: Final = (
    ("Cannot declare", "this table is headed twice; where there may be several of a kind, use two brackets: [[part]]"),
    ("Cannot overwrite", "this key is written twice in one table; keep one of them"),
    ("Duplicate inline table key", "this key is written twice in one table; keep one of them"),
    ("Cannot mutate", "a table between braces is complete and cannot be added to; write the key inside the braces"),
    ("Expected '='", 'a key and its value are expected, such as value = "4k7"'),
    ("Invalid initial character for a key", "a key is expected, such as ref; one with blanks goes between quotes"),
    ("Invalid statement", "a key and its value or a [table] is expected"),
    ("Expected newline", "something is left over behind the value; text and values with units go between quotes"),
    ("Invalid value", "there is no value that can be read; text and values with units go between quotes"),
    ("Illegal character '\\n'", _NOT_CLOSED),
    ("Unterminated string", _NOT_CLOSED),
    ("Expected '\"", _NOT_CLOSED),
    ("Expected \"'", _NOT_CLOSED),
    ("Unclosed", _NOT_CLOSED),
    ("Expected ']", "the heading of a table is not closed with the same brackets it opened with"),
    ("Unescaped '\\'", "a backslash inside double quotes means something else; use single quotes"),
    ("Found invalid character", "there is a control character that text must not hold"),
    ("Illegal character", "there is a control character that text must not hold"),
    ("Invalid date", "this is not a date"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The text of a record as it was read: the `file` it stands in, and the bytes that were in it then."""

    file: Path
    text: str
    data: bytes


def find(path: str | os.PathLike[str]) -> Path:
    """The record file that `path` means: itself, or the `item.toml` of a folder.

    Raises RecordError where there is none.
    """
    given = Path(path)
    try:
        if given.is_dir():
            file = given / FILE_NAME
            if not file.exists():
                raise refusal(f"this folder holds no {FILE_NAME}; start a record with: lidoff new {given}", str(given))
            given = file
        if not given.exists():
            raise refusal("there is no such file or folder", str(given))
        if not given.is_file():
            what = "a folder" if given.is_dir() else "a device or pipe"
            raise refusal(f"this is {what}, not a file that could hold a record", str(given))
    except OSError as error:
        raise refusal(f"cannot be looked at: {_reason(error)}", str(given)) from error
    return given


def load(path: str | os.PathLike[str]) -> Source:
    """The text of the record at `path`: a folder with an `item.toml`, or a file.

    Raises RecordError for anything that cannot be a record: nothing there, over 1 MB (not read), empty, not text.
    """
    file = find(path)
    try:
        with file.open("rb") as stream:
            if os.fstat(stream.fileno()).st_size > LARGEST:
                raise too_large(str(file))
            data = stream.read(LARGEST + 1)
    except OSError as error:
        raise refusal(f"cannot be read: {_reason(error)}", str(file)) from error
    if len(data) > LARGEST:
        raise too_large(str(file))
    return Source(file=file, text=decode(data, str(file)), data=data)


def too_large(file: str) -> RecordError:
    """The refusal of a record over the limit."""
    return refusal(f"is larger than {LARGEST // 1_000_000} MB, which no record is; it was not read", file)


def decode(data: bytes, file: str) -> str:
    """Bytes as text. Raises RecordError where they are not text in UTF-8."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise refusal("is text in UTF-16; save it as UTF-8", file)
    if b"\0" in data:
        raise refusal("is not text but binary data, so it cannot be a record", file)
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise refusal("is not text in UTF-8; save it as UTF-8", file, line) from error


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """The data of a TOML text. Raises RecordError with the line where it is not TOML, or is empty."""
    text = text.removeprefix(BYTE_ORDER_MARK)
    deep = too_deep(text)
    if deep is not None:
        raise refusal(f"a key of more than {DEEPEST} steps is nested too deeply to be read", file, deep)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(text, str(error), file) from error
    except RecursionError as error:
        raise refusal("brackets are nested too deeply to be read", file) from error
    except ValueError as error:
        # Numbers too long to convert are refused by the language itself, without a place.
        raise refusal(f"cannot be read: {error}", file) from error
    if not data:
        raise refusal('is empty; a record begins with lidoff = 1, and "lidoff new" starts one', file)
    return data


def _syntax(text: str, message: str, file: str) -> RecordError:
    match = _PLACE.search(message)
    lines = text.splitlines() or [""]
    line = int(match["line"]) if match and match["line"] else len(lines)
    hint = next(
        (hint for start, hint in _HINTS if message.startswith(start)), message[: match.start() if match else None]
    )
    near = lines[line - 1].strip() if line <= len(lines) else ""
    near = f' (at "{near[:40]}{"…" if len(near) > 40 else ""}")' if near else ""
    return refusal(f"is not TOML here: {hint}{near}", file, line)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
