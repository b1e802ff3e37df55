"""Means, harmonics, resampling: against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.figures import wave


def angle(n: int) -> np.ndarray:
    return 2.0 * np.pi * np.arange(n) / n


def test_a_resampled_wave_keeps_its_charge() -> None:
    """The mean over the period is that of the trapezoids, however uneven the steps (definition of the integral)."""
    rng = np.random.default_rng(1)
    t = np.concatenate(([0.0], np.sort(rng.random(300)) * 0.02, [0.02]))
    x = rng.normal(size=t.size)
    cells = wave.resample(t, x, 0.0, 0.02, 257)
    assert cells.mean() == pytest.approx(np.trapezoid(x, t) / 0.02, rel=1e-12)


def test_resampled_cells_are_centred_so_that_phase_is_right() -> None:
    """A finely stepped cosine at 30 degrees comes back with its phase and, at order 40 of 4096, within 0.02 %."""
    t = np.linspace(0.0, 0.02, 20001)
    for order in (1, 7, 40):
        cells = wave.resample(t, np.cos(2 * np.pi * 50 * order * t + np.pi / 6), 0.0, 0.02, 4096)
        phasor = wave.harmonics(cells)[order]
        assert abs(phasor) == pytest.approx(1.0, abs=2e-4)
        assert np.angle(phasor) == pytest.approx(np.pi / 6, abs=1e-5)


def test_a_step_at_one_instant_is_split_where_it_stands() -> None:
    """Two points at the same time make a vertical edge; the cell it falls in gets its share of either side."""
    t = np.array([0.0, 0.3, 0.3, 1.0])
    x = np.array([0.0, 0.0, 1.0, 1.0])
    cells = wave.resample(t, x, 0.0, 1.0, 4)
    # Cells are centred on 0, 1/4, 1/2, 3/4: the second runs from 0.125 to 0.375 and holds 0.075 of 0.25.
    assert cells == pytest.approx([0.5, 0.3, 1.0, 1.0], abs=1e-12)


def test_several_waves_are_resampled_together_and_a_longer_span_is_cut() -> None:
    t = np.linspace(-0.01, 0.05, 601)
    both = np.vstack([np.sin(100 * np.pi * t), t * 0.0 + 3.0])
    cells = wave.resample(t, both, 0.02, 0.02, 64)
    assert cells.shape == (2, 64)
    assert cells[1] == pytest.approx(np.full(64, 3.0))
    assert cells[0] == pytest.approx(wave.resample(t, both[0], 0.02, 0.02, 64))


def test_a_wave_that_does_not_cover_the_period_is_refused() -> None:
    with pytest.raises(ValueError, match=r"does not cover the period from 0 s to 0\.02 s"):
        wave.resample([0.0, 0.01], [1.0, 1.0], 0.0, 0.02, 8)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-1e3, 1e3), min_size=9, max_size=99))
def test_parseval(values: list[float]) -> None:
    """The sum of the squared harmonics is the square of the rms (Parseval's theorem)."""
    x = np.array(values[: len(values) - 1 + len(values) % 2])
    bins = wave.spectrum(x)
    total = abs(bins[0]) ** 2 + 0.5 * np.sum(np.abs(bins[1:]) ** 2)
    assert total == pytest.approx(wave.rms(x) ** 2, rel=1e-9, abs=1e-9)


def test_weights_replace_uniform_samples() -> None:
    """A piecewise-constant wave, weighted by its durations: 2 for a quarter, -1 for the rest."""
    w = np.array([0.25, 0.75])
    assert wave.mean([2.0, -1.0], w) == pytest.approx(-0.25)
    assert wave.rms([2.0, -1.0], w) == pytest.approx(np.sqrt(1.75))
    assert wave.peak([2.0, -3.0]) == 3.0


def test_harmonics_over_several_cycles_are_those_of_one() -> None:
    one = np.sin(angle(128)) + 0.2 * np.cos(3 * angle(128)) + 0.5
    h = wave.harmonics(np.tile(one, 5), cycles=5)
    assert h[0] == pytest.approx(0.5)
    assert h[1] == pytest.approx(-1j)
    assert h[3] == pytest.approx(0.2)


def test_orders_beyond_the_samples_are_refused() -> None:
    with pytest.raises(ValueError, match="64 samples over 1 cycles cannot tell order 40"):
        wave.harmonics(np.zeros(64))


def test_six_pulse_distortion_is_29_percent() -> None:
    """Ideal six-pulse spectrum 1/n, n = 5, 7, 11, ... 25: THD 29 %, as printed in a drive maker's guide."""
    h = np.zeros(41, dtype=np.complex128)
    h[1] = 1.0
    for order in (5, 7, 11, 13, 17, 19, 23, 25):
        h[order] = 1.0 / order
    thd = wave.thd(h)
    assert thd is not None
    assert round(100 * thd) == 29


def test_displacement_factor_is_signed_and_null_without_current() -> None:
    """60 degrees late: 0.5; a clamp put on the wrong way round: -0.5; no current: None."""
    v = wave.harmonics(np.sin(angle(256)))
    late = wave.harmonics(np.sin(angle(256) - np.pi / 3))
    assert wave.displacement_factor(v, late) == pytest.approx(0.5)
    assert wave.displacement_factor(v, -late) == pytest.approx(-0.5)
    assert wave.displacement_factor(v, 0.0 * late) is None
