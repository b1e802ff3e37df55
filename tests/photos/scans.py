"""Opens and shorts between a scan of a good board and one of the same spot with defects, by the tracing's passes.

Where both scans have copper is a spring; the test scan is flooded from all of them. Two springs of one piece of the
good board that the test board does not join are an open; two of different pieces that it joins are a short.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from lidoff.photos.bottleneck import passes

SMALLEST = 12  # pixels: what is smaller is a ragged edge
OPEN, SHORT = 1, 2  # the data's numbers for its kinds of defects


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A pair of scans (copper set) with the published boxes (x1, y1, x2, y2, kind)."""

    good: NDArray[np.bool_]
    test: NDArray[np.bool_]
    boxes: tuple[tuple[int, int, int, int, int], ...]


def read(folder: Path, name: str) -> Pair:
    """One pair of the data; copper is black there."""
    good, test = (np.asarray(Image.open(folder / f"{name}_{one}.jpg").convert("L")) < 128 for one in ("temp", "test"))
    rows = [line.replace(",", " ").split() for line in (folder / f"{name}.txt").read_text().splitlines()]
    boxes = tuple((int(a), int(b), int(c), int(d), int(e)) for a, b, c, d, e in rows if a)
    return Pair(good=good, test=test, boxes=boxes)


def names(folder: Path) -> list[str]:
    """The pairs in the folder."""
    return sorted(file.stem for file in folder.glob("*.txt") if (folder / f"{file.stem}_temp.jpg").exists())


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a pair shows: the kinds (OPEN, SHORT), and which published boxes of those kinds hold a place of it."""

    kinds: frozenset[int]
    boxes: frozenset[int]


def found(pair: Pair) -> Found:
    """The opens and shorts of a pair."""
    _, piece = cv2.connectedComponents(pair.good.astype(np.uint8), connectivity=8)
    both = (pair.good & pair.test).astype(np.uint8)
    count, spring, sizes, _ = cv2.connectedComponentsWithStats(both, connectivity=8)
    kept = np.flatnonzero(sizes[:, cv2.CC_STAT_AREA] >= SMALLEST)
    kept = kept[kept > 0]
    markers = np.zeros(count, np.int32)
    markers[kept] = np.arange(1, len(kept) + 1)
    labels = markers[spring]
    piece_of = np.zeros(len(kept) + 1, int)
    rows, columns = np.nonzero(labels)
    piece_of[labels[rows, columns]] = piece[rows, columns]
    margin = np.where(pair.test, np.float32(1.0), np.float32(-1.0))
    parent = list(range(len(kept) + 1))

    def top(number: int) -> int:
        while parent[number] != number:
            number = parent[number]
        return number

    for one in passes(margin, labels, pair.test | (labels > 0)):
        if one.height > 0:
            parent[top(one.a + 1)] = top(one.b + 1)
    group = np.array([top(number) for number in range(len(kept) + 1)])
    pieces_in: dict[int, set[int]] = {}
    groups_of: dict[int, set[int]] = {}
    for number in range(1, len(kept) + 1):
        pieces_in.setdefault(int(group[number]), set()).add(int(piece_of[number]))
        groups_of.setdefault(int(piece_of[number]), set()).add(int(group[number]))
    kinds = {SHORT} if any(len(held) > 1 for held in pieces_in.values()) else set()
    kinds |= {OPEN} if any(len(held) > 1 for held in groups_of.values()) else set()
    places = [(SHORT, box) for box in _bridges(pair.test & ~pair.good, labels, piece_of)]
    places += [(OPEN, box) for box in _bridges(pair.good & ~pair.test, labels, group)]
    hit = {
        number
        for number, (x1, y1, x2, y2, kind) in enumerate(pair.boxes)
        if any(kind == was and x1 <= r and y1 <= b and x2 >= x and y2 >= y for was, (x, y, r, b) in places)
    }
    return Found(kinds=frozenset(kinds), boxes=frozenset(hit))


def _bridges(
    between: NDArray[np.bool_], labels: NDArray[np.int32], name_of: NDArray[np.int_]
) -> list[tuple[int, int, int, int]]:
    """The boxes of the connected places of `between` that touch springs of different names."""
    count, place, stats, _ = cv2.connectedComponentsWithStats(between.astype(np.uint8), connectivity=8)
    boxes = []
    for number in range(1, count):
        x, y, wide, high = (int(stats[number, at]) for at in range(4))
        cut = slice(max(0, y - 1), y + high + 1), slice(max(0, x - 1), x + wide + 1)
        near = cv2.dilate((place[cut] == number).astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
        touched = np.unique(labels[cut][near & (labels[cut] > 0)])
        if len({int(name_of[one]) for one in touched}) > 1:
            boxes.append((x, y, x + wide, y + high))
    return boxes
