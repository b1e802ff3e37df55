"""What a radio hears of an item: the estimated band over frequency, with the published limit and the medium waves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from lidoff.drawing.svg import DrawingError, document, element, fill, label, line, path, stroke, text_width, wrapped
from lidoff.figures import Interference, Level
from lidoff.figures.interference import KNOWN_TO

_MEDIUM_WAVES: Final = (526.5e3, 1606.5e3)  # [Hz] ITU Radio Regulations, region 1 (from memory)
_MARKS: Final = ((10e3, "10 kHz"), (100e3, "100 kHz"), (1e6, "1 MHz"), (10e6, "10 MHz"))
_STEP: Final = 20.0  # [dB] between two lines of the grid


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]."""

    width: float
    left: float
    right: float
    size: float
    height: float


_WIDE: Final = _Page(width=960.0, left=92.0, right=28.0, size=15.0, height=300.0)
_NARROW: Final = _Page(width=360.0, left=44.0, right=14.0, size=12.0, height=230.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plot:
    """The plane of the picture: frequency [Hz] by its logarithm, level [dBuV]."""

    page: _Page
    top: float
    lowest: float
    highest: float
    bottom_level: float
    top_level: float

    def x(self, frequency: float) -> float:
        share = math.log(frequency / self.lowest) / math.log(self.highest / self.lowest)
        return self.page.left + share * (self.page.width - self.page.left - self.page.right)

    def y(self, level: float) -> float:
        share = (level - self.bottom_level) / (self.top_level - self.bottom_level)
        return self.top + (1.0 - min(max(share, 0.0), 1.0)) * self.page.height

    @property
    def bottom(self) -> float:
        return self.top + self.page.height


def spectrum_svg(found: Interference, *, narrow: bool = False, paper: bool = False) -> str:
    """The band of an estimate under or over its limit, as an SVG picture.

    `narrow` is the form for a phone (360 wide, text of 12); `paper` gives the picture its own light ground. Raises
    DrawingError for an estimate without levels.
    """
    if not found.levels:
        raise DrawingError("A current without steps has no spectrum to draw")
    page = _NARROW if narrow else _WIDE
    levels = found.levels
    top = max(max(level.high, level.limit) for level in levels)
    key, y = _key(page)
    plot = _Plot(
        page=page,
        top=y,
        lowest=levels[0].frequency,
        highest=levels[-1].frequency,
        bottom_level=0.0,
        top_level=_STEP * math.ceil((top + 2.0) / _STEP),
    )
    body = [key, *_medium_waves(plot), *_grid(plot), *_band(plot, levels), _limit(plot, levels)]
    height = plot.bottom + 2.2 * page.size
    worst = found.worst
    told = (
        "" if worst is None else f" The middle of the band stands highest about the limit at {worst.frequency:.0f} Hz."
    )
    return document(
        page.width,
        height,
        body,
        name="spectrum",
        title="What a radio hears",
        description=f"Estimated disturbance from {plot.lowest:.0f} Hz to {plot.highest:.0f} Hz, as a band, with the "
        f"limit.{told}",
        paper=paper,
    )


def _key(page: _Page) -> tuple[str, float]:
    """The keys above the plane, and where the plane begins."""
    size, mark = page.size, 1.6 * page.size
    x, y, parts = page.left, 1.1 * size, []
    for words, attributes in (
        ("limit", {**stroke("switch"), "stroke_width": 2.4}),
        ("estimate, known to 10 dB", {**stroke("current"), "stroke_width": 0.7 * size, "stroke_opacity": 0.45}),
        ("speed of the switch unknown", {**stroke("current"), "stroke_width": 0.7 * size, "stroke_opacity": 0.18}),
    ):
        wide = mark + 0.4 * size + text_width(words, size) + 1.0 * size
        if x + wide - size > page.width and x > page.left:
            x, y = page.left, y + 1.5 * size
        parts.append(line(x, y - 0.35 * size, x + mark, y - 0.35 * size, **attributes))
        parts.append(label(x + mark + 0.4 * size, y, words, size))
        x += wide
    parts.append(label(page.left - 6.0, y + 1.9 * size, "dBµV", size, opacity=0.75, anchor="end"))
    return "".join(parts), y + 3.0 * size


def _grid(plot: _Plot) -> list[str]:
    page = plot.page
    right = page.width - page.right
    body = []
    level = plot.bottom_level
    while level <= plot.top_level + 1e-9:
        y = plot.y(level)
        opacity = 0.5 if level == plot.bottom_level else 0.16
        body.append(line(page.left, y, right, y, stroke_opacity=opacity))
        body.append(label(page.left - 6.0, y + 0.35 * page.size, f"{level:.0f}", page.size, anchor="end"))
        level += _STEP
    for frequency, words in _MARKS:
        if not plot.lowest <= frequency <= plot.highest:
            continue
        x = plot.x(frequency)
        body.append(line(x, plot.top, x, plot.bottom + 5.0, stroke_opacity=0.16))
        body.append(label(x, plot.bottom + 1.4 * page.size, words, page.size, anchor="middle"))
    return body


def _medium_waves(plot: _Plot) -> list[str]:
    low, high = (plot.x(f) for f in _MEDIUM_WAVES)
    size = plot.page.size
    lines = wrapped("medium waves", size, high - low)
    shade = element(
        "rect", x=low, y=plot.top, width=high - low, height=plot.page.height, fill_opacity=0.12, **fill("light")
    )
    words = [
        label(0.5 * (low + high), plot.top + (1.1 + 1.2 * k) * size, one, size, anchor="middle")
        for k, one in enumerate(lines)
    ]
    return [shade, *words]


def _band(plot: _Plot, levels: tuple[Level, ...]) -> list[str]:
    """The band, stronger where it is known, fainter where the speed of the switch rules."""
    known = [level for level in levels if level.frequency <= KNOWN_TO]
    rest = [level for level in levels if level.frequency >= KNOWN_TO]
    body = []
    for part, opacity in ((known, 0.45), (rest, 0.18)):
        if len(part) < 2:
            continue
        outline = [(plot.x(level.frequency), plot.y(level.high)) for level in part]
        outline += [(plot.x(level.frequency), plot.y(level.low)) for level in reversed(part)]
        body.append(element("path", d=path(outline, closed=True), fill_opacity=opacity, **fill("current")))
    return body


def _limit(plot: _Plot, levels: tuple[Level, ...]) -> str:
    """The limit as a line that steps where the table does."""
    points: list[tuple[float, float]] = []
    for level in levels:
        x, y = plot.x(level.frequency), plot.y(level.limit)
        if points and abs(y - points[-1][1]) > 0.02 * plot.page.height:
            points.append((x, points[-1][1]))
        points.append((x, y))
    return element("path", d=path(points), fill="none", stroke_width=2.4, stroke_linejoin="round", **stroke("switch"))
