"""One item as it lies on the desk: its text, what it says, and every change to it, from here or from elsewhere."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from lidoff.circuit.checking import check
from lidoff.desk.history import Entry, History, text_hash
from lidoff.errors import LidoffError
from lidoff.record import CheckResult, Item, Problem, RecordError, examine
from lidoff.record.edit import Source, load, save
from lidoff.record.locate import Places, locate
from lidoff.record.source import BYTE_ORDER_MARK, FILE_NAME, parse_toml

_WAITING: Final = 64  # changes kept for a reader that is slow


class StaleError(LidoffError):
    """The record was changed since the page was drawn; `snapshot` is what it is now."""

    def __init__(self, snapshot: Snapshot) -> None:
        super().__init__(
            "The record was changed elsewhere since this page was drawn. Nothing was overwritten, and what you "
            "entered is still here: look at what changed, then save yours again or leave it."
        )
        self.snapshot = snapshot


@dataclass(frozen=True)
class Snapshot:
    """The record at one moment. `revision` tells it from every other text; an undone edit has its old one again.

    `item` is as much as can be read, None where nothing can; `problems` is everything wrong with it. Whoever computes
    takes `sound()`, which refuses a record with errors.
    """

    source: Source
    revision: str

    @classmethod
    def of(cls, source: Source) -> Snapshot:
        """The snapshot of a text as it was read."""
        return cls(source=source, revision=text_hash(source.text))

    @property
    def text(self) -> str:
        """The text of the record."""
        return self.source.text

    @cached_property
    def _examined(self) -> tuple[Item | None, tuple[Problem, ...]]:
        try:
            return examine(self.source.text, self.source.file)
        except RecordError as error:
            return None, error.problems

    @property
    def item(self) -> Item | None:
        """The record as far as it can be read."""
        return self._examined[0]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is wrong or doubtful, by line."""
        return self._examined[1]

    @property
    def errors(self) -> tuple[Problem, ...]:
        """What is wrong, by line."""
        return tuple(one for one in self.problems if one.level == "error")

    @cached_property
    def data(self) -> Mapping[str, Any]:
        """The tables of the record as they are written, {} where it is not TOML."""
        try:
            return parse_toml(self.text, "")
        except RecordError:
            return {}

    @cached_property
    def _places(self) -> Places:
        return locate(self.text.removeprefix(BYTE_ORDER_MARK))

    def tables(self, kind: str) -> list[Mapping[str, Any]]:
        """The tables of a kind as they are written; "writeup.paragraph" for one that lies deeper."""
        owner, _, below = kind.rpartition(".")
        holder = self.data.get(owner, {}) if owner else self.data
        found = holder.get(below, []) if isinstance(holder, Mapping) else []
        return [one if isinstance(one, Mapping) else {} for one in found] if isinstance(found, list) else []

    def written(self, path: Sequence[str | int]) -> str:
        """What is written at a place such as ("item", "title") or ("reading", 0, "value"), for a field to show."""
        value: Any = self.data
        for step in _steps(path):
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return ""
        return _shown(value)

    def problems_at(self, path: Sequence[str | int]) -> list[Problem]:
        """What is wrong or doubtful at a place."""
        if not self.data:
            return []
        steps = _steps(path)
        line, last = self._places.line(steps), f".{steps[-1]}"
        return [one for one in self.problems if one.line == line and one.key.endswith(last)]

    def sound(self) -> Item:
        """The record, to be computed from. Raises RecordError where anything in it is wrong."""
        if self.item is None or self.errors:
            raise RecordError(self.problems)
        return self.item

    def check(self) -> CheckResult:
        """The record checked, with files that are not there and counts that do not agree, and what is missing."""
        return check(self.source.file)


