"""The mains cycle in a recording: its frequency from the data, whole cycles cut out, and their average."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats

MAINS: Final = (50.0, 60.0)
WHOLE: Final = 0.01
"""A recording within this share of a whole number of nominal cycles is taken whole."""
_LOW, _HIGH = 40.0, 70.0
_LONGEST_LOOK: Final = 0.4  # [s] of the recording looked at for a first estimate
_ORDERS: Final = 9
_HIGHEST_ORDER: Final = 3.6  # times the frequency found, at which the strongest part of a mains wave may lie
_POINTS: Final = 1200


def frequency_of(wave: Floats, step: float) -> float | None:
    """The frequency at which a wave repeats, from 40 to 70 Hz [Hz]; None where it is too short or holds nothing.

    Least squares with the first nine harmonics on a first stretch, then the drift of the fundamental's phase over the
    whole recording.
    """
    duration = wave.size * step
    if duration < 0.7 / _HIGH or not bool(np.ptp(wave) > 0.0):
        return None
    look = wave[: max(int(_LONGEST_LOOK / step), 16)]
    stride = max(1, look.size // _POINTS)
    count = look.size // stride
    look = look[: count * stride].reshape(count, stride).mean(axis=1)
    spacing = step * stride
    span = look.size * spacing
    orders = max(1, min(_ORDERS, int(0.4 / spacing / _HIGH)))
    # With hardly more than a cycle, harmonics would fit anything: the fundamental alone is asked.
    if span * 50.0 < 1.8:
        orders = 1
    time = (np.arange(look.size) + 0.5) * spacing
    grid = np.arange(_LOW, _HIGH, min(0.5, 0.1 / span))
    missed = np.array([_missed(look, time, f, orders) for f in grid])
    best = int(missed.argmin())
    if best in (0, grid.size - 1) or _strongest(look, spacing) > _HIGHEST_ORDER * grid[best]:
        return None
    frequency = _refined(look, time, orders, float(grid[best - 1]), float(grid[best + 1]))
    return _tracked(wave, step, frequency)


def _strongest(wave: Floats, spacing: float) -> float:
    """The frequency that carries most of a wave [Hz]."""
    spectrum = np.abs(np.fft.rfft(wave - wave.mean()))
    return float(spectrum.argmax()) / (wave.size * spacing)


def _missed(wave: Floats, time: Floats, frequency: float, orders: int) -> float:
    turn = np.exp(2j * math.pi * frequency * time)
    rows = np.empty((2 * orders + 1, time.size))
    rows[0] = 1.0
    phasor = np.ones_like(turn)
    for order in range(orders):
        phasor = phasor * turn
        rows[2 * order + 1], rows[2 * order + 2] = phasor.real, phasor.imag
    # Normal equations: the waves are nearly orthogonal over whole cycles, and a hair on the diagonal keeps it solvable.
    matrix = rows @ rows.T + 1e-9 * time.size * np.eye(rows.shape[0])
    left = wave - np.linalg.solve(matrix, rows @ wave) @ rows
    return float(left @ left)


def _refined(wave: Floats, time: Floats, orders: int, low: float, high: float) -> float:
    """Golden-section search for the least misfit."""
    ratio = 0.5 * (math.sqrt(5.0) - 1.0)
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    fa, fb = _missed(wave, time, a, orders), _missed(wave, time, b, orders)
    for _ in range(30):
        if fa < fb:
            high, b, fb = b, a, fa
            a = high - ratio * (high - low)
            fa = _missed(wave, time, a, orders)
        else:
            low, a, fa = a, b, fb
            b = low + ratio * (high - low)
            fb = _missed(wave, time, b, orders)
    return 0.5 * (low + high)


def _tracked(wave: Floats, step: float, frequency: float) -> float:
    """A frequency made finer by how the fundamental's phase walks from the first cycles to the last."""
    per = round(1.0 / (frequency * step))
    cycles = wave.size // per if per else 0
    if cycles < 6:
        return frequency
    turns = np.exp(-2j * math.pi * frequency * step * np.arange(wave.size))
    phases = np.array(
        [np.angle(np.dot(wave[k * per : (k + 1) * per], turns[k * per : (k + 1) * per])) for k in range(cycles)]
    )
    walk = np.polyfit((np.arange(cycles) + 0.5) * per * step, np.unwrap(phases), 1)[0]
    return float(frequency + walk / (2.0 * math.pi))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """Whole cycles of a recording: how many, their frequency [Hz], and where they lie (`start` 0, `span` [samples])."""

    cycles: int
    frequency: float
    span: float
    whole: bool


def cut(count: int, step: float, found: float | None, nominal: float | None, *, of_voltage: bool = True) -> Cut | None:
    """The whole cycles of `count` samples `step` [s] apart; None where there is not one.

    `found` is the frequency in the data, `nominal` that of the record [Hz]. Within 1 % of whole nominal cycles the
    recording is taken as it is; else the cycles found in the data are cut out. A single cycle of a voltage tells its
    frequency, one of pulses of current does not.
    """
    duration = count * step
    choices = [f for f in (nominal, *MAINS) if f is not None]
    surely = of_voltage or (found is not None and duration * found > 1.9)
    near = [f for f in choices if found is None or not surely or abs(f / found - 1.0) < 0.03]
    for frequency in near:
        cycles = round(duration * frequency)
        if cycles >= 1 and abs(duration * frequency / cycles - 1.0) <= WHOLE:
            return Cut(cycles=cycles, frequency=cycles / duration, span=float(count), whole=True)
    frequency = found if found is not None else (nominal or MAINS[0])
    cycles = math.floor(duration * frequency + 0.01)
    if cycles < 1:
        return None
    return Cut(cycles=cycles, frequency=frequency, span=min(cycles / (frequency * step), float(count)), whole=False)


def taken(wave: Floats, cut_out: Cut) -> Floats:
    """The samples of whole cycles, end point left out; drawn anew where the cycles end between samples."""
    if cut_out.whole:
        return wave
    count = round(cut_out.span)
    places = np.arange(count) * (cut_out.span / count)
    return np.asarray(np.interp(places, np.arange(wave.size), wave))


def averaged(wave: Floats, cycles: int, points: int) -> tuple[Floats, Floats]:
    """The average cycle of whole cycles (points,), and all of them (cycles, points)."""
    places = np.arange(cycles * points) * (wave.size / (cycles * points))
    around = np.concatenate([wave, wave[:1]])
    every = np.interp(places, np.arange(wave.size + 1), around).reshape(cycles, points)
    return every.mean(axis=0), every


def turned(wave: Floats, angle: float) -> Floats:
    """A cycle that begins `angle` [rad] later than the given one, by its Fourier components."""
    spectrum = np.fft.rfft(wave)
    return np.fft.irfft(spectrum * np.exp(1j * angle * np.arange(spectrum.size)), wave.size)


def phase_of(cycle: Floats) -> float:
    """The angle by which the fundamental's rising zero lies behind the first sample [rad]."""
    first = complex(np.fft.rfft(cycle)[1])
    # A sine has the phasor -j: its angle is -90 degrees.
    return -(math.atan2(first.imag, first.real) + 0.5 * math.pi)
