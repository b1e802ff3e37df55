"""What the cycle page is told once about an item in one of its states: parts, controls, picture, figures."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, Final

from lidoff.circuit import Circuit
from lidoff.circuit.model import Element
from lidoff.desk.live_drawing import KNOB, live_drawing
from lidoff.desk.live_frame import Layout
from lidoff.desk.live_tries import block_names, shown, tried_keys
from lidoff.drawing import DrawingError
from lidoff.drawing.stand import block_count
from lidoff.drawing.view import SWITCHING
from lidoff.drawing.words import supply_text, value_text
from lidoff.kinds import KINDS
from lidoff.record import Item

_WIDEST: Final = 0.25  # share by which the mains slider reaches to both sides at most


def scene_of(item: Item, circuit: Circuit, layout: Layout, *, inferred: Collection[str] = ()) -> dict[str, Any]:
    """Everything but the figures and waves, as JSON: see the keys below. Never raises for want of a picture.

    `inferred` names the values ("LED1.forward_voltage") that the readings have told.
    """
    picture: dict[str, Any] | None = None
    undrawn = ""
    try:
        drawn = live_drawing(circuit, layout, item.drawing)
        picture = {"svg": drawn.svg, "wires": drawn.wires, "leads": drawn.leads, "knob": KNOB}
    except DrawingError as error:
        undrawn = str(error)
    return {
        "state": circuit.state,
        "states": [state.name for state in item.states],
        "title": circuit.title,
        "direct": circuit.supply.dc is not None,
        "frequency": circuit.supply.frequency,
        "parts": [_part(element, inferred) for element in circuit.elements],
        "blocks": [_block(circuit, name, inferred) for name in block_names(circuit)],
        "knobs": [_knob(e) for e in circuit.elements if e.kind == "potentiometer"],
        "switches": [_switch(e) for e in circuit.elements if "closed" in e.values],
        "supply": _supply(circuit),
        "figures": [{"key": f.key, "label": f.label, "unit": f.unit, "large": f.large} for f in layout.figures],
        "pins": len(layout.pins),
        "switching": [{"ref": ref, "role": SWITCHING[_kind(circuit, ref)]} for ref in layout.switching],
        "lit": any(e.kind == "led" for e in circuit.elements),
        "leftOut": list(circuit.left_out),
        "assumed": list(circuit.warnings),
        "picture": picture,
        "undrawn": undrawn,
    }


def _kind(circuit: Circuit, ref: str) -> str:
    element = circuit.element(ref)
    assert element is not None
    return element.kind


def _part(element: Element, inferred: Collection[str]) -> dict[str, Any]:
    power = element.rating.get("power")
    return {
        "ref": element.ref,
        "title": KINDS[element.kind].title,
        "words": value_text(element),
        "rated": power if isinstance(power, int | float) else None,
        "tries": [_try(element, word, inferred) for word in tried_keys(element)],
        "block": element.block,
        "pins": [f"{element.ref}.{pin}" for pin in element.pins],
    }


def _block(circuit: Circuit, name: str, inferred: Collection[str]) -> dict[str, Any]:
    """A block, and how often it is there: `repeat` members in series, `parallel` such rows side by side."""
    own = [element for element in circuit.elements if element.block == name]
    counts = {"repeat": own[0].series, "parallel": own[0].parallel}
    labels = {"repeat": "in series", "parallel": "side by side"}
    return {
        "name": name,
        "parts": [element.ref for element in own],
        "drawn": f"{name} {block_count(own[0])}",
        "tries": [
            {
                "name": f"{name}.{word}",
                "label": labels[word],
                "text": f"{count:g}",
                "unit": "",
                "whole": True,
                "origin": "inferred from the readings"
                if f"{name}.{word}" in inferred
                else "not known, the middle is taken"
                if f"{name}.{word}" in circuit.unknowns
                else "",
            }
            for word, count in counts.items()
        ],
    }


def _try(element: Element, word: str, inferred: Collection[str]) -> dict[str, Any]:
    key = KINDS[element.kind].key(word)
    assert key is not None
    name = f"{element.ref}.{word}"
    origin = (
        "inferred from the readings"
        if name in inferred
        else "not known, the middle is taken"
        if word in element.unknown
        else "assumed"
        if word in element.assumed
        else "from its marking"
        if word in element.marked
        else ""
    )
    return {
        "name": name,
        "label": word.replace("_", " "),
        "text": shown(element.number(word), key.unit),
        "unit": key.unit,
        "origin": origin,
    }


def _knob(element: Element) -> dict[str, Any]:
    clockwise = element.values.get("clockwise")
    return {
        "ref": element.ref,
        "position": element.number("position"),
        # Which way a knob turns that nobody has noted: towards b, as tracks are mostly wired (common practice).
        "clockwise": clockwise if clockwise in ("a", "b") else "b",
        "told": clockwise in ("a", "b"),
        "words": value_text(element),
    }


def _switch(element: Element) -> dict[str, Any]:
    return {"ref": element.ref, "closed": bool(element.values["closed"]), "title": KINDS[element.kind].title}


def _supply(circuit: Circuit) -> dict[str, Any]:
    supply = circuit.supply
    if supply.dc is not None:
        return {"dc": supply.dc, "text": shown(supply.dc, "V"), "limit": supply.limit}
    # A measured voltage has a narrow range of its own; what the mains may be is wider, and that is what is tried.
    reach = min(max(supply.range, 0.10), _WIDEST)
    return {
        "voltage": supply.voltage,
        "words": supply_text(circuit)[0],
        "low": round(supply.voltage * (1.0 - reach)),
        "high": round(supply.voltage * (1.0 + reach)),
        "measured": supply.measured,
        "assumed": supply.assumed,
    }