def _steps(path: Sequence[str | int]) -> tuple[str | int, ...]:
    """The steps of a path, dotted keys taken apart."""
    return tuple(step for one in path for step in (one.split(".") if isinstance(one, str) else (one,)))


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(_shown(one) for one in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_shown(one)}" for key, one in value.items())
    return str(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Told to whoever listens: the record now has this `revision`; `what` was done; `outside` where not by the desk."""

    revision: str
    what: str
    outside: bool


class ItemDesk:
    """An item of the opened folder.

    `key` names it in addresses, `file` is its record, `folder` where that lies. Everything here may be called from any
    thread and may wait for the disk: from a coroutine, go through `anyio.to_thread.run_sync`.
    """

    def __init__(self, key: str, file: Path) -> None:
        self.key = key
        self.file = file
        self.folder = file.parent
        self._lock = threading.RLock()
        self._seen: tuple[int, ...] = ()
        self._snapshot: Snapshot | None = None
        self._history: History | None = None
        self._listeners: dict[asyncio.Queue[Change], asyncio.AbstractEventLoop] = {}

    # Reading --------------------------------------------------------------------------------------------------------

    def now(self) -> Snapshot:
        """The record as it stands on the disk now. Raises RecordError where it cannot be read."""
        with self._lock:
            before = self._snapshot
            seen = self._stamp()
            if before is not None and seen == self._seen and seen:
                return before
            snapshot = Snapshot.of(load(self.file))
            self._seen = seen
            if before is not None and before.revision == snapshot.revision:
                return before
            self._snapshot = snapshot
            if before is not None:
                self._tell(Change(revision=snapshot.revision, what="changed outside the desk", outside=True))
            return snapshot

    def _stamp(self) -> tuple[int, ...]:
        """What tells without reading whether a file is still the one it was."""
        try:
            at = self.file.stat()
        except OSError:
            return ()
        return at.st_mtime_ns, at.st_size, at.st_ino

    # Changing -------------------------------------------------------------------------------------------------------

    def edit(self, change: Callable[[str], str], *, revision: str | None, what: str) -> Snapshot:
        """Saves what `change` makes of the text, at once and whole; gives what the record is then.

        `revision` is that of the page on which the edit was made, None to change whatever stands there. A text that
        is wrong as a record is saved all the same, for nothing that somebody types is lost; one that is not TOML is
        not. Raises StaleError where the record has another revision by now; RecordError, HistoryError where it cannot
        be saved, and then the record is as it was.
        """
        with self._lock:
            now = self.now()
            if revision is not None and revision != now.revision:
                raise StaleError(now)
            text = change(now.text)
            if text == now.text:
                return now
            history = self._kept(now)
            entry = history.add(text, what)
            return self._saved(now, text, entry, history)

    def undo(self, *, revision: str | None = None) -> Snapshot:
        """Goes back to the state before the present one. Raises LidoffError where there is none, else as `edit`."""
        return self._go(lambda history: history.before(), revision, "There is nothing to undo.")

    def redo(self, *, revision: str | None = None) -> Snapshot:
        """Does again what was undone last. Raises LidoffError where there is nothing, else as `edit`."""
        return self._go(lambda history: history.after(), revision, "There is nothing to do again.")

    def go_to(self, number: int, *, revision: str | None = None) -> Snapshot:
        """Goes to the state of that number in the history. Raises LidoffError where there is none, else as `edit`."""
        return self._go(lambda history: history.entries.get(number), revision, "There is no such state.")

    def ways(self) -> tuple[Entry | None, Entry | None]:
        """What undoing would undo, and what doing again would do; None where there is nothing."""
        with self._lock:
            history = self._history or History(self.folder, self._stem)
            try:
                now = self.now()
            except RecordError:
                return None, None
            if history.entries:
                with contextlib.suppress(LidoffError):
                    history.begin(now.text)
            self._history = history
            here = history.entries.get(history.at)
            return (here if history.before() is not None else None), history.after()

    def history(self, count: int = 50) -> list[Entry]:
        """The last saved states, newest first."""
        with self._lock:
            return (self._history or History(self.folder, self._stem)).newest(count)

    def at(self) -> int:
        """The number of the saved state that the record stands at, 0 where there is none."""
        with self._lock:
            return (self._history or History(self.folder, self._stem)).at

    @property
    def made_in(self) -> Path:
        """The folder of its write-up: its own, or one called after a lone file, so that neighbours keep apart."""
        return self.folder / f"{self._stem}-writeup" if self._stem else self.folder

    @property
    def _stem(self) -> str:
        return "" if self.file.name == FILE_NAME else self.file.stem

    def _kept(self, now: Snapshot) -> History:
        """The history, standing at the present text."""
        if self._history is None:
            self._history = History(self.folder, self._stem)
        self._history.begin(now.text)
        return self._history

    def _go(self, where: Callable[[History], Entry | None], revision: str | None, nothing: str) -> Snapshot:
        with self._lock:
            now = self.now()
            if revision is not None and revision != now.revision:
                raise StaleError(now)
            history = self._kept(now)
            entry = where(history)
            if entry is None:
                raise LidoffError(nothing)
            return self._saved(now, history.text(entry), entry, history)

    def _saved(self, now: Snapshot, text: str, entry: Entry, history: History) -> Snapshot:
        source = save(now.source, text)
        self._snapshot = Snapshot.of(source)
        self._seen = self._stamp()
        # The record is saved; where it stands in the history is found again from its text if this fails.
        with contextlib.suppress(LidoffError):
            history.stand_at(entry)
        self._tell(Change(revision=self._snapshot.revision, what=entry.what, outside=False))
        return self._snapshot

    # Telling --------------------------------------------------------------------------------------------------------

    @contextlib.asynccontextmanager
    async def subscribe(self) -> AsyncIterator[asyncio.Queue[Change]]:
        """A queue of the changes from now on: `async with desk.subscribe() as changes: await changes.get()`."""
        queue: asyncio.Queue[Change] = asyncio.Queue(_WAITING)
        self._listeners[queue] = asyncio.get_running_loop()
        try:
            yield queue
        finally:
            self._listeners.pop(queue, None)

    @property
    def watched(self) -> bool:
        """Whether anybody listens for changes."""
        return bool(self._listeners)

    def _tell(self, change: Change) -> None:
        for queue, loop in list(self._listeners.items()):
            with contextlib.suppress(RuntimeError):  # the loop of a listener that is just going
                loop.call_soon_threadsafe(_put, queue, change)


def _put(queue: asyncio.Queue[Change], change: Change) -> None:
    if queue.full():
        queue.get_nowait()  # the newest matters: a reader that was away asks for the whole page anyway
    queue.put_nowait(change)
