"""Writing the invented records to a folder, without touching one that somebody has changed."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Final, Literal

from lidoff.errors import LidoffError

# Folder of each item, in the order in which they are told.
NAMES: Final = ("globe-lamp", "night-light", "lamp-charger")
RECORD: Final = "item.toml"


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
    placed = []
    for name in NAMES:
        text = shipped(name)
        path = folder / name / RECORD
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            # "x" makes the file or fails: nothing is ever written over, not even a file made in this instant.
            with path.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
            how: Literal["written", "there", "changed"] = "written"
        except FileExistsError as error:
            if not path.is_file():
                raise DemoError(f"{error.filename or path} is in the way; name another folder") from error
            how = "there" if path.read_bytes() == text.encode() else "changed"
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise DemoError(f"{path.parent}: the invented records cannot be written here: {reason}") from error
        placed.append(Placed(folder=path.parent, how=how))
    return tuple(placed)
