"""The circuit as a net of units: once as it stands, once with what merely conducts looked through.

A fuse, a closed switch, an inrush thermistor or a choke in a line changes nothing about what the circuit is. The trade
looks through them: a capacitor behind a fuse still stands across the mains. So patterns are sought in two nets. In
`plain` every part stands where it was found; in `net` the parts of `THIN` are wires, and what only bridges such a part
(the snubber across a switch, the diode that a switch bypasses) is set aside.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import networkx as nx

from lidoff.circuit.groups.units import Unit, joined, unit_of
from lidoff.circuit.groups.words import ref_order
from lidoff.circuit.model import Circuit, Element

THIN: Final = frozenset({"fuse", "switch", "thermostat", "thermistor", "inductor", "choke"})
_INRUSH_LIMIT: Final = 500.0  # [ohm cold]: above it a thermistor is a sensor, not a part of the line; common practice
# What may bridge a thin part without being the work the circuit does.
_LIGHT: Final = frozenset({"resistor", "capacitor", "indicator", "diode", "switch", "thermostat", "varistor"})


@dataclass(frozen=True)
class Net:
    """Units between nodes. `rails` are the two nodes of the supply; `earth` is the protective conductor's."""

    units: tuple[Unit, ...]
    rails: tuple[str, str]
    earth: str = "earth"

    @cached_property
    def fixed(self) -> frozenset[str]:
        """Nodes that something outside the circuit is joined to."""
        return frozenset((*self.rails, self.earth))

    @cached_property
    def at(self) -> Mapping[str, tuple[Unit, ...]]:
        """Node to the units joined to it, in order of their refs."""
        found: dict[str, list[Unit]] = {}
        for unit in self.units:
            for node in set(unit.nodes):
                if node is not None:
                    found.setdefault(node, []).append(unit)
        return {node: tuple(units) for node, units in found.items()}

    @cached_property
    def by_kind(self) -> Mapping[str, tuple[Unit, ...]]:
        """Kind to its units, in order of their refs."""
        found: dict[str, list[Unit]] = {}
        for unit in self.units:
            found.setdefault(unit.kind, []).append(unit)
        return {kind: tuple(units) for kind, units in found.items()}

    def of(self, *kinds: str) -> tuple[Unit, ...]:
        """The units of these kinds, in order of their refs."""
        if len(kinds) == 1:
            return self.by_kind.get(kinds[0], ())
        return tuple(unit for unit in self.units if unit.kind in kinds)

    def joined_to(self, node: str) -> tuple[Unit, ...]:
        """The units with a pin on that node."""
        return self.at.get(node, ())

    def across(self, first: str, second: str, *kinds: str) -> tuple[Unit, ...]:
        """The units of these kinds (of any kind, where none is named) whose main path joins the two nodes."""
        return tuple(
            unit
            for unit in self.joined_to(first)
            if (not kinds or unit.kind in kinds) and {first, second} == set(unit.ends) and first != second
        )

    def across_rails(self, *kinds: str) -> tuple[Unit, ...]:
        """The units of these kinds straight across the supply."""
        return self.across(*self.rails, *kinds)

    def alone(self, node: str, *units: Unit) -> bool:
        """Whether nothing but these units is joined to that node, from inside or outside."""
        return node not in self.fixed and set(self.joined_to(node)) <= set(units)

    @cached_property
    def links(self) -> Mapping[str, tuple[tuple[Unit, tuple[str, ...]], ...]]:
        """Node to the units joined to it, each with the other nodes it leads to.

        A transformer's two windings, and a choke's, are not joined with each other.
        """
        found: dict[str, list[tuple[Unit, tuple[str, ...]]]] = {}
        for unit in self.units:
            nodes = [node for node in unit.nodes if node is not None]
            windings = (nodes[:2], nodes[2:]) if unit.kind in ("transformer", "choke") else (nodes,)
            for winding in windings:
                for node in dict.fromkeys(winding):
                    found.setdefault(node, []).append((unit, tuple(n for n in winding if n != node)))
        return {node: tuple(rows) for node, rows in found.items()}

    def reached(self, start: str, cut: Iterable[str], without: Iterable[Unit] = ()) -> tuple[set[str], set[Unit]]:
        """Nodes and units that hang together with `start` when nothing leads on through the nodes of `cut`.

        The nodes of `cut` that are touched are among the nodes given; `start` itself leads on.
        """
        stops, left_out = set(cut), set(without)
        nodes, units, todo = {start}, set[Unit](), [start]
        while todo:
            node = todo.pop()
            if node in stops and node != start:
                continue
            for unit, others in self.links.get(node, ()):
                if unit in left_out:
                    continue
                units.add(unit)
                for other in others:
                    if other not in nodes:
                        nodes.add(other)
                        todo.append(other)
        return nodes, units


