"""The shelf as one self-contained HTML page: pictures, counts, and a table that stands sorted and can be sorted anew.

Without its small script the page says the same; the script is named by its digest, so that no other can run.
"""

from __future__ import annotations

import base64
import hashlib
import os
from collections.abc import Iterator, Sequence
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
from lidoff.shelf.errors import QueryError, ShelfError
from lidoff.shelf.measures import BY_NAME, Measure
from lidoff.shelf.picturing import picture
from lidoff.shelf.query import EVERYTHING, Query
from lidoff.shelf.search import Found, Hit, find, main_figures
from lidoff.standards.risk import LEVELS

_MARK: Final = '<meta name="generator" content="lidoff shelf">'
_COUNTS: Final = ("risk", "findings", "groups", "plug-fuse-filler", "kind")
_COLUMNS: Final = ("input.power", "light.percent_flicker", "input.power_factor")


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


@dataclass(frozen=True, slots=True)
class _Cell:
    """A cell: what is seen, and what it is sorted by."""

    text: str
    key: str
    numeric: bool = False


@dataclass(frozen=True, slots=True)
class _Row:
    hit: Hit
    cells: tuple[_Cell, ...]
    notes: tuple[str, ...]


def page_of(index: Path, query: Query = EVERYTHING, counts: Sequence[str] | None = None) -> Page:
    """The page of all items that meet a question; `counts` are what is counted on it, as `count` takes it.

    Raises ShelfError where the index cannot be read, QueryError for a count that is not understood.
    """
    found = find(index, query, limit=None)
    asked = list(dict.fromkeys([*(one.measure for one in query.figures), *(BY_NAME[name] for name in _COLUMNS)]))[:4]
    counted = [count(index, what, query) for what in (counts if counts is not None else _COUNTS)]
    if counts is None:
        counted = [one for one in counted if one.among and any(bar.count for bar in one.bars)]
    script = _read("page.js")
    html = _template().render(
        found=found,
        title="The shelf" if not query.conditions else "From the shelf",
        pictures=list(_pictures(index, query)),
        counts=[(one, _bars(one)) for one in counted],
        heads=["item", "kind", *(one.title for one in asked), "highest risk found"],
        numeric=[False, False, *(True for _ in asked), False],
        rows=[_row(hit, asked, figures) for hit, figures in _with_figures(index, found, asked)],
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


def _pictures(index: Path, query: Query) -> Iterator[_Picture]:
    """The figures that were asked for; without any, power against flicker."""
    measures = () if query.figures else (BY_NAME["input.power"], BY_NAME["light.percent_flicker"])
    try:
        wide, narrow = (picture(index, query, measures, width=width) for width in (WIDE, NARROW))
    except QueryError:
        return  # no item has them
    yield _Picture(Markup(wide), Markup(narrow))


def _bars(one: Count) -> _Picture:
    return _Picture(Markup(bars_svg(one, width=0.72 * WIDE)), Markup(bars_svg(one, width=NARROW)))


def _with_figures(index: Path, found: Found, asked: Sequence[Measure]) -> Iterator[tuple[Hit, dict[str, float]]]:
    figures = main_figures(index, [hit.number for hit in found.hits], [one.name for one in asked])
    for hit in found.hits:
        own = dict(figures.get(hit.number, {}))
        if hit.states:
            own.update(hit.states[0].figures)
        yield hit, own


def _row(hit: Hit, asked: Sequence[Measure], figures: dict[str, float]) -> _Row:
    told = [
        _Cell(one.shown(figures[one.name]), repr(figures[one.name]), numeric=True)
        if one.name in figures
        else _Cell("–", "", numeric=True)
        for one in asked
    ]
    risk = hit.risk or ("none found" if hit.sentence else "not judged")
    # Sorted by how much: the worst level has the largest key, what was not judged has none.
    level = str(LEVELS.index(hit.risk) + 1) if hit.risk else "0" if hit.sentence else ""
    notes = [
        *([f"In the state: {', '.join(one.state for one in hit.states if one.state)}."] if _named(hit) else []),
        *(["No longer where it was; what stands here is what was known of it."] if not hit.there else []),
        *([hit.problem] if hit.problem else []),
    ]
    return _Row(
        hit,
        (_Cell(hit.title, hit.title.casefold()), _Cell(hit.kind or "–", hit.kind), *told, _Cell(risk, level)),
        tuple(notes),
    )


def _named(hit: Hit) -> bool:
    return any(one.state for one in hit.states)


def _read(name: str) -> str:
    return (files(__package__) / name).read_text(encoding="utf-8")


@cache
def _template() -> Template:
    """The page's template, compiled once; it holds nothing of any shelf."""
    environment = Environment(
        loader=DictLoader({"page": _read("page.html.j2")}), autoescape=True, undefined=StrictUndefined
    )
    return environment.get_template("page")
