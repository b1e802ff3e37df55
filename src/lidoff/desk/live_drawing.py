"""The schematic for the cycle page: every wire and lead named, knobs and switches drawn where their parts are.

The drawing room draws; here its picture is read back and marked:

    data-wire="3"      the wire whose current is the sum of rows that `LiveDrawing.wires[3]` lists
    data-lead="5"      the lead of a pin, likewise of `LiveDrawing.leads`
    data-stroke="R1"   the other strokes of a part
    data-when="open"   what of a switch is drawn only while it is open ("closed": while it is closed)
    data-knob="VR1"    the knob beside a potentiometer, as an empty group at `data-x`, `data-y`
    data-arrow="3"     the place for an arrow on wire 3
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any, Final
from xml.etree import ElementTree as Tree

from lidoff.circuit import Circuit, with_values
from lidoff.circuit.groups import recognise
from lidoff.desk.live_frame import Layout
from lidoff.drawing import Overlay, Schematic, rendered, schematic
from lidoff.drawing.flows import MAINS, wire_currents
from lidoff.drawing.labels import room_of
from lidoff.drawing.shapes import Point, Rect
from lidoff.drawing.stand import Stand

KNOB: Final = 30.0  # half the side of the square that a knob takes [SVG units]
SIZE: Final = 17.0  # of the words
_AWAY: Final = 190.0  # as far as a knob may stand from its part
_ARROW: Final = 44.0  # a straight run this long bears an arrow
_SVG: Final = ' xmlns="http://www.w3.org/2000/svg"'

Mix = tuple[tuple[int, float], ...]
"""A current as a sum of rows of the frame, each times a factor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveDrawing:
    """The marked picture, and of which rows of the frames the currents in it are made."""

    svg: str
    wires: tuple[Mix, ...]
    leads: tuple[Mix, ...]


def live_drawing(circuit: Circuit, layout: Layout, hints: Mapping[str, Any] | None = None) -> LiveDrawing:
    """The schematic of a circuit for the page. Raises DrawingError where there is nothing to draw."""
    groups = recognise(circuit).best
    drawing = schematic(circuit, groups=groups, hints=hints, size=SIZE)
    knobs = _knob_places(drawing)
    root = _parsed(drawing, knobs)
    _mark_parts(root, circuit)
    _mark_switches(root, drawing, groups, hints, knobs)
    leads = [mark for mark in root.iter() if mark.get("data-lead") is not None]
    mixes = []
    for place, mark in enumerate(leads):
        ref, _, pin = str(mark.get("data-lead")).rpartition(".")
        mixes.append((layout.lead(circuit, ref, pin),))
        mark.set("data-lead", str(place))
    wires = _mark_wires(root, drawing)
    _add_knobs(root, drawing, knobs)
    root.set("xmlns", "http://www.w3.org/2000/svg")
    return LiveDrawing(
        svg=Tree.tostring(root, encoding="unicode"),
        wires=_wire_mixes(drawing, circuit, layout, wires),
        leads=tuple(mixes),
    )


def _parsed(drawing: Schematic, knobs: Mapping[str, Rect]) -> Tree.Element:
    """The picture with plates for the knobs, without what the page's security policy forbids."""
    root = Tree.fromstring(rendered(drawing, Overlay(areas=tuple(knobs.values()))).replace(_SVG, "", 1))
    for style in root.findall("style"):
        root.remove(style)
    for name in ("style", "width", "role"):
        root.attrib.pop(name, None)
    for plate in [one for one in root if one.get("class") == "group"]:
        root.remove(plate)
    return root


def _shift(root: Tree.Element, drawing: Schematic) -> Point:
    """How far the picture stands from the drawing's own coordinates."""
    stand = drawing.placement.stands[0]
    pin = next(iter(stand.symbol.pins))
    mark = next(one for one in root.iter("circle") if one.get("data-pin") == f"{stand.ref}.{pin}")
    x, y = stand.pin(pin)
    return float(mark.get("cx", "0")) - x, float(mark.get("cy", "0")) - y


