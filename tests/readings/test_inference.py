"""Values inferred from readings: coverage, width, correlation, several answers, none, and one wrong reading."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tests.readings.made_up import exact_width, made_up, made_up_of_more
from tests.readings.records import MEASURED, STRIP, UNREAD, item_of, reading

import lidoff
from lidoff.readings import Judgement, judge
from lidoff.readings.posterior import inferred_of, quantiles

ONE = STRIP.replace('forward_voltage = "2.9 V"', 'forward_voltage = "?"\nbetween = ["2.5 V", "3.3 V"]')
TWO = ONE.replace('value = "1k5"\ntolerance = "5 %"', 'value = "?"\nbetween = ["500R", "5k"]')


def coverage(unknowns: int, items: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Share of items whose 95 % interval holds the truth, by unknown, and widths over the exact posterior's."""
    random = np.random.default_rng(seed)
    held = np.zeros(unknowns)
    ratios = []
    for _ in range(items):
        item = made_up(random, unknowns) if unknowns <= 2 else made_up_of_more(random, unknowns)
        posterior = item.posterior()
        widths = []
        for k in range(unknowns):
            low, high = quantiles(posterior.points[:, k], posterior.weights, (0.025, 0.975))
            held[k] += low <= item.truth[k] <= high
            widths.append(high - low)
        exact = exact_width(item) if len(ratios) < 30 else None
        if exact is not None:
            ratios.append(np.array(widths) / exact)
    return held / items, np.array(ratios)


@pytest.mark.parametrize(("unknowns", "items", "seed"), [(1, 120, 3), (2, 80, 4)])
def test_coverage_and_width_of_a_tenth(unknowns: int, items: int, seed: int) -> None:
    """The 95 % interval holds the truth in 95 % of random items within the sampling error, and is not too wide.

    The exact posterior is taken by brute force over all inputs (rectangular meter errors, uniform priors).
    """
    held, ratios = coverage(unknowns, items, seed)
    error = math.sqrt(0.95 * 0.05 / items)
    assert (np.abs(held - 0.95) <= 3.0 * error).all(), held
    assert len(ratios) >= 15
    assert np.median(ratios) <= 1.06
    assert np.quantile(ratios, 0.95) <= 1.2


@pytest.mark.soak
@pytest.mark.parametrize(("unknowns", "items", "seed"), [(1, 1200, 13), (2, 800, 14)])
def test_coverage_of_two_thousand(unknowns: int, items: int, seed: int) -> None:
    """The same over 2,000 items."""
    held, ratios = coverage(unknowns, items, seed)
    assert (np.abs(held - 0.95) <= 2.5 * math.sqrt(0.95 * 0.05 / items)).all(), held
    assert np.quantile(ratios, 0.95) <= 1.2


def test_coverage_of_three_unknowns() -> None:
    """Three unknowns, a crowd of points: held within the sampling error, and no wider than the exact posterior's."""
    held, ratios = coverage(3, 40, 2)
    assert (np.abs(held - 0.95) <= 3.0 * math.sqrt(0.95 * 0.05 / 40)).all(), held
    assert len(ratios) >= 10
    assert np.median(ratios) <= 1.06


@pytest.mark.soak
@pytest.mark.parametrize(("unknowns", "items", "seed"), [(3, 400, 2), (4, 200, 3)])
def test_coverage_of_hundreds_with_more_unknowns(unknowns: int, items: int, seed: int) -> None:
    """The same over hundreds of items of three and four unknowns."""
    held, _ = coverage(unknowns, items, seed)
    assert (np.abs(held - 0.95) <= 2.5 * math.sqrt(0.95 * 0.05 / items)).all(), held


def simulated(folder: Path, parts: str, truth: dict[str, float], random: np.random.Generator) -> Judgement:
    """Readings of the strip in two states with simulated meters, judged with the truth taken out."""
    given = item_of(folder, parts=parts)
    pieces = []
    accuracy = {
        "power": (0.01, 0.2, "power"),
        "current": (0.01, 1e-3, "current_rms"),
        "power_factor": (0.0, 0.02, "power_factor"),
    }
    for quantity, (share, floor, key) in accuracy.items():
        true = lidoff.solve(given, state="full", changes=truth).figures()["input"][key]
        shown = true + (share * true + floor) * random.uniform(-1.0, 1.0)
        unit = {"power": "W", "current": "A", "power_factor": ""}[quantity]
        pieces.append(reading(quantity, f"{shown:.6f} {unit}".strip()))
    return judge(item_of(folder, *pieces, parts=parts))


def test_round_trip_through_the_solver(tmp_path: Path) -> None:
    """Choose a value, solve, read it with simulated meters, infer it back: held in nearly all of twelve runs."""
    random = np.random.default_rng(8)
    held = 0
    for _ in range(12):
        truth = float(random.uniform(2.6, 3.2))
        (one,) = simulated(tmp_path, ONE, {"LED1.forward_voltage": truth}, random).inferred
        assert one.key == "LED1.forward_voltage"
        assert one.unit == "V"
        assert one.high95 - one.low95 < 0.25
        held += one.low95 <= truth <= one.high95
    assert held >= 10


