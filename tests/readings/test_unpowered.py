"""Ohms, capacitance and diode test on the dead board, parallel paths included."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.readings.records import MEASURED, STRIP, item_of, reading

from lidoff.readings import Judged, judge

TWO = """
[[part]]
ref = "R1"
kind = "resistor"
value = "10k"
nodes = ["live", "t"]
[[part]]
ref = "R2"
kind = "resistor"
value = "20k"
nodes = ["t", "neutral"]
[[part]]
ref = "R3"
kind = "resistor"
value = "30k"
nodes = ["live", "neutral"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "100n"
nodes = ["live", "neutral"]
[[part]]
ref = "C2"
kind = "capacitor"
value = "220n"
nodes = ["live", "neutral"]
"""


def only(folder: Path, *pieces: str, parts: str = TWO) -> Judged:
    (judged,) = judge(item_of(folder, *pieces, parts=parts, states=MEASURED)).readings
    return judged


@pytest.mark.parametrize(
    ("at", "ohms"), [("R1", 10e3 * 50e3 / 60e3), ("R2", 20e3 * 40e3 / 60e3), ("R3", 15e3), (["live", "neutral"], 15e3)]
)
def test_ohms_with_what_lies_parallel(tmp_path: Path, at: object, ohms: float) -> None:
    """A triangle of 10, 20 and 30 kohm: each beside the other two in series (closed form)."""
    judged = only(tmp_path, reading("resistance", f"{ohms:.1f}", "hand meter", at=at))
    assert judged.computed == pytest.approx(ohms, rel=1e-3)
    assert judged.verdict == "agrees"


def test_ohms_at_the_plug(tmp_path: Path) -> None:
    """At the input the meter sees what lies between the plug's pins."""
    assert only(tmp_path, reading("resistance", "15k", "hand meter")).computed == pytest.approx(15e3, rel=1e-3)


def test_a_lifted_leg_is_recognised(tmp_path: Path) -> None:
    """The part's own value fits as with one leg lifted, and the sentence gives what it would be in circuit."""
    judged = only(tmp_path, reading("resistance", "10k", "hand meter", at="R1"))
    assert judged.verdict == "agrees"
    assert "one leg lifted" in judged.why
    assert "8.33 kΩ" in judged.why


def test_neither_in_circuit_nor_alone(tmp_path: Path) -> None:
    """A value that is neither contradicts."""
    assert only(tmp_path, reading("resistance", "5k", "hand meter", at="R1")).verdict == "contradicts"


def test_capacitances_add(tmp_path: Path) -> None:
    """Two capacitors side by side read as their sum (closed form)."""
    judged = only(tmp_path, reading("capacitance", "320 nF", "hand meter", at="C1"))
    assert judged.computed == pytest.approx(320e-9, rel=0.01)


def test_mains_does_not_matter(tmp_path: Path) -> None:
    """A reading on the dead board needs no volts, whatever the state."""
    item = item_of(tmp_path, reading("resistance", "1.5k", "hand meter", "unread", at="R1"))
    (judged,) = judge(item).readings
    assert judged.verdict == "agrees"


def test_diode_test_sees_a_junction(tmp_path: Path) -> None:
    """A silicon diode at a milliampere: 0.93 V - 50 mV ln(1 A / 1 mA) = 0.585 V at the law's own slope."""
    parts = '[[part]]\nref = "D1"\nkind = "diode"\nnodes = { anode = "live", cathode = "neutral" }\n'
    judged = only(tmp_path, reading("diode_test", "0.585 V", "hand meter", at="D1"), parts=parts)
    assert judged.computed == pytest.approx(0.585, abs=0.01)
    assert judged.verdict == "agrees"


def test_a_string_is_open_to_a_diode_test(tmp_path: Path) -> None:
    """Seventy LEDs in a row conduct nothing at three volts: the meter shows an open circuit, and that is said."""
    judged = only(tmp_path, reading("diode_test", "1.8 V", "hand meter", at="LED1"), parts=STRIP)
    assert judged.verdict == "cannot-tell"
    assert "open circuit" in judged.why


def test_a_lamp_is_measured_cold(tmp_path: Path) -> None:
    """A 60 W 240 V filament has 960 ohm hot and a tenth of that cold (the record's cold ratio)."""
    parts = '[[part]]\nref = "LA1"\nkind = "lamp"\npower = "60 W"\nvoltage = "240 V"\nnodes = ["live", "neutral"]\n'
    judged = only(tmp_path, reading("resistance", "96R", "hand meter", at="LA1"), parts=parts)
    assert judged.computed == pytest.approx(96.0, rel=1e-3)


def test_leads_count(tmp_path: Path) -> None:
    """The resistance of the leads is part of what an ohmmeter shows."""
    meters = '[[meter]]\nname = "long leads"\nkind = "multimeter-true-rms"\n'
    meters += 'accuracy = { resistance = "1 %" }\nlead_resistance = "0R5"\n'
    parts = '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "2R2"\nnodes = ["live", "neutral"]\n'
    judged = only(tmp_path, meters, reading("resistance", "2R7", "long leads", at="R1"), parts=parts)
    assert judged.computed == pytest.approx(2.7, rel=1e-3)
