"""The folders on a shelf, and the records that lie in them.

The list is a text file beside the index, one absolute path a line; lines that begin with # are the user's own. It is
what the index is made anew from, so it is written whole to a new file that then takes the old one's place.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lidoff.record.source import FILE_NAME
from lidoff.shelf.errors import ShelfError

_HEAD: Final = (
    "# Folders on this shelf, one a line. The index beside this file is made from them and can be thrown away:",
    '# "lidoff shelf rebuild" makes it anew.',
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Surveyed:
    """What lies in one place: record files, and a sentence for each folder that could not be looked into."""

    place: Path
    records: tuple[Path, ...] = ()
    problems: tuple[str, ...] = ()


def read_places(file: Path) -> tuple[Path, ...]:
    """The places on the list, in its order; none where there is no list. Raises ShelfError where it cannot be read."""
    return tuple(dict.fromkeys(Path(line) for line in _lines(file) if _is_place(line)))


def _is_place(line: str) -> bool:
    return bool(line.strip()) and not line.startswith("#")


def _lines(file: Path) -> list[str]:
    try:
        text = file.read_text(encoding="utf-8", errors="surrogateescape")
    except FileNotFoundError:
        return []
    except OSError as error:
        raise ShelfError(f"{file}: the list of folders cannot be read: {error.strerror or error}.") from error
    return text.splitlines()


def write_places(file: Path, *, add: Iterable[Path] = (), drop: Iterable[Path] = ()) -> None:
    """Adds places to the end of the list and takes others off it; the user's own lines stay where they are.

    Raises ShelfError where it cannot be written, or where a name has a line break in it, which a list cannot hold.
    """
    dropped = {str(one) for one in drop}
    before = _lines(file)
    kept = [line for line in before or _HEAD if not (_is_place(line) and line in dropped)]
    new = [str(one) for one in add if str(one) not in kept]
    for name in new:
        if len(name.splitlines()) != 1 or name != name.strip() or name.startswith("#"):
            raise ShelfError(f"{name!r}: a folder whose name has a line break or a blank at its end cannot be listed.")
    wanted = [*kept, *dict.fromkeys(new)]
    if wanted == before:
        return
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text("\n".join(wanted) + "\n", encoding="utf-8", errors="surrogateescape")
        beside.replace(file)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise ShelfError(f"{file}: the list of folders cannot be written: {error.strerror or error}.") from error


def survey(place: Path) -> Surveyed:
    """The records in a place: the file itself, a record folder, or every record folder below it.

    Links to folders are not followed, and folders whose names begin with a dot are passed over. What lies inside a
    record folder belongs to that record.
    """
    if place.is_file():
        return Surveyed(place=place, records=(place,))
    if not place.is_dir():
        return Surveyed(place=place, problems=(f"{place}: is not there any more; what is known of it is kept.",))
    problems: list[str] = []

    def note(error: OSError) -> None:
        problems.append(f"{error.filename}: cannot be looked into: {error.strerror or error}.")

    found = list(_below(place, note))
    problems += [f"{str(one)!r}: its name is not text in UTF-8, so it is passed over." for one in found if _odd(one)]
    return Surveyed(place=place, records=tuple(one for one in found if not _odd(one)), problems=tuple(problems))


def _odd(path: Path) -> bool:
    """Whether a name holds bytes that are no text, which the index cannot keep."""
    try:
        str(path).encode()
    except UnicodeEncodeError:
        return True
    return False


def _below(place: Path, note: Callable[[OSError], None]) -> Iterator[Path]:
    for folder, inner, files in os.walk(place, onerror=note):
        if FILE_NAME in files:
            inner.clear()
            yield Path(folder) / FILE_NAME
        else:
            inner[:] = sorted(name for name in inner if not name.startswith("."))


def covered(path: Path, places: Iterable[Path]) -> bool:
    """Whether a record lies in one of the places."""
    return any(path == place or place in path.parents for place in places)