def test_two_unknowns_with_their_correlation(tmp_path: Path) -> None:
    """String voltage and resistor from power, current and power factor: both held, and said to go together."""
    random = np.random.default_rng(5)
    truth = {"R1.value": 1700.0, "LED1.forward_voltage": 2.8}
    judgement = simulated(tmp_path, TWO, truth, random)
    by_key = {one.key: one for one in judgement.inferred}
    for key, value in truth.items():
        assert by_key[key].low95 <= value <= by_key[key].high95
    assert by_key["R1.value"].correlation["LED1.forward_voltage"] < -0.8
    assert judgement.joint is not None
    assert judgement.joint.keys == ("R1.value", "LED1.forward_voltage")
    assert max(max(row) for row in judgement.joint.density) == 1.0


def test_states_are_taken_together(tmp_path: Path) -> None:
    """A second state narrows what one state leaves open."""
    f = {s: lidoff.solve(item_of(tmp_path), state="full", changes={"supply.voltage": v}).figures()["input"]
         for s, v in (("full", 240.0), ("low", 215.0))}  # fmt: skip
    states = MEASURED + MEASURED.replace("full", "low").replace("240", "215")
    one = [reading("power", f"{f['full']['power']:.3f} W")]
    both = [*one, reading("power", f"{f['low']['power']:.3f} W", state="low")]
    widths = []
    for pieces in (one, both):
        found = {x.key: x for x in judge(item_of(tmp_path, *pieces, parts=TWO, states=states)).inferred}
        widths.append(found["LED1.forward_voltage"].high95 - found["LED1.forward_voltage"].low95)
    assert widths[1] < 0.9 * widths[0]


def test_one_wrong_reading_is_pointed_at(tmp_path: Path) -> None:
    """With one of four readings 40 % off, the value is still held and that reading contradicts."""
    true = lidoff.solve(item_of(tmp_path), state="full").figures()["input"]
    parts = lidoff.solve(item_of(tmp_path), state="full").figures()["parts"]
    item = item_of(
        tmp_path,
        reading("power", f"{true['power']:.3f} W"),
        reading("current", f"{0.6 * true['current_rms']:.5f} A"),
        reading("current_dc", f"{parts['LED1']['current_mean']:.5f} A", "hand meter", at="LED1"),
        reading("voltage_dc", f"{parts['LED1']['voltage_mean']:.3f} V", "hand meter", at="LED1"),
        parts=ONE,
        states=MEASURED,
    )
    judgement = judge(item)
    assert judgement.suspect == 1
    assert judgement.readings[1].verdict == "contradicts"
    assert [one.verdict for k, one in enumerate(judgement.readings) if k != 1] == ["agrees"] * 3
    (value,) = judgement.inferred
    assert value.low95 <= 2.9 <= value.high95


def test_two_answers_are_said(tmp_path: Path) -> None:
    """P = V² R/(R + R0)² has the same power at R and at R0²/R: both are named (maximum power transfer)."""
    parts = """
[[part]]
ref = "R0"
kind = "resistor"
value = "1k"
nodes = ["live", "t"]
[[part]]
ref = "R1"
kind = "resistor"
value = "?"
between = ["50R", "20k"]
nodes = ["t", "neutral"]
"""
    power = 240.0**2 * 300.0 / 1300.0**2
    item = item_of(tmp_path, reading("power", f"{power:.3f} W", at="R1"), parts=parts, states=MEASURED)
    (one,) = judge(item).inferred
    assert len(one.modes) == 2
    # dP/P = (R0 - R)/(R0 + R) dR/R: the meter's 3 % and the 2 % of the mains leave either value open by a tenth.
    assert sorted(value for value, _ in one.modes) == pytest.approx([300.0, 1e6 / 300.0], rel=0.1)
    assert "Separate values" in one.note


def test_no_bound_is_said(tmp_path: Path) -> None:
    """A smoothing capacitor that is large enough leaves no trace in the rail's mean: no bound above."""
    parts = """
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" }
[[part]]
ref = "C1"
kind = "capacitor"
value = "?"
nodes = ["p", "m"]
[[part]]
ref = "R1"
kind = "resistor"
value = "47k"
nodes = ["p", "m"]
"""
    item = item_of(
        tmp_path, reading("voltage_dc", "337.5 V", "hand meter", at=["p", "m"]), parts=parts, states=MEASURED
    )
    (one,) = judge(item).inferred
    assert one.open_high
    assert not one.open_low
    assert one.high95 == pytest.approx(one.searched[1])
    assert "above" in one.note
    assert "was searched" in one.note


