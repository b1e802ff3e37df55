"""A placed and wired circuit written as SVG, in one system of coordinates without transforms.

Parts are groups with `data-ref` and `data-kind`, holding a `data-body` rectangle and a small circle with `data-pin` for
each pin; wires are polylines with `data-node`; junctions are dots.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from lidoff.drawing.pieces import Frame
from lidoff.drawing.shapes import GRID, Point, Rect, around, drawn
from lidoff.drawing.stand import Stand, Words, block_count
from lidoff.drawing.svg import document, element, group, label, number
from lidoff.kinds import KINDS

if TYPE_CHECKING:
    from lidoff.drawing.schematic import Schematic

INK: Final = 1.5  # width of symbols and wires
DOT: Final = 3.2
_EDGE: Final = 14.0


def rendered(drawing: Schematic, *, paper: bool = False) -> str:
    """The drawing as a whole SVG picture."""
    placement = drawing.placement
    nodes = {
        node: [[_point(drawing, cell) for cell in wire] for wire in wires]
        for node, wires in drawing.wiring.wires.items()
    }
    rects = [stand.keep.grown(2.0) for stand in placement.stands]
    rects += [words.rect for words in placement.captions]
    rects += [Rect(p.at[0] - 32.0, p.at[1] - 10.0, p.at[0], p.at[1] + 10.0) for p in placement.mains]
    rects += [Rect(f.rect.x0, f.rect.y0 - 18.0, f.rect.x1, f.rect.y1) for f in placement.frames]
    rects += [Rect(x, y, x, y) for wires in nodes.values() for wire in wires for x, y in wire]
    room = around(rects).grown(_EDGE)
    shift = (-GRID * (room.x0 // GRID), -GRID * (room.y0 // GRID))
    moved = [stand.moved(*shift) for stand in placement.stands]
    elements = {e.ref: e for e in drawing.circuit.elements}
    body: list[str] = []
    for frame in placement.frames:
        body.append(_frame(frame.moved(*shift), drawing))
    for node, wires in nodes.items():
        body += [_wire([(x + shift[0], y + shift[1]) for x, y in wire], node) for wire in wires]
    for node, cells in drawing.wiring.dots.items():
        for cell in cells:
            x, y = _point(drawing, cell)
            body.append(
                element(
                    "circle",
                    cx=x + shift[0],
                    cy=y + shift[1],
                    r=DOT,
                    fill="currentColor",
                    class_="junction",
                    data_node=node,
                )
            )
    for pin in placement.mains:
        x, y = pin.at[0] + shift[0], pin.at[1] + shift[1]
        body.append(
            group(
                element("circle", cx=x - 4.0, cy=y, r=4.0, fill="none", stroke="currentColor", stroke_width=INK),
                element("circle", cx=x, cy=y, r=1.0, fill="none"),
                label(x - 14.0, y + 4.8, pin.name, 14.0, anchor="end", weight="bold"),
                data_terminal=pin.node,
                class_="mains",
            )
        )
    for stand in moved:
        body.append(_part(stand, elements[stand.ref].pins.keys()))
    body += [_text(words.moved(*shift)) for words in placement.captions]
    width, height = room.x1 - room.x0, room.y1 - room.y0
    title = f"Schematic of {drawing.circuit.title}" if drawing.circuit.title else "Schematic"
    return document(
        up_to(width + GRID),
        up_to(height + GRID),
        body,
        name="schematic",
        title=title,
        description=_described(drawing),
        paper=paper,
    )


def up_to(value: float) -> float:
    """The next multiple of the grid."""
    return GRID * -(-value // GRID)


def _point(drawing: Schematic, cell: tuple[int, int]) -> Point:
    return cell[0] * GRID + drawing.origin[0], cell[1] * GRID + drawing.origin[1]


def _wire(points: Iterable[Point], node: str) -> str:
    return element(
        "polyline",
        points=" ".join(f"{number(x)},{number(y)}" for x, y in points),
        fill="none",
        stroke="currentColor",
        stroke_width=INK,
        stroke_linejoin="round",
        class_="wire",
        data_node=node,
    )


def _part(stand: Stand, pins: Iterable[str]) -> str:
    body = stand.body
    children = [
        element("title", f"{stand.ref}, {KINDS[stand.kind].title}"),
        element(
            "rect",
            x=body.x0,
            y=body.y0,
            width=body.x1 - body.x0,
            height=body.y1 - body.y0,
            fill="none",
            data_body=stand.ref,
        ),
        *(drawn(stroke, stand.at, INK) for stroke in stand.symbol.strokes),
    ]
    for name in pins:
        x, y = stand.pin(name)
        children.append(element("circle", cx=x, cy=y, r=1.0, fill="none", data_pin=f"{stand.ref}.{name}"))
    children += [_text(words) for words in stand.texts]
    return group(*children, data_ref=stand.ref, data_kind=stand.kind, class_="part")


def _text(words: Words) -> str:
    return label(
        *words.at,
        words.text,
        words.size,
        anchor=words.anchor,
        weight="bold" if words.bold else None,
        opacity=0.8 if words.role in ("value", "caption") else None,
    )


def _frame(frame: Frame, drawing: Schematic) -> str:
    rect = frame.rect
    count = next((block_count(e) for e in drawing.circuit.elements if e.block == frame.block), "")
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
        label(*frame.caption, f"{frame.block} {count}".strip(), 13.0),
        class_="block",
        data_block=frame.block,
    )


def _described(drawing: Schematic) -> str:
    """The connections in words."""
    parts = []
    for e in drawing.circuit.elements:
        nodes = ", ".join(f"{pin} on {node}" for pin, node in e.pins.items())
        parts.append(f"{e.ref}, {KINDS[e.kind].title}: {nodes}.")
    return " ".join(parts)
