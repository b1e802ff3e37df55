"""Light and power along a knob or along a value: what the travel does, where it does nothing, where the light jumps.

Works on what `turn --json` and `vary --json` print, so that a stored result is drawn without solving anything again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np

from lidoff.drawing.curve import round_below
from lidoff.drawing.svg import (
    DrawingError,
    document,
    element,
    fitted,
    label,
    line,
    path,
    stroke,
    text_width,
)
from lidoff.quantity import engineering, with_interval

Points = Sequence[Mapping[str, Any]]
Across = Callable[[float], float]
DEAD: Final = 0.05  # share of the light's range within which it counts as its minimum: the record format's own figure


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]."""

    width: float
    left: float
    right: float
    size: float
    lane: float

    @property
    def inner(self) -> float:
        return self.width - self.left - self.right


_WIDE: Final = _Page(width=960.0, left=92.0, right=28.0, size=15.0, lane=170.0)
_NARROW: Final = _Page(width=360.0, left=62.0, right=22.0, size=12.0, lane=120.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lane:
    """A figure along the travel: dotted name in a point, what it is called, unit, role of its colour."""

    key: str
    title: str
    unit: str
    role: str


_LANES: Final = {
    "light": _Lane(key="light.mean_current", title="light (mean LED current)", unit="A", role="light"),
    "power": _Lane(key="input.power", title="power from the mains", unit="W", role="power"),
    "current": _Lane(key="input.current_rms", title="mains current, rms", unit="A", role="current"),
}


def turn_svg(document: Mapping[str, Any], *, narrow: bool = False, paper: bool = False) -> str:
    """The picture of a `turn` document: the knob up and down again, dead travel shaded, snap-on and snap-off marked."""
    return sweep_svg(
        document["up"],
        document.get("down"),
        x="position",
        name=str(document["ref"]),
        dead_travel=document.get("dead_travel"),
        floor=document.get("floor"),
        snap_on=document.get("snap_on"),
        snap_off=document.get("snap_off"),
        narrow=narrow,
        paper=paper,
    )


def vary_svg(document: Mapping[str, Any], *, unit: str = "", narrow: bool = False, paper: bool = False) -> str:
    """The picture of a `vary` document; `unit` is that of the value that was varied (SI symbol)."""
    return sweep_svg(
        document["points"],
        x="value",
        name=str(document["key"]),
        unit=unit,
        dead_travel=document.get("dead_travel"),
        floor=document.get("floor"),
        narrow=narrow,
        paper=paper,
    )


def sweep_svg(
    points_up: Points,
    points_down: Points | None = None,
    *,
    x: str = "position",
    y: Sequence[str] = ("light", "power"),
    name: str = "",
    unit: str = "",
    dead_travel: float | None = None,
    floor: float | None = None,
    snap_on: float | None = None,
    snap_off: float | None = None,
    narrow: bool = False,
    paper: bool = False,
) -> str:
    """Figures along a travel as an SVG picture.

    `x` is the key of a point that holds the travel ("position", a share shown in percent; or "value", in `unit`), `y`
    names the lanes ("light", "power", "current"); a lane without figures is left out. `snap_on` and `snap_off` are
    places on the travel, `dead_travel` and `floor` shares. Raises DrawingError where there are fewer than two points
    or nothing to show.
    """
    if len(points_up) < 2:
        raise DrawingError("A picture along a value needs at least two points; ask for more")
    page = _NARROW if narrow else _WIDE
    travel = [float(point[x]) for point in points_up]
    low, high = min(travel), max(travel)
    if high <= low:
        raise DrawingError("All points stand at the same value; give a range from one value to another")
    lanes = [_LANES[key] for key in y if any(_figure(p, _LANES[key]) is not None for p in points_up)]
    if not lanes:
        raise DrawingError("None of the points has a figure to draw")

    def across(value: float) -> float:
        return page.left + (value - low) / (high - low) * page.inner

    as_percent = x == "position"
    snaps = [
        (value, f"{words} {_place(value, unit, as_percent)}", dashes)
        for value, words, dashes in ((snap_on, "comes on at", None), (snap_off, "goes out at", "5 4"))
        if value is not None
    ]
    both = points_down if points_down and _differs(points_up, points_down, x, lanes) else None
    dead = _dead(points_up, x)
    strip = 1.35 * page.size * len(snaps)
    y_top = 1.6 * page.size
    body = []
    for place, lane in enumerate(lanes):
        above = strip if place == 0 else 0.0
        body.append(label(page.left, y_top - 0.4 * page.size, lane.title, page.size, weight="bold"))
        top = y_top + above + 0.3 * page.size * bool(above)
        body += _shading(page, dead, across, top)
        body += _snap_lines(page, [value for value, _, _ in snaps], across, top)
        body += _lane(page, lane, points_up, both, x, across, top)
        if place == 0:
            body += _snap_words(page, snaps, across, y_top, top)
            body += _dead_words(page, dead, dead_travel, [value for value, _, _ in snaps], across, top)
        y_top = top + page.lane + 2.2 * page.size
    bottom = y_top - 2.2 * page.size
    body += _axis(page, low, high, name, unit, as_percent, across, bottom)
    height = bottom + 3.6 * page.size
    if both is not None:
        height += 1.6 * page.size
        body += _directions(page, height - 0.6 * page.size)
    title = f"Figures along {name}" if name else "Figures along the travel"
    words = _described(points_up, lanes, x, name, unit, as_percent, dead_travel, floor, snap_on, snap_off)
    return document(page.width, height, body, name="sweep", title=title, description=words, paper=paper)


def _figure(point: Mapping[str, Any], lane: _Lane) -> float | None:
    owner, _, key = lane.key.partition(".")
    value = (point.get(owner) or {}).get(key)
    return None if value is None else float(value)


def _dead(points: Points, x: str) -> list[tuple[float, float]]:
    """Stretches of the travel over which the light keeps within 5 % of its range above its minimum."""
    light = [_figure(point, _LANES["light"]) for point in points]
    known = [value for value in light if value is not None]
    if not known or max(known) <= min(known):
        return []
    limit = min(known) + DEAD * (max(known) - min(known))
    order = sorted((float(p[x]), value is not None and value <= limit) for p, value in zip(points, light, strict=True))
    found: list[tuple[float, float]] = []
    for (place, still), (after, still_after) in pairwise(order):
        if not (still and still_after):
            continue
        start = found.pop()[0] if found and found[-1][1] == place else place
        found.append((start, after))
    return found


def _differs(up: Points, down: Points, x: str, lanes: Sequence[_Lane]) -> bool:
    """Whether the way back shows anything that the way up does not: over 1 % of the range somewhere."""
    for lane in lanes:
        there = {float(p[x]): _figure(p, lane) for p in up}
        back = {float(p[x]): _figure(p, lane) for p in down}
        known = [v for v in (*there.values(), *back.values()) if v is not None]
        span = max(known) - min(known)
        for place, value in there.items():
            other = back.get(place)
            if value is not None and other is not None and abs(value - other) > 0.01 * span > 0.0:
                return True
    return False


def _shading(page: _Page, dead: list[tuple[float, float]], across: Across, top: float) -> list[str]:
    return [
        element(
            "rect",
            x=float(min(across(a), across(b))),
            y=top,
            width=abs(across(b) - across(a)),
            height=page.lane,
            fill="currentColor",
            fill_opacity=0.08,
        )
        for a, b in dead
    ]


def _dead_words(
    page: _Page,
    dead: list[tuple[float, float]],
    share: float | None,
    snaps: list[float],
    across: Across,
    top: float,
) -> list[str]:
    """The dead travel in words, in the widest stretch of it that no snap line crosses."""
    if share is None:
        return []
    gaps = []
    for a, b in dead:
        marks = sorted([across(a), across(b), *(across(v) for v in snaps if a < v < b)])
        gaps += list(pairwise(marks))
    if not gaps:
        return []
    a, b = max(gaps, key=lambda gap: gap[1] - gap[0])
    for words in (f"dead travel: {100.0 * share:.0f} % of the way", f"dead: {100.0 * share:.0f} %"):
        if text_width(words, page.size) < b - a - 8.0:
            return [label(0.5 * (a + b), top + 0.5 * page.lane, words, page.size, anchor="middle", opacity=0.85)]
    return []


def _snap_lines(page: _Page, snaps: list[float], across: Across, top: float) -> list[str]:
    return [
        line(across(v), top, across(v), top + page.lane, stroke_width=1.4, stroke_dasharray=dashes, stroke_opacity=0.8)
        for v, dashes in zip(snaps, (None, "5 4"), strict=False)
    ]


def _snap_words(
    page: _Page, snaps: list[tuple[float, str, str | None]], across: Across, y: float, top: float
) -> list[str]:
    """Each snap's words on a row of their own above the lane; its line reaches up to them and no farther."""
    body = []
    for row, (value, words, dashes) in enumerate(snaps):
        x = across(value)
        base = y + (row + 0.95) * 1.35 * page.size
        others = [across(v) for v, _, _ in snaps[:row]]
        width = text_width(words, page.size) + 6.0
        fits_right = x + width < page.width - 2.0 and not any(x <= other < x + width for other in others)
        body.append(
            line(x, base - 0.9 * page.size, x, top, stroke_width=1.4, stroke_dasharray=dashes, stroke_opacity=0.8)
        )
        if fits_right:
            body.append(label(x + 5.0, base, words, page.size))
        else:
            body.append(label(x - 5.0, base, words, page.size, anchor="end"))
    return body


def _lane(page: _Page, lane: _Lane, up: Points, down: Points | None, x: str, across: Across, y: float) -> list[str]:
    values = [_figure(p, lane) for p in (*up, *(down or ()))]
    top_value = max((v for v in values if v is not None), default=0.0)
    top, bottom = y + 6.0, y + page.lane
    scale = (bottom - top) / top_value if top_value > 0.0 else 0.0
    body = [
        line(page.left, bottom, page.left + page.inner, bottom, stroke_opacity=0.5),
        line(page.left, top, page.left, bottom, stroke_opacity=0.5),
        label(page.left - 8.0, bottom + 0.35 * page.size, "0", page.size, anchor="end"),
    ]
    if top_value > 0.0:
        mark = round_below(top_value)
        tick = bottom - mark * scale
        body.append(line(page.left - 5.0, tick, page.left, tick))
        words = with_interval(mark, 0.0, lane.unit)
        body.append(label(page.left - 8.0, tick + 0.35 * page.size, words, page.size, anchor="end"))

    def curve(points: Points, **attributes: object) -> list[str]:
        ordered = sorted((float(p[x]), _figure(p, lane)) for p in points if _figure(p, lane) is not None)
        place = [(across(a), bottom - max(v or 0.0, 0.0) * scale) for a, v in ordered]
        shown = [element("path", d=path(place), fill="none", stroke_linejoin="round", **attributes)]
        if points is up and len(place) <= 60:
            shown += [element("circle", cx=a, cy=b, r=1.9, fill=attributes["stroke"]) for a, b in place]
        return shown

    body += curve(up, stroke_width=2.4, **stroke(lane.role))
    if down is not None:
        body += curve(down, stroke_width=1.8, stroke_dasharray="6 4", **stroke("down"))
    return body


def _place(value: float, unit: str, as_percent: bool) -> str:
    if as_percent:
        return f"{100.0 * value:.0f} %"
    return engineering(value, unit) if unit else f"{value:.3g}"


def _axis(
    page: _Page, low: float, high: float, name: str, unit: str, as_percent: bool, across: Across, bottom: float
) -> list[str]:
    body = []
    count = 4 if as_percent or page.width > 500.0 else 2
    for value in np.linspace(low, high, count + 1):
        x = across(float(value))
        body.append(line(x, bottom, x, bottom + 5.0))
        words = _place(float(value), unit, as_percent)
        if as_percent and page.width < 500.0 and value not in (low, high):
            words = words.removesuffix(" %")
        body.append(label(x, bottom + 1.4 * page.size, words, page.size, anchor="middle"))
    what = f"{name}, turned up from 0" if as_percent else name
    middle = page.left + 0.5 * page.inner
    body.append(
        label(middle, bottom + 2.9 * page.size, fitted(what, page.size, page.inner), page.size, anchor="middle")
    )
    return body


def _directions(page: _Page, y: float) -> list[str]:
    size = page.size
    x = page.left
    base = y - 0.35 * size
    second = x + 2.4 * size + text_width("turning up", size) + 1.5 * size
    return [
        line(x, base, x + 2.0 * size, base, stroke_width=2.4),
        label(x + 2.4 * size, y, "turning up", size),
        line(
            second,
            base,
            second + 2.0 * size,
            base,
            **{**stroke("down"), "stroke_width": 1.8, "stroke_dasharray": "6 4"},
        ),
        label(second + 2.4 * size, y, "turning down again", size),
    ]


def _described(
    points: Points,
    lanes: Sequence[_Lane],
    x: str,
    name: str,
    unit: str,
    as_percent: bool,
    dead_travel: float | None,
    floor: float | None,
    snap_on: float | None,
    snap_off: float | None,
) -> str:
    """The picture in words."""
    first, last = points[0], points[-1]
    sentences = []
    for lane in lanes:
        a, b = _figure(first, lane), _figure(last, lane)
        if a is not None and b is not None:
            start, end = (_place(float(point[x]), unit, as_percent) for point in (first, last))
            sentences.append(
                f"The {lane.title} goes from {engineering(a, lane.unit)} at {start} "
                f"to {engineering(b, lane.unit)} at {end} of {name or 'the travel'}."
            )
    if dead_travel is not None:
        sentences.append(f"Over {100.0 * dead_travel:.0f} % of the way the light stays at its lowest.")
    if floor is not None:
        sentences.append(f"Its lowest is {100.0 * floor:.0f} % of its highest.")
    if snap_on is not None:
        sentences.append(f"It comes on at {_place(snap_on, unit, as_percent)}.")
    if snap_off is not None:
        sentences.append(f"On the way back it goes out at {_place(snap_off, unit, as_percent)}.")
    return " ".join(sentences)
