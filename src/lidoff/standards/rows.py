"""The form of a table taken from a document: every number carries where it stands and how it was seen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal, get_args

from lidoff.standards.documents import document

Seen = Literal["verified", "memory", "computed"]
"""verified: the number was read in a source; memory: recalled, read the document before it decides anything;
computed: arithmetic on rows that carry their own mark."""

Witness = Literal["", "text", "copy", "web"]
"""What was read: the document's own text or an official adoption of it; a table copied from it by a third party (a
maker's catalogue, data file, test report, committee mail); a general web page. Empty where nothing was read."""

Key = tuple[str | float, ...]
Value = float | str


class NoSuchRowError(KeyError):
    """A table has no row for what was asked; the message names the table and what it does have."""

    def __str__(self) -> str:
        """The message as it was written, without the quotes that KeyError puts round it."""
        return str(self.args[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One cell of a published table.

    `value` stands in `unit` ("1" for a plain number, "text" for words); `document` is an id of `documents.py` and
    `edition` one of its editions; `clause` names clause, table or figure; `note` says what a reader must know besides.
    Raises ValueError for an unknown document or edition, an empty unit or clause, a number that is not finite, or a
    "verified" row without a witness.
    """

    table: str
    key: Key
    value: Value
    unit: str
    document: str
    edition: str
    clause: str
    seen: Seen
    witness: Witness = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a number without its source."""
        place = f"{self.table} {self.key}"
        known = document(self.document)
        if self.edition not in known.editions:
            raise ValueError(f"{place}: {self.document} has no edition {self.edition!r}, only {known.editions}")
        if not self.unit or not self.clause:
            raise ValueError(f"{place}: a row needs a unit and a clause")
        if self.seen not in get_args(Seen) or self.witness not in get_args(Witness):
            raise ValueError(f"{place}: seen {self.seen!r} and witness {self.witness!r} are not of the known words")
        if (self.seen == "verified") != bool(self.witness):
            raise ValueError(f"{place}: a verified row names its witness, and only a verified row has one")
        if isinstance(self.value, float) and not math.isfinite(self.value):
            raise ValueError(f"{place}: {self.value} is no limit; leave the row out and say so in a note")

    @property
    def verified(self) -> bool:
        """Whether the number was read in a source, rather than remembered or computed."""
        return self.seen == "verified"

    @property
    def number(self) -> float:
        """The value as a number [its unit]. Raises TypeError where the row holds words."""
        if isinstance(self.value, str):
            raise TypeError(f"{self.table} {self.key} holds words, not a number")
        return self.value

    def basis(self) -> dict[str, Any]:
        """Document, edition, clause and whether it was read, in the form in which findings print it."""
        return {
            "document": self.document,
            "edition": self.edition,
            "clause": self.clause,
            "verified": self.verified,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A published table: rows in the order of the document, found by their key.

    `keys` names what each place of a key means, with its unit where it has one.
    """

    id: str
    title: str
    keys: tuple[str, ...]
    rows: tuple[Row, ...]
    _index: Mapping[Key, Row] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Index the rows; refuse a key that stands twice or has the wrong length."""
        index: dict[Key, Row] = {}
        for row in self.rows:
            if len(row.key) != len(self.keys) or row.key in index:
                raise ValueError(f"{self.id}: key {row.key} stands twice or does not fit {self.keys}")
            index[row.key] = row
        object.__setattr__(self, "_index", MappingProxyType(index))

    def get(self, *key: str | float) -> Row | None:
        """The row of that key, or None."""
        return self._index.get(key)

    def row(self, *key: str | float) -> Row:
        """The row of that key. Raises NoSuchRowError, which names the keys there are."""
        found = self._index.get(key)
        if found is None:
            known = ", ".join(str(row.key) for row in self.rows[:12])
            raise NoSuchRowError(f"the table {self.id!r} has no row {key}; it has {known}")
        return found

    def number(self, *key: str | float) -> float:
        """The number in the row of that key [the row's unit]. Raises NoSuchRowError."""
        return self.row(*key).number

    def axis(self, place: int) -> tuple[str | float, ...]:
        """The different values at that place of the keys, in the order of the document."""
        return tuple(dict.fromkeys(row.key[place] for row in self.rows))


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a run of rows comes from; `row` makes one of them, each with its own departures from the run."""

    table: str
    document: str
    edition: str
    clause: str
    unit: str
    seen: Seen
    witness: Witness = ""
    note: str = ""

    def row(self, *key: str | float, value: Value, **other: Any) -> Row:
        """A row of this source. `other` replaces unit, clause, seen, witness, note, edition or document.

        Setting `seen` to "memory" or "computed" drops the run's witness.
        """
        said: dict[str, Any] = {
            "document": self.document,
            "edition": self.edition,
            "clause": self.clause,
            "unit": self.unit,
            "seen": self.seen,
            "witness": self.witness,
            "note": self.note,
        }
        if other.get("seen", self.seen) != "verified":
            said["witness"] = ""
        said.update(other)
        return Row(table=self.table, key=key, value=value, **said)

    def grid(self, columns: Sequence[str | float], lines: Mapping[Any, Sequence[float | None]]) -> Iterable[Row]:
        """A row for each cell of a grid: key (line, column); a cell of None is a blank of the document."""
        for line, cells in lines.items():
            for column, cell in zip(columns, cells, strict=True):
                if cell is not None:
                    yield self.row(line, column, value=cell)
