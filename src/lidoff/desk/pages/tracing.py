"""Tracing: which pads the copper joins, from the photos of the board.

GET  tracing                    the page
GET  tracing/state?seen=7       what stands, as JSON (see `tracing_told`); 204 where nothing is newer than that
GET  tracing/paths              the ways of the joins along the copper
POST tracing/act                an act (see `tracing_acts`, `tracing_said`, and "again", "undo", "redo"): the state
POST tracing/follow             {"points": [[x, y], …]}: the way along the copper through them [mm]
POST tracing/fit                {"pairs": …}: how well holes clicked in both photos go together [mm]
GET  tracing/straight/0         a photo straightened, as JPEG; 1 is the other side laid over it
GET  tracing/preview/0?corners= how it would look with these corners, small
GET  tracing/offer              what taking over would change in the record; ?replace=1: typed nodes give way
POST tracing/take-over          changes it, through the record's own history
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.util import find_spec
from typing import Any, Final

import anyio
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.edits import EditError
from lidoff.desk.frame import Page, desk_of, page, run, shop_of
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.pages.actions import asked
from lidoff.desk.tracing_bench import Bench
from lidoff.desk.tracing_said import corners_of, fit_of, pairs_of
from lidoff.desk.tracing_told import found_for, offered, paths, preview, straight, told
from lidoff.photos.connections import changed_text
from lidoff.photos.picture import open_upright

PAGE: Final = Page(
    name="tracing",
    title="Tracing",
    order=55,
    lead="The copper read off its photograph: what is plain is joined, what is doubtful is asked.",
)
_SETTLES: Final = 0.8  # [s] without an act before the copper is read anew
_SMALL: Final = 1400  # pixels of the photo that a preview is made of
_MOST_POINTS: Final = 60
_MISSING: Final = "Tracing needs the extra photos: install it with pip install lidoff[photos] and start the desk again."


@dataclass(slots=True)
class _Held:
    """A bench, and what is being done on it in the background."""

    bench: Bench
    task: asyncio.Task[None] | None = None
    small: tuple[Any, float, Any] | None = None
    acts: int = 0


@dataclass(slots=True)
class _Benches:
    """The benches of an app. One reads at a time, so that the other core stays with the page in hand."""

    held: dict[str, _Held] = field(default_factory=dict)
    one: anyio.CapacityLimiter = field(default_factory=lambda: anyio.CapacityLimiter(1))


def _benches(request: Request) -> _Benches:
    state = request.app.state
    if not hasattr(state, "tracing"):
        state.tracing = _Benches()
    found: _Benches = state.tracing
    return found


def _held(request: Request) -> _Held:
    desk, benches = desk_of(request), _benches(request)
    held = benches.held.get(desk.key)
    if held is None or held.bench.desk is not desk:
        held = benches.held[desk.key] = _Held(Bench(desk, shop_of(request).confined))
    return held


def installed() -> bool:
    """Whether the extra is there that reading photos needs."""
    return find_spec("cv2") is not None and find_spec("skimage") is not None


async def _tracing(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    lacking = await run(_lacking, _held(request).bench)
    photos = [one.file for one in snapshot.item.photos if one.shows == "other"] if snapshot.item else []
    return await page(request, PAGE, "tracing.html.j2", desk, snapshot, lacking=lacking, others=photos)


def _lacking(bench: Bench) -> str:
    """Why there is nothing to trace: "extra", "photo", or ""."""
    if not installed():
        return "extra"
    return "" if any(one.shows == "copper" for one in bench.photos()) else "photo"


async def _state(request: Request) -> Response:
    held = _held(request)
    bench = held.bench
    await run(bench.opened)
    _begin(request, held)
    if request.query_params.get("seen") == str(bench.number):
        return Response(status_code=204)
    return JSONResponse(await run(told, bench))


async def _paths(request: Request) -> Response:
    return JSONResponse(await run(paths, _held(request).bench))


async def _act(request: Request) -> Response:
    held, body = _held(request), await asked(request)
    held.acts += 1
    state = await run(_acted, held.bench, body)
    _begin(request, held)
    return JSONResponse(state)


def _acted(bench: Bench, body: Mapping[str, Any]) -> dict[str, Any]:
    bench.act(body)
    return told(bench)


def _begin(request: Request, held: _Held) -> None:
    """Sees to it that what is due is being done."""
    if not installed() or (held.task is not None and not held.task.done()):
        return
    held.task = asyncio.create_task(_work(held, _benches(request).one))


async def _work(held: _Held, one: anyio.CapacityLimiter) -> None:
    while due := await run(held.bench.due):
        while due == "copper" and held.acts:
            held.acts = 0
            await anyio.sleep(_SETTLES)
        await anyio.to_thread.run_sync(held.bench.work, limiter=one)


async def _follow(request: Request) -> Response:
    body = await asked(request)
    try:
        points = [(float(x), float(y)) for x, y in body.get("points", ())]
    except (TypeError, ValueError) as error:
        raise EditError("The page asked for a way that the desk does not understand.") from error
    sound = all(abs(x) < 2000 and abs(y) < 2000 for x, y in points)
    if not 2 <= len(points) <= _MOST_POINTS or not sound:
        raise EditError("A way is followed through two points or more on the board.")
    return JSONResponse({"points": await run(_held(request).bench.followed, points)})


async def _fit(request: Request) -> Response:
    bench, pairs = _held(request).bench, pairs_of((await asked(request)).get("pairs"))
    return JSONResponse(await run(_fitted, bench, pairs))


def _fitted(bench: Bench, pairs: tuple[Any, ...]) -> dict[str, Any]:
    trace = bench.state.trace
    first, other = (bench.size(one.file) for one in trace.photos[:2]) if len(trace.photos) > 1 else ((1, 1), (1, 1))
    return fit_of(trace, pairs, (first, other))


async def _straight(request: Request) -> Response:
    bench = _held(request).bench
    which, trace = int(request.path_params["which"]), bench.state.trace
    if which >= len(trace.photos) or trace.board is None:
        raise HTTPException(404, "There is no such photograph in this trace.")
    if await run(shop_of(request).confined, bench.desk.folder, trace.photos[which].file) is None:
        raise HTTPException(404, "There is no such photograph in this record.")
    data = await run(straight, bench.desk.folder, trace, which)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


async def _preview(request: Request) -> Response:
    held = _held(request)
    which, trace = int(request.path_params["which"]), held.bench.state.trace
    if which >= len(trace.photos):
        raise HTTPException(404, "There is no such photograph in this trace.")
    numbers = request.query_params.get("corners", "").split(",")
    corners = corners_of(list(zip(numbers[::2], numbers[1::2], strict=False)))
    file = await run(shop_of(request).confined, held.bench.desk.folder, trace.photos[which].file)
    if file is None:
        raise HTTPException(404, "There is no such photograph in this record.")
    if held.small is None or held.small[2] != file:
        held.small = (*await run(_shrunk, file), file)
    data = await run(preview, held.small[0], corners, held.small[1])
    return Response(data, media_type="image/jpeg")


def _shrunk(file: Any) -> tuple[Any, float]:
    import numpy as np

    whole = open_upright(file, longest=None)
    long = max(whole.size)
    small = whole.resize((max(1, whole.width * _SMALL // long), max(1, whole.height * _SMALL // long)))
    return np.array(small.convert("RGB")), small.width / whole.width


async def _offer(request: Request) -> Response:
    bench = _held(request).bench
    snapshot = await run(bench.desk.now)
    replace = request.query_params.get("replace") == "1"
    return JSONResponse(await run(offered, snapshot.sound(), bench.state.trace, snapshot.text, replace=replace))


async def _take_over(request: Request) -> Response:
    bench, body = _held(request).bench, await asked(request)
    if not isinstance(body.get("revision"), str):
        raise EditError("The page did not say which state of the record it shows; load it again.")
    snapshot = await run(_taken, bench.desk, bench, body["revision"], body.get("replace") is True)
    undo, redo = await run(bench.desk.ways)
    return JSONResponse(
        {
            "revision": snapshot.revision,
            "undo": undo.what if undo else None,
            "redo": redo.what if redo else None,
            "problems": [],
        }
    )


def _taken(desk: ItemDesk, bench: Bench, revision: str, replace: bool) -> Snapshot:
    item = desk.now().sound()
    found = found_for(item, bench.state.trace, replace=replace)
    if not found.changes:
        raise EditError("The record says already what the trace says.")
    change = found.changes
    return desk.edit(lambda text: changed_text(item, text, change), revision=revision, what="nodes from the trace")


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/tracing", _tracing),
    Route("/items/{key}/tracing/state", _state),
    Route("/items/{key}/tracing/paths", _paths),
    Route("/items/{key}/tracing/act", _act, methods=["POST"]),
    Route("/items/{key}/tracing/follow", _follow, methods=["POST"]),
    Route("/items/{key}/tracing/fit", _fit, methods=["POST"]),
    Route("/items/{key}/tracing/straight/{which:int}", _straight),
    Route("/items/{key}/tracing/preview/{which:int}", _preview),
    Route("/items/{key}/tracing/offer", _offer),
    Route("/items/{key}/tracing/take-over", _take_over, methods=["POST"]),
]
