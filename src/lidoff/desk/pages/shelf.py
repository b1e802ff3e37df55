"""The shelf: everything that was opened and worked out, found and counted; kept in step with the opened folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.frame import fill, run, shop_of
from lidoff.desk.shelving import Shelving, shelving_of
from lidoff.hazards import QUESTIONS, RULES
from lidoff.record.source import FILE_NAME
from lidoff.shelf import (
    EVERYTHING,
    NARROW,
    SUBJECTS,
    WIDE,
    Behind,
    Count,
    Found,
    Listing,
    QueryError,
    ShelfError,
    bars_svg,
    count,
    find,
    folders_path,
    listed,
    pictures,
    read_places,
    understand,
)

_LONGEST: Final = 400  # characters of a question
_FIRST: Final = 50  # items shown before more are asked for
_MOST: Final = 2000
_COUNTED: Final = "risk"  # what is counted where nothing is asked
EXAMPLES: Final = (
    "strips over 8 W with flicker over 80 %",
    "how many plug fuses had no filler",
    "with a triac",
    "capacitor dropper",
    "high risk",
)
"""Questions that show what can be asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a question found and counted; `unclear` and `uncounted` say why there is nothing of it."""

    unclear: str = ""
    found: Found | None = None
    table: Listing | None = None
    dots: tuple[str, str] | None = None
    counted: Count | None = None
    bars: tuple[str, str] | None = None
    shares: tuple[tuple[int, str], ...] = ()
    uncounted: str = ""


async def _shelf(request: Request) -> Response:
    shelving = shelving_of(request)
    ask = request.query_params.get("ask", "").strip()[:_LONGEST]
    what = request.query_params.get("count", "").strip()[:_LONGEST]
    limit = _MOST if "all" in request.query_params else _FIRST
    trouble, stand, told = "", Behind(), Told()
    try:
        stand = await run(shelving.behind)
        if await run(shelving.index.exists):
            told = await run(answered, shelving.index, ask, what, limit)
    except ShelfError as error:
        trouble = str(error)
    return HTMLResponse(
        fill(
            "shelf.html.j2",
            ask=ask,
            what=what,
            trouble=trouble,
            stand=stand,
            told=told,
            progress=shelving.progress,
            keys=await run(shelving.keys),
            names=await run(_names, shelving, stand),
            folders=await run(_places, shelving),
            index=str(shelving.index),
            examples=EXAMPLES,
            subjects=SUBJECTS,
            questions=[(one.id, one.what) for one in QUESTIONS],
            rules=[(one.id, one.title) for one in RULES],
            single=shop_of(request).single,
        )
    )


def answered(index: Path, ask: str, what: str, limit: int = _FIRST) -> Told:
    """What a sentence finds, and what is counted among it: `what`, or else what the sentence asks.

    Raises ShelfError where the index cannot be read.
    """
    try:
        query = understand(ask) if ask else EVERYTHING
        found = find(index, query, limit=limit)
    except QueryError as error:
        return Told(unclear=str(error))
    counted, uncounted = None, ""
    try:
        counted = count(index, what, query) if what else count(index, ask or _COUNTED)
    except QueryError as error:
        uncounted = str(error)
    return Told(
        found=found,
        table=listed(index, found),
        dots=pictures(index, query),
        counted=counted,
        bars=(bars_svg(counted, width=0.9 * WIDE), bars_svg(counted, width=0.9 * NARROW)) if counted else None,
        shares=shares(counted) if counted else (),
        uncounted=uncounted,
    )


def shares(one: Count) -> tuple[tuple[int, str], ...]:
    """How many items a count is of, how many it could be made among, and those left open, told apart.

    Empty where none is left open.
    """
    open_bars = [bar for bar in one.bars if bar.tone == "open"]
    if one.among == one.of and not any(bar.count for bar in open_bars):
        return ()  # all of them were counted, as the picture says
    seen = any(bar.label == "not looked at" for bar in open_bars)
    among = "looked at" if seen else "that can be counted"
    told = [(one.of, "item asked about" if one.of == 1 else "items asked about"), (one.among, among)]
    told += [(bar.count, bar.label) for bar in open_bars]
    # A rule's silence and what it leaves undecided are among the items judged; an unseen thing is not.
    rest = one.of - one.among - (sum(bar.count for bar in open_bars) if one.among < one.of else 0)
    if rest > 0:
        told.append((rest, "for which the question does not arise" if seen else "that could not be looked into"))
    return tuple(told)


def _names(shelving: Shelving, stand: Behind) -> Mapping[Path, str]:
    """What the records that are to be worked out are called: by their place in the opened folder."""
    told = {}
    for path in (*stand.new, *stand.out_of_date, *stand.gone):
        place = path.parent if path.name == FILE_NAME else path
        below = place != shelving.home and place.is_relative_to(shelving.home)
        told[path] = str(place.relative_to(shelving.home)) if below else place.name
    return told


def _places(shelving: Shelving) -> list[str]:
    try:
        return [str(one) for one in read_places(folders_path(shelving.index))]
    except ShelfError:
        return []  # the page says what is wrong with the shelf already


async def _begin(request: Request) -> Response:
    shelving = shelving_of(request)
    shelving.begin()
    return JSONResponse(asdict(shelving.progress))


async def _stop(request: Request) -> Response:
    shelving = shelving_of(request)
    shelving.stop()
    return JSONResponse(asdict(shelving.progress))


async def _progress(request: Request) -> Response:
    return JSONResponse(asdict(shelving_of(request).progress))


routes: Final[list[BaseRoute]] = [
    Route("/shelf", _shelf),
    Route("/shelf/progress", _progress),
    Route("/shelf/begin", _begin, methods=["POST"]),
    Route("/shelf/stop", _stop, methods=["POST"]),
]
