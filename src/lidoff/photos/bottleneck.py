"""Where two pads come closest to being joined: the height of the pass between them.

The margin of a view is taken as a landscape, each pad as a spring on its hill. Water from all springs floods it from
the top down (the watershed of the markers); where two floods meet, the highest point of their border is the pass: no
path of copper between the two pads is better anywhere than at its weakest pixel there. The passes hold a maximum
spanning tree of the pads over all pixel paths, so the strongest of them tell how every two pads are joined at best.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.needs import watershed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Map, Mask

    Labels = NDArray[np.int32]

_STEPS: Final = ((0, 1), (1, 0), (1, 1), (1, -1))  # to the four of eight neighbours that are not yet counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """The pass between the pads numbered `a` < `b`: its margin `height` [1] and the pixel it lies at."""

    a: int
    b: int
    height: float
    x: int
    y: int


def passes(margin: Map, markers: Labels, area: Mask) -> tuple[Pass, ...]:
    """The passes between pads whose floods meet, highest first.

    `markers` has 0 for none and n + 1 on the copper of pad n. Outside `area` there is no path. Raises PhotoError where
    scikit-image is missing.
    """
    flooded = watershed()(-margin, markers=markers, mask=area, connectivity=2)
    best: dict[tuple[int, int], Pass] = {}
    height, width = margin.shape
    for down, right in _STEPS:
        here = (slice(0, height - down), slice(max(0, -right), width - max(0, right)))
        there = (slice(down, height), slice(max(0, right), width + min(0, right)))
        first, second = flooded[here], flooded[there]
        meets = (first != second) & (first > 0) & (second > 0)
        rows, columns = np.nonzero(meets)
        level = np.minimum(margin[here][meets], margin[there][meets])
        low = np.minimum(first[meets], second[meets]).astype(np.int64)
        high = np.maximum(first[meets], second[meets]).astype(np.int64)
        key = low * (int(markers.max()) + 1) + high
        order = np.lexsort((-level, key))
        starts = np.flatnonzero(np.diff(key[order], prepend=-1))
        for at in order[starts]:
            pair = (int(low[at]) - 1, int(high[at]) - 1)
            if pair not in best or best[pair].height < level[at]:
                best[pair] = Pass(
                    a=pair[0],
                    b=pair[1],
                    height=float(level[at]),
                    x=int(columns[at]) + here[1].start,
                    y=int(rows[at]),
                )
    return tuple(sorted(best.values(), key=lambda one: (-one.height, one.a, one.b)))


def best_between(found: tuple[Pass, ...], count: int) -> NDArray[np.float64]:
    """The best bottleneck [1] between every two of `count` pads, count by count; -inf where no path leads.

    By merging along the passes from the highest down: the pass that brings two groups together is the bottleneck of
    every pair across them.
    """
    between = np.full((count, count), -np.inf)
    np.fill_diagonal(between, np.inf)
    group = {n: [n] for n in range(count)}
    name = list(range(count))
    for one in found:
        a, b = name[one.a], name[one.b]
        if a == b:
            continue
        between[np.ix_(group[a], group[b])] = one.height
        between[np.ix_(group[b], group[a])] = one.height
        for n in group[b]:
            name[n] = a
        group[a] += group.pop(b)
    return between
