"""Writing the invented records to a folder, without touching one that somebody has changed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final, Literal

from lidoff.errors import LidoffError

# Folder of each item, in the order in which they are told.
NAMES: Final = ("globe-lamp", "night-light", "lamp-charger")
RECORD: Final = "item.toml"
PHOTOS: Final = "photos"


class DemoError(LidoffError):
    """The invented records cannot be written where they should go; the text says why and what to do."""


def shipped(name: str) -> str:
    """The text of the record of that name, as it is shipped. Raises FileNotFoundError where there is none."""
    return (files(__package__) / "records" / name / RECORD).read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a record lies, and whether it was written now, was there already, or was there and had been changed."""

    folder: Path
    how: Literal["written", "there", "changed"]


def write_items(folder: Path) -> tuple[Placed, ...]:
    """Writes every invented record into a folder of its own below `folder`, and says what became of each.

    A record that is there already is never written over; where it differs from the one shipped it counts as changed.
    Raises DemoError where the folder cannot be made or written.
    """
    return tuple(place_item(folder, name) for name in NAMES)


def place_item(folder: Path, name: str) -> Placed:
    """Writes the invented record of that name, and the photographs it names, into a folder of its own below `folder`.

    What is there already is left as it is, and beside a record that has been changed nothing is put. Raises DemoError
    where the folder cannot be made or written.
    """
    text = shipped(name)
    path = folder / name / RECORD
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file() and path.read_bytes() != text.encode():
            return Placed(folder=path.parent, how="changed")
        for photo, data in _photos(name):
            photo_path = path.parent / PHOTOS / photo
            photo_path.parent.mkdir(exist_ok=True)
            _made(photo_path, data)
        # The record last: where it lies, all that it names lies too.
        made = _made(path, text.encode())
    except FileExistsError as error:
        raise DemoError(f"{error.filename or path} is in the way; name another folder") from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise DemoError(f"{path.parent}: the invented records cannot be written here: {reason}") from error
    return Placed(folder=path.parent, how="written" if made else "there")


def _photos(name: str) -> Iterator[tuple[str, bytes]]:
    """The photographs shipped with a record, by file name."""
    folder = files(__package__) / "records" / name / PHOTOS
    if folder.is_dir():
        for one in sorted(folder.iterdir(), key=lambda one: one.name):
            yield one.name, one.read_bytes()


def _made(path: Path, data: bytes) -> bool:
    """Whether the file was made; False where there is one. Raises FileExistsError where something else is there."""
    try:
        # "x" makes the file or fails: nothing is ever written over, not even a file made in this instant.
        with path.open("xb") as stream:
            stream.write(data)
    except FileExistsError:
        if not path.is_file():
            raise
        return False
    return True
