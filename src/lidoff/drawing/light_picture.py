"""The light over one cycle of the mains, with the lines that IEEE Std 1789-2015 draws at the frequency it beats at.

Above, the light around its mean with two bands about the mean: a light whose swing stays inside a band lies under that
line. Below or beside it, the same two lines over all frequencies with the light as a dot.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.drawing.curve import round_below, thinned
from lidoff.drawing.svg import DrawingError, document, element, fill, label, line, path, stroke, text_width
from lidoff.drawing.view import CycleView, view_of
from lidoff.figures.modulation import Practice, most_modulation
from lidoff.standards.light_limits import MODULATION

_BORDER: Final = MODULATION.number("border", "between the ranges")
_LOWEST, _HIGHEST = 10.0, 4000.0  # [Hz] of the plane
_LEAST, _MOST = 0.1, 100.0  # [%]
_BANDS: Final[tuple[tuple[Practice, str, str, float], ...]] = (
    ("low risk", "low risk", "rectifier", 0.20),
    ("no effect", "no observable effect", "rectifier", 0.42),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]; the plane stands beside the wave, or below it."""

    width: float
    left: float
    size: float
    wave: float  # width of the wave
    lane: float  # height of the wave
    plane: tuple[float, float, float, float]  # left, top, width, height


_TOP: Final = 3.9  # text sizes above the wave
_WIDE: Final = _Page(width=960.0, left=72.0, size=15.0, wave=430.0, lane=240.0, plane=(602.0, 58.5, 340.0, 240.0))
_NARROW: Final = _Page(width=360.0, left=52.0, size=12.0, wave=296.0, lane=170.0, plane=(52.0, 300.0, 296.0, 190.0))


def light_svg(view: CycleView, light: Mapping[str, Any], *, narrow: bool = False, paper: bool = False) -> str:
    """The light of a cycle beside the lines at its frequency, as an SVG picture.

    `light` holds `frequency` [Hz] and `percent_flicker` [%], as the figures print them. Raises DrawingError where there
    is no light.
    """
    if view.light is None or light.get("percent_flicker") is None or view.mean_light <= 0.0:
        raise DrawingError("There is no light to draw in this state")
    view = view_of(view, most_cycles=1 if not narrow and view.cycles == 1 else 2)
    page = _NARROW if narrow else _WIDE
    frequency, percent = float(light["frequency"]), float(light["percent_flicker"])
    body = [*_wave(view, page, frequency), *_plane(page, frequency, percent)]
    height = page.plane[1] + page.plane[3] + 3.4 * page.size
    return document(
        page.width,
        height,
        body,
        name="light",
        title="The light over a cycle",
        description=f"Light around its mean, {percent:.0f} percent flicker at {frequency:g} hertz, with the bands of "
        "low risk and of no observable effect.",
        paper=paper,
    )


def _wave(view: CycleView, page: _Page, frequency: float) -> list[str]:
    assert view.light is not None
    size, top = page.size, _TOP * page.size
    bottom = top + page.lane
    relative = view.light / view.mean_light
    least_top = max(float(relative.max()), 1.15)

    def y(share: float) -> float:
        return bottom - min(max(share / least_top, 0.0), 1.0) * page.lane

    x = page.left + np.append(view.angle, view.span) / view.span * page.wave
    wave = np.append(relative, relative[0])
    curve = thinned(x, np.array([y(float(v)) for v in wave]), 0.25)
    body = [label(page.left, 1.1 * size, "The light, around its mean", size, weight="bold")]
    body += _key(page, frequency)
    body.append(
        element(
            "path",
            d=path([(page.left, bottom), *curve, (page.left + page.wave, bottom)], closed=True),
            fill_opacity=0.28,
            **fill("light"),
        )
    )
    for practice, _, role, opacity in _BANDS:
        most = most_modulation(practice, frequency)
        if most is None:
            continue
        high, low = y(1.0 + most / 100.0), y(1.0 - most / 100.0)
        body.append(
            element(
                "rect",
                x=page.left,
                y=high,
                width=page.wave,
                height=max(low - high, 1.0),
                fill_opacity=opacity,
                **fill(role),
            )
        )
    body.append(element("path", d=path(curve), fill="none", stroke_width=2.2, **stroke("light")))
    mean = y(1.0)
    body.append(line(page.left, mean, page.left + page.wave, mean, stroke_dasharray="5 4", stroke_opacity=0.7))
    body.append(line(page.left, bottom, page.left + page.wave, bottom, stroke_opacity=0.5))
    body.append(label(page.left - 8.0, mean + 0.35 * size, "mean", size, anchor="end"))
    body.append(label(page.left - 8.0, bottom, "dark", size, anchor="end"))
    whole = round_below(least_top)
    if whole > 1.3:
        body.append(label(page.left - 8.0, y(whole) + 0.35 * size, f"{whole:g} ×", size, anchor="end"))
        body.append(line(page.left - 5.0, y(whole), page.left, y(whole)))
    period = 1000.0 * view.span / 360.0 / view.frequency
    for share in (0.0, 0.5, 1.0):
        place = page.left + share * page.wave
        body.append(line(place, bottom, place, bottom + 5.0, stroke_opacity=0.5))
        words = f"{share * period:.3g}" + (" ms" if share else "")
        anchor = "end" if share == 1.0 else "middle"
        body.append(label(place, bottom + 1.5 * size, words, size, anchor=anchor))
    return body


