"""Along a value: each point from rest, dead travel and floor as the record format defines them."""

from __future__ import annotations

import math

import pytest
from tests.studies.circuits import CHARGER, DIMMED_STRIP, STRIP, circuit_of, part

from lidoff.circuit import with_values
from lidoff.circuit.model import CircuitError
from lidoff.cycle import solve
from lidoff.studies import StudyError, vary
from lidoff.studies.sweep import Stop, dead_travel, floor


def stop(light: float | None, value: float = 0.0) -> Stop:
    shown = None if light is None else {"mean_current": light}
    return Stop(value=value, input={"power": 1.0}, light=shown, settled=True)


def test_each_point_is_what_figures_gives_from_rest() -> None:
    circuit = circuit_of(STRIP)
    study = vary(circuit, "R3.value", 1000.0, 3000.0, 5)
    assert [s.value for s in study.stops] == [1000.0, 1500.0, 2000.0, 2500.0, 3000.0]
    for each in study.stops:
        alone = solve(with_values(circuit, {"R3.value": each.value}))
        assert each.input == alone.input_figures()
        assert each.light == alone.light_figures()


def test_dead_travel_and_floor_follow_the_definition() -> None:
    # Record format, `vary --json`: dead travel is the share of the points within 5 % of (max - min) above the minimum,
    # the floor is minimum over maximum. Range 1 to 11: the limit is 1.5.
    stops = [stop(value) for value in (1.0, 1.4, 1.5, 1.6, 6.0, 11.0)]
    assert dead_travel(stops) == pytest.approx(3 / 6)
    assert floor(stops) == pytest.approx(1 / 11)


def test_without_light_both_are_none() -> None:
    study = vary(circuit_of(CHARGER), "R1.value", 5.0, 20.0, 3)
    assert study.dead_travel is None
    assert study.floor is None
    assert all(point["light"] is None for point in study.as_json()["points"])
    assert dead_travel([stop(None)]) is None


def test_a_snubber_that_makes_the_lamp_glow_does_not_make_the_knob_less_dead() -> None:
    study = vary(circuit_of(DIMMED_STRIP), "VR1.position", 0.0, 1.0, 21)
    light = [s.brightness or 0.0 for s in study.stops]
    assert light[-1] > 1e-3  # the timing network and the snubber leak through the string
    assert study.dead_travel is not None
    assert study.floor is not None
    assert 0.6 < study.dead_travel < 0.85
    assert study.floor == pytest.approx(min(light) / max(light))


def test_the_current_of_an_unsmoothed_string_rises_with_the_mains_and_never_falls() -> None:
    study = vary(circuit_of(STRIP), "supply.voltage", 207.0, 253.0, 5)
    powers = [s.power or 0.0 for s in study.stops]
    assert powers == sorted(powers)
    assert powers[-1] / powers[0] > 1.5  # far more than the square of the voltage ratio, 1.49


def test_downwards_is_allowed_and_whole_numbers_stay_whole() -> None:
    study = vary(circuit_of(STRIP), "LED1.series", 62.0, 58.0, 41)
    assert [s.value for s in study.stops] == [62.0, 61.0, 60.0, 59.0, 58.0]
    assert study.unit == ""


def test_a_block_is_varied_by_whole_repeats() -> None:
    text = (
        '[[block]]\nname = "section"\nrepeat = 10\nnodes = ["p", "m"]\n'
        + part("BR1", "bridge", "ac1=live ac2=neutral plus=p minus=m")
        + part("LED1", "led", "anode=in cathode=x", series=6, forward_voltage="3 V", block="section")
        + part("R1", "resistor", "x out", value="120R", block="section")
    )
    study = vary(circuit_of(text), "section.repeat", 9.0, 11.0, 7)
    assert [s.value for s in study.stops] == [9.0, 10.0, 11.0]
    light = [s.brightness or 0.0 for s in study.stops]
    assert light == sorted(light, reverse=True)
    member = vary(circuit_of(text), "section/R1.value", 100.0, 200.0, 2)
    assert member.unit == "ohm"
    assert (member.stops[0].brightness or 0.0) > (member.stops[1].brightness or 0.0)


def test_a_place_without_a_cycle_says_so_and_the_others_go_on() -> None:
    study = vary(circuit_of(STRIP), "supply.voltage", 0.0, 230.0, 3)
    first, middle, last = study.stops
    assert first.input is None
    assert first.problem is not None
    assert "zero" in first.problem
    assert middle.input is not None
    assert last.input is not None
    assert any("supply.voltage = 0 V" in sentence for sentence in study.warnings)


@pytest.mark.parametrize(
    ("key", "low", "high", "points", "sentence"),
    [
        ("R3.value", 1.0, 2.0, 1, "take at least 2"),
        ("R9.value", 1.0, 2.0, 3, "no part R9; it has BR1, LED1, R3"),
        ("R3.valu", 1.0, 2.0, 3, "a resistor has no valu; it has value"),
        ("R3.value", math.nan, 2.0, 3, "two finite values"),
        ("supply.dc", 1.0, 2.0, 3, "not fed that way"),
        ("supply.colour", 1.0, 2.0, 3, "the supply has no colour"),
    ],
)
def test_what_cannot_be_varied_is_said_in_a_sentence(
    key: str, low: float, high: float, points: int, sentence: str
) -> None:
    with pytest.raises(StudyError, match=sentence):
        vary(circuit_of(STRIP), key, low, high, points)


def test_a_value_that_a_part_cannot_have_is_refused() -> None:
    with pytest.raises(CircuitError, match=r"R3\.value"):
        vary(circuit_of(STRIP), "R3.value", -5.0, 5.0, 3)


def test_a_word_or_truth_value_is_not_varied() -> None:
    with pytest.raises(StudyError, match="not a number"):
        vary(circuit_of(DIMMED_STRIP), "VR1.taper", 0.0, 1.0, 3)
