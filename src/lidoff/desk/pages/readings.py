"""Readings: each against what was computed, as it is typed; what they tell; what to measure next."""

from __future__ import annotations

from functools import partial
from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import QUANTITIES, Column, recordings
from lidoff.desk.columns import readings as columns
from lidoff.desk.edits import EditError, changed
from lidoff.desk.frame import Page, account_of, desk_of, fragment, page, run, trouble
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.pages.actions import asked
from lidoff.errors import LidoffError
from lidoff.readings import judge
from lidoff.record import read_text
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
    every = (
        Column(key="quantity", label="Quantity", options=QUANTITIES),
        *columns(meters, states, powered=True)[1:],
    )
    return await page(
        request,
        PAGE,
        "readings.html.j2",
        desk,
        snapshot,
        columns=every,
        recorded=recordings(meters, states),
        samples=await run(_samples, desk),
    )


def _samples(desk: ItemDesk) -> list[str]:
    """The files of samples that lie in the record's folder of recordings."""
    try:
        there = [one.name for one in (desk.folder / "recordings").iterdir() if one.suffix == ".csv"]
    except OSError:
        return []
    return [f"recordings/{name}" for name in sorted(there)]


async def _tried(request: Request) -> Response:
    """The verdict on a reading as it is being typed, before it is saved."""
    desk, body = desk_of(request), await asked(request)
    which, value = body.get("which"), body.get("value")
    if not isinstance(which, int) or isinstance(which, bool) or not isinstance(value, str) or len(value) > 100:
        raise EditError("The page did not say which reading it is about.")
    snapshot = await run(desk.now)
    return JSONResponse(await run(_verdict, snapshot, which, value))


def _verdict(snapshot: Snapshot, which: int, value: str) -> dict[str, str]:
    change = {"do": "set", "kind": "reading", "which": which, "key": "value", "value": value}
    text = changed(snapshot.text, [change])
    item = read_text(text, snapshot.source.file)
    found = judge(item).readings
    if not 0 <= which < len(found):
        return {}
    return {"verdict": found[which].verdict.replace("-", " "), "why": found[which].why}


async def _judged(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    if snapshot.item is not None and not snapshot.item.readings and not snapshot.item.recordings:
        return trouble("No readings yet. The first one is judged here as soon as it is written down.")
    try:
        account = await account_of(request, desk, snapshot)
        told = await run(partial(chapter, account))
    except LidoffError as error:
        return trouble(error)
    return await fragment(request, told[1:])


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/readings", _readings),
    Route("/items/{key}/readings/judged", _judged),
    Route("/items/{key}/readings/tried", _tried, methods=["POST"]),
]