@dataclass(frozen=True)
class Thin:
    """A part that is looked through. `root` is its node in `net` (of each winding, for a choke: the first one's)."""

    element: Element
    roots: tuple[str, ...]


@dataclass(frozen=True)
class Chain:
    """Two-pin units one after the other with nothing branching off between; `ends` are the outer nodes."""

    units: tuple[Unit, ...]
    ends: tuple[str, str]


@dataclass(frozen=True)
class Views:
    """The two nets of a circuit, the parts looked through, and what was set aside because it only bridges one."""

    plain: Net
    net: Net
    thin: tuple[Thin, ...]
    bridging: tuple[Chain, ...]
    roots: Mapping[str, str]


def views_of(circuit: Circuit) -> Views:
    """Both nets of a circuit."""
    supply = circuit.supply
    rails = supply.nodes if supply.dc is not None and supply.nodes is not None else ("live", "neutral")
    elements = sorted(circuit.elements, key=lambda element: ref_order(element.ref))
    plain = _net(elements, {}, rails)
    edges = [edge for element in elements for edge in _thin_edges(element)]
    edges = _not_shorting_rails(edges, rails)
    bridging, kept = _bridges(plain, edges)
    roots = _roots(kept, rails)
    thin_refs = {element.ref for _, _, element in kept}
    aside = {ref for chain in bridging for unit in chain.units for ref in unit.refs}
    left = [element for element in elements if element.ref not in thin_refs and element.ref not in aside]
    left = [e for e in left if len({roots.get(n, n) for n in e.nodes if n is not None}) > 1]
    net_rails = (roots.get(rails[0], rails[0]), roots.get(rails[1], rails[1]))
    thin = tuple(
        Thin(element=e, roots=tuple(dict.fromkeys(roots.get(a, a) for a, _, other in kept if other is e)))
        for e in elements
        if e.ref in thin_refs
    )
    return Views(plain=plain, net=_net(left, roots, net_rails), thin=thin, bridging=bridging, roots=roots)


def _net(elements: Iterable[Element], roots: Mapping[str, str], rails: tuple[str, str]) -> Net:
    units = [
        unit_of(element, tuple(None if node is None else roots.get(node, node) for node in element.nodes))
        for element in elements
    ]
    earth = roots.get("earth", "earth")
    return Net(units=joined(units, frozenset((*rails, earth))), rails=rails, earth=earth)


Edge = tuple[str, str, Element]


def _thin_edges(element: Element) -> list[Edge]:
    if element.kind not in THIN:
        return []
    if element.kind == "thermistor" and element.number("cold") > _INRUSH_LIMIT:
        return []
    nodes = [str(node) for node in element.nodes]
    return [(nodes[k], nodes[k + 1], element) for k in range(0, len(nodes), 2)]


def _not_shorting_rails(edges: list[Edge], rails: tuple[str, str]) -> list[Edge]:
    """The edges less the kinds that would join the rails: open switches first, then all switches, coils, everything."""
    contact = ("switch", "thermostat")
    ways: tuple[Callable[[Element], bool], ...] = (
        lambda _e: False,
        lambda e: e.kind in contact and not e.values.get("closed", True),
        lambda e: e.kind in contact,
        lambda e: e.kind in (*contact, "inductor"),
    )
    for dropped in ways:
        left = [edge for edge in edges if not dropped(edge[2])]
        graph: nx.Graph = nx.Graph()
        graph.add_nodes_from(rails)
        graph.add_edges_from((a, b) for a, b, _ in left)
        if not nx.has_path(graph, *rails):
            return left
    return []


