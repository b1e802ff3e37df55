"""Starting a record: a folder with a commented `item.toml`, asking nothing."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from lidoff.record.problems import RecordError, refusal
from lidoff.record.source import FILE_NAME
from lidoff.record.toml_text import string_text

FOLDERS: Final = ("photos", "recordings")


def template(title: str = "") -> str:
    """The text of a new `item.toml`, with every table explained in comments."""
    from importlib.resources import files

    text = (files(__package__) / "template.toml").read_text(encoding="utf-8")
    return text.replace('title = ""', f"title = {string_text(title)}", 1)


def new(folder: str | os.PathLike[str], *, title: str | None = None) -> Path:
    """Starts a record in `folder`, which is made where it does not exist; gives the path of its `item.toml`.

    Without `title` the folder's name serves. Raises RecordError where there is a record already, which is left as it
    is, or where the folder cannot be made.
    """
    place = Path(folder)
    file = place / FILE_NAME
    text = template(place.resolve().name if title is None else title)
    try:
        if place.exists() and not place.is_dir():
            raise refusal("is a file; name a folder for the new record", str(place))
        place.mkdir(parents=True, exist_ok=True)
        for name in FOLDERS:
            (place / name).mkdir(exist_ok=True)
        # "x" makes the file or fails: no record is ever written over, not even one made in this instant.
        with file.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
    except FileExistsError as error:
        raise _taken(file, error) from error
    except OSError as error:
        raise refusal(
            f"a record cannot be started here: {(error.strerror or str(error)).lower()}", str(place)
        ) from error
    return file


def _taken(file: Path, error: FileExistsError) -> RecordError:
    if file.exists():
        return refusal("there is a record here already, and it was left as it is", str(file))
    return refusal("there is something else of this name here; name another folder", str(error.filename or file))
