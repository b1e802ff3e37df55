"""A placed and wired circuit written as SVG, in one system of coordinates without transforms.

Parts are groups with `data-ref` and `data-kind`, holding a `data-body` rectangle and a small circle with `data-pin` for
each pin; wires are polylines with `data-node`; junctions are dots.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape

from lidoff.drawing.frames import Frame
from lidoff.drawing.shapes import GRID, Point, Rect, around, drawn
from lidoff.drawing.stand import Stand, Words, block_count
from lidoff.drawing.svg import document, element, fill, group, label, number, stroke, text_width, wrapped
from lidoff.kinds import KINDS

if TYPE_CHECKING:
    from lidoff.drawing.schematics import Schematic

INK: Final = 1.5  # width of symbols and wires
DOT: Final = 3.2
_EDGE: Final = 14.0
_FAINT: Final = 0.38
_BOLDEST: Final = 2.6  # strokes of a symbol get no bolder than this


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """What is drawn on top of a plain schematic.

    `words` are placed; `areas` lie behind groups; `notes` are lines below the drawing, `heading` one above it.
    `wires` gives each wire of a node its width, `parts` each part (and, as (ref, pin), each lead); a width of 0 stands
    for "carries nothing" and is drawn thin and faint. `arrows` show a direction: point, and unit vector.
    """

    words: tuple[Words, ...] = ()
    areas: tuple[Rect, ...] = ()
    notes: tuple[str, ...] = ()
    heading: str = ""
    wires: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    parts: Mapping[str | tuple[str, str], float] = field(default_factory=dict)
    arrows: tuple[tuple[Point, Point], ...] = ()


PLAIN: Final = Overlay()


def rendered(drawing: Schematic, overlay: Overlay = PLAIN, *, paper: bool = False) -> str:
    """The drawing as a whole SVG picture."""
    width, height, body = layers(drawing, overlay)
    title = f"Schematic of {drawing.circuit.title}" if drawing.circuit.title else "Schematic"
    return document(
        width,
        height,
        body,
        name="schematic",
        title=f"{title}{f', {drawing.circuit.state}' if drawing.circuit.state else ''}",
        description=described(drawing),
        paper=paper,
    )


def layers(drawing: Schematic, overlay: Overlay) -> tuple[float, float, list[str]]:
    """Width and height of the drawing, and its elements from the bottom to the top."""
    placement = drawing.placement
    rects = [stand.keep.grown(2.0) for stand in placement.stands]
    rects += [words.rect for words in (*placement.captions, *overlay.words)]
    rects += [Rect(p.at[0] - 32.0, p.at[1] - 10.0, p.at[0], p.at[1] + 10.0) for p in placement.mains]
    rects += [frame.rect for frame in placement.frames]
    rects += [frame.caption.rect for frame in placement.frames]
    rects += [Rect(x, y, x, y) for wires in drawing.points.values() for wire in wires for x, y in wire]
    rects += overlay.areas
    room = around(rects).grown(_EDGE)
    note = drawing.size
    head = 1.9 * note if overlay.heading else 0.0
    dx, dy = -GRID * (room.x0 // GRID), -GRID * ((room.y0 - head) // GRID)
    elements = {e.ref: e for e in drawing.circuit.elements}
    body = [
        element(
            "rect",
            x=area.x0 + dx,
            y=area.y0 + dy,
            width=area.x1 - area.x0,
            height=area.y1 - area.y0,
            rx=8.0,
            fill="currentColor",
            fill_opacity=0.05,
            class_="group",
        )
        for area in overlay.areas
    ]
    body += [_frame(frame.moved(dx, dy)) for frame in placement.frames]
    for node, wires in drawing.points.items():
        widths = overlay.wires.get(node, ())
        for place, wire in enumerate(wires):
            weight = widths[place] if place < len(widths) else None
            body.append(_wire([(x + dx, y + dy) for x, y in wire], node, weight))
    for node, dots in drawing.dots.items():
        body += [_dot(x + dx, y + dy, node) for x, y in dots]
    body += [_arrow((x + dx, y + dy), way) for (x, y), way in overlay.arrows]
    for pin in placement.mains:
        body.append(_terminal(pin.at[0] + dx, pin.at[1] + dy, pin.node, pin.name, drawing.size + 1.0))
    body += [_part(stand.moved(dx, dy), elements[stand.ref].pins.keys(), overlay) for stand in placement.stands]
    body += [_text(words.moved(dx, dy)) for words in (*placement.captions, *overlay.words)]
    width = max([room.x1 + dx, 24.0 + text_width(overlay.heading, note, bold=True)])
    height = room.y1 + dy
    if overlay.heading:
        body.append(label(12.0, 1.5 * note, overlay.heading, note, weight="bold"))
    for line in (line for words in overlay.notes for line in wrapped(words, note, width - 24.0)):
        height += 1.4 * note
        body.append(label(12.0, height - 0.5 * note, line, note, opacity=0.85))
        width = max(width, text_width(line, note) + 24.0)
    return up_to(width), up_to(height + (6.0 if overlay.notes else 0.0)), body


def up_to(value: float) -> float:
    """The next multiple of the grid."""
    return GRID * -(-value // GRID)


def _pen(weight: float | None) -> dict[str, object]:
    """How a line is drawn that has no weight of its own, carries nothing, or is as wide as its current."""
    if weight is None:
        return {"stroke": "currentColor", "stroke_width": INK}
    if weight <= 0.0:
        return {"stroke": "currentColor", "stroke_width": 1.0, "stroke_opacity": _FAINT}
    return {**stroke("current"), "stroke_width": weight}


def _wire(points: Iterable[Point], node: str, weight: float | None) -> str:
    pen = _pen(weight)
    pen["class_"] = f"wire {pen.get('class_', '')}".strip()
    return element(
        "polyline",
        points=" ".join(f"{number(x)},{number(y)}" for x, y in points),
        fill="none",
        stroke_linejoin="round",
        data_node=node,
        **pen,
    )


def _dot(x: float, y: float, node: str) -> str:
    return element("circle", cx=x, cy=y, r=DOT, fill="currentColor", class_="junction", data_node=node)


def _arrow(at: Point, way: Point) -> str:
    (x, y), (ux, uy) = at, way
    tip = (x + 7.0 * ux, y + 7.0 * uy)
    left = (x - 5.0 * ux - 6.0 * uy, y - 5.0 * uy + 6.0 * ux)
    right = (x - 5.0 * ux + 6.0 * uy, y - 5.0 * uy - 6.0 * ux)
    d = f"M{number(tip[0])},{number(tip[1])} {number(left[0])},{number(left[1])} {number(right[0])},{number(right[1])}Z"
    return element("path", d=d, **fill("current"))


def _terminal(x: float, y: float, node: str, name: str, size: float) -> str:
    return group(
        element("circle", cx=x - 4.0, cy=y, r=4.0, fill="none", stroke="currentColor", stroke_width=INK),
        element("circle", cx=x, cy=y, r=1.0, fill="none"),
        label(x - 14.0, y + 0.35 * size, name, size, anchor="end", weight="bold"),
        data_terminal=node,
        class_="mains",
    )


def _part(stand: Stand, pins: Iterable[str], overlay: Overlay) -> str:
    body = stand.body
    weight = overlay.parts.get(stand.ref)
    idle = weight is not None and weight <= 0.0
    children = [
        element("title", escape(f"{stand.ref}, {KINDS[stand.kind].title}")),
        element(
            "rect",
            x=body.x0,
            y=body.y0,
            width=body.x1 - body.x0,
            height=body.y1 - body.y0,
            fill="none",
            data_body=stand.ref,
        ),
    ]
    for piece in stand.symbol.strokes:
        pen = _pen(None)
        if weight is not None and piece.pin:
            pen = _pen(overlay.parts.get((stand.ref, piece.pin), weight))
        elif weight is not None:
            pen["stroke_width"] = min(max(weight, 1.0), _BOLDEST)
        children.append(drawn(piece, stand.at, pen))
    for name in pins:
        x, y = stand.pin(name)
        children.append(element("circle", cx=x, cy=y, r=1.0, fill="none", data_pin=f"{stand.ref}.{name}"))
    children += [_text(words) for words in stand.texts]
    return group(*children, data_ref=stand.ref, data_kind=stand.kind, class_="part", opacity=0.45 if idle else None)


def _text(words: Words) -> str:
    return label(
        *words.at,
        words.text,
        words.size,
        anchor=words.anchor,
        weight="bold" if words.bold else None,
        opacity=0.8 if words.role in ("value", "caption") else None,
        italic=words.role == "name",
    )


def _frame(frame: Frame) -> str:
    rect = frame.rect
    return group(
        element(
            "rect",
            x=rect.x0,
            y=rect.y0,
            width=rect.x1 - rect.x0,
            height=rect.y1 - rect.y0,
            rx=6.0,
            fill="none",
            stroke="currentColor",
            stroke_width=1.0,
            stroke_dasharray="6 4",
            stroke_opacity=0.7,
        ),
        _text(frame.caption),
        class_="block",
        data_block=frame.block,
    )


def described(drawing: Schematic) -> str:
    """The connections in words."""
    parts = []
    for e in drawing.circuit.elements:
        nodes = ", ".join(f"{pin} on {node}" for pin, node in e.pins.items())
        count = block_count(e)
        parts.append(f"{e.ref}{f' {count}' if count else ''}, {KINDS[e.kind].title}: {nodes}.")
    return " ".join(parts)
