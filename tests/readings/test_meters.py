"""What meters show, against the ratios of meter manuals and closed forms."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from lidoff.readings import meters

N = 20_000
ANGLE = 2.0 * math.pi * np.arange(N) / N
SINE = np.sin(ANGLE)
SPAN = 0.02


def waves() -> dict[str, tuple[np.ndarray, bool]]:
    pulse = lambda duty: np.where(np.arange(N) < duty * N, 1.0, 0.0)  # noqa: E731
    return {
        "square 2 V peak to peak": (np.sign(np.sin(ANGLE + 1e-9)), True),
        "full-wave rectified sine 1.414 V peak ac-coupled": (math.sqrt(2.0) * np.abs(SINE), True),
        "half-wave rectified sine 2 V peak ac-coupled": (2.0 * np.maximum(SINE, 0.0), True),
        "triangle": (2.0 / math.pi * np.arcsin(SINE), True),
        "pulse of duty 0.5 dc-coupled": (pulse(0.5), False),
        "sine cut to 90-180 degrees": (np.where(ANGLE % math.pi >= math.pi / 2.0, SINE, 0.0), True),
        "pulse of duty 0.25 dc-coupled": (pulse(0.25), False),
    }


def test_form_factor_table(reference: Path) -> None:
    """Average-responding against true rms: the table of meter manuals, and 1.1107 x mean|x| / rms."""
    with (reference / "readings" / "form_factors.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 7
    for row in rows:
        wave, coupled = waves()[row["wave"]]
        average = meters.average_responding(wave, coupled=coupled)
        true = meters.ac_rms(wave) if coupled else meters.rms(wave)
        if row["average_responding"]:
            # The manual's 0.764 for the half-wave does not follow from the principle, which gives 0.7794 in closed
            # form; its other figures do. Ours is held to the closed form, the manual's to within 2.1 %.
            assert average == pytest.approx(float(row["exact_average"]), abs=2e-4), row["wave"]
            assert float(row["average_responding"]) == pytest.approx(average, rel=0.021), row["wave"]
            assert true == pytest.approx(float(row["true_rms"]), abs=1e-3), row["wave"]
        else:
            assert average / true == pytest.approx(float(row["ratio"]), abs=1.2e-3), row["wave"]


def test_average_meter_is_right_on_a_sine() -> None:
    """Scaled by the form factor of a sine, pi/(2 sqrt 2), it shows a sine's rms."""
    assert pytest.approx(1.1107, abs=1e-4) == meters.FORM_FACTOR
    assert meters.average_responding(325.0 * SINE) == pytest.approx(325.0 / math.sqrt(2.0), rel=1e-6)


def test_narrow_pulses_read_44_percent_low() -> None:
    """A rectangular pulse of a quarter of the time: 1.1107 sqrt(0.25) = 0.555 (the handbook's 44 % low)."""
    pulse = np.where(np.arange(N) % (N // 2) < N // 8, 1.0, 0.0) * np.sign(SINE + 1e-12)
    assert meters.average_responding(pulse) / meters.rms(pulse) == pytest.approx(0.555, abs=1e-3)


def test_clamp_droop_has_the_decay_of_its_corner() -> None:
    """Behind a first-order high-pass the blocked half of a half-wave decays with the time constant of the corner."""
    corner = 9.0
    shown = meters.high_pass(np.maximum(SINE, 0.0), SPAN, corner)
    assert abs(shown.mean()) < 1e-9
    blocked = np.abs(shown[int(0.55 * N) : int(0.95 * N)])
    time = np.arange(blocked.size) * SPAN / N
    decay = -1.0 / np.polyfit(time, np.log(blocked), 1)[0]
    assert decay == pytest.approx(1.0 / (2.0 * math.pi * corner), rel=0.01)


def test_high_pass_at_zero_takes_the_mean_only() -> None:
    """With its corner at nought a clamp shows the wave less its mean."""
    wave = 3.0 + SINE
    assert np.allclose(meters.high_pass(wave, SPAN, 0.0), SINE, atol=1e-9)


def test_low_pass_halves_power_at_its_corner() -> None:
    """A first-order low-pass leaves 1/sqrt 2 of a sine at its corner."""
    tone = np.sin(20.0 * ANGLE)
    left = meters.low_pass(tone, SPAN, 20.0 / SPAN)
    assert meters.rms(left) == pytest.approx(meters.rms(tone) / math.sqrt(2.0), rel=1e-6)


def test_sampling_loses_what_is_beyond_half_its_rate() -> None:
    """Samples at 2 kHz hold the harmonics up to 1 kHz (sampling theorem)."""
    wave = SINE + 0.3 * np.sin(19.0 * ANGLE) + 0.2 * np.sin(21.0 * ANGLE)
    assert np.allclose(meters.below(wave, SPAN, 1000.0), SINE + 0.3 * np.sin(19.0 * ANGLE), atol=1e-9)


def test_crest_factor_overload_reads_low() -> None:
    """Beyond its crest factor a meter clips; within it it shows the rms (limit 3: typical of hand meters)."""
    pulse = np.where(np.arange(N) < N // 50, 1.0, 0.0)
    assert meters.crest(pulse) == pytest.approx(math.sqrt(50.0), rel=1e-3)
    assert meters.overloaded(pulse, 3.0) < 0.5 * meters.rms(pulse)
    assert meters.overloaded(SINE, 3.0) == pytest.approx(meters.rms(SINE), rel=1e-9)


def test_percent_flicker_definition() -> None:
    """100 (max - min)/(max + min): 30 % for 1 + 0.3 sin, 100 % for a light that goes out (IES definition)."""
    assert meters.percent_flicker(1.0 + 0.3 * SINE) == pytest.approx(30.0, rel=1e-5)
    assert meters.percent_flicker(SINE**2) == pytest.approx(100.0)
    assert meters.percent_flicker(np.zeros(10)) is None