def _key(page: _Page, frequency: float) -> list[str]:
    size, mark = page.size, 1.4 * page.size
    x, y, body = page.left, 2.7 * size, []
    for practice, words, role, opacity in _BANDS:
        if most_modulation(practice, frequency) is None:
            continue
        body.append(
            element("rect", x=x, y=y - 0.75 * size, width=mark, height=0.8 * size, fill_opacity=opacity, **fill(role))
        )
        body.append(label(x + mark + 0.4 * size, y, words, size))
        x += mark + 1.2 * size + text_width(words, size)
    return body


def _plane(page: _Page, frequency: float, percent: float) -> list[str]:
    left, top, width, height = page.plane
    size = page.size

    def x(f: float) -> float:
        return left + math.log(f / _LOWEST) / math.log(_HIGHEST / _LOWEST) * width

    def y(share: float) -> float:
        return top + height * (1.0 - math.log(min(max(share, _LEAST), _MOST) / _LEAST) / math.log(_MOST / _LEAST))

    body = [label(left, top - 2.8 * size, "The same against the lines", size, weight="bold")]
    body.append(label(left, top - 1.2 * size, "percent flicker at each frequency", size))
    hazard = (x(_LOWEST), y(_MOST), x(_BORDER) - x(_LOWEST), y(5.0) - y(_MOST))
    body.append(
        element("rect", x=hazard[0], y=hazard[1], width=hazard[2], height=hazard[3], fill_opacity=0.2, **fill("switch"))
    )
    for k, words in enumerate(("seizures", "below 90 Hz")):
        body.append(label(hazard[0] + 5.0, hazard[1] + (1.2 + 1.2 * k) * size, words, size))
    for practice, _, role, opacity in _BANDS:
        body.append(
            element("path", d=path(_under(practice, x, y), closed=True), fill_opacity=0.7 * opacity, **fill(role))
        )
    for share in (0.1, 1.0, 10.0, 100.0):
        body.append(line(left, y(share), left + width, y(share), stroke_opacity=0.5 if share == _LEAST else 0.16))
        body.append(label(left - 8.0, y(share) + 0.35 * size, f"{share:g} %", size, anchor="end"))
    for f, words in ((10.0, "10"), (100.0, "100"), (1000.0, "1000 Hz")):
        body.append(line(x(f), top, x(f), top + height + 5.0, stroke_opacity=0.16))
        body.append(label(x(f), top + height + 1.5 * size, words, size, anchor="middle"))
    cx, cy = x(min(max(frequency, _LOWEST), _HIGHEST)), y(percent)
    body.append(element("circle", cx=cx, cy=cy, r=6.0, stroke="currentColor", stroke_width=1.5, **_dot()))
    words = f"this light, {frequency:g} Hz"
    low = cy + 0.35 * size if cy > top + size else cy + 1.2 * size
    body.append(label(cx + 11.0, low, words, size, weight="bold"))
    return body


def _dot() -> dict[str, str]:
    return fill("light")


def _under(practice: Practice, x: Any, y: Any) -> list[tuple[float, float]]:
    """What lies under a line: it steps at 90 Hz and ends where no limit is set any more."""
    knee = MODULATION.number(practice, "no limit above")
    points: list[tuple[float, float]] = []
    for f in (*np.geomspace(_LOWEST, _BORDER * (1.0 - 1e-9), 12), *np.geomspace(_BORDER, knee, 24)):
        most = most_modulation(practice, float(f))
        if most is not None:
            points.append((x(float(f)), y(most)))
    points += [(x(knee), y(_MOST)), (x(_HIGHEST), y(_MOST)), (x(_HIGHEST), y(_LEAST)), (x(_LOWEST), y(_LEAST))]
    return points
