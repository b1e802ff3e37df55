"""Tolerances: ranges against closed forms, what matters, unequal half-cycles, executors and stopping."""

from __future__ import annotations

import math
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from tests.studies.circuits import circuit_of, dimmer, part, string

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Solution
from lidoff.studies import Spread, StudyError, spread
from lidoff.studies.sampling import Drawn, changed, columns, drawn_of
from lidoff.studies.spread import HALF_RATE

HEATER = part("R1", "resistor", "live neutral", value="529R")


def supply(range_: str = "10 %", more: str = "") -> str:
    return f'[supply]\nvoltage = "230 V"\nfrequency = "50 Hz"\nresistance = "1u"\nrange = "{range_}"\n{more}'


def share(study: Spread, key: str) -> float:
    return next(m.share for m in study.matters if m.key == key)


def test_power_of_a_resistor_over_the_range_of_the_mains() -> None:
    # Voltage even within 10 %: its 5th percentile is 0.91 of 230 V, its 95th 1.09; power goes with the square.
    with ThreadPoolExecutor(2) as executor:
        study = spread(circuit_of(supply() + HEATER), 1500, 3, executor=executor)
    power = study.figures["input.power"]
    assert power.nominal == pytest.approx(100.0, rel=1e-4)
    # Sampling error of a percentile: sqrt(0.05 x 0.95 / 1500) of the 20 % span is 0.11 %, of the power twice that.
    assert power.p5 == pytest.approx(100.0 * 0.91**2, rel=0.01)
    assert power.median == pytest.approx(100.0, rel=0.015)
    assert power.p95 == pytest.approx(100.0 * 1.09**2, rel=0.01)
    assert study.matters[0].key == "supply.voltage"
    assert study.matters[0].share == pytest.approx(1.0)
    assert (study.samples, study.failed, study.unsettled, study.stopped) == (1500, 0, 0, False)


def test_shares_follow_the_variances() -> None:
    """Two equal resistors in series, 10 % and 5 %: of the variance four fifths and one fifth."""
    text = (
        supply("0 %")
        + part("R1", "resistor", "live a", value="500R", tolerance="10 %")
        + part("R2", "resistor", "a neutral", value="500R", tolerance="5 %")
    )
    with ThreadPoolExecutor(2) as executor:
        study = spread(circuit_of(text), 1500, 5, executor=executor)
    assert share(study, "R1.value") == pytest.approx(0.8, abs=0.05)
    assert share(study, "R2.value") == pytest.approx(0.2, abs=0.05)
    assert sum(m.share for m in study.matters) == pytest.approx(1.0)
    assert all(m.correlation < 0.0 for m in study.matters)  # more ohms, less power


def unequal(tolerance: dict[str, str]) -> Circuit:
    return circuit_of(supply("0 %") + dimmer(position=0.15, **tolerance) + string("load", "neutral"))


def test_unequal_half_cycles_give_light_at_the_mains_frequency_and_direct_current() -> None:
    """Each polarity of a diac is drawn on its own; a shared breakover voltage can never show this."""
    apart = spread(unequal({"tolerance": "8 %"}), 60, 2)
    rate, mean = apart.figures[HALF_RATE], apart.figures["input.current_mean"]
    assert rate.nominal is not None
    assert rate.nominal < 0.2
    assert rate.median > 1.0
    assert mean.p95 > 2e-4 > -2e-4 > mean.p5
    assert apart.matters_for["input.current_mean"][0].key == "D1.asymmetry"
    assert apart.matters_for["input.current_mean"][0].share > 0.9
    same = spread(unequal({}), 60, 2)
    assert same.figures[HALF_RATE].p95 < 0.2
    assert abs(same.figures["input.current_mean"].p95) < 2e-5


def test_the_answer_does_not_depend_on_who_works_it_out() -> None:
    circuit = circuit_of(supply() + HEATER.replace("\nnodes", '\ntolerance = "5 %"\nnodes'))
    alone = spread(circuit, 40, 7)
    with ThreadPoolExecutor(3) as executor:
        assert spread(circuit, 40, 7, executor=executor) == alone
    assert spread(circuit, 40, 8).figures["input.power"] != alone.figures["input.power"]


def test_over_all_cores_by_default() -> None:
    circuit = circuit_of(supply() + HEATER)
    calls: list[tuple[int, int]] = []

    def progress(done: int, wanted: int) -> None:
        calls.append((done, wanted))

    study = spread(circuit, 160, 4, progress=progress)
    with ThreadPoolExecutor(1) as executor:
        assert spread(circuit, 160, 4, executor=executor) == study
    assert calls[-1] == (160, 160)
    assert [done for done, _ in calls] == sorted(done for done, _ in calls)


def test_a_run_can_be_stopped() -> None:
    circuit = circuit_of(supply() + HEATER)
    study = spread(circuit, 140, progress=lambda done, _wanted: done < 20)
    assert study.stopped
    assert 20 <= study.samples < 140
    with ThreadPoolExecutor(1) as executor:
        other = spread(circuit, 400, progress=lambda _done, _wanted: False, executor=executor)
    assert other.stopped
    assert other.samples < 400


def test_an_interrupt_keeps_what_was_done() -> None:
    def interrupt(done: int, _wanted: int) -> bool:
        if done >= 30:
            raise KeyboardInterrupt
        return True

    study = spread(circuit_of(supply() + HEATER), 140, progress=interrupt)
    assert study.stopped
    assert study.samples == 30


