"""Every part at its place: the ladder of stages first, then what was set aside, where it comes closest to its nodes.

Method. Networks are reduced to series and parallel (`skeleton`), which tells what lies along the rails and what stands
between them (`ladder`): a layered placement along the flow of energy in which alignment counts, not distance. A chain
is a straight line, branches share their buses, and what steers a part is brought level with it (`ties`). What does not
reduce (bridging parts, leads to gates) is placed one by one: for each of its poses and every free place of the grid
the distance of its ends to their nodes is computed, and the least wins. Force-directed placement and the plain layered
one of flow charts were considered; both treat parts as points and leave the straight rails, which make a schematic
readable, to chance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.drawing.frames import Frame
from lidoff.drawing.ladder import Builder
from lidoff.drawing.pieces import Bus, Piece, Workshop, down, lying, standing, up
from lidoff.drawing.shapes import GRID, Point, Pose, Rect, around
from lidoff.drawing.skeleton import Skeleton, skeleton_of
from lidoff.drawing.stand import SIZE, Stand, Words, counts_of
from lidoff.drawing.symbols import TWO_PORTS, main_pins
from lidoff.drawing.ties import Setting
from lidoff.drawing.trees import Framed, Leaf, Parallel, Port, Series, Tree, has_port, leaves, refs_of, reversed_tree
from lidoff.drawing.words import supply_text

if TYPE_CHECKING:
    from lidoff.circuit import Circuit

CLEAR: Final = 14.0  # between a part that is fitted in and all others [SVG units]
_EARTH_DROP: Final = 60.0

# From the left to the right: what protects, what stores, what drops, what shines.
_RANK: Final[Mapping[str, int]] = {
    "varistor": 0,
    "capacitor": 1,
    "resistor": 2,
    "zener": 3,
    "diode": 3,
    "inductor": 3,
    "potentiometer": 3,
    "transistor": 5,
    "mosfet": 5,
    "triac": 5,
    "thyristor": 5,
    "indicator": 6,
    "relay": 7,
    "motor": 7,
    "heater": 7,
    "lamp": 8,
    "led": 8,
    "converter": 9,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MainsPin:
    """Where the supply comes in: its node, the point where the wire begins, and what is written beside it."""

    node: str
    at: Point
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Parts, supply pins, wanted wires and frames of a drawing."""

    stands: tuple[Stand, ...]
    mains: tuple[MainsPin, ...]
    buses: tuple[Bus, ...]
    frames: tuple[Frame, ...]
    captions: tuple[Words, ...]

    def spread(self, factor: float) -> Placement:
        """The same arrangement with more room between the parts, every part on the grid."""

        def far(value: float) -> float:
            return down(value * factor + 0.5 * GRID)

        def point(p: Point) -> Point:
            return far(p[0]), far(p[1])

        moved = tuple(
            stand.moved(far(stand.at[0]) - stand.at[0], far(stand.at[1]) - stand.at[1]) for stand in self.stands
        )
        return replace(
            self,
            stands=moved,
            mains=tuple(replace(pin, at=point(pin.at)) for pin in self.mains),
            buses=tuple(Bus(bus.node, point(bus.start), point(bus.end)) for bus in self.buses),
            frames=tuple(
                frame.spread(factor, None if frame.entry is None else far(frame.entry)) for frame in self.frames
            ),
        )


