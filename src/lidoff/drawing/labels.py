"""Words added to a finished drawing: names or voltages of nodes, captions of groups, where there is room for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.drawing.shapes import Point, Rect, around
from lidoff.drawing.stand import Words
from lidoff.drawing.svg import text_width

if TYPE_CHECKING:
    from lidoff.drawing.schematics import Schematic

_WIRE: Final = 3.4  # kept free on each side of a wire


class Room:
    """What is taken on a drawing, to ask whether a box is free."""

    def __init__(self, rects: Iterable[Rect]) -> None:
        self._taken: NDArray[np.float64] = np.array([(r.x0, r.y0, r.x1, r.y1) for r in rects]).reshape(-1, 4)

    def free(self, rect: Rect) -> bool:
        """Whether nothing lies in the box."""
        t = self._taken
        meets = (t[:, 0] < rect.x1) & (t[:, 2] > rect.x0) & (t[:, 1] < rect.y1) & (t[:, 3] > rect.y0)
        return not bool(meets.any())

    def take(self, rect: Rect) -> None:
        """Marks the box as taken."""
        self._taken = np.vstack([self._taken, (rect.x0, rect.y0, rect.x1, rect.y1)])


@dataclass(frozen=True, slots=True)
class Labels:
    """Words that found a place, and those that did not: (node or title, text)."""

    words: tuple[Words, ...]
    left_over: tuple[tuple[str, str], ...]


def room_of(drawing: Schematic) -> Room:
    """All that lies on the drawing."""
    placement = drawing.placement
    rects = [stand.body.grown(1.0) for stand in placement.stands]
    rects += [words.rect for stand in placement.stands for words in stand.texts]
    rects += [words.rect for words in placement.captions]
    for pin in placement.mains:
        rects.append(Rect(pin.at[0] - 34.0, pin.at[1] - 10.0, pin.at[0] + 1.0, pin.at[1] + 10.0))
    for stand in placement.stands:
        for name, pin_ in stand.symbol.pins.items():
            x, y = stand.pin(name)
            ix, iy = x - 30.0 * pin_.out[0], y - 30.0 * pin_.out[1]
            rects.append(Rect(min(x, ix), min(y, iy), max(x, ix), max(y, iy)).grown(_WIRE))
    for wires in drawing.points.values():
        for wire in wires:
            for (x0, y0), (x1, y1) in pairwise(wire):
                rects.append(Rect(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)).grown(_WIRE))
    for dots in drawing.dots.values():
        rects += [Rect(x, y, x, y).grown(4.5) for x, y in dots]
    for frame in placement.frames:
        r = frame.rect
        rects += [Rect(r.x0, r.y0, r.x1, r.y0), Rect(r.x0, r.y1, r.x1, r.y1)]
        rects += [Rect(r.x0, r.y0, r.x0, r.y1), Rect(r.x1, r.y0, r.x1, r.y1)]
        rects.append(frame.caption.rect)
    return Room(rects)


def node_labels(drawing: Schematic, room: Room, texts: Mapping[str, str], size: float, *, role: str = "node") -> Labels:
    """Each node's text beside one of its wires."""
    words: list[Words] = []
    left_over: list[tuple[str, str]] = []
    for node, text in texts.items():
        places = chain(
            _beside_wires(drawing.points.get(node, ()), text, size, role), _at_mains(drawing, node, text, size)
        )
        found = next((w for w in places if room.free(w.rect.grown(1.0))), None)
        if found is None:
            left_over.append((node, text))
        else:
            words.append(found)
            room.take(found.rect.grown(2.0))
    return Labels(tuple(words), tuple(left_over))


def _at_mains(drawing: Schematic, node: str, text: str, size: float) -> Iterator[Words]:
    """Below and above the letter of a supply terminal."""
    for pin in drawing.placement.mains:
        if pin.node == node:
            x, y = pin.at
            for shift in (1.3 * size + 8.0, -0.6 * size - 8.0):
                yield Words(at=(x - 10.0, y + shift), text=text, anchor="end", role="node", size=size)


def _beside_wires(wires: Iterable[Sequence[Point]], text: str, size: float, role: str) -> Iterator[Words]:
    """Places above, below and beside the straight runs of a node, the longest run first, from its middle outward."""
    runs = [(a, b) for wire in wires for a, b in pairwise(wire)]
    runs.sort(key=lambda run: (run[0][1] != run[1][1], -abs(run[0][0] - run[1][0]) - abs(run[0][1] - run[1][1])))
    width = text_width(text, size)
    for (x0, y0), (x1, y1) in runs:
        lying = y0 == y1
        low, high = (min(x0, x1), max(x0, x1)) if lying else (min(y0, y1), max(y0, y1))
        middle = 0.5 * (low + high)
        steps = sorted(np.arange(low, high + 1.0, 5.0), key=lambda v: abs(float(v) - middle))
        for step in steps:
            at = float(step)
            if lying:
                for y in (y0 - 0.24 * size - 4.0, y0 + 0.78 * size + 4.0):
                    yield Words(at=(at - 0.5 * width, y), text=text, role=role, size=size)
            else:
                for x, anchor in ((x0 + 5.0, "start"), (x0 - 5.0, "end")):
                    yield Words(at=(x, at + 0.36 * size), text=text, anchor=anchor, role=role, size=size)


def group_captions(
    drawing: Schematic, room: Room, groups: Sequence[Any], size: float
) -> tuple[Labels, tuple[Rect, ...]]:
    """A caption beside the parts of each group, and a box behind those of them that no other part stands in.

    A group is anything with `refs` and `title`; where it tells which refs are its `own`, only those count.
    """
    words: list[Words] = []
    left_over: list[tuple[str, str]] = []
    areas: list[Rect] = []
    for group in groups:
        refs = set(getattr(group, "own", None) or group.refs)
        members = [stand for stand in drawing.placement.stands if stand.ref in refs]
        if not members:
            continue
        rect = around([stand.keep for stand in members]).grown(7.0)
        title = str(group.title)
        if len(members) == 1:  # it stands beside its designator already
            title = title.removesuffix(members[0].ref).strip()
        strangers = [s for s in drawing.placement.stands if s.ref not in refs and s.keep.meets(rect)]
        boxed = len(members) > 1 and not strangers and not any(rect.meets(other) for other in areas)
        found = next((w for w in _around_box(rect, title, size) if room.free(w.rect.grown(2.0))), None)
        if found is None:
            left_over.append((title, ", ".join(stand.ref for stand in members)))
        else:
            words.append(found)
            room.take(found.rect.grown(4.0))
        if boxed:
            areas.append(rect)
    return Labels(tuple(words), tuple(left_over)), tuple(areas)


def _around_box(rect: Rect, text: str, size: float) -> Iterator[Words]:
    """Places along the upper and the lower edge of a box, inside and outside, and a little farther off."""
    width = text_width(text, size)
    xs = [rect.x0 + 2.0, 0.5 * (rect.x0 + rect.x1 - width), rect.x1 - width - 2.0]
    xs += [float(x) for x in np.arange(rect.x0 - 0.5 * width, rect.x1 - 0.5 * width, 10.0)]
    for away in (0.0, 8.0, 16.0, 26.0):
        for y in (rect.y0 - 0.24 * size - 3.0 - away, rect.y1 + 0.78 * size + 3.0 + away):
            for x in xs:
                yield Words(at=(x, y), text=text, role="caption", size=size)
    for y in (rect.y0 + size, rect.y1 - 0.3 * size):
        for x in xs:
            yield Words(at=(x, y), text=text, role="caption", size=size)
