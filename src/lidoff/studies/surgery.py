"""Circuits with something done to them: a part opened or shorted, a pin lifted, two nodes joined.

An open place keeps 1 Gohm, a short has 10 mohm, so that every node stays where it was. A part made for the purpose is
named after the part it stands for, with a tilde.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from lidoff.circuit.model import Circuit, Element, Number
from lidoff.kinds import KINDS
from lidoff.record import Table

OPEN: Final = 1e9  # [ohm]
SHORT: Final = 10e-3  # [ohm]


def resistor(ref: str, first: str, second: str, ohms: float) -> Element:
    """A resistor [ohm] between two nodes."""
    return Element(ref=ref, kind="resistor", nodes=(first, second), values=Table({"value": ohms}))


def made(ref: str, kind: str, nodes: tuple[str | None, ...], values: dict[str, Number], like: Element) -> Element:
    """A part of that kind which stands for (a piece of) `like`, with its folding and ratings."""
    known = {key.name: key.default for key in KINDS[kind].keys if isinstance(key.default, float | bool | str)}
    return replace(like, ref=ref, kind=kind, nodes=nodes, values=Table({**known, **values}))


def swapped(circuit: Circuit, ref: str, *elements: Element) -> Circuit:
    """The circuit with the part `ref` replaced by others, in its place."""
    kept: list[Element] = []
    for element in circuit.elements:
        if element.ref == ref:
            kept += elements
        else:
            kept.append(element)
    return replace(circuit, elements=tuple(kept))


def added(circuit: Circuit, *elements: Element) -> Circuit:
    """The circuit with more parts."""
    return replace(circuit, elements=(*circuit.elements, *elements))


def valued(circuit: Circuit, ref: str, **values: Number) -> Circuit:
    """The circuit with some values of a part changed, whatever its kind allows."""
    element = circuit.element(ref)
    assert element is not None
    return swapped(circuit, ref, replace(element, values=Table({**element.values, **values})))


def as_resistor(circuit: Circuit, ref: str, ohms: float) -> Circuit:
    """The circuit with a two-pin part replaced by a resistor [ohm, of one member] between its nodes."""
    element = circuit.element(ref)
    assert element is not None
    first, second = (node for node in element.nodes if node is not None)
    other = replace(element, kind="resistor", nodes=(first, second), values=Table({"value": ohms}), rating=Table())
    return swapped(circuit, ref, other)


def joined(circuit: Circuit, name: str, first: str, second: str, ohms: float = SHORT) -> Circuit:
    """The circuit with two nodes joined by a resistor [ohm] of that name."""
    return added(circuit, resistor(name, first, second, ohms))


def lifted(circuit: Circuit, ref: str, pin: str) -> Circuit:
    """The circuit with one pin of a part lifted off its node."""
    element = circuit.element(ref)
    assert element is not None
    at = KINDS[element.kind].pins.index(pin)
    node = element.nodes[at]
    assert node is not None
    loose = f"{ref}.{pin}~open"
    nodes = tuple(loose if k == at else other for k, other in enumerate(element.nodes))
    return added(swapped(circuit, ref, replace(element, nodes=nodes)), resistor(f"{ref}~open", loose, node, OPEN))


def renamed(circuit: Circuit, nodes: dict[str, str]) -> Circuit:
    """The circuit with nodes called otherwise, all at once: swapping two is possible."""
    return replace(
        circuit,
        elements=tuple(
            replace(e, nodes=tuple(n if n is None else nodes.get(n, n) for n in e.nodes)) for e in circuit.elements
        ),
    )
