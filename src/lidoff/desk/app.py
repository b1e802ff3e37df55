"""The web app, put together. How the desk is made, for whoever adds to it:

**A page** is a module in `lidoff/desk/pages/` with two names; it is found by being there (`pages/__init__.py`):

    PAGE = Page(name="cycle", title="The cycle", order=70)    # what stands in the item's list of pages
    routes = [Route("/items/{key}/cycle", cycle, name="cycle"),
              WebSocketRoute("/items/{key}/cycle/live", live)]

`order` follows the work (see `pages/__init__.py`). `Page(shown=lambda: False)` keeps a page out of the list. A module
without PAGE only adds routes. A page's address is always `/items/{key}/{name}`.

**In a handler**, for requests and WebSockets alike (all from `lidoff.desk.frame`):

    desk = desk_of(request)                    # the ItemDesk of {key}; answers 404 by itself
    snapshot = await run(desk.now)             # its text, revision, item, problems: see item_desk.Snapshot
    item = snapshot.sound()                    # to compute from; RecordError where the record has errors
    return await page(request, PAGE, "cycle.html.j2", desk, snapshot, more="for the template")

`run(function, *args)` runs anything that waits for the disk or computes in a worker thread. Errors that are
LidoffErrors become a page, or JSON `{"sentence": …}` for scripts, by themselves. `request.app.state` holds `shop`
(the opened folder), `works` (results worked out in the background and remembered by revision: desk/works.py) and
`shelving` (the collection: desk/shelving.py).

**Changes**: `desk.edit(change, revision=…, what=…)` saves; scripts use `POST /items/{key}/edit` instead, through
`/static/edit.js` (`edit([{do: "set", name: "R1.value", value: "4k7"}], "R1.value")`). To hear of every change, from
here or outside: `async with desk.subscribe() as changes: change = await changes.get()`.

**A template** extends `item.html.j2` and fills the blocks `head` (more styles and scripts) and `content`. Everything is
escaped. `static("cycle/cycle.css")` gives an address. Inline scripts, `<style>` and `style=` are forbidden by the
content security policy: write rules in CSS files, give numbers as data attributes. A drawing from the drawing room
goes through the filter `drawn`, which takes its style element out (the rules stand in desk.css): `{{ svg|drawn }}`.
Colours are the custom properties of desk.css, which follow light and dark.

**WebSocket**: item.html.j2 opens one, `/items/{key}/changes`, which tells of changes; the script then draws anew what
is not being edited. A page with a socket of its own sets `{% set own_socket = true %}` and calls
`changed({revision, what, outside})` of `/static/changes.js` when its own server side tells it so.
"""

from __future__ import annotations

import os
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final

import anyio
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from lidoff.desk.errors import HANDLERS
from lidoff.desk.guard import Guard, local_hosts
from lidoff.desk.pages import routes
from lidoff.desk.pages.photos import keep
from lidoff.desk.phone import Phone
from lidoff.desk.shelving import Shelving
from lidoff.desk.shop import Shop
from lidoff.desk.waiting import WatchedFolder
from lidoff.desk.works import Works
from lidoff.errors import LidoffError
from lidoff.shelf import index_path

STATIC: Final = Path(__file__).parent / "static"
_LOOK_EVERY: Final = 0.7  # [s] between looks for changes from outside, while somebody listens
# Texts go out packed, photographs and sockets as they are. Packing lets an eavesdropper who can also choose a part of
# a page guess a secret in it by its length; here nothing leaves this machine, and the link's token and the cookie's
# value stand in headers alone, which are not packed. Level 4 takes about half of the time of level 6, for 5 % more
# in scripts and 13 % more in what the tracing page is told after each answer.
_PACKED: Final = Middleware(GZipMiddleware, minimum_size=700, compresslevel=4)


def create_app(
    folder: Path,
    *,
    token: str,
    port: int = 80,
    hosts: Iterable[str] | None = None,
    photos: Path | None = None,
    shelf: Path | None = None,
) -> Starlette:
    """The desk on a folder: a record, or a folder of records.

    `token` is what the opening link must carry. `port` is where it is served; `hosts` are the Host headers that it
    answers to, by default those of this machine at that port; `photos` is a folder in which photographs arrive; `shelf`
    is the shelf's folder or index, by default the one that the command line uses.
    """
    shop = Shop(folder)
    phone = Phone(keep)
    works = Works()
    shelving = Shelving(index_path(shelf, os.environ), shop, works)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(_watch, shop)
            yield
            tasks.cancel_scope.cancel()
        await shelving.end()
        await anyio.to_thread.run_sync(phone.stop)

    guard = Middleware(Guard, token=token, hosts=local_hosts(port) if hosts is None else hosts, cookie=f"lidoff-{port}")
    app = Starlette(
        routes=[*routes(), Mount("/static", StaticFiles(directory=STATIC), name="static")],
        middleware=[guard, _PACKED],
        exception_handlers=HANDLERS,
        lifespan=lifespan,
    )
    app.state.shop = shop
    app.state.works = works
    app.state.shelving = shelving
    app.state.phone = phone
    app.state.watched = WatchedFolder(photos) if photos is not None else None
    return app


async def _watch(shop: Shop) -> None:
    """Looks at every item that somebody has open, and so has its changes told."""
    while True:
        await anyio.sleep(_LOOK_EVERY)
        for desk in shop.watched():
            try:
                await anyio.to_thread.run_sync(desk.now)
            except LidoffError:
                continue  # gone or broken: the next page says so
