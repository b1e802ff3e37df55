"""The user's wishes for the drawing: the record's `[drawing]`.

    [drawing]
    order = ["C2", "LED1"]           # branches that come first, from left to right
    nudge = { R1 = [2, -1] }         # a part moved by that many steps of the grid, to the right and down

What cannot be followed is said and left alone; nothing here can make a drawing wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from lidoff.drawing.frames import Frame
from lidoff.drawing.place import Placement
from lidoff.drawing.shapes import GRID, Rect
from lidoff.drawing.stand import Stand

if TYPE_CHECKING:
    from lidoff.circuit import Circuit

KNOWN: Final = ("order", "nudge")
_FARTHEST: Final = 60  # steps


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """Wishes that were understood."""

    order: tuple[str, ...] = ()
    nudges: Mapping[str, tuple[int, int]] = field(default_factory=dict)


def read_hints(hints: Mapping[str, Any], circuit: Circuit) -> tuple[Hints, tuple[str, ...]]:
    """The wishes in a record's `[drawing]`, and a sentence for each that is not understood."""
    warnings: list[str] = []
    refs = {e.ref for e in circuit.elements} | set(circuit.left_out)
    for key in hints:
        if key not in KNOWN:
            warnings.append(f"drawing.{key} is not a hint this program knows; it knows {' and '.join(KNOWN)}")
    order: list[str] = []
    given = hints.get("order", ())
    if isinstance(given, str) or not isinstance(given, list | tuple):
        warnings.append('drawing.order has to be a list of parts, such as ["C2", "LED1"]')
        given = ()
    for ref in given:
        if str(ref) in refs:
            order.append(str(ref))
        else:
            warnings.append(f"drawing.order names {ref}, which is not a part of this record")
    nudges: dict[str, tuple[int, int]] = {}
    table = hints.get("nudge", {})
    if not isinstance(table, Mapping):
        warnings.append("drawing.nudge has to give each part its steps, such as { R1 = [2, -1] }")
        table = {}
    for ref, steps in table.items():
        pair = steps if isinstance(steps, list | tuple) else ()
        numbers = [step for step in pair if isinstance(step, int | float) and not isinstance(step, bool)]
        if str(ref) not in refs:
            warnings.append(f"drawing.nudge names {ref}, which is not a part of this record")
        elif len(numbers) != 2 or len(pair) != 2 or any(not abs(n) <= _FARTHEST for n in numbers):
            warnings.append(
                f"drawing.nudge.{ref} has to be two numbers of steps, each {_FARTHEST} at most: right, down"
            )
        else:
            nudges[str(ref)] = (round(numbers[0]), round(numbers[1]))
    return Hints(order=tuple(order), nudges=nudges), tuple(warnings)


def nudged(placement: Placement, hints: Hints) -> tuple[Placement, tuple[str, ...]]:
    """The placement with parts moved as wished; those that would come to lie on others stay, which is said."""
    warnings: list[str] = []
    stands = list(placement.stands)
    taken = [Rect(p.at[0] - 50.0, p.at[1] - 20.0, p.at[0] + 20.0, p.at[1] + 20.0) for p in placement.mains]
    taken += [words.rect for words in placement.captions]
    taken += [frame.caption.rect for frame in placement.frames]
    moved = False
    for place, stand in enumerate(stands):
        steps = hints.nudges.get(stand.ref)
        if steps is None or steps == (0, 0):
            continue
        wished = stand.moved(float(GRID * steps[0]), float(GRID * steps[1]))
        others = [other.keep for k, other in enumerate(stands) if k != place]
        if any(wished.keep.grown(8.0).meets(rect) for rect in (*others, *taken)):
            warnings.append(
                f"drawing.nudge.{stand.ref} would put it on another part or on words; it stays where it was"
            )
        elif not all(_keeps_to(wished, frame) for frame in placement.frames):
            warnings.append(
                f"drawing.nudge.{stand.ref} would move it through the frame of a block; it stays where it was"
            )
        else:
            stands[place] = wished
            moved = True
    return (replace(placement, stands=tuple(stands)) if moved else placement), tuple(warnings)


def _keeps_to(stand: Stand, frame: Frame) -> bool:
    """Whether a member of a block is inside its frame, and any other part outside."""
    keep, rect = stand.keep, frame.rect
    if stand.ref in frame.refs:
        return rect.x0 < keep.x0 and keep.x1 < rect.x1 and rect.y0 < keep.y0 and keep.y1 < rect.y1
    return not keep.grown(4.0).meets(rect)
