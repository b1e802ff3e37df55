"""What a hand on a node gets: voltage before it touches, current through a body after, and the class that is.

The body is a network of IEC 60990 between the node and earth, or the 2 kohm that IEC 62368-1 allows for alternating and
direct current. Earth is joined to the neutral at the origin of the supply (TN system), as the solver has it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from lidoff.circuit.model import Circuit, Element
from lidoff.cycle import Solution, solve
from lidoff.record import Table
from lidoff.standards.touch import BODY_NETWORKS, ENERGY_SOURCES
from lidoff.studies.errors import StudyError
from lidoff.studies.traces import Floats, Trace, of_solution

Body = Literal["2 kohm", "unweighted", "perception"]
Class = Literal["ES1", "ES2", "ES3"]
_HAND: Final = "~hand"
_AC: Final = "ac to 1 kHz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """A node touched by somebody who stands on earth.

    voltage_rms, voltage_peak, voltage_mean [V] against earth before it is touched; current_rms, current_peak,
    current_mean [A] through the body, as its network indicates it. `level` is the energy source class of IEC 62368-1
    Table 4: ES1 is felt at most, ES2 may hurt but does not injure, ES3 may kill.
    """

    node: str
    body: Body
    voltage_rms: float
    voltage_peak: float
    voltage_mean: float
    current_rms: float
    current_peak: float
    current_mean: float
    level: Class

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "node": self.node,
            "body": self.body,
            "voltage_rms": self.voltage_rms,
            "voltage_peak": self.voltage_peak,
            "voltage_mean": self.voltage_mean,
            "current_rms": self.current_rms,
            "current_peak": self.current_peak,
            "current_mean": self.current_mean,
            "class": self.level,
        }


def touch(circuit: Circuit, node: str, body: Body = "2 kohm", solution: Solution | None = None) -> Touch:
    """The node touched while the circuit runs; `solution` is that of the untouched circuit, where there is one already.

    Raises StudyError for a node that is not there or a state on a bench supply, CircuitError where a circuit is not
    solved.
    """
    if circuit.supply.dc is not None:
        raise StudyError("This state is fed by a bench supply; touch current is about the mains")
    name = circuit.resolve(node)
    if name not in circuit.nodes:
        raise StudyError(f"There is no node '{node}' in this state; the nodes are {', '.join(sorted(circuit.nodes))}")
    before = of_solution(solution if solution is not None else solve(circuit))
    volts = _to_earth(before, name)
    after = of_solution(solve(_with_body(circuit, name, body)))
    amperes = _indicated(after, body)
    return Touch(
        node=name,
        body=body,
        voltage_rms=_rms(before, volts),
        voltage_peak=float(np.abs(volts).max()),
        voltage_mean=_mean(before, volts),
        current_rms=_rms(after, amperes),
        current_peak=float(np.abs(amperes).max()),
        current_mean=_mean(after, amperes),
        level=_level(before, volts, after, amperes),
    )


def _to_earth(trace: Trace, node: str) -> Floats:
    volts = trace.node(node)
    return volts - trace.node("earth") if "earth" in trace.built.index else volts


def _with_body(circuit: Circuit, node: str, body: Body) -> Circuit:
    def resistor(ref: str, first: str, second: str, ohms: float) -> Element:
        return Element(ref=ref, kind="resistor", nodes=(first, second), values=Table({"value": ohms}))

    def capacitor(ref: str, first: str, second: str, farads: float) -> Element:
        values = Table({"value": farads, "esr": 0.0})
        return Element(ref=ref, kind="capacitor", nodes=(first, second), values=values)

    if body == "2 kohm":
        parts = [resistor(f"{_HAND} R", node, "earth", BODY_NETWORKS.number("short cut", "resistance"))]
    else:
        value = {key: BODY_NETWORKS.number(body, key) for key in ("RS", "CS", "RB")}
        inner = f"{_HAND} inner"
        parts = [
            resistor(f"{_HAND} RS", node, inner, value["RS"]),
            capacitor(f"{_HAND} CS", node, inner, value["CS"]),
            resistor(f"{_HAND} RB", inner, "earth", value["RB"]),
        ]
        if body == "perception":
            far = f"{_HAND} filter"
            parts += [
                resistor(f"{_HAND} R1", inner, far, BODY_NETWORKS.number(body, "R1")),
                capacitor(f"{_HAND} C1", far, "earth", BODY_NETWORKS.number(body, "C1")),
            ]
    return replace(circuit, elements=(*circuit.elements, *parts))


def _indicated(trace: Trace, body: Body) -> Floats:
    """Current as the network indicates it [A]: its output voltage over 500 ohm."""
    if body == "2 kohm":
        ref = f"{_HAND} R"
        return trace.across(trace.built.pins[ref].pair) / BODY_NETWORKS.number("short cut", "resistance")
    output = "C1" if body == "perception" else "RB"
    return trace.across(trace.built.pins[f"{_HAND} {output}"].pair) / BODY_NETWORKS.number(body, "RB")


def _mean(trace: Trace, wave: Floats) -> float:
    return float(trace.weight @ wave / trace.weight.sum())


def _rms(trace: Trace, wave: Floats) -> float:
    return math.sqrt(max(_mean(trace, wave * wave), 0.0))


def _level(before: Trace, volts: Floats, after: Trace, amperes: Floats) -> Class:
    """The class: what is within the limit of either voltage or current is no higher than that (IEC 62368-1, 5.2.2)."""
    for level in ("ES1", "ES2"):
        if _within(before, volts, level, "voltage") or _within(after, amperes, level, "current"):
            return level
    return "ES3"


def _within(trace: Trace, wave: Floats, level: Class, quantity: str) -> bool:
    """Whether direct and alternating share together, and the peak, keep within a class (IEC 62368-1, Table 4)."""
    mean = _mean(trace, wave)
    alternating = _rms(trace, wave - mean)
    direct = ENERGY_SOURCES.number(level, "dc", quantity)
    rms = ENERGY_SOURCES.number(level, _AC, f"{quantity} rms")
    peak = ENERGY_SOURCES.number(level, _AC, f"{quantity} peak")
    # For ES1 the standard adds the shares; for ES2 it has a figure, which the same sum stands in for.
    return abs(mean) / direct + alternating / rms <= 1.0 and float(np.abs(wave - mean).max()) <= peak