def test_an_unknown_that_no_reading_touches(tmp_path: Path) -> None:
    """Said in one sentence; its range stays as it was."""
    parts = STRIP + '[[part]]\nref = "C9"\nkind = "capacitor"\nvalue = "?"\nnodes = ["live", "neutral"]\n'
    states = MEASURED + '[[state]]\nname = "bench"\nremove = ["C9"]\nsupply = { voltage = "240 V", measured = true }\n'
    item = item_of(tmp_path, reading("power", "9 W", state="bench"), parts=parts, states=states)
    judgement = judge(item)
    assert judgement.readings[0].computed is not None
    assert any("C9" in sentence for sentence in judgement.warnings) or any(
        one.key == "C9.value" and not one.touched for one in judgement.inferred
    )


def test_mains_to_be_inferred(tmp_path: Path) -> None:
    """A supply voltage written "?" is inferred from the power of a known heater: V = sqrt(P R) (closed form)."""
    parts = '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "529R"\nnodes = ["live", "neutral"]\n'
    states = '[[state]]\nname = "full"\nsupply = { voltage = "?" }\n'
    item = item_of(tmp_path, reading("power", "108.0 W"), parts=parts, states=states)
    (one,) = judge(item).inferred
    assert (one.key, one.state) == ("supply.voltage", "full")
    assert one.median == pytest.approx(math.sqrt(108.0 * 529.0), rel=0.005)


def test_a_whole_number_stays_whole(tmp_path: Path) -> None:
    """A count of LEDs is inferred in whole LEDs."""
    parts = STRIP.replace("series = 72", 'series = "?"\nbetween = [60, 84]')
    item = item_of(
        tmp_path,
        reading("voltage_dc", "217.2 V", "hand meter", at=["p", "m"]),
        reading("power", "9.75 W"),
        parts=parts,
        states=MEASURED,
    )
    (one,) = judge(item).inferred
    for value in (one.low95, one.median, one.high95):
        assert value == int(value)
    assert one.low95 <= 72 <= one.high95


def test_three_unknowns(tmp_path: Path) -> None:
    """Three unknowns, a crowd of points: all three held, and the answer the same every time."""
    more = '[[part]]\nref = "R9"\nkind = "resistor"\nvalue = "?"\nbetween = ["5k", "500k"]\n'
    parts = f'{TWO}{more}nodes = ["live", "neutral"]\n'
    truth = {"R1.value": 1500.0, "LED1.forward_voltage": 2.9, "R9.value": 47e3}
    given = item_of(tmp_path, parts=parts, states=MEASURED)
    solved = lidoff.solve(given, state="full", changes=truth).figures()
    pieces = [
        reading("power", f"{solved['input']['power']:.3f} W"),
        reading("current_dc", f"{solved['parts']['LED1']['current_mean']:.6f} A", "hand meter", at="LED1"),
        reading("voltage_dc", f"{solved['parts']['LED1']['voltage_mean']:.3f} V", "hand meter", at="LED1"),
        reading("current", f"{solved['parts']['R9']['current_rms']:.6f} A", "hand meter", at="R9"),
    ]
    item = item_of(tmp_path, *pieces, parts=parts, states=MEASURED)
    first, again = judge(item), judge(item)
    assert first.inferred == again.inferred
    for one in first.inferred:
        assert one.low95 <= truth[one.key] <= one.high95, one


def test_nothing_explains_the_readings(tmp_path: Path) -> None:
    """Where no value in the range explains them, that is said."""
    item = item_of(
        tmp_path,
        reading("power", "25 W"),
        reading("current", "20 mA"),
        reading("voltage_dc", "90 V", "hand meter", at="LED1"),
        parts=ONE,
        states=MEASURED,
    )
    judgement = judge(item)
    assert "agrees" not in {one.verdict for one in judgement.readings}


def test_tolerances_are_narrowed(tmp_path: Path) -> None:
    """A power reading better than the parts' tolerance narrows the mains of that state or the parts."""
    f = lidoff.solve(item_of(tmp_path), state="unread").figures()["input"]
    item = item_of(
        tmp_path,
        reading("voltage_dc", "208.9 V", "hand meter", "full", at=["p", "m"]),
        reading("power", f"{f['power']:.3f} W", state="unread"),
        parts=ONE,
        states=MEASURED + UNREAD,
    )
    narrowed = {(one.key, one.state) for one in judge(item).narrowed}
    assert ("supply.voltage", "unread") in narrowed


def test_inferred_of_keeps_the_median_inside() -> None:
    """Median and interval are in order whatever the item."""
    random = np.random.default_rng(2)
    for unknowns in (1, 2):
        item = made_up(random, unknowns)
        for one in inferred_of(item.posterior(), [True] * unknowns):
            assert one.searched[0] <= one.low95 <= one.median <= one.high95 <= one.searched[1]
