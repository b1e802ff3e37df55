"""How a circuit hangs together as a person would draw it: stages along the flow of energy, each a ladder of branches.

A two-port (bridge, transformer, common-mode choke, or four parts that act as a bridge or a voltage doubler) parts the
circuit into stages. Within a stage the network between its two rails is reduced to parts in series and side by side;
where that does not go on, the part whose removal helps most is set aside as a link, to be placed where it fits. Leads
that go to nothing but a gate or a base are set aside from the start.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import TYPE_CHECKING

from lidoff.drawing.symbols import SIDE_PINS, TWO_PORTS, main_pins
from lidoff.drawing.trees import (
    Framed,
    Leaf,
    Port,
    Tree,
    from_node,
    has_port,
    in_series,
    leaves,
    refs_of,
    side_by_side,
)

if TYPE_CHECKING:
    from lidoff.circuit import Element

_VALVES = ("diode", "thyristor")
_STEERING = ("resistor", "diac", "diode", "zener", "capacitor", "indicator", "potentiometer")


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPort:
    """A way from one stage into the next: `inputs` and `outputs` are nodes, the upper one first.

    `ref` is the part, or None where `columns` are the four parts of a bridge made of single parts: two columns, each
    with an upper part, a lower part and the node between them.
    """

    name: str
    inputs: tuple[str, str]
    outputs: tuple[str, str]
    ref: str | None = None
    turned: bool = False  # the part's outputs are on the side of the mains
    columns: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """What lies between two rails: the network, None where nothing does."""

    top: str
    bottom: str
    tree: Tree | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Skeleton:
    """A circuit taken apart: the first stage, those behind each two-port, and what is set aside.

    `links` bridge two nodes of a stage, `leads` run from a node to a gate or base (their end `b`), `loose` hang on by
    one end or not at all. A two-port that parts nothing, and what only hangs on such a one, stands in none of these.
    """

    first: Stage
    beyond: Mapping[str, Stage]
    ports: Mapping[str, TwoPort]
    links: tuple[Tree, ...] = ()
    leads: tuple[Tree, ...] = ()
    loose: tuple[Tree, ...] = ()


@dataclass(slots=True)
class _Work:
    """What is being taken apart."""

    elements: Mapping[str, Element]
    edges: list[Tree] = field(default_factory=list)
    ports: list[TwoPort] = field(default_factory=list)
    links: list[Tree] = field(default_factory=list)
    leads: list[Tree] = field(default_factory=list)
    loose: list[Tree] = field(default_factory=list)


def skeleton_of(elements: Sequence[Element], top: str, bottom: str) -> Skeleton:
    """Takes a circuit apart, fed between the nodes `top` and `bottom`."""
    work = _Work({e.ref: e for e in elements})
    for e in elements:
        if e.kind in TWO_PORTS:
            (in1, in2), (out1, out2) = TWO_PORTS[e.kind]
            at = e.pins
            work.ports.append(TwoPort(name=e.ref, ref=e.ref, inputs=(at[in1], at[in2]), outputs=(at[out1], at[out2])))
            continue
        one, two = main_pins(e.kind, tuple(e.pins))
        edge = Leaf(e.ref, e.pins[one], e.pins[two])
        (work.loose if edge.a == edge.b else work.edges).append(edge)
    _take_leads(work, keep={top, bottom})
    _take_blocks(work)
    _take_bridges(work, top)
    stages, ports = _stages(work, top, bottom)
    return Skeleton(
        first=stages.pop(""),
        beyond=stages,
        ports=ports,
        links=tuple(work.links),
        leads=tuple(work.leads),
        loose=tuple(work.loose),
    )


def _stages(work: _Work, top: str, bottom: str) -> tuple[dict[str, Stage], dict[str, TwoPort]]:
    """The stages by the two-port that leads into them ("" for the first), and the two-ports seen from the mains."""
    home = _zones(work)
    entered = {home.get(top), home.get(bottom)}
    waiting = list(work.ports)
    stages: dict[str, Stage] = {}
    ports: dict[str, TwoPort] = {}
    pending = [("", top, bottom)]
    while pending:
        entry, upper, lower = pending.pop(0)
        zone = {home.get(upper), home.get(lower)}
        ways_on: list[Tree] = []
        for port in list(waiting):
            sides = (home[port.inputs[0]], home[port.outputs[0]])
            turned = sides[0] not in zone and sides[1] in zone
            here, there = sides[::-1] if turned else sides
            if here not in zone:
                continue
            waiting.remove(port)
            ins, outs = (port.outputs, port.inputs) if turned else (port.inputs, port.outputs)
            if there in entered or ins[0] == ins[1] or outs[0] == outs[1]:
                continue  # it parts nothing
            entered.add(there)
            ports[port.name] = replace(port, inputs=ins, outputs=outs, turned=turned)
            ways_on.append(Port(port.name, *ins))
            pending.append((port.name, *outs))
        own = [edge for edge in work.edges if home[edge.a] in zone]
        stages[entry] = Stage(top=upper, bottom=lower, tree=_reduced(work, [*own, *ways_on], upper, lower))
    work.loose += [edge for edge in work.edges if home[edge.a] not in entered]
    return stages, ports


def _zones(work: _Work) -> dict[str, int]:
    """Node to stage number: nodes that parts join belong together, those across a two-port do not."""
    parent: dict[str, str] = {}

    def root(node: str) -> str:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for tree in (*work.edges, *work.leads, *work.loose):
        parent[root(tree.a)] = root(tree.b)
    for port in work.ports:
        parent[root(port.inputs[0])] = root(port.inputs[1])
        parent[root(port.outputs[0])] = root(port.outputs[1])
    for e in work.elements.values():  # a gate or base belongs to the stage of its part
        if e.kind in SIDE_PINS and SIDE_PINS[e.kind][2] in e.pins:
            nodes = list(e.pins.values())
            for node in nodes[1:]:
                parent[root(node)] = root(nodes[0])
    numbers: dict[str, int] = {}
    return {node: numbers.setdefault(root(node), len(numbers)) for node in list(parent)}


def _pin_counts(work: _Work) -> Counter[str]:
    counts: Counter[str] = Counter()
    for e in work.elements.values():
        counts.update(e.pins.values())
    return counts


def _take_leads(work: _Work, keep: set[str]) -> None:
    """Sets aside the chains of parts that lead to a side pin (gate, base, wiper) and to nothing else."""
    counts = _pin_counts(work)
    by_node: dict[str, list[Tree]] = defaultdict(list)
    for edge in work.edges:
        by_node[edge.a].append(edge)
        by_node[edge.b].append(edge)
    sides = {
        e.pins[SIDE_PINS[e.kind][2]]
        for e in work.elements.values()
        if e.kind in SIDE_PINS and len(e.pins) == 3 and e.kind != "potentiometer"
    }
    _take_shunts(work, counts, by_node, sides - keep)
    for node in sorted(sides - keep):
        if counts[node] != 2 or len(by_node[node]) != 1:
            continue
        edge = by_node[node][0]
        if edge not in work.edges:
            continue
        chain = from_node(edge, node)
        taken = [edge]
        # A chain of a few parts goes along, up to where something else joins.
        while counts[chain.b] == 2 and chain.b not in keep and chain.b not in sides and len(taken) < 3:
            following = [e for e in by_node[chain.b] if e not in taken]
            if len(following) != 1:
                break
            taken.append(following[0])
            chain = in_series(chain, from_node(following[0], chain.b))
        if counts[chain.b] <= 2 and chain.b not in keep:
            continue  # its far end would be left hanging
        for each in taken:
            work.edges.remove(each)
        work.leads.append(from_node(chain, chain.b))


def _take_shunts(work: _Work, counts: Counter[str], by_node: Mapping[str, list[Tree]], sides: set[str]) -> None:
    """Sets aside the part between a gate (or base) and the pin it is taken against, where one other part steers it."""
    for e in work.elements.values():
        if e.kind not in SIDE_PINS or len(e.pins) < 3:
            continue
        node, against = e.pins[SIDE_PINS[e.kind][2]], e.pins[SIDE_PINS[e.kind][1]]
        if node not in sides or counts[node] != 3 or len(by_node[node]) != 2:
            continue
        shunts = [edge for edge in by_node[node] if {edge.a, edge.b} == {node, against} and edge in work.edges]
        others = [edge for edge in by_node[node] if edge not in shunts]
        if len(shunts) == 1 and work.elements[refs_of(others[0])[0]].kind in _STEERING:
            work.edges.remove(shunts[0])
            work.links.append(shunts[0])
            by_node[node].remove(shunts[0])
            by_node[against].remove(shunts[0])
            counts[node] -= 1
            counts[against] -= 1


def _take_blocks(work: _Work) -> None:
    """Makes one framed network of the members of each block that reduce to one between its two ends."""
    by_block: dict[str, list[Tree]] = defaultdict(list)
    for edge in work.edges:
        block = work.elements[refs_of(edge)[0]].block
        if block:
            by_block[block].append(edge)
    for block, members in by_block.items():
        inner = f"{block}/"
        ends = list(dict.fromkeys(n for e in members for n in (e.a, e.b) if not n.startswith(inner)))
        if len(ends) != 2 or any(
            e.block == block and not set(refs_of_all(members)) >= {e.ref} for e in work.elements.values()
        ):
            continue
        trial = _Work(work.elements)
        tree = _reduced(trial, members, ends[0], ends[1])
        if tree is None or trial.links or trial.loose:
            continue
        for member in members:
            work.edges.remove(member)
        work.edges.append(Framed(block, tree, tree.a, tree.b))


def refs_of_all(trees: Sequence[Tree]) -> list[str]:
    """The refs of the parts of several networks."""
    return [ref for tree in trees for ref in refs_of(tree)]


def _take_bridges(work: _Work, source: str) -> None:
    """Finds four single parts that act as a bridge or as a doubler: two columns between a plus and a minus node."""
    pairs: dict[tuple[str, str], list[tuple[str, str, str, bool]]] = defaultdict(list)
    by_node: dict[str, list[Leaf]] = defaultdict(list)
    for edge in work.edges:
        if isinstance(edge, Leaf):
            by_node[edge.a].append(edge)
            by_node[edge.b].append(edge)
    for middle, edges in by_node.items():
        for pair in combinations(edges, 2):
            for upper, lower in (pair, pair[::-1]):
                column = _column(work, middle, upper, lower)
                if column is not None:
                    plus, minus, valves = column
                    pairs[plus, minus].append((upper.ref, lower.ref, middle, valves))
    for (plus, minus), found in sorted(pairs.items()):
        for one, two in combinations(found, 2):
            if not (one[3] or two[3]) or one[2] == two[2]:
                continue
            first, second = (one, two) if one[3] else (two, one)
            refs = {first[0], first[1], second[0], second[1]}
            middles = (first[2], second[2])
            if len(refs) < 4 or not _parts_the_stages(work, refs, middles, (plus, minus), source):
                continue
            work.edges = [e for e in work.edges if not (isinstance(e, Leaf) and e.ref in refs)]
            work.ports.append(
                TwoPort(
                    name="+".join(sorted(refs)),
                    inputs=middles,
                    outputs=(plus, minus),
                    columns=(first[:3], second[:3]),
                )
            )
            break


def _column(work: _Work, middle: str, upper: Leaf, lower: Leaf) -> tuple[str, str, bool] | None:
    """Plus and minus node of two parts that meet at `middle`, and whether both are valves; None if they are no pair."""
    kinds = [work.elements[leaf.ref].kind for leaf in (upper, lower)]
    plus = upper.b if upper.a == middle else upper.a
    minus = lower.b if lower.a == middle else lower.a
    if plus == minus or middle in (plus, minus):
        return None
    if all(kind in _VALVES for kind in kinds):
        # Upper: anode at the middle. Lower: cathode at the middle.
        return (plus, minus, True) if upper.a == middle and lower.b == middle else None
    if all(kind == "capacitor" for kind in kinds):
        return plus, minus, False
    return None


def _parts_the_stages(
    work: _Work, refs: set[str], inputs: tuple[str, str], outputs: tuple[str, str], source: str
) -> bool:
    """Whether the four parts are all that joins their two sides, with the mains on the side of the inputs."""
    rest = _Work(work.elements)
    rest.edges = [e for e in work.edges if not (isinstance(e, Leaf) and e.ref in refs)]
    rest.leads, rest.ports = work.leads, work.ports
    home = _zones(rest)
    ins = {home.get(n, n) for n in inputs}
    outs = {home.get(n, n) for n in outputs}
    return not ins & outs and not (outs & {home.get(source, source)}) and len(outs) == 1


def _reduced(work: _Work, edges: list[Tree], top: str, bottom: str) -> Tree | None:
    """The network between two nodes as one tree; what does not fit goes to the links and the loose parts."""
    edges = _shrunk(edges, top, bottom, work.loose)
    while len(edges) > 1:
        choices = [e for e in edges if not has_port(e)] or edges
        ranked = []
        degrees = Counter(node for e in edges for node in (e.a, e.b))
        for place, edge in enumerate(choices):
            rest = [e for e in edges if e is not edge]
            dropped: list[Tree] = []
            left = _shrunk(rest, top, bottom, dropped)
            size = len(list(leaves(edge)))
            # A part that bridges two inner nodes is a link rather than one that stands on a rail or a main node.
            on_rails = len({edge.a, edge.b} & {top, bottom})
            joined = degrees[edge.a] + degrees[edge.b]
            ranked.append((len(dropped), len(left), on_rails, joined, size, place))
        chosen = choices[min(ranked)[-1]]
        work.links.append(chosen)
        edges = _shrunk([e for e in edges if e is not chosen], top, bottom, work.loose)
    if not edges:
        return None
    if {edges[0].a, edges[0].b} != {top, bottom}:
        work.loose.append(edges[0])
        return None
    return from_node(edges[0], top)


def _shrunk(edges: list[Tree], top: str, bottom: str, loose: list[Tree]) -> list[Tree]:
    """Series and parallel reductions until none is left; ends that hang free go to `loose`."""
    edges = list(edges)
    changed = True
    while changed and edges:
        changed = False
        together: dict[frozenset[str], list[Tree]] = defaultdict(list)
        for edge in edges:
            if edge.a == edge.b:
                loose.append(edge)
                changed = True
            else:
                together[frozenset((edge.a, edge.b))].append(edge)
        if changed or any(len(group) > 1 for group in together.values()):
            changed = True
            edges = [group[0] if len(group) == 1 else side_by_side(group) for group in together.values()]
        at: dict[str, list[Tree]] = defaultdict(list)
        for edge in edges:
            at[edge.a].append(edge)
            at[edge.b].append(edge)
        for node, joined in at.items():
            if node in (top, bottom):
                continue
            if len(joined) == 1:
                edges.remove(joined[0])
                loose.append(joined[0])
                changed = True
                break
            if len(joined) == 2:
                first, second = joined
                before, after = from_node(first, node), from_node(second, node)
                merged = in_series(from_node(before, before.b), after)
                edges[edges.index(first)] = merged
                edges.remove(second)
                changed = True
                break
    return edges
