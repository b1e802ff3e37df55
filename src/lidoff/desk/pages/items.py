"""The opened folder: its items, starting one, and the examples."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.demo import NAMES, shipped
from lidoff.desk.frame import fill, run, shop_of
from lidoff.desk.pages.actions import asked
from lidoff.desk.shop import Shop
from lidoff.errors import LidoffError
from lidoff.hazards import CAUTIONS
from lidoff.record import read_text


async def _items(request: Request) -> Response:
    shop = shop_of(request)
    desks = await run(shop.items)
    if shop.single and len(desks) == 1:
        return RedirectResponse(f"/items/{desks[0].key}", status_code=303)
    rows = await run(_rows, shop)
    examples = await run(_examples)
    return HTMLResponse(fill("items.html.j2", folder=str(shop.folder), rows=rows, examples=examples, cautions=CAUTIONS))


def _rows(shop: Shop) -> list[dict[str, str]]:
    rows = []
    for desk in shop.items():
        row = {"key": desk.key, "place": str(desk.folder.relative_to(shop.folder)), "title": desk.key, "said": ""}
        try:
            snapshot = desk.now()
        except LidoffError as error:
            row["said"] = str(error)
        else:
            item = snapshot.item
            row["title"] = (item.title if item else "") or desk.key
            if snapshot.errors:
                row["said"] = f"{len(snapshot.errors)} to mend"
            elif item is not None:
                row["said"] = f"{len(item.parts)} parts, {len(item.readings)} readings"
        rows.append(row)
    return rows


def _examples() -> list[dict[str, str]]:
    return [{"name": name, "title": read_text(shipped(name), name).title} for name in NAMES]


async def _start(request: Request) -> Response:
    body = await asked(request)
    desk = await run(shop_of(request).start, str(body.get("title") or "")[:200])
    return JSONResponse({"address": f"/items/{desk.key}/outside"})


async def _example(request: Request) -> Response:
    body = await asked(request)
    desk = await run(shop_of(request).example, str(body.get("name") or ""))
    return JSONResponse({"address": f"/items/{desk.key}"})


routes: Final[list[BaseRoute]] = [
    Route("/", _items),
    Route("/start", _start, methods=["POST"]),
    Route("/example", _example, methods=["POST"]),
]
