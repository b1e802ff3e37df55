"""What a series choke and a capacitor across the mains take off a disturbance: a simple insertion estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.mains_network import nominal_impedance
from lidoff.figures.wave import Floats

EXAMPLES: Final = ((100e-6, 0.0), (0.0, 100e-9), (100e-6, 100e-9), (1e-3, 100e-9))
"""Chokes [H] and X capacitors [F] that dimmers of the trade have (common practice, no source)."""

CAUTION: Final = (
    "A capacitor across the mains has to be of class X, a choke has to carry the full current without saturating, and "
    "more than 0.1 uF needs a resistor that discharges it after unplugging. With a triac the two ring: a damping "
    "resistor may be needed. Ideal parts are assumed; a real choke's own capacitance undoes it above about 1 MHz."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterEffect:
    """A choke [H] and an X capacitor [F], and what they take off [dB] at each frequency [Hz]; negative is worse."""

    inductance: float
    capacitance: float
    frequency: tuple[float, ...]
    attenuation: tuple[float, ...]


def attenuation(frequency: Floats, load: float, inductance: float, capacitance: float) -> Floats:
    """What a filter takes off the disturbance voltage on each line [dB] at `frequency` [Hz].

    The switch's voltage step drives current through the item's own `load` [ohm], the choke `inductance` [H] and the two
    lines' artificial networks in a row; the capacitor `capacitance` [F] stands across the mains behind the choke.
    """
    w = 2.0 * np.pi * frequency
    lines = 2.0 * nominal_impedance(frequency)
    bare = 1.0 / (load + lines)
    # 1 + jwC Z divides the current between the capacitor and the lines.
    shunted = 1.0 + 1j * w * capacitance * lines
    filtered = 1.0 / (load + 1j * w * inductance + lines / shunted) / shunted
    return np.asarray(20.0 * np.log10(np.abs(bare / filtered)))


def effects(
    load: float, frequency: Sequence[float], filters: Sequence[tuple[float, float]] = EXAMPLES
) -> tuple[FilterEffect, ...]:
    """What each of some filters, pairs of choke [H] and capacitor [F], takes off at each `frequency` [Hz].

    `load` [ohm] is the resistance that the switch closes on.
    """
    at = np.asarray(frequency, dtype=np.float64)
    return tuple(
        FilterEffect(
            inductance=inductance,
            capacitance=capacitance,
            frequency=tuple(at.tolist()),
            attenuation=tuple(attenuation(at, load, inductance, capacitance).tolist()),
        )
        for inductance, capacitance in filters
    )
