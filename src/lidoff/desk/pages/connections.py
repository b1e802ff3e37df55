"""Connections: every pin with its node, and every node with the pins on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from lidoff.circuit import build
from lidoff.desk.columns import Column
from lidoff.desk.frame import Page, desk_of, fragment, page, run, trouble, works_of
from lidoff.desk.item_desk import Snapshot
from lidoff.desk.pages.parts import nodes
from lidoff.errors import LidoffError
from lidoff.kinds import KINDS
from lidoff.record import Item

PAGE: Final = Page(
    name="connections",
    title="Connections",
    order=65,
    lead="Give every piece of copper a name of its own, and say which pin is on which. The plug’s pins are live and "
    "neutral.",
)
BLOCKS: Final = (
    Column(key="name", label="Block", placeholder="section"),
    Column(key="repeat", label="In series", width="short", placeholder="12"),
    Column(key="parallel", label="Side by side", width="short", placeholder="1"),
    Column(key="nodes", label="Between", as_="place", list="nodes", placeholder="p and m"),
    Column(key="count", label="Counted", width="short"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A pin of a part: its name, and where its node stands in the part's table ("nodes.0", "nodes.anode")."""

    name: str
    key: str
    node: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """A part with its pins."""

    which: int
    name: str
    title: str
    pins: tuple[Pin, ...]


def _joined(snapshot: Snapshot) -> list[Joined]:
    found = []
    for which, table in enumerate(snapshot.tables("part")):
        known = KINDS.get(str(table.get("kind", "")))
        if known is None:
            continue
        block, ref = table.get("block"), table.get("ref", "")
        found.append(
            Joined(
                which=which,
                name=f"{block}/{ref}" if block else str(ref),
                title=known.title,
                pins=tuple(
                    Pin(name=pin, key=pin, node=_node(table, number, pin)) for number, pin in enumerate(known.pins)
                ),
            )
        )
    return found


def _node(table: Mapping[str, Any], number: int, pin: str) -> str:
    written = table.get("nodes")
    if isinstance(written, list):
        return str(written[number]) if number < len(written) else ""
    return str(written.get(pin, "")) if isinstance(written, Mapping) else ""


def _on(item: Item | None) -> list[tuple[str, list[str]]]:
    """Each node with the pins that are on it."""
    found: dict[str, list[str]] = {}
    for part in item.parts if item else ():
        for pin, node in part.nodes.items():
            found.setdefault(node, []).append(f"{part.name}.{pin}")
    for block in item.blocks if item else ():
        for node in block.nodes:
            found.setdefault(node, []).append(block.name)
    first = {name: number for number, name in enumerate(("live", "neutral", "earth"))}
    return sorted(found.items(), key=lambda pair: (first.get(pair[0], 9), pair[0]))


async def _connections(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    return await page(
        request,
        PAGE,
        "connections.html.j2",
        desk,
        snapshot,
        joined=_joined(snapshot),
        on=_on(snapshot.item),
        nodes=nodes(snapshot),
        blocks=BLOCKS,
    )


def schematic(item: Item) -> str:
    """The item as it stands, drawn. Raises LidoffError where it cannot be."""
    from lidoff.circuit.groups import recognise
    from lidoff.drawing import schematic_svg

    circuit = build(item, state=item.states[0].name if item.states else None)
    return schematic_svg(circuit, groups=recognise(circuit).best, hints=item.drawing)


async def _drawn(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    if snapshot.item is not None and not any(part.nodes for part in snapshot.item.parts):
        return trouble("Nothing is joined yet. The schematic is drawn here as soon as two parts are.")
    try:
        item = snapshot.sound()
        picture = await works_of(request).get(desk, snapshot, "schematic", lambda: schematic(item))
    except LidoffError as error:
        return trouble(error)
    return await fragment(request, [], "drawn.html.j2", picture=picture)


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/connections", _connections),
    Route("/items/{key}/connections/drawn", _drawn),
]
