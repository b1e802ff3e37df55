"""Putting records on the shelf, keeping their entries in step with the folders, and taking them off again."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from lidoff.account import fingerprint
from lidoff.errors import LidoffError
from lidoff.record import Item
from lidoff.record import open as open_record
from lidoff.shelf.entry import DEPTHS, Depth, Entry, unreadable
from lidoff.shelf.errors import ShelfError
from lidoff.shelf.places import Surveyed, covered, read_places, survey, write_places
from lidoff.shelf.store import change, writing
from lidoff.shelf.where import folders_path
from lidoff.shelf.working import made_with, worked_out


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """How far a run has come: `done` of `total` records, and the one that is being looked at."""

    done: int
    total: int
    path: Path


Watch = Callable[[Step], bool]
"""Called before each record; what it returns says whether to go on."""
Work = Callable[[Item, Depth], Entry]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a run over folders did, each list by path.

    `added` were not there before, `renewed` had changed, `kept` had not; `moved` maps where a record is now to where
    it was; `gone` are no longer where they were and stay on the shelf with what is known of them. `unreadable` and
    `unsolved` map a record to the sentence that says why. `stopped` is true where the run was broken off: what was done
    until then stands.
    """

    added: tuple[Path, ...] = ()
    renewed: tuple[Path, ...] = ()
    kept: tuple[Path, ...] = ()
    moved: Mapping[Path, Path] = field(default_factory=dict)
    gone: tuple[Path, ...] = ()
    unreadable: Mapping[Path, str] = field(default_factory=dict)
    unsolved: Mapping[Path, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    stopped: bool = False

    @property
    def sentence(self) -> str:
        """What was done, in one sentence."""
        told = [
            (self.added, "put on the shelf"),
            (self.renewed, "renewed"),
            (self.moved, "found in another place"),
            (self.kept, "unchanged"),
            (self.gone, "no longer where they were"),
            (self.unreadable, "that cannot be read"),
            (self.unsolved, "without a mains cycle worked out"),
        ]
        said = ", ".join(f"{len(them)} {words}" for them, words in told if them)
        counted = f"Records: {said}." if said else "No record was found."
        return f"Stopped before the end; what was done stands. {counted}" if self.stopped else counted

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            "added": [str(one) for one in self.added],
            "renewed": [str(one) for one in self.renewed],
            "unchanged": [str(one) for one in self.kept],
            "moved": [{"from": str(old), "to": str(new)} for new, old in self.moved.items()],
            "gone": [str(one) for one in self.gone],
            "unreadable": [{"record": str(one), "why": why} for one, why in self.unreadable.items()],
            "unsolved": [{"record": str(one), "why": why} for one, why in self.unsolved.items()],
            "stopped": self.stopped,
            "sentence": self.sentence,
        }


def add(
    index: Path,
    places: Sequence[Path],
    *,
    depth: Depth = "full",
    watch: Watch | None = None,
    work: Work = worked_out,
) -> Report:
    """Puts the records in some places on the shelf: record folders, folders of them, or lone `.toml` files.

    The places are remembered, so that `rebuild` looks into them again. Raises ShelfError where a place is not there or
    holds no record, or where the index cannot be used; then nothing has changed.
    """
    found = [survey(place.expanduser().absolute()) for place in places]
    for one in found:
        if not one.place.exists():
            raise ShelfError(f"{one.place}: there is no such file or folder.")
        if not one.records:
            raise ShelfError(f"{one.place}: no record lies here or below; start one with: lidoff new {one.place}")
    with writing(index) as connection:
        write_places(folders_path(index), add=[one.place for one in found])
        run = _Run(connection, depth, watch, work, problems=[p for one in found for p in one.problems])
        run.over(list(dict.fromkeys(record for one in found for record in one.records)))
        return run.report


