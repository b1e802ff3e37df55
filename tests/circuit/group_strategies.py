"""Random circuits for recognition, and what must not change its answer: names, order, orientation, the plug."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import replace

from hypothesis import strategies as st

from lidoff.circuit import Circuit, Element, Mains, build
from lidoff.circuit.groups import FAMILIES, Group, Groups
from lidoff.kinds import KINDS, REQUIRED
from lidoff.record import read_text
from lidoff.record.model import Table

NODES = ("live", "neutral", "a", "b", "c", "d", "e")
_VALUES = {
    "ohm": (1.0, 10.0, 47.0, 100.0, 1e3, 4.7e3, 22e3, 100e3, 470e3, 1e6),
    "F": (1e-9, 47e-9, 100e-9, 330e-9, 1e-6, 4.7e-6, 100e-6),
    "H": (1e-4, 10e-3, 1.0),
    "V": (3.0, 12.0, 230.0, 470.0),
    "A": (0.02, 1.0),
    "W": (5.0, 60.0),
    "": (1.0, 15.0, 40.0),
}
TWO_WAY = frozenset(kind.name for kind in KINDS.values() if kind.listed)


@st.composite
def elements(draw: st.DrawFn, ref: str) -> Element:
    """One part of any kind between any nodes, polarised or not, shorted or not."""
    kind = KINDS[draw(st.sampled_from(sorted(KINDS)))]
    nodes: list[str | None] = [draw(st.sampled_from(NODES)) for _ in kind.pins]
    for k, pin in enumerate(kind.pins):
        if pin in kind.optional_pins and draw(st.booleans()) and not (pin == "b" and nodes[0] is None):
            nodes[k] = None
    values = {}
    for key in kind.keys:
        if key.default is REQUIRED:
            values[key.name] = draw(st.sampled_from(_VALUES[key.unit]))
        elif key.default is not None:
            values[key.name] = key.default
    if kind.name in ("switch", "thermostat"):
        values["closed"] = draw(st.booleans())
    return Element(ref=ref, kind=kind.name, nodes=tuple(nodes), values=Table(values))


@st.composite
def circuits(draw: st.DrawFn, most: int = 12) -> Circuit:
    """Any heap of parts, whether or not anybody would build it."""
    count = draw(st.integers(1, most))
    parts = tuple(draw(elements(f"P{k}")) for k in range(1, count + 1))
    return Circuit(elements=parts, supply=Mains(voltage=draw(st.sampled_from((120.0, 230.0))), assumed=False))


EXAMPLES = tuple(
    build(read_text(example.record, "example.toml"))
    for family in FAMILIES
    for example in (*family.examples, *family.counter_examples)
)


@st.composite
def grown(draw: st.DrawFn) -> Circuit:
    """Two or three of the families' own examples on one plug, with some nodes run together and odd parts thrown in."""
    parts: list[Element] = []
    for k in range(draw(st.integers(1, 3))):
        for element in draw(st.sampled_from(EXAMPLES)).elements:
            names = tuple(n if n in ("live", "neutral", "earth", None) else f"{n}{k}" for n in element.nodes)
            parts.append(replace(element, ref=f"{element.ref}{k}", nodes=names))
    inner = sorted({n for e in parts for n in e.nodes if n is not None} - {"earth"})
    for k in range(draw(st.integers(0, 4))):
        odd = draw(elements(f"X{k}"))
        places = [None if n is None else draw(st.sampled_from(inner)) for n in odd.nodes]
        parts.append(replace(odd, nodes=tuple(places)))
    circuit = Circuit(elements=tuple(parts), supply=Mains(assumed=False))
    if draw(st.booleans()):
        circuit = _mapped(circuit, {draw(st.sampled_from(inner)): draw(st.sampled_from(inner))})
    return circuit


def renamed(circuit: Circuit, seed: int) -> Circuit:
    """The same circuit with every inner node under another name."""
    chance = random.Random(seed)
    names = [n for n in circuit.nodes if n not in ("live", "neutral", "earth")]
    others = [f"n{k}" for k in range(len(names))]
    chance.shuffle(others)
    return _mapped(circuit, dict(zip(names, others, strict=True)))


def permuted(circuit: Circuit, seed: int) -> Circuit:
    """The same circuit with its parts in another order."""
    parts = list(circuit.elements)
    random.Random(seed).shuffle(parts)
    return replace(circuit, elements=tuple(parts))


def turned(circuit: Circuit, seed: int) -> Circuit:
    """The same circuit with unpolarised two-pin parts, and the feeding pins of bridges, written the other way round."""
    chance = random.Random(seed)
    parts = []
    for element in circuit.elements:
        nodes = element.nodes
        if element.kind in TWO_WAY and chance.random() < 0.5:
            nodes = nodes[::-1]
        if element.kind == "bridge" and chance.random() < 0.5:
            nodes = (nodes[1], nodes[0], *nodes[2:])
        parts.append(replace(element, nodes=nodes))
    return replace(circuit, elements=tuple(parts))


def plug_turned(circuit: Circuit) -> Circuit:
    """The same circuit with the plug the other way up."""
    return _mapped(circuit, {"live": "neutral", "neutral": "live"})


def _mapped(circuit: Circuit, names: dict[str, str]) -> Circuit:
    parts = tuple(
        replace(e, nodes=tuple(None if n is None else names.get(n, n) for n in e.nodes)) for e in circuit.elements
    )
    return replace(circuit, elements=parts)


def told(groups: Groups, *, swapped: bool = False) -> list[object]:
    """All that recognition says, figures to nine digits; with `swapped`, live and neutral change places in words."""
    return [*(list(_group(group, swapped)) for group in groups.groups), groups.unexplained, groups.sentence]


def _group(group: Group, swapped: bool) -> Iterator[object]:
    yield from (group.id, group.name, group.refs, group.rank, group.shared, group.stage)
    yield sorted(group.roles.items())
    yield sorted((name, f"{value:.9g}", unit) for name, (value, unit) in group.figures.items())
    texts = [group.title, group.why, *group.remarks]
    yield [_swap(text) for text in texts] if swapped else texts


def _swap(text: str) -> str:
    return re.sub(r"\b(live|neutral)\b", lambda word: {"live": "neutral", "neutral": "live"}[word.group()], text)
