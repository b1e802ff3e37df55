"""The subgraph search against networkx, which searches in its own way."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from networkx.algorithms.isomorphism import GraphMatcher

from lidoff.circuit import Element
from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.units import Unit, unit_of
from lidoff.record.model import Table

NODES = ("live", "neutral", "a", "b", "c", "d")
PATTERNS = {
    "bridge of four diodes": (
        Want("1", ("diode", "led"), ("x", "p")),
        Want("2", ("diode", "led"), ("y", "p")),
        Want("3", ("diode", "led"), ("m", "x")),
        Want("4", ("diode", "led"), ("m", "y")),
    ),
    "resistor and capacitor in a row": (
        Want("r", ("resistor",), ("a", "k")),
        Want("c", ("capacitor",), ("k", "b")),
    ),
    "doubler": (
        Want("upper", ("diode",), ("x", "p")),
        Want("lower", ("diode",), ("m", "x")),
        Want("c1", ("capacitor",), ("p", "y")),
        Want("c2", ("capacitor",), ("y", "m")),
    ),
    "ring of three": (
        Want("r", ("resistor", "capacitor"), ("a", "b")),
        Want("d", ("diode",), ("b", "c")),
        Want("s", ("resistor",), ("c", "a")),
    ),
}
WAYS = {"diode": ("anode", "cathode"), "led": ("anode", "cathode")}


@st.composite
def nets(draw: st.DrawFn) -> Net:
    """Small parts thrown onto few nodes, so that patterns do occur."""
    units = []
    for k in range(draw(st.integers(2, 10))):
        kind = draw(st.sampled_from(("diode", "diode", "capacitor", "resistor", "led")))
        nodes = (draw(st.sampled_from(NODES)), draw(st.sampled_from(NODES)))
        values = {"value": 1.0, "forward_voltage": 3.0, "series": 1.0}
        element = Element(ref=f"P{k}", kind=kind, nodes=nodes, values=Table(values))
        units.append(unit_of(element, nodes))
    return Net(units=tuple(units), rails=("live", "neutral"))


def graph(parts: list[tuple[object, frozenset[str], tuple[str, ...], tuple[str, ...]]]) -> nx.Graph:
    """Parts and nodes as the vertices of one graph; an edge carries the names of the pins that it stands for."""
    made: nx.Graph = nx.Graph()
    for name, kinds, pins, nodes in parts:
        made.add_node(("part", name), kinds=kinds)
        for pin, node in zip(pins, nodes, strict=True):
            vertex = ("node", node)
            made.add_node(vertex, kinds=frozenset())
            if made.has_edge(("part", name), vertex):
                made.edges[("part", name), vertex]["pins"] |= {pin}
            else:
                made.add_edge(("part", name), vertex, pins={pin})
    return made


def by_networkx(net: Net, wants: tuple[Want, ...]) -> set[frozenset[str]]:
    """The sets of refs at which networkx finds the pattern."""

    def ways(kind: str) -> tuple[str, ...]:
        return WAYS.get(kind, ("end", "end"))

    host = graph([(u.refs[0], frozenset({u.kind}), ways(u.kind), tuple(map(str, u.nodes))) for u in net.units])
    pattern = graph([(w.role, frozenset(w.kinds), ways(w.kinds[0]), w.joins) for w in wants])
    matcher = GraphMatcher(
        host,
        pattern,
        node_match=lambda mine, wanted: (
            mine["kinds"] <= wanted["kinds"] and bool(mine["kinds"]) == bool(wanted["kinds"])
        ),
        edge_match=lambda mine, wanted: wanted["pins"] <= mine["pins"],
    )
    return {
        frozenset(name for sort, name in found if sort == "part") for found in matcher.subgraph_monomorphisms_iter()
    }


@pytest.mark.parametrize("name", PATTERNS)
@given(net=nets())
@settings(max_examples=60)
def test_the_search_finds_what_networkx_finds(name: str, net: Net) -> None:
    """Every occurrence, each set of parts once, nothing else (networkx 3, VF2 monomorphisms)."""
    found = matches(net, PATTERNS[name])
    sets = [frozenset(match.refs) for match in found]
    assert len(sets) == len(set(sets))
    assert set(sets) == by_networkx(net, PATTERNS[name])
    for match in found:
        assert len(set(match.nodes.values())) == len(match.nodes)


def test_names_bound_beforehand_are_kept() -> None:
    """A pattern can be asked for at given nodes."""
    units = tuple(
        unit_of(Element(ref=ref, kind="resistor", nodes=nodes, values=Table(value=1.0)), nodes)
        for ref, nodes in (("R1", ("a", "b")), ("R2", ("b", "c")), ("R3", ("c", "d")))
    )
    net = Net(units=units, rails=("live", "neutral"))
    row = (Want("first", ("resistor",), ("x", "y")), Want("second", ("resistor",), ("y", "z")))
    assert {match.refs for match in matches(net, row, {"x": "a"})} == {("R1", "R2")}
    assert len(matches(net, row)) == 2
    assert isinstance(net.units[0], Unit)
