"""A schematic read as a person would: from where pins, wires and dots lie, not from what the file says of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from tests.drawing.svg_reading import NS, Box, parsed, text_boxes

from lidoff.circuit import Circuit

Point = tuple[float, float]


@dataclass
class Sheet:
    """What lies on a drawing."""

    size: tuple[float, float]
    pins: dict[str, Point] = field(default_factory=dict)
    terminals: dict[str, Point] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    bodies: dict[str, Box] = field(default_factory=dict)
    wires: list[tuple[str, list[Point]]] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    texts: list[Box] = field(default_factory=list)
    transforms: int = 0


def sheet(svg: str) -> Sheet:
    """The drawing taken apart."""
    root = parsed(svg)
    _, _, width, height = (float(word) for word in root.attrib["viewBox"].split())
    found = Sheet((width, height))
    found.texts = text_boxes(root)
    for element in root.iter():
        found.transforms += "transform" in element.attrib
        data = element.attrib
        if "data-ref" in data:
            found.kinds[data["data-ref"]] = data["data-kind"]
        if "data-pin" in data:
            assert data["data-pin"] not in found.pins
            found.pins[data["data-pin"]] = (float(data["cx"]), float(data["cy"]))
        if "data-body" in data:
            x, y = float(data["x"]), float(data["y"])
            found.bodies[data["data-body"]] = Box(
                x, y, x + float(data["width"]), y + float(data["height"]), data["data-body"]
            )
        if element.tag == NS + "polyline" and "data-node" in data:
            points = [tuple(float(c) for c in pair.split(",")) for pair in data["points"].split()]
            found.wires.append((data["data-node"], points))  # type: ignore[arg-type]
        if data.get("class") == "junction":
            found.dots.append((float(data["cx"]), float(data["cy"])))
        if "data-terminal" in data:
            circle = [c for c in element if c.tag == NS + "circle"][-1]
            found.terminals[data["data-terminal"]] = (float(circle.attrib["cx"]), float(circle.attrib["cy"]))
    return found


def segments(points: list[Point]) -> Iterable[tuple[Point, Point]]:
    """The straight pieces of a wire."""
    return pairwise(points)


def on_segment(point: Point, a: Point, b: Point, slack: float = 0.01) -> bool:
    """Whether the point lies on the piece between a and b (which runs along an axis)."""
    (x, y), (x0, y0), (x1, y1) = point, a, b
    return (
        min(x0, x1) - slack <= x <= max(x0, x1) + slack
        and min(y0, y1) - slack <= y <= max(y0, y1) + slack
        and (abs(x - x0) <= slack if abs(x1 - x0) <= slack else abs(y - y0) <= slack)
    )


def read_nets(drawing: Sheet) -> set[frozenset[str]]:
    """The groups of pins and terminals that lines join, from geometry alone.

    Two wires are joined where an end of one lies on the other, or where a dot lies on both. Mere crossings join
    nothing.
    """
    parent = list(range(len(drawing.wires)))

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for k, (_, points) in enumerate(drawing.wires):
        for end in (points[0], points[-1]):
            for other, (_, there) in enumerate(drawing.wires):
                if other != k and any(on_segment(end, a, b) for a, b in segments(there)):
                    parent[root(k)] = root(other)
    for dot in drawing.dots:
        touching = [k for k, (_, p) in enumerate(drawing.wires) if any(on_segment(dot, a, b) for a, b in segments(p))]
        for k in touching[1:]:
            parent[root(k)] = root(touching[0])
    nets: dict[int, set[str]] = {}
    places = {**drawing.pins, **{f"@{name}": at for name, at in drawing.terminals.items()}}
    for name, at in places.items():
        touching = {
            root(k) for k, (_, p) in enumerate(drawing.wires) if any(on_segment(at, a, b) for a, b in segments(p))
        }
        assert len(touching) == 1, f"{name} touches {len(touching)} nets"
        nets.setdefault(touching.pop(), set()).add(name)
    return {frozenset(net) for net in nets.values()}


def wanted_nets(circuit: Circuit, terminals: Iterable[str]) -> set[frozenset[str]]:
    """The groups of pins that the circuit's nodes ask for."""
    nets: dict[str, set[str]] = {}
    for element in circuit.elements:
        for pin, node in element.pins.items():
            nets.setdefault(node, set()).add(f"{element.ref}.{pin}")
    for node in terminals:
        nets.setdefault(node, set()).add(f"@{node}")
    return {frozenset(net) for net in nets.values()}


def faults(drawing: Sheet) -> list[str]:
    """Everything on the drawing that lies where it must not."""
    found: list[str] = []
    bodies = list(drawing.bodies.values())
    for k, body in enumerate(bodies):
        found += [f"bodies {body.what} and {other.what} overlap" for other in bodies[k + 1 :] if body.meets(other)]
        found += [f"text {text.what!r} on body {body.what}" for text in drawing.texts if _crowds(text, body)]
    for k, text in enumerate(drawing.texts):
        found += [f"text {text.what!r} on text {o.what!r}" for o in drawing.texts[k + 1 :] if text.meets(o)]
    for node, points in drawing.wires:
        for a, b in segments(points):
            if a[0] != b[0] and a[1] != b[1]:
                found.append(f"a wire of {node} runs aslant")
            run = Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]), node)
            found += [f"a wire of {node} through body {o.what}" for o in bodies if _through(run, o)]
            found += [f"a wire of {node} through text {o.what!r}" for o in drawing.texts if _through(run, o)]
    width, height = drawing.size
    for box in (*bodies, *drawing.texts):
        if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height:
            found.append(f"{box.what} lies outside")
    return found


# Letters that belong to a symbol.
INSIDE = frozenset({"~", "+", "−", "U", "θ", "M"})


def _crowds(text: Box, body: Box) -> bool:
    return text.what not in INSIDE and text.meets(body)


def _through(run: Box, box: Box) -> bool:
    """Whether a straight piece of wire, which has no width here, runs inside the box."""
    if run.x0 == run.x1:
        return box.x0 < run.x0 < box.x1 and run.y0 < box.y1 and box.y0 < run.y1
    return box.y0 < run.y0 < box.y1 and run.x0 < box.x1 and box.x0 < run.x1
