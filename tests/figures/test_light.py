"""Light figures: flicker definitions, frequency, SVM of eight waveforms under both fits, LED strings."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.figures.shapes import above, angle, lines, printed, rectified

from lidoff.figures import light_figures
from lidoff.figures.stroboscopic import (
    relative_components,
    svm,
    svm_of_components,
    threshold_iec,
    threshold_perz,
)

LIGHTS = {
    "1 + sin, 100 % (same as sin^2)": lambda: np.sin(angle()) ** 2,
    "1 + 0.1 sin": lambda: 1.0 + 0.1 * np.sin(2 * angle()),
    "square, 50 % duty": lambda: (np.sin(2 * angle() + 1e-9) > 0.0).astype(float),
    "square, 25 % duty": lambda: (np.mod(angle() + 1e-9, np.pi) < np.pi / 4).astype(float),
    "full-wave rectified sine abs(sin)": rectified,
    "symmetric triangle to zero": lambda: np.abs(np.arcsin(np.sin(angle()))),
    "abs(sin) minus 0.5 of peak, clipped at 0": lambda: np.maximum(rectified() - 0.5, 0.0),
    "constant light only while abs(sin) > 0.7": lambda: above(0.7),
}


def figures_of(light: np.ndarray, mains: float = 50.0, cycles: int = 1) -> dict:
    found = light_figures(
        light_uniform=light,
        mains_frequency=mains,
        cycles=cycles,
        light_mean=float(light.mean()),
        light_max=float(light.max()),
        light_min=float(light.min()),
        mean_current=0.02,
        sources=["LED1"],
    )
    assert found is not None
    return found


@pytest.mark.parametrize("line", lines("svm_waveforms.csv"), ids=lambda line: line["light"])
def test_eight_waveforms_under_both_fits_and_at_both_frequencies(line: dict[str, str]) -> None:
    """Percent flicker and flicker index (IES); SVM (IEC TR 63158, and Perz et al. 2018), computed from definitions."""
    light = LIGHTS[line["light"]]()
    found = figures_of(light)
    assert found["percent_flicker"] == pytest.approx(float(line["percent_flicker"]), rel=1e-6)
    assert found["flicker_index"] == pytest.approx(float(line["flicker_index"]), abs=1e-4)
    assert found["svm"] == svm(light, 50.0)
    for mains, at in ((50.0, "100"), (60.0, "120")):
        assert svm(light, mains, fit="IEC TR 63158") == pytest.approx(float(line[f"logistic_{at}"]), abs=1e-3)
        assert svm(light, mains, fit="Perz 2018") == pytest.approx(float(line[f"power_{at}"]), abs=1e-3)


@pytest.mark.parametrize("line", lines("svm_thresholds.csv"), ids=lambda line: f"{line['frequency']} Hz")
def test_thresholds_of_both_fits(line: dict[str, str]) -> None:
    f = np.array([float(line["frequency"])])
    assert threshold_perz(f)[0] == pytest.approx(float(line["power law"]), abs=printed(line["power law"]))
    assert threshold_iec(f)[0] == pytest.approx(float(line["logistic"]), abs=printed(line["logistic"]))


@pytest.mark.parametrize(
    ("mains", "fit", "depths"),
    [
        (50.0, "Perz 2018", (10.4, 23.4, 26.0)),
        (50.0, "IEC TR 63158", (10.3, 23.1, 25.6)),
        (60.0, "Perz 2018", (10.9, 24.4, 27.1)),
        (60.0, "IEC TR 63158", (11.0, 24.8, 27.6)),
    ],
)
def test_depth_of_a_sine_for_a_given_svm(mains: float, fit: str, depths: tuple[float, ...]) -> None:
    """Modulation depth of a sine for SVM 0.4, 0.9 and 1.0, from the thresholds."""
    for target, depth in zip((0.4, 0.9, 1.0), depths, strict=True):
        light = 1.0 + depth / 100.0 * np.sin(2 * angle(4096))
        assert svm(light, mains, fit=fit) == pytest.approx(target, abs=0.003)


@pytest.mark.parametrize("line", lines("led_string.csv"), ids=lambda line: f"r={line['r']}")
def test_flicker_index_of_led_strings(line: dict[str, str]) -> None:
    """Resistor-fed and constant-current strings; the latter's index is 1 - conduction/180, percent flicker 100."""
    r = float(line["r"])
    fine = 1 << 17
    resistor, constant = figures_of(np.maximum(rectified(fine) - r, 0.0)), figures_of(above(r, fine))
    assert resistor["flicker_index"] == pytest.approx(float(line["resistor_fi"]), abs=6e-5)
    assert constant["flicker_index"] == pytest.approx(float(line["constant_fi"]), abs=7e-5)
    assert constant["flicker_index"] == pytest.approx(1.0 - float(line["conduction_deg"]) / 180.0, abs=5e-5)
    assert resistor["percent_flicker"] == constant["percent_flicker"] == 100.0


