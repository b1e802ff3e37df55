"""What every family looks at: the two nets of a circuit, and what is found once for all of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

from lidoff.circuit.groups.net import Chain, Net, Thin, chains, views_of
from lidoff.circuit.groups.outlets import Rectifier, rectifiers_of
from lidoff.circuit.groups.strings import Branch, strings_of
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.model import Circuit, Mains

_DROP = 0.7  # [V] of a conducting diode at the few milliamperes to amperes met here; common practice, no source


@dataclass(frozen=True)
class Scene:
    """A circuit as the families see it. `plain` has every part; in `net` fuses, switches and chokes are wires."""

    circuit: Circuit
    plain: Net
    net: Net
    thin: tuple[Thin, ...]
    bridging: tuple[Chain, ...]
    roots: Mapping[str, str]
    rectifiers: tuple[Rectifier, ...]
    strings: tuple[Branch, ...]

    @property
    def supply(self) -> Mains:
        """The mains or bench supply."""
        return self.circuit.supply

    @property
    def mains(self) -> bool:
        """Whether the circuit runs on the mains, not on a bench supply."""
        return self.supply.dc is None

    @property
    def volts(self) -> float:
        """Supply voltage [V rms, or V dc of a bench supply]."""
        return self.supply.voltage if self.supply.dc is None else self.supply.dc

    @property
    def peak(self) -> float:
        """Largest supply voltage [V]."""
        return self.volts * (math.sqrt(2.0) if self.mains else 1.0)

    @property
    def omega(self) -> float:
        """Angular frequency of the mains [rad/s]."""
        return 2.0 * math.pi * self.supply.frequency

    @cached_property
    def ac_nodes(self) -> frozenset[str]:
        """The feeding nodes of all rectifiers."""
        return frozenset(node for rectifier in self.rectifiers for node in rectifier.ac)

    @cached_property
    def rectifying(self) -> frozenset[Unit]:
        """The diodes that rectify."""
        return frozenset(unit for rectifier in self.rectifiers for unit in rectifier.units)

    @cached_property
    def chains(self) -> tuple[Chain, ...]:
        """Runs of two-pin parts in the net with everything in it."""
        return chains(self.plain)

    @cached_property
    def net_chains(self) -> tuple[Chain, ...]:
        """Runs of two-pin parts in the net that looks through the lines."""
        return chains(self.net)

    def root(self, node: str) -> str:
        """The node of `net` that a node of `plain` has become."""
        return self.roots.get(node, node)

    def rail_of(self, node: str) -> str | None:
        """Which rail a node of `net` is, "live" or "neutral"; None for any other node, and on a bench supply."""
        if not self.mains or node not in self.net.rails:
            return None
        return ("live", "neutral")[self.net.rails.index(node)]

    def is_rail(self, node: str) -> bool:
        """Whether a node of `net` is one of the two rails."""
        return node in self.net.rails

    def other_rail(self, node: str) -> str:
        """The rail that the given one is not."""
        first, second = self.net.rails
        return second if node == first else first

    def feeds_both(self, rectifier: Rectifier) -> bool:
        """Whether a rectifier stands straight on the rails."""
        return all(self.is_rail(node) for node in rectifier.ac)

    @cached_property
    def _ways(self) -> nx.DiGraph:
        """Which node leads to which, with the least voltage that passes [V] and the unit it passes through."""
        graph: nx.DiGraph = nx.DiGraph()
        for unit in self.net.units:
            for first, second, volts in _ways_through(unit):
                old = graph.get_edge_data(first, second)
                if old is None or volts < old["volts"]:
                    graph.add_edge(first, second, volts=volts, unit=unit)
        return graph

    def threshold(self, start: str, end: str, without: frozenset[Unit] = frozenset()) -> Way | None:
        """The easiest way for current from one node of `net` to another, None where nothing leads there.

        LEDs count their forward voltage at their test current, zeners their voltage, diodes 0.7 V each. Capacitors and
        parts that have to be fired do not pass.
        """

        def weight(_first: str, _second: str, edge: dict[str, object]) -> float | None:
            return None if edge["unit"] in without else float(edge["volts"])  # type: ignore[arg-type]

        if start not in self._ways or end not in self._ways:
            return None
        try:
            volts, path = nx.single_source_dijkstra(self._ways, start, end, weight=weight)
        except nx.NetworkXNoPath:
            return None
        edges = itertools.pairwise(path)
        return Way(float(volts), frozenset(self._ways.edges[edge]["unit"] for edge in edges))


@dataclass(frozen=True)
class Way:
    """A way for current: the voltage it takes [V], and the units on it."""

    volts: float
    units: frozenset[Unit]


def _ways_through(unit: Unit) -> list[tuple[str, str, float]]:
    nodes = [node for node in unit.nodes if node is not None]
    if unit.kind in ("capacitor", "triac", "thyristor"):
        return []
    if unit.kind == "bridge":
        x, y, plus, minus = nodes
        return [way for ac in (x, y) for way in ((ac, plus, _DROP), (minus, ac, _DROP))]
    if unit.kind in ("transformer", "choke"):
        return [(a, b, 0.0) for a, b in ((nodes[0], nodes[1]), (nodes[2], nodes[3]))] + [
            (b, a, 0.0) for a, b in ((nodes[0], nodes[1]), (nodes[2], nodes[3]))
        ]
    if unit.kind in ("diode", "led"):
        return [(nodes[0], nodes[1], unit.value if unit.kind == "led" else _DROP)]
    if unit.kind == "zener":
        return [(nodes[0], nodes[1], _DROP), (nodes[1], nodes[0], unit.value)]
    if unit.kind in ("regulator", "converter"):
        return [(nodes[0], nodes[1], 0.0)]
    volts = unit.value if unit.kind in ("diac", "varistor") else 0.0
    return [way for node in nodes[1:] for way in ((nodes[0], node, volts), (node, nodes[0], volts))]


def scene_of(circuit: Circuit) -> Scene:
    """The scene of a circuit."""
    views = views_of(circuit)
    rectifiers = rectifiers_of(views.net)
    diodes = frozenset(unit for rectifier in rectifiers if rectifier.both for unit in rectifier.units)
    return Scene(
        circuit=circuit,
        plain=views.plain,
        net=views.net,
        thin=views.thin,
        bridging=views.bridging,
        roots=views.roots,
        rectifiers=rectifiers,
        strings=strings_of(views.net, diodes),
    )
