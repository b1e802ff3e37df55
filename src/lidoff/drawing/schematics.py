"""The schematic of a circuit: parts placed, wires routed, all written as SVG that can be read back.

Placement is described in `place`, routing in `route`. Where a wire finds no way the parts are moved apart and the wires
laid again, until all is joined.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from lidoff.drawing.hints import nudged, read_hints
from lidoff.drawing.labels import group_captions, node_labels, room_of
from lidoff.drawing.place import Placement, place
from lidoff.drawing.render import Overlay, rendered
from lidoff.drawing.route import Cell, Straight, Terminal, Wiring, blocked_cells, route
from lidoff.drawing.shapes import GRID, Point, Rect, around
from lidoff.drawing.stand import Stand
from lidoff.drawing.svg import DrawingError

if TYPE_CHECKING:
    from lidoff.circuit import Circuit

_SPREADS: Final = (1.0, 1.25, 1.6, 2.0, 2.6, 3.4)
_MARGIN: Final = 5  # cells around all parts, for wires that go round
_MANY: Final = 100  # pins above which the wires are gone over only once more
CAPTION: Final = 12.0


@dataclass(frozen=True, kw_only=True)
class Schematic:
    """A drawn circuit: where its parts and wires are, and what it took to draw them.

    `warnings` are sentences about hints that could not be followed.
    """

    circuit: Circuit
    placement: Placement
    wiring: Wiring
    origin: Point
    size: float = 13.0
    warnings: tuple[str, ...] = ()

    @property
    def bends(self) -> int:
        """Corners of all wires."""
        return self.wiring.bends

    @property
    def crossings(self) -> int:
        """Places where wires of two nodes cross."""
        return self.wiring.crossings

    def cell(self, point: Point) -> Cell:
        """The point on the router's grid."""
        return round((point[0] - self.origin[0]) / GRID), round((point[1] - self.origin[1]) / GRID)

    def point(self, cell: Cell) -> Point:
        """Where a point of the router's grid lies."""
        return cell[0] * GRID + self.origin[0], cell[1] * GRID + self.origin[1]

    @cached_property
    def points(self) -> Mapping[str, tuple[tuple[Point, ...], ...]]:
        """The wires of each node as points."""
        return {
            node: tuple(tuple(self.point(cell) for cell in wire) for wire in wires)
            for node, wires in self.wiring.wires.items()
        }

    @cached_property
    def dots(self) -> Mapping[str, tuple[Point, ...]]:
        """The junctions of each node."""
        return {node: tuple(self.point(cell) for cell in cells) for node, cells in self.wiring.dots.items()}


def schematic(
    circuit: Circuit,
    *,
    figures: Mapping[str, str] | None = None,
    groups: Sequence[Any] | None = None,
    hints: Mapping[str, Any] | None = None,
    size: float = 13.0,
    values: bool = True,
) -> Schematic:
    """Places and wires a circuit; arguments as for `schematic_svg`.

    `size` is that of the words, `values` whether values stand beside the designators. Raises DrawingError where there
    is nothing to draw.
    """
    if not circuit.elements:
        raise DrawingError("There are no parts to draw in this state")
    wishes, warnings = read_hints(hints or {}, circuit)
    near = {ref: k + 1 for k, group in enumerate(groups or ()) for ref in getattr(group, "own", None) or group.refs}
    placement = place(circuit, figures=figures or {}, near=near, order=wishes.order, size=size, values=values)
    moved, refused = nudged(placement, wishes)
    warnings = (*warnings, *refused)
    drawing = _spread_until_wired(circuit, moved, size)
    if drawing is None and moved is not placement:
        warnings = (*warnings, "The nudges of the drawing leave no way for a wire; they are not followed")
        drawing = _spread_until_wired(circuit, placement, size)
    if drawing is None:
        raise DrawingError("The wires of this circuit find no way around its parts; draw it in two pieces")
    return replace(drawing, warnings=warnings)


def _spread_until_wired(circuit: Circuit, placement: Placement, size: float) -> Schematic | None:
    for spread in _SPREADS:
        spaced = placement if spread == 1.0 else placement.spread(spread)
        wired = _wired(circuit, spaced)
        if wired is not None:
            return Schematic(circuit=circuit, placement=spaced, wiring=wired[0], origin=wired[1], size=size)
    return None


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

    def cell(point: Point) -> Cell:
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
    rects += [(frame.caption.rect, 1.0) for frame in placement.frames]
    blocked = blocked_cells(rects, origin, width, height)
    for pin in pins:
        blocked[pin.at[1] * width + pin.at[0]] = 0
    straights = [Straight(bus.node, cell(bus.start), cell(bus.end)) for bus in placement.buses]
    wiring = route(pins, straights, blocked, width, height, tidy=2 if len(pins) <= _MANY else 1)
    return None if wiring is None else (wiring, origin)


def _lead_box(stand: Stand, name: str) -> Rect:
    """A thin box along the lead of a pin, between pin and body."""
    x, y = stand.pin(name)
    out = stand.symbol.pins[name].out
    inner = (x - 2.0 * GRID * out[0], y - 2.0 * GRID * out[1])
    return Rect(min(x, inner[0]), min(y, inner[1]), max(x, inner[0]), max(y, inner[1])).grown(2.0)


def schematic_svg(
    circuit: Circuit,
    *,
    figures: Mapping[str, str] | None = None,
    groups: Sequence[Any] | None = None,
    hints: Mapping[str, Any] | None = None,
    node_names: bool = False,
    paper: bool = False,
) -> str:
    """The schematic of a circuit as SVG.

    `figures` maps refs to a short text that is written below the value ("4.3 W"). `groups` are recognised groups, each
    with `title` and `refs`: their parts are kept together where the connections leave a choice, and captioned. `hints`
    is the record's `[drawing]` (see `hints`). `node_names` writes the names of the nodes beside their wires. `paper`
    gives the picture its own light ground, for a file of its own.

    Raises DrawingError where there is nothing to draw.
    """
    drawing = schematic(circuit, figures=figures, groups=groups, hints=hints)
    return rendered(drawing, overlay_for(drawing, groups=groups or (), node_names=node_names), paper=paper)


def overlay_for(drawing: Schematic, *, groups: Sequence[Any] = (), node_names: bool = False) -> Overlay:
    """Captions of groups and names of nodes, where there is room; the rest as notes below the drawing."""
    room = room_of(drawing)
    mains = {pin.node for pin in drawing.placement.mains}
    names = {node: node.rpartition("/")[2] for node in drawing.circuit.nodes if node not in mains} if node_names else {}
    labels = node_labels(drawing, room, names, CAPTION, role="name")
    captions, areas = group_captions(drawing, room, groups, CAPTION)
    notes = [f"{title}: {refs}" for title, refs in captions.left_over if "," in refs]
    if drawing.circuit.left_out:
        notes.append(f"Not in this state: {', '.join(drawing.circuit.left_out)}.")
    return Overlay(words=(*labels.words, *captions.words), areas=areas, notes=tuple(notes))


__all__ = ["Schematic", "overlay_for", "schematic", "schematic_svg"]
