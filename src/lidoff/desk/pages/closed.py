"""The closed box with a meter: unpowered first, then powered, every knob up and down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import METERS, STATES, UNPOWERED, Column, readings
from lidoff.desk.frame import Page, desk_of, page, run
from lidoff.desk.item_desk import Snapshot
from lidoff.desk.looking import asked
from lidoff.hazards import CAUTIONS

PAGE: Final = Page(
    name="closed",
    title="Closed, with a meter",
    order=30,
    lead="First with the plug out, then at the socket, with every knob and switch at both its ends.",
)
_ACCURACIES: Final[Mapping[str, tuple[str, ...]]] = {
    "power-meter": ("power", "current", "voltage", "power_factor"),
    "light-meter": ("percent_flicker", "illuminance"),
    "clamp": ("current",),
    "scope": ("voltage", "current"),
}
_OTHERS: Final = ("voltage", "current", "resistance", "capacitance")


async def _closed(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    names = _names(snapshot)
    written = snapshot.tables("reading")
    cold = [number for number, one in enumerate(written) if one.get("quantity") in UNPOWERED]
    return await page(
        request,
        PAGE,
        "closed.html.j2",
        desk,
        snapshot,
        questions=asked(snapshot, "closed"),
        cautions=CAUTIONS,
        meters=METERS,
        accuracies=[_accuracies(one) for one in snapshot.tables("meter")],
        states=(*STATES[:1], *_settings(snapshot), *STATES[1:]),
        unpowered=readings(*names, powered=False),
        powered=readings(*names, powered=True),
        cold=cold,
        hot=[number for number in range(len(written)) if number not in cold],
    )


def _names(snapshot: Snapshot) -> tuple[list[str], list[str]]:
    """The names of the meters and of the states, to choose from."""
    return [str(one["name"]) for one in snapshot.tables("meter") if one.get("name")], [
        str(one["name"]) for one in snapshot.tables("state") if one.get("name")
    ]


def _accuracies(meter: Mapping[str, Any]) -> list[str]:
    """The quantities for which a meter's accuracy is asked: those it has, and those of its kind."""
    written = meter.get("accuracy")
    has = list(written) if isinstance(written, Mapping) else []
    usual = _ACCURACIES.get(str(meter.get("kind")), _OTHERS)
    return list(dict.fromkeys([*has, *usual]))


def _settings(snapshot: Snapshot) -> list[Column]:
    """A column for each knob and switch: where it stands in a state."""
    found = []
    for part in snapshot.item.parts if snapshot.item else ():
        if part.kind == "potentiometer":
            found.append(
                Column(
                    key=f"set.{part.name}.position",
                    label=f"{part.name} at",
                    width="short",
                    placeholder="0.0 to 1.0",
                    later=True,
                )
            )
        elif part.kind in ("switch", "thermostat"):
            found.append(
                Column(
                    key=f"set.{part.name}.closed",
                    label=part.name,
                    options=(("true", "closed"), ("false", "open")),
                    later=True,
                )
            )
    return found


routes: Final[list[BaseRoute]] = [Route("/items/{key}/closed", _closed)]
