"""Networks laid out: lying along a rail or standing between two, as pieces that are put together and shifted.

A piece knows where its two ends are, what room it takes, and the straight wires (buses) that its parts expect; the
router draws these first and everything else around them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from lidoff.drawing.frames import Frame, frame_around
from lidoff.drawing.shapes import GRID, REACH, Point, Pose, Rect, around
from lidoff.drawing.stand import Stand, stand_for
from lidoff.drawing.symbols import SIDE_PINS, main_pins
from lidoff.drawing.ties import Setting, Tie, in_order, shifts_for, ties_of
from lidoff.drawing.trees import Framed, Leaf, Parallel, Port, Series, Tree, refs_of

if TYPE_CHECKING:
    from lidoff.circuit import Element

LENGTH: Final = 2.0 * REACH  # from pin to pin
GAP: Final = 20.0  # between the pins of neighbours, and from a pin to a bus


@dataclass(frozen=True, slots=True)
class Bus:
    """A straight wire of a node, to be drawn before all others."""

    node: str
    start: Point
    end: Point

    def moved(self, dx: float, dy: float) -> Bus:
        """The wire shifted."""
        return Bus(self.node, (self.start[0] + dx, self.start[1] + dy), (self.end[0] + dx, self.end[1] + dy))


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Parts laid out around each other, with the two ends of their network."""

    stands: tuple[Stand, ...]
    start: Point
    end: Point
    box: Rect
    buses: tuple[Bus, ...] = ()
    frames: tuple[Frame, ...] = ()

    def moved(self, dx: float, dy: float) -> Piece:
        """The piece shifted."""
        return Piece(
            stands=tuple(stand.moved(dx, dy) for stand in self.stands),
            start=(self.start[0] + dx, self.start[1] + dy),
            end=(self.end[0] + dx, self.end[1] + dy),
            box=self.box.moved(dx, dy),
            buses=tuple(bus.moved(dx, dy) for bus in self.buses),
            frames=tuple(frame.moved(dx, dy) for frame in self.frames),
        )

    def moved_to(self, start: Point) -> Piece:
        """The piece with its start at that point."""
        return self.moved(start[0] - self.start[0], start[1] - self.start[1])


@dataclass(frozen=True, slots=True)
class Row:
    """Branches beside each other within a common length, not yet joined."""

    pieces: tuple[Piece, ...]
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """What is needed to lay out networks: the parts, what is written beside them, what ties them together.

    `rank` orders branches, `behind` lays out a two-port with all that it feeds.
    """

    setting: Setting
    figures: Mapping[str, str]
    size: float
    values: bool
    counts: Mapping[str, str]
    framed: frozenset[str]
    rank: Callable[[Tree], tuple[float, ...]]
    behind: Callable[[Port], Piece]

    @property
    def elements(self) -> Mapping[str, Element]:
        """The parts by ref."""
        return self.setting.elements

    def stand(self, ref: str, pose: Pose, half: float = 40.0) -> Stand:
        """The part in that pose around the origin."""
        element = self.elements[ref]
        count = "" if element.block in self.framed else self.counts.get(ref, "")
        figure = self.figures.get(ref, "")
        return stand_for(element, pose, half=half, figure=figure, count=count, size=self.size, values=self.values)

    def upset(self, leaf: Leaf) -> bool:
        """Whether the part's own first pin comes last on the way through its leaf."""
        element = self.elements[leaf.ref]
        return element.pins[main_pins(element.kind, tuple(element.pins))[0]] != leaf.a


def up(value: float) -> float:
    """The next line of the grid at or beyond the value."""
    return GRID * math.ceil(value / GRID - 1e-9)


def down(value: float) -> float:
    """The next line of the grid at or before the value."""
    return GRID * math.floor(value / GRID + 1e-9)


# Standing


def standing(shop: Workshop, tree: Tree, mirrored: frozenset[str] = frozenset()) -> Piece:
    """The network from top to bottom; the side pins of the parts in `mirrored` look to the right."""
    match tree:
        case Leaf(ref):
            pose = Pose(upset=shop.upset(tree), mirror=ref in mirrored)
            stand = shop.stand(ref, pose).moved(0.0, REACH)
            return Piece(stands=(stand,), start=(0.0, 0.0), end=(0.0, LENGTH), box=stand.keep)
        case Series(items):
            return _stacked(shop, items, mirrored)
        case Parallel(items, a, b):
            return _on_buses(columns(shop, items), a, b, standing_up=True)
        case Framed(_, inner):
            return framed(shop, tree, standing(shop, inner, mirrored))
        case Port():
            return shop.behind(tree)


