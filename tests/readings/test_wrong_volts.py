"""A mains voltage that was read plainly wrong, while values are being inferred; what waits for volts nobody read."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.readings.records import STRIP, UNREAD, item_of, reading

import lidoff
from lidoff.readings import Judgement, judge

ONE = STRIP.replace('forward_voltage = "2.9 V"', 'forward_voltage = "?"\nbetween = ["2.5 V", "3.3 V"]')
# Better than a plug-in meter: there such an error drowns in the limits.
ANALYSER = """
[[meter]]
name = "analyser"
kind = "power-meter"
accuracy = { power = "0.3 %", current = "0.3 %", power_factor = "0.005", voltage = "0.3 %" }
"""
TRUE = 238.0


def judged(folder: Path, volts: float, parts: str = ONE, light: float = 2.9) -> Judgement:
    """Readings at 238 V in one state, with the volts written as given."""
    changes = {"supply.voltage": TRUE, "LED1.forward_voltage": light}
    f = lidoff.solve(item_of(folder, parts=STRIP), state="unread", changes=changes).figures()
    led = f["parts"]["LED1"]
    return judge(
        item_of(
            folder,
            ANALYSER,
            reading("voltage", f"{volts:.2f} V", "analyser", "unread"),
            reading("power", f"{f['input']['power']:.4f} W", "analyser", "unread"),
            reading("current", f"{f['input']['current_rms']:.6f} A", "analyser", "unread"),
            reading("power_factor", f"{f['input']['power_factor']:.4f}", "analyser", "unread"),
            reading("voltage_dc", f"{led['voltage_mean']:.3f} V", "hand meter", "unread", at="LED1"),
            parts=parts,
            states=UNREAD,
        )
    )


@pytest.mark.parametrize("volts", [222.0, 228.0, 247.0])
def test_the_volts_are_named_while_a_value_is_inferred(tmp_path: Path, volts: float) -> None:
    """The volts contradict, the others are judged without them, and the value is held (round trip by the solver)."""
    judgement = judged(tmp_path, volts)
    assert judgement.suspect == 0
    assert judgement.readings[0].verdict == "contradicts"
    assert [one.verdict for one in judgement.readings[1:]] == ["agrees"] * 4
    assert "at about 238 V" in judgement.readings[0].why
    assert all("Judged without the" in one.why for one in judgement.readings[1:])
    (value,) = judgement.inferred
    assert value.low95 <= 2.9 <= value.high95
    assert any(one.quantity == "voltage" for one in judgement.next)


def test_volts_that_are_right_are_taken_at_their_word(tmp_path: Path) -> None:
    """Nothing is doubted where everything fits."""
    judgement = judged(tmp_path, TRUE)
    assert judgement.suspect is None
    assert [one.verdict for one in judgement.readings] == ["agrees"] * 5
    assert not any("Judged without" in one.why for one in judgement.readings)


def test_another_wrong_reading_leaves_the_volts_alone(tmp_path: Path) -> None:
    """Where the power is the one that is wrong, opening the mains does not put it on the volts."""
    f = lidoff.solve(item_of(tmp_path, parts=STRIP), state="unread", changes={"supply.voltage": TRUE}).figures()
    led = f["parts"]["LED1"]
    judgement = judge(
        item_of(
            tmp_path,
            ANALYSER,
            reading("voltage", f"{TRUE:.2f} V", "analyser", "unread"),
            reading("power", f"{0.8 * f['input']['power']:.4f} W", "analyser", "unread"),
            reading("current", f"{f['input']['current_rms']:.6f} A", "analyser", "unread"),
            reading("power_factor", f"{f['input']['power_factor']:.4f}", "analyser", "unread"),
            reading("voltage_dc", f"{led['voltage_mean']:.3f} V", "hand meter", "unread", at="LED1"),
            parts=ONE,
            states=UNREAD,
        )
    )
    assert judgement.suspect == 1
    assert judgement.readings[1].verdict == "contradicts"
    assert judgement.readings[0].verdict != "contradicts"


def test_what_waits_for_volts_is_not_narrowed_by_itself(tmp_path: Path) -> None:
    """The interval of a power at unread volts is what circuit, parts and mains say, whatever the power reads."""
    bench = '[[state]]\nname = "bench"\nsupply = { voltage = "240 V", measured = true }\n'
    led = lidoff.solve(item_of(tmp_path, states=UNREAD + bench), state="bench").figures()["parts"]["LED1"]
    found = []
    for power in ("9.0 W", "10.5 W"):
        item = item_of(
            tmp_path,
            reading("power", power, state="unread"),
            reading("current_dc", f"{led['current_mean']:.6f} A", "hand meter", "bench", at="LED1"),
            reading("voltage_dc", f"{led['voltage_mean']:.3f} V", "hand meter", "bench", at="LED1"),
            parts=ONE.replace('tolerance = "5 %"', ""),
            states=UNREAD + bench,
        )
        found.append(judge(item).readings[0])
    assert [one.verdict for one in found] == ["cannot-tell"] * 2
    first, second = found
    assert first.computed == pytest.approx(second.computed, rel=0.01)
    assert first.low95 == pytest.approx(second.low95, rel=0.02)
    assert first.high95 == pytest.approx(second.high95, rel=0.02)
    ends = [
        lidoff.solve(item_of(tmp_path), state="unread", changes={"supply.voltage": volts}).figures()["input"]["power"]
        for volts in (230.0 - 0.95 * 23.0, 230.0 + 0.95 * 23.0)
    ]
    assert first.low95 is not None
    assert first.high95 is not None
    assert first.low95 == pytest.approx(ends[0], rel=0.08)
    assert first.high95 == pytest.approx(ends[1], rel=0.08)


def test_without_any_other_reading_the_whole_range_is_left(tmp_path: Path) -> None:
    """One power at unread volts and one unknown: its interval spans the unknown's range and the mains' together."""
    (one,) = judge(item_of(tmp_path, reading("power", "10 W", state="unread"), parts=ONE, states=UNREAD)).readings
    solve = lidoff.solve
    item = item_of(tmp_path)
    low, high = (
        solve(item, state="unread", changes={"supply.voltage": v, "LED1.forward_voltage": led}).figures()["input"][
            "power"
        ]
        for v, led in ((230.0, 3.25), (230.0, 2.55))
    )
    assert one.verdict == "cannot-tell"
    assert one.low95 is not None
    assert one.high95 is not None
    assert one.low95 < low
    assert one.high95 > high