def rebuild(index: Path, *, depth: Depth | None = None, watch: Watch | None = None, work: Work = worked_out) -> Report:
    """Looks into every place on the list again: new and changed records are worked out, the others left alone.

    With no index there one is made from the list. An entry is never made shallower than it is; `depth` is the least
    that each shall have, and without it each keeps its own and new ones are worked out in full. Raises ShelfError where
    there is no list, or where the index cannot be used.
    """
    listed = read_places(folders_path(index))
    if not listed and not index.exists():
        raise ShelfError(f"{index}: there is no shelf yet; begin one with: lidoff shelf add FOLDER")
    found = [survey(place) for place in listed]
    with writing(index) as connection:
        # Those that no place covers were put there under a list that has been lost: they are looked at all the same.
        looked = [path for path in paths_in(connection) if not path.exists() or not covered(path, listed)]
        return _Run(connection, depth, watch, work, problems=[]).again(found, looked)


def renew(index: Path, places: Sequence[Path], *, watch: Watch | None = None, work: Work = worked_out) -> Report:
    """As `rebuild`, but only of what lies in these places, which are put on the list where none on it covers them.

    Raises ShelfError where a place holds no record and none of it is known, or where the index cannot be used.
    """
    wanted = [place.expanduser().absolute() for place in places]
    found = [survey(place) for place in wanted]
    listed = read_places(folders_path(index))
    if not any(one.records for one in found) and not index.exists():
        raise ShelfError(
            f"{', '.join(map(str, wanted)) or 'Nothing'}: no record lies here, so there is nothing to add."
        )
    with writing(index) as connection:
        write_places(
            folders_path(index), add=[one.place for one in found if one.records and not covered(one.place, listed)]
        )
        looked = [path for path in paths_in(connection) if covered(path, wanted)]
        return _Run(connection, None, watch, work, problems=[]).again(found, looked)


def paths_in(connection: sqlite3.Connection) -> list[Path]:
    """Where each record on the shelf is, or was."""
    return [Path(path) for (path,) in connection.execute("SELECT path FROM item ORDER BY path")]


def forget(index: Path, place: Path) -> tuple[Path, ...]:
    """Takes a place, and all on the shelf that lies in it, off again, and gives the paths; no folder is touched.

    Records that lie in another place of the list stay. Raises ShelfError where nothing on the shelf lies there.
    """
    wanted = place.expanduser().absolute()
    listed = read_places(folders_path(index))
    dropping = [one for one in listed if covered(one, [wanted])]
    left = [one for one in listed if one not in dropping]
    with writing(index) as connection:
        known = paths_in(connection)
        dropped = [path for path in known if covered(path, [wanted]) and not covered(path, left)]
        if not dropped and not dropping:
            held = [path for path in known if covered(path, [wanted])]
            if held:
                by = next(one for one in left if covered(held[0], [one]))
                raise ShelfError(f"{wanted}: belongs to a larger folder on the shelf; forget that one: {by}")
            raise ShelfError(f"{wanted}: nothing on this shelf lies there; see: lidoff shelf list")
        with change(connection):
            for path in dropped:
                _drop(connection, path)
        write_places(folders_path(index), drop=dropping)
    return tuple(dropped)


