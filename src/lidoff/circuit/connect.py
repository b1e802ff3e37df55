"""Questions about how a circuit hangs together: what floats, what is shorted, what is joined by one pin only."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Collection
from dataclasses import replace
from itertools import pairwise
from typing import Final

import networkx as nx

from lidoff.circuit.model import Circuit, CircuitError, Element
from lidoff.kinds import MAINS_NODES

_LITTLE: Final = ("switch", "thermostat", "fuse")  # what joins live and neutral through these alone is a short


def graph_of(elements: tuple[Element, ...]) -> nx.MultiGraph:
    """Nodes of the circuit joined by its elements (every pair of neighbouring pins), each edge with its `ref`."""
    graph = nx.MultiGraph()
    for element in elements:
        nodes = [node for node in element.nodes if node is not None]
        graph.add_nodes_from(nodes)
        for first, second in pairwise(nodes):
            graph.add_edge(first, second, ref=element.ref)
    return graph


def check_connections(circuit: Circuit, *, reduced: bool = False, touched: Collection[str] = ()) -> Circuit:
    """The circuit without what plays no part, or CircuitError where it cannot be solved.

    `reduced` is true where the state takes parts away, so that loose ends are meant and only said, not refused. Nor
    are those refused that lie on `touched`, the nodes of touchable surfaces: a hand is what joins them.
    """
    elements = circuit.elements
    if not elements:
        raise CircuitError("There are no parts in this state; write a [[part]] with its nodes")
    warnings: list[str] = []
    left_out: list[str] = []
    joined = [e for e in elements if len({n for n in e.nodes if n is not None}) > 1]
    for element in elements:
        if element not in joined:
            left_out.append(element.ref)
            if not reduced:
                warnings.append(f"{element.ref} has all its pins on one node and does nothing.")
    elements = tuple(joined)
    graph = graph_of(elements)
    sources = _sources(circuit)
    for node in sources[:2]:
        if node not in graph:
            raise CircuitError(_nothing_joined(circuit, node, graph))
    reached: set[str] = set()
    for node in sources:
        if node in graph and node not in reached:
            reached |= nx.node_connected_component(graph, node)
    floating = [e for e in elements if not any(n in reached for n in e.nodes if n is not None)]
    if floating:
        refs = ", ".join(e.ref for e in floating)
        nodes = ", ".join(dict.fromkeys(f"'{n}'" for e in floating for n in e.nodes if n is not None))
        if not reduced:
            raise CircuitError(
                f"{refs} hang in the air: nothing joins the nodes {nodes} to the supply; correct a node's name or add "
                f"the part between"
            )
        warnings.append(f"Left out in this state, for nothing joins them to the supply: {refs}.")
        left_out += [e.ref for e in floating]
        elements = tuple(e for e in elements if e not in floating)
    warnings += _loose_ends(elements, sources, circuit, reduced, touched)
    _refuse_shorts(elements, circuit)
    return replace(circuit, elements=elements, left_out=tuple(left_out), warnings=(*circuit.warnings, *warnings))


def _sources(circuit: Circuit) -> tuple[str, ...]:
    if circuit.supply.dc is not None:
        if circuit.supply.nodes is None:
            raise CircuitError('The bench supply has no nodes; write nodes = ["…", "…"] beside its dc voltage')
        return circuit.supply.nodes
    return MAINS_NODES


def _nothing_joined(circuit: Circuit, node: str, graph: nx.MultiGraph) -> str:
    near = difflib.get_close_matches(node, [str(n) for n in graph], n=1)
    hint = f"; did you mean it where you wrote '{near[0]}'?" if near else ""
    whose = "the bench supply's" if circuit.supply.dc is not None else "the mains'"
    return f"No part is joined to {whose} node '{node}', so no current can flow; correct a node's name{hint}"


def _loose_ends(
    elements: tuple[Element, ...], sources: tuple[str, ...], circuit: Circuit, reduced: bool, touched: Collection[str]
) -> list[str]:
    pins: dict[str, list[str]] = defaultdict(list)
    for element in elements:
        for pin, node in element.pins.items():
            pins[node].append(f"{element.ref} (pin {pin})")
    known = [node for node, places in pins.items() if len(places) > 1]
    warnings = []
    for node, places in pins.items():
        if len(places) > 1 or node in sources or (circuit.supply.dc is not None and node in MAINS_NODES):
            continue
        if node in touched:
            continue
        near = difflib.get_close_matches(node, known, n=1)
        if not reduced:
            hint = f" (did you mean '{near[0]}'?)" if near else ""
            raise CircuitError(
                f"Node '{node}' is joined by one pin only, {places[0]}; join a second part to it, correct its "
                f"name{hint} or leave the pin out"
            )
        warnings.append(f"In this state node '{node}' is joined by {places[0]} alone, which carries no current.")
    return warnings


def _refuse_shorts(elements: tuple[Element, ...], circuit: Circuit) -> None:
    if circuit.supply.dc is not None:
        return
    graph: nx.Graph = nx.Graph()
    graph.add_nodes_from(("live", "neutral"))
    for element in elements:
        if element.kind in _LITTLE and element.values.get("closed", True):
            first, second = (node for node in element.nodes if node is not None)
            graph.add_edge(first, second, ref=element.ref)
    if nx.has_path(graph, "live", "neutral"):
        path = nx.shortest_path(graph, "live", "neutral")
        refs = [graph.edges[edge]["ref"] for edge in pairwise(path)]
        raise CircuitError(
            f"Live and neutral are joined through {' and '.join(refs)} alone: a dead short; look at their nodes again"
        )
