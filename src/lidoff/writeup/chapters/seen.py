"""What was looked at by eye, the photographs, and the practitioner's own verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.account import Account
from lidoff.quantity import engineering, with_interval
from lidoff.writeup.blocks import Block, Column, Heading, Paragraph, Quote, Row, Run, Said, Strong, Table, Text
from lidoff.writeup.photographs import photographs
from lidoff.writeup.words import capital, listed


def seen(account: Account) -> list[Block]:
    """Plug, cord, sightings, gaps and surfaces as they were written down, the photographs, then the verdict."""
    item = account.item
    rows = [*_plug(item.plug), *(row for wire in item.wires for row in [_wire(wire)])]
    rows += [
        Row(
            cells=(
                (Strong(text=capital(one.about.replace("-", " "))),),
                (Said(text=one.seen),) if one.seen else ("–",),
            ),
            note=_note(one.note, one.photo),
        )
        for one in item.sightings
    ]
    rows += [_gap(gap) for gap in item.gaps]
    rows += [_surface(surface) for surface in item.surfaces]
    blocks: list[Block] = []
    if rows:
        blocks.append(Heading(text="What was looked at", id="seen"))
        blocks.append(Paragraph(text=("By eye, as written down in the record. None of it is judged here.",)))
        blocks.append(Table(columns=(Column(title="What"), Column(title="Found", room="most")), rows=tuple(rows)))
    blocks += photographs(item.photos, item.folder, level=2 if rows else 1)
    if item.verdict.get("text"):
        blocks.append(Heading(text="The practitioner's own verdict", id="verdict", level=2 if blocks else 1))
        about: list[Text] = []
        if item.verdict.get("for"):
            about.append(("For: ", Said(text=str(item.verdict["for"]))))
        if item.verdict.get("because"):
            about.append(("Because: ", Said(text=listed([str(one) for one in item.verdict["because"]]))))
        blocks.append(Quote(text=str(item.verdict["text"]), about=tuple(about)))
    return blocks


def _note(note: str | None, photo: str | None) -> Text:
    found: list[Run] = [Said(text=note)] if note else []
    if photo:
        found.append(f"{' ' if found else ''}Photograph: {photo}")
    return tuple(found)


def _plug(plug: Mapping[str, Any]) -> list[Row]:
    if not plug:
        return []
    told = [str(plug["kind"])] if "kind" in plug else []
    if "fuse" in plug:
        told.append(f"fuse {with_interval(float(plug['fuse']), 0.0, 'A')}")
    if "wiring" in plug:
        told.append(listed(f"{colour} to {pin}" for colour, pin in plug["wiring"].items()))
    if "switch_breaks" in plug:
        told.append(f"its switch breaks {plug['switch_breaks']}")
    found = Said(text="; ".join(told)) if told else "–"
    return [Row(cells=((Strong(text="Plug"),), (found,)), note=_note(plug.get("note"), plug.get("photo")))]


def _wire(wire: Mapping[str, Any]) -> Row:
    told = [f"printed {wire['print']}"] if "print" in wire else []
    if "length" in wire:
        told.append(engineering(float(wire["length"]), "m"))
    if "resistance" in wire:
        told.append(f"{engineering(float(wire['resistance']['value']), 'ohm')} measured")
    if "core" in wire:
        told.append(f"core: {wire['core']}")
    if "from" in wire and "to" in wire:
        told.append(f"from {wire['from']} to {wire['to']}")
    return Row(
        cells=(
            (Strong(text=f"Wire {wire.get('ref', '')}".strip()),),
            (Said(text=", ".join(told)),) if told else ("–",),
        ),
        note=_note(wire.get("note"), wire.get("photo")),
    )


def _gap(gap: Mapping[str, Any]) -> Row:
    ends = " and ".join(str(end).replace("surface:", "") for end in gap.get("between", ()))
    told = [
        f"{engineering(float(gap[key]), 'm')} {words}"
        for key, words in (("clearance", "through the air"), ("creepage", "along the surface"))
        if key in gap
    ]
    return Row(
        cells=((Strong(text=f"Gap between {ends}"),), (Said(text=", ".join(told)),) if told else ("–",)),
        note=_note(gap.get("note"), gap.get("photo")),
    )


def _surface(surface: Mapping[str, Any]) -> Row:
    told = [f"reached {surface['reached']}"] if "reached" in surface else []
    if "node" in surface:
        told.append("insulated" if surface["node"] == "insulated" else f"joined to {surface['node']}")
    return Row(
        cells=(
            (Strong(text=f"Surface: {surface.get('name', '')}"),),
            (Said(text=", ".join(told)),) if told else ("–",),
        ),
        note=_note(surface.get("note"), surface.get("photo")),
    )
