"""The states that a trace went through, kept beside those of the record so that they outlive the desk.

They lie in `.lidoff/history/trace.json` (see `history`): each entry is a whole `trace.json`. What the picture says
comes by itself and takes no entry of its own: it is put into the one that stands. The trace itself is on the disk
before an answer is given; its history need not be, so that an answer is not kept waiting.
"""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Final

from lidoff.desk.history import Entry, History
from lidoff.errors import LidoffError
from lidoff.photos import kept
from lidoff.photos.kept import Trace, TraceError

MOST: Final = 400
KEPT: Final = 240


class Past:
    """The states of one trace. Nothing is written until the first act."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / kept.NAME
        # The text of the state that stands: a large trace takes its time to be written out.
        self._known: tuple[Trace, str] | None = None
        self._history = History(folder, kept.NAME, suffix=".json", bounds=(MOST, KEPT), synced=False)

    @property
    def at(self) -> int:
        """The number of the state that stands, 0 where there is none."""
        return self._history.at

    @property
    def back(self) -> str | None:
        """What undoing would undo."""
        here = self._history.entries.get(self._history.at)
        return here.what if here is not None and self._history.before() is not None else None

    @property
    def forth(self) -> str | None:
        """What doing again would do."""
        after = self._history.after() if self._history.entries else None
        return after.what if after is not None else None

    def text(self, trace: Trace) -> str:
        """A trace as it stands in its file."""
        if self._known is None or self._known[0] is not trace:
            self._known = trace, kept.text(trace)
        return self._known[1]

    def found(self, trace: Trace) -> None:
        """Finds where a trace stands that was read from its file; one that is not known was made elsewhere."""
        if self._history.entries:
            # Where that cannot be written down it is seen again at the next act, which says so.
            with contextlib.suppress(LidoffError):
                self._history.begin(self.text(trace))

    def coming(self, before: Trace, after: Trace, what: str) -> Entry:
        """Keeps a state that is about to be saved. Raises HistoryError."""
        self._history.begin(self.text(before))
        return self._history.add(self.text(after), what)

    def stands(self, entry: Entry) -> None:
        """Notes that this state was saved; where that fails it is found again by its text."""
        with contextlib.suppress(LidoffError):
            self._history.stand_at(entry)

    def grown(self, trace: Trace) -> None:
        """What the picture says was put into the state that stands."""
        if self._history.entries:
            with contextlib.suppress(LidoffError):
                self._history.restate(self.text(trace))

    def step(self, *, forth: bool) -> tuple[Entry, Trace]:
        """The state before the present one, or after it. Raises LidoffError where there is none or it is lost."""
        entry = self._history.after() if forth else self._history.before()
        if entry is None or not self._history.entries:
            raise TraceError(f"There is nothing to {'do again' if forth else 'undo'} on this trace.")
        return entry, kept.parsed(self._history.text(entry), self._file)
