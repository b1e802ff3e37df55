"""The user's own paragraphs: plain text, blank lines between paragraphs, *stars* around what is stressed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from lidoff.record import OwnParagraph
from lidoff.writeup.blocks import Emphasis, Paragraph, Run, Text

# Stars are stress where they hug words and stand apart from others: "5 * 3 * 2" and "a*b*c" stay as they are.
_STRESSED: Final = re.compile(r"(?<![\w*])\*(?=[^\s*])([^*\n]*[^\s*])\*(?![\w*])")
_BLANK: Final = re.compile(r"\n[ \t]*(?:\n[ \t]*)+")


def own_blocks(paragraphs: Iterable[OwnParagraph], after: str) -> list[Paragraph]:
    """The paragraphs that stand behind that chapter, in their order in the record."""
    return [
        Paragraph(text=stressed(piece), style="own")
        for one in paragraphs
        if one.after == after
        for piece in _BLANK.split(one.text.replace("\r\n", "\n").strip())
        if piece.strip()
    ]


def stressed(text: str) -> Text:
    """Plain text with what stands between stars as stressed; single line ends are blanks."""
    flat = " ".join(text.split())
    found: list[Run] = []
    end = 0
    for match in _STRESSED.finditer(flat):
        found += [flat[end : match.start()], Emphasis(text=match[1])]
        end = match.end()
    found.append(flat[end:])
    return tuple(run for run in found if run)
