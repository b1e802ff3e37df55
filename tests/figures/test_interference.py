"""The interference estimate: the network's impedance, steps found, levels against hand sums, filters, words."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.figures.shapes import angle, rectified

from lidoff.figures import attenuation, estimate, find_edges
from lidoff.figures.interference import step_level
from lidoff.figures.mains_network import nominal_impedance
from lidoff.figures.receiver import impulse_to_reading
from lidoff.standards.emission import NETWORK, conducted_limit


def phase_cut(degrees: float, peak: float, samples: int = 8192) -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(samples + 1) / samples * 0.02
    phase = 2.0 * np.pi * 50.0 * t
    on = np.mod(phase, np.pi) >= np.radians(degrees)
    return t, np.where(on, peak * np.sin(phase), 0.0)


@pytest.mark.parametrize(
    ("frequency", "size", "phase"),
    [(9e3, 5.22, 26.55), (15e3, 6.22, 38.41), (20e3, 7.25, 44.97), (25e3, 8.38, 49.39), (30e3, 9.56, 52.33)],
)
def test_network_has_the_published_impedance(frequency: float, size: float, phase: float) -> None:
    """CISPR 16-1-2, impedance of the 50 ohm / 50 uH + 5 ohm network: magnitude and phase, values from memory."""
    found = nominal_impedance(np.array([frequency]))[0]
    assert abs(found) == pytest.approx(size, abs=0.01)
    assert np.degrees(np.angle(found)) == pytest.approx(phase, abs=0.02)


def test_network_ends_in_its_receiver() -> None:
    """At 30 MHz nothing but the 50 ohm of the receiver is left."""
    assert abs(nominal_impedance(np.array([30e6]))[0]) == pytest.approx(50.0, rel=1e-3)


def test_elements_of_the_network_meet_the_nominal_impedance_within_its_tolerance() -> None:
    """Element by element (from memory of CISPR 16-1-2, Annex A), mains side open: within the document's 20 %."""
    f = np.geomspace(9e3, 30e6, 200)
    s = 2j * np.pi * f
    e = NETWORK.number

    def beside(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return a * b / (a + b)

    mains = e("mains-side damping") + 1.0 / (s * e("mains-side capacitor"))
    inner = beside(e("damping") + 1.0 / (s * e("damping capacitor")), s * e("mains-side inductance") + mains)
    receiver = 1.0 / (s * e("coupling capacitor")) + 1.0 / (1.0 / e("receiver") + 1.0 / e("bleed"))
    whole = beside(s * e("inductance") + inner, receiver)
    share = np.abs(whole) / np.abs(nominal_impedance(f))
    assert share.min() > 0.8
    assert share.max() < 1.2


def test_quasi_peak_calibration_impulses_read_as_their_sine() -> None:
    """CISPR 16-1-1 (from memory): 13.5 uVs at 25 Hz in band A and 0.316 uVs at 100 Hz in band B read as 2 mV."""
    assert 13.5e-6 * impulse_to_reading(np.array([100e3]), 25.0)[0] == pytest.approx(2e-3)
    assert 0.316e-6 * impulse_to_reading(np.array([1e6]), 100.0)[0] == pytest.approx(2e-3)
    # 100 repetitions a second need 4 dB less than 25 in band A; 20 need 6.5 dB more than 100 in band B.
    gain = impulse_to_reading(np.array([100e3]), 100.0)[0] / impulse_to_reading(np.array([100e3]), 25.0)[0]
    assert 20 * np.log10(gain) == pytest.approx(4.0)
    gain = impulse_to_reading(np.array([1e6]), 20.0)[0] / impulse_to_reading(np.array([1e6]), 100.0)[0]
    assert 20 * np.log10(gain) == pytest.approx(-6.5)


def test_quasi_peak_lies_under_the_peak_that_a_receiver_would_show() -> None:
    """A 9 kHz filter (6 dB) of two tuned stages has an impulse bandwidth near 1.05 x 9 kHz: its peak, as the rms of a
    sine, is sqrt2 x bandwidth x area; quasi-peak at 100 Hz lies 6.6 dB below it (CISPR 16-1-1, from memory)."""
    peak = np.sqrt(2.0) * 1.05 * 9e3
    assert 20 * np.log10(peak / impulse_to_reading(np.array([1e6]), 100.0)[0]) == pytest.approx(6.6, abs=0.3)


def test_edges_of_a_phase_cut_current() -> None:
    """Cut at 90 degrees, 0.2 A peak: two steps of 0.2 A, 10 ms apart, of opposite sign."""
    t, current = phase_cut(90.0, 0.2)
    edges = find_edges(t, current, 0.02)
    assert [edge.step for edge in edges] == pytest.approx([0.2, -0.2], rel=1e-3)
    assert [edge.time for edge in edges] == pytest.approx([0.005, 0.015], abs=5e-6)
    assert all(edge.rise <= 20e-6 for edge in edges)


def test_edges_on_uneven_steps_and_of_no_duration() -> None:
    """A solved wave: long steps where it is smooth, a vertical edge of two points at one time."""
    t = np.array([0.0, 2e-3, 5e-3, 5e-3, 7e-3, 10e-3])
    current = np.array([0.0, 0.0, 0.0, 0.15, 0.1, 0.0])
    edges = find_edges(t, current, 0.02)
    assert len(edges) == 1
    assert edges[0].step == pytest.approx(0.15)
    assert edges[0].rise == 0.0


@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.7, 0.95])
def test_a_step_that_falls_inside_a_cell_keeps_its_height(share: float) -> None:
    """Cell averages of 2048 samples split a step over two gaps, in any proportion: its height comes back whole."""
    n = 2048
    t = np.arange(n) * 0.02 / n
    current = np.where(np.arange(n) > 600, 0.3, 0.0)
    current[600] = 0.3 * share
    current[1600:] = 0.0
    current[1600] = 0.3 * (1.0 - share)
    edges = find_edges(t, current, 0.02)
    assert [edge.step for edge in edges] == pytest.approx([0.3, -0.3])