# Parts and switches -------------------------------------------------------------------------------------------------


def _parts(root: Tree.Element) -> dict[str, Tree.Element]:
    return {str(one.get("data-ref")): one for one in root.iter("g") if one.get("data-ref")}


def _mark_parts(root: Tree.Element, circuit: Circuit) -> None:
    """Strokes of leads and bodies told apart: a lead is a line with one end at a pin of its part."""
    for ref, part in _parts(root).items():
        element = circuit.element(ref)
        assert element is not None
        pins = {
            (one.get("cx"), one.get("cy")): str(one.get("data-pin"))
            for one in part.iter("circle")
            if one.get("data-pin")
        }
        for stroke in part:
            if stroke.tag not in ("path", "circle", "line") or stroke.get("data-pin"):
                continue
            words = stroke.get("d", "").removeprefix("M").removesuffix("Z").split(" ")
            ends = [tuple(words[at].split(",")) for at in (0, -1)] if stroke.tag == "path" else []
            pin = next((pins[end] for end in ends if end in pins), None)
            if pin is not None:
                stroke.set("data-lead", pin)
            elif stroke.get("stroke"):
                stroke.set("data-stroke", ref)


def _mark_switches(
    root: Tree.Element, drawing: Schematic, groups: Any, hints: Mapping[str, Any] | None, knobs: Mapping[str, Rect]
) -> None:
    """Both positions of every switch drawn, so that the page can show either."""
    circuit = drawing.circuit
    switches = {e.ref: bool(e.values["closed"]) for e in circuit.elements if "closed" in e.values}
    if not switches:
        return
    other = schematic(
        with_values(circuit, {f"{ref}.closed": not closed for ref, closed in switches.items()}),
        groups=groups,
        hints=hints,
        size=SIZE,
    )
    # Where a switch stands does not hang on its position, and so neither does the rest of the drawing.
    flipped = _parts(_parsed(other, knobs))
    for ref, part in _parts(root).items():
        if ref not in switches:
            continue
        now, then = ("closed", "open") if switches[ref] else ("open", "closed")
        here, there = ([one for one in g if one.tag == "path"] for g in (part, flipped[ref]))
        for mine, its in zip(here, there, strict=True):
            if mine.get("d") != its.get("d"):
                mine.set("data-when", now)
                its.set("data-when", then)
                its.set("data-stroke", ref)
                part.insert(list(part).index(mine) + 1, its)
        part.set("data-switch", ref)


# Wires --------------------------------------------------------------------------------------------------------------


def _mark_wires(root: Tree.Element, drawing: Schematic) -> list[tuple[str, int]]:
    """Numbers the wires and finds places for arrows on them; gives the node and place of each."""
    found: list[tuple[str, int]] = []
    counts: dict[str, int] = {}
    arrows = []
    for line in root.iter("polyline"):
        node = str(line.get("data-node"))
        place = counts.get(node, 0)
        counts[node] = place + 1
        line.set("data-wire", str(len(found)))
        arrow = _arrow([tuple(map(float, one.split(","))) for one in str(line.get("points")).split()])
        if arrow is not None:
            arrows.append(Tree.Element("path", {"data-arrow": str(len(found)), **arrow}))
        found.append((node, place))
    if len(found) != sum(len(wires) for wires in drawing.wiring.wires.values()):
        raise AssertionError("a wire of the drawing is not in its picture")
    root.extend(arrows)
    return found


def _arrow(points: list[tuple[float, ...]]) -> dict[str, str] | None:
    """Middle and direction of the longest straight run, where it is long enough."""
    runs = [(abs(b[0] - a[0]) + abs(b[1] - a[1]), a, b) for a, b in pairwise(points)]
    length, a, b = max(runs, default=(0.0, (0.0, 0.0), (0.0, 0.0)))
    if length < _ARROW:
        return None
    numbers = {"x": 0.5 * (a[0] + b[0]), "y": 0.5 * (a[1] + b[1]), "ux": b[0] - a[0], "uy": b[1] - a[1]}
    for word in ("ux", "uy"):
        numbers[word] /= length
    return {f"data-{word}": f"{number:g}" for word, number in numbers.items()}


