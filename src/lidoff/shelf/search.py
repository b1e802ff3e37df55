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
    plan = _Plan.of(query)
    (of,) = connection.execute("SELECT count(*) FROM item").fetchone()
    order, values = _order(query)
    numbers = [
        number
        for (number,) in connection.execute(
            f"SELECT item.id FROM {plan.source} WHERE {plan.where} ORDER BY {order}, item.title, item.id",
            (*plan.values, *values),
        )
    ]
    shown = numbers if limit is None else numbers[:limit]
    return Found(
        query=query, hits=_hits(connection, query, plan, shown), total=len(numbers), of=of,
        unknown=_unknown(connection, query, len(numbers)),
    )  # fmt: skip


def _order(query: Query) -> tuple[str, tuple[Any, ...]]:
    if not query.figures:
        return ("words.rank" if query.words else "item.title COLLATE NOCASE"), ()
    first = query.figures[0]
    ranking, direction = ("min", "ASC") if math.isinf(first.low) else ("max", "DESC")
    bounds, values = _bounds("value", first)
    return (
        f"(SELECT {ranking}(value) FROM figure WHERE figure.item_id = item.id AND name = ? AND {bounds}) {direction}",
        (first.measure.name, *values),
    )


@dataclass(frozen=True, slots=True)
class _Plan:
    """The conditions as SQL: where from, which rows, and the values for its question marks."""

    source: str
    where: str
    values: tuple[Any, ...]
    match: str

    @classmethod
    def of(cls, query: Query) -> _Plan:
        parts: list[str] = []
        values: list[Any] = []
        match = " AND ".join(_matching(one) for one in query.words)
        if match:
            parts.append("words MATCH ?")
            values.append(match)
        if query.of_states:
            text, given = _in_one_state(query.of_states)
            parts.append(f"item.id IN (SELECT item_id FROM ({text}))")
            values += given
        for one in query.conditions:
            told = _one(one)
            if told is not None:
                parts.append(told[0])
                values += told[1]
        source = "words JOIN item ON item.id = words.rowid" if match else "item"
        return cls(source, " AND ".join(parts) or "1", tuple(values), match)


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
    """The states that meet all of it, as (state_id, item_id)."""
    text: list[str] = []
    values: list[Any] = []
    for one in wanted:
        bounds, given = _bounds("value", one)
        text.append(f"SELECT state_id, item_id FROM figure WHERE name = ? AND state_id IS NOT NULL AND {bounds}")
        values += [one.measure.name, *given]
    return " INTERSECT ".join(text), values


def _one(one: object) -> tuple[str, list[Any]] | None:
    """A condition on the item as a whole; None for those that are met otherwise."""
    if isinstance(one, Within):
        if not one.measure.of_item:
            return None
        bounds, values = _bounds("value", one)
        return f"item.id IN (SELECT item_id FROM figure WHERE name = ? AND {bounds})", [one.measure.name, *values]
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


def _unknown(connection: sqlite3.Connection, query: Query, met: int) -> int:
    """How many items meet all but the figures, and lack one of those figures altogether."""
    if not query.figures or (met and len(query.conditions) == len(query.figures) == 0):
        return 0
    rest = _Plan.of(Query(conditions=tuple(one for one in query.conditions if not isinstance(one, Within))))
    names = list(dict.fromkeys(one.measure.name for one in query.figures))
    lacking = " OR ".join(["item.id NOT IN (SELECT item_id FROM figure WHERE name = ?)"] * len(names))
    (count,) = connection.execute(
        f"SELECT count(*) FROM {rest.source} WHERE {rest.where} AND ({lacking})", (*rest.values, *names)
    ).fetchone()
    return int(count)


def _hits(connection: sqlite3.Connection, query: Query, plan: _Plan, numbers: Sequence[int]) -> tuple[Hit, ...]:
    rows: dict[int, tuple[Any, ...]] = {}
    risks: dict[int, str] = {}
    excerpts: dict[int, str] = {}
    states: dict[int, list[Place]] = {}
    whole: dict[int, dict[str, float]] = {}
    for batch in _batches(numbers):
        marks = ", ".join("?" * len(batch))
        for row in connection.execute(f"SELECT {_COLUMNS} FROM item WHERE id IN ({marks})", batch):
            rows[row[0]] = row[1:]
        for number, level in connection.execute(
            f"SELECT item_id, risk FROM judged WHERE outcome = 'found' AND item_id IN ({marks})", batch
        ):
            risks[number] = max(risks.get(number, level), level, key=LEVELS.index)
        if plan.match:
            snippet = f"snippet(words, -1, '{OPEN}', '{CLOSE}', ' … ', 14)"
            excerpts.update(
                connection.execute(
                    f"SELECT rowid, {snippet} FROM words WHERE words MATCH ? AND rowid IN ({marks})",
                    (plan.match, *batch),
                )
            )
        if query.of_states:
            _states(connection, query, batch, states)
        for one in query.figures:
            if one.measure.of_item:
                for number, value in connection.execute(
                    f"SELECT item_id, value FROM figure WHERE name = ? AND item_id IN ({marks})",
                    (one.measure.name, *batch),
                ):
                    whole.setdefault(number, {})[one.measure.name] = value
    return tuple(
        _hit(number, rows[number], risks.get(number, ""), states.get(number, ()), whole.get(number, EMPTY),
             excerpts.get(number, ""))
        for number in numbers
    )  # fmt: skip


