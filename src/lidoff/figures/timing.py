"""When in the half-cycle the input current flows: the timing that class C's second route asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures import wave
from lidoff.figures.wave import Floats
from lidoff.standards.harmonic_limits import CLASS_C_ROUTE_2

CUT: Final = 9000.0
"""Components above 9 kHz must not influence the judgement (IEC 61000-3-2, class C, second route)."""

_PLATEAU: Final = 1e-4
"""A flat top counts from where the current first comes this close to its peak, as a share of the peak."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Phase angles [deg] of the current in the half-cycle that holds its largest peak.

    Counted from the zero crossing of the supply's fundamental into that half-cycle: where the current reaches 5 % of
    that peak, where it peaks, and where it has fallen below the threshold again.
    """

    reached: float
    peak: float
    ended: float


def _without_ripple(x: Floats, mains_frequency: float, cycles: int) -> Floats:
    """The wave less what lies above 9 kHz: a Gaussian low-pass, because a sharp one would ring at the edges."""
    lines = np.fft.rfft(x)
    order = np.arange(lines.size) * (mains_frequency / cycles / CUT)
    return np.fft.irfft(lines * np.exp(-0.5 * np.log(2.0) * order**2), x.size)


def current_timing(voltage: Floats, current: Floats, mains_frequency: float, cycles: int = 1) -> Timing | None:
    """Timing of the current of uniform waves over `cycles` cycles of `mains_frequency` [Hz].

    voltage [V] and current [A] have one length, end point left out. None where no current flows or the voltage has no
    fundamental.
    """
    fundamental = wave.harmonics(voltage, cycles, 1)[1]
    smooth = _without_ripple(np.asarray(current, dtype=np.float64), mains_frequency, cycles)
    top = wave.peak(smooth)
    if abs(fundamental) == 0.0 or top == 0.0:
        return None
    at = int(np.argmax(np.abs(smooth)))
    size = smooth.size / cycles
    # v = |h| cos(w t + phase): its rising zero crossing stands at an angle of -90 deg - phase.
    rising = (-0.5 * np.pi - np.angle(fundamental)) / (2.0 * np.pi) * size
    half = 0.5 * size
    # The half-cycle of the supply's fundamental that holds the peak, turned so that the current in it counts positive.
    start = rising + np.floor((at - rising) / half) * half
    count = round(half)
    places = start + np.arange(count + 1) * (half / count)
    signed = np.sign(smooth[at]) * np.interp(places, np.arange(-smooth.size, 2 * smooth.size), np.tile(smooth, 3))
    threshold = CLASS_C_ROUTE_2.number("threshold") / 100.0 * top
    over = signed >= threshold
    first = int(np.argmax(over))
    below = np.nonzero(~over[first:])[0]
    last = first + int(below[0]) if below.size else count
    highest = int(np.argmax(signed >= (1.0 - _PLATEAU) * signed.max()))
    degrees = 180.0 / count
    return Timing(reached=first * degrees, peak=highest * degrees, ended=last * degrees)
