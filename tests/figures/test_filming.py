"""The camera: what an exposure leaves of the modulation, how it rolls, and the line that says so."""

from __future__ import annotations

import numpy as np
import pytest
from tests.figures.shapes import angle, rectified

from lidoff.figures import camera, modulation_left
from lidoff.figures.filming import roll

SINE = 1.0 + 0.5 * np.sin(2 * angle(4096))


@pytest.mark.parametrize("shutter", [1 / 1000, 1 / 250, 1 / 125, 1 / 60, 1 / 30])
def test_a_sine_shrinks_by_the_sinc_of_frequency_times_exposure(shutter: float) -> None:
    """Moving average of a sine: |sin(pi f T)/(pi f T)| of its modulation is left (closed form)."""
    found = modulation_left(SINE, 50.0, shutter)
    assert found.left == pytest.approx(abs(np.sinc(100.0 * shutter)), abs=2e-4)
    assert found.percent_flicker == pytest.approx(50.0 * found.left)


@pytest.mark.parametrize("light", [SINE, rectified(4096), (np.sin(2 * angle(4096) + 1e-9) > 0).astype(float)])
@pytest.mark.parametrize("shutter", [1 / 100, 1 / 50, 1 / 25, 3 / 100])
def test_whole_periods_leave_nothing_whatever_the_shape(light: np.ndarray, shutter: float) -> None:
    """An exposure of whole periods collects the same light wherever it starts."""
    assert modulation_left(light, 50.0, shutter).left == pytest.approx(0.0, abs=1e-9)


def test_a_square_pulse_exposed_for_a_quarter_period_still_goes_out() -> None:
    """Half-on light at 100 Hz: an exposure of 2.5 ms finds 5 ms of dark, so all of the modulation is left."""
    square = (np.sin(2 * angle(4096) + 1e-9) > 0).astype(float)
    assert modulation_left(square, 50.0, 2.5e-3).left == pytest.approx(1.0, abs=2e-3)


def test_a_long_exposure_by_direct_averaging() -> None:
    """The same by running sums over the samples, for a shape with many components."""
    light = np.maximum(rectified(4000) - 0.6, 0.0)
    width = 700
    tripled = np.concatenate((light, light, light))
    sums = np.convolve(tripled, np.ones(width) / width, mode="same")[4000:8000]
    percent = 100.0 * (sums.max() - sums.min()) / (sums.max() + sums.min())
    assert modulation_left(light, 50.0, width / 4000 / 50.0).percent_flicker == pytest.approx(percent, rel=2e-3)


@pytest.mark.parametrize(
    ("frequency", "rate", "expected"),
    [
        (100.0, 25.0, 0.0),
        (100.0, 50.0, 0.0),
        (100.0, 24.0, 4.0),
        (100.0, 30.0, 10.0),
        (100.0, 60.0, 20.0),
        (120.0, 24.0, 0.0),
        (120.0, 30.0, 0.0),
        (120.0, 25.0, 5.0),
        (120.0, 50.0, 20.0),
    ],
)
def test_roll_at_common_frame_rates(frequency: float, rate: float, expected: float) -> None:
    """Distance to the nearest multiple of the frame rate (sampling theorem)."""
    assert roll(frequency, rate) == pytest.approx(expected)


def test_settings_that_hide_or_show_a_light_at_100_hertz() -> None:
    seen = camera(rectified(4096), 100.0, 50.0)
    assert seen.hiding == pytest.approx((1 / 25, 1 / 50, 1 / 100))
    assert set(seen.showing) <= {1 / 500, 1 / 1000, 1 / 2000}
    assert "1/25, 1/50 or 1/100 s averages it away" in seen.line
    assert "stands still at 25 or 50" in seen.line
    assert "4 times a second at 24, 10 times a second at 30" in seen.line


def test_the_line_tells_what_a_common_exposure_leaves() -> None:
    """1/60 s at 100 Hz leaves sinc(100/60) = 16.5 % of a sine's swing (transform of a box)."""
    line = camera(1.0 + 0.9 * np.sin(2 * angle(4096)), 100.0, 50.0).line
    left = abs(np.sinc(100.0 / 60.0))
    assert f"1/60 s leaves {100 * left:.0f} % of its swing" in line
    assert "1/50 s leaves" not in line


def test_settings_at_120_hertz() -> None:
    seen = camera(np.maximum(rectified(4096) - 0.5, 0.0), 120.0, 60.0)
    assert seen.hiding == pytest.approx((1 / 30, 1 / 60, 1 / 120))
    assert "stands still at 24, 30 or 60" in seen.line


def test_a_steady_light_is_said_to_be_steady() -> None:
    assert camera(np.ones(256), 100.0, 50.0).line == "A camera sees a steady light at every common setting."
    assert modulation_left(np.ones(256), 50.0, 0.001).left == 0.0
