"""A simple estimate of how hot a part gets: its temperature rise at rated power, in proportion.

A film resistor may carry its rated power in air of 70 degC and then reaches 155 degC (derating habits): 85 K at the
rated power. A semiconductor's power rating is what brings it from 25 degC to 125 degC or so: 100 K. Both are common
practice, no source. What conducts the heat away on a given board may halve or double the rise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from lidoff.standards.temperatures import DERATING

AROUND: Final = 298.15  # [K] air around the part
ZERO: Final = 273.15  # [K]
SOLDER: Final = 456.0  # [K] tin-lead solder melts (183 degC; from memory)
CHARS: Final = 573.0  # [K] board and paper char and may catch fire from about here (from memory)
BURNS: Final = 873.0  # [K] beyond it no part stays whole: it burns open or shorts (from memory)
_RESISTIVE: Final = ("resistor", "potentiometer", "thermistor", "varistor")
_RISE: Final = 100.0  # [K] of a semiconductor at its rated power


def rise_at_rating(kind: str) -> float:
    """Temperature rise of a part of that kind at its rated power [K]."""
    if kind in _RESISTIVE:
        hot = DERATING.number("film resistor derates to nothing at")
        return hot - DERATING.number("film resistor derates from")
    return _RISE


def temperature(kind: str, times: float, around: float = AROUND) -> float:
    """Estimated temperature [K] of a part that takes `times` its rated power in air of `around` [K]."""
    return around + rise_at_rating(kind) * times


def junction(power: float, around: float, resistances: Sequence[float]) -> float:
    """Temperature [K] of a junction: `power` [W] through thermal resistances in a row [K/W] above `around` [K]."""
    return around + power * sum(resistances)
