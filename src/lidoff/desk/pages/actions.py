"""What the pages' scripts ask for: edits, undoing and doing again, and to be told of changes."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final

import anyio
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from lidoff.desk.edits import EditError, changed
from lidoff.desk.frame import desk_of, run
from lidoff.desk.item_desk import Change, ItemDesk, Snapshot
from lidoff.errors import LidoffError

_LOOK_EVERY: Final = 1.0  # [s] between looks whether the record is still in its place
_GONE: Final = (
    "The record is no longer in “{place}”: its folder was renamed, moved or deleted. What you type here cannot be "
    "saved until it is back; “Lidoff” above leads to what is there now."
)


async def asked(request: Request) -> dict[str, Any]:
    """The JSON object that a script sent. Raises EditError where there is none."""
    try:
        body = json.loads(await request.body())
    except (ValueError, RecursionError) as error:
        raise EditError("The page asked for something that the desk does not understand.") from error
    if not isinstance(body, dict):
        raise EditError("The page asked for something that the desk does not understand.")
    return body


async def _edit(request: Request) -> Response:
    desk, body = desk_of(request), await asked(request)
    what = str(body.get("what") or "edited")[:120]
    before = await run(desk.now)
    snapshot = await run(
        desk.edit, lambda text: changed(text, body.get("changes")), revision=_revision(body), what=what
    )
    return await _now(desk, snapshot, before)


async def _undo(request: Request) -> Response:
    return await _step(request, lambda desk, body: desk.undo(revision=_revision(body)))


async def _redo(request: Request) -> Response:
    return await _step(request, lambda desk, body: desk.redo(revision=_revision(body)))


async def _go_to(request: Request) -> Response:
    return await _step(request, lambda desk, body: desk.go_to(_number(body), revision=_revision(body)))


async def _step(request: Request, step: Callable[[ItemDesk, dict[str, Any]], Snapshot]) -> Response:
    desk, body = desk_of(request), await asked(request)
    before = await run(desk.now)
    snapshot = await run(step, desk, body)
    return await _now(desk, snapshot, before)


def _number(body: dict[str, Any]) -> int:
    number = body.get("number")
    if not isinstance(number, int):
        raise EditError("The page did not say which state of the record to go back to.")
    return number


def _revision(body: dict[str, Any]) -> str:
    revision = body.get("revision")
    if not isinstance(revision, str):
        raise EditError("The page did not say which state of the record it shows; load it again.")
    return revision


async def _now(desk: ItemDesk, snapshot: Snapshot, before: Snapshot) -> Response:
    """What the record is now, and what is newly wrong with it."""
    known = {one.message for one in before.problems}
    fresh = [one for one in snapshot.problems if one.message not in known]
    undo, redo = await run(desk.ways)
    return JSONResponse(
        {
            "revision": snapshot.revision,
            "undo": undo.what if undo else None,
            "redo": redo.what if redo else None,
            "problems": [{"key": one.key, "message": one.message, "level": one.level} for one in fresh],
        }
    )


async def _changes(websocket: WebSocket) -> None:
    desk = desk_of(websocket)
    async with desk.subscribe() as queue:
        await websocket.accept()
        try:
            # First what the record is now: it may have changed between the page and this connection.
            snapshot = await run(desk.now)
            await _tell(websocket, Change(revision=snapshot.revision, what="", outside=False))
        except LidoffError as error:
            await websocket.send_json({"sentence": str(error)})
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(_until_gone, websocket, tasks.cancel_scope)
            tasks.start_soon(_where, websocket, desk)
            while True:
                await _tell(websocket, await queue.get())


async def _where(websocket: WebSocket, desk: ItemDesk) -> None:
    """Tells a page that its record is gone from its place, and when it is back."""
    there = True
    while True:
        await anyio.sleep(_LOOK_EVERY)
        if there == await run(desk.file.is_file):
            continue
        there = not there
        await websocket.send_json({"sentence": "" if there else _GONE.format(place=desk.folder.name)})


async def _tell(websocket: WebSocket, change: Change) -> None:
    await websocket.send_json({"revision": change.revision, "what": change.what, "outside": change.outside})


async def _until_gone(websocket: WebSocket, scope: anyio.CancelScope) -> None:
    try:
        while True:
            await websocket.receive_text()
    except (WebSocketDisconnect, KeyError):
        scope.cancel()


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/edit", _edit, methods=["POST"]),
    Route("/items/{key}/undo", _undo, methods=["POST"]),
    Route("/items/{key}/redo", _redo, methods=["POST"]),
    Route("/items/{key}/go-to", _go_to, methods=["POST"]),
    WebSocketRoute("/items/{key}/changes", _changes),
]
