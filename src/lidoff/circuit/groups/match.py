"""Subgraph matching: where in a net does a small arrangement of parts occur, whatever else is joined to it?

A pattern is a row of `Want`s. Each asks for a part of some kinds and gives a name to the node at each of its pins; the
same name in two wants means that they meet there, and different names mean different nodes. The search binds the want
with the fewest candidates first and goes back where it is stuck: an ordinary backtracking search for a subgraph
monomorphism (the parts must be there; more parts may be).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.units import Unit


@dataclass(frozen=True, slots=True)
class Want:
    """A part wanted: its `role`, the kinds that will do, and a name for the node at each of its pins."""

    role: str
    kinds: tuple[str, ...]
    joins: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """One place where a pattern occurs: role to unit, node name to node."""

    parts: Mapping[str, Unit]
    nodes: Mapping[str, str]

    @property
    def refs(self) -> tuple[str, ...]:
        """All refs of its parts, in the order of the pattern."""
        return tuple(ref for unit in self.parts.values() for ref in unit.refs)


def matches(net: Net, wants: Sequence[Want], fixed: Mapping[str, str] | None = None) -> tuple[Match, ...]:
    """Every place where the pattern occurs, each set of parts once, in order of refs.

    `fixed` binds node names beforehand. Where the same parts fit in several ways (a bridge seen from its other side),
    the way that is first in order of refs is given, so that the answer depends on no order and on no node's name.
    """
    found: dict[frozenset[Unit], tuple[tuple[object, ...], Match]] = {}
    for parts, nodes in _search(net, tuple(wants), {}, dict(fixed or {})):
        ordered = {want.role: parts[want.role] for want in wants}
        key = tuple(unit.key for unit in ordered.values())
        same = frozenset(ordered.values())
        if same not in found or key < found[same][0]:
            found[same] = (key, Match(parts=ordered, nodes=dict(nodes)))
    return tuple(match for _, match in sorted(found.values(), key=lambda row: row[0]))


def _search(
    net: Net, wants: tuple[Want, ...], parts: dict[str, Unit], nodes: dict[str, str]
) -> Iterator[tuple[dict[str, Unit], dict[str, str]]]:
    if not wants:
        yield parts, nodes
        return
    rows = [_candidates(net, want, nodes) for want in wants]
    at = min(range(len(wants)), key=lambda k: len(rows[k]))
    want, rest = wants[at], wants[:at] + wants[at + 1 :]
    used = set(parts.values())
    for unit in rows[at]:
        if unit in used:
            continue
        for bound in _placings(unit, want, nodes):
            yield from _search(net, rest, parts | {want.role: unit}, bound)


def _candidates(net: Net, want: Want, nodes: Mapping[str, str]) -> tuple[Unit, ...]:
    """The units that might do: those at the least crowded node already known, else all of the kinds."""
    known = [net.joined_to(nodes[name]) for name in want.joins if name in nodes]
    if known:
        return tuple(unit for unit in min(known, key=len) if unit.kind in want.kinds)
    return net.of(*want.kinds)


def _placings(unit: Unit, want: Want, nodes: Mapping[str, str]) -> Iterator[dict[str, str]]:
    """The ways in which a unit's pins take the names wanted, with the names known then."""
    for order in unit.orders():
        bound = dict(nodes)
        for name, k in zip(want.joins, order, strict=True):
            node = unit.nodes[k]
            if node is None or bound.get(name, node) != node or (name not in bound and node in bound.values()):
                break
            bound[name] = node
        else:
            yield bound
