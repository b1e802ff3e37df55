"""Pictures of the collection as SVG: bars for counts, dots for figures. Text stays text, colours follow the page."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from lidoff.drawing.svg import document, element, fill, fitted, group, label, line, text_width, wrapped
from lidoff.shelf.counting import Bar, Count
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import Measure
from lidoff.shelf.query import Within

WIDE: Final = 720.0
NARROW: Final = 360.0
"""Widths [px] for a page and for a telephone: the letters have the same size in both."""
_SIZE: Final = 13.0
_SMALL: Final = 11.5
_ROW: Final = 30.0
_NOTHING: Final = 1e-9
_MOST: Final = 24  # bars in one picture


def bars_svg(count: Count, *, width: float = WIDE, paper: bool = False) -> str:
    """A count as bars, each with its label before it and its number behind it as text.

    What nobody looked at stands apart below, with a dashed outline, for it is no answer.
    """
    shown, rest = list(count.bars[:_MOST]), count.bars[_MOST:]
    if rest:
        shown.append(Bar(label=f"{len(rest)} more, none over {rest[0].count}", count=0, tone="open"))
    top = max((bar.count for bar in shown), default=0) or 1
    body: list[str] = []
    y = 18.0
    for text in wrapped(count.title, _SIZE + 1, 0.9 * width):  # bold letters are wider
        body.append(label(0, y, text, _SIZE + 1, weight="600"))
        y += 19.0
    of_each = f" of {count.among}" if count.shares else ""
    behind = max(text_width(f"{bar.count}{of_each}", _SIZE) for bar in shown) + 10.0 if shown else 0.0
    stacked = width < 500.0
    before = 0.0 if stacked else min(max((text_width(bar.label, _SIZE) for bar in shown), default=0) + 12, 0.46 * width)
    room = width - before - behind
    y += 6.0
    parted = False
    for bar in shown:
        if bar.tone == "open" and not parted and y > 40.0:
            parted = True
            y += 8.0
        lines = wrapped(bar.label, _SIZE, width if stacked else before - 8.0)
        for place, text in enumerate(lines):
            body.append(label(0, y + (12.0 if stacked else 15.0) + 15.0 * place, text, _SIZE))
        y += 2.0 + 15.0 * len(lines) if stacked else 0.0
        length = room * bar.count / top
        body.append(_bar(bar, before, y + 3.0, length))
        number = "" if bar.label.endswith(f"none over {rest[0].count}" if rest else "\0") else str(bar.count)
        tail = of_each if bar.tone != "open" else ""
        body.append(label(before + length + 8.0, y + 15.0, f"{number}{tail}" if number else "", _SIZE))
        y += _ROW - 2.0 if stacked else _ROW + 15.0 * (len(lines) - 1)
    for text in wrapped(count.sentence, _SMALL, width):
        y += 16.0
        body.append(label(0, y, text, _SMALL, opacity=0.75))
    return document(
        width, y + 10.0, body, name="shelf-bars", title=count.title, description=count.sentence, paper=paper
    )


def _bar(bar: Bar, x: float, y: float, length: float) -> str:
    place = {"x": x, "y": y, "width": max(length, 1.0 if bar.count else 0.0), "height": 16.0}
    if bar.tone == "open":
        return element("rect", **place, fill="none", stroke="currentColor", stroke_dasharray="4 3", stroke_opacity=0.7)
    if bar.tone == "asked":
        return element("rect", **place, **fill("switch"))
    return element("rect", **place, **fill("current"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """An item in a picture: its number and title, its figures by name [SI, as kept], whether it meets the question."""

    number: int
    title: str
    figures: Mapping[str, float]
    met: bool


def dots_svg(
    dots: Sequence[Dot],
    x: Measure,
    y: Measure | None = None,
    *,
    asked: Sequence[Within] = (),
    caption: str = "",
    width: float = WIDE,
    paper: bool = False,
) -> str:
    """Items as dots over one figure (piled up) or two figures (a plane); those that meet the question filled.

    The bounds that were asked for stand as dashed lines. Items without one of the figures are left out, and counted
    below. Raises QueryError where no item has them.
    """
    names = [x.name] if y is None else [x.name, y.name]
    there = [dot for dot in dots if all(name in dot.figures for name in names)]
    if not there:
        raise QueryError(f"no item on the shelf has {' and '.join(one.title for one in (x, y) if one is not None)}.")
    left, right, top = (56.0, 14.0, 30.0) if y is not None else (14.0, 14.0, 30.0)
    height = 0.62 * width + 60.0 if y is not None else 0.32 * width + 120.0
    bottom = height - 46.0
    across = _Axis.over([dot.figures[x.name] / x.scale for dot in there], _bounds(x, asked), left, width - right)
    body: list[str] = []
    if y is not None:
        up = _Axis.over([dot.figures[y.name] / y.scale for dot in there], _bounds(y, asked), bottom, top)
        body += _grid(across, up, x, y, width)
        placed = [
            (dot, across.at(dot.figures[x.name] / x.scale), up.at(dot.figures[y.name] / y.scale)) for dot in there
        ]
        body += [
            line(left, up.at(bound), width - right, up.at(bound), **_DASHED) for bound in _bounds(y, asked)
        ]  # fmt: skip
    else:
        body += _foot(across, x, bottom)
        placed = _piled(there, x, across, bottom - 8.0, top)
    body += [line(across.at(bound), top, across.at(bound), bottom, **_DASHED) for bound in _bounds(x, asked)]
    body += [_dot(dot, *at) for dot, *at in sorted(placed, key=lambda one: one[0].met)]
    body += _names(placed, width)
    met = sum(dot.met for dot in there)
    told = caption or f"{met} of {len(there)} items"
    if len(there) < len(dots):
        told += f"; {len(dots) - len(there)} have no such figure and are not drawn"
    line_y = height - 2.0
    lines = wrapped(f"{told}. Numbers are those by which the shelf knows the items.", _SMALL, width)
    for text in lines:
        line_y += 16.0
        body.append(label(0, line_y, text, _SMALL, opacity=0.75))
    title = x.title if y is None else f"{y.title} over {x.title}"
    return document(
        width, line_y + 8.0, body, name="shelf-dots", title=title[:1].upper() + title[1:], description=told, paper=paper
    )


_DASHED: Final[Mapping[str, object]] = {"stroke_dasharray": "5 4", "stroke_opacity": 0.8}


def _bounds(of: Measure, asked: Sequence[Within]) -> list[float]:
    return [
        bound / of.scale
        for one in asked
        if one.measure.name == of.name
        for bound in (one.low, one.high)
        if math.isfinite(bound)
    ]


@dataclass(frozen=True, slots=True)
class _Axis:
    """A linear scale from round value to round value, in figures as people write them."""

    low: float
    step: float
    steps: int
    start: float
    end: float

    @classmethod
    def over(cls, values: Sequence[float], bounds: Sequence[float], start: float, end: float) -> _Axis:
        low, high = min(0.0, *values), max([0.0, *values, *bounds])
        # What is next to nothing is drawn as nothing.
        rough = (high - low if high - low > _NOTHING else 1.0) / max(3.0, min(6.0, abs(end - start) / 80.0))
        power = 10.0 ** math.floor(math.log10(rough))
        step = next(power * one for one in (1.0, 2.0, 2.5, 5.0, 10.0) if power * one >= rough * (1.0 - 1e-9))
        first = math.floor(low / step + 1e-9)
        return cls(first * step, step, max(1, math.ceil(high / step - 1e-9) - first), start, end)

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.step * self.steps) * (self.end - self.start)

    @property
    def marks(self) -> list[float]:
        return [self.low + place * self.step for place in range(self.steps + 1)]


def _shown(of: Measure, value: float) -> str:
    return "0" if abs(value) < 1e-12 else of.written(value * of.scale)


def _grid(across: _Axis, up: _Axis, x: Measure, y: Measure, width: float) -> list[str]:
    body = _foot(across, x, up.start)
    for mark in up.marks:
        body.append(line(across.start, up.at(mark), across.end, up.at(mark), stroke_opacity=0.14))
        body.append(label(across.start - 6.0, up.at(mark) + 4.0, _shown(y, mark), _SMALL, anchor="end"))
    body.append(label(0.0, 13.0, fitted(y.title, _SIZE, width), _SIZE, weight="600"))
    return body


def _foot(across: _Axis, x: Measure, y: float) -> list[str]:
    body = [line(across.start, y, across.end, y)]
    for mark in across.marks:
        body.append(line(across.at(mark), y, across.at(mark), y + 5.0))
        anchor = "end" if mark == across.marks[-1] else "middle"
        body.append(label(across.at(mark), y + 18.0, _shown(x, mark), _SMALL, anchor=anchor))
    body.append(label(across.end, y + 36.0, x.title, _SIZE, anchor="end", weight="600"))
    return body


def _piled(dots: Sequence[Dot], x: Measure, across: _Axis, floor: float, top: float) -> list[tuple[Dot, float, float]]:
    """Dots in columns, one upon the other, closer where the pile would not fit."""
    columns: dict[int, list[Dot]] = {}
    for dot in sorted(dots, key=lambda one: (one.met, one.figures[x.name])):
        columns.setdefault(round(across.at(dot.figures[x.name] / x.scale) / 11.0), []).append(dot)
    step = min(11.0, (floor - top) / max(map(len, columns.values())))
    return [
        (dot, place * 11.0, floor - row * step) for place, column in columns.items() for row, dot in enumerate(column)
    ]


def _dot(dot: Dot, x: float, y: float) -> str:
    colours = fill("switch") if dot.met else {"fill": "none", "stroke": "currentColor", "stroke_opacity": "0.55"}
    return group(
        element("title", f"{dot.number} {dot.title}".replace("&", "&amp;").replace("<", "&lt;")),
        element("circle", cx=x, cy=y, r=4.5, **colours),
        data_item=dot.number,
    )


def _names(placed: Sequence[tuple[Dot, float, float]], width: float) -> list[str]:
    """The numbers of those that meet the question, where there is room beside their dots."""
    taken: list[tuple[float, float, float]] = [(x - 5.0, x + 5.0, y) for _, x, y in placed]
    found = []
    for dot, x, y in placed:
        if not dot.met:
            continue
        words = str(dot.number)
        wide = text_width(words, 10.5)
        for start, at in (
            (x + 7.0, y + 4.0),
            (x - 7.0 - wide, y + 4.0),
            (x - wide / 2, y - 8.0),
            (x - wide / 2, y + 17.0),
        ):
            clear = all(start > right or start + wide < left or abs(at - 4.0 - mid) > 9.0 for left, right, mid in taken)
            if clear and start >= 0.0 and start + wide <= width:
                found.append(label(start, at, words, 10.5))
                taken.append((start, start + wide, at - 4.0))
                break
    return found
