"""A photograph that was sent to the desk, put into a record's folder."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from lidoff.errors import LidoffError
from lidoff.photos import PhotoError
from lidoff.photos.intake import FOLDER, Cleaned, cleaned

_NOT_PLAIN: Final = re.compile(r"[^a-z0-9]+")


class IncomingError(LidoffError):
    """A photograph that cannot be taken in; the text says why."""


def take_in(file: Path, folder: Path) -> str:
    """Puts the photograph in `file` into the record's folder, upright and without the place it was taken at.

    Gives its name as the record writes it; one that lies there already is not copied again. Raises IncomingError.
    """
    try:
        clean = cleaned(file)
    except PhotoError as error:
        # The sender knows the photograph by its name, not by where it lay for a moment.
        raise IncomingError(str(error).replace(str(file), file.name)) from error
    place = folder / FOLDER
    if place.is_symlink() or (place.exists() and not place.is_dir()):
        raise IncomingError(f"{place} is not a folder of this record; put a folder there for the photographs.")
    try:
        place.mkdir(exist_ok=True)
        there = _same(place, clean)
        return f"{FOLDER}/{(there or _written(place, file.stem, clean)).name}"
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise IncomingError(f"{place}: the photograph could not be kept: {reason}; the record is as it was.") from error


def _same(place: Path, clean: Cleaned) -> Path | None:
    for held in sorted(place.iterdir()):
        if held.is_file() and held.stat().st_size == len(clean.data) and held.read_bytes() == clean.data:
            return held
    return None


def _written(place: Path, stem: str, clean: Cleaned) -> Path:
    """A new file; one half written on a full disk is taken away again."""
    plain = _NOT_PLAIN.sub("-", stem.lower()).strip("-")[:60] or "photo"
    number = 1
    while (target := place / f"{plain}{'' if number == 1 else f'-{number}'}{clean.suffix}").exists():
        number += 1
    try:
        with target.open("xb") as stream:
            stream.write(clean.data)
    except OSError:
        target.unlink(missing_ok=True)
        raise
    return target
