"""What symbols are made of: strokes in a grid of their own, and the eight ways to turn and mirror them.

A symbol stands upright: its first pin at the top, its second at the bottom, a third pin at the left. Everything is in
SVG units; pins lie on a grid of 10, so that wires of any two symbols meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from lidoff.drawing.svg import element, label, number

GRID: Final = 10
REACH: Final = 30  # from the middle of a symbol to its pins

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rect:
    """A box with its sides parallel to the axes."""

    x0: float
    y0: float
    x1: float
    y1: float

    def moved(self, dx: float, dy: float) -> Rect:
        """The box shifted."""
        return Rect(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def grown(self, by: float) -> Rect:
        """The box with each side moved outward."""
        return Rect(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def meets(self, other: Rect) -> bool:
        """Whether the two share any area."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def with_(self, other: Rect) -> Rect:
        """The smallest box around both."""
        return Rect(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))


def around(rects: Iterable[Rect]) -> Rect:
    """The smallest box around all (at least one)."""
    found: Rect | None = None
    for rect in rects:
        found = rect if found is None else found.with_(rect)
    assert found is not None
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One piece of a symbol.

    `form` says how the points are meant: a line through them, a closed outline, a filled area, a circle (middle and a
    point on it), cubic curves (a start, then two handles and an end each), or a letter centred on the point. `pin`
    names the pin whose lead this is.
    """

    form: Literal["line", "outline", "area", "circle", "dot", "curve", "letter"]
    points: tuple[Point, ...]
    pin: str | None = None
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A connection point and the direction in which its wire leaves (unit vector along an axis)."""

    at: Point
    out: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """Strokes, pins and the box of the body, around the origin."""

    strokes: tuple[Stroke, ...]
    pins: Mapping[str, Pin]
    body: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """How a symbol stands: first `upset` (top and bottom changed), `mirror` (left and right changed), then `lying`.

    Lying, what was at the top is at the left, and what was at the left is below.
    """

    lying: bool = False
    upset: bool = False
    mirror: bool = False

    def turned(self, point: Point) -> Point:
        """Where a point of the upright symbol comes to lie."""
        x = -point[0] if self.mirror else point[0]
        y = -point[1] if self.upset else point[1]
        return (y, -x) if self.lying else (x, y)


def posed(symbol: Symbol, pose: Pose) -> Symbol:
    """The symbol in that pose."""
    corners = [pose.turned(p) for p in ((symbol.body.x0, symbol.body.y0), (symbol.body.x1, symbol.body.y1))]
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return Symbol(
        strokes=tuple(
            Stroke(form=s.form, points=tuple(pose.turned(p) for p in s.points), pin=s.pin, text=s.text)
            for s in symbol.strokes
        ),
        pins={name: Pin(at=pose.turned(pin.at), out=pose.turned(pin.out)) for name, pin in symbol.pins.items()},
        body=Rect(min(xs), min(ys), max(xs), max(ys)),
    )


def line(*points: Point) -> Stroke:
    """A line through the points."""
    return Stroke(form="line", points=points)


def lead(pin: str, *points: Point) -> Stroke:
    """The lead from a pin to the body."""
    return Stroke(form="line", points=points, pin=pin)


def outline(*points: Point) -> Stroke:
    """A closed outline."""
    return Stroke(form="outline", points=points)


def area(*points: Point) -> Stroke:
    """A filled area."""
    return Stroke(form="area", points=points)


def box(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    """A rectangle."""
    return outline((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def circle(x: float, y: float, radius: float) -> Stroke:
    """A circle."""
    return Stroke(form="circle", points=((x, y), (x + radius, y)))


def dot(x: float, y: float, radius: float) -> Stroke:
    """A filled circle."""
    return Stroke(form="dot", points=((x, y), (x + radius, y)))


def letter(x: float, y: float, text: str) -> Stroke:
    """A letter that stays upright whatever the pose, centred on the point."""
    return Stroke(form="letter", points=((x, y),), text=text)


def arrow(start: Point, tip: Point, size: float = 6.0) -> tuple[Stroke, Stroke]:
    """A line with a filled head at its tip."""
    dx, dy = tip[0] - start[0], tip[1] - start[1]
    length = math.hypot(dx, dy)
    ux, uy = dx / length, dy / length
    neck = (tip[0] - size * ux, tip[1] - size * uy)
    half = 0.45 * size
    head = area(tip, (neck[0] - half * uy, neck[1] + half * ux), (neck[0] + half * uy, neck[1] - half * ux))
    return line(start, neck), head


_BOW: Final = 0.5523  # handle of a cubic curve that stands for a quarter of a circle


def half_turns(x: float, y0: float, y1: float, count: int, side: float = 1.0) -> Stroke:
    """Half circles in a row downward from (x, y0) to (x, y1), bulging to the right (side 1) or left (side -1)."""
    step = (y1 - y0) / count
    radius = 0.5 * step
    points: list[Point] = [(x, y0)]
    for k in range(count):
        top = y0 + k * step
        out = x + side * abs(radius)
        points += [
            (x + side * _BOW * abs(radius), top),
            (out, top + radius - _BOW * radius),
            (out, top + radius),
            (out, top + radius + _BOW * radius),
            (x + side * _BOW * abs(radius), top + step),
            (x, top + step),
        ]
    return Stroke(form="curve", points=tuple(points))


def flat_turns(y: float, x0: float, x1: float, count: int) -> Stroke:
    """Half circles in a row to the right, bulging upward."""
    upright = half_turns(0.0, x0, x1, count)
    return Stroke(form="curve", points=tuple((py, y - px) for px, py in upright.points))


def drawn(stroke: Stroke, at: Point, pen: Mapping[str, object], letter_size: float = 11.0) -> str:
    """The stroke as SVG at that place, in the given pen (attributes of a line)."""
    points = [(x + at[0], y + at[1]) for x, y in stroke.points]
    pen = {**pen, "fill": "none"}
    if stroke.form in ("circle", "dot"):
        (x, y), (edge, edge_y) = points
        radius = math.hypot(edge - x, edge_y - y)
        if stroke.form == "dot":
            return element("circle", cx=float(x), cy=float(y), r=radius, fill="currentColor")
        return element("circle", cx=float(x), cy=float(y), r=radius, **pen)
    if stroke.form == "letter":
        x, y = points[0]
        return label(x, y + 0.36 * letter_size, stroke.text, letter_size, anchor="middle")
    if stroke.form == "curve":
        first, *rest = (f"{number(x)},{number(y)}" for x, y in points)
        return element("path", d=f"M{first} C{' '.join(rest)}", **pen)
    steps = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    if stroke.form == "area":
        return element("path", d=f"M{steps}Z", fill="currentColor")
    return element("path", d=f"M{steps}{'Z' if stroke.form == 'outline' else ''}", stroke_linejoin="miter", **pen)
