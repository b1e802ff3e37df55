"""Which entries are out of date: told without working anything out and without writing anything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lidoff.account import fingerprint
from lidoff.errors import LidoffError
from lidoff.record import open as open_record
from lidoff.shelf.indexing import Known, known_of, paths_in
from lidoff.shelf.places import covered, survey
from lidoff.shelf.store import reading
from lidoff.shelf.working import made_with


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """How the shelf stands to the records in some places, each list by path.

    `new` are not on it; `changed` have another text or other recordings than their entry was made from; `older` were
    worked out by another version of the program or of its rules; `mended` could not be read then and can be now.
    `gone` are no longer there. `kept` counts those in step, records that cannot be read then or now included.
    """

    new: tuple[Path, ...] = ()
    changed: tuple[Path, ...] = ()
    older: tuple[Path, ...] = ()
    mended: tuple[Path, ...] = ()
    gone: tuple[Path, ...] = ()
    kept: int = 0

    @property
    def out_of_date(self) -> tuple[Path, ...]:
        """Those that have an entry, and one that no longer tells what the record says."""
        return (*self.changed, *self.older, *self.mended)

    @property
    def to_do(self) -> int:
        """How many records have to be worked out for the shelf to be in step."""
        return len(self.new) + len(self.out_of_date)


def behind(index: Path, places: Sequence[Path]) -> Behind:
    """What `renew` would have to work out of these places. Without an index everything is new.

    Raises ShelfError where the index cannot be read.
    """
    wanted = [place.expanduser().absolute() for place in places]
    records = list(dict.fromkeys(record for place in wanted for record in survey(place).records))
    if not index.exists():
        return Behind(new=tuple(records))
    sorted_out: dict[str, list[Path]] = {name: [] for name in ("new", "changed", "older", "mended", "kept")}
    with reading(index) as connection:
        known = {path: known_of(connection, path) for path in paths_in(connection) if covered(path, wanted)}
    records += [path for path in known if path not in records and path.exists()]
    for path in records:
        sorted_out[_stands(known.get(path), path)].append(path)
    kept = len(sorted_out.pop("kept"))
    lists = {name: tuple(paths) for name, paths in sorted_out.items()}
    return Behind(**lists, gone=tuple(path for path in known if not path.exists()), kept=kept)


def _stands(known: Known | None, path: Path) -> str:
    """Which list of `Behind` a record belongs to."""
    if known is None:
        return "new"
    if known.sound and known.as_it_was(path):
        return "kept"
    try:
        item = open_record(path)
    except LidoffError:
        # An entry of what cannot be read keeps what is known, and there is nothing to work out until it is mended.
        return "kept" if known.status == "unreadable" else "changed"
    if known.status == "unreadable":
        return "mended"
    # A comment or a line break more changes the text, but nothing that was worked out.
    return (
        "changed" if known.fingerprint != fingerprint(item) else "kept" if known.made_with == made_with() else "older"
    )