class _Run:
    """One run over records, each written by itself, so that it can be stopped at any time."""

    def __init__(
        self,
        connection: sqlite3.Connection,
        depth: Depth | None,
        watch: Watch | None,
        work: Work,
        problems: list[str],
    ) -> None:
        self.connection, self.depth, self.watch, self.work, self.problems = connection, depth, watch, work, problems
        self.added: list[Path] = []
        self.renewed: list[Path] = []
        self.kept: list[Path] = []
        self.moved: dict[Path, Path] = {}
        self.lost: dict[Path, str] = {}
        self.unreadable: dict[Path, str] = {}
        self.unsolved: dict[Path, str] = {}
        self.stopped = False

    @property
    def report(self) -> Report:
        return Report(
            added=tuple(self.added),
            renewed=tuple(self.renewed),
            kept=tuple(self.kept),
            moved=dict(self.moved),
            gone=tuple(path for path in self.lost if path not in self.moved.values()),
            unreadable=dict(self.unreadable),
            unsolved=dict(self.unsolved),
            problems=tuple(self.problems),
            stopped=self.stopped,
        )

    def again(self, found: Sequence[Surveyed], known: Sequence[Path]) -> Report:
        """Over all that was found and, of what is known, what is there; what is not there any more is marked."""
        self.problems += [problem for one in found for problem in one.problems]
        self.gone([path for path in known if not path.exists()])
        there = [path for path in known if path.exists()]
        self.over(list(dict.fromkeys([*(record for one in found for record in one.records), *there])))
        return self.report

    def gone(self, paths: Iterable[Path]) -> None:
        """Marks those that are not there any more; they keep what is known of them."""
        with change(self.connection):
            for path in paths:
                self.connection.execute("UPDATE item SET gone = 1 WHERE path = ?", (str(path),))
                (mark,) = self.connection.execute(
                    "SELECT fingerprint FROM item WHERE path = ?", (str(path),)
                ).fetchone()
                self.lost[path] = mark

    def over(self, paths: Sequence[Path]) -> None:
        """Brings the entries of these records into step."""
        for done, path in enumerate(paths):
            if self.watch is not None and not self.watch(Step(done=done, total=len(paths), path=path)):
                self.stopped = True
                return
            self._one(path)

    def _one(self, path: Path) -> None:
        known = known_of(self.connection, path)
        if known is not None and self._enough(known) and known.as_it_was(path):
            self._keep(known, path, known.stamp)
            return
        try:
            item = open_record(path)
        except LidoffError as error:
            self._unreadable(known, path, str(error).splitlines()[0])
            return
        now = stamp(path, [one.file for one in item.recordings])
        mark = fingerprint(item)
        if known is None:
            known = self._moved(path, mark)
        if known is not None and known.fingerprint == mark and self._enough(known):
            self._keep(known, path, now)
            return
        entry = self.work(item, self._wanted(known))
        with change(self.connection):
            write_entry(self.connection, path, entry, now, known.id if known is not None else None)
        if entry.status == "unsolved":
            self.unsolved[path] = entry.problem
        if path not in self.moved:
            (self.added if known is None else self.renewed).append(path)

    def _wanted(self, known: Known | None) -> Depth:
        before: Depth = known.depth if known is not None else "none"
        if self.depth is None:
            return "full" if before == "none" else before
        return max(self.depth, before, key=DEPTHS.index)

    def _enough(self, known: Known) -> bool:
        return known.depth == self._wanted(known) and known.sound

    def _keep(self, known: Known, path: Path, now: str) -> None:
        with change(self.connection):
            self.connection.execute("UPDATE item SET stamp = ?, gone = 0 WHERE id = ?", (now, known.id))
        if known.status == "unsolved":
            self.unsolved[path] = known.problem
        if path not in self.moved:
            self.kept.append(path)

    def _moved(self, path: Path, mark: str) -> Known | None:
        """The entry of a record that was elsewhere and is not there any more, given its new path."""
        for old, before in self.lost.items():
            if before == mark and old not in self.moved.values():
                with change(self.connection):
                    self.connection.execute("UPDATE item SET path = ?, gone = 0 WHERE path = ?", (str(path), str(old)))
                self.moved[path] = old
                return known_of(self.connection, path)
        return None

    def _unreadable(self, known: Known | None, path: Path, why: str) -> None:
        """Notes why a record cannot be read; what is known of it from before stays."""
        self.unreadable[path] = why
        with change(self.connection):
            if known is None:
                write_entry(self.connection, path, unreadable(path.parent.name, why), "", None)
            else:
                self.connection.execute(
                    "UPDATE item SET status = 'unreadable', problem = ?, stamp = '', gone = 0 WHERE id = ?",
                    (why, known.id),
                )


@dataclass(frozen=True, slots=True)
class Known:
    """What decides whether an entry has to be made anew."""

    id: int
    stamp: str
    fingerprint: str
    depth: Depth
    made_with: str
    status: str
    problem: str

    @property
    def sound(self) -> bool:
        """Whether it was made by this version of the program, from a record that could be read."""
        return self.made_with == made_with() and self.status != "unreadable"

    def as_it_was(self, path: Path) -> bool:
        """Whether the record's text and recordings are those that the entry was made from, told without reading it."""
        return bool(self.stamp) and self.stamp == stamp(path, json.loads(self.stamp)["files"])


