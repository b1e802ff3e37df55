"""A question put to the index: which items, in which of their states, and where the words stand."""

from __future__ import annotations

import math
import re
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from lidoff.record.model import EMPTY
from lidoff.record.source import FILE_NAME
from lidoff.shelf.errors import QueryError, ShelfError
from lidoff.shelf.measures import BY_NAME
from lidoff.shelf.query import EVERYTHING, HasFinding, HasGroup, HasPart, Is, Query, Saw, Within, Words
from lidoff.shelf.store import reading
from lidoff.standards.risk import LEVELS

_COLUMNS: Final = "id, path, status, problem, gone, depth, title, class, region, kind, sentence"
_BATCH: Final = 500  # numbers in one question to the library, which takes a few hundred
OPEN, CLOSE = "\u2068", "\u2069"
"""What stands about a word that was found, in an excerpt: invisible, and in no text that people write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A state of an item that meets the question, with the figures that were asked for [SI, as kept]."""

    state: str
    figures: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """An item that was found.

    `number` is the one by which the shelf knows it. `states` are those that meet the question, `figures` those asked
    for that belong to the whole item. `excerpt` shows where the words stand, between `OPEN` and `CLOSE`. `risk` is the
    highest level found, "" where nothing was. `there` is false where the record is no longer where it was.
    """

    number: int
    path: Path
    title: str
    protection_class: str
    region: str
    kind: str
    status: str
    depth: str
    problem: str
    sentence: str
    risk: str = ""
    states: tuple[Place, ...] = ()
    figures: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    excerpt: str = ""
    there: bool = True

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            "number": self.number,
            "record": str(self.path),
            "title": self.title,
            "class": self.protection_class,
            "region": self.region,
            "kind": self.kind,
            "status": self.status,
            "depth": self.depth,
            "problem": self.problem,
            "risk": self.risk,
            "states": [{"state": one.state, "figures": dict(one.figures)} for one in self.states],
            "figures": dict(self.figures),
            "excerpt": self.excerpt.replace(OPEN, "").replace(CLOSE, ""),
            "there": self.there,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a question found: `total` items of `of` on the shelf, the first of them in `hits`.

    `unknown` counts the items that meet all else but of which a figure that was asked for is not known.
    """

    query: Query
    hits: tuple[Hit, ...]
    total: int
    of: int
    unknown: int = 0

    @property
    def sentence(self) -> str:
        """What was found, in one sentence."""
        told = f"{self.total} of {self.of} items."
        if self.unknown:
            told += f" Of {self.unknown} more that fit otherwise a figure asked for is not known."
        return told

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            **self.query.as_json(),
            "items": [hit.as_json() for hit in self.hits],
            "total": self.total,
            "of": self.of,
            "unknown": self.unknown,
            "sentence": self.sentence,
        }


def find(index: Path, query: Query = EVERYTHING, *, limit: int | None = 50) -> Found:
    """The items that meet a question, best first; `limit` is how many of them are told in full (None: all).

    They stand in the order of the first figure asked for, largest first (smallest first where it is asked to be under
    something); without one, those come first in whose titles the words stand, or often; without words, by title. Raises
    ShelfError where the index cannot be read, QueryError where the words are no words.
    """
    with reading(index) as connection:
        return find_in(connection, query, limit)


def find_in(connection: sqlite3.Connection, query: Query, limit: int | None = 50) -> Found:
    """As `find`, within a connection."""
    numbers, total = _numbered(connection, query, limit)
    (of,) = connection.execute("SELECT count(*) FROM item").fetchone()
    return Found(
        query=query,
        hits=_hits(connection, query, numbers),
        total=total,
        of=of,
        unknown=_unknown(connection, query),
    )


def numbers_in(connection: sqlite3.Connection, query: Query, limit: int | None = None) -> list[int]:
    """The numbers of the items that meet a question, in the order of `find`; the first `limit` of them."""
    return _numbered(connection, query, limit)[0]


def _numbered(connection: sqlite3.Connection, query: Query, limit: int | None) -> tuple[list[int], int]:
    """The numbers of the first items that meet a question, and how many meet it: both in one pass."""
    plan = _Plan.of(query)
    rows = connection.execute(
        f"SELECT item.id, count(*) OVER () FROM {plan.source} WHERE {plan.where}"
        f" ORDER BY {plan.order}, item.id LIMIT ?",
        (*plan.values, -1 if limit is None else limit),
    ).fetchall()
    if not rows and limit == 0:
        return [], number_of(connection, query)
    return [number for number, _ in rows], rows[0][1] if rows else 0


def number_of(connection: sqlite3.Connection, query: Query) -> int:
    """How many items meet a question."""
    plan = _Plan.of(query)
    (count,) = connection.execute(f"SELECT count(*) FROM {plan.source} WHERE {plan.where}", plan.values).fetchone()
    return int(count)


@dataclass(frozen=True, slots=True)
class _Plan:
    """The conditions as SQL: where from, which rows, and the values for its question marks."""

    source: str
    where: str
    order: str
    values: tuple[Any, ...]
    match: str

    @classmethod
    def of(cls, query: Query) -> _Plan:
        source, parts = "item", []
        joined: list[Any] = []
        values: list[Any] = []
        order = "item.title COLLATE NOCASE"
        match = " AND ".join(_matching(one) for one in query.words)
        if match:
            # CROSS: the word search comes first. Left to itself the library asks it again for every item.
            source = "words CROSS JOIN item ON item.id = words.rowid"
            order = "words.rank"
            parts.append("words MATCH ?")
            values.append(match)
        if query.figures:
            first = query.figures[0]
            column = f'{"item" if first.measure.of_item else "met"}."{first.measure.name}"'
            order = f"{column} {'ASC' if math.isinf(first.low) else 'DESC'}"
        if query.of_states:
            text, given = _states_meeting(query)
            source += f" {'CROSS ' if match else ''}JOIN ({text}) AS met ON met.item_id = item.id"
            joined += given
        for one in query.conditions:
            told = _one(one)
            if told is not None:
                parts.append(told[0])
                values += told[1]
        return cls(source, " AND ".join(parts) or "1", order, (*joined, *values), match)


def _states_meeting(query: Query) -> tuple[str, list[Any]]:
    """The items of which one state meets all figures of states, with the best of the first figure among such states."""
    first = query.of_states[0]
    best = "min" if math.isinf(first.low) else "max"
    text, values = _in_one_state(query.of_states)
    name = first.measure.name
    return f'SELECT item_id, {best}("{name}") AS "{name}" FROM state WHERE {text} GROUP BY item_id', values


def _matching(words: Words) -> str:
    """Words as the word search takes them: each a phrase between quotes, so that nothing in it is taken for a sign."""
    phrases = []
    for one in words.any_of:
        bare = one.removesuffix("*").replace('"', " ").replace("\0", " ").strip()
        if not re.search(r"\w", bare):
            raise QueryError(f"“{one}” holds no letter or digit that could be looked for.")
        phrases.append(f'"{bare}"*' if one.endswith("*") else f'"{bare}"')
    return f"({' OR '.join(phrases)})"


def _bounds(column: str, one: Within) -> tuple[str, list[float]]:
    told: list[str] = []
    values: list[float] = []
    if math.isfinite(one.low):
        told.append(f"{column} {'>=' if one.with_low else '>'} ?")
        values.append(one.low)
    if math.isfinite(one.high):
        told.append(f"{column} {'<=' if one.with_high else '<'} ?")
        values.append(one.high)
    return " AND ".join(told) or "1", values


def _in_one_state(wanted: Sequence[Within]) -> tuple[str, list[Any]]:
    """What a state has to meet."""
    told, values = [], []
    for one in wanted:
        bounds, given = _bounds(f'state."{one.measure.name}"', one)
        told.append(f'state."{one.measure.name}" IS NOT NULL AND {bounds}')
        values += given
    return " AND ".join(told), values


def _one(one: object) -> tuple[str, list[Any]] | None:
    """A condition on the item as a whole; None for those that are met otherwise."""
    if isinstance(one, Within):
        if not one.measure.of_item:
            return None
        bounds, values = _bounds(f'item."{one.measure.name}"', one)
        return f'item."{one.measure.name}" IS NOT NULL AND {bounds}', list(values)
    if isinstance(one, Words):
        return (
            ("item.id NOT IN (SELECT rowid FROM words WHERE words MATCH ?)", [_matching(one)]) if one.without else None
        )
    if isinstance(one, HasPart):
        return _part(one)
    if isinstance(one, HasGroup):
        inside = "item.id IN (SELECT item_id FROM formed WHERE name = ?)"
        # An item whose circuit could not be read is no item without the group.
        return (f"item.status = 'solved' AND NOT {inside}" if one.without else inside), [one.name]
    if isinstance(one, HasFinding):
        return _finding(one)
    if isinstance(one, Saw):
        return _saw(one)
    if isinstance(one, Is):
        return f"item.{one.field} = ?", [one.value]
    raise TypeError(f"{type(one).__name__} is no condition")


def _part(one: HasPart) -> tuple[str, list[Any]]:
    told: list[str] = ["1"]
    values: list[Any] = []
    if one.kind is not None:
        told.append("kind = ?")
        values.append(one.kind)
    if one.low is not None:
        told.append("value >= ?")
        values.append(one.low)
    if one.high is not None:
        told.append("value <= ?")
        values.append(one.high)
    if one.marking:
        told.append("instr(lower(marking), lower(?)) > 0")
        values.append(one.marking)
    inside = f"item.id IN (SELECT item_id FROM part WHERE {' AND '.join(told)})"
    listed = "item.id IN (SELECT item_id FROM part)"
    return (f"{listed} AND NOT {inside}" if one.without else inside), values


def _finding(one: HasFinding) -> tuple[str, list[Any]]:
    told: list[str] = []
    values: list[Any] = []
    if one.rule is not None:
        told.append("rule = ?")
        values.append(one.rule)
    if one.severity is not None:
        told.append("severity >= ?")
        values.append(one.severity)
    if one.levels:
        told.append(f"risk IN ({', '.join('?' * len(one.levels))})")
        values += one.levels
    rows = " AND ".join(told) or "1"
    if not one.without:
        return f"item.id IN (SELECT item_id FROM judged WHERE outcome = 'found' AND {rows})", values
    outcome = "1" if one.rule is not None else "outcome = 'found'"
    return f"item.sentence <> '' AND item.id NOT IN (SELECT item_id FROM judged WHERE {outcome} AND {rows})", values


def _saw(one: Saw) -> tuple[str, list[Any]]:
    if one.answer is None:
        return "item.id IN (SELECT item_id FROM look WHERE question = ? AND answer IS NULL)", [one.question]
    sign = "<>" if one.without else "="
    return f"item.id IN (SELECT item_id FROM look WHERE question = ? AND answer {sign} ?)", [one.question, one.answer]


def _unknown(connection: sqlite3.Connection, query: Query) -> int:
    """How many items meet all but the figures, and lack one of those figures altogether."""
    if not query.figures:
        return 0
    rest = _Plan.of(Query(conditions=tuple(one for one in query.conditions if not isinstance(one, Within))))
    lacking = " OR ".join(
        f'item."{one.name}" IS NULL'
        if one.of_item
        else f'item.id NOT IN (SELECT item_id FROM state WHERE "{one.name}" IS NOT NULL)'
        for one in dict.fromkeys(one.measure for one in query.figures)
    )
    (count,) = connection.execute(
        f"SELECT count(*) FROM {rest.source} WHERE {rest.where} AND ({lacking})", rest.values
    ).fetchone()
    return int(count)


def _hits(connection: sqlite3.Connection, query: Query, numbers: Sequence[int]) -> tuple[Hit, ...]:
    rows: dict[int, tuple[Any, ...]] = {}
    risks: dict[int, str] = {}
    excerpts: dict[int, str] = {}
    states = meeting_states(connection, query, numbers)
    whole: dict[int, dict[str, float]] = {}
    match = " AND ".join(_matching(one) for one in query.words)
    of_items = list(dict.fromkeys(one.measure.name for one in query.figures if one.measure.of_item))
    for batch in _batches(numbers):
        marks = ", ".join("?" * len(batch))
        for row in connection.execute(f"SELECT {_COLUMNS} FROM item WHERE id IN ({marks})", batch):
            rows[row[0]] = row[1:]
        for number, level in connection.execute(
            f"SELECT item_id, risk FROM judged WHERE outcome = 'found' AND item_id IN ({marks})", batch
        ):
            risks[number] = max(risks.get(number, level), level, key=rank)
        if match:
            snippet = f"snippet(words, -1, '{OPEN}', '{CLOSE}', ' … ', 14)"
            excerpts.update(
                connection.execute(
                    f"SELECT rowid, {snippet} FROM words WHERE words MATCH ? AND rowid IN ({marks})",
                    (match, *batch),
                )
            )
        if of_items:
            whole.update(_columns_of(connection, "item", "id", of_items, f"id IN ({marks})", batch))
    return tuple(
        _hit(number, rows[number], risks.get(number, ""), states.get(number, ()), whole.get(number, EMPTY),
             excerpts.get(number, ""))
        for number in numbers
    )  # fmt: skip


def meeting_states(
    connection: sqlite3.Connection, query: Query, numbers: Sequence[int]
) -> dict[int, tuple[Place, ...]]:
    """The states of some items that meet the figures asked for, by the item's number."""
    found: dict[int, tuple[Place, ...]] = {}
    if not query.of_states:
        return found
    text, values = _in_one_state(query.of_states)
    names = list(dict.fromkeys(one.measure.name for one in query.of_states))
    columns = ", ".join(f'"{name}"' for name in names)
    for batch in _batches(numbers):
        rows = connection.execute(
            f"SELECT item_id, name, {columns} FROM state WHERE {text} AND item_id IN ({', '.join('?' * len(batch))})"
            " ORDER BY item_id, place",
            (*values, *batch),
        )
        for number, state, *figures in rows:
            place = Place(state=state, figures=dict(zip(names, figures, strict=True)))
            found[number] = (*found.get(number, ()), place)
    return found


