"""The first page of an item: what it is, what happens in the cycle, which reading to doubt, what could hurt."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.frame import Page, desk_of, page, run

PAGE: Final = Page(name="overview", title="At a glance", order=10)


async def _bare(request: Request) -> Response:
    return RedirectResponse(f"/items/{desk_of(request).key}/overview", status_code=303)


async def _overview(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(request, PAGE, "overview.html.j2", desk, snapshot)


routes: Final[list[BaseRoute]] = [Route("/items/{key}", _bare), Route("/items/{key}/overview", _overview)]
