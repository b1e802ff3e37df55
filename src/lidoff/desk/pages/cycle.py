"""The cycle: knobs turned, switches thrown, values tried, with the real solver behind every picture.

One WebSocket, `/items/{key}/cycle/live`. The page sends JSON:

    {"do": "open", "tag": 1, "state": "full", "values": {…}}    the item in a state, the first where it is null
    {"do": "set", "tag": 2, "values": {"VR1.position": 0.3}}    every value that is other than recorded
    {"do": "rest", "tag": 3, "values": {…}}                     the same, from rest

and gets {"scene": …} (see `live_scene`) after "open"; one binary frame (see `live_frame`) for each tag, or
{"tag": …, "refused": sentence}; and {"changed": …} whenever the record has changed.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

import anyio
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from lidoff.account import Account
from lidoff.circuit import build
from lidoff.circuit.checking import missing
from lidoff.desk.edits import EditError, changed
from lidoff.desk.frame import Page, desk_of, page, run, works_of
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.live import Session
from lidoff.desk.live_scene import scene_of
from lidoff.desk.live_tries import TryError, as_state, kept
from lidoff.desk.pages.actions import asked
from lidoff.errors import LidoffError

PAGE: Final = Page(
    name="cycle",
    title="The cycle",
    order=70,
    lead="Turn the knobs, throw the switches, try another value: every picture here is solved anew.",
)
_TAGS: Final = 2**31
_FEW: Final = 6  # things that are missing, told at once


async def _cycle(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    lacking = ""
    if snapshot.item is not None and not snapshot.item.parts:
        lacking = "No parts are written down yet."
    elif snapshot.item is not None and not any(part.nodes for part in snapshot.item.parts):
        lacking = "No part is joined to anything yet."
    # Without anything to solve the page has no script of its own, and hears of changes as every other page does.
    own = snapshot.item is not None and not lacking
    return await page(request, PAGE, "cycle.html.j2", desk, snapshot, own_socket=own, lacking=lacking)


# The socket ---------------------------------------------------------------------------------------------------------


async def _live(websocket: WebSocket) -> None:
    desk = desk_of(websocket)
    async with desk.subscribe() as changes:
        await websocket.accept()
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(_answering, websocket, desk, tasks.cancel_scope)
            while True:
                change = await changes.get()
                told = {"revision": change.revision, "what": change.what, "outside": change.outside}
                await websocket.send_json({"changed": told})


async def _answering(websocket: WebSocket, desk: ItemDesk, scope: anyio.CancelScope) -> None:
    """Answers one message after the other until the page goes away."""
    session: Session | None = None
    while True:
        try:
            text = await websocket.receive_text()
        except (WebSocketDisconnect, KeyError):
            scope.cancel()
            return
        message = _message(text)
        if message is None:
            await websocket.close(1003)
            scope.cancel()
            return
        try:
            if message["do"] == "open":
                snapshot = await run(desk.now)
                account: Account | None = works_of(websocket).ready(desk, snapshot, "account")
                session, scene = await run(_opened, snapshot, message.get("state"), account)
                await websocket.send_json({"scene": scene})
            if session is None:
                continue
            rest = message["do"] in ("rest", "open")
            frame = await run(session.answer, message["tag"], message["values"], rest=rest)
        except LidoffError as error:
            await websocket.send_json(_refusal(message["tag"], error, desk, opening=session is None))
        else:
            await websocket.send_bytes(frame)


def _message(text: str) -> dict[str, Any] | None:
    """A message of the page's script; None for anything else."""
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(message, dict) or message.get("do") not in ("open", "set", "rest"):
        return None
    tag, values, state = message.get("tag"), message.get("values"), message.get("state")
    if isinstance(tag, bool) or not isinstance(tag, int) or not 0 <= tag < _TAGS or not isinstance(values, dict):
        return None
    return message if state is None or isinstance(state, str) else None


def _opened(snapshot: Snapshot, state: str | None, account: Account | None) -> tuple[Session, dict[str, Any]]:
    """The solver session for a state, and the scene. A state that is no longer there is as if none was named.

    What nobody wrote down stands where the readings have it, once the account has been worked out.
    """
    item = snapshot.sound()
    name = state if state is not None and item.state(state) is not None else None
    circuit = build(item, state=name)
    told = {key: one.median for key, one in account.used.items() if key in circuit.unknowns} if account else {}
    if told:
        circuit = build(item, state=name, changes=told)
    session = Session(circuit)
    return session, {**scene_of(item, circuit, session.layout, inferred=told), "revision": snapshot.revision}


def _refusal(tag: int, error: LidoffError, desk: ItemDesk, *, opening: bool) -> dict[str, Any]:
    """Why there is no answer; `at` names the value that was not taken, `states` what else could be opened."""
    told: dict[str, Any] = {"tag": tag, "refused": str(error), "at": error.at if isinstance(error, TryError) else None}
    if opening:
        try:
            item = desk.now().item
        except LidoffError:
            item = None
        told["states"] = [state.name for state in item.states] if item is not None else []
        told["missing"] = list(missing(item))[:_FEW] if item is not None else []
    return told


# Keeping ------------------------------------------------------------------------------------------------------------


async def _keep(request: Request) -> Response:
    """Writes tried values into the record: {"state": …, "values": {…}, "revision": …}, "name" to keep a new state."""
    desk, body = desk_of(request), await asked(request)
    state, values, revision = body.get("state"), body.get("values"), body.get("revision")
    name = body.get("name")
    words = all(one is None or isinstance(one, str) for one in (state, name))
    if not isinstance(values, dict) or not isinstance(revision, str) or not words:
        raise EditError("The page asked for a change that the desk does not know.")
    snapshot = await run(_kept, desk, state, values, revision, name)
    undo, redo = await run(desk.ways)
    return JSONResponse(
        {
            "revision": snapshot.revision,
            "undo": undo.what if undo else None,
            "redo": redo.what if redo else None,
            "problems": [],
        }
    )


def _kept(desk: ItemDesk, state: str | None, values: Mapping[str, Any], revision: str, name: str | None) -> Snapshot:
    now = desk.now()
    if name is not None:
        changes, what = as_state(now, state, name, values), f"state {name.strip()}"
    else:
        changes = kept(now, state, values)
        what = ", ".join(f"{key} {value}" for key, value in values.items())
    return desk.edit(lambda text: changed(text, changes), revision=revision, what=f"kept: {what}"[:120])


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/cycle", _cycle),
    Route("/items/{key}/cycle/keep", _keep, methods=["POST"]),
    WebSocketRoute("/items/{key}/cycle/live", _live),
]