def _columns_of(
    connection: sqlite3.Connection,
    table: str,
    key: str,
    names: Sequence[str],
    where: str,
    values: Sequence[Any],
) -> dict[int, dict[str, float]]:
    """Figures by the item's number and their name, those that are not known left out."""
    columns = ", ".join(f'"{name}"' for name in names)
    return {
        number: {name: value for name, value in zip(names, figures, strict=True) if value is not None}
        for number, *figures in connection.execute(f"SELECT {key}, {columns} FROM {table} WHERE {where}", values)
    }


def _hit(
    number: int,
    row: tuple[Any, ...],
    risk: str,
    states: Iterable[Place],
    figures: Mapping[str, float],
    excerpt: str,
) -> Hit:
    path, status, problem, gone, depth, title, protection, region, kind, sentence = row
    # Looked for only now: a folder may have gone since the last run over the shelf.
    there = not gone and is_there(Path(path))
    return Hit(
        number=number, path=Path(path), title=title, protection_class=protection, region=region, kind=kind,
        status=status, depth=depth, problem=problem, sentence=sentence, risk=risk, states=tuple(states),
        figures=figures, excerpt=" ".join(excerpt.split()), there=there,
    )  # fmt: skip


def is_there(path: Path) -> bool:
    """Whether a record is where it was; one that may not be looked at counts as not there."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def rank(level: str) -> int:
    """How high a level of risk stands, the lowest at 0; below them all what is none."""
    return LEVELS.index(level) if level in LEVELS else -1


def _batches(numbers: Sequence[int]) -> Iterable[Sequence[int]]:
    for start in range(0, len(numbers), _BATCH):
        yield numbers[start : start + _BATCH]


def main_figures(index: Path, numbers: Sequence[int], names: Sequence[str]) -> dict[int, dict[str, float]]:
    """Figures [SI, as kept] of the first state of some items, and of the items as a whole, by number and name."""
    unknown = [name for name in names if name not in BY_NAME]
    if unknown:
        raise QueryError(f"“{unknown[0]}” is no figure that the shelf keeps.")
    with reading(index) as connection:
        return figures_in(connection, numbers, names)


def figures_in(
    connection: sqlite3.Connection, numbers: Sequence[int], names: Sequence[str]
) -> dict[int, dict[str, float]]:
    """As `main_figures`, within a connection."""
    of_items = [name for name in names if BY_NAME[name].of_item]
    of_states = [name for name in names if not BY_NAME[name].of_item]
    found: dict[int, dict[str, float]] = {}
    for batch in _batches(numbers):
        marks = ", ".join("?" * len(batch))
        for own, table, key, where in (
            (of_items, "item", "id", f"id IN ({marks})"),
            (of_states, "state", "item_id", f"place = 0 AND item_id IN ({marks})"),
        ):
            if own:
                for number, figures in _columns_of(connection, table, key, own, where, batch).items():
                    found.setdefault(number, {}).update(figures)
    return found


def meant(index: Path, said: str) -> Hit:
    """The one item that is meant by its number, its record's path, its title or words that fit it alone.

    Raises ShelfError where there is none, or where several fit: then it names them.
    """
    with reading(index) as connection:
        number = _meant(connection, said)
        if number is None:
            try:
                found = find_in(connection, Query(conditions=(Words(any_of=(said,)),)), 4)
            except QueryError:
                raise ShelfError(f"“{said}” names nothing on this shelf; see: lidoff shelf list") from None
            if found.total != 1:
                raise ShelfError(_which(said, found))
            return found.hits[0]
        return _hits(connection, EVERYTHING, [number])[0]


def _meant(connection: sqlite3.Connection, said: str) -> int | None:
    """By path, by number, or by title where that is one item's only."""
    path = Path(said).expanduser().absolute()
    told = "SELECT id FROM item WHERE "
    for where, values in (
        ("path IN (?, ?)", (str(path), str(path / FILE_NAME))),
        ("id = ?", (int(said) if said.isascii() and said.isdigit() and len(said) < 10 else -1,)),
        ("title = ? COLLATE NOCASE LIMIT 2", (said,)),
    ):
        rows = connection.execute(told + where, values).fetchall()
        if len(rows) == 1:
            return int(rows[0][0])
    return None


def _which(said: str, found: Found) -> str:
    if not found.total:
        return f"“{said}” names nothing on this shelf; see: lidoff shelf list"
    listed = "; ".join(f"{hit.number} {hit.title}" for hit in found.hits[:4])
    more = " and others" if found.total > 4 else ""
    return f"“{said}” fits {found.total} items on this shelf ({listed}{more}); name one by its number."