def place(
    circuit: Circuit,
    *,
    figures: Mapping[str, str],
    order: Sequence[str] = (),
    near: Mapping[str, int] | None = None,
    size: float = SIZE,
    values: bool = True,
) -> Placement:
    """Places all parts of a circuit.

    `figures` is written beside the parts; `order` names parts that should come early, from left to right; `near` gives
    parts that belong together the same number. `size` is that of the words, `values` whether values are written.
    """
    elements = {e.ref: e for e in circuit.elements}
    top, bottom = _fed(circuit)
    skeleton = skeleton_of(circuit.elements, top, bottom)
    framed = _framed_blocks(skeleton)
    wished = {ref: place for place, ref in enumerate(order)}
    groups = near or {}

    def ranked(tree: Tree) -> tuple[float, ...]:
        refs = refs_of(tree) or [leaf.name for leaf in leaves(tree) if not isinstance(leaf, Leaf)]
        wish = min((wished.get(ref, len(wished)) for ref in refs), default=len(wished))
        group = min((groups.get(ref, 0) for ref in refs), default=0)
        rank = max((_RANK.get(elements[ref].kind, 4) for ref in refs if ref in elements), default=4)
        return (float(wish), float(rank), float(group), float(len(refs)))

    def behind(port: Port) -> Piece:
        return builder.behind(port)

    shop = Workshop(
        setting=Setting(elements, skeleton.leads, skeleton.links),
        figures=figures,
        size=size,
        values=values,
        counts=counts_of(circuit.elements),
        framed=framed,
        rank=ranked,
        behind=behind,
    )
    builder = Builder(shop, skeleton)
    whole = builder.whole()
    earth = any("earth" in e.nodes for e in circuit.elements) and circuit.supply.dc is None
    mains = _mains(circuit, top, bottom, whole, earth)
    fitted = _fitted_in(shop, skeleton, whole, mains)
    return Placement(
        stands=fitted.stands,
        mains=mains,
        buses=fitted.buses,
        frames=fitted.frames,
        captions=_supply_words(circuit, whole, size) if values else (),
    )


def _fed(circuit: Circuit) -> tuple[str, str]:
    supply = circuit.supply
    if supply.dc is not None and supply.nodes is not None:
        return supply.nodes
    return "live", "neutral"


def _framed_blocks(skeleton: Skeleton) -> frozenset[str]:
    found: set[str] = set()

    def look(tree: Tree | None) -> None:
        if isinstance(tree, Framed):
            found.add(tree.block)
            look(tree.inner)
        elif isinstance(tree, Series | Parallel):
            for item in tree.items:
                look(item)

    for stage in (skeleton.first, *skeleton.beyond.values()):
        look(stage.tree)
    for tree in (*skeleton.links, *skeleton.loose):
        look(tree)
    return frozenset(found)


def _mains(circuit: Circuit, top: str, bottom: str, whole: Piece, earth: bool) -> tuple[MainsPin, ...]:
    x = whole.start[0]
    names = ("+", "−") if circuit.supply.dc is not None else ("L", "N")
    pins = [
        MainsPin(node=top, at=(x, whole.start[1]), name=names[0]),
        MainsPin(node=bottom, at=(x, whole.end[1]), name=names[1]),
    ]
    if earth:
        y = up(max(whole.end[1] + _EARTH_DROP, whole.box.y1 + 20.0))
        pins.append(MainsPin(node="earth", at=(x, y), name="E"))
    used = set(circuit.nodes)
    return tuple(pin for pin in pins if pin.node in used)


def _supply_words(circuit: Circuit, whole: Piece, size: float) -> tuple[Words, ...]:
    x = whole.start[0] - 12.0
    middle = 0.5 * (whole.start[1] + whole.end[1])
    first, second = supply_text(circuit)
    lines = [text for text in (first, second) if text]
    return tuple(
        Words(
            at=(x, middle + (4.5 + (k - 0.5 * (len(lines) - 1)) * 16.0) * size / SIZE),
            text=text,
            anchor="end",
            role="caption",
            size=size,
        )
        for k, text in enumerate(lines)
    )


# What was set aside


