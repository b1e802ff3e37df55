"""Rework: what it would take to reach a goal, each design with its picture before and after, to be kept as a record."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.edits import EditError
from lidoff.desk.frame import Page, desk_of, fragment, page, run, shop_of, trouble, works_of
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.pages.actions import asked
from lidoff.errors import LidoffError
from lidoff.rework.errors import ReworkError
from lidoff.rework.goals import GOALS, GoalKind, parse_goal

if TYPE_CHECKING:
    from lidoff.rework import Design, Rework

PAGE: Final = Page(
    name="rework",
    title="Rework",
    order=95,
    lead="Say what it should become. Designs are worked out with parts one can buy, and proved at the worst case.",
)
_MOST_GOALS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A goal that can be set: its title, an example of it as it may be typed, and what it means."""

    title: str
    written: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """A design with its picture beside the item as found, in a wide and a narrow form."""

    place: int
    design: Design
    wide: str
    narrow: str


def _goals(request: Request) -> list[str]:
    return [one.strip()[:200] for one in request.query_params.getlist("goal") if one.strip()][:_MOST_GOALS]


async def _rework(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    goals = [(text, *_told(text)) for text in _goals(request)]
    known = [Known(title=one.title, written=_titled(one), about=one.about) for one in GOALS.values()]
    return await page(
        request, PAGE, "rework.html.j2", desk, snapshot, goals=goals, query=request.url.query, known=known
    )


def _titled(kind: GoalKind) -> str:
    """A goal's example with its title in place of the name that the command line knows it by."""
    _, _, value = kind.example.strip('"').partition("=")
    return f"{kind.title} = {value}"


def _told(text: str) -> tuple[str, str]:
    """A goal in words, or as it was typed and what is wrong with it."""
    try:
        return parse_goal(text).words, ""
    except ReworkError as error:
        return text, str(error)


async def _found(request: Request, desk: ItemDesk, snapshot: Snapshot, goals: list[str]) -> Rework:
    from lidoff.account.rework import rework

    item = snapshot.sound()
    return await works_of(request).get(desk, snapshot, f"rework {goals}", partial(rework, item, goals))


async def _worked(request: Request) -> Response:
    desk, goals = desk_of(request), _goals(request)
    snapshot = await run(desk.now)
    try:
        found = await _found(request, desk, snapshot, goals)
        offered = await run(_pictured, found)
    except LidoffError as error:
        return trouble(error)
    return await fragment(request, [], "reworked.html.j2", found=found, offered=offered)


def _pictured(found: Rework) -> list[Offered]:
    from lidoff.rework.saving import picture_of

    return [
        Offered(
            place=place, design=design, wide=picture_of(found, design), narrow=picture_of(found, design, narrow=True)
        )
        for place, design in enumerate(found.offered, 1)
    ]


async def _keep(request: Request) -> Response:
    """A design as a record of its own, beside the item's."""
    desk, body = desk_of(request), await asked(request)
    goals, place = body.get("goals"), body.get("place")
    if not isinstance(goals, list) or not isinstance(place, int):
        raise EditError("The page did not say which design to keep.")
    snapshot = await run(desk.now)
    found = await _found(request, desk, snapshot, [str(one) for one in goals][:_MOST_GOALS])
    if not 1 <= place <= len(found.offered):
        raise EditError("There is no such design any more; work it out again.")
    design = found.offered[place - 1]
    kept = await run(shop_of(request).place, f"{desk.key} {design.family}", design.record)
    return JSONResponse({"address": f"/items/{kept.key}"})


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/rework", _rework),
    Route("/items/{key}/rework/worked", _worked),
    Route("/items/{key}/rework/keep", _keep, methods=["POST"]),
]
