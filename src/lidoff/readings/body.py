"""Touch and leakage current: what a meter shows that stands in for a person, or sits in the protective conductor.

Between a node and earth lies the unweighted network of IEC 60990, whose output over 500 ohm is the current it
indicates. At the input, leakage is what all parts on earth together pass into it. Earth is joined to the neutral at the
origin of the supply (TN system), as the solver has it. Only what is in the record is counted: a stray capacitance or an
insulation that nobody wrote down passes nothing here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from lidoff.circuit import Circuit, Element
from lidoff.cycle import Solution
from lidoff.readings import meters
from lidoff.record import Item, Reading, Table
from lidoff.standards.touch import BODY_NETWORKS

BY_BODY: Final = ("touch_current", "leakage_current")
_NETWORK: Final = "unweighted"
_SKIN: Final = "(skin)"
_BODY: Final = "(body)"
_WIRE: Final = "(earth wire)"
_WIRE_OHMS: Final = 0.1  # of the protective conductor [ohm]: what is allowed for it, and next to nothing here
_EARTH: Final = "earth"

Place = str | tuple[str, str]


def on_node(item: Item, reading: Reading) -> Reading:
    """The reading with a surface that was touched replaced by the node it is joined to, against earth."""
    if reading.quantity not in BY_BODY:
        return reading
    nodes = {
        f"surface:{surface['name']}": str(surface["node"])
        for surface in item.surfaces
        if surface.get("name") and surface.get("node")
    }
    at = reading.at
    if isinstance(at, tuple):
        return replace(reading, at=(nodes.get(at[0], at[0]), nodes.get(at[1], at[1])))
    return replace(reading, at=(nodes[at], _EARTH)) if at in nodes else reading


def reason_against_body(circuit: Circuit, quantity: str, at: Place) -> str | None:
    """Why such a current cannot be computed there, as a clause; None where it can."""
    what = quantity.replace("_", " ")
    if circuit.supply.dc is not None:
        return f"this state is fed by a bench supply, and a {what} is about the mains"
    nodes = {circuit.resolve(node) for node in circuit.nodes}
    if at == "input":
        if quantity == "touch_current":
            return f'a {what} is read from something touched; write at = ["the node", "earth"]'
        if circuit.resolve(_EARTH) not in nodes:
            return (
                "no part of the circuit joins earth: it flows through insulation and filters that are not in the record"
            )
        return None
    if isinstance(at, str) and at.startswith("surface:"):
        return "nothing in the record joins that surface to the circuit: it flows through insulation"
    if not isinstance(at, tuple) or _EARTH not in at:
        return f'a {what} is computed from a node to earth; write at = ["the node", "earth"]'
    node = _touched(at)
    if node == "insulated" or node.startswith("surface:"):
        return "it flows through insulation that is not in the circuit"
    if circuit.resolve(node) not in nodes:
        return f"no part joins the node '{node}' in this state, and insulation is not in the circuit"
    return None


def _touched(at: tuple[str, str]) -> str:
    return at[1] if at[0] == _EARTH else at[0]


def with_body(circuit: Circuit, at: Place) -> Circuit:
    """The circuit with the network between the node and earth; at the input, with a wire in which all earths end."""
    if not isinstance(at, tuple):
        earth = circuit.resolve(_EARTH)
        elements = tuple(
            replace(one, nodes=tuple(_WIRE if node == earth else node for node in one.nodes))
            for one in circuit.elements
        )
        return replace(circuit, elements=(*elements, _resistor(_WIRE, _WIRE, earth, _WIRE_OHMS)))
    node = circuit.resolve(_touched(at))
    skin = Table({"value": BODY_NETWORKS.number(_NETWORK, "CS"), "esr": 0.0})
    parts = (
        _resistor(_SKIN, node, _BODY, BODY_NETWORKS.number(_NETWORK, "RS")),
        Element(ref=f"{_SKIN} C", kind="capacitor", nodes=(node, _BODY), values=skin),
        _resistor(_BODY, _BODY, _EARTH, BODY_NETWORKS.number(_NETWORK, "RB")),
    )
    return replace(circuit, elements=(*circuit.elements, *parts))


def _resistor(ref: str, first: str, second: str, ohms: float) -> Element:
    return Element(ref=ref, kind="resistor", nodes=(first, second), values=Table({"value": ohms}))


def through_body(solution: Solution, at: Place) -> float:
    """The rms current that the meter shows [A]."""
    return meters.rms(solution.current(_BODY if isinstance(at, tuple) else _WIRE))