def known_of(connection: sqlite3.Connection, path: Path) -> Known | None:
    """What the index knows of the record at a path, None where it has no entry."""
    row = connection.execute(
        "SELECT id, stamp, fingerprint, depth, made_with, status, problem FROM item WHERE path = ?", (str(path),)
    ).fetchone()
    return Known(*row) if row is not None else None


_NOT_THERE: Final = [-1, 0]


def stamp(path: Path, files: Iterable[str]) -> str:
    """What tells cheaply that a record is as it was: its text's SHA-256, and size and time of each recording.

    As JSON, in which the names of the recordings stand. Empty where the record cannot be read.
    """
    try:
        text = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
    sizes: dict[str, list[int]] = {}
    for name in files:
        try:
            told = (path.parent / name).stat()
            sizes[name] = [told.st_size, told.st_mtime_ns]
        except (OSError, ValueError):
            sizes[name] = _NOT_THERE
    return json.dumps({"text": text, "files": sizes}, sort_keys=True)


def write_entry(connection: sqlite3.Connection, path: Path, entry: Entry, now: str, known: int | None) -> None:
    """Writes an entry in place of the one there is; a number once given stays the record's."""
    if known is not None:
        connection.execute("DELETE FROM words WHERE rowid = ?", (known,))
        connection.execute("DELETE FROM item WHERE id = ?", (known,))
    head: dict[str, Any] = {
        "id": known,
        "path": str(path),
        "status": entry.status,
        "problem": entry.problem,
        "gone": 0,
        "depth": entry.depth,
        "made_with": made_with(),
        "fingerprint": entry.fingerprint,
        "stamp": now,
        "title": entry.title,
        "class": entry.protection_class,
        "region": entry.region,
        "kind": entry.kind,
        "sentence": entry.sentence,
    }
    item = _insert(connection, "item", head | {one.name: one.value for one in entry.figures if one.state is None})
    for place, name in enumerate(entry.states):
        own = [one for one in entry.figures if one.state == place]
        figures = {one.name: one.value for one in own}
        state = _insert(connection, "state", {"item_id": item, "place": place, "name": name, **figures})
        connection.executemany(
            "INSERT INTO span VALUES (?, ?, ?, ?)",
            [(state, one.name, one.low, one.high) for one in own if one.low is not None and one.high is not None],
        )
    for table, rows in _rows(item, entry).items():
        for row in rows:
            connection.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
    columns = list(entry.words)
    connection.execute(
        f"INSERT INTO words (rowid, {', '.join(columns)}) VALUES (?{', ?' * len(columns)})",
        (item, *(entry.words[column] for column in columns)),
    )


def _insert(connection: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> int:
    """Writes a row, and gives its number."""
    columns = ", ".join(f'"{name}"' for name in row)
    marks = ", ".join("?" * len(row))
    cursor = connection.execute(f"INSERT INTO {table} ({columns}) VALUES ({marks})", tuple(row.values()))
    return int(cursor.lastrowid or 0)


def _rows(item: int, entry: Entry) -> dict[str, Iterator[tuple[Any, ...]]]:
    return {
        "part": (
            (item, one.ref, one.kind, one.marking, one.value, one.shown, one.power, one.times) for one in entry.parts
        ),
        "formed": ((item, one.name, one.title, " ".join(one.refs)) for one in entry.formed),
        "judged": (
            (item, one.rule, one.outcome, one.title, one.severity, one.risk, one.because) for one in entry.judged
        ),
        "look": ((item, question, answer) for question, answer in entry.looks.items()),
    }


def _drop(connection: sqlite3.Connection, path: Path) -> None:
    (number,) = connection.execute("SELECT id FROM item WHERE path = ?", (str(path),)).fetchone()
    connection.execute("DELETE FROM words WHERE rowid = ?", (number,))
    connection.execute("DELETE FROM item WHERE id = ?", (number,))