def _fitted_in(shop: Workshop, skeleton: Skeleton, whole: Piece, mains: Sequence[MainsPin]) -> Piece:
    """The ladder with all that was set aside fitted into its gaps or around it."""
    piece = whole
    missing = {ref for ref in shop.elements if ref not in {stand.ref for stand in whole.stands}}
    for ref in [ref for ref in shop.elements if ref in missing and shop.elements[ref].kind in TWO_PORTS]:
        piece = _join(piece, _best_place(shop, piece, mains, [_alone(shop, ref)]))
        missing.remove(ref)
    waiting: list[Tree] = []
    for tree in (*skeleton.leads, *skeleton.links, *skeleton.loose):
        refs = refs_of(tree)
        if not has_port(tree) and missing.issuperset(refs):
            waiting.append(tree)
            missing.difference_update(refs)
    # What hung on a two-port that found no place in a stage goes part by part.
    waiting += [_leaf_of(shop, ref) for ref in shop.elements if ref in missing]
    while waiting:
        known = _places(shop, piece, mains)
        # What has both ends on the drawing comes first.
        tree = max(waiting, key=lambda t: ((t.a in known) + (t.b in known), -len(refs_of(t))))
        waiting.remove(tree)
        poses = [layout(shop, way) for way in (tree, reversed_tree(tree)) for layout in (standing, lying)]
        piece = _join(piece, _best_place(shop, piece, mains, poses))
    return piece


def _leaf_of(shop: Workshop, ref: str) -> Leaf:
    element = shop.elements[ref]
    one, two = main_pins(element.kind, tuple(element.pins))
    return Leaf(ref, element.pins[one], element.pins[two])


def _alone(shop: Workshop, ref: str) -> Piece:
    """A two-port by itself."""
    stand = shop.stand(ref, Pose(), half=40.0)
    return Piece(stands=(stand,), start=(0.0, 0.0), end=(0.0, 0.0), box=stand.keep)


def _join(piece: Piece, other: Piece) -> Piece:
    return replace(
        piece,
        stands=(*piece.stands, *other.stands),
        box=piece.box.with_(other.box),
        buses=(*piece.buses, *other.buses),
        frames=(*piece.frames, *other.frames),
    )


def _places(shop: Workshop, piece: Piece, mains: Sequence[MainsPin]) -> dict[str, list[Point]]:
    """Where each node can be reached: the point in front of each of its pins."""
    places: dict[str, list[Point]] = {}
    for stand in piece.stands:
        for name, node in shop.elements[stand.ref].pins.items():
            pin = stand.symbol.pins[name]
            x, y = stand.pin(name)
            places.setdefault(node, []).append((x + GRID * pin.out[0], y + GRID * pin.out[1]))
    for pin_ in mains:
        places.setdefault(pin_.node, []).append(pin_.at)
    pins = {stand.pin(name) for stand in piece.stands for name in stand.symbol.pins}
    for bus in piece.buses:
        (x0, y0), (x1, y1) = bus.start, bus.end
        count = max(1, round(max(abs(x1 - x0), abs(y1 - y0)) / (2 * GRID)))
        along: list[Point] = [
            (down(x0 + (x1 - x0) * k / count), down(y0 + (y1 - y0) * k / count)) for k in range(count + 1)
        ]
        places.setdefault(bus.node, []).extend(p for p in along if p not in pins)
    return places


