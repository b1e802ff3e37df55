"""Timing networks: what charges towards the gate of a triac or thyristor, through what, and from where.

From the gate the search goes back through the trigger to the first capacitor; from there the resistors and
potentiometers that lie on any way to the supply side are the charging chain (a biconnected component of the graph of
resistances). Capacitors along it make it one time constant or two. What the chain's current flows through on its way
round decides when charging can begin: nothing but the mains, a lamp, or a string of LEDs.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import networkx as nx
import numpy as np

from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import RHEOSTAT, Unit

_TRIGGERS: Final = ("diac", "indicator")
_RESISTIVE: Final = ("resistor", RHEOSTAT, "potentiometer")
_TOP: Final = ("top",)  # stands for all nodes at which a charging chain may begin; no node's name
_DEEPEST: Final = 3  # parts between gate and timing capacitor


@dataclass(frozen=True)
class ThroughLoad:
    """The load that the charging current flows through: the units on its easiest way, and what that takes."""

    volts: float  # [V]
    units: frozenset[Unit]
    others: frozenset[Unit]  # everything else between the same nodes

    @property
    def leds(self) -> tuple[Unit, ...]:
        """The LEDs on that way, in order of their refs."""
        return tuple(sorted((unit for unit in self.units if unit.kind == "led"), key=lambda unit: unit.key))


@dataclass(frozen=True)
class Timing:
    """A timing network. Resistances [ohm] are those between the supply side and the first capacitor."""

    latch: Unit
    triggers: tuple[Unit, ...]
    lead: tuple[Unit, ...]  # resistors between the last capacitor and the gate
    gate: tuple[Unit, ...]  # resistors from gate to the reference terminal
    capacitors: tuple[tuple[Unit, ...], ...]  # per stage, first the one next to the knob
    knobs: tuple[Unit, ...]  # largest first
    end_resistors: tuple[Unit, ...]
    across_knob: tuple[Unit, ...]
    second_stage: tuple[Unit, ...]
    least: float
    most: float
    wrong_terminal: bool  # the capacitors go to the terminal that the gate is not referred to
    through: tuple[ThroughLoad, ...]  # the load in the way, if any

    @property
    def chain(self) -> tuple[Unit, ...]:
        """All resistances of the charging chain."""
        return (*self.knobs, *self.end_resistors, *self.across_knob, *self.second_stage)

    @property
    def capacitance(self) -> float:
        """Of the first stage [F]."""
        return sum(unit.value for unit in self.capacitors[0])


def timing_of(scene: Scene, latch: Unit) -> Timing | None:
    """The timing network that fires this triac or thyristor, or None where there is none."""
    first, second, gate = (str(node) for node in latch.nodes)
    # The gate is referred to mt1, and to the cathode: the first pin of a triac, the second of a thyristor.
    bottom, top = (first, second) if latch.kind == "triac" else (second, first)
    found = _back_from_gate(scene, gate, bottom, top)
    if found is None:
        return None
    node, path, ground = found
    tops = _supply_nodes(scene, latch) | {top if ground == bottom else bottom}
    tops -= {ground}
    chain = _chain(scene, node, tops, {ground, gate}, set(path))
    if chain is None:
        return None
    distance = nx.single_source_shortest_path_length(chain, _TOP)
    rows = sorted(
        (distance[place], [u.key for u in here], place, here)
        for place in chain
        if place != _TOP and (here := scene.net.across(place, ground, "capacitor"))
    )
    near = _between(chain, _TOP, rows[0][2])
    whole = _units_of(chain)
    first_units = _units_of(near)
    knobs = sorted((u for u in whole if u.kind != "resistor"), key=lambda u: (-u.value, u.key))
    least, most, ends, across = _resistances(near, rows[0][2])
    return Timing(
        latch=latch,
        triggers=tuple(u for u in path if u.kind in _TRIGGERS),
        lead=tuple(u for u in path if u.kind == "resistor"),
        gate=scene.net.across(gate, bottom, "resistor"),
        capacitors=tuple(row[3] for row in rows),
        knobs=tuple(knobs),
        end_resistors=ends,
        across_knob=across,
        second_stage=_sorted(u for u in whole - first_units if u.kind == "resistor"),
        least=least,
        most=most,
        wrong_terminal=ground != bottom,
        through=_through_load(scene, latch, tops, ground, chain),
    )


def _sorted(units: Iterable[Unit]) -> tuple[Unit, ...]:
    return tuple(sorted(units, key=lambda unit: unit.key))


def _supply_nodes(scene: Scene, latch: Unit) -> set[str]:
    """The rails, and for a part behind a rectifier that rectifier's plus and minus."""
    nodes = set(scene.net.rails)
    direct = {node for r in scene.rectifiers for node in (r.plus, r.minus)}
    if latch.kind == "thyristor" and direct & set(latch.ends):
        nodes |= direct
    return nodes


def _back_from_gate(scene: Scene, gate: str, bottom: str, top: str) -> tuple[str, tuple[Unit, ...], str] | None:
    """The first node with a timing capacitor on the way back from the gate, that way, and where the capacitor goes.

    Ways through a trigger come first, then shorter ones, then ones whose capacitor goes to the right terminal.
    """
    found: list[tuple[bool, int, bool, tuple[object, ...], str, tuple[Unit, ...], str]] = []
    todo: list[tuple[str, tuple[Unit, ...]]] = [(gate, ())]
    while todo:
        node, path = todo.pop()
        for ground in (bottom, top):
            if path and scene.net.across(node, ground, "capacitor"):
                triggered = any(unit.kind in _TRIGGERS for unit in path)
                key = tuple(unit.key for unit in path)
                found.append((not triggered, len(path), ground != bottom, key, node, path, ground))
        if len(path) == _DEEPEST or (path and scene.net.across(node, bottom, "capacitor")):
            continue
        for unit in scene.net.joined_to(node):
            if unit.kind in (*_TRIGGERS, "resistor") and unit not in path:
                far = unit.other(node)
                if far not in (bottom, top, gate) and far not in scene.net.fixed:
                    todo.append((far, (*path, unit)))
    if not found:
        return None
    *_, node, path, ground = min(found, key=lambda row: row[:4])
    return node, path, ground


