"""Input figures: non-sinusoidal examples, form factors, LED strings, and waves without current."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from tests.figures.shapes import above, angle, lines, rectified

from lidoff.figures import form_factor, input_figures_direct, input_figures_uniform, wave

STRIP = Path(__file__).resolve().parent.parent / "reference" / "cycle" / "strip.json"


def test_rms_of_a_current_with_third_and_fifth_harmonic() -> None:
    """Bird, Electrical Circuit Theory and Technology, ch. 36, problem 3: peaks 100, 20, 10 mA give 72.46 mA."""
    t = angle()
    current = 100 * np.sin(t) + 20 * np.sin(3 * t + 0.4) + 10 * np.sin(5 * t - 1.0)
    assert wave.rms(current) == pytest.approx(72.46, abs=0.005)


def test_rms_mean_and_form_factor_of_a_distorted_voltage() -> None:
    """Bird, ch. 36, problem 4: peaks 10, 3, 2 V give 7.52 V rms, mean 7.26 V, form factor 1.036 (printed rounded)."""
    t = angle()
    volts = 10 * np.sin(t) + 3 * np.sin(3 * t) + 2 * np.sin(5 * t)
    assert wave.rms(volts) == pytest.approx(7.52, abs=0.005)
    assert wave.mean(np.abs(volts)) == pytest.approx(7.26, abs=0.005)
    assert form_factor(volts) == pytest.approx(1.036, abs=0.002)


def test_peaks_from_an_rms_value_and_harmonic_shares() -> None:
    """Bird, ch. 36, problem 5: 240 V rms with 30 % third and 10 % fifth: 323.62, 97.08 and 32.36 V peak."""
    t = angle()
    shape = np.sin(t) + 0.3 * np.sin(3 * t) + 0.1 * np.sin(5 * t)
    h = np.abs(wave.harmonics(shape * 240.0 / wave.rms(shape)))
    assert [h[1], h[3], h[5]] == pytest.approx([323.62, 97.08, 32.36], abs=0.03)


def test_power_of_a_distorted_current_in_a_resistor() -> None:
    """Bird, ch. 36, problem 6: peaks 12, 5, 2 A in 20 ohm: 1730 W."""
    t = angle()
    current = 12 * np.sin(t) + 5 * np.sin(3 * t) + 2 * np.sin(5 * t)
    assert input_figures_uniform(20.0 * current, current)["power"] == pytest.approx(1730.0, abs=0.5)


@pytest.mark.parametrize("line", lines("led_string.csv"), ids=lambda line: f"r={line['r']}")
def test_led_strings_on_rectified_mains(line: dict[str, str]) -> None:
    """Closed forms of a string at r times the mains peak: power factor, distortion, of either way to feed it."""
    r = float(line["r"])
    fine = 1 << 17
    voltage = np.sin(angle(fine))
    sign = np.sign(voltage)
    resistor = input_figures_uniform(voltage, sign * np.maximum(rectified(fine) - r, 0.0))
    assert resistor["power_factor"] == pytest.approx(float(line["resistor_pf"]), abs=6e-5)
    constant = input_figures_uniform(voltage, sign * above(r, fine))
    assert constant["power_factor"] == pytest.approx(float(line["constant_pf"]), abs=6e-5)
    # The table's THD holds every order, ours those to 40: ask Parseval for the rest.
    fundamental = constant["harmonics"][0]["current_rms"]
    full = math.sqrt((constant["current_rms"] / fundamental) ** 2 - 1.0)
    assert full == pytest.approx(float(line["constant_thd"]), abs=2e-4)
    assert constant["thd"] < full
    assert constant["thd"] == pytest.approx(full, abs=0.02)


def test_the_share_of_distortion_beyond_order_40_follows_from_parseval() -> None:
    """A square current: THD of all orders sqrt(pi^2/8 - 1) = 48.34 %, and 1/n^2 summed to order 39 for ours."""
    t = angle()
    square = np.sign(np.sin(t + 1e-9))
    figures = input_figures_uniform(np.sin(t), square)
    to_39 = math.sqrt(sum(1.0 / n**2 for n in range(3, 40, 2)))
    assert figures["thd"] == pytest.approx(to_39, rel=1e-4)
    assert figures["power_factor"] == pytest.approx(2.0 * math.sqrt(2.0) / math.pi, rel=1e-5)


def test_power_factor_is_displacement_times_distortion_on_a_sine() -> None:
    """PF = cos(phi1)/sqrt(1 + THD^2) for a sinusoidal voltage (drive maker's guide to harmonics)."""
    t = angle()
    current = np.sin(t - 0.5) + 0.4 * np.sin(3 * t)
    figures = input_figures_uniform(np.sin(t), current)
    assert figures["displacement_factor"] == pytest.approx(math.cos(0.5))
    assert figures["thd"] == pytest.approx(0.4)
    assert figures["power_factor"] == pytest.approx(math.cos(0.5) / math.sqrt(1.16))


@pytest.mark.parametrize(
    ("name", "wave_of", "ratio"),
    [
        ("triangle", lambda t: np.arcsin(np.sin(t)), 0.9618),
        ("square", lambda t: np.sign(np.sin(t + 1e-9)), 1.1107),
        ("pulse, half the time, dc-coupled", lambda t: np.sin(t + 1e-9) > 0, 0.785),
        ("phase control cut at 90 degrees", lambda t: np.where(np.mod(t, np.pi) >= np.pi / 2, np.sin(t), 0.0), 0.707),
        ("pulses a quarter of the time", lambda t: np.mod(t, np.pi) < np.pi / 4, 0.555),
    ],
)
def test_what_an_average_responding_meter_shows(name: str, wave_of, ratio: float) -> None:
    """1.1107 x mean magnitude over rms, from the definitions; the triangle's 0.960 stands in meter manuals too."""
    found = form_factor(np.asarray(wave_of(angle()), dtype=float))
    assert found is not None
    assert math.pi / (2 * math.sqrt(2)) / found == pytest.approx(ratio, abs=6e-4), name


@pytest.mark.parametrize(
    ("shape", "shown", "true"),
    [
        (lambda t: np.sign(np.sin(t + 1e-9)), 1.111, 1.000),
        (lambda t: math.sqrt(2) * np.abs(np.sin(t)) - math.sqrt(2) * 2 / math.pi, 0.421, 0.435),
    ],
    ids=["square 2 V peak to peak", "full-wave rectified, ac-coupled"],
)
def test_form_factor_table_of_meter_manuals(shape, shown: float, true: float) -> None:
    """Meter manual table: what an averaging meter shows and the true rms, inputs of 1.414 V and 2 V peak."""
    x = shape(angle())
    assert wave.rms(x) == pytest.approx(true, abs=1e-3)
    assert 1.1107 * wave.mean(np.abs(x)) == pytest.approx(shown, abs=2e-3)


def test_a_half_wave_row_of_a_meter_manual_that_does_not_follow_from_its_definition() -> None:
    """The manual prints 0.764 V shown against 0.771 V true; the closed form 0.779 V. The true value agrees."""
    x = 2.0 * (np.maximum(np.sin(angle()), 0.0) - 1.0 / math.pi)
    assert wave.rms(x) == pytest.approx(0.771, abs=5e-4)
    edge = math.asin(1.0 / math.pi)
    closed = 1.1107 * 4.0 * (2.0 * math.cos(edge) - (math.pi - 2.0 * edge) / math.pi) / (2.0 * math.pi)
    assert 1.1107 * wave.mean(np.abs(x)) == pytest.approx(closed, rel=1e-6)
    assert closed == pytest.approx(0.7793, abs=1e-4)


def test_no_current_gives_nulls_and_no_crash() -> None:
    figures = input_figures_uniform(np.sin(angle(512)), np.zeros(512))
    for key in ("power_factor", "displacement_factor", "thd", "crest_factor"):
        assert figures[key] is None
    assert figures["current_rms"] == 0.0
    assert figures["harmonics"][0] == {"order": 1, "current_rms": 0.0, "percent": None}
    json.dumps(figures, allow_nan=False)


def test_direct_current_into_alternating_mains_has_no_fundamental() -> None:
    figures = input_figures_uniform(np.sin(angle(512)), np.ones(512))
    assert figures["thd"] is None
    assert figures["displacement_factor"] is None
    assert figures["current_mean"] == 1.0
    assert figures["power_factor"] == pytest.approx(0.0, abs=1e-12)


def test_no_voltage_gives_no_power_factor() -> None:
    figures = input_figures_uniform(np.zeros(512), np.sin(angle(512)))
    assert figures["power_factor"] is None
    assert figures["displacement_factor"] is None


def test_half_wave_load_keeps_its_mean() -> None:
    """One half-wave of a sine: PF 0.707, mean 1/pi of the peak (closed form)."""
    t = angle()
    figures = input_figures_uniform(np.sin(t), np.maximum(np.sin(t), 0.0))
    assert figures["power_factor"] == pytest.approx(math.sqrt(0.5), rel=1e-6)
    assert figures["current_mean"] == pytest.approx(1 / math.pi, rel=1e-6)


def test_all_that_a_coarse_recording_can_tell_and_no_more() -> None:
    """20 samples a cycle tell orders to 9."""
    t = angle(40, 2)
    figures = input_figures_uniform(np.sin(t), np.sin(t), cycles=2)
    assert [line["order"] for line in figures["harmonics"]] == list(range(1, 10))
    with pytest.raises(ValueError, match="too few for figures"):
        input_figures_uniform(np.zeros(4), np.zeros(4), cycles=2)
    with pytest.raises(ValueError, match="give two arrays of one length"):
        input_figures_uniform(np.zeros(40), np.zeros(50))


def test_orders_run_from_1_to_40_and_everything_is_plain_json() -> None:
    figures = input_figures_uniform(np.sin(angle()), np.sin(angle()) ** 3)
    assert [line["order"] for line in figures["harmonics"]] == list(range(1, 41))
    assert figures["harmonics"][0]["percent"] == pytest.approx(100.0)
    assert figures["harmonics"][2]["percent"] == pytest.approx(100.0 / 3.0)
    assert json.loads(json.dumps(figures, allow_nan=False)) == figures


def test_a_direct_supply_gives_what_needs_no_cycle() -> None:
    figures = input_figures_direct(voltage=24.0, current=0.004)
    assert figures["power"] == pytest.approx(0.096)
    assert [key for key, value in figures.items() if value is None] == [
        "crest_factor",
        "apparent_power",
        "power_factor",
        "displacement_factor",
        "thd",
    ]


def test_keys_are_those_of_the_reference_circuits() -> None:
    """The reference solver's answer for the strip has the same keys."""
    expected = set(json.loads(STRIP.read_text(encoding="utf-8"))["input"])
    assert expected <= set(input_figures_uniform(np.sin(angle(512)), np.sin(angle(512))))
