"""The cycle dial: one mains cycle as a ring, 0° at the top, running clockwise.

From the outside in: the degrees; an arc for each part while it conducts; the input current as the thickness of a ring,
solid while it flows in at live and pale while it flows back; the light as a disc whose edge is far out where the light
is strong. Beside it stands how to read it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.drawing.curve import thinned
from lidoff.drawing.svg import document, element, fill, fitted, label, line, number, path, stroke, text_width
from lidoff.drawing.view import Conduction, CycleView, Floats, described, joined_round, view_of
from lidoff.quantity import engineering

if TYPE_CHECKING:
    from lidoff.cycle import Solution

_MOST_ARCS: Final = 4
_NAMES: Final = {
    "triac": ("the triac", "triacs"),
    "thyristor": ("the thyristor", "thyristors"),
    "bridge": ("the rectifier", "rectifiers"),
    "diode": ("the diode", "diodes"),
    "led": ("the LEDs", "LEDs"),
    "indicator": ("the neon lamp", "neon lamps"),
    "zener": ("the zener diode", "zener diodes"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Dial:
    """Sizes of the two forms [SVG units]."""

    width: float
    centre: tuple[float, float]
    outer: float  # radius of the scale of degrees
    size: float  # of the text
    arc: float  # width of a part's arc
    ring: float  # room for the current, both ways
    beside: bool  # the reading help to the right of the dial, else below it

    def at(self, radius: float, degrees: float) -> tuple[float, float]:
        turn = math.radians(degrees)
        return self.centre[0] + radius * math.sin(turn), self.centre[1] - radius * math.cos(turn)


_WIDE: Final = _Dial(width=820.0, centre=(240.0, 226.0), outer=184.0, size=15.0, arc=11.0, ring=52.0, beside=True)
_BARE: Final = _Dial(width=480.0, centre=(240.0, 234.0), outer=176.0, size=24.0, arc=11.0, ring=50.0, beside=False)
_NARROW: Final = _Dial(width=360.0, centre=(180.0, 172.0), outer=132.0, size=12.0, arc=9.0, ring=42.0, beside=False)

BARE_CENTRE: Final = _BARE.centre
BARE_RADIUS: Final = _BARE.outer


def cycle_dial_svg(
    solution: Solution | CycleView, *, narrow: bool = False, paper: bool = False, bare: bool = False
) -> str:
    """The dial of one cycle of a solution as an SVG picture; of a rhythm, its first cycle.

    `narrow` is the form for a phone (360 wide, text of 12); `paper` gives the picture its own light ground, for a file
    of its own; `bare` is the ring by itself with large figures (`BARE_CENTRE` and `BARE_RADIUS` say where it lies), for
    a page that says beside it how to read it. Raises DrawingError on a bench supply of dc.
    """
    view = view_of(solution, most_cycles=1)
    form = _BARE if bare else _NARROW if narrow else _WIDE
    arcs = view.parts[:_MOST_ARCS]
    inside = form.outer - 4.0 - len(arcs) * (form.arc + 3.0)  # outermost radius of the current's ring
    zero = inside - 0.5 * form.ring
    disc = inside - form.ring - 6.0
    body = [
        *_scale(form),
        *(shape for k, part in enumerate(arcs) for shape in _arcs(form, part, k)),
        *_current(form, view, zero),
        *_light(form, view, disc),
    ]
    if bare:
        height = form.centre[1] + form.outer + 2.2 * form.size
    else:
        help_lines, height = _help(form, view, arcs)
        body += help_lines
    name = f"Cycle dial of {view.title}" if view.title else "Cycle dial"
    words = f"One mains cycle as a ring, from the top clockwise. {described(view)}"
    return document(form.width, height, body, name="cycle-dial", title=name, description=words, paper=paper)


def _circle(form: _Dial, radius: float, **attributes: object) -> str:
    given: dict[str, object] = {"fill": "none", "stroke": "currentColor", "stroke_width": 1.0, **attributes}
    return element("circle", cx=form.centre[0], cy=form.centre[1], r=float(radius), **given)


def _scale(form: _Dial) -> list[str]:
    body = [_circle(form, form.outer, stroke_opacity=0.5)]
    for degrees in range(0, 360, 10):
        long = degrees % 90 == 0
        a, b = form.at(form.outer, degrees), form.at(form.outer + (7.0 if long else 3.0), degrees)
        body.append(line(*a, *b, stroke_opacity=0.9 if long else 0.5))
        if long:
            body.append(line(*form.centre, *form.at(form.outer, degrees), stroke_opacity=0.14))
    gap = 11.0
    for degrees, anchor, dx, dy in (
        (0, "middle", 0.0, -0.2),
        (90, "start", 0.2, 0.36),
        (180, "middle", 0.0, 0.85),
        (270, "end", -0.2, 0.36),
    ):
        x, y = form.at(form.outer + gap, degrees)
        body.append(label(x + dx * form.size, y + dy * form.size, f"{degrees}°", form.size, anchor=anchor))
    # Which way round: a short arrow beside the 0.
    start, end, radius = 9.0, 21.0, form.outer + gap + 3.0
    points = [form.at(radius, d) for d in np.linspace(start + 4.0, end, 12)]
    tip = form.at(radius, end + 4.0)
    head = [form.at(radius - 4.0, end), tip, form.at(radius + 4.0, end)]
    body.append(element("path", d=path(points), fill="none", stroke="currentColor", stroke_width=1.4))
    body.append(element("path", d=path(head, closed=True), fill="currentColor"))
    return body


def _arcs(form: _Dial, part: Conduction, place: int) -> list[str]:
    """The track of a part with its arcs on it; the innermost tracks are those named last."""
    middle = form.outer - 4.0 - (place + 0.5) * (form.arc + 3.0)
    body = [_circle(form, middle, stroke_opacity=0.16, stroke_width=1.0)]
    for a, b in joined_round(part.spans, 360.0):
        body.append(
            element(
                "path",
                d=_arc(form, middle, a, b),
                fill="none",
                stroke_width=form.arc - _texture(place)[0],
                stroke_dasharray=_texture(place)[1],
                **stroke(part.role),
            )
        )
    return body


def _texture(place: int) -> tuple[float, str | None]:
    """How much thinner, and how dashed, the arc in that place is drawn: told apart without colour."""
    return ((0.0, None), (3.0, None), (4.0, "7 2"), (4.0, "2 2"))[place]


def _arc(form: _Dial, radius: float, a: float, b: float) -> str:
    if b - a >= 359.9:
        half = form.at(radius, a + 180.0)
        first = form.at(radius, a)
        bow = f"A{number(radius)},{number(radius)} 0 1 1 "
        return f"M{_pair(first)} {bow}{_pair(half)} {bow}{_pair(first)}"
    large = 1 if b - a > 180.0 else 0
    return f"M{_pair(form.at(radius, a))} A{number(radius)},{number(radius)} 0 {large} 1 {_pair(form.at(radius, b))}"


def _pair(point: tuple[float, float]) -> str:
    return f"{number(point[0])},{number(point[1])}"


def _round(form: _Dial, view: CycleView, radius: Floats) -> list[tuple[float, float]]:
    """The closed curve at that radius over the cycle."""
    turn = np.radians(view.angle)
    x = form.centre[0] + radius * np.sin(turn)
    y = form.centre[1] - radius * np.cos(turn)
    return thinned(np.append(x, x[0]), np.append(y, y[0]), 0.2)


def _current(form: _Dial, view: CycleView, zero: float) -> list[str]:
    """A ring as thick as the current is large: solid while it flows in at live, pale while it flows back."""
    peak = view.current_peak
    body = [_circle(form, zero, stroke_opacity=0.55)]
    if peak <= 0.0:
        return body
    for sign, opacity in ((1.0, 0.9), (-1.0, 0.25)):
        reach = np.maximum(sign * view.current / peak, 0.0) * 0.5 * form.ring
        if float(reach.max()) < 0.3:
            continue
        edges = [path(_round(form, view, zero + way * reach), closed=True) for way in (1.0, -1.0)]
        body.append(
            element(
                "path",
                d="".join(edges),
                fill_rule="evenodd",
                stroke_width=0.9,
                fill_opacity=opacity,
                fill=fill("current")["fill"],
                stroke=stroke("current")["stroke"],
                class_="f-current s-current",
            )
        )
    return body


def _light(form: _Dial, view: CycleView, disc: float) -> list[str]:
    if view.light is None:
        return []
    body = [_circle(form, disc, stroke_opacity=0.45, stroke_dasharray="2 3")]
    if float(view.light.max()) > 0.0:
        d = path(_round(form, view, view.light * disc), closed=True)
        body.append(
            element(
                "path",
                d=d,
                fill=fill("light")["fill"],
                stroke=fill("light")["fill"],
                class_="f-light s-light",
                fill_opacity=0.45,
                stroke_width=1.6,
            )
        )
    return body


def _help(form: _Dial, view: CycleView, arcs: Sequence[Conduction]) -> tuple[list[str], float]:
    """How to read the dial, with the numbers of this cycle; gives the height of the picture as well."""
    size = form.size
    below = form.centre[1] + form.outer + 2.6 * size
    x, y = (form.centre[0] + form.outer + 64.0, 2.4 * size) if form.beside else (14.0, below + 1.2 * size)
    room = form.width - x - 8.0
    period = 1000.0 / view.frequency
    body = [label(x, y, "How to read it", size, weight="bold")]
    y += 1.6 * size
    for words in (
        f"Once round is one mains cycle, {period:.3g} ms,",
        "clockwise from the top (0°: voltage rising",
        "through zero; right half: live positive).",
    ):
        body.append(label(x, y, words, size))
        y += 1.35 * size
    y += 0.7 * size
    mark, text = 2.0 * size, x + 2.6 * size
    for place, part in enumerate(arcs):
        width, dashes = _texture(place)
        body.append(
            element(
                "path",
                d=path([(x, y - 0.35 * size), (x + mark, y - 0.35 * size)]),
                fill="none",
                stroke_width=form.arc - width,
                stroke_dasharray=dashes,
                **stroke(part.role),
            )
        )
        verb = "conducts" if part.count == 1 else "conduct"
        which = f"{part.ref}, {_NAMES[part.kind][part.count > 1]}, {verb}"
        if not part.spans:
            which = f"{part.ref} {'does' if part.count == 1 else 'do'} not conduct"
        elif text_width(which, size) > room - 2.6 * size:
            which = f"{part.ref} {verb}"
        body.append(label(text, y, fitted(which, size, room - 2.6 * size), size))
        y += 1.35 * size
        for words in _span_lines(part, room - 2.6 * size, size):
            body.append(label(text, y, words, size, opacity=0.8))
            y += 1.35 * size
        y += 0.35 * size
    if len(view.parts) > len(arcs):
        body.append(label(text, y, f"not shown: {_left_out(view, len(arcs))}", size, opacity=0.8))
        y += 1.7 * size
    body += _current_help(form, view, x, y)
    y += 3.05 * size
    if view.light is not None:
        body += _light_help(form, view, x, y)
        y += 3.05 * size
    if view.rhythm > 1:
        body.append(label(x, y, f"The first of {view.rhythm} cycles, after which all repeats.", size))
        y += 1.7 * size
    return body, max(below, y) if form.beside else y


def _left_out(view: CycleView, shown: int) -> str:
    rest = view.parts[shown:]
    return ", ".join(part.ref for part in rest[:3]) + (" …" if len(rest) > 3 else "")


def _span_lines(part: Conduction, room: float, size: float) -> list[str]:
    """The spans in words, as many to a line as there is room for, at most two lines."""
    lines: list[str] = []
    for a, b in joined_round(part.spans, 360.0):
        words = "all the time" if b - a >= 359.5 else f"{a:.0f}° to {b % 360.0 if b > 360.0 else b:.0f}°"
        if lines and text_width(f"{lines[-1]}, {words}", size) <= room:
            lines[-1] += f", {words}"
        else:
            lines.append(words)
    return lines if len(lines) <= 2 else [lines[0], fitted(lines[1], size, room - 1.2 * size) + " …"]


def _current_help(form: _Dial, view: CycleView, x: float, y: float) -> list[str]:
    size = form.size
    middle, thick = y - 0.35 * size, 0.45 * size
    body = []
    for place, opacity in ((0.0, 0.9), (1.0, 0.25)):
        left = x + place * size
        lens = [(left, middle), (left + 0.5 * size, middle - thick), (left + size, middle)]
        lens.append((left + 0.5 * size, middle + thick))
        body.append(
            element(
                "path",
                d=path(lens, closed=True),
                fill_opacity=opacity,
                stroke_width=0.9,
                fill=fill("current")["fill"],
                stroke=stroke("current")["stroke"],
                class_="f-current s-current",
            )
        )
    peak = f"thickest is {engineering(view.current_peak, 'A')}" if view.current_peak > 0.0 else "none flows"
    return [
        *body,
        label(x + 2.6 * size, y, f"input current: {peak};", size),
        label(x + 2.6 * size, y + 1.35 * size, "solid: in at live, pale: out at live", size, opacity=0.8),
    ]


def _light_help(form: _Dial, view: CycleView, x: float, y: float) -> list[str]:
    assert view.light is not None
    size = form.size
    centre = (x + size, y + 0.1 * size)
    dark = float(view.light.max()) <= 0.0
    second = (
        "it stays dark"
        if dark
        else f"lowest {100.0 * float(view.light.min()):.0f} %, mean {100.0 * view.mean_light:.0f} %"
    )
    return [
        element(
            "circle",
            cx=centre[0],
            cy=centre[1],
            r=0.75 * size,
            fill=fill("light")["fill"],
            stroke=fill("light")["fill"],
            class_="f-light s-light",
            fill_opacity=0.45,
            stroke_width=1.6,
        ),
        label(x + 2.6 * size, y, "light: dashed circle is its peak;", size),
        label(x + 2.6 * size, y + 1.35 * size, second, size, opacity=0.8),
    ]
