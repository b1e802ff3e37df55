"""What each kind of meter shows on a periodic wave, from the principle it works by.

Waves are uniform samples over whole mains cycles, end point left out; `span` [s] is their length. Because they are
periodic, filters act on their Fourier components exactly, with nothing settling.

- Averaging meter: rectifies what is left after the mean, takes the average and multiplies by pi/(2 sqrt 2) = 1.1107,
  the form factor of a sine (ratio of rms to rectified mean); right on a sine only. (Handbook; the ratios it gives on
  other waves are in the table of meter responses in `lidoff.standards.measuring`.)
- True-rms hand meter: root of the mean square of what is left after the mean (ac-coupled), or of everything where its
  low corner is 0 Hz. Its input overloads beyond its crest factor limit.
- Power meter: samples voltage and current together, averages the products and the squares (IEEE Std 1459, definitions
  of P, S and PF); harmonics beyond its bandwidth, or beyond half its sample rate, are lost in both.
- Clamp: a current transformer passes no mean and droops below its low corner: a first-order high-pass.
- Peak hold: the largest magnitude. Light meter: largest and least of the light within its bandwidth.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats

FORM_FACTOR: Final = math.pi / (2.0 * math.sqrt(2.0))
"""Rms over rectified mean of a sine [1]."""


def high_pass(wave: Floats, span: float, corner: float) -> Floats:
    """The wave behind a first-order high-pass [same unit]: corner [Hz]; at 0 Hz only the mean is lost."""
    spectrum = np.fft.rfft(wave)
    spectrum[0] = 0.0
    if corner > 0.0:
        frequency = np.arange(spectrum.size) / span
        spectrum[1:] *= 1.0 / (1.0 - 1j * corner / frequency[1:])
    return np.fft.irfft(spectrum, wave.size)


def low_pass(wave: Floats, span: float, corner: float) -> Floats:
    """The wave behind a first-order low-pass [same unit]: corner [Hz]."""
    spectrum = np.fft.rfft(wave)
    return np.fft.irfft(spectrum / (1.0 + 1j * (np.arange(spectrum.size) / span) / corner), wave.size)


def below(wave: Floats, span: float, highest: float) -> Floats:
    """The wave without its components above `highest` [Hz] [same unit]: what samples at twice that rate can hold."""
    spectrum = np.fft.rfft(wave)
    spectrum[np.arange(spectrum.size) / span > highest] = 0.0
    return np.fft.irfft(spectrum, wave.size)


def rms(wave: Floats) -> float:
    """Root of the mean square, mean included [same unit]."""
    return math.sqrt(float(np.dot(wave, wave)) / wave.size)


def ac_rms(wave: Floats) -> float:
    """Root of the mean square of what is left after the mean [same unit]: an ac-coupled true-rms meter."""
    return rms(wave - wave.mean())


def average_responding(wave: Floats, *, coupled: bool = True) -> float:
    """What an averaging meter scaled for sines shows [same unit]; `coupled` says that the mean is blocked first."""
    left = wave - wave.mean() if coupled else wave
    return FORM_FACTOR * float(np.abs(left).mean())


def peak_hold(wave: Floats) -> float:
    """The largest magnitude [same unit]."""
    return float(np.abs(wave).max())


def crest(wave: Floats) -> float | None:
    """Peak over rms [1]; None for nothing."""
    size = rms(wave)
    return peak_hold(wave) / size if size > 0.0 else None


def overloaded(wave: Floats, limit: float) -> float:
    """The least that a true-rms meter shows of a wave whose crest factor is beyond its `limit` [same unit].

    Its input is taken to clip at `limit` times the figure that it shows, which is so when the figure stands at the top
    of its range; on a higher range it clips less. Found by repeating, as the figure depends on itself.
    """
    shown = rms(wave)
    for _ in range(60):
        clipped = rms(np.clip(wave, -limit * shown, limit * shown))
        if abs(clipped - shown) <= 1e-9 * shown:
            break
        shown = clipped
    return shown


def seen(wave: Floats, span: float, bandwidth: float | None, sample_rate: float | None) -> Floats:
    """A wave as it comes through a meter's bandwidth and sampling [same unit]."""
    if bandwidth is not None:
        wave = low_pass(wave, span, bandwidth)
    if sample_rate is not None:
        wave = below(wave, span, 0.5 * sample_rate)
    return wave


def percent_flicker(light: Floats) -> float | None:
    """Percent flicker of a light [%]: 100 (max - min)/(max + min), None in the dark."""
    high, low = float(light.max()), max(float(light.min()), 0.0)
    return 100.0 * (high - low) / (high + low) if high + low > 0.0 else None
