"""One mains cycle drawn large: few words, thick lines, for a slide or a frame of a film.

Voltage and current over one axis, the light below them, and nothing else. A cursor that stands at an angle of the cycle
is a picture of its own, of the same size, to be laid over it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.drawing.curve import thinned
from lidoff.drawing.dial import BARE_CENTRE, BARE_RADIUS
from lidoff.drawing.svg import document, element, fill, label, line, path, stroke, text_width
from lidoff.drawing.view import CycleView, Floats, described, view_of
from lidoff.quantity import engineering

_GAP: Final = 0.6  # between the lanes, in sizes of text


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """How large the picture is, and its text [pixels]."""

    width: float
    height: float
    size: float


@dataclass(frozen=True, slots=True)
class _Lanes:
    """Where the two lanes lie; `light_top` equals `light_bottom` where there is no light to show."""

    left: float
    right: float
    top: float
    middle: float
    half: float
    light_top: float
    light_bottom: float

    def x(self, share: float) -> float:
        return self.left + share * (self.right - self.left)


def wave_still_svg(view: CycleView, frame: Frame) -> str:
    """The first cycle of a view drawn large, as SVG of exactly the size of the frame."""
    view = view_of(view, most_cycles=1)
    lanes = _lanes(view, frame)
    body = [*_ground(view, lanes), *_keys(view, frame, lanes), *_axis(view, frame, lanes)]
    for wave, peak, look in _curves(view):
        share, closed = _round(view, wave)
        points = thinned(
            lanes.left + share * (lanes.right - lanes.left), lanes.middle - closed / peak * lanes.half, 0.3
        )
        body.append(element("path", d=path(points), fill="none", stroke_linejoin="round", **look))
    body += _light(view, frame, lanes)
    return document(frame.width, frame.height, body, name="still", title="One mains cycle", description=described(view))


def cursor_svg(view: CycleView, frame: Frame, angle: float) -> str:
    """The cursor at an angle [degrees] over the picture of the same view and frame."""
    view = view_of(view, most_cycles=1)
    lanes = _lanes(view, frame)
    x = lanes.x(angle / view.span)
    radius = 0.3 * frame.size
    body = [line(x, lanes.top, x, lanes.light_bottom, stroke_width=2.5, stroke_opacity=0.8)]
    for wave, peak, look in _curves(view):
        y = lanes.middle - at_angle(view, wave, angle) / peak * lanes.half
        body.append(element("circle", cx=x, cy=y, r=radius, fill=look["stroke"], stroke="#ffffff", stroke_width=2.0))
    if view.light is not None and lanes.light_bottom > lanes.light_top:
        y = lanes.light_bottom - at_angle(view, view.light, angle) * (lanes.light_bottom - lanes.light_top)
        body.append(element("circle", cx=x, cy=y, r=radius, stroke="#ffffff", stroke_width=2.0, **fill("light")))
    return document(frame.width, frame.height, body, name="cursor", title="", description="")


def hand_svg(angle: float, *, width: float, height: float) -> str:
    """The hand of the bare cycle dial at an angle [degrees], to be laid over a dial of that width and height."""
    turn = math.radians(angle)
    x, y = BARE_CENTRE
    inner, outer = 0.12 * BARE_RADIUS, 1.0 * BARE_RADIUS
    body = [
        line(
            x + inner * math.sin(turn),
            y - inner * math.cos(turn),
            x + outer * math.sin(turn),
            y - outer * math.cos(turn),
            stroke_width=4.0,
            stroke_linecap="round",
        ),
        element("circle", cx=float(x), cy=float(y), r=inner, fill="none", stroke="currentColor", stroke_width=2.0),
    ]
    return document(width, height, body, name="hand", title="", description="")


def knob_still_svg(
    up: Sequence[tuple[float, float]], down: Sequence[tuple[float, float]], frame: Frame, *, dead: float
) -> str:
    """The light along the way of a knob drawn large: positions [0 to 1] with the light in any unit, up and down again.

    `dead` is the share of the way over which the light stays at its lowest; it is tinted, from the end at which it is.
    """
    size = frame.size
    most = max(light for _, light in (*up, *down)) or 1.0
    least = min(light for _, light in (*up, *down))
    left, right = text_width("100 %", size) + 0.6 * size, frame.width - 1.2 * size
    top, bottom = 0.8 * size, frame.height - 3.0 * size

    def at(position: float, light: float) -> tuple[float, float]:
        return left + position * (right - left), bottom - light / most * (bottom - top)

    low_end = up[-1][1] < up[0][1]
    x0 = at(1.0 - dead, 0.0)[0] if low_end else left
    body = [
        element(
            "rect",
            x=x0,
            y=top,
            width=dead * (right - left),
            height=bottom - top,
            fill="currentColor",
            fill_opacity=0.09,
        ),
        label(x0 + 0.5 * dead * (right - left), top + 1.5 * size, "nothing happens here", size, anchor="middle"),
        line(left, bottom, right, bottom, stroke_width=1.5),
        line(left, top, left, bottom, stroke_width=1.5),
    ]
    for way, dash in ((up, None), (down, "14 9")):
        d = path([at(position, light) for position, light in way])
        body.append(element("path", d=d, fill="none", stroke_width=7.0, stroke_dasharray=dash, **stroke("light")))
    for light, words in ((most, "100 %"), (0.0, "0")):
        body.append(label(left - 0.4 * size, at(0.0, light)[1] + 0.35 * size, words, size, anchor="end"))
    for k in range(5):
        x = at(k / 4, 0.0)[0]
        anchor = "end" if k == 4 else "middle"
        body.append(line(x, bottom, x, bottom + 8.0, stroke_width=1.5))
        body.append(label(x, bottom + 1.4 * size, f"{25 * k} %", size, anchor=anchor))
    body.append(label(0.5 * (left + right), bottom + 2.7 * size, "way of the knob", size, anchor="middle"))
    body.append(label(left + 0.5 * size, top + 0.7 * size, "light", size, weight="bold"))
    words = f"The light never falls below {100.0 * least / most:.2g} %; {100.0 * dead:.0f} % of the way does nothing."
    return document(frame.width, frame.height, body, name="still", title="Light along the knob", description=words)


def at_angle(view: CycleView, wave: Floats, angle: float) -> float:
    """A wave of the view at an angle [degrees], repeating with the cycles shown."""
    return float(np.interp(angle % view.span, np.append(view.angle, view.span), np.append(wave, wave[0])))


def _curves(view: CycleView) -> list[tuple[Floats, float, dict[str, object]]]:
    found: list[tuple[Floats, float, dict[str, object]]] = [
        (view.voltage, view.voltage_peak or 1.0, {"stroke": "currentColor", "stroke_width": 3.0})
    ]
    if view.current_peak > 0.0:
        found.append((view.current, view.current_peak, {**stroke("current"), "stroke_width": 7.0}))
    return found


def _lanes(view: CycleView, frame: Frame) -> _Lanes:
    size = frame.size
    left = text_width("−000 V", size) + 0.6 * size
    right = frame.width - text_width("+000 mA", size) - 0.6 * size
    top, bottom = 2.0 * size, frame.height - 1.9 * size
    lit = view.light is not None and float(view.light.max()) > 0.0
    light = 0.27 * (bottom - top) if lit else 0.0
    split = bottom - light - (_GAP * size if lit else 0.0)
    half = 0.5 * (split - top) - 8.0
    return _Lanes(left, right, top, 0.5 * (top + split), half, bottom - light, bottom)


def _ground(view: CycleView, lanes: _Lanes) -> list[str]:
    """Where the first part that switches conducts, as a tint, and the line of zero."""
    first = next((part for part in view.parts if part.spans), None)
    body = []
    if first is not None:
        for a, b in first.spans:
            x0, x1 = lanes.x(a / view.span), lanes.x(b / view.span)
            height = 2.0 * (lanes.half + 8.0)
            body.append(
                element("rect", x=x0, y=lanes.top, width=x1 - x0, height=height, fill_opacity=0.1, **fill(first.role))
            )
    return [*body, line(lanes.left, lanes.middle, lanes.right, lanes.middle, stroke_width=1.5, stroke_opacity=0.6)]


def _round(view: CycleView, wave: Floats) -> tuple[Floats, Floats]:
    return np.append(view.angle, view.span) / view.span, np.append(wave, wave[0] if view.rhythm == 1 else wave[-1])


def _keys(view: CycleView, frame: Frame, lanes: _Lanes) -> list[str]:
    """What the two curves are, and their peaks beside the plot."""
    size = frame.size
    mark = 1.5 * size
    y = 1.1 * size
    voltage, current = "mains voltage", "input current"
    second = lanes.left + mark + 1.3 * size + text_width(voltage, size)
    body = [
        line(lanes.left, y - 0.3 * size, lanes.left + mark, y - 0.3 * size, stroke_width=3.0),
        label(lanes.left + mark + 0.35 * size, y, voltage, size),
        line(second, y - 0.3 * size, second + mark, y - 0.3 * size, **stroke("current"), stroke_width=7.0),
        label(second + mark + 0.35 * size, y, current, size),
    ]
    peaks = [(lanes.left - 0.4 * size, "end", view.voltage_peak, "V")]
    if view.current_peak > 0.0:
        peaks.append((lanes.right + 0.4 * size, "start", view.current_peak, "A"))
    for x, anchor, peak, unit in peaks:
        for sign, way in (("", -1.0), ("−", 1.0)):
            at = lanes.middle + way * lanes.half + 0.35 * size
            body.append(label(x, at, f"{sign}{engineering(peak, unit, 2)}", size, anchor=anchor))
    return body


def _light(view: CycleView, frame: Frame, lanes: _Lanes) -> list[str]:
    if view.light is None or lanes.light_bottom <= lanes.light_top:
        return []
    share, light = _round(view, view.light)
    x = lanes.left + share * (lanes.right - lanes.left)
    curve = thinned(x, lanes.light_bottom - light * (lanes.light_bottom - lanes.light_top), 0.3)
    area = [(lanes.left, lanes.light_bottom), *curve, (lanes.right, lanes.light_bottom)]
    middle = 0.5 * (lanes.light_top + lanes.light_bottom) + 0.35 * frame.size
    return [
        element("path", d=path(area, closed=True), fill_opacity=0.45, **fill("light")),
        element("path", d=path(curve), fill="none", stroke_width=5.0, **stroke("light")),
        label(lanes.left - 0.4 * frame.size, middle, "light", frame.size, anchor="end", weight="bold"),
    ]


def _axis(view: CycleView, frame: Frame, lanes: _Lanes) -> list[str]:
    period = 1000.0 / view.frequency
    body = [line(lanes.left, lanes.light_bottom, lanes.right, lanes.light_bottom, stroke_width=1.5)]
    for k in range(5):
        x = lanes.x(k / 4)
        body.append(line(x, lanes.top, x, lanes.light_bottom + 8.0, stroke_width=1.5, stroke_opacity=0.2))
        words = f"{90 * k}°" if k < 4 else f"{period:.3g} ms"
        body.append(label(x, lanes.light_bottom + 1.5 * frame.size, words, frame.size, anchor="middle"))
    return body
