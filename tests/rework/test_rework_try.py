"""What if: figures before and after one change, with the findings that appear and vanish."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.account.rework import judge
from lidoff.circuit import build
from lidoff.cycle import solve
from lidoff.demo.items import shipped
from lidoff.record import read_text
from lidoff.rework import ReworkError, attempt

GLOBE = Path("globe-lamp") / "item.toml"


def tried(*changes):
    return attempt(read_text(shipped("globe-lamp"), GLOBE), changes, judge, text=shipped("globe-lamp"))


def test_a_larger_resistor_vanishes_its_finding():
    found = tried("R3=4k7")
    assert dict(found.changes) == {"R3.value": 4700.0}
    assert "resistor-over-power" in {one.id for one in found.vanished}
    after = solve(build(read_text(found.record, GLOBE))).figures()
    assert found.after["input"]["power"] == pytest.approx(after["input"]["power"], rel=1e-9)
    assert found.before["input"]["power"] > 4.0 * found.after["input"]["power"]
    assert found.energy.saved == pytest.approx(found.energy.before - found.energy.after)  # over 1000 h, in kWh
    assert "R3 runs over its rating" in found.record  # the user's own verdict stays as it was written


def test_a_smaller_one_makes_findings_appear():
    found = tried("R3=220R")
    assert {one.id for one in found.appeared} & {"led-over-current", "rectifier-over-rating"}
    assert any(row.part == "LED1" and row.verdict == "over" for row in found.stress_after)


def test_any_key_can_be_tried_and_several_at_once():
    found = tried("VR1.taper=log", "supply.voltage=132 V", "LED1.series=26")
    assert dict(found.changes) == {"VR1.taper": "log", "supply.voltage": 132.0, "LED1.series": 26.0}
    item = read_text(found.record, GLOBE)
    assert item.part("LED1").values["series"] == 26.0
    assert item.part("VR1").values["taper"] == "log"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("R3", "has not the form"),
        ("R99=1k", "names no part"),
        ("R3=twelve", "R3.value"),
        ("R3=-5", "R3.value"),
        ("VR1.taper=square", "is not one of linear"),
        ("R3.colour=1", "names no part and key"),
    ],
)
def test_a_change_that_does_not_fit_says_what_would(change, says):
    with pytest.raises(ReworkError, match=says):
        tried(change)


def test_nothing_to_try_is_refused():
    with pytest.raises(ReworkError, match="Nothing is to be tried"):
        tried()