def _best_place(shop: Workshop, piece: Piece, mains: Sequence[MainsPin], poses: Sequence[Piece]) -> Piece:
    """The pose and place of the least cost, free of all that stands already."""
    places = _places(shop, piece, mains)
    box = around([piece.box, *(Rect(p.at[0], p.at[1], p.at[0], p.at[1]) for p in mains)])
    left = box.x0 + 30.0  # nothing is put to the left of the mains
    best: tuple[float, Piece] | None = None
    taken = [
        *((rect, margin) for stand in piece.stands for rect, margin in _rooms(stand)),
        *((box, CLEAR) for frame in piece.frames for box in (frame.rect, frame.caption.rect)),
        *((Rect(*_sorted(bus.start, bus.end)), 9.0) for bus in piece.buses),
        *((Rect(p.at[0] - 60.0, p.at[1] - 20.0, p.at[0] + 20.0, p.at[1] + 20.0), 0.0) for p in mains),
    ]
    for pose in poses:
        rooms = [room for stand in pose.stands for room in _rooms(stand)]
        rooms += [(box, CLEAR) for frame in pose.frames for box in (frame.rect, frame.caption.rect)]
        keep = around([pose.box, *(rect for rect, _ in rooms)])
        xs = np.arange(down(left - keep.x0), up(box.x1 - keep.x0 + 60.0) + GRID, GRID)
        ys = np.arange(down(box.y0 - keep.y1 - 60.0), up(box.y1 - keep.y0 + 60.0) + GRID, GRID)
        free = np.ones((ys.size, xs.size), dtype=bool)
        for (own, near), (rect, far) in product(rooms, taken):
            gap = min(near, far)
            free[_reach(ys, rect.y0 - own.y1 - gap, rect.y1 - own.y0 + gap), :][
                :, _reach(xs, rect.x0 - own.x1 - gap, rect.x1 - own.x0 + gap)
            ] = False
        cost = np.zeros_like(free, dtype=float)
        for stand in pose.stands:
            for name, node in shop.elements[stand.ref].pins.items():
                if node in places:
                    pin = stand.symbol.pins[name]
                    x, y = stand.pin(name)
                    cost += _distance(xs + x + GRID * pin.out[0], ys + y + GRID * pin.out[1], places[node], pin.out)
        # Outside the drawing so far only where there is no room in it.
        beyond_x = np.maximum(xs + keep.x1 - box.x1, 0.0) + np.maximum(box.x0 - xs - keep.x0, 0.0)
        beyond_y = np.maximum(ys + keep.y1 - box.y1, 0.0) + np.maximum(box.y0 - ys - keep.y0, 0.0)
        cost += 0.5 * beyond_x[None, :] + 0.5 * beyond_y[:, None]
        cost[~free] = np.inf
        row, column = np.unravel_index(int(cost.argmin()), cost.shape)
        value = float(cost[row, column])
        if best is None or value < best[0]:
            best = (value, pose.moved(float(xs[column]), float(ys[row])))
    assert best is not None
    return best[1]


def _reach(places: NDArray[np.float64], low: float, high: float) -> slice:
    """Which of the evenly spaced places lie between the two."""
    first = math.floor((low - places[0]) / GRID) + 1
    last = math.ceil((high - places[0]) / GRID)
    return slice(max(first, 0), max(last, 0))


def _rooms(stand: Stand) -> list[tuple[Rect, float]]:
    """The room a part takes, each box with its margin: body and words wide, the way out of each pin narrow."""
    rooms = [(stand.body, CLEAR), *((words.rect, CLEAR - 6.0) for words in stand.texts)]
    for name, pin in stand.symbol.pins.items():
        x, y = stand.pin(name)
        fx, fy = x + GRID * pin.out[0], y + GRID * pin.out[1]
        rooms.append((Rect(min(x, fx), min(y, fy), max(x, fx), max(y, fy)), 6.0))
    return rooms


def _sorted(a: Point, b: Point) -> tuple[float, float, float, float]:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _distance(
    xs: NDArray[np.float64], ys: NDArray[np.float64], places: Sequence[Point], out: Point
) -> NDArray[np.float64]:
    """Length and bends of the way from each place of a pin's front to the nearest of the points, roughly."""
    best = np.full((ys.size, xs.size), np.inf)
    for px, py in places:
        dx, dy = px - xs, py - ys
        way = np.abs(dx)[None, :] + np.abs(dy)[:, None]
        bend = 25.0 * ((np.abs(dx) > 0.0)[None, :] & (np.abs(dy) > 0.0)[:, None])
        # The pin has to look towards the point, or the wire goes round.
        ahead = (dx * out[0])[None, :] + (dy * out[1])[:, None]
        aside = np.abs(dx * out[1])[None, :] + np.abs(dy * out[0])[:, None]
        turn = 25.0 * ((ahead <= 0.0) & (aside > 0.0)) + 60.0 * (ahead < 0.0)
        best = np.minimum(best, way + bend + turn)
    return best