def _chain(scene: Scene, node: str, tops: set[str], barred: set[str], without: set[Unit]) -> nx.MultiGraph | None:
    """The resistances on any way from the timing node to the supply side; None where there is no way."""
    graph: nx.MultiGraph = nx.MultiGraph()
    for unit in scene.net.of(*_RESISTIVE):
        if unit in without:
            continue
        pins = [str(n) for n in unit.nodes if n is not None]
        for first, second in itertools.pairwise(pins):
            ends = [_TOP if n in tops else n for n in (first, second)]
            if ends[0] != ends[1] and not barred & {first, second}:
                graph.add_edge(*ends, unit=unit, ohms=unit.value)
    if node not in graph or _TOP not in graph or not nx.has_path(graph, node, _TOP):
        return None
    return _between(graph, _TOP, node)


def _between(graph: nx.MultiGraph, start: object, end: object) -> nx.MultiGraph:
    """The part of a graph that lies on any simple way between two nodes."""
    plain: nx.Graph = nx.Graph()
    plain.add_edges_from(graph.edges())
    plain.add_edge(start, end)
    for edges in nx.biconnected_component_edges(plain):
        pairs = {frozenset(edge) for edge in edges}
        if frozenset((start, end)) in pairs:
            return graph.edge_subgraph(key for key in graph.edges(keys=True) if frozenset(key[:2]) in pairs).copy()
    raise AssertionError("an edge is always in one biconnected component")


def _units_of(graph: nx.MultiGraph) -> set[Unit]:
    return {unit for _, _, unit in graph.edges(data="unit")}


def _resistances(graph: nx.MultiGraph, node: str) -> tuple[float, float, tuple[Unit, ...], tuple[Unit, ...]]:
    """Resistance from the supply side to a node with every knob at nothing and at its most [ohm]; the fixed resistors
    that remain with the knobs at nothing, and those that only lie across a knob.
    """
    knobs: nx.Graph = nx.Graph()
    knobs.add_nodes_from(graph)
    knobs.add_edges_from((a, b) for a, b, unit in graph.edges(data="unit") if unit.kind != "resistor")
    group = {n: k for k, component in enumerate(nx.connected_components(knobs)) for n in component}
    fixed = [(group[a], group[b], unit) for a, b, unit in graph.edges(data="unit") if unit.kind == "resistor"]
    across = _sorted(unit for a, b, unit in fixed if a == b)
    ends = _sorted({unit for a, b, unit in fixed if a != b})
    if group[_TOP] == group[node]:
        ends, least = (), 0.0
        across = _sorted({unit for _, _, unit in fixed})
    else:
        least = _resistance([(a, b, unit.value) for a, b, unit in fixed if a != b], group[_TOP], group[node])
    most = _resistance([(a, b, unit.value) for a, b, unit in graph.edges(data="unit")], _TOP, node)
    return least, most, ends, across


def _resistance(edges: list[tuple[object, object, float]], start: object, end: object) -> float:
    """Resistance between two nodes of a network [ohm], by its conductance matrix."""
    index = {n: k for k, n in enumerate(dict.fromkeys(n for a, b, _ in edges for n in (a, b)))}
    matrix = np.zeros((len(index), len(index)))
    for a, b, ohms in edges:
        i, j = index[a], index[b]
        matrix[i, i] += 1.0 / ohms
        matrix[j, j] += 1.0 / ohms
        matrix[i, j] -= 1.0 / ohms
        matrix[j, i] -= 1.0 / ohms
    kept = [k for n, k in index.items() if n != end]
    current = np.array([1.0 if k == index[start] else 0.0 for k in kept])
    volts = np.linalg.solve(matrix[np.ix_(kept, kept)], current)
    return float(volts[kept.index(index[start])])


def _through_load(
    scene: Scene, latch: Unit, tops: set[str], ground: str, chain: nx.MultiGraph
) -> tuple[ThroughLoad, ...]:
    """What the charging current flows through beside the chain; nothing where that stands on the supply."""
    sources = _supply_nodes(scene, latch)
    starts = {str(node) for _, _, unit in chain.edges(data="unit") for node in unit.nodes if node in tops}
    found = []
    for node, far in [(start, ground) for start in starts] + [(ground, start) for start in starts]:
        if node in sources:
            continue
        # Only what leaves this end for the supply counts, not what goes round by the latch's other end.
        without = frozenset(unit for unit in scene.net.joined_to(far) if unit.kind != "bridge")
        without |= _units_of(chain) | {latch}
        ways = []
        for target in sources - {far}:
            for way in (scene.threshold(node, target, without), scene.threshold(target, node, without)):
                if way is not None:
                    ways.append((way.volts, sorted(unit.key for unit in way.units), way))
        if ways:
            way = min(ways, key=lambda row: row[:2])[2]
            reached = scene.net.reached(node, sources, without)[1]
            found.append(ThroughLoad(way.volts, way.units, frozenset(reached - way.units)))
    return tuple(sorted(found, key=lambda load: sorted(unit.key for unit in load.units)))
