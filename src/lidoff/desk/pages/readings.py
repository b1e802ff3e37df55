"""Readings: each against what was computed, as it is typed; what they tell; what to measure next."""

from __future__ import annotations

from functools import partial
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import readings as columns
from lidoff.desk.frame import Page, account_of, desk_of, fragment, page, run, trouble
from lidoff.errors import LidoffError
from lidoff.writeup.chapters.readings import readings as chapter

PAGE: Final = Page(
    name="readings",
    title="Readings",
    order=80,
    lead="What a meter showed, held against what the circuit says. Change a value and the verdict follows.",
)


async def _readings(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    meters = [str(one["name"]) for one in snapshot.tables("meter") if one.get("name")]
    states = [str(one["name"]) for one in snapshot.tables("state") if one.get("name")]
    from lidoff.desk.columns import QUANTITIES

    every = columns(meters, states, powered=True)
    every = (every[0].__class__(key="quantity", label="Quantity", options=QUANTITIES), *every[1:])
    return await page(request, PAGE, "readings.html.j2", desk, snapshot, columns=every)


async def _judged(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    if snapshot.item is not None and not snapshot.item.readings and not snapshot.item.recordings:
        return trouble("No readings yet. The first one is judged here as soon as it is written down.")
    try:
        account = await account_of(request, desk, snapshot)
        told = await run(partial(chapter, account))
    except LidoffError as error:
        return trouble(str(error))
    return await fragment(request, told[1:])


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/readings", _readings),
    Route("/items/{key}/readings/judged", _judged),
]
