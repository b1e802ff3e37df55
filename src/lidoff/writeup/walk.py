"""Going through a write-up: its texts, and the origins of its numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.writeup.blocks import (
    Answers,
    BigFigures,
    Block,
    Caution,
    Document,
    Gallery,
    Listing,
    Number,
    Origins,
    Paragraph,
    Picture,
    Quote,
    Table,
    Text,
)

_UNIT: Final = re.compile(r"(?<=\d) (?=(?:%|°C|times|mm²|[pnµmkMG]?(?:W|A|V|VA|Ω|F|H|Hz|J|s|m|dB)\b))")


def tied(text: str) -> str:
    """The text with each number tied to the unit after it, so that no line ends between them."""
    return _UNIT.sub("\N{NO-BREAK SPACE}", text)


def texts_of(block: Block) -> Iterator[Text]:
    """Every text in a block that may hold numbers."""
    if isinstance(block, Paragraph):
        yield block.text
    elif isinstance(block, Answers):
        for answer in block.answers:
            yield answer.text
    elif isinstance(block, Picture):
        yield block.caption
    elif isinstance(block, Gallery):
        for picture in block.pictures:
            yield picture.caption
    elif isinstance(block, Table):
        for row in block.rows:
            yield from row.cells
            yield row.note
        yield block.caption
    elif isinstance(block, Listing | Caution):
        yield from block.items
    elif isinstance(block, Quote):
        yield from block.about


def numbers_of(document: Document) -> Iterator[Number]:
    """Every number in the texts of a write-up, in their order."""
    for block in document.blocks:
        for text in texts_of(block):
            yield from (run for run in text if isinstance(run, Number))


def origins_of(document: Document) -> tuple[str, ...]:
    """The origins that stand at numbers and large figures, in the order in which the write-up explains them."""
    used = {number.origin for number in numbers_of(document)}
    explained: list[str] = []
    for block in document.blocks:
        if isinstance(block, BigFigures):
            used |= {figure.origin for figure in block.figures}
        elif isinstance(block, Origins):
            explained += [origin for origin, _ in block.meanings]
    return tuple(origin for origin in explained if origin in used)
