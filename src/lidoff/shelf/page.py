"""The shelf as one self-contained HTML page: pictures, counts, and a table that stands sorted and can be sorted anew.

Without its small script the page says the same; the script is named by its digest, so that no other can run.
"""

from __future__ import annotations

import base64
import hashlib
import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from jinja2 import DictLoader, Environment, StrictUndefined, Template
from markupsafe import Markup

from lidoff import __version__
from lidoff.shelf.charts import NARROW, WIDE, bars_svg
from lidoff.shelf.counting import Count, count
from lidoff.shelf.errors import ShelfError
from lidoff.shelf.listing import listed
from lidoff.shelf.picturing import pictures
from lidoff.shelf.query import EVERYTHING, Query
from lidoff.shelf.search import find

_MARK: Final = '<meta name="generator" content="lidoff shelf">'
_COUNTS: Final = ("risk", "findings", "groups", "plug-fuse-filler", "kind")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page, and how many items of which question stand on it."""

    html: str
    items: int
    query: Query


@dataclass(frozen=True, slots=True)
class _Picture:
    wide: Markup
    narrow: Markup


def page_of(index: Path, query: Query = EVERYTHING, counts: Sequence[str] | None = None) -> Page:
    """The page of all items that meet a question; `counts` are what is counted on it, as `count` takes it.

    Raises ShelfError where the index cannot be read, QueryError for a count that is not understood.
    """
    found = find(index, query, limit=None)
    table = listed(index, found)
    counted = [count(index, what, query) for what in (counts if counts is not None else _COUNTS)]
    if counts is None:
        counted = [one for one in counted if one.among and any(bar.count for bar in one.bars)]
    script = _read("page.js")
    drawn = pictures(index, query)
    html = _template().render(
        found=found,
        title="The shelf" if not query.conditions else "From the shelf",
        pictures=[_Picture(*map(Markup, drawn))] if drawn else [],
        counts=[(one, _bars(one)) for one in counted],
        heads=table.heads,
        numeric=table.numeric,
        rows=table.rows,
        gone=sum(not hit.there for hit in found.hits),
        unsolved=sum(hit.status != "solved" for hit in found.hits),
        css=Markup(_read("page.css")),
        script=Markup(script),
        digest=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        mark=Markup(_MARK),
        version=__version__,
    )
    return Page(html=html, items=found.total, query=query)


def write_page(file: Path, html: str) -> None:
    """Writes a page in one go, over an earlier one of its kind only. Raises ShelfError where another file is there."""
    if file.exists() and not (file.is_file() and _MARK in file.read_text(encoding="utf-8", errors="replace")):
        raise ShelfError(f"{file}: is there already and is no page of a shelf; name another file with --output.")
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    try:
        beside.write_text(html, encoding="utf-8")
        beside.replace(file)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise ShelfError(f"{file}: cannot be written: {error.strerror or error}.") from error


def _bars(one: Count) -> _Picture:
    return _Picture(Markup(bars_svg(one, width=0.72 * WIDE)), Markup(bars_svg(one, width=NARROW)))


def _read(name: str) -> str:
    return (files(__package__) / name).read_text(encoding="utf-8")


@cache
def _template() -> Template:
    """The page's template, compiled once; it holds nothing of any shelf."""
    environment = Environment(
        loader=DictLoader({"page": _read("page.html.j2")}), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template("page")
