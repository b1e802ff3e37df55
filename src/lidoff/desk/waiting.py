"""Photographs that wait in a watched folder: a card, or where a telephone's pictures arrive.

The folder is named on the command line and is only ever read. A picture is named to the browser by a digest of its
path, so that no path comes back from there. What was taken in is noted in the record's `.lidoff/taken`, and is not
offered to that record again.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lidoff.desk.history import text_hash

_SUFFIXES: Final = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif"})
_DEEPEST: Final = 4
_SHOWN: Final = 24
_LOOKED_AT: Final = 20_000  # entries, so that a whole disk named by mistake does not stop the desk
_TAKEN: Final = Path(".lidoff") / "taken"


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A picture that waits: its `id`, name, file, and when it was changed last [s since 1970]."""

    id: str
    name: str
    file: Path
    time: float


class WatchedFolder:
    """The folder in which photographs arrive."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()

    def pictures(self, record: Path) -> list[Waiting]:
        """The newest pictures that the record in that folder has not taken in, newest first."""
        taken = _taken(record)
        found = [one for one in self._all() if one.id not in taken]
        return sorted(found, key=lambda one: -one.time)[:_SHOWN]

    def picture(self, id: str) -> Waiting | None:
        """The picture of that id, None where there is none now."""
        return next((one for one in self._all() if one.id == id), None)

    def _all(self) -> Iterator[Waiting]:
        left = _LOOKED_AT
        folders = [(self.folder, 0)]
        while folders:
            folder, depth = folders.pop()
            try:
                entries = sorted(os.scandir(folder), key=lambda one: one.name)
            except OSError:
                continue
            for entry in entries:
                left -= 1
                if left < 0:
                    return
                # Links are not followed: what is offered lies in the folder that was named.
                with contextlib.suppress(OSError):
                    if entry.name.startswith("."):
                        continue
                    if entry.is_dir(follow_symlinks=False) and depth < _DEEPEST:
                        folders.append((Path(entry.path), depth + 1))
                    elif entry.is_file(follow_symlinks=False) and Path(entry.name).suffix.lower() in _SUFFIXES:
                        at = entry.stat(follow_symlinks=False)
                        id = text_hash(f"{entry.path}\n{at.st_size}\n{at.st_mtime_ns}")
                        yield Waiting(id=id, name=entry.name, file=Path(entry.path), time=at.st_mtime)


def note_taken(record: Path, id: str) -> None:
    """Notes that the record in that folder has that picture. Not being able to costs no more than an offer too many."""
    with contextlib.suppress(OSError):
        file = record / _TAKEN
        file.parent.mkdir(exist_ok=True)
        with file.open("a", encoding="utf-8") as stream:
            stream.write(f"{id}\n")


def _taken(record: Path) -> frozenset[str]:
    try:
        return frozenset((record / _TAKEN).read_text(encoding="utf-8", errors="replace").split())
    except OSError:
        return frozenset()
