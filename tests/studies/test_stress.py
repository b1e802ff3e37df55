"""What a rating word means, which figure is held against it, and that a rule of thumb never passes for a rating."""

from __future__ import annotations

import math

import pytest
from tests.studies.circuits import CHARGER, DIMMED_LAMP, DROPPER, STRIP, circuit_of, part

from lidoff.circuit.model import Circuit
from lidoff.cycle import solve
from lidoff.studies import Stress, stress


def row(rows: tuple[Stress, ...], ref: str, quantity: str, measure: str | None = None) -> Stress:
    return next(r for r in rows if (r.part, r.quantity) == (ref, quantity) and measure in (None, r.measure))


def loaded(*, ohms: str = "529R", **keys: object) -> Circuit:
    return circuit_of(part("R1", "resistor", "live neutral", value=ohms, **keys))


def test_a_resistor_across_the_mains() -> None:
    # 230 V on 529 ohm: 100 W and 230 V rms by Ohm's law (the source's 0.4 ohm takes 0.08 % of the voltage).
    rows = stress(solve(loaded(rating={"power": "50 W", "voltage": "350 V", "current": "1 A"})))
    assert row(rows, "R1", "power").value == pytest.approx(100.0, rel=2e-3)
    assert row(rows, "R1", "power").times == pytest.approx(2.0, rel=2e-3)
    assert row(rows, "R1", "power").verdict == "over"
    assert row(rows, "R1", "voltage").value == pytest.approx(230.0, rel=1e-3)
    assert row(rows, "R1", "voltage").verdict == "within"
    assert row(rows, "R1", "current").value == pytest.approx(230.0 / 529.0, rel=1e-3)
    assert rows[0].quantity == "power"
    assert not any(r.assumed for r in rows)


def test_worst_comes_first_and_parts_without_a_rating_last() -> None:
    rows = stress(solve(circuit_of(DROPPER)))
    times = [r.times for r in rows]
    rated = [t for t in times if t is not None]
    assert rated == sorted(rated, reverse=True)
    assert all(t is None for t in times[len(rated) :])


def test_an_assumed_rating_says_so_and_from_where() -> None:
    rows = stress(solve(loaded(ohms="100k")))
    power = row(rows, "R1", "power")
    assert power.assumed
    assert power.rating == 0.25
    assert "quarter-watt" in power.why
    voltage = row(rows, "R1", "voltage")
    # Derating habits: 250 V for quarter-watt film (common practice).
    assert (voltage.rating, voltage.assumed) == (250.0, True)
    for r in stress(solve(circuit_of(DIMMED_LAMP))):
        assert r.assumed == ("practice" in r.why or "memory" in r.why)
        assert (r.rating is None) == (r.verdict == "no rating")


def test_a_rating_told_by_the_marking_is_none_of_a_rule_of_thumb() -> None:
    # 230 V rms on 10 kohm: 5.29 W by Ohm's law, 2.6 times the printed 2 W.
    rows = stress(solve(circuit_of(part("R1", "resistor", "live neutral", value="10k", marking="10K 2W"))))
    power = row(rows, "R1", "power")
    assert (power.rating, power.assumed, power.marked, power.why) == (2.0, False, True, "from its marking")
    assert power.times == pytest.approx(230.0**2 / 10e3 / 2.0, rel=2e-3)
    assert power.verdict == "over"
    assert power.as_json()["marked"] is True
    voltage = row(rows, "R1", "voltage")
    assert (voltage.assumed, voltage.marked) == (True, False)
    # A registered rectifier: 1000 V of peak reverse voltage, 1 A of mean current (JEDEC, from memory).
    halved = circuit_of(
        part("D1", "diode", "anode=live cathode=a", marking="1N4007") + part("R1", "resistor", "a neutral", value="1k")
    )
    rows = stress(solve(halved))
    reverse, mean = row(rows, "D1", "voltage"), row(rows, "D1", "current")
    assert (reverse.rating, reverse.measure, reverse.why) == (1000.0, "peak reverse", "from its marking")
    assert (mean.rating, mean.measure, mean.why) == (1.0, "mean", "from its marking")
    assert reverse.value == pytest.approx(math.sqrt(2.0) * 230.0, rel=2e-3)


def test_a_smoothing_capacitor_is_held_by_its_peak_and_a_mains_capacitor_by_its_rms() -> None:
    charger = stress(solve(circuit_of(CHARGER)))
    smoothing = row(charger, "C1", "voltage")
    assert smoothing.measure == "peak"
    assert smoothing.value == pytest.approx(230.0 * math.sqrt(2.0) - 2 * 0.8, rel=0.01)
    dropper = stress(solve(circuit_of(DROPPER)))
    mains = row(dropper, "C1", "voltage")
    assert (mains.measure, mains.rating) == ("rms", 275.0)
    assert mains.value < 230.0


def test_reverse_voltage_of_a_rectifier_is_the_mains_peak() -> None:
    # A bridge's diodes each block the mains peak less one forward drop (any text on rectifiers).
    reverse = row(stress(solve(circuit_of(CHARGER))), "BR1", "voltage")
    assert reverse.measure == "peak reverse"
    assert reverse.value == pytest.approx(230.0 * math.sqrt(2.0) - 0.8, rel=5e-3)
    # One diode and a capacitor: twice the peak.
    half = circuit_of(
        part("D1", "diode", "anode=live cathode=p", rating={"voltage": "400 V"})
        + part("C1", "capacitor", "p neutral", value="10u")
        + part("R1", "resistor", "p neutral", value="1M")
    )
    reverse = row(stress(solve(half)), "D1", "voltage")
    assert reverse.value == pytest.approx(2 * 230.0 * math.sqrt(2.0), rel=0.01)
    assert reverse.verdict == "over"


