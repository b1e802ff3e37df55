"""The small pictures in a line of text, as SVG: where a reading lies, and a share as a bar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import quoteattr

from lidoff.writeup.blocks import Bar, Strip

STRIP: Final = (120.0, 20.0)  # width and height of the picture of a reading
BAR: Final = (72.0, 10.0)
_FULL: Final = 54.0  # where on a bar the whole of the rating lies


@dataclass(frozen=True, slots=True, kw_only=True)
class Colours:
    """What the small pictures are drawn in: names of a page's own colours, or colours."""

    ink: str = "currentColor"
    current: str = "var(--lidoff-current)"
    accent: str = "var(--accent)"


def strip_svg(one: Strip, colours: Colours) -> str:
    """The band of what was computed with its middle, and the reading as a dot with a line either way."""
    width, height = STRIP
    low, high = min(one.low, one.point - one.half), max(one.high, one.point + one.half)
    room = (high - low) or max(abs(one.point), 1.0)
    left = low - 0.06 * room

    def x(value: float) -> float:
        return round((value - left) / (1.12 * room) * width, 2)

    middle = 0.5 * height
    band = max(x(one.high) - x(one.low), 2.0)
    body = (
        f'<rect x="{x(one.low):g}" y="2" width="{band:g}" height="{height - 4:g}" fill="{colours.current}" '
        f'fill-opacity=".22"/>'
        f'<path d="M{x(one.value):g} 2V{height - 2:g}" stroke="{colours.current}" stroke-width="2"/>'
        f'<path d="M{x(one.point - one.half):g} {middle:g}H{x(one.point + one.half):g}" stroke="{colours.ink}" '
        f'stroke-width="1.5"/>'
        f'<circle cx="{x(one.point):g}" cy="{middle:g}" r="4" fill="{colours.ink}"/>'
    )
    return _svg(STRIP, one.words, body)


def bar_svg(one: Bar, colours: Colours) -> str:
    """A share as a bar, with a mark where the whole lies; what is beyond it stands out."""
    width, height = BAR
    length = min(max(one.share, 0.0) * _FULL, width)
    inside, beyond = min(length, _FULL), max(length - _FULL, 0.0)
    body = (
        f'<rect x="0" y="3" width="{_FULL:g}" height="{height - 6:g}" fill="{colours.ink}" fill-opacity=".14"/>'
        f'<rect x="0" y="2" width="{inside:.2f}" height="{height - 4:g}" fill="{colours.ink}" fill-opacity=".6"/>'
        f'<rect x="{_FULL:g}" y="2" width="{beyond:.2f}" height="{height - 4:g}" fill="{colours.accent}"/>'
        f'<path d="M{_FULL:g} 0V{height:g}" stroke="{colours.ink}"/>'
    )
    return _svg(BAR, one.words, body)


def _svg(size: tuple[float, float], words: str, body: str) -> str:
    width, height = size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="mini" width="{width:g}" height="{height:g}" '
        f'viewBox="0 0 {width:g} {height:g}" role="img" aria-label={quoteattr(words)}>{body}</svg>'
    )
