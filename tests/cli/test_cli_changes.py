"""REF.KEY=VALUE against a record."""

from __future__ import annotations

from pathlib import Path

import pytest

import lidoff
from lidoff.cli.changes import ChangeError, full_name, parse_changes, parse_value

RECORD = """
lidoff = 1
[[part]]
ref = "S1"
kind = "switch"
nodes = ["live", "a"]
[[part]]
ref = "VR1"
kind = "potentiometer"
value = "500k"
taper = "log"
nodes = { a = "a", wiper = "b" }
[[block]]
name = "section"
repeat = 3
nodes = ["b", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
block = "section"
nodes = ["in", "out"]
"""


@pytest.fixture
def item(tmp_path: Path) -> object:
    file = tmp_path / "item.toml"
    file.write_text(RECORD)
    return lidoff.open(file)


def test_values_of_every_sort(item) -> None:
    assert parse_changes(
        item, ["S1.closed=false", "VR1.taper=linear", "VR1.position=0.25", "section/R1.value=4k7", "section.repeat=5"]
    ) == {
        "S1.closed": False,
        "VR1.taper": "linear",
        "VR1.position": 0.25,
        "section/R1.value": 4700.0,
        "section.repeat": 5.0,
    }


def test_a_member_may_be_named_without_its_block(item) -> None:
    assert full_name(item, "R1.value") == "section/R1.value"
    assert parse_changes(item, ["R1.value = 4k7"]) == {"section/R1.value": 4700.0}


@pytest.mark.parametrize(
    ("name", "text", "match"),
    [
        ("S1.closed", "ajar", "neither true nor false"),
        ("VR1.taper", "bent", "linear, log, reverse-log"),
        ("VR1.position", "1.5", "at most 1"),
        ("section.repeat", "2.5", "whole number"),
        ("section.rows", "2", 'block has no "rows"'),
        ("VR2.position", "0", 'nearest known: "VR1"'),
    ],
)
def test_what_does_not_fit_is_explained(item, name: str, text: str, match: str) -> None:
    with pytest.raises(ChangeError, match=match):
        parse_value(item, name, text)
