"""One mains cycle as waves: mains voltage, input current and light, with the spans in which parts conduct.

Three lanes over one axis of degrees and milliseconds: voltage (thin) with current (thick), each against its own scale;
the light below; and a bar for each part whose conduction comes and goes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.drawing.curve import round_below, thinned
from lidoff.drawing.svg import document, element, fill, fitted, label, line, path, stroke, text_width
from lidoff.drawing.view import Conduction, CycleView, Floats, described, view_of
from lidoff.quantity import with_interval

if TYPE_CHECKING:
    from lidoff.cycle import Solution

_MOST_ROWS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]."""

    width: float
    left: float
    right: float
    size: float  # of the text
    main: float  # height of the lane of voltage and current
    light: float
    row: float

    @property
    def x1(self) -> float:
        return self.width - self.right

    def x(self, share: float) -> float:
        return self.left + share * (self.width - self.left - self.right)


_WIDE: Final = _Page(width=960.0, left=92.0, right=84.0, size=15.0, main=250.0, light=96.0, row=26.0)
_NARROW: Final = _Page(width=360.0, left=58.0, right=68.0, size=12.0, main=170.0, light=64.0, row=20.0)


def waveform_svg(solution: Solution | CycleView, *, narrow: bool = False, paper: bool = False) -> str:
    """One cycle of a solution as an SVG picture; of a rhythm, up to four cycles.

    `narrow` is the form for a phone (360 wide, text of 12); `paper` gives the picture its own light ground, for a file
    of its own. Raises DrawingError on a bench supply of dc.
    """
    view = view_of(solution)
    page = _NARROW if narrow else _WIDE
    top = 2.2 * page.size
    body = [_heading(view, page), *_main(view, page, top)]
    y = top + page.main + 0.9 * page.size
    if view.light is not None:
        body += _light(view, page, y)
        y += page.light + 1.6 * page.size
    rows, y = _rows(view, page, y)
    body += rows
    body += _axis(view, page, top, y)
    height = y + 3.6 * page.size
    name = f"One mains cycle of {view.title}" if view.title else "One mains cycle"
    return document(page.width, height, body, name="waveform", title=name, description=described(view), paper=paper)


def _heading(view: CycleView, page: _Page) -> str:
    """The keys to the two curves, in the colours of the curves, above their scales."""
    y = 1.1 * page.size
    voltage, current = "mains voltage", "input current"
    mark = 1.6 * page.size
    x = page.left
    second = x + mark + 0.4 * page.size + text_width(voltage, page.size) + 1.0 * page.size
    return "".join(
        (
            line(x, y - 0.35 * page.size, x + mark, y - 0.35 * page.size, stroke_width=1.2, stroke_opacity=0.75),
            label(x + mark + 0.4 * page.size, y, voltage, page.size),
            line(second, y - 0.35 * page.size, second + mark, y - 0.35 * page.size, **_thick("current")),
            label(second + mark + 0.4 * page.size, y, current, page.size),
        )
    )


def _thick(role: str) -> dict[str, object]:
    return {**stroke(role), "stroke_width": 2.6}


def _curve(x: Floats, y: Floats, **attributes: object) -> str:
    given: dict[str, object] = {"fill": "none", "stroke_linejoin": "round", **attributes}
    return element("path", d=path(thinned(x, y, 0.25)), **given)


def _closed_end(view: CycleView, wave: Floats) -> tuple[Floats, Floats]:
    """Angle share 0 … 1 and the wave with its first point again at the end, where the cycle is whole."""
    share = np.append(view.angle, view.span) / view.span
    last = wave[0] if view.cycles == view.rhythm else wave[-1]
    return share, np.append(wave, last)


def _main(view: CycleView, page: _Page, top: float) -> list[str]:
    middle, half = top + 0.5 * page.main, 0.5 * page.main - 6.0
    inner = page.width - page.left - page.right
    body = []
    if view.parts:
        first = next((part for part in view.parts if part.spans), None)
        if first is not None:
            body += [
                element(
                    "rect",
                    x=page.x(a / view.span),
                    y=float(top),
                    width=(b - a) / view.span * inner,
                    height=page.main,
                    fill_opacity=0.09,
                    **fill(first.role),
                )
                for a, b in first.spans
            ]
    body.append(line(page.left, middle, page.x1, middle, stroke_opacity=0.5))
    share, voltage = _closed_end(view, view.voltage)
    x = page.left + share * inner
    peak = view.voltage_peak or 1.0
    body.append(_curve(x, middle - voltage / peak * half, stroke="currentColor", stroke_width=1.2, stroke_opacity=0.75))
    body += _scale(page, middle, half, peak, "V", left=True)
    _, current = _closed_end(view, view.current)
    top_current = view.current_peak
    if top_current > 0.0:
        body.append(_curve(x, middle - current / top_current * half, **_thick("current")))
        body += _scale(page, middle, half, top_current, "A", left=False)
    return body


def _scale(page: _Page, middle: float, half: float, peak: float, unit: str, *, left: bool) -> list[str]:
    """Ticks at zero and at plus and minus a round number, outside the plot, on the side of its curve."""
    mark = round_below(peak)
    edge, out = (page.left, -1.0) if left else (page.x1, 1.0)
    words = with_interval(mark, 0.0, unit)
    found = []
    for sign, text in ((1.0, f"+{words}"), (0.0, "0"), (-1.0, f"−{words}")):
        y = middle - sign * mark / peak * half
        found.append(line(edge, y, edge + out * 5.0, y, **(_thick("current") if not left else {})))
        found.append(label(edge + out * 8.0, y + 0.35 * page.size, text, page.size, anchor="end" if left else "start"))
    found.append(
        line(edge, middle - half, edge, middle + half, **({"stroke_opacity": 0.5} if left else stroke("current")))
    )
    return found


