"""A write-up as a PDF: A4 pages, tagged, with the same blocks as the page in HTML."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from lidoff.writeup import typesetting
from lidoff.writeup.blocks import (
    Answers,
    Bar,
    BigFigures,
    Block,
    Caution,
    Code,
    Document,
    Emphasis,
    Gallery,
    Heading,
    Listing,
    Number,
    Origins,
    Paragraph,
    Picture,
    Quote,
    Row,
    Run,
    Said,
    Strip,
    Strong,
    Table,
    Tag,
    Text,
    letter,
)
from lidoff.writeup.html import OWN_WORDS
from lidoff.writeup.mini import BAR, STRIP, Colours, bar_svg, strip_svg
from lidoff.writeup.walk import origins_of, tied

TEMPLATE: Final = "page.typ"
_COLOURS: Final = Colours(ink="#1d1b18", current="#0072b2", accent="#a3331a")
_SHORTEST_CONTENTS: Final = 6  # chapters from which a table of contents is worth its room


def render_pdf(document: Document) -> bytes:
    """The write-up as a PDF; the same document gives the same bytes. Raises TypesettingError where it cannot be set."""
    return typesetting.pdf(TEMPLATE, as_data(document))


def as_data(document: Document) -> dict[str, Any]:
    """The write-up in the types that JSON has, as the template wants it."""
    marks = dict(document.marks)
    blocks = [_block(block) for block in document.blocks]
    heads = [k for k, block in enumerate(document.blocks) if isinstance(block, Heading) and block.level == 1]
    if len(heads) >= _SHORTEST_CONTENTS and document.form == "full":
        blocks.insert(heads[0] if heads[0] > 0 else 0, {"kind": "contents"})
    explained = {origin for block in document.blocks if isinstance(block, Origins) for origin, _ in block.meanings}
    owned = any(isinstance(block, Paragraph) and block.style == "own" for block in document.blocks)
    return {
        "title": document.title,
        "subtitle": _text(document.subtitle),
        "form": document.form,
        "version": marks.get("version", ""),
        "fingerprint": marks.get("fingerprint", ""),
        "origins": [{"name": origin, "letter": letter(origin)} for origin in origins_of(document)],
        "explained": sorted(explained),
        "own": OWN_WORDS.lower() if owned else "",
        "blocks": blocks,
    }


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Heading():
            return {"kind": "heading", "text": block.text, "level": block.level, "id": block.id}
        case Paragraph():
            return {"kind": "paragraph", "style": block.style, "text": _text(block.text)}
        case Answers():
            answers = [{"question": one.question, "text": _text(one.text)} for one in block.answers]
            return {"kind": "answers", "answers": answers}
        case BigFigures():
            return {
                "kind": "figures",
                "figures": [
                    {
                        "value": one.value,
                        "unit": one.unit,
                        "caption": tied(one.caption),
                        "origin": one.origin,
                        "spread": tied(one.spread),
                    }
                    for one in block.figures
                ],
            }
        case Picture():
            return {"kind": "picture", **_picture(block.wide, block.caption)}
        case Gallery():
            pictures = [_picture(one.narrow or one.wide, one.caption) for one in block.pictures]
            return {"kind": "gallery", "pictures": pictures}
        case Table():
            return {
                "kind": "table",
                "columns": [{"title": one.title, "numeric": one.numeric, "room": one.room} for one in block.columns],
                "rows": [_row(one) for one in block.rows],
                "caption": _text(block.caption),
            }
        case Listing():
            return {"kind": "list", "ordered": block.ordered, "items": [_text(one) for one in block.items]}
        case Origins():
            meanings = [{"name": name, "letter": letter(name), "words": words} for name, words in block.meanings]
            return {"kind": "origins", "meanings": meanings}
        case Caution():
            return {"kind": "caution", "title": block.title, "items": [_text(one) for one in block.items]}
        case Quote():
            return {"kind": "quote", "text": block.text, "about": [_text(one) for one in block.about]}
        case Code():
            return {"kind": "code", "text": block.text}


def _picture(svg: str, caption: Text) -> dict[str, Any]:
    return {**typesetting.picture(svg), "caption": _text(caption)}


def _row(row: Row) -> dict[str, Any]:
    return {"cells": [_text(cell) for cell in row.cells], "tone": row.tone, "note": _text(row.note)}


def _text(text: Sequence[Run]) -> list[dict[str, Any]]:
    return [_run(run) for run in text if not isinstance(run, str) or run]


def _run(run: Run) -> dict[str, Any]:
    match run:
        case str():
            return {"kind": "text", "text": tied(run)}
        case Number():
            return {"kind": "number", "text": tied(run.text), "origin": run.origin, "letter": letter(run.origin)}
        case Strong():
            return {"kind": "strong", "text": tied(run.text)}
        case Emphasis() | Said():
            return {"kind": "emphasis", "text": tied(run.text)}
        case Tag():
            return {"kind": "tag", "text": run.text, "tone": run.tone}
        case Strip():
            return {"kind": "mini", "svg": strip_svg(run, _COLOURS), "alt": run.words, "width": STRIP[0]}
        case Bar():
            return {"kind": "mini", "svg": bar_svg(run, _COLOURS), "alt": run.words, "width": BAR[0]}


__all__ = ["TEMPLATE", "as_data", "render_pdf"]
