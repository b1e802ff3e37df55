"""What the steps of a solved mains current do to a radio: the item as its mains terminals show it while a step lasts.

Just after a triac or thyristor has closed, every part is replaced by its slope at that instant and every capacitor and
coil by its reactance. That gives what stands behind the step, as an open voltage and an inner impedance, and so what of
the step reaches the artificial mains network (Thevenin's theorem). The height of the step is that of the solved wave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.circuit.model import Circuit, Element
from lidoff.cycle import Solution
from lidoff.cycle.laws import law
from lidoff.figures import Edge, Interference, estimate, find_edges
from lidoff.figures.comparison import amount
from lidoff.figures.interference import SHOWN_AT

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

_SWITCHES: Final = ("triac", "thyristor")
_MATCHED_AT: Final = 20e3  # [Hz] above what shapes the mains cycle, below what the solved wave can still show of a step
_TIE: Final = 1e-12  # [S] so that a node that only the mains had tied still has a voltage

_HOW: Final = (
    "The item is taken as its parts are just after the step: diodes and LEDs by their slope at the current then, coils "
    "and capacitors as ideal ones, what regulates by how little it lets the current change."
)
_HERE: Final = "Of the knob as it stands here; at another setting the step is another, and may be larger."


@dataclass(frozen=True, slots=True)
class _Linear:
    """The circuit around one instant: Y(f) = g + 2 pi i f c [S], where it was cut from the mains, what drives it."""

    g: Floats
    c: Floats
    live: int
    drive: Floats

    def seen(self, frequency: Floats) -> tuple[Complexes, Complexes]:
        """Voltage at the open terminals for what drives it [V], and impedance between them [ohm]."""
        at = np.zeros(self.g.shape[0])
        at[self.live] = 1.0
        matrix = self.g + 2j * np.pi * frequency[:, None, None] * self.c
        sides = np.stack((self.drive, at), axis=1)
        sides = np.broadcast_to(sides.astype(np.complex128), (frequency.size, *sides.shape))
        found = np.asarray(np.linalg.solve(matrix, sides), dtype=np.complex128)
        return found[:, self.live, 0], found[:, self.live, 1]


def disturbance(solution: Solution) -> Interference | None:
    """The conducted disturbance of a solved cycle; None on a bench supply, without current, or too coarse for steps."""
    if solution.direct or solution.input_figures()["thd"] is None:
        return None
    circuit = solution.circuit
    current = solution.input_waves()[1]
    time = np.append(solution.time, solution.period)
    try:
        edges = find_edges(time, np.append(current, current[0]), 1.0 / circuit.supply.frequency)
    except ValueError:
        return None
    lit = circuit.about.kind == "luminaire" or (bool(solution.led_parts) and circuit.about.kind != "dimmer")
    limit = "lighting" if lit or circuit.about.kind == "dimmer" else "residential"
    linear = _just_after(solution, edges)
    if linear is None:
        return estimate(edges, circuit.supply.frequency, solution.cycles, limit=limit, more=_here(circuit))

    supply = circuit.supply
    at = np.array([_MATCHED_AT])
    voltage, inside = linear.seen(at)
    # How much current what drives it sends into the mains of the solved wave: the step there is known.
    sent = abs(complex(voltage[0] / (inside[0] + supply.resistance + 2j * np.pi * _MATCHED_AT * supply.inductance)))

    def load(frequency: Floats) -> tuple[Complexes, Complexes]:
        opened, within = linear.seen(frequency)
        return opened / sent, within

    shown = load(np.array([SHOWN_AT]))[1]
    told = f"At {amount(SHOWN_AT, 'Hz')} that is {amount(float(np.abs(shown[0])), 'ohm')} between the terminals."
    return estimate(
        edges,
        supply.frequency,
        solution.cycles,
        load=load,
        limit=limit,
        more=(f"{_HOW} {told}", *_here(circuit)),
    )


def _here(circuit: Circuit) -> tuple[str, ...]:
    return (_HERE,) if any(element.kind == "potentiometer" for element in circuit.elements) else ()


def _just_after(solution: Solution, edges: Sequence[Edge]) -> _Linear | None:
    """The circuit right after the largest step at which a triac or thyristor closes; None where none does."""
    for edge in sorted(edges, key=lambda edge: -abs(edge.step)):
        before, after = _rows(solution, edge)
        for element in solution.circuit.elements:
            if element.kind in _SWITCHES and not _on(solution, element, before) and _on(solution, element, after):
                return _linear(solution, element, after)
    return None


def _rows(solution: Solution, edge: Edge) -> tuple[int, int]:
    """The solver's points just before and just after a step."""
    time = solution.waves.time
    start, end = edge.time, min(edge.time + edge.rise, solution.period)
    before = int(np.searchsorted(time, start, side="right")) - 1
    return before, min(int(np.searchsorted(time, end)), time.shape[0] - 1)


def _curve(solution: Solution, element: Element) -> int:
    """The curve of the main path of a triac or thyristor."""
    return solution.built.pins[element.ref].current[0][1]


def _slope(solution: Solution, curve: int, row: int) -> tuple[float, bool]:
    """Slope of a curve at one of the solver's points [S], and whether it is latched there."""
    system, x = solution.built.system, solution.waves.x[row]
    volts = sum(sign * float(x[k]) for k, sign in ((system.sa[curve], 1.0), (system.sb[curve], -1.0)) if k >= 0)
    ways = [law(system.kind[curve], latched, system.par[curve], volts) for latched in (0, 1)]
    flows = float(solution.waves.curves[row, curve])
    latched = abs(ways[1][0] - flows) < abs(ways[0][0] - flows)
    return float(ways[latched][1]), latched


def _on(solution: Solution, element: Element, row: int) -> bool:
    return _slope(solution, _curve(solution, element), row)[1]


def _linear(solution: Solution, switch: Element, row: int) -> _Linear:
    """The circuit around the solver's point `row`, cut off from the mains, with a volt of step in the switch."""
    system = solution.built.system
    g, c = system.g.copy(), system.c.copy()
    drive = np.zeros(g.shape[0])
    main = _curve(solution, switch)

    def enter(rows: tuple[int, int], columns: tuple[int, int], value: float) -> None:
        for r, sign in zip(rows, (1.0, -1.0), strict=True):
            for column, other in zip(columns, (1.0, -1.0), strict=True):
                if r >= 0 and column >= 0:
                    g[r, column] += sign * other * value

    for curve in range(system.kind.shape[0]):
        slope = _slope(solution, curve, row)[0]
        flow = int(system.fp[curve]), int(system.fq[curve])
        enter(flow, (int(system.sa[curve]), int(system.sb[curve])), slope)
        if curve == main:
            for node, sign in zip(flow, (1.0, -1.0), strict=True):
                if node >= 0:
                    drive[node] += sign * slope
    keep = np.delete(np.arange(g.shape[0]), system.source)
    g[np.arange(system.nodes), np.arange(system.nodes)] += _TIE
    live = int(np.nonzero(keep == solution.built.index["live"])[0][0])
    return _Linear(g[np.ix_(keep, keep)], c[np.ix_(keep, keep)], live, drive[keep])
