"""Resistance of a filament or heating element at the temperature that its mean power gives it.

The hot resistance is V^2/P at the rated values. Over a mains cycle the temperature is steady; it follows from the
mean power by radiation, P = k (T^4 - Ta^4) (Stefan and Boltzmann), and the resistance runs in a straight line with the
temperature from `cold_ratio` at room temperature to 1 at the rated power. The rated temperature, 2700 K for a lamp and
1100 K for an element, is common practice without a source; so is the straight line (tungsten bends it a little).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from lidoff.circuit.model import Circuit, Element

_ROOM: Final = 293.0  # [K]
_RATED: Final[Mapping[str, float]] = {"lamp": 2700.0, "heater": 1100.0}


def hot_resistance(element: Element) -> float:
    """Resistance at rated voltage and power [ohm]."""
    return element.number("voltage") ** 2 / element.number("power")


def resistance_at(element: Element, power: float) -> float:
    """Steady resistance [ohm] of a lamp or heater that takes `power` [W] on the mean."""
    rated = _RATED[element.kind]
    share = max(power, 0.0) / element.number("power")
    temperature: float = (_ROOM**4 + share * (rated**4 - _ROOM**4)) ** 0.25
    cold = element.number("cold_ratio")
    return hot_resistance(element) * (cold + (1.0 - cold) * (temperature - _ROOM) / (rated - _ROOM))


def with_resistances(circuit: Circuit, ohms: Mapping[str, float]) -> Circuit:
    """The circuit with its filaments at these resistances [ohm], by ref."""
    return replace(
        circuit,
        elements=tuple(
            replace(e, values={**e.values, "resistance": ohms[e.ref]}) if e.ref in ohms else e for e in circuit.elements
        ),
    )


def filaments(circuit: Circuit) -> tuple[Element, ...]:
    """The elements of the circuit that have a filament."""
    return tuple(e for e in circuit.elements if e.kind in _RATED)
