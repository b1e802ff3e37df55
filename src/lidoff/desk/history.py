"""Every saved state of a record, kept in `.lidoff/history` beside it, so that edits can be undone and done again.

    .lidoff/history/log.jsonl      one line an entry: number, the entry it was made from, time, what was done, text
    .lidoff/history/<hash>.toml    the texts, each once
    .lidoff/history/at             the number of the entry that the record stands at

Entries form a tree: undoing goes to the entry from which this one was made, doing again to the newest made from it. So
an edit made after undoing is not hidden for good. The newest several hundred are kept; older ones are let go of. A text
is written before the record is saved: if the program dies in between, the edit is still there to be done again. The
folder may be deleted; the record stands by itself.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import tempfile
import time
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

from lidoff.errors import LidoffError

FOLDER: Final = Path(".lidoff") / "history"
MOST: Final = 1000  # entries at which the oldest are let go of
KEPT: Final = 600
_YOUNG: Final = 3600.0  # [s] a text of no entry is left alone: another program may be about to note it
_HASH: Final = re.compile(r"[0-9a-f]{16}")


class HistoryError(LidoffError):
    """The history cannot be written, and so nothing was saved; the text says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One saved state: its `number` from 1, the `parent` it was made from (0: none), when [s since 1970], what was
    done, and the `hash` of its text.
    """

    number: int
    parent: int
    time: float
    what: str
    hash: str


def text_hash(text: str) -> str:
    """What a text is told by: the first 16 hexadecimal digits of its SHA-256."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


