"""How numbers and places are put in sentences."""

from __future__ import annotations

import math
from typing import Final

from lidoff.quantity import celsius, engineering, with_interval

NAMES: Final = {
    "voltage": "rms voltage",
    "voltage_ac": "ac voltage",
    "voltage_dc": "mean voltage",
    "voltage_peak": "peak voltage",
    "current": "rms current",
    "current_ac": "ac current",
    "current_dc": "mean current",
    "current_peak": "peak current",
    "diode_test": "diode test",
    "thd": "harmonic distortion",
    "esr": "ESR",
    "inrush_current": "peak at switch-on",
    "svm": "SVM",
}


def name_of(quantity: str) -> str:
    """A quantity in words."""
    return NAMES.get(quantity, quantity.replace("_", " "))


def amount(value: float, unit: str, digits: int = 3) -> str:
    """A value [unit] as people read it, to so many significant figures; energies in watt-hours."""
    if unit == "J":
        return engineering(value / 3600.0, "W", digits) + "h"
    return engineering(value, unit, digits)


def shown(quantity: str, value: float, unit: str, digits: int = 3) -> str:
    """What a meter showed [unit], as people read that quantity: a temperature in degrees Celsius, a rise in kelvins."""
    return celsius(value, digits) if quantity == "temperature" else amount(value, unit, digits)


def as_read(value: float, unit: str, digit: float) -> str:
    """A reading to the digits that were written, `digit` being the weight of the last one [both unit]."""
    return amount(value, unit, digits_of(value, digit))


def digits_of(value: float, digit: float) -> int:
    """How many figures a reading has whose last one weighs `digit`; three where that is not known."""
    if value == 0.0 or digit <= 0.0:
        return 3
    return int(min(max(math.floor(math.log10(abs(value) / digit) + 1e-9) + 1, 2), 5))


def with_u(value: float, half: float, unit: str) -> str:
    """A value with its half-width [both unit]."""
    return with_interval(value, half, unit) if half > 0.0 else amount(value, unit)


def ratio(share: float) -> str:
    """A share as a signed percentage: 0.44 is "44 % high"."""
    return f"{abs(share):.0%}".replace("%", " %") + (" high" if share > 0 else " low")


def place_of(at: str | tuple[str, str]) -> str:
    """Where a reading was taken, in words."""
    if isinstance(at, tuple):
        return f"between '{at[0]}' and '{at[1]}'"
    return "at the input" if at == "input" else f"at {at}"


def in_state(state: str | None) -> str:
    """The state as a tail of a sentence."""
    return f" in '{state}'" if state is not None else ""


def listed(words: list[str]) -> str:
    """Words joined for a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
