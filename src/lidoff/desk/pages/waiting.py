"""Photographs that wait in the watched folder, to be taken into a record."""

from __future__ import annotations

from typing import Final

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.frame import desk_of, fragment, run
from lidoff.desk.pages.actions import asked
from lidoff.desk.pages.photos import keep, small
from lidoff.desk.waiting import WatchedFolder, note_taken
from lidoff.record.things import SHOWS

_SMALL: Final = 240


def watched(connection: HTTPConnection) -> WatchedFolder:
    """The watched folder. Answers 404 where none was named."""
    folder: WatchedFolder | None = connection.app.state.watched
    if folder is None:
        raise HTTPException(404, "No folder is watched for photographs; name one with --photos.")
    return folder


async def _waiting(request: Request) -> Response:
    desk, folder = desk_of(request), watched(request)
    pictures = await run(folder.pictures, desk.folder)
    return await fragment(
        request, [], "waiting.html.j2", pictures=pictures, folder=str(folder.folder), shows=SHOWS, key=desk.key
    )


async def _shown(request: Request) -> Response:
    one = await run(watched(request).picture, request.path_params["id"])
    if one is None:
        raise HTTPException(404, "That photograph waits no more.")
    return Response(
        await run(small, one.file, _SMALL), media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"}
    )


async def _take(request: Request) -> Response:
    desk, folder, body = desk_of(request), watched(request), await asked(request)
    one = await run(folder.picture, str(body.get("id") or ""))
    if one is None:
        raise HTTPException(404, "That photograph waits no more.")
    name = await run(keep, desk, one.file, {"shows": str(body.get("shows") or "")})
    await run(note_taken, desk.folder, one.id)
    return JSONResponse({"file": name})


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/waiting", _waiting),
    Route("/items/{key}/waiting/take", _take, methods=["POST"]),
    Route("/waiting/{id}", _shown),
]
