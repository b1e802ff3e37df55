"""The write-up of an item: an account as one list of blocks, and what it is rendered to.

document = compose(account)                 # titles, texts, tables and pictures, without markup
render(document)                            # one self-contained HTML page
render_pdf(document)                        # A4 pages, tagged
render_stills(account), render_animation(account)   # pictures for slides and film, and one mains cycle that moves
write(account, folder, forms=["short"])     # the page, report.json and figures.csv, and what `Extras` asks for
verify(account, folder)                     # what a new run gives otherwise
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lidoff.writeup.blocks import Comparison, Document
from lidoff.writeup.changes import Change, Verified, verify
from lidoff.writeup.compose import BRIEF, CHAPTERS, Form, compose
from lidoff.writeup.files import Extras, WriteupError, Written, write
from lidoff.writeup.html import render

if TYPE_CHECKING:
    from lidoff.writeup.animation import render_animation
    from lidoff.writeup.pdf import render_pdf
    from lidoff.writeup.stills import render_stills

__all__ = [
    "BRIEF",
    "CHAPTERS",
    "Change",
    "Comparison",
    "Document",
    "Extras",
    "Form",
    "Verified",
    "WriteupError",
    "Written",
    "compose",
    "render",
    "render_animation",
    "render_pdf",
    "render_stills",
    "verify",
    "write",
]

# What needs typst and Pillow is loaded when it is asked for.
_LATE = {"render_animation": "animation", "render_pdf": "pdf", "render_stills": "stills"}


def __getattr__(name: str) -> Any:
    if name in _LATE:
        from importlib import import_module

        return getattr(import_module(f"lidoff.writeup.{_LATE[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
