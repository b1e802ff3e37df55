"""Published figures of odd waves and LED strings, held against the meters and the verdicts."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tests.readings.records import item_of, reading

import lidoff
from lidoff.readings import judge, meters
from lidoff.readings.observe import power_figures

N = 20_000
ANGLE = 2.0 * math.pi * np.arange(N) / N


def harmonics(*peaks: tuple[int, float]) -> np.ndarray:
    return np.sum([peak * np.sin(order * ANGLE) for order, peak in peaks], axis=0)


@pytest.mark.parametrize(
    ("peaks", "rms", "within"),
    [
        (((1, 0.100), (3, 0.020), (5, 0.010)), 0.07246, 5e-6),  # Bird, ch. 36, problem 3
        (((1, 10.0), (3, 3.0), (5, 2.0)), 7.52, 5e-3),  # problem 4
        (((1, 323.62), (3, 97.08), (5, 32.36)), 240.0, 0.01),  # problem 5, the other way about
    ],
)
def test_rms_of_harmonic_sums(peaks: tuple[tuple[int, float], ...], rms: float, within: float) -> None:
    """A true-rms meter on a sum of harmonics (Bird, Electrical Circuit Theory and Technology, ch. 36)."""
    assert meters.rms(harmonics(*peaks)) == pytest.approx(rms, abs=within)


def test_an_averaging_meter_on_a_harmonic_sum() -> None:
    """Rms 7.52, rectified mean 7.26 (Bird, ch. 36, problem 4): the meter shows 1.1107 times the mean, 7 % too much."""
    wave = harmonics((1, 10.0), (3, 3.0), (5, 2.0))
    assert meters.average_responding(wave) == pytest.approx(1.1107 * 7.26, abs=0.01)
    assert meters.average_responding(wave) / meters.rms(wave) == pytest.approx(1.1107 / 1.036, abs=1e-3)


def test_power_of_a_harmonic_sum() -> None:
    """12, 5 and 2 A of fundamental, third and fifth in 20 ohm: 1730 W (Bird, ch. 36, problem 6)."""
    current = harmonics((1, 12.0), (3, 5.0), (5, 2.0))
    found = power_figures(20.0 * current, current)
    assert found["power"] == pytest.approx(1730.0, abs=0.5)
    assert found["power_factor"] == pytest.approx(1.0, abs=1e-9)


def test_harmonics_carry_no_power_where_the_voltage_has_none() -> None:
    """Products of different orders have no mean (IEEE Std 1459): watts are those of the fundamental alone."""
    found = power_figures(harmonics((1, 325.0)), harmonics((1, 1.0), (3, 0.8)))
    assert found["power"] == pytest.approx(325.0 / 2.0, rel=1e-9)
    assert found["power_factor"] == pytest.approx(1.0 / math.hypot(1.0, 0.8), rel=1e-9)


# LED strings on rectified mains: r is the string's voltage over the mains' peak; power factors in closed form, for a
# string fed through a resistor and one fed at constant current (examples of LED strings, own reference table).
STRINGS = [(0.5, 0.9400, 0.9549), (0.7, 0.8598, 0.9035), (0.9, 0.6772, 0.7324)]
BRIDGE = """
[[part]]
ref = "BR1"
kind = "bridge"
forward_voltage = "10 mV"
slope = "1 mV"
nodes = {{ ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" }}
[[part]]
ref = "LED1"
kind = "led"
forward_voltage = "{volts}"
slope = "10 mV"
nodes = {{ anode = "p", cathode = "x" }}
[[part]]
ref = "{ref}"
{feed}
nodes = {nodes}
"""
RESISTOR = 'kind = "resistor"\nvalue = "2k"'
METER = (
    '[[meter]]\nname = "analyser"\nkind = "power-meter"\n'
    'accuracy = { power_factor = "0.005", percent_flicker = "1 %" }\n'
)
SINE = (
    '[supply]\nvoltage = "230 V"\nresistance = "1 mR"\n'
    '[[state]]\nname = "full"\nsupply = { voltage = "230 V", measured = true }\n'
)


def string(folder: Path, ratio: float, *pieces: str) -> lidoff.Item:
    volts = f"{ratio * 230.0 * math.sqrt(2.0):.3f} V"
    parts = BRIDGE.format(volts=volts, ref="R1", feed=RESISTOR, nodes='["x", "m"]')
    return item_of(folder, METER, *pieces, parts=parts, states="", head=SINE)


@pytest.mark.parametrize(("ratio", "fed", "constant"), STRINGS)
def test_the_power_factor_of_a_string(tmp_path: Path, ratio: float, fed: float, constant: float) -> None:
    """The closed form for the resistor agrees; that of a constant current on the same string contradicts."""
    right, wrong = judge(
        string(
            tmp_path,
            ratio,
            reading("power_factor", f"{fed:.4f}", "analyser"),
            reading("power_factor", f"{constant:.4f}", "analyser"),
        )
    ).readings
    assert right.computed == pytest.approx(fed, abs=0.004)
    assert right.computed == wrong.computed
    if constant - fed > 0.03:
        assert wrong.verdict == "contradicts"


def test_a_string_that_goes_dark_flickers_wholly(tmp_path: Path) -> None:
    """100 % in all rows; a figure got as the swing over twice the mean is no percent flicker (definitions)."""
    item = string(
        tmp_path, 0.7, reading("percent_flicker", "100", "analyser"), reading("percent_flicker", "60", "analyser")
    )
    right, wrong = judge(item).readings
    assert right.verdict == "agrees"
    assert wrong.verdict == "contradicts"