def _light(view: CycleView, page: _Page, y: float) -> list[str]:
    """The light as a filled area over its own lane, in percent of its peak, with its mean as a dashed line."""
    assert view.light is not None
    inner = page.width - page.left - page.right
    share, light = _closed_end(view, view.light)
    x, bottom = page.left + share * inner, y + page.light
    top = y + 0.2 * page.size
    curve = thinned(x, bottom - light * (bottom - top), 0.25)
    dark = float(view.light.max()) <= 0.0
    small = page.size
    body = [
        line(page.left, bottom, page.x1, bottom, stroke_opacity=0.5),
        label(page.left - 8.0, bottom, "0", small, anchor="end"),
    ]
    if dark:
        body.append(label(page.left + 8.0, bottom - 0.6 * page.size, "no light", page.size))
        body.append(label(page.left - 8.0, bottom - 1.5 * page.size, "light", page.size, anchor="end"))
        return body
    area = [(page.left, bottom), *curve, (page.x1, bottom)]
    mean = bottom - view.mean_light * (bottom - top)
    room = bottom - top
    body += [
        element("path", d=path(area, closed=True), fill_opacity=0.35, **fill("light")),
        element("path", d=path(curve), fill="none", stroke_width=2.0, **stroke("light")),
        label(page.left - 8.0, top + 0.7 * page.size, "100 %", small, anchor="end"),
        label(page.left - 8.0, 0.5 * (top + bottom) + 0.5 * page.size, "light", page.size, anchor="end", weight="bold"),
        line(page.left, mean, page.x1, mean, stroke_dasharray="5 4", stroke_opacity=0.7),
        label(page.x1 + 6.0, min(mean + 0.35 * page.size, bottom), f"{100.0 * view.mean_light:.0f} %", page.size),
    ]
    if room > 2.4 * page.size:
        figure = min(mean + 0.35 * page.size, bottom)
        below = figure + 1.15 * page.size if figure + 1.15 * page.size <= bottom else figure - 1.15 * page.size
        body.append(label(page.x1 + 6.0, below, "mean", page.size))
    return body


def _rows(view: CycleView, page: _Page, y: float) -> tuple[list[str], float]:
    """A bar for each part that switches; the bottom of the last one."""
    shown = view.parts[:_MOST_ROWS]
    body: list[str] = []
    if not shown:
        return body, y
    body.append(label(page.left, y + 0.6 * page.size, "conducts", page.size, opacity=0.75))
    y += 1.1 * page.size
    for part in shown:
        body += _row(part, view, page, y)
        y += page.row
    left_out = sum(part.count for part in view.parts[len(shown) :])
    if left_out:
        body.append(label(page.left, y + page.size, f"and {left_out} more", page.size, opacity=0.75))
        y += 1.5 * page.size
    return body, y


def _row(part: Conduction, view: CycleView, page: _Page, y: float) -> list[str]:
    height = page.row - 5.0
    base = y + 0.5 * height + 0.36 * page.size
    inner = page.width - page.left - page.right
    name = fitted(part.ref, page.size, page.left - 10.0)
    body = [
        label(page.left - 8.0, base, name, page.size, anchor="end"),
        line(page.left, y + 0.5 * height, page.x1, y + 0.5 * height, stroke_opacity=0.25),
    ]
    if not part.spans:
        return [body[0], label(page.left + 8.0, base, "not at all", page.size)]
    for a, b in part.spans:
        x, width = page.x(a / view.span), max((b - a) / view.span * inner, 2.0)
        body.append(
            element(
                "rect",
                x=x,
                y=float(y),
                width=width,
                height=height,
                rx=2.0,
                fill=fill(part.role)["fill"],
                stroke=fill(part.role)["fill"],
                class_=f"f-{part.role} s-{part.role}",
                fill_opacity=0.28,
                stroke_width=1.2,
            )
        )
        for words in (f"{a:.0f}° to {b:.0f}°", f"{b - a:.0f}°"):
            if text_width(words, page.size) < width - 6.0:
                body.append(label(x + 0.5 * width, base, words, page.size, anchor="middle"))
                break
    return body


def _axis(view: CycleView, page: _Page, top: float, bottom: float) -> list[str]:
    """Verticals every quarter cycle, with degrees and milliseconds under them."""
    body = []
    step = 90.0 if view.cycles == 1 else 180.0 if view.cycles == 2 else 360.0
    count = round(view.span / step)
    milliseconds = 1000.0 / (view.frequency * 360.0)
    body.append(line(page.left, bottom, page.x1, bottom, stroke_opacity=0.5))
    for k in range(count + 1):
        x = page.x(k / count)
        angle = k * step
        anchor = "middle"
        body.append(line(x, top, x, bottom + 5.0, stroke_opacity=0.16))
        body.append(label(x, bottom + 1.4 * page.size, f"{angle:.0f}°", page.size, anchor=anchor))
        time = f"{angle * milliseconds:.3g}" + (" ms" if k == count or page.width > 500.0 else "")
        body.append(label(x, bottom + 2.7 * page.size, time, page.size, anchor=anchor, opacity=0.75))
    return body
