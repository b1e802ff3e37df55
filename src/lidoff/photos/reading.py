"""A view read: where its copper joins the pads, and whether what comes out looks like a board at all.

Nothing tells beforehand which measure shows the copper, nor which side of it copper is on. What a wrong view gives is
not a board, though: laminate taken for copper joins everything to everything or nothing to nothing, texture and glare
leave half of the passes in doubt. So every view is read both ways, and the outcomes are compared.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.bottleneck import Pass, best_between, passes
from lidoff.photos.pads import Springs, springs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Map, Mask, View

ACCEPT: Final = 0.30
"""The margin from which a join is accepted."""
DROP: Final = -0.70
"""The margin up to which there is no join."""
_ONE_PIECE: Final = 0.98
"""The share of pads alone or in the largest piece from which there is no second piece."""
_SEVERAL: Final = 12
"""Pads from which a board has a second piece."""
UNKNOWN: Final = (-0.5, 0.0)
"""The least and the most that a path through what is neither copper nor laminate is given: it is asked about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One view with what it says of the pads.

    Of the pads: `unsure` is the share that lies on no copper, `lone` the share joined to none, `largest` the share in
    the largest piece, `pieces` how many there are. Of the passes that a tree of all pads takes: `accepted` and
    `between` are the shares above ACCEPT and in doubt. `one_piece` says that one piece holds all that is joined, as
    where laminate is taken for copper and clearings leave some pads out.
    """

    view: View
    springs: Springs
    passes: tuple[Pass, ...]
    unsure: float
    lone: float
    largest: float
    accepted: float
    between: float
    pieces: int
    one_piece: bool

    @property
    def plausible(self) -> bool:
        """Whether the outcome could be that of a board."""
        return (
            self.unsure <= 0.35
            and self.lone <= 0.75
            and self.largest <= 0.75
            and not self.one_piece
            and self.accepted >= 0.15
            and self.between <= 0.45
        )

    @property
    def worth(self) -> float:
        """How board-like the outcome is; comparable between the readings of one photo."""
        return 1.0 - 2.0 * self.between - 0.5 * self.lone - max(0.0, self.largest - 0.3) - self.unsure


def read(
    view: View,
    points: NDArray[np.float64],
    area: Mask,
    *,
    core: Mask | None = None,
    found: Springs | None = None,
    enlarged: float = 1.0,
) -> Reading:
    """The reading of a view with pads at `points` (x, y) within `area`; `enlarged` as in `views.view`.

    Within `core` there surely is board: what is unknown there may hide a track. `found` are the pads' springs where
    they are known already.
    """
    if found is None:
        found = springs(view.plain, points, enlarged=enlarged)
    # Lower than DROP no pass is of use, and most of a board is laminate: it stays dry.
    held = found.labels > 0
    least, most = (np.float32(edge) for edge in UNKNOWN)
    margin = np.where(view.unknown & ~held, np.minimum(view.sharp, most), view.sharp)
    hiding = view.unknown & ~held & (area if core is None else core)
    margin = np.where(hiding, np.maximum(margin, least), margin)
    between = _all_passes(margin, found, (area & (margin > DROP)) | held)
    count = len(points)
    heights, groups = _tree(between, count)
    sizes = Counter(groups)
    lone = sum(size for size in sizes.values() if size == 1) / count
    largest = max(sizes.values()) / count
    return Reading(
        view=view,
        springs=found,
        passes=between,
        unsure=len(found.unsure) / count,
        lone=lone,
        largest=largest,
        accepted=sum(height >= ACCEPT for height in heights) / (count - 1),
        between=sum(DROP < height < ACCEPT for height in heights) / (count - 1),
        pieces=len(sizes),
        one_piece=count >= _SEVERAL and lone + largest > _ONE_PIECE,
    )


def _all_passes(margin: Map, found: Springs, area: Mask) -> tuple[Pass, ...]:
    """The passes of all pads, highest first.

    A pad that lies on no copper for certain may sit on another's: its spring would hold that one's flood up and be
    asked about in its stead. So the others are flooded without it, and its own passes are found apart.
    """
    if not found.unsure:
        return passes(margin, found.labels, area)
    sure = np.where(np.isin(found.labels, [number + 1 for number in found.unsure]), 0, found.labels)
    between = passes(margin, sure.astype(np.int32), area)
    extra = [one for one in passes(margin, found.labels, area) if {one.a, one.b} & found.unsure]
    return tuple(sorted([*between, *extra], key=lambda one: (-one.height, one.a, one.b)))


def joined_at(reading: Reading, count: int) -> NDArray[np.float64]:
    """The best bottleneck [1] of every two pads in that reading."""
    return best_between(reading.passes, count)


def _tree(found: tuple[Pass, ...], count: int) -> tuple[list[float], list[int]]:
    """The heights of the passes of a maximum spanning tree, and each pad's group by those above the middle (0)."""
    parent = list(range(count))

    def top(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number

    heights: list[float] = []
    groups: list[int] | None = None
    for one in found:
        if one.height < 0 and groups is None:
            groups = [top(number) for number in range(count)]
        a, b = top(one.a), top(one.b)
        if a != b:
            parent[a] = b
            heights.append(one.height)
    return heights, groups if groups is not None else [top(number) for number in range(count)]
