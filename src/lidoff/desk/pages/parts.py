"""Parts: said or filled in, their markings decoded as they are typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.columns import Options, plain
from lidoff.desk.edits import EditError
from lidoff.desk.frame import Page, desk_of, page, run
from lidoff.desk.item_desk import Snapshot
from lidoff.desk.pages.actions import asked
from lidoff.desk.saying import GRAMMAR, said, swatches
from lidoff.errors import LidoffError
from lidoff.kinds import CAPACITOR_CLASSES, KINDS, RATING_UNITS, REQUIRED, Key
from lidoff.markings import decode
from lidoff.quantity import UNITS, engineering

PAGE: Final = Page(
    name="parts",
    title="Parts",
    order=60,
    lead="One sentence a part. Write what you see, doubts included; values may wait.",
)
_KINDS: Final = tuple((kind.name, kind.title) for kind in KINDS.values())
_RATED: Final[Mapping[str, tuple[str, ...]]] = {
    "resistor": ("power", "voltage"),
    "potentiometer": ("power",),
    "capacitor": ("voltage", "voltage_ac", "class"),
    "diode": ("voltage", "current"),
    "bridge": ("voltage", "current"),
    "led": ("current", "power"),
    "triac": ("voltage", "current_rms"),
    "thyristor": ("voltage", "current_rms"),
    "zener": ("power",),
    "varistor": ("voltage_ac",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fillable:
    """A key of a kind's law that may be filled in: what it is taken for where it is not, and what may be chosen."""

    name: str
    default: str
    options: Options


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A part on the page: its place in the record, its kind, what its marking means, the keys that may be filled."""

    which: int
    name: str
    kind: str
    title: str
    decoded: str
    why: str
    bands: tuple[tuple[str, ...], ...]
    keys: tuple[Fillable, ...]
    ratings: tuple[str, ...]
    missing: str
    worth: str


def rows(snapshot: Snapshot) -> list[Row]:
    """Every part as it is written, in the record's order."""
    return [_row(which, table) for which, table in enumerate(snapshot.tables("part"))]


def _row(which: int, table: Mapping[str, Any]) -> Row:
    block, ref = table.get("block"), str(table.get("ref", ""))
    kind = str(table.get("kind", ""))
    known = KINDS.get(kind)
    marking = str(table.get("marking") or "")
    meant = meaning(marking, kind) if marking else {}
    # A fuse's rated current may stand alone under the name of the table of ratings.
    keys = [key for key in (known.keys if known else ()) if not isinstance(table.get(key.name), Mapping)]
    lacks = [key.name for key in keys if key.default is REQUIRED and key.name not in table]
    return Row(
        which=which,
        name=f"{block}/{ref}" if block else ref,
        kind=kind,
        title=known.title if known else kind,
        decoded=meant.get("text", ""),
        why=meant.get("why", ""),
        bands=swatches(marking),
        keys=tuple(_fillable(key) for key in keys),
        ratings=_RATED.get(kind, ()),
        missing=", ".join(lacks) if lacks and not meant.get("settled") else "",
        worth=_worth(table) or meant.get("text", ""),
    )


def _fillable(key: Key) -> Fillable:
    default, options = key.default, plain(key.choices)
    shown = ""
    if isinstance(default, bool):
        shown = "true" if default else "false"
    elif isinstance(default, float):
        shown = engineering(default, key.unit, 2) if key.unit in UNITS and key.unit else f"{default:g}"
    elif isinstance(default, str):
        shown = default
    if key.unit == "bool":
        options = plain(("true", "false"))
    return Fillable(name=key.name, default=f"taken as {shown}" if shown else "", options=options)


def _worth(table: Mapping[str, Any]) -> str:
    """What is written of a part's worth, in a few words."""
    found = [str(table[key]) for key in ("value", "rating", "voltage", "power", "limit") if _plain(table.get(key))]
    found += [f"{table[key]} in {key}" for key in ("series", "parallel") if _plain(table.get(key))]
    found += [str(table[key]) for key in ("forward_voltage",) if _plain(table.get(key))]
    return ", ".join("to be inferred" if one == "?" else one for one in found)


def _plain(value: Any) -> bool:
    return isinstance(value, str | int | float) and not isinstance(value, bool)


def meaning(marking: str, kind: str = "") -> dict[str, Any]:
    """What a marking most likely means, for people: text, why, whether it settles it; {} where it means nothing."""
    try:
        found = decode(marking, kind=kind or None)
    except LidoffError:
        return {}
    if not found.candidates:
        return {}
    best = found.candidates[0]
    more = [one.text for one in found.candidates[1:3]]
    return {
        "text": best.text,
        "why": best.why,
        "settled": found.settled,
        "or": more if not found.settled else [],
        "would_settle": list(found.would_settle)[:2],
    }


async def _parts(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(
        request,
        PAGE,
        "parts.html.j2",
        desk,
        snapshot,
        rows=await run(rows, snapshot),
        nodes=nodes(snapshot),
        kinds=_KINDS,
        classes=plain(CAPACITOR_CLASSES),
        units=RATING_UNITS,
        grammar=GRAMMAR,
    )


def nodes(snapshot: Snapshot) -> list[str]:
    """The nodes that are named already, the mains first."""
    found = [node for part in (snapshot.item.parts if snapshot.item else ()) for node in part.nodes.values()]
    return list(dict.fromkeys(["live", "neutral", "earth", *found]))


async def _said(request: Request) -> Response:
    """What a sentence would make, while it is being typed."""
    desk, body = desk_of(request), await asked(request)
    sentence = body.get("sentence")
    if not isinstance(sentence, str) or len(sentence) > 500:
        raise EditError("That is no sentence about a part.")
    return JSONResponse(await run(_understood, sentence, await run(desk.now)))


def _understood(sentence: str, snapshot: Snapshot) -> dict[str, Any]:
    there = {part.name: part for part in snapshot.item.parts} if snapshot.item else {}
    told = said(sentence, there)
    marking = str(told.table.get("marking") or "")
    answer: dict[str, Any] = {"words": told.words, "new": told.name not in there}
    if marking:
        answer["bands"] = swatches(marking)
        answer["meaning"] = meaning(marking, told.kind) or {"text": "", "why": "This marking means nothing known."}
    return answer


async def _decoded(request: Request) -> Response:
    """What a marking means, while it is being typed."""
    body = await asked(request)
    marking, kind = str(body.get("marking") or "")[:200].strip(), str(body.get("kind") or "")
    if not marking:
        return JSONResponse({})
    found = await run(meaning, marking, kind if kind in KINDS else "")
    return JSONResponse({**found, "bands": swatches(marking)})


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/parts", _parts),
    Route("/items/{key}/said", _said, methods=["POST"]),
    Route("/decoded", _decoded, methods=["POST"]),
]