def _stacked(shop: Workshop, items: Sequence[Tree], mirrored: frozenset[str]) -> Piece:
    pieces: list[Piece] = []
    buses: list[Bus] = []
    y = 0.0
    for item in items:
        piece = standing(shop, item, mirrored).moved_to((0.0, y))
        if pieces:
            before = pieces[-1]
            piece = piece.moved(0.0, up(max(0.0, before.box.y1 + 6.0 - piece.box.y0)))
            buses.append(Bus(item.a, before.end, (before.end[0], piece.start[1])))
        pieces.append(piece)
        y = piece.end[1] + GAP
    return _together(pieces, pieces[0].start, pieces[-1].end, tuple(buses))


def _wipers(shop: Workshop, branches: Sequence[Tree]) -> frozenset[str]:
    """The potentiometers: what they feed lies to the right."""
    refs = [ref for branch in branches for ref in refs_of(branch)]
    return frozenset(
        ref for ref in refs if shop.elements[ref].kind == "potentiometer" and shop.setting.side_node(ref) is not None
    )


def columns(shop: Workshop, branches: Sequence[Tree]) -> Row:
    """Branches side by side from left to right, each from top to bottom."""
    order = in_order(shop.setting, branches, shop.rank, steering_first=True)
    ties = ties_of(shop.setting, order)
    mirrored = frozenset(tie.ref for tie in ties if tie.ref is not None and tie.other > tie.one) | _wipers(shop, order)
    pieces = [standing(shop, branch, mirrored) for branch in order]
    shifts, tall = _levelled(shop, ties, pieces, axis=1)
    placed: list[Piece] = []
    edge = 0.0
    for place, (piece, shift) in enumerate(zip(pieces, shifts, strict=True)):
        x = up(edge + _tie_room(ties, place) - piece.box.x0 + piece.start[0]) if placed else 0.0
        placed.append(piece.moved_to((x, shift)))
        edge = placed[-1].box.x1 + 14.0
    return Row(tuple(placed), tall)


# Lying


def lying(shop: Workshop, tree: Tree, *, upward: bool = False) -> Piece:
    """The network from left to right; branches side by side are stacked downward, or upward."""
    match tree:
        case Leaf(ref):
            stand = shop.stand(ref, Pose(lying=True, upset=shop.upset(tree), mirror=upward)).moved(REACH, 0.0)
            return Piece(stands=(stand,), start=(0.0, 0.0), end=(LENGTH, 0.0), box=stand.keep)
        case Series(items):
            return _in_a_row(shop, items, upward)
        case Parallel(items, a, b):
            return _on_buses(_rows(shop, items, upward), a, b, standing_up=False)
        case Framed(_, inner):
            return framed(shop, tree, lying(shop, inner, upward=upward))
        case Port():
            piece = shop.behind(tree)
            return replace(piece, end=(up(piece.box.x1) + GAP, piece.start[1]))


def _in_a_row(shop: Workshop, items: Sequence[Tree], upward: bool) -> Piece:
    pieces: list[Piece] = []
    buses: list[Bus] = []
    for item in items:
        piece = lying(shop, item, upward=upward)
        x = 0.0
        if pieces:
            before = pieces[-1]
            x = up(max(before.end[0] + GAP, before.box.x1 + 8.0 - piece.box.x0 + piece.start[0]))
            buses.append(Bus(item.a, before.end, (x, before.end[1])))
        pieces.append(piece.moved_to((x, 0.0)))
    return _together(pieces, pieces[0].start, pieces[-1].end, tuple(buses))


def _rows(shop: Workshop, branches: Sequence[Tree], upward: bool) -> Row:
    """Branches one below the other (above, if upward), each from left to right."""
    order = in_order(shop.setting, branches, shop.rank, steering_first=False)
    # The switching part, else the most telling one, keeps to the line of the rail.
    lead = next((place for place, b in enumerate(order) if shop.setting.has_side(b)), 0)
    order = [*order[lead:], *order[:lead]]
    ties = ties_of(shop.setting, order)
    pieces = [lying(shop, branch, upward=upward) for branch in order]
    shifts, wide = _levelled(shop, ties, pieces, axis=0)
    placed: list[Piece] = []
    for place, (piece, shift) in enumerate(zip(pieces, shifts, strict=True)):
        y = 0.0
        if placed:
            gap = 12.0 + _tie_room(ties, place)
            before = placed[-1].box
            y = down(before.y0 - gap - piece.box.y1) if upward else up(before.y1 + gap - piece.box.y0)
        placed.append(piece.moved_to((shift, y)))
    return Row(tuple(placed), wide)


