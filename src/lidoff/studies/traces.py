"""Voltages and currents of single branches out of a solution or a stretch of time.

A part is one branch or several: a bridge has its four diodes, a triac its main path and its gate, a transformer its
windings. Ratings speak of branches, so the studies look at them one by one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.circuit.model import Element
from lidoff.cycle import Built, Point, Solution, Stretch, Waves

Floats = NDArray[np.float64]

_NAMES: Final = {
    "bridge": ("ac1 to plus", "ac2 to plus", "minus to ac1", "minus to ac2"),
    "triac": ("mt2 to mt1", "gate"),
    "thyristor": ("anode to cathode", "gate"),
    "potentiometer": ("a to wiper", "wiper to b"),
    "transistor": ("base to emitter", "base to collector", "collector to emitter"),
    "transformer": ("primary", "secondary"),
    "choke": ("winding a", "winding b"),
}


@dataclass(frozen=True, slots=True)
class Trace(Waves):
    """What the solver recorded of a circuit at its own points, and where in it each part stands."""

    built: Built

    def node(self, name: str) -> Floats:
        """Voltage of a node against the reference node [V]. Raises KeyError for an unknown node."""
        return self.across((self.built.index[name], -1))

    def voltage(self, element: Element) -> Floats:
        """Voltage across one member of a part [V], first pin to second."""
        return self.across(self.built.pins[element.ref].pair) / element.series

    def part(self, element: Element) -> tuple[Floats, Floats]:
        """Voltage [V] and current [A] of one member of a part, first pin to second."""
        pins = self.built.pins[element.ref]
        return self.across(pins.pair) / element.series, self.flow(pins.current) / element.parallel

    def branches(self, element: Element) -> list[tuple[str, Floats, Floats]]:
        """Name, voltage [V] and current [A] of each branch of one member of a part."""
        found = self.built.pins[element.ref].branches
        names = _NAMES.get(element.kind, ())
        if element.kind == "capacitor":  # its series resistance is no branch of its own to a rating
            return [("", *self.part(element))]
        named = [
            (names[k] if len(names) == len(found) else "", self.across(pair), self.flow(flows))
            for k, (pair, flows) in enumerate(found)
        ]
        return [(name, voltage / element.series, current / element.parallel) for name, voltage, current in named]

    @property
    def source(self) -> Floats:
        """Current drawn from the mains [A], positive out of live."""
        return self.x[:, self.built.source]


def of_solution(solution: Solution) -> Trace:
    """The settled cycle of a solution; weights sum to 1."""
    waves = solution.waves
    return Trace(waves.time, waves.weight, waves.x, waves.curves, waves.slopes, solution.built)


def of_stretch(built: Built, stretch: Stretch, since: float = 0.0) -> Trace:
    """One stretch of time; weights in seconds, time [s] from the instant `since` [s]."""
    return Trace(stretch.time - since, stretch.weight, stretch.x, stretch.curves, stretch.slopes, built)


def pulled(solution: Solution, row: int) -> Point:
    """Where the circuit stands at the solver's point `row`, its latches open: what charge it keeps when unplugged."""
    end = solution.run.stretches[-1].end
    x = solution.waves.x[row].copy()
    return replace(end, x=x, latch=np.zeros_like(end.latch), reached=np.zeros_like(end.reached))
