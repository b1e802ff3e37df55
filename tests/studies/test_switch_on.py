"""Switch-on: peak and I2t against closed forms, the worst instant, cold parts, fuses and rectifiers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.studies.circuits import CHARGER, DIMMED_LAMP, DROPPER, MAINS, circuit_of, part

from lidoff.circuit import with_values
from lidoff.studies import StudyError, switch_on
from lidoff.studies.fault_effects import first_half_cycle
from lidoff.studies.fuses import Fuse, breaking_capacity, melting_i2t, opening
from lidoff.studies.switch_on import Surge, SwitchOn

PEAK = 230.0 * math.sqrt(2.0)
RESISTANCE = MAINS + 'resistance = "0R4"\n'  # somebody wrote the mains' impedance: no coil is taken for it


def surge(study: SwitchOn, ref: str) -> Surge:
    return next(s for s in study.surges if s.part == ref)


def test_capacitor_charged_at_the_crest() -> None:
    """Closed form: V/R at once, and C V^2 / (2 R) of I2t, since the half of C V^2 that is lost is lost in R."""
    study = switch_on(circuit_of(RESISTANCE + CHARGER))
    ohms, farads = 10.0 + 0.4, 4.7e-6
    volts = PEAK - 2 * (0.93 + 0.05 * math.log(31.0))  # two diodes at that current
    assert study.searched
    assert study.angle % 180.0 == pytest.approx(90.0, abs=8.0)
    assert study.peak == pytest.approx(volts / ohms, rel=2e-3)
    assert study.time < 1e-5
    # The converter draws its 6 W from the charged capacitor as well: next to nothing in I2t.
    assert study.i2t == pytest.approx(0.5 * farads * volts**2 / ohms, rel=0.01)
    assert surge(study, "R1").energy == pytest.approx(0.5 * farads * volts**2 * 10.0 / 10.4, rel=0.02)
    assert study.settled_peak is not None
    assert study.peak > 100.0 * study.settled_peak
    (bulk,) = study.charging
    # RC is 49 us; nine tenths of the settled voltage are reached within three of them.
    assert bulk.time == pytest.approx(math.log(volts / (volts - 0.9 * bulk.voltage)) * ohms * farads, rel=0.03)


@pytest.mark.parametrize(("farads", "esr"), [(100e-9, 0.1), (10e-6, 9.6)])
def test_a_capacitor_behind_the_reference_impedance(farads: float, esr: float) -> None:
    """Closed form of a step on R-L-C at rest, as in every handbook of circuits, with a = (R/2) sqrt(C/L) below 1:
    the first peak is V / sqrt(L/C) exp(-a acos(a) / sqrt(1 - a^2)). IEC 60725 (from memory): 0.4 + j0.25 ohm at 50 Hz.
    """
    text = part("C1", "capacitor", "live neutral", value=farads, esr=esr)
    ohms, henries = 0.4 + esr, 0.25 / (2.0 * math.pi * 50.0)
    damping = 0.5 * ohms * math.sqrt(farads / henries)
    peak = PEAK / math.sqrt(henries / farads)
    peak *= math.exp(-damping * math.acos(damping) / math.sqrt(1.0 - damping**2))
    study = switch_on(circuit_of(text))
    assert study.peak == pytest.approx(peak, rel=5e-3)
    assert any("IEC 60725" in warning and "0.4 + j0.25" in warning for warning in study.warnings)


def test_a_mains_that_somebody_described_is_taken_as_described() -> None:
    text = part("C1", "capacitor", "live neutral", value="10u", esr="9R6")
    for written in (
        circuit_of(RESISTANCE + text),
        circuit_of(MAINS + "inductance = 0\n" + text),
        circuit_of(text, **{"supply.resistance": 0.4}),
        with_values(circuit_of(text), {"supply.inductance": 0.0}),
    ):
        study = switch_on(written, 90.0)
        assert study.peak == pytest.approx(PEAK / 10.0, rel=2e-3)
        assert not any("IEC 60725" in warning for warning in study.warnings)


@pytest.mark.parametrize("text", [CHARGER, DROPPER, DIMMED_LAMP])
def test_no_part_looks_better_for_an_assumed_coil(text: str) -> None:
    assumed, written = switch_on(circuit_of(text)), switch_on(circuit_of(RESISTANCE + text))
    assert assumed.i2t == pytest.approx(written.i2t, rel=1e-9)
    for one in assumed.surges:
        other = surge(written, one.part)
        assert (one.i2t, one.energy, one.verdict) == (other.i2t, other.energy, other.verdict)
    first, hard = first_half_cycle(circuit_of(text)), first_half_cycle(circuit_of(RESISTANCE + text))
    assert first is not None
    assert hard is not None
    assert first.i2t == hard.i2t
    assert first.peak <= hard.peak * 1.02


def test_a_chosen_angle_is_never_worse_than_the_worst() -> None:
    circuit = circuit_of(CHARGER)
    worst = switch_on(circuit)
    for angle in (0.0, 30.0, 77.0, 135.0, 200.0):
        one = switch_on(circuit, angle)
        assert not one.searched
        assert one.angle == angle
        assert one.peak <= worst.peak * 1.0001
        assert one.i2t <= worst.i2t * 1.0001
    assert switch_on(circuit, 0.0).peak < 0.2 * worst.peak


def test_a_coil_switched_on_at_zero_takes_nearly_twice_its_peak() -> None:
    # R-L on a sine, closed form: i = (V/Z)(sin(wt + a - f) - sin(a - f) exp(-R t / L)).
    ohms, henries, omega = 10.4, 1.0, 2.0 * math.pi * 50.0
    text = part("L1", "inductor", "live x", value="1 H") + part("R1", "resistor", "x neutral", value="10R")
    study = switch_on(circuit_of(text))
    z, f = math.hypot(ohms, omega * henries), math.atan2(omega * henries, ohms)
    t = np.linspace(0.0, 0.03, 30001)
    best = max(
        float(np.abs(PEAK / z * (np.sin(omega * t + a - f) - math.sin(a - f) * np.exp(-ohms / henries * t))).max())
        for a in np.radians(np.arange(0.0, 360.0, 1.0))
    )
    assert study.peak == pytest.approx(best, rel=3e-3)
    assert study.settled_peak == pytest.approx(PEAK / z, rel=3e-3)
    assert study.peak > 1.85 * PEAK / z


def test_filaments_and_thermistors_start_cold() -> None:
    lamp = part("LA1", "lamp", "live neutral", power="60 W", voltage="230 V")
    study = switch_on(circuit_of(lamp))
    # Cold resistance is a tenth of 881.7 ohm (the record format's default ratio).
    assert study.peak == pytest.approx(PEAK / (88.17 + 0.4), rel=2e-3)
    text = part("RT1", "thermistor", "live a", cold="10R", hot="0R5") + part("R1", "resistor", "a neutral", value="90R")
    assert switch_on(circuit_of(text)).peak == pytest.approx(PEAK / 100.4, rel=2e-3)


def test_plug_put_back_while_the_dropper_is_charged() -> None:
    study = switch_on(circuit_of(RESISTANCE + DROPPER))
    assert study.again is not None
    # Against an empty capacitor V/R; against one charged the other way nearly twice that, less the string's 60 V.
    assert study.peak == pytest.approx((PEAK - 2 * 0.9) / 470.4, rel=5e-3)
    assert 1.5 * study.peak < study.again < 2.0 * study.peak
    assert switch_on(circuit_of(CHARGER)).again is None


def test_fuse_and_rectifier_against_their_i2t() -> None:
    text = (
        part("F1", "fuse", "live f", rating="0.5 A", speed="quick", resistance="0.1 R")
        + part("BR1", "bridge", "ac1=f ac2=neutral plus=p minus=m", rating={"current": "1 A"})
        + part("C1", "capacitor", "p m", value="100u")
        + part("R1", "resistor", "p m", value="10k")
    )
    study = switch_on(circuit_of(text))
    fuse = surge(study, "F1")
    # IEC 60127-2 sheet 2 (from memory): at least 10 ms at 4 times the rated current: (4 x 0.5)^2 x 0.01 = 0.04 A2s.
    assert fuse.rating == pytest.approx(0.04)
    assert fuse.assumed
    assert fuse.verdict == "over"
    assert study.surges[0].part == "F1"
    assert surge(study, "BR1").rating == pytest.approx(30.0**2 * 8.3e-3 / 2.0)
    # One conducting diode carries the whole surge: C V^2 / (2 R) with 0.5 ohm in all is 10 A2s and burns it.
    assert surge(study, "BR1").verdict == "over"


def test_recorded_i2t_goes_before_the_rule_of_thumb() -> None:
    text = CHARGER.replace('rating = { voltage = "1000 V", current = "1 A" }', "rating = { i2t = 5.0 }")
    bridge = surge(switch_on(circuit_of(text)), "BR1")
    assert (bridge.rating, bridge.assumed, bridge.why) == (5.0, False, "as recorded")


def test_a_dimmer_is_followed_to_its_first_firing() -> None:
    study = switch_on(circuit_of(DIMMED_LAMP))
    assert study.peak == pytest.approx(PEAK / 880.4, rel=0.02)
    # The snubber's 47 nF is emptied through 68 ohm and the triac, which the mains current does not show.
    assert surge(study, "Q1").peak > 5.0 * study.peak


def test_on_a_bench_supply_there_is_no_switch_on() -> None:
    text = CHARGER + (
        '[[state]]\nname = "bench"\nremove = ["BR1", "R1"]\nsupply = { dc = "300 V", nodes = ["p", "m"] }\n'
    )
    with pytest.raises(StudyError, match="bench supply"):
        switch_on(circuit_of(text, "bench"))


def test_json_is_plain() -> None:
    document = switch_on(circuit_of(DROPPER), 90.0).as_json()
    assert set(document) >= {"angle", "current_peak", "i2t", "parts", "charging", "curve"}
    assert len(document["curve"]["time"]) == len(document["curve"]["current"])


@pytest.mark.parametrize(
    ("fuse", "amperes", "opens", "most"),
    [
        # BS 1362 zones as quoted: 3 A opens within 0.1 s at 20 A and 0.03 s at 30 A; 13 A within 0.2 s at 100 A.
        (Fuse(ref="plug fuse", rating=3.0, plug=True), 20.0, True, 0.1),
        (Fuse(ref="plug fuse", rating=3.0, plug=True), 30.0, True, 0.03),
        (Fuse(ref="plug fuse", rating=13.0, plug=True), 100.0, True, 0.2),
        # It carries 1.6 times for 30 min (from memory), opens within it at 1.9 times.
        (Fuse(ref="plug fuse", rating=13.0, plug=True), 20.0, False, None),
        (Fuse(ref="plug fuse", rating=13.0, plug=True), 22.0, None, None),
        # IEC 60127-2 sheet 3 as printed in a data sheet: 10 times within 0.3 s, 2.1 times within 2 min.
        (Fuse(ref="F1", rating=1.0, speed="slow"), 10.0, True, 0.3),
        (Fuse(ref="F1", rating=1.0, speed="slow"), 2.1, True, 120.0),
        (Fuse(ref="F1", rating=1.0, speed="slow"), 1.0, False, None),
        # Sheet 2 (from memory): 10 times within 20 ms, 2.1 times within 30 min.
        (Fuse(ref="F1", rating=2.0, speed="quick"), 20.0, True, 0.02),
        # Speed not known: the slower sheet bounds the time.
        (Fuse(ref="F1", rating=1.0), 10.0, True, 0.3),
        # Beyond the tables the multiples are taken over.
        (Fuse(ref="F1", rating=10.0, speed="slow"), 100.0, True, 0.3),
        # Between two bands the nearest serves.
        (Fuse(ref="F1", rating=0.11, speed="slow"), 1.1, True, 0.3),
    ],
)
def test_opening_times_follow_the_gates(fuse: Fuse, amperes: float, opens: bool | None, most: float | None) -> None:
    found = opening(fuse, amperes)
    assert found is not None
    assert found.opens is opens
    assert found.most == (None if most is None else pytest.approx(most, rel=1e-6))


def test_a_fuse_of_unknown_rating_says_nothing() -> None:
    assert opening(Fuse(ref="F1", rating=None), 10.0) is None
    assert melting_i2t(Fuse(ref="F1", rating=None))[0] is None


def test_i2t_of_a_slow_fuse_is_above_that_of_a_quick_one() -> None:
    slow = melting_i2t(Fuse(ref="F1", rating=1.0, speed="slow"))[0]
    quick = melting_i2t(Fuse(ref="F1", rating=1.0, speed="quick"))[0]
    assert slow is not None
    assert quick is not None
    # Sheet 3: 10 ms x ... the least of 4^2 x 0.15, 2.75^2 x 0.6 and 10^2 x 0.02 is 2 A2s; sheet 2: 4^2 x 0.01.
    assert slow == pytest.approx(2.0)
    assert quick == pytest.approx(0.16)


def test_breaking_capacity_by_letter() -> None:
    # IEC 60127-2: L is 35 A or ten times the rated current, H 1500 A.
    assert breaking_capacity("L", 1.0) == 35.0
    assert breaking_capacity("L", 6.3) == pytest.approx(63.0)
    assert breaking_capacity("H", 1.0) == 1500.0
