"""Where in a circuit a rework can take hold: the rectifier, what hangs behind it, what stands ahead, and the gap.

Read from the connections and the recognised groups alone. The gap is the place in the line where something in series
can be put: between the two ends of what is taken out, or, where nothing is, between the line and the rectifier's pin.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import networkx as nx

from lidoff.circuit import Circuit, Element
from lidoff.circuit.groups import Groups
from lidoff.record import Table
from lidoff.rework.edits import Edits

CONTROLS: Final = ("phase-control", "snubber", "capacitor-dropper")
_MAIN_PATHS: Final = {
    "triac": (("mt1", "mt2"),),
    "thyristor": (("anode", "cathode"),),
    "choke": (("a1", "a2"), ("b1", "b2")),
    "potentiometer": (("a", "wiper"), ("wiper", "b")),
    "transformer": (),
    "bridge": (),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A place in series: from node `line` (mains side) to node `load` (rectifier side); `edits` open it."""

    line: str
    load: str
    edits: Edits = field(default_factory=Edits)


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A rectifier with its direct side, and the parts on either side of it, by ref.

    `rectifier` holds the bridge, or the four diodes; `ac` are its mains-side nodes, `plus` and `minus` its others.
    `direct` are the parts behind it, `ahead` those before it, `controls` those of `ahead` that set the current (dimmer,
    snubber, dropper, resistors in line). `strings` are the LED parts, `ballasts` resistors in series with them,
    `stores` smoothing capacitors from plus to minus.
    """

    circuit: Circuit
    rectifier: tuple[str, ...]
    ac: tuple[str, str]
    plus: str
    minus: str
    direct: tuple[str, ...]
    ahead: tuple[str, ...]
    controls: tuple[str, ...]
    strings: tuple[str, ...]
    ballasts: tuple[str, ...]
    stores: tuple[str, ...]

    @property
    def knobs(self) -> tuple[str, ...]:
        """The potentiometers ahead of the rectifier."""
        return tuple(r for r in self.ahead if (e := self.circuit.element(r)) is not None and e.kind == "potentiometer")

    @property
    def dimmed(self) -> bool:
        """Whether a triac or thyristor stands ahead of the rectifier."""
        return any(
            (e := self.circuit.element(r)) is not None and e.kind in ("triac", "thyristor") for r in self.controls
        )

    def elements(self, refs: Iterable[str]) -> tuple[Element, ...]:
        """The elements of those refs."""
        return tuple(e for r in refs if (e := self.circuit.element(r)) is not None)

    @property
    def fuse(self) -> Element | None:
        """A fuse ahead of the rectifier, or None."""
        return next((e for e in self.elements(self.ahead) if e.kind == "fuse"), None)


def site_of(circuit: Circuit, groups: Groups) -> Site | None:
    """The first full-wave rectifier of a circuit with what belongs to it; None where there is none."""
    found = next(iter(groups.named("bridge-rectifier")), None)
    if found is None:
        return None
    refs = found.having("bridge") or found.having("bridge arm")
    rails = _rails([e for r in refs if (e := circuit.element(r)) is not None])
    if rails is None:
        return None
    ac, plus, minus = rails
    direct = _reached(circuit, refs, (plus, minus), {*ac, "live", "neutral", "earth"})
    ahead = tuple(e.ref for e in circuit.elements if e.ref not in direct and e.ref not in refs)
    controls = _controls(circuit, groups, ahead)
    elements = {e.ref: e for e in circuit.elements}
    strings = tuple(r for r in direct if elements[r].kind == "led")
    ballasts = tuple(
        ref for group in groups.named("ballast") for ref in group.having("ballast resistor") if ref in direct
    )
    ballasts = ballasts or tuple(r for r in direct if elements[r].kind == "resistor" and _in_series(circuit, r))
    stores = tuple(r for r in direct if elements[r].kind == "capacitor" and set(elements[r].nodes) == {plus, minus})
    return Site(
        circuit=circuit,
        rectifier=tuple(refs),
        ac=ac,
        plus=plus,
        minus=minus,
        direct=direct,
        ahead=ahead,
        controls=controls,
        strings=strings,
        ballasts=ballasts,
        stores=stores,
    )


def _rails(arms: list[Element]) -> tuple[tuple[str, str], str, str] | None:
    if len(arms) == 1 and arms[0].kind == "bridge":
        pins = arms[0].pins
        return (pins["ac1"], pins["ac2"]), pins["plus"], pins["minus"]
    diodes = [e for e in arms if e.kind == "diode"]
    cathodes = [e.pins["cathode"] for e in diodes]
    anodes = [e.pins["anode"] for e in diodes]
    plus = next((n for n in cathodes if cathodes.count(n) == 2 and n not in anodes), None)
    minus = next((n for n in anodes if anodes.count(n) == 2 and n not in cathodes), None)
    if len(diodes) != 4 or plus is None or minus is None:
        return None
    ac = tuple(dict.fromkeys(n for n in (*anodes, *cathodes) if n not in (plus, minus)))
    return ((ac[0], ac[1]), plus, minus) if len(ac) == 2 else None


def _reached(circuit: Circuit, out: Iterable[str], start: Iterable[str], walls: set[str]) -> tuple[str, ...]:
    """The parts that hang together with the start nodes, not through the parts left out nor past the walls."""
    skip, seen, waiting = set(out), set(start), list(start)
    found: dict[str, None] = {}
    while waiting:
        node = waiting.pop()
        for element in circuit.elements:
            if element.ref in skip or node not in element.nodes:
                continue
            found[element.ref] = None
            for other in element.nodes:
                if other is not None and other not in seen and other not in walls:
                    seen.add(other)
                    waiting.append(other)
    return tuple(e.ref for e in circuit.elements if e.ref in found)


def _controls(circuit: Circuit, groups: Groups, ahead: tuple[str, ...]) -> tuple[str, ...]:
    named = {ref for name in CONTROLS for group in groups.named(name) for ref in group.own if ref in ahead}
    # A resistor in the line ahead of a rectifier sets the current as much as one behind it.
    for element in circuit.elements:
        if element.ref in ahead and element.kind == "resistor" and not {"live", "neutral"} <= set(element.nodes):
            belongs = {g.name for g in groups.best if element.ref in g.own}
            if not belongs & {"discharge-resistor", "input-stage", "indicator"}:
                named.add(element.ref)
    return tuple(ref for ref in ahead if ref in named)


def _in_series(circuit: Circuit, ref: str) -> bool:
    """Whether a resistor shares a node with an LED part and nothing else."""
    element = circuit.element(ref)
    if element is None:
        return False
    return any(
        sum(node in other.nodes for other in circuit.elements) == 2
        and any(other.kind == "led" and node in other.nodes for other in circuit.elements)
        for node in element.nodes
    )


def gap_of(site: Site, removed: Iterable[str]) -> Gap | None:
    """Where something can be put in series once `removed` is out; None where no line leads to the rectifier."""
    gone = set(removed)
    graph = _series_graph(site)
    for pole, other in (("live", "neutral"), ("neutral", "live")):
        for node in site.ac:
            path = _path(graph, pole, node, other)
            at = [k for k, (_, _, ref) in enumerate(path or ()) if ref in gone]
            if path and at:
                return Gap(line=path[at[0]][0], load=path[at[-1]][1])
    for pole, other in (("live", "neutral"), ("neutral", "live")):
        for node in site.ac:
            if node == pole or _path(graph, pole, node, other):
                return _opened(site, node)
    return None


def _series_graph(site: Site) -> nx.MultiGraph:
    graph: nx.MultiGraph = nx.MultiGraph()
    graph.add_nodes_from((*site.ac, "live", "neutral"))
    for element in site.elements(site.ahead):
        paths = _MAIN_PATHS.get(element.kind)
        pins = element.pins
        pairs = [(pins.get(a), pins.get(b)) for a, b in paths] if paths is not None else []
        if paths is None and len(pins) == 2:
            pairs = [(element.nodes[0], element.nodes[1])]
        weight = 1.0 if element.kind not in ("capacitor", "varistor") else 1.5
        if element.kind in ("resistor", "potentiometer") and element.number("value") > 20e3:
            weight = 5.0  # a bleeder beside a dropper is not the way the current takes
        for a, b in pairs:
            if a is not None and b is not None:
                graph.add_edge(a, b, ref=element.ref, weight=weight)
    return graph


def _path(graph: nx.MultiGraph, pole: str, node: str, other: str) -> list[tuple[str, str, str]] | None:
    """Steps (from, to, ref) from a pole to a node that do not touch the other pole; None where there is no way."""
    if pole == node:
        return []
    open_graph = graph.subgraph([n for n in graph if n != other])
    if pole not in open_graph or node not in open_graph:
        return None
    try:
        nodes = nx.shortest_path(open_graph, pole, node, weight="weight")
    except nx.NetworkXNoPath:
        return None
    steps = []
    for a, b in pairwise(nodes):
        edge = min(open_graph[a][b].values(), key=lambda e: e["weight"])
        steps.append((str(a), str(b), str(edge["ref"])))
    return steps


def _opened(site: Site, node: str) -> Gap:
    """The wire at the rectifier's pin cut: the rectifier goes to a node of its own."""
    new = f"{node}_r"
    moved = {
        f"{e.ref}.{pin}": new for e in site.elements(site.rectifier) for pin, held in e.pins.items() if held == node
    }
    return Gap(line=node, load=new, edits=Edits(moved=Table(moved)))
