"""The plug pulled: discharge times against the exponential, and what an LED string leaves in its capacitor."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from tests.studies.circuits import CHARGER, DIMMED_LAMP, DROPPER, circuit_of, part

from lidoff.cycle import solve
from lidoff.studies import Decay, StudyError, Unplugged, unplug

PEAK = 230.0 * math.sqrt(2.0)


def decay(study: Unplugged, ref: str) -> Decay:
    return next(d for d in study.capacitors if d.what == ref)


def bleed(farads: str, ohms: str, volts: str = "230 V") -> Unplugged:
    text = f'[supply]\nvoltage = "{volts}"\nfrequency = "50 Hz"\n'
    text += part("C1", "capacitor", "live neutral", value=farads) + part("R1", "resistor", "live neutral", value=ohms)
    return unplug(circuit_of(text))


def test_published_discharge_time() -> None:
    # Examples A.7 C1: 0.33 uF with 1 Mohm from 325.27 V reaches 34 V at 0.7452 s (exponential; the pins' own 1 Gohm
    # takes 0.1 % off, and the reading between points adds nothing).
    study = bleed("0.33u", "1M")
    assert study.pins.start == pytest.approx(325.27, rel=1e-3)
    assert study.pins.to_34 == pytest.approx(0.7452 / 1.001, rel=3e-4)
    assert study.pins.to_60 == pytest.approx(0.33 / 1.001 * math.log(325.27 / 60.0), rel=3e-4)
    assert decay(study, "C1").to_34 == pytest.approx(study.pins.to_34, rel=1e-3)
    assert study.dark_after is None  # there is no light


@pytest.mark.parametrize(("farads", "ohms"), [("0.1u", "4.2M"), ("0.22u", "1.9M"), ("0.47u", "0.9M")])
def test_bleed_resistors_that_just_meet_one_second(farads: str, ohms: str) -> None:
    # Computed bleed examples of the reference values, section 4: from 230 V + 10 % (358 V peak) to 34 V in 1 s needs
    # RC <= 0.425 s: these pairs just do.
    study = bleed(farads, ohms, "253 V")
    assert study.pins.to_34 == pytest.approx(1.0, rel=0.02)


def test_largest_bleed_for_a_tenth_of_a_microfarad() -> None:
    # Examples A.7 C1: 0.1 uF from 325 V needs at most 4.43 Mohm.
    assert bleed("0.1u", "4.43M").pins.to_34 == pytest.approx(1.0, rel=0.01)


def test_energy_and_charge() -> None:
    c1 = decay(bleed("0.33u", "1M"), "C1")
    assert c1.energy == pytest.approx(0.5 * 0.33e-6 * PEAK**2, rel=3e-3)
    assert c1.charge == pytest.approx(0.33e-6 * PEAK, rel=2e-3)


def test_without_a_bleed_it_stays_charged_longer_than_anybody_waits() -> None:
    text = part("C1", "capacitor", "live neutral", value="1u") + part("R1", "resistor", "live x", value="1k")
    study = unplug(circuit_of(text + part("C2", "capacitor", "x neutral", value="1n")))
    assert study.pins.to_34 is None
    assert study.pins.to_60 is None
    assert study.looked >= 300.0
    assert study.pins.end > 200.0


def test_a_capacitor_across_a_string_still_bites_after_the_light_is_out() -> None:
    study = unplug(circuit_of(DROPPER.replace("series = 20", "series = 60")))
    smoothing = decay(study, "C2")
    assert study.dark_after is not None
    assert study.dark_after < 0.5
    # Sixty LEDs of 3 V stop conducting near 150 V: the capacitor is left with that, minutes later still over 60 V.
    assert smoothing.to_60 is None
    assert smoothing.end > 100.0
    assert study.capacitors[0].what == "C2"  # slowest first


def test_a_converter_stops_drawing_below_its_least_voltage() -> None:
    study = unplug(circuit_of(CHARGER))
    bulk = decay(study, "C1")
    # 6 W take the capacitor from 323 V to 60 V in C (V1^2 - V2^2) / (2 P), then only leaks are left.
    assert bulk.end > 45.0
    assert bulk.to_34 is None
    fall = 4.7e-6 * (bulk.start**2 - 65.0**2) / (2 * 6.0)
    times, volts = bulk.curve
    below = next(t for t, v in zip(times, volts, strict=True) if v < 65.0)
    # A little longer where the plug is pulled on the crest, with more of the crest to come than the capacitor shows.
    assert below == pytest.approx(fall, rel=0.1)
    # It stops at its 60 V and not a little above: from there on only the leaks are left, 0.02 V a second.
    assert bulk.to_60 == pytest.approx(4.7e-6 * (bulk.start**2 - 60.0**2) / (2 * 6.0), rel=0.1)
    assert study.pins.to_34 == 0.0  # the bridge keeps it from the pins


def test_a_dimmer_empties_its_snubber_when_it_fires_once_more() -> None:
    study = unplug(circuit_of(DIMMED_LAMP))
    snubber = decay(study, "C2")
    assert snubber.to_34 is not None
    assert 1e-4 < snubber.to_34 < 0.1


def test_the_solution_given_is_the_one_that_is_unplugged() -> None:
    circuit = circuit_of(DROPPER)
    assert unplug(circuit, solve(circuit)) == unplug(circuit)


def test_curves_fall_and_cover_what_was_looked_at() -> None:
    study = bleed("0.33u", "1M")
    times, volts = study.pins.curve
    assert len(times) == len(volts)
    assert times[-1] >= (study.pins.to_34 or 0.0)
    sizes = [abs(v) for v in volts]
    assert all(later <= earlier * (1 + 1e-6) for earlier, later in pairwise(sizes))
    document = study.as_json()
    assert set(document) >= {"pins", "capacitors", "dark_after", "looked"}


def test_on_a_bench_supply_there_is_no_plug() -> None:
    text = CHARGER + (
        '[[state]]\nname = "bench"\nremove = ["BR1", "R1"]\nsupply = { dc = "300 V", nodes = ["p", "m"] }\n'
    )
    with pytest.raises(StudyError, match="bench supply"):
        unplug(circuit_of(text, "bench"))


def test_members_of_a_block_are_each_their_own_voltage() -> None:
    text = (
        '[[block]]\nname = "pair"\nrepeat = 2\nnodes = ["live", "neutral"]\n'
        + part("C1", "capacitor", "in out", value="0.66u", block="pair")
        + part("R1", "resistor", "in out", value="0.5M", block="pair")
    )
    study = unplug(circuit_of(text))
    assert decay(study, "pair/C1").start == pytest.approx(PEAK / 2, rel=2e-3)
    assert study.pins.to_34 == pytest.approx(0.7452, rel=5e-3)


def test_a_coil_leaves_no_more_than_the_mains_behind_it() -> None:
    # A plug drawn under an inductive load keeps its arc until the current passes zero (a fact of the trade), so the
    # pins see no more than a capacitor or the mains could have left: not amperes times the leak's gigohm.
    text = part("M1", "inductor", "live a", value="1.2 H", resistance="120R")
    text += part("C1", "capacitor", "a neutral", value="1u") + part("R1", "resistor", "live neutral", value="1M")
    study = unplug(circuit_of(text))
    settled = solve(circuit_of(text))
    highest = max(PEAK, settled.part_figures("C1")["voltage_peak"], settled.part_figures("M1")["voltage_peak"])
    assert 0.5 * PEAK < study.pins.start < 1.1 * highest
    assert study.pins.to_34 is not None


def test_a_filter_that_rings_for_ever_is_followed_all_the_same() -> None:
    text = part("BR1", "bridge", "ac1=live ac2=neutral plus=p minus=m")
    text += part("C1", "capacitor", "p m", value="10u") + part("L1", "inductor", "p q", value="470u")
    text += part("C2", "capacitor", "q m", value="10u") + part(
        "U1", "converter", "plus=q minus=m", power="18 W", minimum_voltage="40 V"
    )
    study = unplug(circuit_of(text))
    charge = decay(study, "C1")
    assert charge.start == pytest.approx(PEAK, rel=0.02)
    # 18 W out of 20 uF from its peak (325 V less two drops) to 60 V: E / P. Below 40 V nothing draws.
    assert charge.to_60 is not None
    assert charge.to_60 == pytest.approx(10e-6 * (charge.start**2 - 60.0**2) / 18.0, rel=0.05)
    assert charge.to_34 is None
