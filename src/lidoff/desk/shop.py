"""The opened folder: the items in it, and what may be reached from it."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Final

from lidoff.demo import NAMES, DemoError, place_item
from lidoff.desk.history import text_hash
from lidoff.desk.item_desk import ItemDesk
from lidoff.errors import LidoffError
from lidoff.record import new
from lidoff.record.source import FILE_NAME

_DEEPEST: Final = 3  # folders below the opened one that are looked into
_MOST: Final = 2000  # items listed
_VERSION: Final = re.compile(r"^\s*lidoff\s*=", re.MULTILINE)
_LONGEST: Final = 40  # characters of a folder made from a title
_NOT_PLAIN: Final = re.compile(r"[^a-z0-9]+")


class ShopError(LidoffError):
    """Something in the opened folder that cannot be done; the text says what to do instead."""


class Shop:
    """The folder that the desk was opened on, which is a record itself or holds records.

    Nothing outside it is ever read or written: where a link leads out, it is as if it were not there.
    """

    def __init__(self, folder: Path) -> None:
        self.named = folder.absolute()
        self.folder = folder.resolve()
        self._desks: dict[Path, ItemDesk] = {}
        self._lock = threading.Lock()

    @property
    def single(self) -> bool:
        """Whether the opened folder is itself a record."""
        return (self.folder / FILE_NAME).is_file()

    def items(self) -> list[ItemDesk]:
        """Every item found now, by its place."""
        with self._lock:
            found: dict[Path, ItemDesk] = {}
            taken: set[str] = set()
            for file in self._files():
                desk = self._desks.get(file) or ItemDesk(self._key(file, taken), file)
                taken.add(desk.key)
                found[file] = desk
            self._desks.update(found)
            return list(found.values())

    def item(self, key: str) -> ItemDesk | None:
        """The item of that key, or None."""
        known = next((desk for desk in self._desks.values() if desk.key == key and desk.file.is_file()), None)
        return known or next((desk for desk in self.items() if desk.key == key), None)

    def watched(self) -> list[ItemDesk]:
        """The items that somebody has open."""
        return [desk for desk in list(self._desks.values()) if desk.watched]

    def start(self, title: str) -> ItemDesk:
        """A new record in a folder of its own, named after the title. Raises ShopError, RecordError."""
        return self._found(new(self._free(title), title=title.strip()))

    def place(self, name: str, text: str) -> ItemDesk:
        """A record whose text is there already, in a folder of its own. Raises ShopError."""
        folder = self._free(name)
        try:
            folder.mkdir()
            with (folder / FILE_NAME).open("x", encoding="utf-8", newline="") as stream:
                stream.write(text)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise ShopError(f"{folder}: the record cannot be written here: {reason}.") from error
        return self._found(folder / FILE_NAME)

    def _free(self, title: str) -> Path:
        """A folder that is not there yet, called after a title."""
        name = _plain(title)
        if not name:
            raise ShopError("Give the item a name that has a letter or a digit in it.")
        if self.single:
            raise ShopError("One record is open, and nothing can be put beside it: open the folder that holds it.")
        return next(path for number in range(1, _MOST) if not (path := self._fresh(name, number)).exists())

    def _found(self, file: Path) -> ItemDesk:
        desk = next((one for one in self.items() if one.file == file), None)
        if desk is None:
            raise ShopError(f"{file}: it is there, but not found in the opened folder; something is in the way.")
        return desk

    def example(self, name: str) -> ItemDesk:
        """One of the invented records, copied into the opened folder; one that is there already is opened as it is.

        Raises ShopError where there is no such example or it cannot be written.
        """
        if name not in NAMES:
            raise ShopError("There is no such example.")
        try:
            placed = place_item(self.folder, name)
        except DemoError as error:
            raise ShopError(f"{error}.") from error
        return self._found(placed.folder / FILE_NAME)

    def _fresh(self, name: str, number: int) -> Path:
        return self.folder / (name if number == 1 else f"{name}-{number}")

    def confined(self, inside: Path, name: str) -> Path | None:
        """The file of that relative name below `inside`, links followed; None where it is not, or leads out of it."""
        if not name or "\0" in name or "\\" in name:
            return None
        try:
            home = inside.resolve()
            path = (home / name).resolve()
            if home.is_relative_to(self.folder) and path.is_relative_to(home) and path.is_file():
                return path
        except (OSError, ValueError, RuntimeError):
            return None
        return None

    def _files(self) -> Iterator[Path]:
        return islice(self._walk(self.folder, 0), _MOST)

    def _walk(self, folder: Path, depth: int) -> Iterator[Path]:
        file = folder / FILE_NAME
        if self.confined(folder, FILE_NAME) is not None:
            yield file
            return  # a record's own folders hold its photographs
        if depth >= _DEEPEST:
            return
        try:
            below = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
        except OSError:
            return
        for path in below:
            if path.suffix == ".toml" and self.confined(folder, path.name) is not None and _is_record(path):
                yield path
                continue
            # A linked folder is looked into only where it leads to a place inside the opened one.
            if path.is_dir() and path.resolve().is_relative_to(self.folder):
                yield from self._walk(path, depth + 1)

    def _key(self, file: Path, taken: set[str]) -> str:
        place = (file.parent if file.name == FILE_NAME else file.with_suffix("")).relative_to(self.folder)
        name = str(place) if place.parts else self.folder.name
        key = _plain(name) or "item"
        known = {desk.key for desk in self._desks.values()} | taken
        return key if key not in known else f"{key}-{text_hash(name)[:6]}"


def _is_record(file: Path) -> bool:
    """Whether a lone file is a record: it begins as one, with the version of the format."""
    try:
        with file.open(encoding="utf-8", errors="replace") as stream:
            return _VERSION.search(stream.read(8192)) is not None
    except OSError:
        return False


def _plain(title: str) -> str:
    """A title as a name of a folder, cut between words."""
    name = _NOT_PLAIN.sub("-", title.lower()).strip("-")
    if len(name) <= _LONGEST:
        return name
    whole, dash, _ = name[: _LONGEST + 1].rpartition("-")
    return whole if dash else name[:_LONGEST]
