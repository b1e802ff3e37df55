"""A write-up as one self-contained HTML page: no script, no request, everything the user wrote as plain text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from jinja2 import DictLoader, Environment, StrictUndefined, Template
from markupsafe import Markup, escape

from lidoff.writeup.blocks import Bar, Block, Document, Heading, Strip, plain

_LETTERS: Final = {"marked": "d"}  # m is for measured; what is marked was decoded
_STRIP: Final = (120.0, 20.0)  # width and height of the picture of a reading
_BAR: Final = (72.0, 10.0)
_FULL: Final = 54.0  # where on a bar the whole of the rating lies

_UNIT: Final = re.compile(r"(?<=\d) (?=(?:%|°C|times|mm²|[pnµmkMG]?(?:W|A|V|VA|Ω|F|H|Hz|J|s|m|dB)\b))")


@dataclass(frozen=True, slots=True)
class _Section:
    id: str
    title: str
    blocks: tuple[Block, ...]


def render(document: Document) -> str:
    """The whole page as text. Pictures are taken as they are, they are made here; all else is escaped."""
    sections = _sections(document.blocks)
    return _page().render(
        document=document,
        sections=sections,
        ids={section.id for section in sections},
        css=Markup(_read("page.css")),
    )


def _sections(blocks: Sequence[Block]) -> list[_Section]:
    """The blocks under their chapter headings; those before the first stand under none."""
    found: list[tuple[Heading | None, list[Block]]] = [(None, [])]
    for block in blocks:
        if isinstance(block, Heading) and block.level == 1:
            found.append((block, []))
        else:
            found[-1][1].append(block)
    return [
        _Section(id=head.id if head else "", title=head.text if head else "", blocks=tuple(inside))
        for head, inside in found
        if head is not None or inside
    ]


def _read(name: str) -> str:
    return (files(__package__) / name).read_text(encoding="utf-8")


@cache
def _page() -> Template:
    """The page's template, compiled once; it holds nothing of any write-up."""
    environment = Environment(
        loader=DictLoader({"page": _read("page.html.j2")}), autoescape=True, undefined=StrictUndefined
    )
    environment.filters["tied"] = _tied
    environment.globals.update(
        kind_of=lambda one: type(one).__name__,
        letter=lambda origin: _LETTERS.get(origin, origin[:1]),
        is_empty=lambda cell: plain(cell) in ("", "–"),
        svg=Markup,
        strip=_strip,
        bar=_bar,
    )
    return environment.get_template("page")


def _tied(text: str) -> str:
    """The text with each number tied to the unit after it, so that no line ends between them."""
    return _UNIT.sub("\N{NO-BREAK SPACE}", text)


def _svg(size: tuple[float, float], words: str, body: str) -> Markup:
    width, height = size
    return Markup(
        f'<svg class="mini" width="{width:g}" height="{height:g}" viewBox="0 0 {width:g} {height:g}" role="img" '
        f'aria-label="{escape(words)}">{body}</svg>'
    )


def _strip(one: Strip) -> Markup:
    """The band of what was computed with its middle, and the reading as a dot with a line either way."""
    width, height = _STRIP
    low, high = min(one.low, one.point - one.half), max(one.high, one.point + one.half)
    room = (high - low) or max(abs(one.point), 1.0)
    left = low - 0.06 * room

    def x(value: float) -> float:
        return round((value - left) / (1.12 * room) * width, 2)

    middle = 0.5 * height
    band = max(x(one.high) - x(one.low), 2.0)
    body = (
        f'<rect x="{x(one.low):g}" y="2" width="{band:g}" height="{height - 4:g}" fill="var(--lidoff-current)" '
        f'fill-opacity=".22"/>'
        f'<path d="M{x(one.value):g} 2V{height - 2:g}" stroke="var(--lidoff-current)" stroke-width="2"/>'
        f'<path d="M{x(one.point - one.half):g} {middle:g}H{x(one.point + one.half):g}" stroke="currentColor" '
        f'stroke-width="1.5"/>'
        f'<circle cx="{x(one.point):g}" cy="{middle:g}" r="4" fill="currentColor"/>'
    )
    return _svg(_STRIP, one.words, body)


def _bar(one: Bar) -> Markup:
    """A share as a bar, with a mark where the whole lies; what is beyond it stands out."""
    width, height = _BAR
    length = min(max(one.share, 0.0) * _FULL, width)
    inside, beyond = min(length, _FULL), max(length - _FULL, 0.0)
    body = (
        f'<rect x="0" y="3" width="{_FULL:g}" height="{height - 6:g}" fill="currentColor" fill-opacity=".14"/>'
        f'<rect x="0" y="2" width="{inside:.2f}" height="{height - 4:g}" fill="currentColor" fill-opacity=".6"/>'
        f'<rect x="{_FULL:g}" y="2" width="{beyond:.2f}" height="{height - 4:g}" fill="var(--accent)"/>'
        f'<path d="M{_FULL:g} 0V{height:g}" stroke="currentColor"/>'
    )
    return _svg(_BAR, one.words, body)