# Both


def framed(shop: Workshop, tree: Framed, piece: Piece) -> Piece:
    """The piece in a frame with its caption; its ends lie outside, so that no wire runs along the frame."""
    standing_up = piece.end[1] - piece.start[1] >= piece.end[0] - piece.start[0]
    refs = tuple(refs_of(tree.inner))
    ends = Rect(
        min(piece.start[0], piece.end[0]),
        min(piece.start[1], piece.end[1]),
        max(piece.start[0], piece.end[0]),
        max(piece.start[1], piece.end[1]),
    )
    frame, (left, top), (right, bottom) = frame_around(
        piece.box.with_(ends),
        block=tree.block,
        refs=refs,
        text=f"{tree.block} {shop.counts[refs[0]]}".strip(),
        size=shop.size,
        entry=piece.start[0] if standing_up else None,
    )
    start = (piece.start[0], top) if standing_up else (left, piece.start[1])
    end = (piece.end[0], bottom) if standing_up else (right, piece.end[1])
    return replace(
        piece,
        start=start,
        end=end,
        box=piece.box.with_(frame.rect).with_(frame.caption.rect),
        buses=(*piece.buses, Bus(tree.a, start, piece.start), Bus(tree.b, piece.end, end)),
        frames=(*piece.frames, frame),
    )


def _together(pieces: Sequence[Piece], start: Point, end: Point, buses: tuple[Bus, ...] = ()) -> Piece:
    ends = [Rect(x, y, x, y) for x, y in (start, end, *(p for bus in buses for p in (bus.start, bus.end)))]
    return Piece(
        stands=tuple(stand for piece in pieces for stand in piece.stands),
        start=start,
        end=end,
        box=around([*(piece.box for piece in pieces), *ends]),
        buses=(*(bus for piece in pieces for bus in piece.buses), *buses),
        frames=tuple(frame for piece in pieces for frame in piece.frames),
    )


def _on_buses(row: Row, a: str, b: str, *, standing_up: bool) -> Piece:
    """Branches joined at both ends: by a bus each, at a distance from the parts."""
    far = row.length + 2.0 * GAP
    pieces, buses = [], []
    for piece in row.pieces:
        placed = piece.moved(0.0, GAP) if standing_up else piece.moved(GAP, 0.0)
        (sx, sy), (ex, ey) = placed.start, placed.end
        pieces.append(placed)
        buses.append(Bus(a, (sx, 0.0) if standing_up else (0.0, sy), placed.start))
        buses.append(Bus(b, placed.end, (ex, far) if standing_up else (far, ey)))
    starts = [bus.start for bus in buses[::2]]
    ends = [bus.end for bus in buses[1::2]]
    buses += [Bus(a, min(starts), max(starts)), Bus(b, min(ends), max(ends))]
    return _together(pieces, starts[0], ends[0], tuple(bus for bus in buses if bus.start != bus.end))


def _tie_room(ties: Sequence[Tie], place: int) -> float:
    """Room that the branch in that place keeps to the one before it, for the parts that stand between the two."""
    parts = [tie.parts for tie in ties if {tie.one, tie.other} == {place - 1, place}]
    return max((count * (LENGTH + GAP) + GAP for count in parts if count), default=0.0)


def _levelled(shop: Workshop, ties: Sequence[Tie], pieces: Sequence[Piece], *, axis: int) -> tuple[list[float], float]:
    """How far each branch is shifted so that tied ones are level, and the length they take together."""

    def level(place: int, tie: Tie, own: bool) -> float | None:
        piece = pieces[place]
        if own and tie.ref is not None:
            stand = next((s for s in piece.stands if s.ref == tie.ref), None)
            if stand is None:
                return None
            return stand.pin(SIDE_PINS[stand.kind][2])[axis] - piece.start[axis]
        return _level(shop, piece, tie.node if own else tie.target, axis)

    return shifts_for(ties, [piece.end[axis] - piece.start[axis] for piece in pieces], level, down)


def _level(shop: Workshop, piece: Piece, node: str, axis: int) -> float | None:
    """Where along the piece a node lies: the middle of the gap between its pins, on the grid."""
    places = [
        stand.pin(pin)[axis]
        for stand in piece.stands
        for pin, at in shop.elements[stand.ref].pins.items()
        if at == node and pin in _ends(shop.elements[stand.ref])
    ]
    if not places:
        return None
    return down(0.5 * (min(places) + max(places))) - piece.start[axis]


def _ends(element: Element) -> tuple[str, str]:
    return main_pins(element.kind, tuple(element.pins))
