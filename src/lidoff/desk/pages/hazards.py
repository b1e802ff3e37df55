"""Hazards: the look list one question at a time, and what the rules make of the answers."""

from __future__ import annotations

from functools import partial
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.frame import Page, account_of, desk_of, fragment, page, run, trouble
from lidoff.desk.looking import asked
from lidoff.errors import LidoffError
from lidoff.hazards import CAUTIONS, PHASES
from lidoff.writeup.chapters.findings import findings

PAGE: Final = Page(
    name="hazards",
    title="Hazards",
    order=90,
    lead="One question at a time, each with how to look without danger. Nothing here says that the item is safe.",
)


async def _hazards(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    questions = asked(snapshot)
    wanted = request.query_params.get("question")
    places = {one.id: number for number, one in enumerate(questions)}
    first_open = next((number for number, one in enumerate(questions) if one.open), 0)
    number = places.get(wanted or "", first_open)
    return await page(
        request,
        PAGE,
        "hazards.html.j2",
        desk,
        snapshot,
        questions=questions,
        number=number,
        phases=PHASES,
        cautions=CAUTIONS,
    )


async def _found(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    try:
        account = await account_of(request, desk, snapshot)
        told = await run(partial(findings, account))
    except LidoffError as error:
        return trouble(error)
    return await fragment(request, told[1:])


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/hazards", _hazards),
    Route("/items/{key}/hazards/found", _found),
]
