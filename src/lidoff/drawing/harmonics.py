"""Harmonic currents as bars with the published limit over each: one panel a limit, side by side."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from lidoff.drawing.curve import round_below
from lidoff.drawing.svg import DrawingError, document, element, fill, label, line, stroke, text_width, wrapped
from lidoff.figures import Comparison
from lidoff.figures.comparison import Item
from lidoff.quantity import engineering

_ORDER: Final = re.compile(r"h(\d+)")
_SHOWN: Final = 19  # the highest order shown; beyond it the bars of small items are hairs
_EVEN: Final = 0.02  # of the tallest bar, below which an even order is left out
_ROOM: Final = 1.35  # of the tallest bar, as far as the panel reaches at least
_NAMES: Final = (
    ("harmonics-class-c-route-1", "Class C, route 1"),
    ("harmonics-class-c-route-2", "Class C, route 2"),
    ("harmonics-class-c-route-3", "Class C, route 3"),
    ("harmonics-class-c-table-30", "Class C, over 25 W (30 λ)"),
    ("harmonics-class-c-table-27", "Class C, over 25 W (27 %)"),
    ("harmonics-class-a", "Class A"),
    ("harmonics-class-d", "Class D"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]."""

    width: float
    columns: int
    left: float  # of a panel, for its scale
    size: float
    height: float  # of the bars of a panel


_WIDE: Final = _Page(width=960.0, columns=3, left=54.0, size=14.0, height=150.0)
_NARROW: Final = _Page(width=360.0, columns=1, left=50.0, size=12.0, height=120.0)


