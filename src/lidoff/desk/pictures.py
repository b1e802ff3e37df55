"""Drawings within a page: the drawing room's SVG, without what the page's security policy forbids."""

from __future__ import annotations

import re
from typing import Final

from markupsafe import Markup

from lidoff.writeup.blocks import Strip

# Both are what `drawing.svg` writes and nothing else; the same rules stand in desk.css.
_STYLE: Final = re.compile(r"<style>[^<]*</style>")
_WIDTH: Final = re.compile(r' width="100%" style="max-width:(?P<width>[\d.]+)px;height:auto"')


def drawn(svg: str) -> Markup:
    """A drawing of our own as markup: its rules come from the page's style sheet, its width is its largest.

    Only for what the drawing room gave: texts from a record are escaped in it already.
    """
    svg = _STYLE.sub("", svg, count=1)
    return Markup(_WIDTH.sub(lambda match: f' width="{match["width"]}"', svg, count=1))


def strip(one: Strip) -> Markup:
    """Where a reading lies against what was computed: the band with its middle, the reading as a dot with its doubt."""
    width, height = 150.0, 22.0
    ends = (one.low, one.high, one.point - one.half, one.point + one.half)
    room = (max(ends) - min(ends)) or abs(one.point) or 1.0

    def x(value: float) -> str:
        return f"{(0.05 + 0.9 * (value - min(ends)) / room) * width:.1f}"

    wide = max(0.9 * (one.high - one.low) / room * width, 2.0)
    return Markup(
        '<svg class="strip" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="{words}">'
        '<rect class="band" x="{low}" y="3" width="{wide:.1f}" height="{inner}"/>'
        '<path class="middle" d="M{value} 2V{bottom}"/><path class="doubt" d="M{left} 11H{right}"/>'
        '<circle class="dot" cx="{point}" cy="11" r="4"/></svg>'
    ).format(
        w=f"{width:g}",
        h=f"{height:g}",
        words=one.words,
        low=x(one.low),
        wide=wide,
        inner=f"{height - 6:g}",
        value=x(one.value),
        bottom=f"{height - 2:g}",
        left=x(one.point - one.half),
        right=x(one.point + one.half),
        point=x(one.point),
    )