class History:
    """The saved states of the record in a folder. Nothing is written until the first edit.

    `stem` is the record file's name where it is not `item.toml`, so that several records in one folder keep apart; the
    trace beside it has its own in the same way, with another `suffix` to its texts and other `bounds` (MOST, KEPT).
    What is not `synced` survives a killed program and not a power cut: the way back is then shorter, no more is lost.
    """

    def __init__(
        self,
        folder: Path,
        stem: str = "",
        *,
        suffix: str = ".toml",
        bounds: tuple[int, int] | None = None,
        synced: bool = True,
    ) -> None:
        self.folder = folder / FOLDER / stem if stem else folder / FOLDER
        self._suffix, self._synced = suffix, synced
        self._most, self._kept = bounds or (MOST, KEPT)
        self.entries: dict[int, Entry] = {}
        self.at = 0
        self._size = -1
        self._read()

    def begin(self, text: str) -> None:
        """Finds where the record stands; a text that is not among the entries was made elsewhere, and is added."""
        self._read()
        now = text_hash(text)
        entry = self.entries.get(self.at)
        if entry is not None and entry.hash == now:
            return
        same = [one.number for one in self.entries.values() if one.hash == now]
        if same:
            self.at = max(same)
            return
        what = "changed outside the desk" if self.entries else "as it was found"
        self._stand_at(self._add(text, what))

    def add(self, text: str, what: str) -> Entry:
        """Keeps a text that is about to be saved, as made from the present one. Raises HistoryError."""
        return self._add(text, what)

    def restate(self, text: str) -> None:
        """Gives the entry that stands another text, for what came of it later by itself. Raises HistoryError."""
        entry = self.entries.get(self.at)
        if entry is not None and entry.hash != text_hash(text):
            self._written(replace(entry, hash=text_hash(text)), text)

    def stand_at(self, entry: Entry) -> None:
        """Notes that the record now stands at that entry. Raises HistoryError."""
        self._stand_at(entry)

    def before(self) -> Entry | None:
        """The entry that undoing goes to."""
        entry = self.entries.get(self.at)
        return self.entries.get(entry.parent) if entry is not None else None

    def after(self) -> Entry | None:
        """The entry that doing again goes to: the newest made from this one."""
        children = [one.number for one in self.entries.values() if one.parent == self.at]
        return self.entries[max(children)] if children else None

    def newest(self, count: int) -> list[Entry]:
        """The last `count` entries, newest first."""
        return [self.entries[number] for number in sorted(self.entries, reverse=True)[:count]]

    def text(self, entry: Entry) -> str:
        """The text of an entry. Raises HistoryError where it is gone or is not what was kept."""
        try:
            with self._file(entry).open(encoding="utf-8", newline="") as stream:
                text = stream.read()
        except (OSError, UnicodeDecodeError) as error:
            raise HistoryError(f"the state of {entry.what!r} can no longer be read; nothing was changed") from error
        if text_hash(text) != entry.hash:
            raise HistoryError(f"the kept state of {entry.what!r} has been changed since; nothing was undone")
        return text

    def _add(self, text: str, what: str) -> Entry:
        entry = Entry(
            number=max(self.entries, default=0) + 1,
            parent=self.at,
            time=round(time.time(), 3),
            what=what,
            hash=text_hash(text),
        )
        self._written(entry, text)
        if len(self.entries) > self._most:
            self._let_go(entry)
        return entry

    def _file(self, entry: Entry) -> Path:
        return self.folder / f"{entry.hash}{self._suffix}"

    def _written(self, entry: Entry, text: str) -> None:
        """Writes an entry's text, then its line; of two lines with one number the later counts."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            file = self._file(entry)
            if not file.exists():
                _write(file, text, synced=self._synced)
            # A line cut short by a full disk or a kill is passed over when the log is read; a fresh line begins here.
            with (self.folder / "log.jsonl").open("a", encoding="utf-8") as stream:
                stream.write("\n" + json.dumps(asdict(entry), ensure_ascii=False))
                stream.flush()
                if self._synced:
                    os.fsync(stream.fileno())
                self._size = os.fstat(stream.fileno()).st_size
        except OSError as error:
            raise self._unwritable(error) from error
        self.entries[entry.number] = entry

    def _let_go(self, newest: Entry) -> None:
        """Keeps the newest entries and the one the record stands at; what cannot be tidied up stays."""
        with contextlib.suppress(OSError):
            self._read()
            numbers = {*sorted(self.entries)[-self._kept :], self.at, newest.number, newest.parent}
            kept = {number: one for number, one in sorted(self.entries.items()) if number in numbers}
            _write(
                self.folder / "log.jsonl",
                "\n".join(json.dumps(asdict(one), ensure_ascii=False) for one in kept.values()),
            )
            self.entries = kept
            self._size = (self.folder / "log.jsonl").stat().st_size
            needed = {one.hash for one in kept.values()}
            for file in self.folder.glob(f"*{self._suffix}"):
                if file.stem not in needed and time.time() - file.stat().st_mtime > _YOUNG:
                    file.unlink()

    def _stand_at(self, entry: Entry) -> None:
        try:
            _write(self.folder / "at", str(entry.number), synced=self._synced)
        except OSError as error:
            raise self._unwritable(error) from error
        self.at = entry.number

    def _unwritable(self, error: OSError) -> HistoryError:
        reason = (error.strerror or str(error)).lower()
        return HistoryError(f"{self.folder.parent.parent}: could not be saved: {reason}; the record is as it was")

    def _read(self) -> None:
        """Reads what is there, unless it is known: another program may have added to it."""
        log = self.folder / "log.jsonl"
        size = log.stat().st_size if log.is_file() else 0
        if size == self._size:
            return
        self._size = size
        with contextlib.suppress(OSError):
            for line in log.read_text(encoding="utf-8", errors="replace").splitlines():
                entry = _entry(line)
                if entry is not None:
                    self.entries[entry.number] = entry
        with contextlib.suppress(OSError, ValueError):
            self.at = int((self.folder / "at").read_text(encoding="utf-8"))


def _entry(line: str) -> Entry | None:
    """The entry that a line tells of; None for a line cut short, or one that is not ours."""
    try:
        told: Any = json.loads(line)
        number, parent, when = told["number"], told["parent"], told["time"]
        what, digits = told["what"], told["hash"]
    except (ValueError, TypeError, KeyError):
        return None
    numbers = all(isinstance(one, int) for one in (number, parent)) and isinstance(when, int | float)
    # The hash becomes a file name: nothing but what `text_hash` gives may stand there.
    if not numbers or not isinstance(what, str) or not isinstance(digits, str) or not _HASH.fullmatch(digits):
        return None
    return Entry(number=number, parent=parent, time=when, what=what, hash=digits)


def _write(file: Path, text: str, *, synced: bool = True) -> None:
    """A file that is whole at every instant."""
    handle, beside = tempfile.mkstemp(prefix=".", suffix=".new", dir=file.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            if synced:
                os.fsync(stream.fileno())
        Path(beside).replace(file)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(beside).unlink()
        raise