def harmonics_svg(comparisons: Sequence[Comparison], *, narrow: bool = False, paper: bool = False) -> str:
    """Bars of the harmonic currents under the limits of each comparison that holds any, as an SVG picture.

    A limit far above its bar is an arrow at the top. Raises DrawingError where no comparison is about harmonics.
    """
    page = _NARROW if narrow else _WIDE
    by_id = {one.id: one for one in comparisons}
    shown = [(name, by_id[key]) for key, name in _NAMES if key in by_id and _orders(by_id[key])]
    if not shown:
        raise DrawingError("None of these limits is about harmonic currents")
    key, top = _key(page)
    column = page.width / page.columns
    row = page.height + 6.6 * page.size
    body = [key]
    for k, (name, one) in enumerate(shown):
        x, y = (k % page.columns) * column, top + (k // page.columns) * row
        body += _panel(one, name, page, x, y, column)
    height = top + row * -(-len(shown) // page.columns)
    told = "; ".join(f"{name}: {one.lies} the limit" for name, one in shown if one.lies is not None)
    return document(
        page.width,
        height,
        body,
        name="harmonics",
        title="Harmonic currents and their limits",
        description=told,
        paper=paper,
    )


def _orders(one: Comparison) -> dict[int, Item]:
    found = {int(match[1]): item for item in one.items if (match := _ORDER.fullmatch(item.name)) is not None}
    tallest = max((item.value for item in found.values()), default=0.0)
    # Even orders of a wave whose half-cycles are alike are nothing at all, and would only crowd the odd ones.
    return {n: item for n, item in sorted(found.items()) if n <= _SHOWN and (n % 2 or item.value > _EVEN * tallest)}


def _key(page: _Page) -> tuple[str, float]:
    size = page.size
    entries = (
        ("harmonic", _bar(0.0, 0.0, 0.8 * size, 0.8 * size, "current", 0.75)),
        ("over its limit", _bar(0.0, 0.0, 0.8 * size, 0.8 * size, "switch", 0.85)),
        ("too small to count", _bar(0.0, 0.0, 0.8 * size, 0.8 * size, "current", 0.2)),
        ("limit", line(0.0, 0.4 * size, 1.4 * size, 0.4 * size, stroke_width=2.4)),
        ("limit far above", _arrow(0.5 * size, 0.0, size)),
    )
    x, y, parts = 8.0, 0.3 * size, []
    for words, mark in entries:
        wide = 1.8 * size + text_width(words, size) + size
        if x + wide > page.width and x > 8.0:
            x, y = 8.0, y + 1.5 * size
        parts.append(element("g", mark, transform=f"translate({x:.1f} {y:.1f})"))
        parts.append(label(x + 1.8 * size, y + 0.8 * size, words, size))
        x += wide
    return "".join(parts), y + 2.4 * size


def _bar(x: float, y: float, width: float, height: float, role: str, opacity: float) -> str:
    return element(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        fill_opacity=opacity,
        fill=fill(role)["fill"],
        stroke=stroke(role)["stroke"],
        stroke_width=1.0,
        class_=f"f-{role} s-{role}",
    )


def _arrow(x: float, y: float, size: float) -> str:
    half, tall = 0.28 * size, 0.5 * size
    return element(
        "path", d=f"M{x - half:.2f},{y + tall:.2f} {x:.2f},{y:.2f} {x + half:.2f},{y + tall:.2f}Z", fill="currentColor"
    )


def _panel(one: Comparison, name: str, page: _Page, x: float, y: float, column: float) -> list[str]:
    size = page.size
    orders = _orders(one)
    left, right = x + page.left, x + column - 0.6 * size
    body = [label(left, y + size, name, size, weight="bold")]
    body += [
        label(left, y + (2.3 + 1.2 * k) * size, words, size)
        for k, words in enumerate(_verdict(one, right - left, size))
    ]
    top = y + 5.2 * size - 1.2 * size
    bottom = top + page.height
    unit = next(iter(orders.values())).unit
    tallest = max(item.value for item in orders.values())
    near = [item.limit for item in orders.values() if item.limit <= _ROOM * tallest * 1.6]
    reach = max([_ROOM * tallest, *(1.08 * limit for limit in near)]) or 1.0
    step = (right - left) / len(orders)
    for k, (n, item) in enumerate(orders.items()):
        middle, wide = left + (k + 0.5) * step, min(0.62 * step, 26.0)
        tall = item.value / reach * page.height
        over = not item.ignored and item.value > item.limit
        role, opacity = ("switch", 0.85) if over else ("current", 0.2 if item.ignored else 0.75)
        body.append(_bar(middle - 0.5 * wide, bottom - tall, wide, max(tall, 0.5), role, opacity))
        if item.limit <= reach:
            level = bottom - item.limit / reach * page.height
            body.append(line(middle - 0.46 * step, level, middle + 0.46 * step, level, stroke_width=2.4))
        else:
            body.append(_arrow(middle, top, size))
        body.append(label(middle, bottom + 1.2 * size, str(n), size, anchor="middle"))
    body.append(line(left, bottom, right, bottom, stroke_opacity=0.5))
    mark = round_below(0.92 * reach)
    words = f"{mark:g} %" if unit == "%" else engineering(mark, unit, 1)
    level = bottom - mark / reach * page.height
    body.append(line(left - 5.0, level, left, level))
    body.append(line(left, level, right, level, stroke_opacity=0.16))
    body.append(label(left - 7.0, level + 0.35 * size, words, size, anchor="end"))
    body.append(label(left - 7.0, bottom + 1.2 * size, "order", size, anchor="end", opacity=0.75))
    return body


def _verdict(one: Comparison, room: float, size: float) -> list[str]:
    """On which side of the limit the wave lies, with what rules besides the bars, in one line or two."""
    if one.lies is None:
        words = "nothing large enough to count"
    else:
        others = [item for item in one.items if _ORDER.fullmatch(item.name) is None and item.share > 1.0]
        harmonics = any(item.share > 1.0 and not item.ignored for item in _orders(one).values())
        by = " by its timing or distortion" if others and not harmonics else ""
        words = f"lies {one.lies} the limit{by}"
    if not one.applies:
        words += ", for comparison"
    return wrapped(words, size, room)[:2]
