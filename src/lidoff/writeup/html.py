"""A write-up as one self-contained HTML page: no script, no request, everything the user wrote as plain text."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

from jinja2 import DictLoader, Environment, StrictUndefined, Template
from markupsafe import Markup

from lidoff.writeup.blocks import Block, Document, Heading, Paragraph, letter, plain
from lidoff.writeup.mini import Colours, bar_svg, strip_svg
from lidoff.writeup.walk import origins_of, tied

OWN_WORDS: Final = "The words of whoever opened the item"
_WIDTH: Final = re.compile(r'viewBox="0 0 ([\d.]+) ')
_READABLE: Final = 0.85  # of its own size, at which text of 13 is still read on a phone


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
        used=origins_of(document),
        owned=any(isinstance(block, Paragraph) and block.style == "own" for block in document.blocks),
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
    environment.filters["tied"] = tied
    environment.globals.update(
        kind_of=lambda one: type(one).__name__,
        letter=letter,
        own_words=OWN_WORDS,
        is_empty=lambda cell: plain(cell) in ("", "–"),
        svg=Markup,
        strip=lambda one: Markup(strip_svg(one, Colours())),
        bar=lambda one: Markup(bar_svg(one, Colours())),
        least=least_width,
    )
    return environment.get_template("page")


def least_width(svg: str) -> int:
    """How wide a picture must stay for its text to be read [px]: it is then moved under a narrow page."""
    found = _WIDTH.search(svg)
    return round(_READABLE * float(found[1])) if found else 0
