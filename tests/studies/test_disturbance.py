"""What stands behind the steps of a dimmer's current: held against sums by hand on circuits simple enough for them."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.studies.circuits import CHARGER, DIMMED_LAMP, DIMMED_STRIP, STRIP, circuit_of, dimmer, part

from lidoff.cycle import solve
from lidoff.figures import Interference
from lidoff.figures.interference import SPREAD, step_level
from lidoff.figures.mains_network import nominal_impedance
from lidoff.studies import disturbance


def heard(text: str) -> Interference:
    found = disturbance(solve(circuit_of(text)))
    assert found is not None
    return found


def at(found: Interference, frequency: float) -> float:
    return next(level.middle for level in found.levels if level.frequency == frequency)


def test_behind_a_dimmed_resistor_stands_the_resistor() -> None:
    """880 ohm behind a triac: 880.05 ohm with its 50 milliohms, at every frequency of the table."""
    found = heard(DIMMED_LAMP)
    assert found.load == pytest.approx(880.05, abs=0.05)
    assert found.repetition == 100.0
    expected = step_level(np.array([150e3]), found.step, 100.0, load=880.45)
    assert at(found, 150e3) == pytest.approx(expected[0], abs=0.1)


def test_behind_a_dimmed_string_stand_its_resistor_and_the_slope_of_its_leds() -> None:
    """At 88 mA: 1500 ohm, 60 x 70 mV/88 mA = 48 ohm, two diodes of 50 mV/88 mA."""
    found = heard(DIMMED_STRIP)
    by_hand = 1500.0 + (60 * 0.070 + 2 * 0.050) / found.step + 0.05
    assert found.load == pytest.approx(by_hand, rel=0.01)


def test_the_step_is_the_one_of_the_solved_wave_whatever_stands_behind_it() -> None:
    """Into the mains' own 0.4 ohm the item would send the step of the wave: density D/(2 pi f) at any frequency.

    With the network instead of the mains what is left is |Z|/|load + 2 Z| of it.
    """
    found = heard(DIMMED_LAMP)
    f = np.array([200e3, 1e6])
    given = step_level(f, found.step, 100.0)
    share = 20.0 * np.log10(880.45 / np.abs(880.05 + 2.0 * nominal_impedance(f)))
    levels = np.array([level.high - SPREAD for level in found.levels])
    shown = np.interp(np.log(f), np.log([level.frequency for level in found.levels]), levels)
    assert shown == pytest.approx(given + share, abs=0.15)


def test_a_choke_that_is_there_already_counts() -> None:
    """0.3 mH before 880 ohm at 300 kHz: |880 + 2 Z + j 565| over |880 + 2 Z| less than without it."""
    bare = heard(DIMMED_LAMP)
    choked = heard(
        dimmer("330k", "150n")
        + part("L1", "inductor", "load q", value="0.3 mH")
        + part("R9", "resistor", "q neutral", value="880R", rating={"power": "100 W"})
    )
    f = np.array([300e3])
    lines = 880.05 + 2.0 * nominal_impedance(f)[0]
    less = 20.0 * np.log10(abs(lines + 2j * np.pi * f[0] * 0.3e-3) / abs(lines))
    scale = 20.0 * np.log10(bare.step / choked.step)
    assert at(bare, 300e3) - at(choked, 300e3) == pytest.approx(less + scale, abs=0.3)


def test_a_capacitor_across_the_mains_that_is_there_already_counts() -> None:
    """100 nF across the plug of the dimmed lamp: current divides between it and the two lines, as for the same added.

    The solved wave has its step in both: at 0.4 ohm of mains the capacitor takes a hundredth of it and less.
    """
    bare = heard(DIMMED_LAMP)
    shunted = heard(DIMMED_LAMP + part("C9", "capacitor", "live neutral", value="100n"))
    added = next(one for one in bare.filters if one.inductance == 0.0)
    taken = dict(zip(added.frequency, added.attenuation, strict=True))
    for frequency in (150e3, 300e3, 1e6):
        assert at(bare, frequency) - at(shunted, frequency) == pytest.approx(taken[frequency], abs=0.3)


def test_filters_say_what_would_be_left() -> None:
    """The rest is the largest of level less what is taken off less limit, up to 300 kHz."""
    found = heard(DIMMED_LAMP)
    both = found.filters[-1]
    assert both.remaining is not None
    worst = found.worst
    assert worst is not None
    assert worst.frequency == pytest.approx(300e3)
    assert both.remaining < worst.middle - worst.limit
    assert "A choke of 1 mH with an X capacitor of 100 nF would take off about" in found.filter_words
    assert "at 150 kHz and" in found.filter_words
    assert "dB over the limit at its worst place up to 300 kHz" in found.filter_words


def test_what_holds_its_current_is_a_source_of_it() -> None:
    """A linear current source behind the triac: far more than the network's 100 ohm, so the step is taken as it is."""
    text = dimmer(position=0.3) + (
        part("BR1", "bridge", "ac1=load ac2=neutral plus=p minus=m")
        + part("LED1", "led", "anode=p cathode=x", series=30, forward_voltage="3 V")
        + part("U1", "regulator", "input=x output=m", limit="80 mA", dropout="4 V")
    )
    found = heard(text)
    assert found.load is not None
    assert found.load > 10e3
    assert at(found, 150e3) == pytest.approx(step_level(np.array([150e3]), found.step, found.repetition)[0], abs=1.0)


@pytest.mark.parametrize("text", [STRIP, CHARGER])
def test_an_item_without_a_switch_makes_no_steps(text: str) -> None:
    found = heard(text)
    assert found.step == 0.0
    assert found.filters == ()
    assert found.filter_words == ""


def test_a_bench_supply_has_no_radio_on_it() -> None:
    text = (
        STRIP
        + '[[state]]\nname = "bench"\nremove = ["BR1"]\n'
        + 'supply = { dc = "180 V", limit = "20 mA", nodes = ["p", "m"] }\n'
    )
    assert disturbance(solve(circuit_of(text, "bench"))) is None


def test_assumptions_are_said_and_all_is_plain_json() -> None:
    found = heard(DIMMED_STRIP)
    assert any("slope at the current then" in line and "1.55 kΩ between" in line for line in found.assumptions)
    assert any("at another setting the step is another" in line for line in found.assumptions)
    assert any("47 CFR 18.307(b)" in line for line in found.assumptions)
    document = json.loads(json.dumps(found.as_dict(), allow_nan=False))
    assert document["filters"][0]["remaining"] == found.filters[0].remaining
    assert document["worst_frequency"] == pytest.approx(300e3)