def test_an_interrupt_before_anything_is_done_goes_on() -> None:
    def interrupt(_done: int, _wanted: int) -> bool:
        raise KeyboardInterrupt

    with ThreadPoolExecutor(1) as executor, pytest.raises(KeyboardInterrupt):
        spread(circuit_of(supply() + HEATER), 4, progress=interrupt, executor=executor)


def test_samples_without_a_cycle_are_counted_and_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    room = sys.modules["lidoff.studies.spread"]  # the room's own `spread` is the function of that name
    solved = room.solve

    def fails_above(circuit: Circuit, **words: float) -> Solution:
        if circuit.supply.voltage > 240.0:
            raise CircuitError("No solution was found")
        return solved(circuit, **words)

    monkeypatch.setattr(room, "solve", fails_above)
    study = spread(circuit_of(supply() + HEATER), 60, 1)
    assert study.samples == 60
    assert 5 < study.failed < 40
    assert study.figures["input.power"].p95 < 240.0**2 / 529.0


def test_nothing_to_draw_and_absurd_numbers_are_refused() -> None:
    with pytest.raises(StudyError, match="Nothing has a tolerance"):
        spread(circuit_of(supply("0 %") + HEATER), 10)
    with pytest.raises(StudyError, match="0 samples cannot be"):
        spread(circuit_of(supply() + HEATER), 0)
    with pytest.raises(StudyError, match=r"no figure light\.svm here"):
        spread(circuit_of(supply() + HEATER), 6, about="light.svm")


def test_a_part_without_tolerance_is_exact_and_a_table_names_its_keys() -> None:
    circuit = circuit_of(
        supply("0 %") + string("live", "neutral", tolerance={"forward_voltage": "4 %", "slope": "10 %"})
    )
    drawn, _ = drawn_of(circuit)
    assert {one.name for one in drawn} == {"LED1.forward_voltage", "LED1.slope", "R3.value"}
    led = circuit.element("LED1")
    assert led is not None
    assert replace(led, tolerance=0.05).tolerances == {"forward_voltage": 0.05}


def test_members_of_a_block_are_drawn_one_by_one() -> None:
    """The mean of n even draws varies by 1/sqrt(n) of what one does: also beyond the number drawn one by one."""
    random = np.random.default_rng(1)
    one = Drawn(name="R1.value", low=90.0, high=110.0).draw(random, 4000)
    assert one.std() == pytest.approx(20.0 / math.sqrt(12.0), rel=0.03)
    for members in (12.0, 120.0):
        many = Drawn(name="s/R1.value", low=90.0, high=110.0, members=members).draw(random, 4000)
        assert many.std() == pytest.approx(20.0 / math.sqrt(12.0 * members), rel=0.06)
        assert many.mean() == pytest.approx(100.0, abs=0.2)


def test_the_two_sides_of_a_diac_become_breakover_and_asymmetry() -> None:
    names, values = columns(["D1.breakover+", "D1.breakover-", "R1.value"], np.array([[33.0, 31.0, 5.0]]))
    assert names == ["D1.breakover", "D1.asymmetry", "R1.value"]
    assert values.tolist() == [[32.0, 2.0, 5.0]]


def test_unknowns_within_bounds_are_drawn_and_others_said() -> None:
    bounded = supply("0 %") + HEATER.replace('value = "529R"', 'value = "?"\nbetween = ["400 R", "600 R"]')
    (drawn,), warnings = drawn_of(circuit_of(bounded))
    assert (drawn.name, drawn.low, drawn.high, drawn.logarithmic) == ("R1.value", 400.0, 600.0, False)
    assert warnings == ()
    wide = supply("0 %") + HEATER.replace('value = "529R"', 'value = "?"\nbetween = ["100 R", "1 k"]')
    (drawn,), _ = drawn_of(circuit_of(wide))
    assert drawn.logarithmic
    values = drawn.draw(np.random.default_rng(1), 4000)
    assert np.median(values) == pytest.approx(math.sqrt(100.0 * 1000.0), rel=0.05)
    loose = supply() + HEATER.replace('value = "529R"', 'value = "?"')
    _, warnings = drawn_of(circuit_of(loose))
    assert "R1.value is not known" in warnings[0]


def test_the_shape_of_the_mains_is_drawn_unless_it_was_measured() -> None:
    more = "shape = { h3 = 0.02, h5 = 0.03 }\n"
    drawn, _ = drawn_of(circuit_of(supply("0 %", more) + HEATER))
    assert [(one.name, one.low, one.high) for one in drawn] == [("supply.h3", 0.0, 0.02), ("supply.h5", 0.0, 0.03)]
    circuit = circuit_of(supply("0 %", more) + HEATER)
    assert dict(changed(circuit, {"supply.h3": 0.01}).supply.shape) == {3: 0.01, 5: 0.03}
    measured, _ = drawn_of(circuit_of(supply("1 %", more + "measured = true\n") + HEATER))
    assert [one.name for one in measured] == ["supply.voltage"]


def test_a_thermistor_keeps_its_ratio() -> None:
    text = part("RT1", "thermistor", "live a", cold="10R", hot="1R", tolerance="20 %") + HEATER.replace("live", "a")
    warm = changed(circuit_of(text), {"RT1.cold": 12.0}).element("RT1")
    assert warm is not None
    assert warm.number("hot") == pytest.approx(1.2)


def test_json_has_the_keys_promised() -> None:
    document = spread(circuit_of(supply() + HEATER), 20).as_json()
    assert set(document) >= {"samples", "figures", "matters"}
    assert set(document["figures"]["input.power"]) >= {"p5", "median", "p95"}
    assert set(document["matters"][0]) >= {"key", "share"}
    assert document["drawn"] == ["supply.voltage ±10 %"]
