"""Switching the telephone's way in on and off."""

from __future__ import annotations

from typing import Final

from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.frame import desk_of, fragment, run
from lidoff.desk.phone import Phone


def phone_of(connection: HTTPConnection) -> Phone:
    """The telephone's way in."""
    phone: Phone = connection.app.state.phone
    return phone


async def _shown(request: Request) -> Response:
    desk = desk_of(request)
    offer = await run(phone_of(request).offer)
    return await fragment(
        request, [], "phone_offer.html.j2", offer=offer, here=offer is not None and offer.item == desk.key
    )


async def _on(request: Request) -> Response:
    await run(phone_of(request).start, desk_of(request))
    return JSONResponse({})


async def _off(request: Request) -> Response:
    await run(phone_of(request).stop)
    return JSONResponse({})


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/phone", _shown),
    Route("/items/{key}/phone/on", _on, methods=["POST"]),
    Route("/items/{key}/phone/off", _off, methods=["POST"]),
]
