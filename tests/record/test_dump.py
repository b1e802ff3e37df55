"""An item written out as text and read again is the same item."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.record.strategies import bare, items

from lidoff.quantity import UNITS, parse
from lidoff.record import Item, read_text
from lidoff.record.dump import dump
from lidoff.record.toml_text import quantity_text, share_text


@settings(max_examples=60)
@given(items())
def test_round_trip(item: Item) -> None:
    """Whatever a record may hold, writing it and reading it gives it back exactly."""
    text = dump(item)
    again = read_text(text, "item.toml")
    assert bare(again) == bare(item), text
    settled = dump(again)
    assert dump(read_text(settled, "item.toml")) == settled


@settings(max_examples=15)
@given(items())
def test_a_record_can_be_sent_to_another_process_and_hashed(item: Item) -> None:
    """Items are pickled for workers and hashed for caches."""
    again = pickle.loads(pickle.dumps(item))
    assert again == item
    assert hash(again) == hash(item)


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(sorted(UNITS)))
def test_text_of_a_value_reads_back_exactly(value: float, unit: str) -> None:
    """A value is written with its unit only where that loses nothing."""
    text = quantity_text(value, unit)
    assert parse(text, unit) == value


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (4700.0, "ohm", "4k7"),
        (0.4, "ohm", "R4"),
        (1240.0, "ohm", "1k24"),
        (3.3e-7, "F", "330n"),
        (230.0, "V", "230 V"),
        (0.02, "A", "20 mA"),
        (358.15, "K", "85 °C"),
        (0.0024, "kg/m", "2.4 g/m"),
        (0.0021, "m", "2.1 mm"),
        (1 / 3, "ohm", 1 / 3),
        (0.9, "", "0.9"),
    ],
)
def test_values_are_written_as_people_write_them(value: float, unit: str, text: str | float) -> None:
    """IEC 60062 letter codes and SI prefixes where they are exact, else the bare number."""
    assert quantity_text(value, unit) == text


def test_shares_are_written_as_percentages() -> None:
    """A share is written in percent where that is exact."""
    assert share_text(0.05) == "5 %"
    assert share_text(1 / 3) == 1 / 3


def test_reference_records_survive(reference: Path) -> None:
    """The reference circuits are the same after a round trip, without a warning."""
    for file in sorted(reference.glob("cycle/*.toml")):
        item = read_text(file.read_text(encoding="utf-8"), file)
        assert item.warnings == ()
        assert item.parts
        assert bare(read_text(dump(item), file)) == bare(item)
