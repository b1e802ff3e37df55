"""The first page of an item: what it is, what happens in the cycle, which reading to doubt, what could hurt."""

from __future__ import annotations

from functools import partial
from typing import Final

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.account import Account
from lidoff.desk.frame import Page, account_of, desk_of, fragment, page, run, trouble
from lidoff.desk.standing import next_page
from lidoff.errors import LidoffError
from lidoff.hazards import BenchCard
from lidoff.record.checking import missing
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
        at=await run(desk.at) if any(ways) else 0,
    )


async def _worked(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    try:
        account = await account_of(request, desk, snapshot)
        told = await run(partial(summary, account))
    except LidoffError as error:
        return trouble(str(error))
    return await fragment(
        request,
        told,
        "worked.html.j2",
        card=_card(account),
        picture=account.drawings.schematic if account.drawings else "",
    )


def _card(account: Account) -> BenchCard:
    assert account.card is not None  # the stage of hazards always gives one
    return account.card


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}", _bare),
    Route("/items/{key}/overview", _overview),
    Route("/items/{key}/overview/worked", _worked),
]
