"""Asking about every pair that is still open, where a picture tells what is likely and nothing for certain.

A small board can be told from the meter alone: every pad is held against one pad of each piece found so far. Asking the
likely joins first takes less than that, for what is joined is found early and then stands for all its pads. So a
picture that bears no answer, but shows its pads, is still good for an order of questions; and since no pair is passed
over, nothing is missing at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.joins import Candidate
from lidoff.photos.masked import looks_masked
from lidoff.photos.reading import Reading, joined_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

MOST_PADS: Final = 40
"""So many pads a dozen parts have: beyond it nobody goes through all pairs of pieces."""
_SHOWS: Final = 4.5  # contrast of a view, under which what it parts may be noise
_MOST_UNSURE: Final = 0.5  # of a reading that has a say in the order
_MOST_ALONE: Final = 0.9
_MOST_IN_ONE: Final = 0.9
_VOICES: Final = 3
_NEARNESS: Final = 0.4  # of margin, by which the nearest two pads are likelier than the furthest


def pads_show(tried: Sequence[Reading], *, hidden: bool) -> bool:
    """Whether the picture shows more than noise; where parts may hide the copper (`hidden`), whether pads do."""
    if hidden:
        return any(looks_masked(one) and one.view.contrast >= _SHOWS for one in tried)
    return any(one.view.contrast >= _SHOWS for one in tried)


def likely(tried: Sequence[Reading], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """How likely every two pads are joined, as an order alone [margin]: by what the most board-like readings make of
    them, and by how near they are. `points` are the pads, x and y.
    """
    voices = sorted(
        (one for one in tried if one.unsure <= _MOST_UNSURE and one.lone < _MOST_ALONE and one.largest < _MOST_IN_ONE),
        key=lambda one: -one.worth,
    )[:_VOICES]
    away = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    order = -_NEARNESS * away / max(float(away.max()), 1e-9)
    for one in voices:
        order += np.clip(joined_at(one, len(points)), -1.0, 1.0) / len(voices)
    return np.asarray(order)


def all_pairs(
    names: Sequence[str],
    points: NDArray[np.float64],
    tried: Sequence[Reading],
    back: Callable[[float, float], tuple[float, float]],
    why: str,
) -> list[Candidate]:
    """Every pair of pads as a question, none of them skipped; `back` leads from `points` to the photo.

    What is shown of a question is the middle between its pads.
    """
    order = likely(tried, points)
    return [
        Candidate(
            a=names[a],
            b=names[b],
            margin=float(order[a, b]),
            weakest=back(*((points[a] + points[b]) / 2)),
            view="likeliest first",
            judged="left",
            why=why,
        )
        for a, b in combinations(range(len(names)), 2)
    ]


def strays(
    names: Sequence[str],
    points: NDArray[np.float64],
    pads: Iterable[int],
    known: Sequence[Candidate],
    back: Callable[[float, float], tuple[float, float]],
    each: int,
) -> list[Candidate]:
    """The `each` nearest of all pads as questions for every one of `pads` that would else end up joined to nothing,
    though the picture does not tell that; what is asked already (`known`) is left out. The rest as for `all_pairs`.
    """
    asked = {frozenset((one.a, one.b)) for one in known}
    found = []
    for number in pads:
        away = np.hypot(*(points - points[number]).T)
        for other in [int(one) for one in np.argsort(away, kind="stable") if one != number][:each]:
            if frozenset((names[number], names[other])) in asked:
                continue
            found.append(
                Candidate(
                    a=names[number],
                    b=names[other],
                    margin=float(-away[other] / max(float(away.max()), 1e-9)),
                    weakest=back(*((points[number] + points[other]) / 2)),
                    view="nearest first",
                    judged="stray",
                    why="nothing is joined to the pad, and the picture is not to be believed there",
                )
            )
    return found
