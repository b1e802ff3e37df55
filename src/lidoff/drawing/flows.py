"""Currents in the pins and wires of a drawn circuit at an instant of its cycle.

The current of each pin follows from the branches inside the part; that of each wire from Kirchhoff's current law along
the tree that the wires of a node form.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from lidoff.circuit import Element
    from lidoff.cycle import Solution
    from lidoff.drawing.schematics import Schematic

Floats = NDArray[np.float64]
MAINS: Final = "@"  # what stands for the ref of a supply terminal


@dataclass(frozen=True)
class PinCurrents:
    """Currents into the pins of all parts [A] at the solver's points, by (ref, pin); of the terminals by (MAINS, node).

    A current counts as positive when it flows from the node into the part; into a terminal when it flows back to the
    mains there.
    """

    solution: Solution

    @cached_property
    def waves(self) -> Mapping[tuple[str, str], Floats]:
        """By part and pin: the current over the record."""
        found: dict[tuple[str, str], Floats] = {}
        for element in self.solution.circuit.elements:
            found |= self.of(element)
        self._terminals(found)
        return found

    def of(self, element: Element) -> dict[tuple[str, str], Floats]:
        """Those into the pins of one part."""
        solution = self.solution
        by_index: dict[int, Floats] = {}
        for (first, second), flows in solution.built.pins[element.ref].branches:
            wave = solution.waves.flow(flows)
            by_index[first] = by_index.get(first, 0.0) + wave
            by_index[second] = by_index.get(second, 0.0) - wave
        found: dict[tuple[str, str], Floats] = {}
        taken: set[int] = set()
        for pin, node in element.pins.items():
            index = solution.built.index[node]
            known = index in by_index and index not in taken
            found[element.ref, pin] = by_index[index] if known else np.zeros_like(solution.waves.time)
            taken.add(index)
        return found

    def _terminals(self, found: dict[tuple[str, str], Floats]) -> None:
        """What each terminal takes back is what the parts at its node leave over."""
        circuit = self.solution.circuit
        ends = circuit.supply.nodes if circuit.supply.dc is not None else ("live", "neutral", "earth")
        for node in ends or ():
            pins = [(e.ref, pin) for e in circuit.elements for pin, at in e.pins.items() if at == node]
            if pins:
                found[MAINS, node] = -np.sum([found[key] for key in pins], axis=0)

    def at(self, time: float) -> Mapping[tuple[str, str], float]:
        """The currents [A] at an instant [s], counted from the start of the record and repeating with it."""
        return {key: _at(self.solution, wave, time) for key, wave in self.waves.items()}


def _at(solution: Solution, wave: Floats, time: float) -> float:
    if solution.direct:
        return float(wave[-1])
    t = solution.waves.time
    return float(np.interp(time % solution.period, np.append(0.0, t), np.append(wave[-1], wave)))


def voltages_at(solution: Solution, time: float) -> Mapping[str, float]:
    """The voltage of every node against the reference [V] at an instant [s]."""
    found: dict[str, float] = {}
    for node in solution.circuit.nodes:
        index = solution.built.index[node]
        found[node] = _at(solution, solution.waves.x[:, index], time) if index >= 0 else 0.0
    return found


def wire_currents(drawing: Schematic, pins: Mapping[tuple[str, str], float]) -> Mapping[str, tuple[float, ...]]:
    """The current [A] of each wire of each node, in the order of `drawing.wiring.wires`.

    It is positive where it flows from the wire's first point to its last.
    """
    elements = {e.ref: e for e in drawing.circuit.elements}
    drawn: dict[str, dict[tuple[int, int], float]] = {}
    for stand in drawing.placement.stands:
        for name, node in elements[stand.ref].pins.items():
            cell = drawing.cell(stand.pin(name))
            taken = drawn.setdefault(node, {})
            taken[cell] = taken.get(cell, 0.0) + pins[stand.ref, name]
    for terminal in drawing.placement.mains:
        if (MAINS, terminal.node) in pins:
            drawn.setdefault(terminal.node, {})[drawing.cell(terminal.at)] = pins[MAINS, terminal.node]
    return {
        node: _along([(wire[0], wire[-1]) for wire in wires], drawn.get(node, {}))
        for node, wires in drawing.wiring.wires.items()
    }


def _along(
    wires: list[tuple[tuple[int, int], tuple[int, int]]], taken: Mapping[tuple[int, int], float]
) -> tuple[float, ...]:
    """Currents along the wires of one node, which form a tree, given what is taken out at its ends."""
    at: dict[tuple[int, int], list[int]] = {}
    for place, ends in enumerate(wires):
        for end in ends:
            at.setdefault(end, []).append(place)
    currents = [0.0] * len(wires)
    used: set[int] = set()
    if not wires:
        return ()
    order: list[tuple[tuple[int, int], int, bool]] = []  # far end, wire, whether it runs away from the root
    root = wires[0][0]
    waiting = [root]
    while waiting:
        here = waiting.pop()
        for place in at[here]:
            first, last = wires[place]
            there = last if here == first else first
            if place in used:
                continue
            used.add(place)
            order.append((there, place, here == first))
            waiting.append(there)
    need = dict(taken)
    parents = {far: (wires[place][0] if away else wires[place][1]) for far, place, away in order}
    for far, place, away in reversed(order):
        amount = need.get(far, 0.0)
        currents[place] = amount if away else -amount
        need[parents[far]] = need.get(parents[far], 0.0) + amount
    return tuple(currents)
