"""The light flickermeter: response, amplitudes for PstLM = 1, closed form against the filters run in time."""

from __future__ import annotations

import numpy as np
import pytest
from tests.figures.shapes import angle, lines, printed, rectified

from lidoff.figures import pst_lm, pst_lm_recording
from lidoff.figures.pst import SCALE, pst_of_levels, response


@pytest.mark.parametrize("line", lines("pst_lm_amplitudes.csv"), ids=lambda line: f"{line['frequency']} Hz")
def test_amplitude_for_pst_of_one(line: dict[str, str]) -> None:
    """IEC TR 61547-1 coefficients, ripple of the smoothing neglected: a constant level P gives sqrt(0.5096 P)."""
    gain = abs(response(np.array([float(line["frequency"])]))[0])
    amplitude = 100.0 / np.sqrt(0.5096 * SCALE / 2.0 * gain**2)
    assert amplitude == pytest.approx(float(line["percent"]), abs=printed(line["percent"]))


@pytest.mark.parametrize("frequency", ["8.8", "10", "15", "20", "30"])
def test_the_whole_meter_reads_one_at_these_amplitudes(frequency: str) -> None:
    """From 8.8 Hz on the ripple of the 300 ms smoothing is small: the meter reads 1 within 1.5 %."""
    percent = next(float(line["percent"]) for line in lines("pst_lm_amplitudes.csv") if line["frequency"] == frequency)
    light = 1.0 + percent / 100.0 * np.sin(angle(512))
    assert pst_lm(light, float(frequency)) == pytest.approx(1.0, abs=0.015)


def test_weights_add_up_to_what_a_constant_level_gives() -> None:
    """0.0314 + 0.0525 + 0.0657 + 0.28 + 0.08 = 0.5096."""
    assert pst_of_levels(np.full(1000, 3.0)) == pytest.approx(np.sqrt(0.5096 * 3.0))


def test_levels_are_exceeded_for_their_share_of_the_time() -> None:
    """A level that runs evenly from 0 to 1 exceeds 1 - p for the share p: the smoothed percentiles by hand."""
    p = {
        0.0314: [0.1],
        0.0525: [0.7, 1.0, 1.5],
        0.0657: [2.2, 3.0, 4.0],
        0.28: [6, 8, 10, 13, 17],
        0.08: [30, 50, 80],
    }
    expected = sum(weight * np.mean([1.0 - share / 100.0 for share in shares]) for weight, shares in p.items())
    assert pst_of_levels(np.linspace(0.0, 1.0, 100001)) == pytest.approx(np.sqrt(expected), rel=1e-4)


@pytest.mark.parametrize(
    ("mains", "light"),
    [
        (8.8, 1.0 + 0.01 * np.sin(angle(512))),
        (2.0, 1.0 + 0.02 * np.sign(np.sin(angle(512) + 1e-9))),
        (25.0, 1.0 + 0.1 * np.sin(angle(512)) + 0.5 * np.sin(4 * angle(512))),
    ],
    ids=["sine 8.8 Hz", "square 2 Hz", "subharmonic 25 Hz with 100 Hz"],
)
def test_closed_form_and_filters_in_time_agree(mains: float, light: np.ndarray) -> None:
    """The same light tiled for 45 s through digital filters: within 1 %."""
    rate = 4000.0
    t = np.arange(int(45 * rate)) / rate
    recorded = np.interp(np.mod(t * mains, 1.0), np.arange(513) / 512, np.append(light, light[0]))
    assert pst_lm_recording(recorded, rate) == pytest.approx(pst_lm(light, mains), rel=0.01)


def test_hundred_hertz_is_next_to_nothing_and_fifty_is_more() -> None:
    """The eye's low-pass: a light that goes out at 100 Hz stays under 0.2; half-cycles 10 % apart are seen."""
    even = rectified(4096)
    low = pst_lm(even, 50.0)
    uneven = even.copy()
    uneven[2048:] *= 0.9
    high = pst_lm(uneven, 50.0)
    assert low is not None
    assert high is not None
    assert low < 0.2
    assert high > 2.0 * low


def test_dark_and_unusable_recordings() -> None:
    assert pst_lm(np.zeros(64), 50.0) is None
    with pytest.raises(ValueError, match="needs 2000 samples a second or more, the recording has 1000"):
        pst_lm_recording(np.ones(100000), 1000.0)
    with pytest.raises(ValueError, match="needs 40 s of light or more, the recording has 10 s"):
        pst_lm_recording(np.ones(20000), 2000.0)
    with pytest.raises(ValueError, match="the recording is dark"):
        pst_lm_recording(np.zeros(100000), 2000.0)