def test_a_charging_pulse_is_a_slope_and_the_steepest_part_of_a_long_rise_an_edge() -> None:
    """A rise over 3 degrees (167 us) is none; a jump of 0.2 A that a slower rise follows is one of 0.2 A."""
    t = np.linspace(0.0, 0.02, 8001)
    pulse = np.interp(t, [0.0035, 0.0035 + 167e-6, 0.005], [0.0, 0.2, 0.0], left=0.0, right=0.0)
    assert find_edges(t, pulse, 0.02) == ()
    led = np.interp(t, [0.005, 0.0050025, 0.0055, 0.01], [0.0, 0.2, 0.55, 0.0], left=0.0, right=0.0)
    edges = find_edges(t, led, 0.02)
    assert len(edges) == 1
    assert edges[0].step == pytest.approx(0.2, abs=0.05)


def test_a_smooth_current_has_no_edges() -> None:
    t = np.linspace(0.0, 0.02, 4097)
    for wave in (np.sin(100 * np.pi * t), np.maximum(np.abs(np.sin(100 * np.pi * t)) - 0.7, 0.0)):
        assert find_edges(t, wave, 0.02) == ()
    assert find_edges(t, 0.0 * t, 0.02) == ()


def test_a_coarse_recording_cannot_tell_steps() -> None:
    with pytest.raises(ValueError, match="40 us apart cannot tell a step from a slope; give 50000 samples a second"):
        find_edges(np.arange(501) * 40e-6, rectified(501), 0.02)


def test_level_at_150_kilohertz_by_hand() -> None:
    """0.1 A, 100 times a second: 32.7 ohm x 0.1 A/(2 pi 150 kHz) = 3.47 uVs, x 2 mV/0.316 uVs = 22.0 mV = 86.8 dBuV."""
    assert step_level(np.array([150e3]), 0.1, 100.0)[0] == pytest.approx(86.8, abs=0.1)


def test_the_lines_of_the_spectrum_have_the_same_density() -> None:
    """Harmonic n of two opposite steps a cycle has sqrt2 x D/(pi n) rms; D/(2 pi f) is that over 2 sqrt2 x 50 Hz."""
    n = 1 << 17
    square = 0.05 * np.sign(np.sin(angle(n) + 1e-9))
    order = 401
    line = np.abs(np.fft.rfft(square)[order]) * 2.0 / n / np.sqrt(2.0)
    assert line == pytest.approx(np.sqrt(2.0) * 0.1 / (np.pi * order), rel=1e-3)
    assert line / (2.0 * np.sqrt(2.0) * 50.0) == pytest.approx(0.1 / (2.0 * np.pi * order * 50.0), rel=1e-3)


def test_a_slow_step_falls_off_above_its_corner() -> None:
    """2 us: unchanged at 100 kHz, 20 log10(pi x 1 MHz x 2 us) = 16 dB less at 1 MHz."""
    f = np.array([100e3, 1e6])
    less = step_level(f, 0.1, 100.0) - step_level(f, 0.1, 100.0, rise=2e-6)
    assert less == pytest.approx([0.0, 20 * np.log10(2 * np.pi)], abs=1e-9)


