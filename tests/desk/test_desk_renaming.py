"""Parts and nodes under another name: everywhere, with nothing else of the record changed."""

from __future__ import annotations

import pytest

from lidoff.demo import NAMES, shipped
from lidoff.desk.edits import changed
from lidoff.desk.renaming import RenamingError, renamed_node, renamed_part
from lidoff.record import read_text

TEXT = """lidoff = 1
# a comment that stays
[[block]]
name = "section"
repeat = 3
nodes = ["p", "m"]
[[part]]
ref = "R1"  # and this one
kind = "resistor"
value = "1k"
block = "section"
nodes = ["in", "out"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "p"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "1u"
nodes = ["m", "neutral"]
[[state]]
name = "one"
set = { R1 = { value = "2k" }, C1 = { value = "2u" } }
remove = ["C1"]
[[state]]
name = "two"
supply = { dc = "5 V", nodes = ["p", "m"] }
[[reading]]
quantity = "voltage"
value = "3 V"
at = ["p", "m"]
[[reading]]
quantity = "resistance"
value = "1k"
at = "R1"
[[surface]]
name = "lid"
node = "m"
[[gap]]
between = ["live", "m"]
"""


def test_a_part_is_renamed_in_states_and_readings():
    item = read_text(renamed_part(TEXT, "R1", "R9"), "x")
    assert item.part("R9") is not None
    assert item.part("section/R1") is not None
    assert set(item.states[0].set) == {"R9", "C1"}
    assert item.readings[1].at == "R9"
    text = renamed_part(TEXT, "C1", "C7")
    assert read_text(text, "x").states[0].remove == ("C7",)
    assert "# a comment that stays" in text


def test_a_member_of_a_block_keeps_its_block():
    item = read_text(renamed_part(TEXT, "section/R1", "R5"), "x")
    assert [part.name for part in item.parts] == ["section/R5", "R1", "C1"]


@pytest.mark.parametrize(("old", "new"), [("R1", "C1"), ("R8", "R9"), ("R1", "section/R9")])
def test_a_name_that_is_taken_or_not_there_is_refused(old: str, new: str):
    with pytest.raises(RenamingError):
        renamed_part(TEXT, old, new)


def test_a_node_is_renamed_everywhere():
    item = read_text(renamed_node(TEXT, "m", "minus"), "x")
    assert item.blocks[0].nodes == ("p", "minus")
    assert item.part("C1").nodes == {"1": "minus", "2": "neutral"}  # type: ignore[union-attr]
    assert item.states[1].supply.nodes == ("p", "minus")  # type: ignore[union-attr]
    assert item.readings[0].at == ("p", "minus")
    assert item.surfaces[0]["node"] == "minus"
    assert tuple(item.gaps[0]["between"]) == ("live", "minus")


@pytest.mark.parametrize("name", NAMES)
def test_renaming_there_and_back_gives_the_record_again(name: str):
    before = shipped(name)
    ref = read_text(before, "x").parts[0].name
    there = changed(before, [{"do": "rename", "what": "part", "from": ref, "to": "XX99"}])
    assert there != before
    assert changed(there, [{"do": "rename", "what": "part", "from": "XX99", "to": ref.rpartition("/")[2]}]) == before
    node = changed(before, [{"do": "rename", "what": "node", "from": "p", "to": "quite-another"}])
    assert changed(node, [{"do": "rename", "what": "node", "from": "quite-another", "to": "p"}]) == before
