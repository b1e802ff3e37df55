"""Plug and cord."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import WIRES, plain
from lidoff.desk.frame import Page, desk_of, page, run
from lidoff.desk.looking import asked

PAGE: Final = Page(
    name="plug",
    title="Plug and cord",
    order=40,
    lead="Out of the socket, in your hand. What the plug is, what is in it, and what the cord really carries.",
)
PLUGS: Final = ("BS 1363", "CEE 7/16", "CEE 7/17", "CEE 7/7", "EN 50075", "NEMA 1-15", "NEMA 5-15", "pins on the item")


async def _plug(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(
        request,
        PAGE,
        "plug.html.j2",
        desk,
        snapshot,
        questions=asked(snapshot, "plug"),
        wires=WIRES,
        plugs=PLUGS,
        pins=plain(("live", "neutral", "earth", "nothing")),
        breaks=plain(("live", "neutral", "both")),
        cores=_cores(snapshot.data.get("plug")),
    )


def _cores(plug: object) -> list[str]:
    """The colours of cores for which a pin is asked: those written down, and the usual ones."""
    wiring = plug.get("wiring") if isinstance(plug, dict) else None
    return list(dict.fromkeys([*(wiring if isinstance(wiring, dict) else {}), "brown", "blue", "green-yellow"]))


routes: Final[list[BaseRoute]] = [Route("/items/{key}/plug", _plug)]
