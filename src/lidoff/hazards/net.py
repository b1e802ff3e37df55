"""How a circuit hangs together, as far as hazards hang on it: the two sides of the mains, and what is joined to "
"them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import networkx as nx

from lidoff.circuit import Circuit, Element
from lidoff.circuit.groups import Groups

# What is looked through on the way from a mains terminal: it drops little and stops no current for good.
_THROUGH: Final = ("fuse", "switch", "thermostat", "thermistor", "inductor", "choke")
# A resistor of this much or more passes too little to join two circuits (230 V over it: 0.12 mA; our choice).
_APART: Final = 2e6
_PAIRS: Final = {"choke": (("a1", "a2"), ("b1", "b2")), "transformer": (("p1", "p2"), ("s1", "s2"))}


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """The nodes on the live side and the neutral side, and all nodes joined to the mains without insulation."""

    elements: tuple[Element, ...]
    live: frozenset[str]
    neutral: frozenset[str]
    joined: frozenset[str]

    @classmethod
    def of(cls, circuit: Circuit | None, groups: Groups | None) -> Net:
        """The questions put to a circuit; an empty one where there is none or it hangs on a bench supply."""
        if circuit is None or circuit.supply.dc is not None:
            return cls(elements=(), live=frozenset(), neutral=frozenset(), joined=frozenset())
        through = [e for e in circuit.elements if e.kind in _THROUGH or e.ref in _series_resistors(groups)]
        near: nx.Graph = nx.Graph()
        near.add_nodes_from(("live", "neutral"))
        for element in through:
            for pair in _pairs(element):
                trial = near.copy()
                trial.add_edge(*pair)
                if not nx.has_path(trial, "live", "neutral"):
                    near.add_edge(*pair)
        whole: nx.Graph = nx.Graph()
        whole.add_nodes_from(("live", "neutral"))
        for element in circuit.elements:
            if element.kind == "capacitor" or (element.kind == "resistor" and element.number("value") >= _APART):
                continue
            whole.add_edges_from(pair for pair in _pairs(element) if "earth" not in pair)
        return cls(
            elements=circuit.elements,
            live=frozenset(nx.node_connected_component(near, "live")),
            neutral=frozenset(nx.node_connected_component(near, "neutral")),
            joined=frozenset(
                nx.node_connected_component(whole, "live") | nx.node_connected_component(whole, "neutral")
            ),
        )

    def across_mains(self, kind: str) -> tuple[Element, ...]:
        """The two-pin parts of a kind that stand between the live and the neutral side."""
        return tuple(
            e
            for e in self.elements
            if e.kind == kind and len(ends := _ends(e)) == 2 and self.live & ends and self.neutral & ends
        )

    def bridging(self, kind: str, far: Iterable[str]) -> tuple[Element, ...]:
        """The two-pin parts of a kind between anything joined to the mains and one of the nodes `far`."""
        other = frozenset(far)
        return tuple(
            e
            for e in self.elements
            if e.kind == kind and len(ends := _ends(e)) == 2 and ends & self.joined and ends & other
        )

    def touching(self, kind: str) -> tuple[Element, ...]:
        """The parts of a kind with a pin on the live or the neutral side."""
        return tuple(e for e in self.elements if e.kind == kind and _ends(e) & (self.live | self.neutral))

    def in_line(self, kind: str, side: str = "live") -> tuple[Element, ...]:
        """The parts of a kind that lie in the line from a terminal ("live" or "neutral") inwards."""
        nodes = self.live if side == "live" else self.neutral
        return tuple(e for e in self.elements if e.kind == kind and _ends(e) <= nodes)


def _ends(element: Element) -> frozenset[str]:
    return frozenset(node for node in element.nodes if node is not None)


def _pairs(element: Element) -> list[tuple[str, str]]:
    pins = element.pins
    windings = _PAIRS.get(element.kind)
    if windings is not None:
        return [(pins[a], pins[b]) for a, b in windings if a in pins and b in pins]
    nodes = [node for node in element.nodes if node is not None]
    return [(nodes[0], other) for other in nodes[1:]]


def _series_resistors(groups: Groups | None) -> frozenset[str]:
    if groups is None:
        return frozenset()
    return frozenset(
        ref
        for group in groups.best
        for ref, role in group.roles.items()
        if role == "surge resistor" or (group.name in ("input-stage", "series-part") and "resistor" in role)
    )
