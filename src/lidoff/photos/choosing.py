"""Which views of a photo to believe: all of them read small, both ways round, and compared by what comes out.

Reading a view costs seconds at full size and a tenth of that small; what the comparison asks (does this join anything,
does it join everything, how much stays in doubt) shows at either size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.masked import looks_masked, turned_under_mask, under_mask
from lidoff.photos.reading import Reading, read
from lidoff.photos.views import View, channels, mixed, view

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Map, Mask

_SAME: Final = 0.98  # correlation of two measures, from which only one of them is looked at
_CLEAR: Final = 0.75  # worth from which no mask is looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """What is looked at: colours (L*a*b*), where there surely is board, where there may be, the pads, the enlargement
    from the photo's pixels.
    """

    colours: Map
    core: Mask
    wide: Mask
    points: NDArray[np.float64]
    enlarged: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A view worth reading: its small reading, and how to make it at full size."""

    small: Reading
    make: Callable[[Board], View | None]

    @property
    def name(self) -> str:
        """The view's name."""
        return self.small.view.name


Maker = Callable[[Board], View | None]


def choices(board: Board) -> tuple[Choice, ...]:
    """All the views read on a (small) board, the plausible ones first, then by worth and contrast."""
    found: list[Choice] = []
    seen: list[Map] = []
    for name in channels(board.colours):
        for maker in (_plain(name), _mixed(name)):
            made = maker(board)
            if made is None or any(alike(made.plain, before, board.core) > _SAME for before in seen):
                continue
            seen.append(made.plain)
            for turned in (False, True):
                one = _turned(maker) if turned else maker
                found.append(Choice(small=_read(board, made.turned() if turned else made), make=one))
    if not any(one.small.plausible and one.small.worth >= _CLEAR for one in found):
        metals = [one for one in found if looks_masked(one.small)]
        if metals:
            found += _masked(board, max(metals, key=lambda one: one.small.view.contrast))
    return tuple(sorted(found, key=rank))


def rank(one: Choice) -> tuple[bool, float, float]:
    """For sorting: plausible first, then what is most like a board, then contrast."""
    return (not one.small.plausible, -round(one.small.worth / 0.04), -one.small.view.contrast)


def alike(one: Map, other: Map, area: Mask) -> float:
    """The correlation of two maps within an area [1]."""
    a, b = one[area][::7], other[area][::7]
    if a.std() < 1e-6 or b.std() < 1e-6:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def _read(board: Board, made: View) -> Reading:
    return read(made, board.points, board.wide, enlarged=board.enlarged)


def _plain(name: str) -> Maker:
    def make(board: Board) -> View | None:
        return view(name, channels(board.colours)[name], board.core, enlarged=board.enlarged)

    return make


def _mixed(name: str) -> Maker:
    def make(board: Board) -> View | None:
        start = view(name, channels(board.colours)[name], board.core, enlarged=board.enlarged)
        measure = mixed(board.colours, board.core, start.plain > 0)
        if measure is None:
            return None
        return view(f"mix from {name}", measure, board.core, enlarged=board.enlarged)

    return make


def _turned(maker: Maker) -> Maker:
    def make(board: Board) -> View | None:
        made = maker(board)
        return None if made is None else made.turned()

    return make


def _masked(board: Board, metal: Choice) -> list[Choice]:
    def shades(at: Board) -> dict[str, View]:
        made = metal.make(at)
        if made is None:
            return {}
        seen = _read(at, made)
        both: dict[str, View] = {}
        for shade in under_mask(at.colours, at.core, seen, enlarged=at.enlarged):
            dark = turned_under_mask(shade, at.enlarged, seen)
            both |= {shade.name: shade, dark.name: dark}
        return both

    def maker(name: str) -> Maker:
        return lambda at: shades(at).get(name)

    return [Choice(small=_read(board, made), make=maker(name)) for name, made in shades(board).items()]