def _states(connection: sqlite3.Connection, query: Query, batch: Sequence[int], found: dict[int, list[Place]]) -> None:
    text, values = _in_one_state(query.of_states)
    names = list(dict.fromkeys(one.measure.name for one in query.of_states))
    marks = ", ".join("?" * len(batch))
    rows = connection.execute(
        f"SELECT state.item_id, state.name, figure.name, figure.value FROM ({text}) AS met"
        f" JOIN state ON state.id = met.state_id JOIN figure ON figure.state_id = state.id"
        f" WHERE state.item_id IN ({marks}) AND figure.name IN ({', '.join('?' * len(names))})"
        f" ORDER BY state.item_id, state.place",
        (*values, *batch, *names),
    )
    gathered: dict[tuple[int, str], dict[str, float]] = {}
    for number, state, name, value in rows:
        gathered.setdefault((number, state), {})[name] = value
    for (number, state), figures in gathered.items():
        found.setdefault(number, []).append(Place(state=state, figures=figures))


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
    there = not gone and Path(path).exists()
    return Hit(
        number=number, path=Path(path), title=title, protection_class=protection, region=region, kind=kind,
        status=status, depth=depth, problem=problem, sentence=sentence, risk=risk, states=tuple(states),
        figures=figures, excerpt=" ".join(excerpt.split()), there=there,
    )  # fmt: skip


def _batches(numbers: Sequence[int]) -> Iterable[Sequence[int]]:
    for start in range(0, len(numbers), _BATCH):
        yield numbers[start : start + _BATCH]


def main_figures(index: Path, numbers: Sequence[int], names: Sequence[str]) -> dict[int, dict[str, float]]:
    """Figures [SI, as kept] of the first state of some items, and of the items as a whole, by number and name."""
    unknown = [name for name in names if name not in BY_NAME]
    if unknown:
        raise QueryError(f"“{unknown[0]}” is no figure that the shelf keeps.")
    found: dict[int, dict[str, float]] = {}
    with reading(index) as connection:
        for batch in _batches(numbers):
            for number, name, value in connection.execute(
                f"SELECT figure.item_id, figure.name, figure.value FROM figure"
                f" LEFT JOIN state ON state.id = figure.state_id"
                f" WHERE figure.item_id IN ({', '.join('?' * len(batch))})"
                f" AND figure.name IN ({', '.join('?' * len(names))}) AND coalesce(state.place, 0) = 0",
                (*batch, *names),
            ):
                found.setdefault(number, {})[name] = value
    return found


def meant(index: Path, said: str) -> Hit:
    """The one item that is meant by its number, its record's path, its title or words that fit it alone.

    Raises ShelfError where there is none, or where several fit: then it names them.
    """
    with reading(index) as connection:
        rows = connection.execute("SELECT id, path, title FROM item ORDER BY id").fetchall()
        number = _meant(rows, said)
        if number is None:
            try:
                found = find_in(connection, Query(conditions=(Words(any_of=(said,)),)), 4)
            except QueryError:
                raise ShelfError(f"“{said}” names nothing on this shelf; see: lidoff shelf list") from None
            if found.total != 1:
                raise ShelfError(_which(said, found))
            return found.hits[0]
        return _hits(connection, EVERYTHING, _Plan.of(EVERYTHING), [number])[0]


def _meant(rows: Sequence[tuple[int, str, str]], said: str) -> int | None:
    path = Path(said).expanduser().absolute()
    for number, where, _ in rows:
        if Path(where) == path or (Path(where).parent == path and Path(where).name == "item.toml"):
            return number
    if said.isdigit():
        return next((number for number, _, _ in rows if number == int(said)), None)
    named = [number for number, _, title in rows if title.casefold() == said.casefold()]
    return named[0] if len(named) == 1 else None


def _which(said: str, found: Found) -> str:
    if not found.total:
        return f"“{said}” names nothing on this shelf; see: lidoff shelf list"
    listed = "; ".join(f"{hit.number} {hit.title}" for hit in found.hits[:4])
    more = " and others" if found.total > 4 else ""
    return f"“{said}” fits {found.total} items on this shelf ({listed}{more}); name one by its number."
