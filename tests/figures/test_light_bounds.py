"""Light beside its published bounds: IEEE 1789, SVM under both fits, PstLM, EU 2019/2020."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.figures.shapes import angle, rectified
from tests.figures.test_light import figures_of

from lidoff.figures import bounds, light_comparisons, most_modulation


def compared(light: np.ndarray, mains: float = 50.0, cycles: int = 1, **said):
    figures = figures_of(light, mains, cycles)
    said = {"region": "EU", **said}
    found = light_comparisons(figures, light_uniform=light, mains_frequency=mains, cycles=cycles, **said)
    return {comparison.id: comparison for comparison in found}


@pytest.mark.parametrize(
    ("frequency", "low_risk", "no_effect"),
    [(100.0, 8.0, 3.33), (120.0, 9.6, 4.0), (50.0, 1.25, 0.5), (60.0, 1.5, 0.6)],
)
def test_lines_of_ieee_1789(frequency: float, low_risk: float, no_effect: float) -> None:
    """IEEE Std 1789-2015, 8.1.1: 0.025 f and 0.08 f; 0.01 f and 0.0333 f; the first of each below 90 Hz."""
    assert most_modulation("low risk", frequency) == pytest.approx(low_risk)
    assert most_modulation("no effect", frequency) == pytest.approx(no_effect, abs=0.005)


def test_lines_end_at_their_knees() -> None:
    """No limit above 1250 Hz and 3000 Hz; at 1250 Hz 0.08 f is all there is, 100 %."""
    assert most_modulation("low risk", 1250.0) == pytest.approx(100.0)
    assert most_modulation("low risk", 1251.0) is None
    assert most_modulation("no effect", 1251.0) is not None
    assert most_modulation("no effect", 3001.0) is None
    assert most_modulation("low risk", 89.9) == pytest.approx(0.025 * 89.9)


def test_a_sine_of_5_percent_at_100_hertz_lies_between_the_two_practices() -> None:
    found = compared(1.0 + 0.05 * np.sin(2 * angle(4096)))
    assert found["ieee-1789-low-risk"].lies == "under"
    assert found["ieee-1789-low-risk"].margin == pytest.approx(1.0 - 5.0 / 8.0)
    assert found["ieee-1789-no-effect"].lies == "over"
    assert found["ieee-1789-no-effect-by-component"].lies == "over"
    assert found["ieee-1789-seizure-prevention"].lies == "under"


def test_uneven_half_cycles_are_judged_at_mains_frequency_and_by_component() -> None:
    """6 % at 50 Hz on steady light: over 1.25 %, over 0.5 %, and over the 5 % of seizure prevention."""
    found = compared(1.0 + 0.06 * np.sin(angle(4096)))
    for id in ("ieee-1789-low-risk", "ieee-1789-no-effect", "ieee-1789-seizure-prevention"):
        assert found[id].lies == "over"
        assert found[id].worst is not None
        assert found[id].worst.value == pytest.approx(6.0, abs=1e-6)
    assert found["ieee-1789-low-risk"].worst is not None
    assert found["ieee-1789-low-risk"].worst.limit == 1.25
    # 100 Hz light that goes out, with a little of 50 Hz, is not of the hazardous kind.
    mild = compared(rectified(4096) + 0.01 * np.sin(angle(4096)))
    assert mild["ieee-1789-seizure-prevention"].lies == "under"


def test_svm_stands_under_both_fits_and_against_both_eu_figures() -> None:
    """A 25.8 % sine at 100 Hz: SVM 1.007 under one fit and 0.993 under the other, so they disagree about visibility."""
    found = compared(1.0 + 0.258 * np.sin(2 * angle(4096)))
    assert found["svm-visible-iec"].lies == "over"
    assert found["svm-visible-perz"].lies == "under"
    assert not found["svm-visible-iec"].verified
    assert found["svm-visible-perz"].verified
    for fit in ("iec", "perz"):
        assert found[f"eu-svm-0.4-{fit}"].applies
        assert not found[f"eu-svm-0.9-{fit}"].applies
        assert found[f"eu-svm-0.4-{fit}"].lies == found[f"eu-svm-0.9-{fit}"].lies == "over"
    assert found["eu-svm-0.4-perz"].basis.edition == "2019 as amended by (EU) 2021/341"


def test_requirements_of_another_region_or_at_a_dimmed_position_do_not_apply() -> None:
    light = rectified(4096)
    for said, remark in (
        ({"region": "US"}, "not the law in the region US"),
        ({"region": "GB"}, "Great Britain has rules of its own"),
        ({"dimmed": True}, "dimmed position"),
        ({"region": None}, "not the law everywhere"),
    ):
        found = compared(light, **said)
        for id in ("eu-svm-0.4-iec", "eu-pst-lm"):
            assert not found[id].applies
            assert any(remark in line for line in found[id].scope)
        assert found["ieee-1789-low-risk"].applies


def test_pst_lm_bound() -> None:
    """8 % sine at 8.8 Hz is far over 1, a 100 Hz ripple far under."""
    assert compared(1.0 + 0.08 * np.sin(angle(4096)), 8.8)["eu-pst-lm"].lies == "over"
    assert compared(rectified(4096))["eu-pst-lm"].lies == "under"


def test_a_fast_light_has_no_line_left() -> None:
    """Components from 3200 Hz up alone: no limit above 3000 Hz."""
    light = 1.0 + 0.5 * np.sin(2 * angle(4096))
    figures = figures_of(light, 1600.0)
    found = {c.id: c for c in light_comparisons(figures, light_uniform=light, mains_frequency=1600.0)}
    assert found["ieee-1789-no-effect"].lies is None
    assert "No limit above 3000 Hz." in found["ieee-1789-no-effect"].scope
    assert "ieee-1789-seizure-prevention" not in found


def test_dark_or_absent_light_has_no_bounds() -> None:
    assert bounds(None, light_uniform=np.zeros(64), mains_frequency=50.0) == []
    dark = {"percent_flicker": None}
    assert bounds(dark, light_uniform=np.zeros(64), mains_frequency=50.0) == []


def test_coarse_light_leaves_svm_out() -> None:
    light = 1.0 + 0.1 * np.sin(2 * angle(64))
    found = compared(light)
    assert not any(id.startswith("svm") for id in found)
    assert "ieee-1789-low-risk" in found


def test_printed_form_is_plain_json_and_says_nothing_passes() -> None:
    light = rectified(4096)
    said = bounds(figures_of(light), light_uniform=light, mains_frequency=50.0, region="EU")
    text = json.dumps(said, allow_nan=False).lower()
    for word in ("pass", "comply", "complies", "complian", "conform", "fail", "safe"):
        assert word not in text
    assert len({entry["id"] for entry in said}) == len(said)
    assert all(entry["edition"] and entry["clause"] for entry in said)
