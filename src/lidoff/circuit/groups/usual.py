"""What values a part of some role usually has, and what to say where one is far from it.

A value far from its role is more often a misread marking than a strange design, and it is cheaper to measure again
than to publish. The ranges are what is met on small mains products: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import marked, times
from lidoff.quantity import in_series


@dataclass(frozen=True, slots=True)
class Usual:
    """The usual values of a role: from `low` to `high`, most often about `typical` [SI unit `unit`]."""

    name: str
    unit: str
    low: float
    typical: float
    high: float


_ROWS: Final = (
    Usual("snubber resistor", "ohm", 10.0, 100.0, 2.2e3),
    Usual("snubber capacitor", "F", 2.2e-9, 100e-9, 680e-9),
    Usual("suppression capacitor", "F", 1e-9, 100e-9, 1e-6),
    Usual("timing capacitor", "F", 10e-9, 100e-9, 1e-6),
    Usual("timing potentiometer", "ohm", 22e3, 250e3, 2.2e6),
    Usual("end resistor", "ohm", 470.0, 4.7e3, 100e3),
    Usual("second-stage resistor", "ohm", 1e3, 15e3, 330e3),
    Usual("dropper capacitor", "F", 47e-9, 470e-9, 10e-6),
    Usual("bleeder resistor", "ohm", 100e3, 470e3, 4.7e6),
    Usual("surge resistor", "ohm", 4.7, 100.0, 2.2e3),
    Usual("input resistor", "ohm", 0.22, 10.0, 1e3),
    Usual("X capacitor", "F", 4.7e-9, 100e-9, 4.7e-6),
    Usual("Y capacitor", "F", 100e-12, 2.2e-9, 10e-9),
    Usual("discharge resistor", "ohm", 47e3, 1e6, 10e6),
    Usual("indicator resistor", "ohm", 10e3, 150e3, 1.5e6),
)
USUAL: Final[Mapping[str, Usual]] = MappingProxyType({row.name: row for row in _ROWS})


def unlike(unit: Unit, role: str) -> tuple[str, ...]:
    """A sentence where the value of a unit is outside what is usual for its role; nothing where it is within, not known
    or to be inferred.
    """
    usual = USUAL.get(role)
    if usual is None or not unit.known or unit.value <= 0.0 or usual.low <= unit.value <= usual.high:
        return ()
    word = f"{_article(unit.value, usual.unit)} {marked(unit.value, usual.unit)} {role}"
    sentence = (
        f"{word} is {times(unit.value / usual.typical)} the usual (about {marked(usual.typical, usual.unit)}): "
        f"measure {unit.label} with a leg lifted before you publish"
    )
    other = one_mark_off(unit.value, usual) if len(unit.members) == 1 else None
    if other is not None:
        what = "one misread band" if usual.unit == "ohm" else "one misread digit of its code"
        sentence += f"; {what} gives {marked(other, usual.unit)}"
    return (f"{sentence}.",)


def one_mark_off(value: float, usual: Usual) -> float | None:
    """The value [same unit], within the usual range, that one wrongly read band or digit turns into `value`; or None.

    Bands and digit codes are two figures and a power of ten (IEC 60062). A wrong power is tried first, then a wrong
    figure; of several the nearest to the typical value is given.
    """
    power = math.floor(math.log10(value)) - 1
    figures = round(value / 10.0**power)
    if not math.isclose(figures * 10.0**power, value, rel_tol=1e-6):
        return None
    marks = range(-2, 10) if usual.unit == "ohm" else range(-12, -5)  # silver … white; tens of pF … tens of µF
    powers = [figures * 10.0**other for other in marks if other != power]
    tens, ones = divmod(figures, 10)
    digits = [(10 * other + ones) * 10.0**power for other in range(1, 10) if other != tens]
    digits += [(10 * tens + other) * 10.0**power for other in range(10) if other != ones]
    for row in (powers, digits):
        fitting = [v for v in row if usual.low <= v <= usual.high and (in_series(v) or 99) <= 24]
        if fitting:
            return float(f"{min(fitting, key=lambda v: abs(math.log(v / usual.typical))):.6g}")
    return None


def _article(value: float, unit: str) -> str:
    """The article that fits the value as spoken."""
    text = marked(value, unit)
    return "An" if text.startswith(("8", "11 ", "18", "11.")) else "A"
