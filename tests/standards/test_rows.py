"""Every number has its source, or it cannot be made."""

from __future__ import annotations

import pytest

from lidoff.standards import NoSuchRowError, Row, Table, UnknownDocumentError, document
from lidoff.standards.registry import TABLES, all_rows, table

GOOD = {
    "table": "t",
    "key": ("a",),
    "value": 1.0,
    "unit": "mm",
    "document": "IEC 60664-1",
    "edition": "2020",
    "clause": "Table F.2",
    "seen": "verified",
    "witness": "copy",
}


def test_every_row_of_every_table_carries_its_source() -> None:
    """Value, unit, document, edition, clause and how it was seen: walked, not sampled."""
    rows = list(all_rows())
    assert len(rows) > 1000
    for row in rows:
        assert row.unit, row
        assert row.clause, row
        assert row.seen in ("verified", "memory", "computed"), row
        assert (row.seen == "verified") == bool(row.witness), row
        assert row.edition in document(row.document).editions, row
        assert (row.unit == "text") == isinstance(row.value, str), row
        assert TABLES[row.table].row(*row.key) is row


@pytest.mark.parametrize(
    ("change", "error", "message"),
    [
        ({"document": "IEC 99999"}, UnknownDocumentError, "no document 'IEC 99999' is on the list"),
        ({"edition": "1812"}, ValueError, "has no edition '1812'"),
        ({"unit": ""}, ValueError, "needs a unit and a clause"),
        ({"clause": ""}, ValueError, "needs a unit and a clause"),
        ({"seen": "guessed"}, ValueError, "not of the known words"),
        ({"witness": ""}, ValueError, "a verified row names its witness"),
        ({"seen": "memory"}, ValueError, "a verified row names its witness"),
        ({"value": float("nan")}, ValueError, "is no limit"),
    ],
)
def test_a_row_without_its_source_cannot_be_made(change: dict, error: type, message: str) -> None:
    with pytest.raises(error, match=message):
        Row(**{**GOOD, **change})


def test_a_table_refuses_a_key_twice_or_of_the_wrong_length() -> None:
    row = Row(**GOOD)
    with pytest.raises(ValueError, match="stands twice or does not fit"):
        Table(id="t", title="t", keys=("k",), rows=(row, row))
    with pytest.raises(ValueError, match="stands twice or does not fit"):
        Table(id="t", title="t", keys=("k", "l"), rows=(row,))


def test_a_missing_row_or_table_is_named_with_what_there_is() -> None:
    with pytest.raises(NoSuchRowError, match=r"the table 'impulse' has no row \(50\.0, 'V'\); it has \(50\.0, 'I'\)"):
        table("impulse").row(50.0, "V")
    with pytest.raises(KeyError, match=r"no table 'impulses'; the tables are .*impulse"):
        table("impulses")


def test_the_basis_of_a_row_says_whether_it_was_read() -> None:
    assert table("impulse").row(300.0, "II").basis() == {
        "document": "IEC 60664-1",
        "edition": "2020",
        "clause": "Table F.1",
        "verified": True,
    }
    assert table("luminaire-distances").row("clearance basic", 250.0).basis()["verified"] is False


def test_words_are_not_taken_for_a_number() -> None:
    with pytest.raises(TypeError, match="holds words, not a number"):
        _ = table("risk-matrix").row(0.5, 1).number