def test_bridge_current_is_the_mean_it_delivers() -> None:
    solution = solve(circuit_of(CHARGER))
    current = row(stress(solution), "BR1", "current")
    assert current.measure == "mean"
    assert current.value == pytest.approx(solution.part_figures("U1")["current_mean"], rel=5e-3)


def test_a_string_is_judged_by_one_of_its_leds() -> None:
    text = STRIP.replace('forward_voltage = "2.9 V"', 'forward_voltage = "2.9 V"\nrating = { current = "10 mA" }')
    solution = solve(circuit_of(text))
    led = row(stress(solution), "LED1", "current")
    assert led.value == pytest.approx(solution.part_figures("LED1")["current_mean"] / 2, rel=1e-6)
    assert led.times == pytest.approx(led.value / 0.010)


def test_a_block_member_is_judged_by_itself() -> None:
    text = '[[block]]\nname = "section"\nrepeat = 4\nparallel = 2\nnodes = ["live", "neutral"]\n' + part(
        "R1", "resistor", "in out", value="1k", rating={"power": "1 W"}, block="section"
    )
    rows = stress(solve(circuit_of(text)))
    # Four in series share 230 V: 57.5 V and 3.306 W each, whatever stands beside them.
    assert row(rows, "section/R1", "power").value == pytest.approx(57.5**2 / 1000.0, rel=2e-3)
    assert row(rows, "section/R1", "voltage").value == pytest.approx(57.5, rel=1e-3)


def test_a_knob_turned_down_must_not_burn_its_short_piece_of_track() -> None:
    # A tenth of a 1 kohm track and 500 ohm: 0.383 A rms. 60 W on the whole track are 0.245 A (P = I^2 R), and the piece
    # may carry no more, though it takes 15 W only.
    text = part("VR1", "potentiometer", "a=live wiper=x", value="1k", position=0.1, rating={"power": "60 W"})
    rows = stress(solve(circuit_of(text + part("R1", "resistor", "x neutral", value="500R", rating={"power": "90 W"}))))
    power, current = row(rows, "VR1", "power"), row(rows, "VR1", "current")
    assert power.value == pytest.approx((230.0 / 600.4) ** 2 * 100.0, rel=2e-3)
    assert power.verdict == "within"
    assert current.rating == pytest.approx(math.sqrt(60.0 / 1000.0))
    assert current.value == pytest.approx(230.0 / 600.4, rel=2e-3)
    assert current.verdict == "over"
    assert not current.assumed


def test_fuse_lamp_and_heater_are_rated_by_their_own_keys() -> None:
    text = part("F1", "fuse", "live a", rating="1 A") + part(
        "EH1", "heater", "a neutral", power="460 W", voltage="230 V"
    )
    rows = stress(solve(circuit_of(text)))
    fuse = row(rows, "F1", "current")
    assert (fuse.rating, fuse.assumed, fuse.verdict) == (1.0, False, "over")
    heater = row(rows, "EH1", "power")
    assert heater.times == pytest.approx(1.0, abs=0.01)
    assert heater.verdict == "within"  # what it is made for is not "close to its rating"


def test_cautious_share_of_a_resistors_rating() -> None:
    # Derating habits: a resistor runs at no more than 50 % to 70 % of its rating (common practice, no source).
    assert row(stress(solve(loaded(rating={"power": "120 W"}))), "R1", "power").verdict == "close"
    assert row(stress(solve(loaded(rating={"power": "160 W"}))), "R1", "power").verdict == "within"


def test_json_has_the_names_that_faults_print() -> None:
    first = stress(solve(circuit_of(DROPPER)))[0].as_json()
    assert set(first) >= {"part", "quantity", "value", "rating", "times", "assumed"}


@pytest.mark.parametrize("volts", ["120 V", "230 V"])
def test_rules_of_thumb_follow_the_mains(volts: str) -> None:
    text = f'[supply]\nvoltage = "{volts}"\nfrequency = "50 Hz"\n' + DIMMED_LAMP
    triac = row(stress(solve(circuit_of(text))), "Q1", "voltage")
    assert triac.rating == {"120 V": 400.0, "230 V": 600.0}[volts]


def test_dc_on_an_ac_rating_is_held_against_its_crest() -> None:
    """A capacitor behind one diode stands at the mains' crest: 325 V, not 325 V rms against 275 V (IEC 60384-14)."""
    text = part("D1", "diode", "anode=live cathode=p") + part(
        "C1", "capacitor", "p neutral", value="100n", rating={"voltage_ac": "275 V", "class": "X2"}
    )
    rows = stress(solve(circuit_of(text + part("R1", "resistor", "p neutral", value="10M"))))
    found = row(rows, "C1", "voltage")
    assert (found.measure, found.crest, found.verdict) == ("peak", True, "within")
    assert found.rating == pytest.approx(275.0 * math.sqrt(2.0))
    assert found.value == pytest.approx(325.0, rel=0.01)
    assert "the crest of the 275 V AC" in found.why
    dropper = row(stress(solve(circuit_of(DROPPER))), "C1", "voltage")
    assert (dropper.measure, dropper.crest, dropper.rating) == ("rms", False, 275.0)
