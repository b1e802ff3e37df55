"""The invented items teach what they are meant to teach: solved, not asserted in their comments.

The figures of the items are invented, so nothing here comes from outside but the definitions named beside a check. Each
reading was made by choosing hidden true values, solving the circuit with them and passing the result through the
accuracy of the meter; `TRUTH` holds those values, and the tests run the same way again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import lidoff
from lidoff.circuit import build, with_values
from lidoff.cycle import Solution, solve
from lidoff.demo import NAMES, write_items
from lidoff.record import Item, Unknown, check
from lidoff.studies import stress, turn, vary

TRUTH: Mapping[str, Mapping[str, Mapping[str, float]]] = {
    "globe-lamp": {
        "knob full up": {"LED1.forward_voltage": 2.88, "R3.value": 1006.0, "supply.voltage": 124.3},
        "knob a quarter up": {"LED1.forward_voltage": 2.88, "R3.value": 1006.0, "supply.voltage": 124.1},
        "rods on the bench supply": {"LED1.forward_voltage": 2.88},
    },
    "night-light": {"plugged in": {"C1.value": 221e-9, "LED1.forward_voltage": 3.03, "supply.voltage": 236.2}},
    "lamp-charger": {"charging": {"U1.power": 6.5, "C2.value": 6.4e-6, "supply.voltage": 242.3}},
}


@pytest.fixture(scope="module")
def items(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Item]:
    folder = tmp_path_factory.mktemp("demo")
    write_items(folder)
    return {name: lidoff.open(folder / name) for name in NAMES}


def truly(item: Item, name: str, state: str) -> Solution:
    return solve(with_values(build(item, state), dict(TRUTH[name][state])))


def value(solution: Solution, quantity: str, at: Any) -> float:
    """What an ideal true-rms meter shows."""
    if at != "input":
        return float(solution.part_figures(at)["voltage_mean"])
    figures: dict[str, Any] = {**solution.input_figures(), "percent_flicker": 0.0}
    if quantity == "percent_flicker":
        light = solution.light_figures()
        assert light is not None
        return float(light["percent_flicker"])
    if quantity == "voltage":
        return float(figures["voltage_rms"])
    return float(figures[{"current": "current_rms"}.get(quantity, quantity)])


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_record_reads_without_a_word(name: str, items: Mapping[str, Item]) -> None:
    result = check(items[name].path)
    assert result.ok
    assert result.problems == ()


@pytest.mark.parametrize("name", NAMES)
def test_every_item_has_markings_readings_sightings_and_parts_whose_marking_stands_in(
    name: str, items: Mapping[str, Item]
) -> None:
    item = items[name]
    assert item.readings
    assert item.sightings
    assert item.plug
    marked = [part for part in item.parts if part.marking]
    assert len(marked) >= 5
    circuit = build(item)
    stand_ins = [element.ref for element in circuit.elements if element.marked]
    assert len(stand_ins) >= 3


def test_the_three_are_of_different_topology(items: Mapping[str, Item]) -> None:
    kinds = [frozenset(part.kind for part in item.parts) for item in items.values()]
    assert len(set(kinds)) == 3
    assert [item.region for item in items.values()] == ["US", "EU", "GB"]


@pytest.mark.parametrize("name", NAMES)
def test_what_the_true_rms_meters_showed_comes_from_the_hidden_truth(name: str, items: Mapping[str, Item]) -> None:
    """But for the readings that are meant to be wrong: the market meter's watts and the averaging clamp's amperes."""
    item = items[name]
    wrong = {("market meter", "power"), ("old clamp", "current")}
    seen = 0
    for reading in item.readings:
        meter = item.meter(reading.meter or "")
        assert meter is not None
        state = reading.state or item.states[0].name
        if (meter.name, reading.quantity) in wrong or reading.quantity in ("resistance", "capacitance"):
            continue
        accuracy = meter.accuracy[reading.quantity]
        half = accuracy.share * reading.value + accuracy.floor + 0.5 * meter.resolution.get(reading.quantity, 0.0)
        assert reading.value == pytest.approx(value(truly(item, name, state), reading.quantity, reading.at), abs=half)
        seen += 1
    assert seen >= 3


# The dimmed lamp ----------------------------------------------------------------------------------------------------


def test_the_odd_power_factor_of_the_lamp_is_right(items: Mapping[str, Item]) -> None:
    """A little over 0.9 at full, the displacement part 1.0: the shape is at fault (IEEE Std 1459, PF and dPF)."""
    figures = truly(items["globe-lamp"], "globe-lamp", "knob full up").input_figures()
    assert 0.90 < figures["power_factor"] < 0.96
    assert figures["displacement_factor"] > 0.995
    read = next(one for one in items["globe-lamp"].readings if one.quantity == "power_factor")
    assert read.value == pytest.approx(figures["power_factor"], abs=0.02)


def test_nobody_wrote_the_mains_of_the_lamp_and_its_watts_hang_on_it(items: Mapping[str, Item]) -> None:
    """±10 % of mains, the range of EN 50160, moves the power of an unsmoothed string by about ±40 %."""
    item = items["globe-lamp"]
    assert item.supply.voltage is None
    assert all(state.supply is None or state.supply.voltage is None for state in item.states)
    assert not any(reading.quantity == "voltage" for reading in item.readings)
    circuit = build(item, "knob full up")
    low, middle, high = (
        solve(with_values(circuit, {"supply.voltage": volts})).input_figures()["power"]
        for volts in (108.0, 120.0, 132.0)
    )
    assert low / middle == pytest.approx(0.66, abs=0.08)
    assert high / middle == pytest.approx(1.4, abs=0.08)


def test_the_knob_of_the_lamp_is_dead_over_most_of_its_travel_and_glows(items: Mapping[str, Item]) -> None:
    circuit = build(items["globe-lamp"], "knob full up")
    turned = turn(circuit, "VR1")
    varied = vary(circuit, "VR1.position", 0.0, 1.0)
    for result in (turned, varied):
        assert result.dead_travel is not None
        assert 0.5 <= result.dead_travel < 0.9
        assert result.floor is not None
        assert 0.01 < result.floor < 0.1


def test_the_knob_is_dead_because_the_timing_capacitor_charges_through_the_string(items: Mapping[str, Item]) -> None:
    """A quarter up the capacitor stays below the diac; with hardly a string the same knob works nearly all its way."""
    item = items["globe-lamp"]
    half = solve(build(item, "knob a quarter up"))
    diac = half.circuit.element("D1")
    assert diac is not None
    assert half.part_figures("C1")["voltage_peak"] < 0.8 * diac.number("breakover")
    string = half.part_figures("LED1")["voltage_peak"]
    peak = math.sqrt(2.0) * half.circuit.supply.voltage
    assert half.part_figures("Q1")["voltage_peak"] < peak - 0.8 * string
    straight = build(item, "knob a quarter up", changes={"LED1.series": 1})
    free = turn(straight, "VR1")
    assert free.dead_travel is not None
    assert free.dead_travel < 0.15


def test_the_unknown_voltage_of_the_rods_is_told_by_the_bench_reading(items: Mapping[str, Item]) -> None:
    """At both bounds the computed bench voltage lies outside what the meter allows; at the truth within."""
    item = items["globe-lamp"]
    unknown = next(part for part in item.parts if part.ref == "LED1").values["forward_voltage"]
    assert isinstance(unknown, Unknown)
    assert unknown.between is not None
    reading = next(one for one in item.readings if one.quantity == "voltage_dc")
    circuit = build(item, reading.state)
    allowed = 0.005 * reading.value + 0.2

    def shown(volts: float) -> float:
        solution = solve(with_values(circuit, {"LED1.forward_voltage": volts}))
        return float(solution.part_figures("LED1")["voltage_mean"])

    low, high = unknown.between
    assert shown(low) < reading.value - 3 * allowed
    assert shown(high) > reading.value + 3 * allowed
    assert shown(2.88) == pytest.approx(reading.value, abs=allowed)


def test_the_ballast_of_the_lamp_runs_over_its_rating(items: Mapping[str, Item]) -> None:
    rows = stress(solve(build(items["globe-lamp"], "knob full up")))
    row = next(one for one in rows if one.part == "R3" and one.quantity == "power")
    assert row.verdict == "over"
    assert row.times is not None
    assert 1.05 < row.times < 1.5


# The night light and the charger ------------------------------------------------------------------------------------


def test_the_watts_of_the_night_light_are_its_volt_amperes(items: Mapping[str, Item]) -> None:
    """S = V I (IEEE Std 1459). The computed power is a tenth of it."""
    item = items["night-light"]
    read = {one.quantity: one.value for one in item.readings}
    assert read["power"] == pytest.approx(read["voltage"] * read["current"], rel=0.02)
    figures = truly(item, "night-light", "plugged in").input_figures()
    assert figures["power"] < 0.15 * read["power"]


def test_the_clamp_of_the_charger_reads_low_because_it_averages(items: Mapping[str, Item]) -> None:
    """Rectified mean times pi/(2 sqrt 2), the form factor of a sine, on pulses this narrow (any meter handbook)."""
    item = items["lamp-charger"]
    solution = truly(item, "lamp-charger", "charging")
    current = solution.input_waves()[1]
    shown = math.pi / (2.0 * math.sqrt(2.0)) * float(np.abs(current).mean())
    readings = {one.meter: one.value for one in item.readings if one.quantity == "current"}
    assert readings["old clamp"] == pytest.approx(shown, abs=0.02 * shown + 1e-3)
    assert readings["old clamp"] < 0.55 * readings["plug-in meter"]


def test_the_plug_fuse_of_the_charger_was_seen_to_have_no_filler(items: Mapping[str, Item]) -> None:
    seen = {one.about: one.seen for one in items["lamp-charger"].sightings}
    assert seen["plug-fuse-filler"] == "no filler"


def test_a_record_says_that_it_is_invented() -> None:
    from lidoff.demo import shipped

    assert all("invented" in shipped(name) for name in NAMES)


def test_the_shipped_records_lie_in_the_package() -> None:
    import lidoff.demo

    folder = Path(lidoff.demo.__file__).parent / "records"
    assert sorted(path.name for path in folder.iterdir()) == sorted(NAMES)
