"""Which views of a photo to believe: all of them read small, both ways round, and compared by what comes out.

Reading a view costs seconds at full size and a tenth of that small; what the comparison asks (does this join anything,
does it join everything, how much stays in doubt) shows at either size.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.masked import Shade, looks_masked, shade_view, under_mask
from lidoff.photos.reading import Reading, read
from lidoff.photos.views import MEASURES, Recipe, View, alike, mixed, recipe, view

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Map, Mask

_SAME: Final = 0.98  # correlation of two measures, from which only one of them is looked at
_AS_LIKELY: Final = 0.08  # of worth, within which contrast decides
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """A view worth reading: its small reading, and how to make it at full size."""

    small: Reading
    make: Callable[[Board], View]

    @property
    def name(self) -> str:
        """The view's name."""
        return self.small.view.name


def choices(board: Board) -> tuple[Choice, ...]:
    """All the views read on a (small) board, the plausible ones first, then by worth and contrast."""
    ways: list[tuple[View, Callable[[Board], View]]] = []
    seen: list[Map] = []
    for name, weights in MEASURES.items():
        start = recipe(name, weights, board.colours, board.core)
        plain = view(start, board.colours, board.core, enlarged=board.enlarged)
        made = [(start, plain)]
        if (mix := mixed(board.colours, board.core, plain.plain > 0)) is not None:
            mixture = recipe(f"mix from {name}", mix, board.colours, board.core)
            made.append((mixture, view(mixture, board.colours, board.core, enlarged=board.enlarged)))
        for one, seen_so in made:
            if any(alike(seen_so.plain, before, board.core) > _SAME for before in seen):
                continue
            seen.append(seen_so.plain)
            ways.append((seen_so, _maker(one, turned=False)))
            ways.append((seen_so.turned(), _maker(one, turned=True)))
    found = _read_all(board, ways)
    if not any(one.small.plausible and one.small.worth >= _CLEAR for one in found):
        metals = [one for one in found if looks_masked(one.small)]
        if metals:
            found += _masked(board, max(metals, key=lambda one: one.small.view.contrast).small)
    return tuple(_ranked(found))


def _ranked(found: list[Choice]) -> list[Choice]:
    """Plausible ones first, the most board-like before the rest; of those that are about as board-like as the best, the
    one with the strongest contrast.
    """
    ordered = sorted(found, key=lambda one: (not one.small.plausible, -one.small.worth))
    if not ordered or not ordered[0].small.plausible:
        return ordered
    best = ordered[0].small.worth
    near = [one for one in ordered if one.small.plausible and one.small.worth >= best - _AS_LIKELY]
    rest = [one for one in ordered if one not in near]
    return sorted(near, key=lambda one: -one.small.view.contrast) + rest


def _read_all(board: Board, ways: Sequence[tuple[View, Callable[[Board], View]]]) -> list[Choice]:
    """Each view read, two at a time: flooding and filters leave the interpreter free meanwhile."""
    with ThreadPoolExecutor(2) as pool:
        small = pool.map(
            lambda way: read(way[0], board.points, board.wide, core=board.core, enlarged=board.enlarged), ways
        )
        return [Choice(small=one, make=make) for one, (_, make) in zip(small, ways, strict=True)]


def _maker(made_by: Recipe, *, turned: bool) -> Callable[[Board], View]:
    def make(board: Board) -> View:
        seen = view(made_by, board.colours, board.core, enlarged=board.enlarged)
        return seen.turned() if turned else seen

    return make


def _shade_maker(shade: Shade) -> Callable[[Board], View]:
    return lambda board: shade_view(shade, board.colours, board.core, enlarged=board.enlarged)


def _masked(board: Board, metal: Reading) -> list[Choice]:
    makers = [_shade_maker(shade) for shade in under_mask(board.colours, board.core, metal, enlarged=board.enlarged)]
    return _read_all(board, [(make(board), make) for make in makers])
