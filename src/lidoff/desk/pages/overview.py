"""The first page of an item: what it is, what happens in the cycle, which reading to doubt, what could hurt."""

from __future__ import annotations

from functools import partial
from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.account import STAGES, Account
from lidoff.circuit.checking import missing
from lidoff.desk.frame import Page, account_of, desk_of, fragment, page, run, trouble, works_of
from lidoff.desk.item_desk import Snapshot
from lidoff.desk.standing import next_page, standing
from lidoff.errors import LidoffError
from lidoff.hazards import CAUTIONS, BenchCard
from lidoff.writeup.chapters.summary import summary

PAGE: Final = Page(name="overview", title="At a glance", order=10)
_SHOWN: Final = 12  # saved states listed


async def _bare(request: Request) -> Response:
    return RedirectResponse(f"/items/{desk_of(request).key}/overview", status_code=303)


async def _overview(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    ways = await run(desk.ways)
    entries = await run(desk.history, _SHOWN)
    return await page(
        request,
        PAGE,
        "overview.html.j2",
        desk,
        snapshot,
        todo=next_page(snapshot),
        gaps=list(missing(snapshot.item)) if snapshot.item else [],
        entries=entries,
        known=_known(snapshot),
        cautions=CAUTIONS,
        at=await run(desk.at) if any(ways) else 0,
    )


def _known(snapshot: Snapshot) -> list[str]:
    """What the record says by itself, to be read while the rest is being worked out."""
    pages = ("outside", "closed", "plug", "parts", "connections")
    return [f"{'; '.join(found)}." for name in pages if (found := standing(name, snapshot).known)]


async def _worked(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    try:
        account = await account_of(request, desk, snapshot)
        told = await run(partial(summary, account))
    except LidoffError as error:
        return trouble(error)
    return await fragment(
        request,
        told,
        "worked.html.j2",
        card=_card(account),
        picture=account.drawings.schematic if account.drawings else "",
    )


async def _progress(request: Request) -> Response:
    """At which stage the account is, while somebody waits for it."""
    desk = desk_of(request)
    stage = works_of(request).stage(desk, await run(desk.now), "account")
    if stage is None:
        return JSONResponse({"done": True})
    number = list(STAGES).index(stage) + 1 if stage in STAGES else 0
    return JSONResponse({"done": False, "number": number, "of": len(STAGES), "doing": STAGES.get(stage, "")})


def _card(account: Account) -> BenchCard:
    assert account.card is not None  # the stage of hazards always gives one
    return account.card


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}", _bare),
    Route("/items/{key}/overview", _overview),
    Route("/items/{key}/progress", _progress),
    Route("/items/{key}/overview/worked", _worked),
]
