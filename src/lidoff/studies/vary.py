"""Figures along any value of a circuit, each point from rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit
from lidoff.kinds import KINDS
from lidoff.studies.errors import StudyError
from lidoff.studies.sweep import Stop, dead_travel, floor, stop_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """Figures along one value: `key` such as "R1.value", `unit` its SI unit ("" for a plain number)."""

    key: str
    unit: str
    state: str | None
    stops: tuple[Stop, ...]
    dead_travel: float | None
    floor: float | None
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff vary --json` prints."""
        return {
            "key": self.key,
            "unit": self.unit,
            "state": self.state,
            "points": [stop.as_json("value") for stop in self.stops],
            "dead_travel": self.dead_travel,
            "floor": self.floor,
            "warnings": list(self.warnings),
        }


def vary(circuit: Circuit, key: str, low: float, high: float, points: int = 41) -> Variation:
    """The circuit with `key` ("R1.value", "section/R1.value", "section.repeat", "supply.voltage") from low to high.

    `low` and `high` are in the key's SI unit and may run downwards; `points` equal steps are taken, both ends included.
    Where the key takes whole numbers only, each whole number on the way is taken once. Every point starts from rest;
    a point at which no cycle is found says so and the others go on. Raises StudyError for fewer than two points, a key
    that is not a number or bounds that it cannot take.
    """
    if points < 2:
        raise StudyError(f"{points} points make no way along {key}; take at least 2")
    if not (math.isfinite(low) and math.isfinite(high)):
        raise StudyError(f"{key}: from {low:g} to {high:g} is no range; give two finite values")
    unit, whole = _described(circuit, key)
    values = [float(value) for value in np.linspace(low, high, points)]
    if whole:
        values = list(dict.fromkeys(float(round(value)) for value in values))
    changed = [with_values(circuit, {key: value}) for value in values]
    stops = [stop_at(other, value)[0] for other, value in zip(changed, values, strict=True)]
    lost = [stop for stop in stops if stop.input is None]
    warnings = list(circuit.warnings)
    if len(lost) == len(stops):
        raise StudyError(f"No cycle was found anywhere along {key}: {lost[0].problem}")
    for stop in stops:
        if stop.problem:
            warnings.append(f"{key} = {stop.value:g}{f' {unit}' if unit else ''}: {stop.problem}")
    return Variation(
        key=key,
        unit=unit,
        state=circuit.state,
        stops=tuple(stops),
        dead_travel=dead_travel(stops),
        floor=floor(stops),
        warnings=tuple(warnings),
    )


_SUPPLY_UNITS = {"voltage": "V", "frequency": "Hz", "resistance": "ohm", "inductance": "H", "dc": "V"}


def _described(circuit: Circuit, name: str) -> tuple[str, bool]:
    """Unit of the key of that name and whether it takes whole numbers only."""
    owner, _, word = name.rpartition(".")
    if owner == "supply":
        if word not in _SUPPLY_UNITS:
            raise StudyError(f"{name}: the supply has no {word}; it has {', '.join(_SUPPLY_UNITS)}")
        if (word == "dc") != (circuit.supply.dc is not None):
            raise StudyError(f"{name}: this state is not fed that way; vary a value that it has")
        return _SUPPLY_UNITS[word], False
    if any(element.block == owner for element in circuit.elements):
        if word not in ("repeat", "parallel"):
            raise StudyError(f"{name}: a block has no {word}; it has repeat and parallel")
        return "", True
    element = circuit.element(owner)
    if element is None:
        known = ", ".join(e.ref for e in circuit.elements)
        raise StudyError(f"{name}: this state has no part {owner}; it has {known} and supply")
    kind = KINDS[element.kind]
    key = kind.key(word)
    if key is None:
        raise StudyError(f"{name}: a {kind.title} has no {word}; it has {', '.join(k.name for k in kind.keys)}")
    if key.unit in ("bool", "word"):
        raise StudyError(f"{name} is not a number; set it with --set {name}=… and look at `lidoff figures`")
    return key.unit, key.whole
