"""Units: what a pattern sees as one part. Two resistors in series, or three capacitors side by side, are one unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Final

from lidoff.circuit.groups.words import listed, marked, ref_order
from lidoff.circuit.model import Element
from lidoff.kinds import KINDS

RHEOSTAT: Final = "rheostat"
"""A potentiometer of which only the wiper and one end matter."""

TWO_WAY: Final = frozenset({kind.name for kind in KINDS.values() if kind.listed} | {RHEOSTAT})
"""Two-pin kinds that may stand either way round."""

# Which pins may change places without changing anything that a pattern looks at.
_ORDERS: Final[Mapping[str, tuple[tuple[int, ...], ...]]] = MappingProxyType(
    {
        "bridge": ((0, 1, 2, 3), (1, 0, 2, 3)),
        "transformer": ((0, 1, 2, 3), (1, 0, 2, 3), (0, 1, 3, 2), (1, 0, 3, 2)),
    }
)
_VALUE_KEY: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "resistor": ("value", "ohm"),
        RHEOSTAT: ("value", "ohm"),
        "potentiometer": ("value", "ohm"),
        "capacitor": ("value", "F"),
        "inductor": ("value", "H"),
        "choke": ("value", "H"),
        "led": ("forward_voltage", "V"),
        "zener": ("voltage", "V"),
        "varistor": ("voltage", "V"),
        "regulator": ("limit", "A"),
        "thermistor": ("cold", "ohm"),
        "diac": ("breakover", "V"),
        "fuse": ("rating", "A"),
    }
)
_LIKE: Final = {"resistor": 10.0, "capacitor": 20.0}  # values further apart have different jobs


@dataclass(frozen=True)
class Unit:
    """One part, or several of a kind that act as one.

    `nodes` has a node per pin of the kind (two for a rheostat), in the net's names. `value` is that of the whole
    [SI unit of the kind's first key], 0 where it has none. `known` is false where a value is still to be inferred.
    """

    members: tuple[Element, ...]
    kind: str
    nodes: tuple[str | None, ...]
    value: float = 0.0

    @cached_property
    def refs(self) -> tuple[str, ...]:
        """The refs of its members, R2 before R10."""
        return tuple(sorted((element.ref for element in self.members), key=ref_order))

    @cached_property
    def key(self) -> tuple[tuple[tuple[int, int, str], ...], ...]:
        """Sorting key: by refs alone, never by nodes."""
        return tuple(ref_order(ref) for ref in self.refs)

    @property
    def known(self) -> bool:
        """Whether the value was seen, measured or marked."""
        key = _VALUE_KEY.get(self.kind, ("", ""))[0]
        return not any(key in element.unknown for element in self.members)

    @property
    def ends(self) -> tuple[str, str]:
        """The two nodes of a two-pin unit; of another, those of its main path (triac: its two main terminals)."""
        if self.kind in ("transistor", "mosfet"):
            first, second = self.nodes[1], self.nodes[2]
        else:
            first, second = self.nodes[0], self.nodes[1]
        return str(first), str(second)

    @property
    def two(self) -> bool:
        """Whether it has two pins."""
        return len(self.nodes) == 2

    @property
    def label(self) -> str:
        """Its refs in a sentence: "R2", "R2 and R3"."""
        return listed(self.refs)

    @property
    def shown(self) -> str:
        """Its value for people: "100 nF". Empty where the kind has none."""
        unit = _VALUE_KEY.get(self.kind, ("", ""))[1]
        return marked(self.value, unit) if unit and self.value > 0.0 else ""

    def pin(self, name: str) -> str:
        """The node at that pin of its kind."""
        return str(self.nodes[KINDS[self.kind].pins.index(name)])

    def other(self, node: str) -> str:
        """The far end of a two-pin unit (of the main path of another)."""
        first, second = self.ends
        return second if first == node else first

    def orders(self) -> tuple[tuple[int, ...], ...]:
        """The orders in which its pins may be taken."""
        if self.kind in TWO_WAY and self.two:
            return ((0, 1), (1, 0))
        return _ORDERS.get(self.kind, (tuple(range(len(self.nodes))),))

    def __hash__(self) -> int:
        return hash((self.refs, self.kind))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Unit) and (self.refs, self.kind, self.nodes) == (other.refs, other.kind, other.nodes)


def unit_of(element: Element, nodes: tuple[str | None, ...]) -> Unit:
    """The unit of one element whose pins stand on `nodes` (of a view, not necessarily the element's own)."""
    kind, pins = element.kind, nodes
    if kind == "potentiometer":
        a, wiper, b = nodes
        if a is None or a == wiper:
            kind, pins = RHEOSTAT, (b, wiper)
        elif b is None or b in (wiper, a):
            kind, pins = RHEOSTAT, (a, wiper)
    return Unit(members=(element,), kind=kind, nodes=pins, value=_value(element))


def _value(element: Element) -> float:
    key = _VALUE_KEY.get(element.kind)
    if key is None or key[0] not in element.values:
        return 0.0
    value = element.number(key[0])
    if element.kind == "led":
        return value * element.number("series") * element.series
    if element.kind == "capacitor":
        return value * element.parallel / element.series
    if element.kind == "regulator":
        return value * element.parallel
    if element.kind in ("resistor", RHEOSTAT, "potentiometer", "inductor"):
        return value * element.series / element.parallel
    return value * (element.series if element.kind in ("zener", "diac", "varistor") else 1.0)


def joined(units: Iterable[Unit], fixed: frozenset[str]) -> tuple[Unit, ...]:
    """The units with those of one kind in series or side by side taken together, in order of their refs.

    `fixed` are nodes that something outside joins too (the rails), so that nothing is joined across them.
    """
    rows = sorted(units, key=lambda unit: unit.key)
    while True:
        pair = _pair(rows, fixed)
        if pair is None:
            return tuple(rows)
        first, second, together = pair
        rows = sorted([u for u in rows if u is not first and u is not second] + [together], key=lambda unit: unit.key)


def _pair(rows: list[Unit], fixed: frozenset[str]) -> tuple[Unit, Unit, Unit] | None:
    degree: dict[str, int] = {}
    for unit in rows:
        for node in set(unit.nodes):
            if node is not None:
                degree[node] = degree.get(node, 0) + 1
    by_node: dict[str, list[Unit]] = {}
    for unit in rows:
        if not unit.two or unit.kind not in _JOINS:
            continue
        near = {other for node in unit.ends for other in by_node.get(node, ()) if other.kind == unit.kind}
        for earlier in sorted(near, key=lambda other: other.key):
            together = _parallel(earlier, unit) or _series(earlier, unit, degree, fixed)
            if together is not None:
                return earlier, unit, together
        for node in set(unit.ends):
            by_node.setdefault(node, []).append(unit)
    return None


_JOINS: Final = frozenset({"resistor", "capacitor", "diode", "regulator", "zener"})


def _alike(first: Unit, second: Unit) -> bool:
    most = _LIKE.get(first.kind)
    if most is None:
        return True
    small, large = sorted((first.value, second.value))
    return small > 0.0 and large / small <= most


def _parallel(first: Unit, second: Unit) -> Unit | None:
    same = first.ends == second.ends
    if not (same or (first.kind in TWO_WAY and set(first.ends) == set(second.ends))) or first.kind == "zener":
        return None
    if not _alike(first, second):
        return None
    if first.kind == "resistor":
        value = 1.0 / (1.0 / first.value + 1.0 / second.value)
    else:
        value = first.value + second.value
    return Unit(members=first.members + second.members, kind=first.kind, nodes=first.nodes, value=value)


def _series(first: Unit, second: Unit, degree: Mapping[str, int], fixed: frozenset[str]) -> Unit | None:
    common = set(first.ends) & set(second.ends)
    if len(common) != 1 or first.kind not in ("resistor", "diode", "zener") or not _alike(first, second):
        return None
    (node,) = common
    if node in fixed or degree[node] != 2:
        return None
    nodes, value = (first.other(node), second.other(node)), first.value + second.value
    if first.kind in ("diode", "zener"):
        if first.ends[1] == second.ends[0] == node:
            nodes = (first.ends[0], second.ends[1])
        elif second.ends[1] == first.ends[0] == node:
            nodes = (second.ends[0], first.ends[1])
        elif first.kind == "diode":
            return None
        else:  # back to back: one breaks down while the other conducts forward
            value = max(first.value, second.value)
    return Unit(members=first.members + second.members, kind=first.kind, nodes=nodes, value=value)
