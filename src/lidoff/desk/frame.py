"""What every page uses: its entry in the list of pages, the item it is about, and the template it fills."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, ParamSpec, TypeVar

import anyio
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape
from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, Response

from lidoff import __version__
from lidoff.desk.columns import taken_as
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.pictures import bar, drawn, strip
from lidoff.desk.shop import Shop
from lidoff.desk.standing import standing
from lidoff.desk.works import Works
from lidoff.errors import LidoffError
from lidoff.record import RecordError

if TYPE_CHECKING:
    from lidoff.account import Account
    from lidoff.writeup.blocks import Block

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


def _after_key(message: str) -> str:
    """A problem's sentence without the key that leads it, where it stands beside that key."""
    key, colon, rest = message.partition(": ")
    return f"{rest[:1].upper()}{rest[1:]}" if colon and " " not in key.replace(" (", "").strip() else message


def _when(seconds: float) -> str:
    """A time of day, with the date where it was not today, on this machine's clock."""
    then = datetime.fromtimestamp(seconds).astimezone()
    same = then.date() == datetime.now().astimezone().date()
    return then.strftime("%H:%M" if same else "%d.%m.%Y %H:%M")


def _coded(text: str) -> Markup:
    """A sentence with what stands between backticks as code; everything in it is escaped."""
    pieces = text.split("`")
    if len(pieces) % 2 == 0:
        return escape(text)
    return Markup("").join(
        Markup("<code>{}</code>").format(piece) if number % 2 else escape(piece) for number, piece in enumerate(pieces)
    )


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
_ENVIRONMENT.globals["taken_as"] = taken_as
_ENVIRONMENT.filters.update(
    drawn=drawn,
    strip=strip,
    bar=bar,
    kind_of=lambda one: type(one).__name__,
    after_key=_after_key,
    when=_when,
    coded=_coded,
)
_ENVIRONMENT.tests["search_start"] = lambda text, start: str(text).startswith(str(start))


def fill(template: str, **context: Any) -> str:
    """A template filled; everything is escaped."""
    return _ENVIRONMENT.get_template(template).render(version=__version__, **context)


async def page(
    request: Request, here: Page, template: str, desk: ItemDesk, snapshot: Snapshot, **context: Any
) -> Response:
    """A page of an item: its template with the frame around it."""
    from lidoff.desk.pages import pages

    undo, redo = await run(desk.ways)
    stand = await run(standing, here.name, snapshot)
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
            stand=stand,
            **context,
        )
    )


async def fragment(request: Request, told: list[Block], template: str = "fragment.html.j2", **context: Any) -> Response:
    """A part of a page that comes later: blocks of the write-up, or a template of its own."""
    return HTMLResponse(fill(template, told=told, trouble=None, **context))


async def account_of(request: Request, desk: ItemDesk, snapshot: Snapshot) -> Account:
    """Everything worked out about the item, from a thread, once for each revision. Raises RecordError."""
    from lidoff.account import take

    item = snapshot.sound()
    works = works_of(request)
    tell = works.teller(desk, snapshot, "account")
    return await works.get(desk, snapshot, "account", partial(take, item, tell))


def trouble(why: str | LidoffError) -> Response:
    """A part of a page that cannot be worked out, and why; of a record with errors, what there is to mend."""
    sentence = str(why)
    if isinstance(why, RecordError):
        wrong = [one for one in why.problems if one.level == "error"]
        if wrong:
            more = f" ({len(wrong) - 1} more)" if len(wrong) > 1 else ""
            sentence = f"This waits until the record is mended. {wrong[0].message}{more}"
    return HTMLResponse(fill("fragment.html.j2", told=[], trouble=sentence))
