"""The item at the other common mains: worked out anew, against closed forms; and when light is light to speak of."""

from __future__ import annotations

import re

import pytest
from tests.studies.circuits import CHARGER, STRIP, circuit_of, part, string

from lidoff.circuit import with_values
from lidoff.cycle import solve
from lidoff.figures import warning
from lidoff.studies.glow import is_lit
from lidoff.studies.other_mains import at_other_mains


def said(text: str) -> str:
    found = at_other_mains(solve(circuit_of(text)))
    assert found is not None
    return found


def test_a_resistor_takes_the_square_of_the_voltages() -> None:
    """529 ohm: 100 W at 230 V, 27.2 W at 120 V (Ohm's law, the source's 0.4 ohm aside); no light is spoken of."""
    text = said(part("R1", "resistor", "live neutral", value="529R"))
    assert text == (
        "Solved again at 120 V 60 Hz, it takes 27 W instead of 100 W. IEC 61000-3-2 sets no limits for the harmonics "
        "there."
    )


def test_a_capacitor_dropper_follows_voltage_and_frequency() -> None:
    """Behind a capacitor the mean current is about 4 f C (peak - string): by this charge balance 0.50 of it remains."""
    volts, leds = (325.3, 169.7), 10 * 2.9
    text = said(
        part("C1", "capacitor", "live a", value="100n")
        + part("BR1", "bridge", "ac1=a ac2=neutral plus=p minus=m")
        + part("LED1", "led", "anode=p cathode=m", series=10, forward_voltage="2.9 V")
    )
    share = float(re.findall(r"gives (\d+) % of this light", text)[0]) / 100.0
    balance = 60.0 * (volts[1] - leds) / (50.0 * (volts[0] - leds))
    # The string's own volts fall with its current (70 mV a decade and e-fold each), which the balance takes as fixed.
    assert share == pytest.approx(balance, rel=0.03)
    assert "at 120 Hz" in text


def test_a_string_made_for_the_higher_mains_is_dark_at_the_lower() -> None:
    """72 LEDs of 2.9 V stand 209 V, the crest of 120 V is 170 V (square root of two): what flows is no light."""
    assert "it gives no light to speak of" in said(STRIP.replace("series = 60", "series = 72"))


def test_the_higher_mains_comes_with_a_warning() -> None:
    lower = '[supply]\nvoltage = "120 V"\nfrequency = "60 Hz"\n'
    assert "never to be tried" in said(lower + part("R1", "resistor", "live neutral", value="529R"))
    assert "never to be tried" not in said(part("R1", "resistor", "live neutral", value="529R"))


def test_leaking_microamperes_are_no_light_of_which_flicker_is_judged() -> None:
    """An open switch of 100 Mohm leaves at most 325 V/100 Mohm = 3.3 uA to LEDs of 20 mA: under a thousandth."""
    circuit = circuit_of(part("S1", "switch", "live a", closed=False) + string("a", "neutral"))
    light = solve(circuit).figures()["light"]
    assert 0.0 < light["mean_current"] < 3.3e-6
    assert warning(light) is not None, "by the numbers alone it would be warned of"
    assert not is_lit(circuit, light)
    on = with_values(circuit, {"S1.closed": True})
    assert is_lit(on, solve(on).figures()["light"])
    assert not is_lit(on, None)


def test_the_border_goes_by_what_the_string_is_made_for() -> None:
    """A thousandth of the test current of the whole string, two rows of 5 mA here: 10 uA."""
    small = circuit_of(string("live", "neutral"))
    light = {"percent_flicker": 100.0, "sources": ["LED1"], "mean_current": 20e-6}
    least = min(e.number("test_current") * e.number("parallel") for e in small.elements if e.kind == "led")
    assert is_lit(small, light | {"mean_current": 1.01e-3 * least})
    assert not is_lit(small, light | {"mean_current": 0.99e-3 * least})


def test_what_regulates_takes_the_same() -> None:
    """A converter takes its power at either mains: no figure is set against itself."""
    text = said(CHARGER.replace('power = "6 W"', 'power = "1 W"'))
    assert re.search(r"it takes 1.0 W, as here\.", text)
