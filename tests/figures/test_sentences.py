"""Figures in words: what a viewer is told, and that unpleasant and hazardous are told apart."""

from __future__ import annotations

import numpy as np
import pytest
from tests.figures.shapes import angle, rectified
from tests.figures.test_light import figures_of

from lidoff.figures import (
    CORNER_OF_THE_EYE,
    at_other_mains,
    input_figures_uniform,
    input_sentences,
    light_sentences,
    warning,
)
from lidoff.figures.comparison import number

STRIP = np.maximum(rectified(4096) - 0.54, 0.0)


def told(light: np.ndarray, mains: float = 50.0) -> dict[str, str]:
    return {sentence.key: sentence.text for sentence in light_sentences(figures_of(light, mains))}


def test_a_light_that_goes_out() -> None:
    found = told(STRIP)
    assert found["light.percent_flicker"] == "The light goes out altogether 100 times a second (percent flicker 100 %)."
    assert "44 % stands out above its mean level" in found["light.flicker_index"]
    assert "several sharp copies" in found["light.svm"]
    assert "no flicker that the eye sees directly" in found["light.pst_lm"]


def test_a_light_that_dips_and_one_that_is_steady() -> None:
    """30 % flicker: the least is 0.7/1.3 = 54 % of the brightest."""
    assert (
        "dips 120 times a second, to 54 % of its brightest"
        in told(1.0 + 0.3 * np.sin(2 * angle(4096)), 60.0)["light.percent_flicker"]
    )
    assert told(np.ones(4096))["light.percent_flicker"].startswith("The light is steady")


@pytest.mark.parametrize(
    ("depth", "words"),
    [(0.05, "as they should to nearly everybody"), (0.2, "some people notice"), (0.5, "most people can see")],
)
def test_stroboscopic_words_follow_svm(depth: float, words: str) -> None:
    assert words in told(1.0 + depth * np.sin(2 * angle(4096)))["light.svm"]


def test_visible_flicker_is_named() -> None:
    assert "bothered" in told(1.0 + 0.1 * np.sin(angle(4096)), 8.8)["light.pst_lm"]


def test_a_dark_or_absent_light() -> None:
    assert [s.text for s in light_sentences({"percent_flicker": None})] == ["The light is off."]
    assert light_sentences(None) == ()


def test_warning_tells_unpleasant_from_hazardous() -> None:
    """100 Hz over the low-risk line is unpleasant; 5 % and more below 90 Hz is hazardous (IEEE Std 1789, 8.1.1)."""
    unpleasant = warning(figures_of(STRIP))
    assert unpleasant is not None
    assert "flickers 100 times a second" in unpleasant
    assert "headache" in unpleasant
    assert "epilepsy" not in unpleasant
    uneven = STRIP.copy()
    uneven[2048:] *= 0.8
    hazardous = warning(figures_of(uneven))
    assert hazardous is not None
    assert "slower than 90 times a second" in hazardous
    assert "epilepsy" in hazardous
    mild = STRIP.copy()
    mild[2048:] *= 0.985
    still_unpleasant = warning(figures_of(mild))
    assert still_unpleasant is not None
    assert "epilepsy" not in still_unpleasant


def test_no_warning_for_a_steady_or_absent_light() -> None:
    assert warning(figures_of(1.0 + 0.05 * np.sin(2 * angle(4096)))) is None
    assert warning(None) is None
    assert warning({"percent_flicker": None}) is None


def test_the_corner_of_the_eye_is_said_to_be_covered_by_no_metric() -> None:
    assert "No accepted metric" in CORNER_OF_THE_EYE
    assert "SVM" in CORNER_OF_THE_EYE
    assert "IEEE Std 1789" in CORNER_OF_THE_EYE


def test_input_sentences_explain_a_power_factor_that_looks_odd() -> None:
    voltage = np.sin(angle(4096))
    strip = input_figures_uniform(voltage, np.sign(voltage) * STRIP)
    found = {s.key: s.text for s in input_sentences(strip)}
    assert "Of every 100 VA that the mains must carry, 93 W are used" in found["input.power_factor"]
    assert "the current's shape, not its timing" in found["input.displacement_factor"]
    late = input_figures_uniform(voltage, np.sin(angle(4096) - 1.0))
    assert (
        "comes from the current's timing ("
        in {s.key: s.text for s in input_sentences(late)}["input.displacement_factor"]
    )
    pure = input_figures_uniform(voltage, voltage)
    assert "hardly anything" in {s.key: s.text for s in input_sentences(pure)}["input.displacement_factor"]
    nothing = input_figures_uniform(voltage, 0.0 * voltage)
    assert [s.text for s in input_sentences(nothing)] == ["No current flows that is worth a figure."]


def test_the_other_mains() -> None:
    """120 V 60 Hz against 230 V 50 Hz: frequency, line and SVM move; limits come or go."""
    american = at_other_mains(figures_of(STRIP, 60.0), STRIP, 60.0)
    assert american.startswith("At 230 V 50 Hz the light would beat at 100 Hz, where the low-risk line stands at 8 %")
    assert "would set limits" in american
    european = at_other_mains(figures_of(STRIP), STRIP, 50.0)
    assert european.startswith("At 120 V 60 Hz the light would beat at 120 Hz, where the low-risk line stands at 9.6 %")
    assert "no limits" in european
    assert "solved again" in european
    assert at_other_mains(None, STRIP, 50.0).startswith("At 120 V 60 Hz IEC 61000-3-2 would set no limits")


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (5e-18, "0"), (0.00032, "0.00032"), (0.501, "0.501"), (39.32, "39.3"), (1234.6, "1235")],
)
def test_numbers_are_shown_to_three_digits_without_powers_of_ten(value: float, text: str) -> None:
    assert number(value) == text
