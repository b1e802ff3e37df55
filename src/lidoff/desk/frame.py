"""What every page uses: its entry in the list of pages, the item it is about, and the template it fills."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final, ParamSpec, TypeVar

import anyio
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, Response

from lidoff import __version__
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.pictures import drawn
from lidoff.desk.shop import Shop
from lidoff.desk.works import Works

TEMPLATES: Final = Path(__file__).parent / "templates"
P = ParamSpec("P")
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """An entry in the list of an item's pages, at `/items/{key}/{name}`; the list is in the order of `order`.

    `title` stands in the list, `lead` under the page's heading. `shown` tells whether it is in the list now.
    """

    name: str
    title: str
    order: int
    lead: str = ""
    shown: Callable[[], bool] = lambda: True


async def run(function: Callable[P, T], *args: P.args, **words: P.kwargs) -> T:
    """The function's answer, from a worker thread."""
    return await anyio.to_thread.run_sync(partial(function, *args, **words))


def shop_of(connection: HTTPConnection) -> Shop:
    """The opened folder."""
    shop: Shop = connection.app.state.shop
    return shop


def works_of(connection: HTTPConnection) -> Works:
    """What is worked out in the background."""
    works: Works = connection.app.state.works
    return works


def desk_of(connection: HTTPConnection) -> ItemDesk:
    """The item that the address names by `{key}`. Answers 404 where there is none."""
    desk = shop_of(connection).item(connection.path_params["key"])
    if desk is None:
        raise HTTPException(404, "There is no such item in the opened folder.")
    return desk


def _static(name: str) -> str:
    return f"/static/{name}?v={__version__}"


_ENVIRONMENT: Final = Environment(
    loader=FileSystemLoader(TEMPLATES),
    autoescape=select_autoescape(default=True, default_for_string=True),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    auto_reload=False,
)
_ENVIRONMENT.globals["static"] = _static
_ENVIRONMENT.filters["drawn"] = drawn


def fill(template: str, **context: Any) -> str:
    """A template filled; everything is escaped."""
    return _ENVIRONMENT.get_template(template).render(version=__version__, **context)


async def page(
    request: Request, here: Page, template: str, desk: ItemDesk, snapshot: Snapshot, **context: Any
) -> Response:
    """A page of an item: its template with the frame around it."""
    from lidoff.desk.pages import pages

    undo, redo = await run(desk.ways)
    return HTMLResponse(
        fill(
            template,
            here=here,
            pages=pages(),
            desk=desk,
            snapshot=snapshot,
            item=snapshot.item,
            undo=undo,
            redo=redo,
            single=shop_of(request).single,
            **context,
        )
    )
