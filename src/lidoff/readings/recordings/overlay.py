"""A recorded cycle over the computed one, and what is left between them."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from lidoff.circuit import Circuit
from lidoff.cycle import solve
from lidoff.figures.wave import Floats
from lidoff.readings.model import Overlay
from lidoff.readings.recordings.cycles import phase_of, turned

_POINTS: Final = 250


def overlay_of(circuit: Circuit, voltage: Floats | None, current: Floats | None, frequency: float) -> Overlay | None:
    """The computed cycle under a recorded one; the mains is the recorded voltage's rms where there is one.

    Both begin at the mains' rising zero. Without a recorded voltage the current is turned to where it fits best. Raises
    CircuitError where the circuit cannot be solved.
    """
    if voltage is None and current is None:
        return None
    supply = replace(circuit.supply, frequency=frequency)
    why = "computed at the record's mains voltage"
    if voltage is not None:
        volts = math.sqrt(float((voltage**2).mean()))
        supply = replace(supply, voltage=volts)
        why = f"computed at the {volts:.4g} V that was recorded"
    solution = solve(replace(circuit, supply=supply))
    v, i = (wave[: wave.size // solution.cycles] for wave in solution.input_waves())
    computed_v, computed_i = (_sampled(turned(wave, phase_of(v))) for wave in (v, i))
    recorded_v = None if voltage is None else _sampled(voltage)
    recorded_i = None if current is None else _sampled(current)
    if recorded_i is not None and voltage is None:
        recorded_i = _best_turn(recorded_i, computed_i)
        why += "; the recorded current was turned to where it fits best, for no voltage was recorded"
    residual = None
    if recorded_i is not None:
        size = float(recorded_i @ recorded_i)
        left = recorded_i - computed_i
        residual = math.sqrt(float(left @ left) / size) if size > 0.0 else None
        if residual is not None:
            why += f"; what is left between the two currents is {residual:.0%} of the recorded rms".replace("%", " %")
    return Overlay(
        time=_row(np.arange(_POINTS) / (_POINTS * frequency)),
        recorded_current=None if recorded_i is None else _row(recorded_i),
        computed_current=_row(computed_i),
        recorded_voltage=None if recorded_v is None else _row(recorded_v),
        computed_voltage=_row(computed_v),
        residual=residual,
        why=f"{why[0].upper()}{why[1:]}.",
    )


def _sampled(wave: Floats) -> Floats:
    places = np.arange(_POINTS) * (wave.size / _POINTS)
    return np.asarray(np.interp(places, np.arange(wave.size + 1), np.concatenate([wave, wave[:1]])))


def _best_turn(recorded: Floats, computed: Floats) -> Floats:
    """The recorded cycle turned to its best agreement with the computed one."""
    cross = np.fft.irfft(np.fft.rfft(recorded) * np.conj(np.fft.rfft(computed)), recorded.size)
    return np.roll(recorded, -int(cross.argmax()))


def _row(values: Floats) -> tuple[float, ...]:
    return tuple(float(f"{value:.6g}") for value in values)
