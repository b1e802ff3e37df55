"""Items side by side: figures, groups, parts, findings and what was seen, with the differences marked."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from lidoff.kinds import KINDS
from lidoff.shelf.errors import ShelfError
from lidoff.shelf.measures import MEASURES
from lidoff.shelf.query import group_words
from lidoff.shelf.search import Hit, figures_in, meant
from lidoff.shelf.store import reading

Section = Literal["item", "figures", "groups", "parts", "findings", "seen"]
SECTIONS: Final[Mapping[Section, str]] = {
    "item": "The item",
    "figures": "Figures of the first state",
    "groups": "What the parts form",
    "parts": "Parts",
    "findings": "Findings",
    "seen": "What was seen",
}
MOST: Final = 6
"""Items that are shown side by side at most."""
_APART: Final = 0.05  # share by which figures without a range have to lie apart to count as different (our choice)
_MISSING: Final = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line: what is compared, how it stands with each item ("–" where it is not known), and whether it differs."""

    section: Section
    name: str
    shown: tuple[str, ...]
    differs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Items side by side."""

    items: tuple[Hit, ...]
    rows: tuple[Row, ...]

    @property
    def differences(self) -> tuple[Row, ...]:
        """The lines in which the items differ."""
        return tuple(row for row in self.rows if row.differs)

    @property
    def sentence(self) -> str:
        """How much of it differs, in one sentence."""
        return f"{len(self.differences)} of {len(self.rows)} lines differ."

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            "items": [hit.as_json() for hit in self.items],
            "rows": [
                {"section": row.section, "name": row.name, "shown": list(row.shown), "differs": row.differs}
                for row in self.rows
            ],
            "sentence": self.sentence,
        }


def compare(index: Path, items: Sequence[str]) -> Comparison:
    """Two to six items side by side, each meant as `meant` takes it.

    Figures differ where their ranges do not meet; where a range is not known, where they lie more than 5 % of the
    larger apart. What is not known of one item differs from nothing. Raises ShelfError where an item is not found.
    """
    hits = tuple(meant(index, said) for said in items)
    if not 2 <= len({hit.number for hit in hits}) <= MOST or len({hit.number for hit in hits}) != len(hits):
        raise ShelfError(f"name two to {MOST} different items to be compared.")
    numbers = [hit.number for hit in hits]
    with reading(index) as connection:
        rows = [
            *_heads(hits),
            *_figures(connection, numbers),
            *_sets(
                connection,
                numbers,
                "groups",
                "SELECT item_id, name, 'yes' FROM formed",
                _absent(hits),
            ),
            *_parts(connection, numbers),
            *_sets(
                connection,
                numbers,
                "findings",
                "SELECT item_id, title, CASE outcome WHEN 'found' THEN risk ELSE 'undecided' END FROM judged",
                lambda place: "–" if not hits[place].sentence else "not found",
            ),
            *_looks(connection, numbers),
        ]
    return Comparison(items=hits, rows=tuple(rows))


def _absent(hits: Sequence[Hit]) -> Callable[[int], str]:
    return lambda place: "no" if hits[place].status == "solved" else _MISSING


def _row(section: Section, name: str, shown: Sequence[str]) -> Row:
    told = [one for one in shown if one != _MISSING]
    return Row(section=section, name=name, shown=tuple(shown), differs=len(set(told)) > 1)


def _heads(hits: Sequence[Hit]) -> list[Row]:
    heads: tuple[tuple[str, Callable[[Hit], str]], ...] = (
        ("kind", lambda hit: hit.kind),
        ("protection class", lambda hit: hit.protection_class.replace("?", "")),
        ("region", lambda hit: hit.region),
        ("highest risk found", lambda hit: hit.risk or ("nothing found" if hit.sentence else "")),
    )
    return [_row("item", name, [get(hit) or _MISSING for hit in hits]) for name, get in heads]


def _figures(connection: sqlite3.Connection, numbers: Sequence[int]) -> list[Row]:
    found: dict[tuple[int, str], tuple[float, float | None, float | None]] = {}
    spans = {
        (number, name): (low, high)
        for number, name, low, high in connection.execute(
            "SELECT state.item_id, span.name, low, high FROM state JOIN span ON span.state_id = state.id"
            f" WHERE state.place = 0 AND state.item_id IN ({_marks(numbers)})",
            numbers,
        )
    }
    for number, figures in figures_in(connection, numbers, [one.name for one in MEASURES]).items():
        for name, value in figures.items():
            found[number, name] = (value, *spans.get((number, name), (None, None)))
    rows = []
    for one in MEASURES:
        told = [found.get((number, one.name)) for number in numbers]
        there = [figure for figure in told if figure is not None]
        if there:
            rows.append(
                Row(
                    section="figures",
                    name=one.title,
                    shown=tuple(_MISSING if figure is None else one.shown(figure[0]) for figure in told),
                    differs=_apart(there),
                )
            )
    return rows


def _apart(figures: Sequence[tuple[float, float | None, float | None]]) -> bool:
    """Whether any two of them are different."""
    for place, (value, low, high) in enumerate(figures):
        for other, other_low, other_high in figures[place + 1 :]:
            if None not in (low, high, other_low, other_high):
                if high < other_low or other_high < low:  # type: ignore[operator]
                    return True
            elif abs(value - other) > _APART * max(abs(value), abs(other)):
                return True
    return False


def _sets(
    connection: sqlite3.Connection,
    numbers: Sequence[int],
    section: Section,
    select: str,
    absent: Callable[[int], str],
) -> list[Row]:
    found: dict[str, dict[int, str]] = {}
    for number, name, word in connection.execute(
        f"SELECT * FROM ({select}) WHERE item_id IN ({_marks(numbers)})", numbers
    ):
        found.setdefault(name, {}).setdefault(number, word)
    return [
        _row(
            section,
            group_words(name) if section == "groups" else name,
            [of.get(number, absent(place)) for place, number in enumerate(numbers)],
        )
        for name, of in found.items()
    ]


def _parts(connection: sqlite3.Connection, numbers: Sequence[int]) -> list[Row]:
    """Kind by kind: the values, each with how often it is there."""
    found: dict[str, dict[int, Counter[str]]] = {}
    for number, kind, shown, marking in connection.execute(
        f"SELECT item_id, kind, shown, marking FROM part WHERE item_id IN ({_marks(numbers)}) ORDER BY kind, value",
        numbers,
    ):
        found.setdefault(kind, {}).setdefault(number, Counter())[shown or marking or "value not known"] += 1
    listed = {number for of in found.values() for number in of}
    return [
        _row(
            "parts",
            KINDS[kind].title if kind in KINDS else kind,
            [_counted(of.get(number), number in listed) for number in numbers],
        )
        for kind, of in found.items()
    ]


def _counted(values: Counter[str] | None, listed: bool) -> str:
    if values is None:
        return "none" if listed else _MISSING
    return ", ".join(value if times == 1 else f"{times} × {value}" for value, times in values.items())


def _looks(connection: sqlite3.Connection, numbers: Sequence[int]) -> list[Row]:
    found: dict[str, dict[int, str]] = {}
    for number, question, answer in connection.execute(
        f"SELECT item_id, question, answer FROM look WHERE answer IS NOT NULL AND item_id IN ({_marks(numbers)})",
        numbers,
    ):
        found.setdefault(question, {})[number] = answer
    return [_row("seen", question, [of.get(number, _MISSING) for number in numbers]) for question, of in found.items()]


def _marks(numbers: Sequence[int]) -> str:
    return ", ".join("?" * len(numbers))
