"""The frame around the members of a repeated block, with its caption."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from lidoff.drawing.shapes import GRID, Point, Rect
from lidoff.drawing.stand import Words

MARGIN: Final = 20.0  # from the parts of a block to its frame


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A frame: its block and members, its box, the words above it, and the x of a wire that comes in from above."""

    block: str
    refs: tuple[str, ...]
    rect: Rect
    text: str
    size: float
    entry: float | None = None

    @property
    def caption(self) -> Words:
        """The words above the frame, to the right of the wire that comes in there."""
        x = self.rect.x0 + 2.0 if self.entry is None else self.entry + 8.0
        return Words(at=(x, self.rect.y0 - 5.0), text=self.text, role="caption", size=self.size)

    def moved(self, dx: float, dy: float) -> Frame:
        """The frame shifted."""
        return self._with(self.rect.moved(dx, dy), None if self.entry is None else self.entry + dx)

    def spread(self, factor: float, entry: float | None) -> Frame:
        """The frame drawn out with the parts in it; `entry` is where its wire now comes in."""
        r = self.rect
        return self._with(Rect(r.x0 * factor, r.y0 * factor, r.x1 * factor, r.y1 * factor), entry)

    def _with(self, rect: Rect, entry: float | None) -> Frame:
        return Frame(block=self.block, refs=self.refs, rect=rect, text=self.text, size=self.size, entry=entry)


def frame_around(
    box: Rect, *, block: str, refs: tuple[str, ...], text: str, size: float, entry: float | None
) -> tuple[Frame, Point, Point]:
    """The frame around a box, and its upper left and lower right corners on the grid outside of it."""
    rect = Rect(
        _down(box.x0) - MARGIN + 5.0,
        _down(box.y0) - MARGIN - 5.0,
        -_down(-box.x1) + MARGIN - 5.0,
        -_down(-box.y1) + MARGIN - 5.0,
    )
    frame = Frame(block=block, refs=refs, rect=rect, text=text, size=size, entry=entry)
    outside = ((_down(rect.x0 - 5.0), _down(rect.y0 - 5.0)), (-_down(-rect.x1 - 5.0), -_down(-rect.y1 - 5.0)))
    return frame, *outside


def _down(value: float) -> float:
    return GRID * (value // GRID)
