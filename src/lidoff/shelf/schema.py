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

# The figures of the second version, as they were then: a later one is added by a later migration.
_OF_STATES: Final = (
    "input.power",
    "input.current_rms",
    "input.current_peak",
    "input.apparent_power",
    "input.power_factor",
    "input.displacement_factor",
    "input.crest_factor",
    "input.thd",
    "light.percent_flicker",
    "light.flicker_index",
    "light.svm",
    "light.pst_lm",
    "light.frequency",
    "light.mean_current",
    "supply.voltage_rms",
    "stress.times",
)
_OF_ITEMS: Final = (
    "rated.power",
    "rated.voltage",
    "rated.current",
    "pins.after_1s",
    "knob.dead_travel",
    "switch_on.peak",
)


def _columns(table: str, names: tuple[str, ...], rows: str) -> tuple[str, ...]:
    """The statements that give a table a column for each figure and fill it from the table of figures."""
    added = tuple(f'ALTER TABLE {table} ADD COLUMN "{name}" REAL' for name in names)
    filled = tuple(
        f"UPDATE {table} SET \"{name}\" = (SELECT value FROM figure WHERE {rows} AND name = '{name}')" for name in names
    )
    return added + filled


_COLUMNS: Final = Migration(
    # One row a state, so that several figures of one state are compared in one look: on 10,000 items in milliseconds,
    # where rows of figures took seconds.
    name="figures as columns of their state and item",
    statements=(
        *_columns("state", _OF_STATES, "figure.state_id = state.id"),
        *_columns("item", _OF_ITEMS, "figure.item_id = item.id AND figure.state_id IS NULL"),
        """
        CREATE TABLE span (
            state_id INTEGER NOT NULL REFERENCES state ON DELETE CASCADE,
            name TEXT NOT NULL,
            low REAL NOT NULL,
            high REAL NOT NULL,
            PRIMARY KEY (state_id, name)
        ) STRICT, WITHOUT ROWID
        """,
        """
        INSERT INTO span SELECT state_id, name, low, high FROM figure
        WHERE state_id IS NOT NULL AND low IS NOT NULL AND high IS NOT NULL
        """,
        "DROP TABLE figure",
        # A word in the title outweighs one that stands ten times among the findings.
        "INSERT INTO words (words, rank) VALUES ('rank', 'bm25(60.0, 3.0, 3.0, 2.0, 2.0, 1.0)')",
        "CREATE INDEX item_title ON item (title COLLATE NOCASE, id)",
        "CREATE INDEX judged_risk ON judged (risk, severity, item_id) WHERE outcome = 'found'",
    ),
)

MIGRATIONS: Final[tuple[Migration, ...]] = (_FIRST, _COLUMNS)
VERSION: Final = len(MIGRATIONS)
"""The version of the index that this program reads and writes."""

TABLES: Final = ("item", "state", "span", "part", "formed", "judged", "look", "words")
