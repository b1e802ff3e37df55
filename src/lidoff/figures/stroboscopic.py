"""Stroboscopic visibility measure (SVM) of a periodic light, with both published fits of the visibility threshold.

SVM = [sum over m of (C_m / T(f_m))^3.7]^(1/3.7), C_m the amplitude of a component relative to the mean light and T the
modulation at which an average observer just sees a stroboscopic effect (IEC TR 63158; CIE TN 006). Two fits of T are in
print. They lie within 1.6 % of each other at 100 and 120 Hz and far apart above 1 kHz, so every answer names its fit.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

import numpy as np

from lidoff.figures import wave
from lidoff.figures.wave import Complexes, Floats
from lidoff.standards.light_limits import STROBOSCOPIC

Fit = Literal["IEC TR 63158", "Perz 2018"]

EXPONENT: Final = STROBOSCOPIC.number("exponent")
LOWEST: Final = STROBOSCOPIC.number("lowest")
HIGHEST: Final = STROBOSCOPIC.number("highest")
VISIBLE: Final = STROBOSCOPIC.number("visible at")

_SLOPE: Final = STROBOSCOPIC.number("logistic slope")
_CENTRE: Final = STROBOSCOPIC.number("logistic centre")
_SIZE: Final = STROBOSCOPIC.number("low-frequency size")
_FALL: Final = STROBOSCOPIC.number("low-frequency fall")
_FACTOR: Final = STROBOSCOPIC.number("power factor")
_POWER: Final = STROBOSCOPIC.number("power exponent")
_FLOOR: Final = STROBOSCOPIC.number("power floor")


def threshold_iec(frequency: Floats) -> Floats:
    """Visibility threshold [1] at `frequency` [Hz], the logistic fit with a low-frequency term of IEC TR 63158:2018.

    T = 1/(1 + exp(-0.00518 (f - 306.6))) + 20 exp(-f/10). The coefficients are from memory of the document.
    """
    return 1.0 / (1.0 + np.exp(-_SLOPE * (frequency - _CENTRE))) + _SIZE * np.exp(-frequency / _FALL)


def threshold_perz(frequency: Floats) -> Floats:
    """Visibility threshold [1] at `frequency` [Hz], the power law of Perz et al., JOSA A 35(2) 309 (2018).

    T = 2.865e-5 f^1.543 + 0.225.
    """
    return _FACTOR * frequency**_POWER + _FLOOR


FITS: Final[tuple[tuple[Fit, Callable[[Floats], Floats]], ...]] = (
    ("IEC TR 63158", threshold_iec),
    ("Perz 2018", threshold_perz),
)
_THRESHOLD: Final = dict(FITS)


def svm_of_components(amplitude: Floats, frequency: Floats, fit: Fit = "IEC TR 63158") -> float:
    """SVM [1] of components with `amplitude` relative to the mean light [1] at `frequency` [Hz].

    Components outside 80 Hz to 2 kHz do not count (IEC TR 63158).
    """
    # 1e-9 Hz of slack: 2000 Hz must not fall out of the band through rounding of order times frequency.
    inside = (frequency >= LOWEST - 1e-9) & (frequency <= HIGHEST + 1e-9)
    threshold = _THRESHOLD[fit](frequency[inside])
    return float(np.sum((amplitude[inside] / threshold) ** EXPONENT) ** (1.0 / EXPONENT))


def relative_components(light: Floats, mains_frequency: float, cycles: int = 1) -> tuple[Complexes, Floats]:
    """Components of a periodic light relative to its mean [1], without the mean, and their frequencies [Hz].

    `light` is uniformly sampled over `cycles` cycles of `mains_frequency` [Hz] and must have a mean above zero.
    """
    bins = wave.spectrum(light)
    return bins[1:] / bins[0].real, np.arange(1, bins.size, dtype=np.float64) * (mains_frequency / cycles)


def reaches(light: Floats, mains_frequency: float, cycles: int = 1) -> bool:
    """Whether uniform samples over `cycles` cycles of `mains_frequency` [Hz] tell components up to 2 kHz."""
    return bool(light.size * mains_frequency / cycles > 2.0 * HIGHEST)


def svm(light: Floats, mains_frequency: float, cycles: int = 1, fit: Fit = "IEC TR 63158") -> float:
    """SVM [1] of a periodic light, uniformly sampled over `cycles` cycles of `mains_frequency` [Hz].

    Raises ValueError where the samples do not reach 2 kHz.
    """
    if not reaches(light, mains_frequency, cycles):
        raise ValueError(f"SVM needs more than {2.0 * HIGHEST:g} samples a second, to tell components up to 2 kHz")
    components, frequency = relative_components(light, mains_frequency, cycles)
    return svm_of_components(np.abs(components), frequency, fit)