def test_a_load_that_is_small_against_the_network_takes_some_of_the_step() -> None:
    f = np.array([1e6])
    given = step_level(f, 0.1, 100.0)
    assert step_level(f, 0.1, 100.0, load=1e6) == pytest.approx(given, abs=0.01)
    share = 100.0 / abs(100.0 + 2.0 * nominal_impedance(f)[0])
    assert step_level(f, 0.1, 100.0, load=100.0) == pytest.approx(given + 20 * np.log10(share))


def test_estimate_of_an_unfiltered_dimmer() -> None:
    """0.2 A steps: over the limit at 150 kHz; the band is 20 dB wide to 300 kHz and wider above."""
    t, current = phase_cut(90.0, 0.2)
    found = estimate(find_edges(t, current, 0.02), 50.0, load=1600.0)
    assert found.step == pytest.approx(0.2, rel=1e-3)
    assert found.repetition == 100.0
    at = {level.frequency: level for level in found.levels}
    assert at[150e3].high - at[150e3].low == pytest.approx(20.0)
    assert at[150e3].lies == "over"
    assert at[150e3].middle == pytest.approx(86.8 + 6.0, abs=0.4)
    assert at[1e6].high - at[1e6].low == pytest.approx(20.0 + 16.0, abs=0.1)
    assert min(at) == 9e3
    assert max(at) == 30e6
    for level in found.levels:
        limit = conducted_limit(level.frequency)
        assert limit is not None
        assert level.limit == limit[0]
    assert "lie over the limit" in found.words
    assert "give or take 10 dB" in found.words
    assert "medium-wave radio" in found.medium_wave
    assert any("rise time" in line for line in found.assumptions)
    json.dumps(found.as_dict(), allow_nan=False)


def test_only_steps_of_like_size_count_as_repetitions() -> None:
    t, current = phase_cut(90.0, 0.2)
    current[t > 0.01] *= 0.3
    assert estimate(find_edges(t, current, 0.02), 50.0).repetition == 50.0


def test_small_steps_lie_under_and_middling_ones_across() -> None:
    t, current = phase_cut(90.0, 2e-4)
    small = estimate(find_edges(t, current, 0.02), 50.0)
    assert "lie under the limit" in small.words
    assert "unlikely to be disturbed" in small.medium_wave
    t, current = phase_cut(90.0, 5e-3)
    middling = estimate(find_edges(t, current, 0.02), 50.0)
    assert "runs across the limit" in middling.words


def test_no_steps_no_spectrum_and_that_is_said() -> None:
    found = estimate((), 50.0)
    assert found.levels == ()
    assert "no steps" in found.words
    assert "switch-mode stage would" in found.words


def test_residential_limits_begin_at_150_kilohertz() -> None:
    t, current = phase_cut(90.0, 0.2)
    found = estimate(find_edges(t, current, 0.02), 50.0, limit="residential")
    assert min(level.frequency for level in found.levels) == 150e3


def test_a_choke_alone_takes_off_what_its_impedance_adds() -> None:
    """1 mH before 529 ohm and 100 ohm of network at 1 MHz: 20 log10|629 + j 6283|/629 = 20.0 dB."""
    f = np.array([1e6])
    lines = 2.0 * nominal_impedance(f)[0]
    expected = 20 * np.log10(abs(529.0 + lines + 2j * np.pi * 1e6 * 1e-3) / abs(529.0 + lines))
    assert attenuation(f, 529.0, 1e-3, 0.0)[0] == pytest.approx(expected)
    assert expected == pytest.approx(20.0, abs=0.2)


def test_a_capacitor_alone_divides_the_current() -> None:
    """100 nF across the lines at 1 MHz is 1.6 ohm beside 98.5: about 35 to 36 dB for a load of kilo-ohms."""
    assert attenuation(np.array([1e6]), 1e6, 0.0, 100e-9)[0] == pytest.approx(35.8, abs=0.5)
    assert attenuation(np.array([1e6]), 1e6, 0.0, 0.0)[0] == pytest.approx(0.0, abs=1e-9)


def test_both_together_take_off_more_than_either_above_their_resonance() -> None:
    f = np.geomspace(500e3, 30e6, 20)
    both = attenuation(f, 529.0, 100e-6, 100e-9)
    assert np.all(both > attenuation(f, 529.0, 100e-6, 0.0))
    assert np.all(both > attenuation(f, 529.0, 0.0, 100e-9))


def test_filters_are_shown_where_the_load_is_known() -> None:
    t, current = phase_cut(90.0, 0.2)
    edges = find_edges(t, current, 0.02)
    assert estimate(edges, 50.0).filters == ()
    found = estimate(edges, 50.0, load=1600.0)
    assert len(found.filters) == 4
    assert all(len(effect.attenuation) == len(effect.frequency) for effect in found.filters)
    assert "class X" in found.filter_caution
