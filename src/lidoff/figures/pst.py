"""Short-term light flicker PstLM: the light flickermeter of IEC TR 61547-1, for a periodic light and for a recording.

Chain: light over its mean, high-pass 0.05 Hz, sixth-order Butterworth low-pass 35 Hz, the eye's weighting, square,
300 ms smoothing, and a weighted sum of the levels exceeded for given shares of the time. For a strictly periodic light
the settled chain has a closed form: the filters act on its components, and the smoothed square is periodic too. That is
what `pst_lm` takes; it holds for any set of components and needs no minutes of tiled cycles.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from lidoff.figures import wave
from lidoff.figures.wave import Complexes, Floats
from lidoff.standards.light_limits import FLICKERMETER, PERCENTILES

HIGH_PASS: Final = FLICKERMETER.number("high-pass", "corner")
LOW_PASS: Final = FLICKERMETER.number("low-pass", "corner")
ORDER: Final = int(FLICKERMETER.number("low-pass", "order"))
SMOOTHING: Final = FLICKERMETER.number("smoothing", "time constant")
SCALE: Final = FLICKERMETER.number("smoothing", "scale")
SKIPPED: Final = FLICKERMETER.number("record", "skipped")
LEAST_RATE: Final = FLICKERMETER.number("record", "least rate")
EYE: Final = tuple(
    tuple(FLICKERMETER.number(f"eye {side}", f"s^{power}") for power in (4, 3, 2, 1, 0))
    for side in ("numerator", "denominator")
)
WEIGHTS: Final = {name: FLICKERMETER.number("weight", f"P{name}") for name in PERCENTILES}
_LEVELS: Final = np.array([level for levels in PERCENTILES.values() for level in levels])
_SHARES: Final = np.array([WEIGHTS[name] / len(levels) for name, levels in PERCENTILES.items() for _ in levels])

_FASTEST: Final = 2000.0
"""Components above this are left out [Hz]: the 35 Hz low-pass has them below 1e-10 of their size."""


def response(frequency: Floats) -> Complexes:
    """Response of the filters ahead of the square [1] at `frequency` [Hz]: high-pass, low-pass, eye."""
    s = 2j * np.pi * frequency
    high = s / (s + 2.0 * np.pi * HIGH_PASS)
    normal = 1j * frequency / LOW_PASS
    low = np.ones_like(normal)
    for k in range(ORDER // 2):
        low = low / (normal**2 - 2.0 * np.cos(np.pi * (2 * k + ORDER + 1) / (2 * ORDER)) * normal + 1.0)
    return np.asarray(high * low * np.polyval(EYE[0], s) / np.polyval(EYE[1], s))


def pst_of_levels(flicker: Floats) -> float:
    """PstLM [1] of instantaneous flicker levels [1] at equal intervals (IEC TR 61547-1, statistical evaluation)."""
    # The quantiles by hand: numpy's own check of its arguments takes longer than the rest of the flickermeter.
    ordered = np.sort(flicker)
    places = (1.0 - _LEVELS / 100.0) * (ordered.size - 1)
    below = places.astype(np.intp)
    above = np.minimum(below + 1, ordered.size - 1)
    levels = ordered[below] + (places - below) * (ordered[above] - ordered[below])
    return float(np.sqrt(max(0.0, float(np.dot(_SHARES, levels)))))


def pst_of_components(components: Complexes, slowest: float) -> float:
    """PstLM [1] of a periodic light: its components relative to the mean [1] at 1, 2, ... times `slowest` [Hz].

    Of the settled cycle only: fluctuations of the mains, drift and jitter are not in such a wave.
    """
    count = min(components.size, int(_FASTEST / slowest))
    frequency = np.arange(1, count + 1, dtype=np.float64) * slowest
    # The square has twice the orders; four times that many samples keep the percentiles smooth.
    size = max(64, 8 * (count + 1))
    lines = np.zeros(size // 2 + 1, dtype=np.complex128)
    lines[1 : count + 1] = components[:count] * response(frequency)
    sensed = np.fft.irfft(lines, size) * (size / 2.0)
    power = np.fft.rfft(SCALE * sensed * sensed)
    smooth = np.fft.irfft(power / (1.0 + 2j * np.pi * slowest * SMOOTHING * np.arange(power.size)), size)
    return pst_of_levels(np.maximum(smooth, 0.0))


def pst_lm(light: Floats, mains_frequency: float, cycles: int = 1) -> float | None:
    """PstLM [1] of a strictly periodic light, uniform over `cycles` cycles of `mains_frequency` [Hz]; None in the dark.

    Of the settled cycle only: fluctuations of the mains, drift and jitter are not in such a wave.
    """
    bins = wave.spectrum(light)
    if bins[0].real <= 0.0:
        return None
    return pst_of_components(bins[1:] / bins[0].real, mains_frequency / cycles)


def pst_lm_recording(light: Floats, rate: float) -> float:
    """PstLM [1] of a recorded light at `rate` [1/s], which need not be periodic; the first 20 s settle the filters.

    Raises ValueError for a recording that is dark, slower than 2000 samples a second or shorter than 40 s: 20 s to
    settle and as much to judge (tests of products use 180 s).
    """
    from scipy import signal

    values = np.asarray(light, dtype=np.float64)
    if rate < LEAST_RATE:
        raise ValueError(f"PstLM needs {LEAST_RATE:g} samples a second or more, the recording has {rate:g}")
    if values.size < 2.0 * SKIPPED * rate:
        raise ValueError(
            f"PstLM needs {2.0 * SKIPPED:g} s of light or more, the recording has {values.size / rate:g} s"
        )
    middle = float(values.mean())
    if middle <= 0.0:
        raise ValueError("PstLM is a ratio to the mean light, and the recording is dark")
    # The mean is taken off first: the 0.05 Hz high-pass would need minutes to forget a step from nothing to full light.
    sensed = values / middle - 1.0
    sensed = signal.sosfilt(signal.butter(1, HIGH_PASS, "highpass", fs=rate, output="sos"), sensed)
    sensed = signal.sosfilt(signal.butter(ORDER, LOW_PASS, "lowpass", fs=rate, output="sos"), sensed)
    sensed = signal.lfilter(*signal.bilinear(EYE[0], EYE[1], rate), sensed)
    smoothing = signal.bilinear([1.0], [SMOOTHING, 1.0], rate)
    flicker = signal.lfilter(*smoothing, SCALE * sensed * sensed)
    return pst_of_levels(flicker[int(SKIPPED * rate) :])
