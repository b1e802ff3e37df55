"""What to measure next: the gain, the order, the cautions, and what is never proposed."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from tests.readings.records import CHARGER, MEASURED, STRIP, UNREAD, item_of, reading

import lidoff
from lidoff.readings import judge
from lidoff.readings.advice import Target, gain_of

UNKNOWN = STRIP.replace('value = "1k5"\ntolerance = "5 %"', 'value = "?"\nbetween = ["500R", "5k"]').replace(
    'forward_voltage = "2.9 V"', 'forward_voltage = "?"\nbetween = ["2.5 V", "3.3 V"]'
)


def test_gain_is_that_of_a_linear_update() -> None:
    """One unknown of uncertainty s read with uncertainty t: 1 - t/sqrt(s² + t²) (JCGM 100 backwards)."""
    s, t = 2.0, 0.5
    gain = gain_of([Target(slope=np.array([1.0]))], np.array([[s * s]]), np.array([1.0]), t)
    assert gain == pytest.approx(1.0 - t / np.hypot(s, t))


def test_gain_of_a_reading_that_says_nothing() -> None:
    """A reading that does not answer the unknown brings nothing."""
    assert gain_of([Target(slope=np.array([1.0, 0.0]))], np.eye(2), np.array([0.0, 1.0]), 0.1) == pytest.approx(0.0)


def test_the_part_itself_out_of_circuit_goes_first(tmp_path: Path) -> None:
    """Two unknowns that one power reading cannot tell apart: measuring one of them dead comes before anything live."""
    item = item_of(tmp_path, reading("power", "10 W"), parts=UNKNOWN, states=MEASURED)
    proposals = judge(item).next
    assert proposals[0].quantity in ("resistance", "voltage_dc")
    assert proposals[0].at in ("R1", "LED1")
    assert proposals[0].gain > 0.2
    assert "nplug" in proposals[0].caution
    assert all(0.0 <= one.gain <= 1.0 for one in proposals)


@pytest.mark.parametrize("parts", [STRIP, CHARGER, UNKNOWN])
def test_never_proposed(tmp_path: Path, parts: str) -> None:
    """No scope on a mains board, no ohms on a live one, no meter's current jacks in a mains lead, no two hands."""
    states = MEASURED + UNREAD
    taken = (reading("power", "10 W"), reading("current", "40 mA", state="unread"))
    item = item_of(tmp_path, *taken, parts=parts, states=states)
    proposals = judge(item).next
    assert proposals
    for one in proposals:
        how = one.how.lower()
        assert "scope" not in how
        assert one.caution
        if one.quantity in ("resistance", "capacitance", "diode_test"):
            assert one.state is None
            assert "unplug" in one.caution.lower()
            assert "discharge" in one.caution.lower()
        if one.quantity.startswith("current"):
            assert one.at == "input"
            assert "plug-in power meter" in one.caution
    assert "safe" not in json.dumps([one.as_json() for one in proposals]).lower()


def test_volts_of_each_state_that_wants_them(tmp_path: Path) -> None:
    """Each state with a power and without volts is proposed, before all else."""
    states = MEASURED + UNREAD + UNREAD.replace("unread", "unread too")
    item = item_of(
        tmp_path, reading("power", "9 W", state="unread"), reading("power", "9 W", state="unread too"), states=states
    )
    proposals = judge(item).next
    assert [(one.quantity, one.state) for one in proposals[:2]] == [("voltage", "unread"), ("voltage", "unread too")]
    assert "plug-in power meter" in proposals[0].caution


def test_what_was_read_is_not_proposed_again(tmp_path: Path) -> None:
    """A reading that stands in the record and fits is not asked for."""
    item = item_of(tmp_path, reading("power_factor", "0.91", state="unread"), reading("power", "8 W", state="unread"))
    assert ("power_factor", "unread") not in {(one.quantity, one.state) for one in judge(item).next}


def test_a_doubted_reading_is_read_once_more(tmp_path: Path) -> None:
    """What contradicts is proposed to be read again, with what that would bring."""
    proposals = judge(item_of(tmp_path, reading("power", "20 W"))).next
    assert any(one.quantity == "power" and "once more" in one.how for one in proposals)


def test_the_expected_gain_comes_true(tmp_path: Path) -> None:
    """Taking the proposed reading narrows the unknown by about what was promised."""
    parts = STRIP.replace('forward_voltage = "2.9 V"', 'forward_voltage = "?"\nbetween = ["2.5 V", "3.3 V"]')
    item = item_of(tmp_path, reading("power", "10.0 W"), parts=parts, states=MEASURED)
    before = judge(item)
    proposal = next(one for one in before.next if one.quantity == "power_factor")
    (value,) = before.inferred
    factor = lidoff.solve(item, state="full", changes={"LED1.forward_voltage": value.median}).figures()["input"]
    after = judge(
        item_of(
            tmp_path,
            reading("power", "10.0 W"),
            reading("power_factor", f"{factor['power_factor']:.4f}"),
            parts=parts,
            states=MEASURED,
        )
    )
    narrowed = (after.inferred[0].high95 - after.inferred[0].low95) / (value.high95 - value.low95)
    assert 1.0 - narrowed == pytest.approx(proposal.gain, abs=0.12)


@pytest.mark.parametrize(
    ("quantity", "value", "at", "again"),
    [
        ("current", "90 mA", "R1", False),
        ("voltage_dc", "150 V", ["p", "m"], True),
        ("power", "9 W", "R1", False),
    ],
)
def test_amperes_inside_a_live_item_are_not_asked_for_again(
    tmp_path: Path, quantity: str, value: str, at: object, again: bool
) -> None:
    """A doubted reading inside the item on the mains: volts with clips perhaps, amperes never."""
    judgement = judge(item_of(tmp_path, reading(quantity, value, "hand meter", at=at)))
    assert judgement.readings[0].verdict == "contradicts"
    found = [one for one in judgement.next if "once more" in one.how]
    assert bool(found) == again
    assert all("isolating transformer" in one.caution for one in found)