def _wire_mixes(drawing: Schematic, circuit: Circuit, layout: Layout, wires: list[tuple[str, int]]) -> tuple[Mix, ...]:
    """Of which rows each wire's current is made: what it does with one ampere in each pin in turn, as it is linear."""
    pins = [(e.ref, pin, node) for e in circuit.elements for pin, node in e.pins.items()]
    terminals = {pin.node for pin in drawing.placement.mains}
    found: list[dict[int, float]] = [{} for _ in wires]
    for ref, pin, node in pins:
        currents = {(e.ref, name): 0.0 for e in circuit.elements for name in e.pins}
        currents[ref, pin] = 1.0
        currents |= {(MAINS, end): -1.0 if end == node else 0.0 for end in terminals}
        along = wire_currents(drawing, currents)
        row, factor = layout.lead(circuit, ref, pin)
        for mix, (at, place) in zip(found, wires, strict=True):
            amount = factor * along[at][place] if at == node else 0.0
            if amount:
                mix[row] = mix.get(row, 0.0) + amount
    return tuple(tuple((row, factor) for row, factor in mix.items() if factor) for mix in found)


# Knobs --------------------------------------------------------------------------------------------------------------


def _knob_places(drawing: Schematic) -> dict[str, Rect]:
    """A free square for the knob of each potentiometer, as near to it as there is one."""
    room = room_of(drawing)
    kinds = {e.ref: e.kind for e in drawing.circuit.elements}
    found: dict[str, Rect] = {}
    for stand in drawing.placement.stands:
        if kinds[stand.ref] != "potentiometer":
            continue
        place = next((rect for rect in _around(stand) if room.free(rect)), None) or _below(drawing, len(found))
        room.take(place)
        found[stand.ref] = place
    return found


def _around(stand: Stand) -> Iterator[Rect]:
    body = stand.body
    x, y = 0.5 * (body.x0 + body.x1), 0.5 * (body.y0 + body.y1)
    steps = range(-int(_AWAY), int(_AWAY) + 1, 10)
    for dx, dy in sorted(product(steps, steps), key=lambda way: math.hypot(*way)):
        yield Rect(x + dx - KNOB, y + dy - KNOB, x + dx + KNOB, y + dy + KNOB)


def _below(drawing: Schematic, count: int) -> Rect:
    """Under the whole drawing, where nothing is free beside the part."""
    stands = drawing.placement.stands
    left = min(stand.keep.x0 for stand in stands) + count * 2.4 * KNOB
    top = max(stand.keep.y1 for stand in stands) + 40.0
    return Rect(left, top, left + 2.0 * KNOB, top + 2.0 * KNOB)


def _add_knobs(root: Tree.Element, drawing: Schematic, knobs: Mapping[str, Rect]) -> None:
    dx, dy = _shift(root, drawing)
    for stand in drawing.placement.stands:
        if stand.ref not in knobs:
            continue
        rect = knobs[stand.ref].moved(dx, dy)
        x, y = 0.5 * (rect.x0 + rect.x1), 0.5 * (rect.y0 + rect.y1)
        body = stand.body.moved(dx, dy)
        # The dashed line to its part ends at the part's edge.
        to = (min(max(x, body.x0), body.x1), min(max(y, body.y0), body.y1))
        tie = Tree.Element(
            "line",
            {"class": "knob-tie", "x1": f"{x:g}", "y1": f"{y:g}", "x2": f"{to[0]:g}", "y2": f"{to[1]:g}"},
        )
        root.append(tie)
        root.append(Tree.Element("g", {"data-knob": stand.ref, "data-x": f"{x:g}", "data-y": f"{y:g}"}))
