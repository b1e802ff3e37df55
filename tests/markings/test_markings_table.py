"""The typed table of markings: every row must decode to what its source says."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from lidoff.markings import Candidate, decode

_TABLE = Path(__file__).parent.parent / "reference" / "markings" / "table.csv"


def _rows() -> list[dict[str, str]]:
    with _TABLE.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def _same(wanted: str, got: Any) -> bool:
    try:
        return float(wanted) == pytest.approx(float(got), rel=1e-6, abs=1e-12)
    except (TypeError, ValueError):
        return str(got) == wanted


def _agrees(row: dict[str, str], candidate: Candidate) -> bool:
    if candidate.kind != row["kind"]:
        return False
    # AWG areas are printed to three figures in the tables; everything else is exact.
    width = 2e-3 if row["kind"] == "cord" else 1e-6
    if row["value"] and candidate.value != pytest.approx(float(row["value"]), rel=width):
        return False
    if row["tolerance"] and candidate.tolerance != pytest.approx(float(row["tolerance"]), rel=1e-5):
        return False
    told = dict(pair.split("=") for pair in row["more"].split(";") if pair)
    return all(_same(value, candidate.more.get(key)) for key, value in told.items())


@pytest.mark.parametrize("row", _rows(), ids=lambda row: f"{row['marking']}-{row['ask']}-{row['kind']}-{row['place']}")
def test_a_typed_row_decodes_to_what_its_source_says(row: dict[str, str]) -> None:
    """Rows placed "first" must be the best candidate, rows placed "listed" must be among them."""
    candidates = decode(row["marking"], kind=row["ask"] or None).candidates
    considered = candidates[:1] if row["place"] == "first" else candidates
    assert any(_agrees(row, candidate) for candidate in considered), [c.text for c in candidates]


def test_the_table_is_large_and_names_its_sources() -> None:
    """At least 150 rows, each with a source and whether it was seen; most were."""
    rows = _rows()
    assert len(rows) >= 150
    assert all(row["source"] and row["how"] in ("seen", "from memory") for row in rows)
    assert sum(row["how"] == "seen" for row in rows) >= 150
    assert {row["place"] for row in rows} == {"first", "listed"}


def test_each_reference_file_has_its_source() -> None:
    """A file without an entry in SOURCE is not a reference."""
    listed = (_TABLE.parent / "SOURCE").read_text(encoding="utf-8")
    for path in _TABLE.parent.iterdir():
        if path.name != "SOURCE":
            assert f"{path.name} | " in listed
