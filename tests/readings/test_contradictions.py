"""Readings that contradict one another, and published examples that are wrong: each trap raises a finding."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.readings.records import CHARGER, HEATER, item_of, reading

import lidoff
from lidoff.readings import Judgement, judge

NO_CIRCUIT = {"parts": "", "states": ""}


def ids(judgement: Judgement) -> set[str]:
    return {one.id for one in judgement.contradictions}


def figures(folder: Path) -> dict[str, float]:
    found: dict[str, float] = lidoff.solve(item_of(folder), state="full").figures()["input"]
    return found


def verdicts(judgement: Judgement) -> list[str]:
    return [one.verdict for one in judgement.readings]


@pytest.mark.parametrize("wrong", ["power", "current", "power_factor", "apparent_power"])
def test_leaving_one_out_names_the_wrong_one(tmp_path: Path, wrong: str) -> None:
    """P = V I PF broken: the one whose leaving out mends it contradicts, the others are judged as they stand."""
    f = figures(tmp_path)
    values = {
        "power": f["power"],
        "current": f["current_rms"],
        "power_factor": f["power_factor"],
        "apparent_power": f["apparent_power"],
    }
    values[wrong] *= 0.6
    units = {"power": "W", "current": "A", "power_factor": "", "apparent_power": "VA"}
    judgement = judge(
        item_of(tmp_path, *(reading(name, f"{v:.5f} {units[name]}".strip()) for name, v in values.items()))
    )
    for name, one in zip(values, judgement.readings, strict=True):
        assert one.verdict == ("contradicts" if name == wrong else "agrees"), (name, one.why)
    assert "power-factor-mismatch" in ids(judgement) or "apparent-power-mismatch" in ids(judgement)


def test_not_mended_by_any_one(tmp_path: Path) -> None:
    """Readings that break P = V I PF do not agree where leaving out any single one does not mend it."""
    f = figures(tmp_path)
    item = item_of(
        tmp_path,
        reading("power", f"{1.6 * f['power']:.4f} W"),
        reading("current", f"{1.4 * f['current_rms']:.5f} A"),
        reading("power_factor", f"{0.7 * f['power_factor']:.4f}"),
    )
    judgement = judge(item)
    assert "agrees" not in verdicts(judgement)


def test_contradiction_needs_no_volts(tmp_path: Path) -> None:
    """Watts above volt-amperes contradict even where nobody read the volts."""
    item = item_of(tmp_path, reading("power", "15 W", state="unread"), reading("current", "40 mA", state="unread"))
    judgement = judge(item)
    assert "power-above-volt-amperes" in ids(judgement)
    assert "contradicts" in verdicts(judgement)
    assert "agrees" not in verdicts(judgement)


def test_readings_that_go_together_raise_nothing(tmp_path: Path) -> None:
    """Consistent readings raise no finding."""
    f = figures(tmp_path)
    item = item_of(
        tmp_path,
        reading("power", f"{f['power']:.2f} W"),
        reading("current", f"{f['current_rms']:.4f} A"),
        reading("power_factor", f"{f['power_factor']:.2f}"),
        reading("voltage", "240 V"),
    )
    judgement = judge(item)
    assert judgement.contradictions == ()
    assert set(verdicts(judgement)) == {"agrees"}


@pytest.mark.parametrize(
    ("readings", "id_"),
    [
        ((("power", "12.0 W"), ("apparent_power", "10.0 VA")), "power-above-volt-amperes"),
        ((("power_factor", "1.10"),), "power-factor-above-one"),
        ((("power_factor", "0.95"), ("displacement_factor", "0.80")), "power-factor-above-displacement"),
        ((("voltage", "230 V"), ("current", "1.00 A"), ("apparent_power", "400 VA")), "apparent-power-mismatch"),
        ((("current", "1.00 A"), ("current_peak", "0.50 A")), "peak-below-rms"),
        ((("current", "1.00 A"), ("current_peak", "1.00 A")), "peak-is-rms"),
        ((("voltage", "20.0 V"), ("voltage_dc", "30.0 V")), "mean-above-rms"),
        ((("voltage", "100.0 V"), ("voltage_dc", "60.0 V"), ("voltage_ac", "40.0 V")), "rms-mismatch"),
        ((("reactive_power", "9.0 var"), ("apparent_power", "10.0 VA"), ("power", "8.0 W")), "reactive-power-mismatch"),
        ((("crest_factor", "3.00"), ("current_peak", "2.00 A"), ("current", "1.00 A")), "crest-factor-mismatch"),
        ((("power", "-12 W"),), "negative-power"),
        ((("power", "10 W"), ("power", "14 W")), "read-twice"),
    ],
)
def test_relations(tmp_path: Path, readings: tuple[tuple[str, str], ...], id_: str) -> None:
    """Each definition, broken, is named with a sentence that holds the figures."""
    judgement = judge(item_of(tmp_path, *(reading(q, v, None, None) for q, v in readings), **NO_CIRCUIT))
    assert id_ in ids(judgement)
    found = next(one for one in judgement.contradictions if one.id == id_)
    assert found.what.endswith(".")
    assert len(found.readings) >= 1


def test_an_averaging_meter_explains_watts_above_volt_amperes(tmp_path: Path) -> None:
    """A current read 60 % low by an averaging meter makes watts exceed volt-amperes: explained, and nobody is wrong."""
    f = lidoff.solve(item_of(tmp_path, parts=CHARGER), state="full").figures()["input"]
    shown = judge(item_of(tmp_path, reading("current", "20 mA", "old meter"), parts=CHARGER)).readings[0].computed
    item = item_of(
        tmp_path,
        reading("power", f"{f['power']:.3f} W"),
        reading("current", f"{shown:.6f} A", "old meter"),
        parts=CHARGER,
    )
    judgement = judge(item)
    assert verdicts(judgement) == ["agrees", "agrees"]
    assert "The meter explains it" in judgement.contradictions[0].what


def test_wrong_volts_are_found(tmp_path: Path) -> None:
    """A mains voltage read 20 V too low makes all else contradict: the voltage is named, not the others."""
    f = lidoff.solve(item_of(tmp_path), state="unread", changes={"supply.voltage": 238.0}).figures()["input"]
    item = item_of(
        tmp_path,
        reading("voltage", "217 V", state="unread"),
        reading("power", f"{f['power']:.3f} W", state="unread"),
        reading("current", f"{f['current_rms']:.5f} A", state="unread"),
        reading("power_factor", f"{f['power_factor']:.3f}", state="unread"),
    )
    judgement = judge(item)
    assert judgement.readings[0].verdict == "contradicts"
    assert "contradicts" not in verdicts(judgement)[1:]


# Published examples that are wrong or inconsistent (traps X2 to X11 of the collection of worked examples) -----------

DIAC = """
[[part]]
ref = "R1"
kind = "resistor"
value = "{ohms}"
nodes = ["live", "t"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "{farads}"
nodes = ["t", "neutral"]
[[part]]
ref = "D1"
kind = "diac"
breakover = "{volts}"
breakback = "{volts_back}"
nodes = ["t", "neutral"]
"""


def test_x2_diac_charged_by_a_constant_voltage(tmp_path: Path) -> None:
    """56 kohm, 0.3 uF, 30 V, 230 V 50 Hz "fires at 30 deg" (emergingtechs.org, solved as if 325 V stood still).

    With the real sine 61.4 deg where the capacitor starts empty.
    """
    parts = DIAC.format(ohms="56k", farads="300n", volts="30 V", volts_back="29 V")
    states = '[[state]]\nname = "full"\nsupply = { voltage = "230 V", measured = true }\n'
    judgement = judge(item_of(tmp_path, reading("angle", "30 deg", None, at="D1"), parts=parts, states=states))
    (one,) = judgement.readings
    assert one.verdict == "contradicts"
    assert one.computed == pytest.approx(61.4, abs=4.0)


def test_x3_timing_worked_out_with_a_constant_voltage(tmp_path: Path) -> None:
    """47 kohm + 500 kohm, 0.1 uF, 32 V "for 90 deg" at 230 V (askfilo.com): the real sine does not fire there."""
    parts = DIAC.format(ohms="547k", farads="100n", volts="32 V", volts_back="31 V")
    states = '[[state]]\nname = "full"\nsupply = { voltage = "230 V", measured = true }\n'
    judgement = judge(item_of(tmp_path, reading("angle", "90 deg", None, at="D1"), parts=parts, states=states))
    (one,) = judgement.readings
    assert one.verdict == "contradicts" or "nothing fires" in one.why


def test_x5_volt_amperes_called_watts(tmp_path: Path) -> None:
    """A "no-load input of 1.92 W" at 120 V and 16 mA (AN954's design record) is 1.92 VA."""
    states = '[[state]]\nname = "full"\nsupply = { voltage = "120 V", measured = true }\n'
    item = item_of(tmp_path, reading("power", "1.92 W"), reading("current", "16 mA"), parts="", states=states)
    (found,) = judge(item).contradictions
    assert found.id == "watts-are-volt-amperes"
    assert "1.92 VA" in found.what


def test_a_heater_takes_watts(tmp_path: Path) -> None:
    """Where the circuit has a power factor of 1, volts times amperes are watts."""
    item = item_of(tmp_path, reading("power", "109 W"), reading("current", "0.454 A"), parts=HEATER)
    assert judge(item).contradictions == ()


def test_x8_ripple_as_a_swing(tmp_path: Path) -> None:
    """Ripple from least to most given as rms (about 3.4 times too much): named, with both figures."""
    solution = lidoff.solve(item_of(tmp_path, parts=CHARGER), state="full")
    rail = solution.voltage("p", "m")
    swing = float(rail.max() - rail.min())
    item = item_of(tmp_path, reading("voltage_ac", f"{swing:.3f} V", "hand meter", at=["p", "m"]), parts=CHARGER)
    (one,) = judge(item).readings
    assert one.verdict == "contradicts"
    assert "peak to peak" in one.why
    assert one.computed is not None
    assert swing / one.computed == pytest.approx(3.4, abs=0.3)


def test_x9_peak_of_a_kettle(tmp_path: Path) -> None:
    """8.84 A rms with a power factor of 1.000 and a "peak" of 1.28 times that (an open meter log, medians)."""
    item = item_of(
        tmp_path,
        '[[meter]]\nname = "logger"\nkind = "power-meter"\n'
        'accuracy = { current = "1 %", current_peak = "1 %", power_factor = "0.01" }\n',
        reading("current", "8.84 A", "logger", None),
        reading("current_peak", "11.32 A", "logger", None),
        reading("power_factor", "1.000", "logger", None),
        **NO_CIRCUIT,
    )
    judgement = judge(item)
    assert "crest-of-resistive-load" in ids(judgement)
    assert "1.28" in judgement.contradictions[0].what


def test_x11_a_slipped_digit(tmp_path: Path) -> None:
    """1110 V where 111 V is right (Grob, Ex 22_6, stored with 3000 for 300 V): a slipped digit is named."""
    parts = "\n".join(
        f'[[part]]\nref = "R{k}"\nkind = "resistor"\nvalue = "{ohms}"\nnodes = {nodes}\n'
        for k, ohms, nodes in ((1, "170k", '["live", "t"]'), (2, "100k", '["t", "neutral"]'))
    )
    states = '[[state]]\nname = "full"\nsupply = { voltage = "300 V", measured = true }\n'
    item = item_of(tmp_path, reading("voltage", "1110 V", "hand meter", at="R2"), parts=parts, states=states)
    (one,) = judge(item).readings
    assert one.verdict == "contradicts"
    assert "slipped digit" in one.why


@pytest.mark.parametrize(
    ("quantity", "unit", "of", "words"),
    [
        ("current", "A", lambda f: f["current_peak"], "the peak"),
        ("power", "W", lambda f: f["apparent_power"], "volt-amperes"),
        ("power_factor", "", lambda f: f["displacement_factor"], "displacement factor"),
        ("current_peak", "A", lambda f: f["current_rms"], "rms of everything"),
        ("thd", "", lambda f: 100.0 * f["thd"], "in percent"),
    ],
)
def test_what_a_misreading_is_instead(tmp_path: Path, quantity: str, unit: str, of: object, words: str) -> None:
    """A reading that is another figure of the same wave is told so."""
    f = lidoff.solve(item_of(tmp_path, parts=CHARGER), state="full").figures()["input"]
    value = of(f)  # type: ignore[operator]
    item = item_of(tmp_path, reading(quantity, f"{value:.5f} {unit}".strip()), parts=CHARGER)
    (one,) = judge(item).readings
    assert one.verdict == "contradicts"
    assert words in one.why
