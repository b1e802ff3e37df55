"""Outside and label: what it is, what it claims, what can be touched."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import CLASSES, KINDS_OF_ITEM, REGIONS, SURFACES
from lidoff.desk.frame import Page, desk_of, page, run
from lidoff.desk.looking import asked

PAGE: Final = Page(
    name="outside",
    title="Outside and label",
    order=20,
    lead="Everything that can be seen and touched before a tool is picked up. The plug lies where you see it.",
)


async def _outside(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(
        request,
        PAGE,
        "outside.html.j2",
        desk,
        snapshot,
        questions=asked(snapshot, "outside"),
        classes=CLASSES,
        regions=REGIONS,
        kinds=KINDS_OF_ITEM,
        surfaces=SURFACES,
    )


routes: Final[list[BaseRoute]] = [Route("/items/{key}/outside", _outside)]