def _roots(edges: list[Edge], rails: tuple[str, str]) -> dict[str, str]:
    graph: nx.Graph = nx.Graph()
    graph.add_edges_from((a, b) for a, b, _ in edges)
    roots: dict[str, str] = {}
    for component in nx.connected_components(graph):
        named = [node for node in (*rails, "earth") if node in component]
        root = named[0] if named else min(component)
        roots |= dict.fromkeys(component, root)
    return roots


def _bridges(plain: Net, edges: list[Edge]) -> tuple[tuple[Chain, ...], list[Edge]]:
    """Chains that only bridge thin parts, and the thin edges that may be looked through.

    A thin part that bridges real work (a switch across a heater, a choke across a triac) is not looked through.
    """
    graph: nx.MultiGraph = nx.MultiGraph()
    for a, b, element in edges:
        graph.add_edge(a, b, key=(element.ref, a, b))
    bridging: list[Chain] = []
    refused: set[str] = set()
    refs = {element.ref for _, _, element in edges}
    for chain in chains(plain):
        own = {ref for unit in chain.units for ref in unit.refs}
        if own <= refs:
            continue
        paths = _paths(graph, chain.ends, own & refs)
        if not paths:
            continue
        if _is_light(chain, {edge[2].kind for edge in edges if edge[2].ref in paths}):
            bridging.append(chain)
        else:
            refused |= paths
    for unit in plain.units:
        if not unit.two and unit.kind not in THIN:
            refused |= _paths(graph, unit.ends, set())
    return tuple(bridging), [edge for edge in edges if edge[2].ref not in refused]


def _is_light(chain: Chain, bridged: set[str]) -> bool:
    kinds = {unit.kind for unit in chain.units}
    if not kinds <= _LIGHT:
        return False
    if "capacitor" in kinds or "indicator" in kinds or "varistor" in kinds:
        return True
    if "diode" in kinds:
        return bool(bridged & {"switch", "thermostat"})
    return bool(bridged & {"inductor", "choke"})  # a resistor that damps a coil


def _paths(graph: nx.MultiGraph, ends: tuple[str, str], without: set[str]) -> set[str]:
    """The refs of thin parts on any path between two nodes."""
    if ends[0] == ends[1] or ends[0] not in graph or ends[1] not in graph:
        return set()
    found: set[str] = set()
    for path in nx.all_simple_edge_paths(graph, *ends):
        refs = {key[0] for _, _, key in path}
        if not refs & without:
            found |= refs
    return found


def chains(net: Net) -> tuple[Chain, ...]:
    """All maximal runs of two-pin units through nodes where exactly two of them meet, in order of their refs."""
    used: set[Unit] = set()
    found: list[Chain] = []
    for unit in net.units:
        if not unit.two or unit in used:
            continue
        left, start = _walk(net, unit, unit.ends[0])
        right, end = _walk(net, unit, unit.ends[1])
        row = (*reversed(left), unit, *(u for u in right if u not in left))
        used |= set(row)
        if row[0].key > row[-1].key:
            row, start, end = row[::-1], end, start
        found.append(Chain(units=row, ends=(start, end)))
    return tuple(found)


def _walk(net: Net, unit: Unit, node: str) -> tuple[list[Unit], str]:
    row: list[Unit] = []
    seen = {unit}
    while node not in net.fixed:
        here = net.joined_to(node)
        if len(here) != 2 or not all(u.two for u in here):
            break
        onward = here[0] if here[1] is unit else here[1]
        if onward in seen:
            break
        seen.add(onward)
        row.append(onward)
        unit, node = onward, onward.other(node)
    return row, node
