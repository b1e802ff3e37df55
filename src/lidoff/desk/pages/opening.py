"""The opening: photographs first, then what is seen with the lid off, and the distances."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import GAPS, plain
from lidoff.desk.frame import Page, desk_of, page, run
from lidoff.desk.looking import asked
from lidoff.hazards import CAUTIONS
from lidoff.record.things import SHOWS, SIDES

PAGE: Final = Page(
    name="opening",
    title="Opening",
    order=50,
    lead="Photograph before you touch, and again before every step that cannot be undone.",
)


async def _opening(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(
        request,
        PAGE,
        "opening.html.j2",
        desk,
        snapshot,
        questions=asked(snapshot, "open"),
        cautions=CAUTIONS,
        gaps=GAPS,
        shows=plain(SHOWS),
        sides=plain(SIDES),
        watched=request.app.state.watched is not None,
        photos=[str(one.get("file", "")) for one in snapshot.tables("photo")],
    )


routes: Final[list[BaseRoute]] = [Route("/items/{key}/opening", _opening)]
