"""The mains cycle: a circuit in, its settled cycle out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.circuit import build
from lidoff.circuit.model import Circuit, Element, Mains
from lidoff.cycle.builder import Built
from lidoff.cycle.settle import Point, Stretch
from lidoff.cycle.solution import Solution, Waves
from lidoff.cycle.solve import solve, transient
from lidoff.record import Item

__all__ = ["Built", "Point", "Solution", "Stretch", "Waves", "solve", "solve_item", "transient", "warm"]


def solve_item(item: Item, state: str | None = None, changes: Mapping[str, Any] | None = None) -> Solution:
    """The settled cycle of an item in one of its states, with some values changed ("R1.value": 2200.0).

    Raises CircuitError or RecordError with one sentence where that cannot be solved.
    """
    return solve(build(item, state=state, changes=changes))


def warm() -> None:
    """Compiles the kernel, or loads it from the cache, by solving one small circuit."""
    nodes = ("live", "neutral")
    lamp = Element(ref="R1", kind="resistor", nodes=nodes, values={"value": 1000.0})
    store = Element(ref="C1", kind="capacitor", nodes=nodes, values={"value": 1e-7, "esr": 0.0})
    solve(Circuit(elements=(lamp, store), supply=Mains()))
