"""Before and after, side by side: the mains current and the light over one cycle, to the same scales."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.cycle import Solution
from lidoff.drawing.curve import round_below, thinned
from lidoff.drawing.svg import DrawingError, document, element, fill, label, line, path, stroke, text_width, wrapped
from lidoff.figures.wave import Floats
from lidoff.quantity import engineering


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    width: float
    left: float
    between: float
    right: float
    size: float
    current: float
    light: float
    stacked: bool

    @property
    def panel(self) -> float:
        inner = self.width - self.left - self.right
        return inner if self.stacked else (inner - self.between) / 2.0


_WIDE: Final = _Page(
    width=960.0, left=84.0, between=46.0, right=24.0, size=15.0, current=150.0, light=150.0, stacked=False
)
_NARROW: Final = _Page(
    width=360.0, left=64.0, between=0.0, right=12.0, size=12.0, current=92.0, light=92.0, stacked=True
)


@dataclass(frozen=True, slots=True)
class _Waves:
    current: Floats  # [A]
    light: Floats  # share of the light at full
    power: float
    share: float
    flicker: float | None
    frequency: float


def comparison_svg(
    before: Solution,
    after: Solution,
    *,
    full: float | None = None,
    names: tuple[str, str] = ("as found", "reworked"),
    title: str = "",
    narrow: bool = False,
    paper: bool = False,
) -> str:
    """Two settled cycles beside each other as an SVG picture, current above and light below, on common scales.

    `full` is the light that shares are taken of [LEDs in series × A], that of `before` where it is not given; `names`
    stand over the two halves. `narrow` puts them one below the other (360 wide), `paper` gives the picture its
    own light ground. Raises DrawingError on a bench supply of dc.
    """
    if before.direct or after.direct:
        raise DrawingError("A bench supply has no mains cycle to draw; choose states on the mains")
    page = _NARROW if narrow else _WIDE
    whole = full or float(before.waves.weight @ before.light)
    sides = [_waves(one, whole) for one in (before, after)]
    most = max(float(np.abs(one.current).max()) for one in sides) or 1.0
    lit = max(float(one.light.max()) for one in sides) if whole > 0.0 else 0.0
    body: list[str] = []
    y = 0.0
    for place, (name, one) in enumerate(zip(names, sides, strict=True)):
        x = page.left if page.stacked else page.left + place * (page.panel + page.between)
        top = y if page.stacked else 0.0
        end, made = _panel(one, name, page, x, top, most, lit, scales=place == 0 or page.stacked)
        body += made
        y = end + 0.6 * page.size if page.stacked else max(y, end)
    heading = f"Before and after: {title}" if title else "Before and after"
    said = "; ".join(_said(name, one) for name, one in zip(names, sides, strict=True))
    return document(page.width, y, body, name="comparison", title=heading, description=said, paper=paper)


def _waves(solution: Solution, whole: float) -> _Waves:
    count = solution.time.shape[0] // solution.cycles
    figures = solution.light_figures()
    light = solution.light_wave()[:count]
    return _Waves(
        current=solution.current("input")[:count],
        light=light / whole if whole > 0.0 else light * 0.0,
        power=float(solution.input_figures()["power"]),
        share=float(solution.waves.weight @ solution.light) / whole if whole > 0.0 else 0.0,
        flicker=None if figures is None or figures["percent_flicker"] is None else float(figures["percent_flicker"]),
        frequency=solution.circuit.supply.frequency,
    )


def _percent(value: float) -> str:
    """A percentage at two or three figures, never as a power of ten."""
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}" if value >= 0.01 else "0"


def _said(name: str, one: _Waves) -> str:
    flicker = "no light" if one.flicker is None else f"flicker {_percent(one.flicker)} %"
    return f"{name}: {engineering(one.power, 'W', 2)}, light {100 * one.share:.3g} % of full, {flicker}"


def _panel(
    one: _Waves, name: str, page: _Page, x: float, top: float, most: float, lit: float, *, scales: bool
) -> tuple[float, list[str]]:
    """One half of the picture; where it ends."""
    size = page.size
    body = [label(x, top + 1.2 * size, name, size, weight="bold")]
    y = top + 1.7 * size
    flicker = "" if one.flicker is None else f" · flicker {_percent(one.flicker)} %"
    for words in wrapped(
        f"{engineering(one.power, 'W', 2)} · light {100 * one.share:.3g} % of full{flicker}", size, page.panel
    ):
        y += 1.1 * size
        body.append(label(x, y, words, size, opacity=0.8))
    y += 1.5 * size
    body += _current(one, page, x, y, most, scales=scales)
    y += page.current + 1.0 * size
    body += _light(one, page, x, y, lit, scales=scales)
    y += page.light
    body += _axis(one, page, x, y)
    return y + 1.9 * size, body


def _current(one: _Waves, page: _Page, x: float, y: float, most: float, *, scales: bool) -> list[str]:
    half = 0.5 * page.current
    middle = y + half
    across = x + np.linspace(0.0, 1.0, one.current.shape[0] + 1) * page.panel
    wave = np.append(one.current, one.current[0])
    points = thinned(across, middle - wave / most * (half - 3.0), 0.25)
    body = [
        line(x, middle, x + page.panel, middle, stroke_opacity=0.45),
        element("path", d=path(points), fill="none", stroke_width=2.2, stroke_linejoin="round", **stroke("current")),
    ]
    if scales:
        mark = round_below(most)
        for sign, words in ((1.0, f"+{_amperes(mark)}"), (0.0, "0"), (-1.0, f"−{_amperes(mark)}")):
            at = middle - sign * mark / most * (half - 3.0)
            body.append(line(x - 5.0, at, x, at, stroke_opacity=0.6))
            body.append(label(x - 8.0, at + 0.35 * page.size, words, page.size, anchor="end"))
    words = "mains current"
    body.append(
        label(x + page.panel - text_width(words, page.size), y + 0.2 * page.size, words, page.size, opacity=0.75)
    )
    return body


def _amperes(value: float) -> str:
    text = engineering(value, "A", 3)
    number, _, unit = text.partition(" ")
    return f"{float(number):g} {unit}"


def _light(one: _Waves, page: _Page, x: float, y: float, lit: float, *, scales: bool) -> list[str]:
    bottom = y + page.light
    body = [line(x, bottom, x + page.panel, bottom, stroke_opacity=0.45)]
    words = "light"
    body.append(
        label(x + page.panel - text_width(words, page.size), y + 0.2 * page.size, words, page.size, opacity=0.75)
    )
    if lit <= 0.0:
        return body
    room = page.light - 1.2 * page.size
    across = x + np.linspace(0.0, 1.0, one.light.shape[0] + 1) * page.panel
    wave = np.append(one.light, one.light[0])
    curve = thinned(across, bottom - wave / lit * room, 0.25)
    mean = bottom - one.share / lit * room
    body += [
        element(
            "path",
            d=path([(x, bottom), *curve, (x + page.panel, bottom)], closed=True),
            fill_opacity=0.35,
            **fill("light"),
        ),
        element("path", d=path(curve), fill="none", stroke_width=2.0, **stroke("light")),
        line(x, mean, x + page.panel, mean, stroke_dasharray="5 4", stroke_opacity=0.7),
    ]
    if scales:
        mark = round_below(lit)
        for value in (0.0, mark):
            at = bottom - value / lit * room
            body.append(line(x - 5.0, at, x, at, stroke_opacity=0.6))
            body.append(label(x - 8.0, at + 0.35 * page.size, f"{100 * value:g} %", page.size, anchor="end"))
    return body


def _axis(one: _Waves, page: _Page, x: float, y: float) -> list[str]:
    body = []
    for k in range(3):
        at = x + k / 2.0 * page.panel
        words = f"{1000.0 * k / 2.0 / one.frequency:.3g}{' ms' if k == 2 else ''}"
        body.append(line(at, y, at, y + 5.0, stroke_opacity=0.5))
        anchor = "start" if k == 0 else "middle" if k == 1 else "end"
        body.append(label(at, y + 1.5 * page.size, words, page.size, anchor=anchor, opacity=0.75))
    return body
