"""Drawings within a page: the drawing room's SVG, without what the page's security policy forbids."""

from __future__ import annotations

import re
from typing import Final

from markupsafe import Markup

from lidoff.writeup.blocks import Bar, Strip
from lidoff.writeup.mini import Colours, bar_svg, strip_svg

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
    """Where a reading lies against what was computed, small."""
    return Markup(strip_svg(one, Colours()))


def bar(one: Bar) -> Markup:
    """A share, small."""
    return Markup(bar_svg(one, Colours()))
