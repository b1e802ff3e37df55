"""The schematic of a circuit: parts placed, wires routed, all written as SVG that can be read back.

Placement is described in `place`, routing in `route`. Where a wire finds no way the parts are moved apart and the wires
laid again, until all is joined.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from lidoff.drawing.place import Placement, place
from lidoff.drawing.render import rendered
from lidoff.drawing.route import Straight, Terminal, Wiring, blocked_cells, route
from lidoff.drawing.shapes import GRID, Point, Rect, around
from lidoff.drawing.svg import DrawingError

if TYPE_CHECKING:
    from lidoff.circuit import Circuit

_SPREADS: Final = (1.0, 1.25, 1.6, 2.0, 2.6, 3.4)
_MARGIN: Final = 5  # cells around all parts, for wires that go round


@dataclass(frozen=True, slots=True, kw_only=True)
class Schematic:
    """A drawn circuit: where its parts and wires are, and what it took to draw them."""

    circuit: Circuit
    placement: Placement
    wiring: Wiring
    origin: Point

    @property
    def bends(self) -> int:
        """Corners of all wires."""
        return self.wiring.bends

    @property
    def crossings(self) -> int:
        """Places where wires of two nodes cross."""
        return self.wiring.crossings


def schematic(
    circuit: Circuit,
    *,
    figures: Mapping[str, str] | None = None,
    groups: Sequence[Any] | None = None,
    hints: Mapping[str, Any] | None = None,
) -> Schematic:
    """Places and wires a circuit; arguments as for `schematic_svg`."""
    near = {ref: k + 1 for k, group in enumerate(groups or ()) for ref in group.refs}
    placement = place(circuit, figures=figures or {}, near=near, order=_order(hints))
    for spread in _SPREADS:
        spaced = placement if spread == 1.0 else placement.spread(spread)
        wired = _wired(circuit, spaced)
        if wired is not None:
            return Schematic(circuit=circuit, placement=spaced, wiring=wired[0], origin=wired[1])
    raise DrawingError("The wires of this circuit find no way around its parts; take the drawing hints out")


def _order(hints: Mapping[str, Any] | None) -> Sequence[str]:
    return [str(ref) for ref in (hints or {}).get("order", ())]


def _wired(circuit: Circuit, placement: Placement) -> tuple[Wiring, Point] | None:
    elements = {e.ref: e for e in circuit.elements}
    mains = [Rect(p.at[0] - 40.0, p.at[1] - 10.0, p.at[0] - 1.0, p.at[1] + 10.0) for p in placement.mains]
    buses = [
        Rect(min(b.start[0], b.end[0]), min(b.start[1], b.end[1]), max(b.start[0], b.end[0]), max(b.start[1], b.end[1]))
        for b in placement.buses
    ]
    room = around([*(s.keep for s in placement.stands), *mains, *(f.rect for f in placement.frames), *buses])
    left = int(room.x0 // GRID) - _MARGIN
    top = int(room.y0 // GRID) - _MARGIN
    width = int(room.x1 // GRID) + _MARGIN + 1 - left
    height = int(room.y1 // GRID) + _MARGIN + 1 - top
    origin = (float(left * GRID), float(top * GRID))

    def cell(point: Point) -> tuple[int, int]:
        return round(point[0] / GRID) - left, round(point[1] / GRID) - top

    pins = []
    for stand in placement.stands:
        for name, node in elements[stand.ref].pins.items():
            out = stand.symbol.pins[name].out
            pins.append(Terminal(node, cell(stand.pin(name)), (round(out[0]), round(out[1]))))
    pins += [Terminal(pin.node, cell(pin.at), (1, 0)) for pin in placement.mains]
    rects = [(stand.body, 3.0) for stand in placement.stands]
    rects += [(words.rect, 2.0) for stand in placement.stands for words in stand.texts]
    rects += [(words.rect, 2.0) for words in placement.captions]
    rects += [(_lead_box(stand, name), 1.0) for stand in placement.stands for name in stand.symbol.pins]
    rects += [(rect, 1.0) for rect in mains]
    rects += [
        (Rect(f.caption[0], f.caption[1] - 10.0, f.caption[0] + 110.0, f.caption[1] + 3.0), 1.0)
        for f in placement.frames
    ]
    blocked = blocked_cells(rects, origin, width, height)
    for pin in pins:
        blocked[pin.at[1] * width + pin.at[0]] = 0
    straights = [Straight(bus.node, cell(bus.start), cell(bus.end)) for bus in placement.buses]
    wiring = route(pins, straights, blocked, width, height)
    return None if wiring is None else (wiring, origin)


def _lead_box(stand: Any, name: str) -> Rect:
    """A thin box along the lead of a pin, between pin and body."""
    x, y = stand.pin(name)
    out = stand.symbol.pins[name].out
    return Rect(
        min(x, x - 20 * out[0]) - 2,
        min(y, y - 20 * out[1]) - 2,
        max(x, x - 20 * out[0]) + 2,
        max(y, y - 20 * out[1]) + 2,
    )


def schematic_svg(
    circuit: Circuit,
    *,
    figures: Mapping[str, str] | None = None,
    groups: Sequence[Any] | None = None,
    hints: Mapping[str, Any] | None = None,
    paper: bool = False,
) -> str:
    """The schematic of a circuit as SVG."""
    return rendered(schematic(circuit, figures=figures, groups=groups, hints=hints), paper=paper)


__all__ = ["Schematic", "replace", "schematic", "schematic_svg"]
