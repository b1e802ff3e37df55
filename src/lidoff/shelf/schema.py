"""The index's tables, version by version. A version once released is never changed: a new one is added at the end.

The index is made from the records and can be thrown away; it is brought up to date all the same, so that a collection
of thousands need not be worked out again for a new column.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

APPLICATION_ID: Final = 0x4C444F46
"""What marks the file as ours in its header: "LDOF"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Migration:
    """One step from the version before: its name, and the statements that make it."""

    name: str
    statements: tuple[str, ...]


_FIRST: Final = Migration(
    name="items with their figures, parts, groups, findings and answers",
    statements=(
        """
        CREATE TABLE item (
            id INTEGER PRIMARY KEY,
            path TEXT NOT NULL UNIQUE,
            status TEXT NOT NULL CHECK (status IN ('solved', 'unsolved', 'unreadable')),
            problem TEXT NOT NULL,
            gone INTEGER NOT NULL CHECK (gone IN (0, 1)),
            depth TEXT NOT NULL CHECK (depth IN ('none', 'quick', 'full')),
            made_with TEXT NOT NULL,
            fingerprint TEXT NOT NULL,
            stamp TEXT NOT NULL,
            title TEXT NOT NULL,
            class TEXT NOT NULL,
            region TEXT NOT NULL,
            kind TEXT NOT NULL,
            sentence TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX item_fingerprint ON item (fingerprint)",
        """
        CREATE TABLE state (
            id INTEGER PRIMARY KEY,
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            place INTEGER NOT NULL,
            name TEXT NOT NULL,
            UNIQUE (item_id, place)
        ) STRICT
        """,
        """
        CREATE TABLE figure (
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            state_id INTEGER REFERENCES state ON DELETE CASCADE,
            name TEXT NOT NULL,
            value REAL NOT NULL,
            low REAL,
            high REAL
        ) STRICT
        """,
        "CREATE INDEX figure_value ON figure (name, value, item_id, state_id)",
        "CREATE INDEX figure_item ON figure (item_id, name)",
        "CREATE INDEX figure_state ON figure (state_id, name, value)",
        """
        CREATE TABLE part (
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            ref TEXT NOT NULL,
            kind TEXT NOT NULL,
            marking TEXT NOT NULL,
            value REAL,
            shown TEXT NOT NULL,
            power REAL,
            times REAL
        ) STRICT
        """,
        "CREATE INDEX part_kind ON part (kind, value, item_id)",
        "CREATE INDEX part_item ON part (item_id)",
        """
        CREATE TABLE formed (
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            name TEXT NOT NULL,
            title TEXT NOT NULL,
            refs TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX formed_name ON formed (name, item_id)",
        "CREATE INDEX formed_item ON formed (item_id)",
        """
        CREATE TABLE judged (
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            rule TEXT NOT NULL,
            outcome TEXT NOT NULL CHECK (outcome IN ('found', 'undecided')),
            title TEXT NOT NULL,
            severity INTEGER,
            risk TEXT NOT NULL,
            because TEXT NOT NULL
        ) STRICT
        """,
        "CREATE INDEX judged_rule ON judged (rule, outcome, item_id)",
        "CREATE INDEX judged_item ON judged (item_id, outcome)",
        """
        CREATE TABLE look (
            item_id INTEGER NOT NULL REFERENCES item ON DELETE CASCADE,
            question TEXT NOT NULL,
            answer TEXT,
            PRIMARY KEY (question, item_id)
        ) STRICT, WITHOUT ROWID
        """,
        "CREATE INDEX look_item ON look (item_id)",
        """
        CREATE VIRTUAL TABLE words USING fts5 (
            title, parts, formed, findings, seen, notes,
            tokenize = "porter unicode61 remove_diacritics 2"
        )
        """,
        "INSERT INTO words (words, rank) VALUES ('rank', 'bm25(10.0, 3.0, 3.0, 2.0, 2.0, 1.0)')",
    ),
)

MIGRATIONS: Final[tuple[Migration, ...]] = (_FIRST,)
VERSION: Final = len(MIGRATIONS)
"""The version of the index that this program reads and writes."""

TABLES: Final = ("item", "state", "figure", "part", "formed", "judged", "look", "words")