@pytest.mark.parametrize(
    ("light", "percent", "index"),
    [
        (np.sin(angle()) ** 2, 100.0, 0.3183),
        (rectified(), 100.0, 0.2105),
        (1.0 + 0.3 * np.sin(2 * angle()), 30.0, 0.0955),
    ],
    ids=["sin squared", "rectified sine", "30 % sine"],
)
def test_published_flicker_figures(light: np.ndarray, percent: float, index: float) -> None:
    """Definitions and figures as printed in a lighting design page on flicker (IES definitions)."""
    found = figures_of(light)
    assert found["percent_flicker"] == pytest.approx(percent, rel=1e-4)
    assert found["flicker_index"] == pytest.approx(index, abs=1e-4)


def test_frequency_is_twice_the_mains_unless_half_cycles_differ() -> None:
    """Ours: a slower component counts over 1 % of the mean, or over IEEE 1789's no-effect line (0.5 % at 50 Hz)."""
    even = rectified(4096)
    assert figures_of(even)["frequency"] == 100.0
    assert figures_of(even, 60.0)["frequency"] == 120.0
    ripple = np.sin(angle(4096))
    mean = float(even.mean())
    assert figures_of(even + 0.004 * mean * ripple)["frequency"] == 100.0
    assert figures_of(even + 0.006 * mean * ripple)["frequency"] == 50.0
    assert figures_of(1.0 + 0.0 * even)["frequency"] == 100.0


def test_a_subharmonic_is_found_over_several_cycles() -> None:
    """Every second mains cycle weaker: 25 Hz at 50 Hz mains."""
    two = np.tile(rectified(2048), 2)
    two[2048:] *= 0.8
    assert figures_of(two, 50.0, 2)["frequency"] == 25.0
    assert figures_of(np.tile(rectified(2048), 2), 50.0, 2)["frequency"] == 100.0


def test_slow_modulation_is_the_largest_component_below_90_hertz() -> None:
    light = 1.0 + 0.03 * np.sin(angle(4096)) + 0.5 * np.sin(2 * angle(4096))
    assert figures_of(light)["slow_modulation"] == pytest.approx(3.0)
    assert figures_of(light, 60.0)["slow_modulation"] == pytest.approx(3.0)
    assert figures_of(light, 100.0)["slow_modulation"] == 0.0


def test_components_outside_80_hertz_to_2_kilohertz_do_not_count() -> None:
    f = np.array([50.0, 79.9, 2000.1, 5000.0])
    assert svm_of_components(np.ones(4), f) == 0.0
    assert svm_of_components(np.ones(1), np.array([2000.0])) == pytest.approx(1.0 / 0.9998, rel=1e-4)
    # 60 Hz times 33.33...: order 40 of 50 Hz stands at 2000 Hz and counts.
    light = 1.0 + 0.1 * np.sin(40 * angle(4096))
    assert svm(light, 50.0) == pytest.approx(0.1 / 0.9998, rel=1e-3)


def test_svm_needs_samples_up_to_2_kilohertz() -> None:
    with pytest.raises(ValueError, match="more than 4000 samples a second"):
        svm(rectified(80), 50.0)
    assert figures_of(rectified(80))["svm"] is None
    assert figures_of(rectified(4096))["svm"] is not None


def test_no_source_gives_none_and_a_dark_one_nulls() -> None:
    dark = np.zeros(256)
    nothing = {
        "light_uniform": dark,
        "mains_frequency": 50.0,
        "cycles": 1,
        "light_mean": 0.0,
        "light_max": 0.0,
        "light_min": 0.0,
        "mean_current": 0.0,
    }
    assert light_figures(**nothing, sources=[]) is None
    found = light_figures(**nothing, sources=["LED1"])
    assert found is not None
    assert found["sources"] == ["LED1"]
    assert found["mean_current"] == 0.0
    assert {key for key, value in found.items() if value is None} == {
        "frequency",
        "slow_modulation",
        "percent_flicker",
        "flicker_index",
        "svm",
        "pst_lm",
    }


def test_a_hair_of_reverse_leak_is_no_negative_light() -> None:
    light = np.maximum(rectified(4096) - 0.5, 0.0) - 1e-9
    assert figures_of(light)["percent_flicker"] == 100.0


def test_pst_can_be_left_out_and_everything_is_plain_json() -> None:
    light = rectified(4096)
    arguments = {
        "light_uniform": light,
        "mains_frequency": 50.0,
        "cycles": 1,
        "light_mean": float(light.mean()),
        "light_max": np.float64(1.0),
        "light_min": np.float64(0.0),
        "mean_current": np.float64(0.02),
        "sources": ("LED1",),
    }
    without = light_figures(**arguments, with_pst=False)
    assert without is not None
    assert without["pst_lm"] is None
    full = light_figures(**arguments)
    assert json.loads(json.dumps(full, allow_nan=False)) == full


@given(st.floats(0.01, 0.99), st.floats(0.1, 50.0), st.floats(0.0, 2 * math.pi))
def test_brightness_and_phase_do_not_change_flicker(depth: float, scale: float, phase: float) -> None:
    light = 1.0 + depth * np.sin(2 * angle(512))
    turned = scale * (1.0 + depth * np.sin(2 * angle(512) + phase))
    assert svm(turned, 50.0) == pytest.approx(svm(light, 50.0), rel=1e-9)
    assert svm(light, 50.0) == pytest.approx(depth / threshold_iec(np.array([100.0]))[0], rel=1e-9)
    components, frequency = relative_components(turned, 50.0)
    assert abs(components[1]) == pytest.approx(depth)
    assert frequency[1] == 100.0
