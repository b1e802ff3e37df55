"""Waves made into few points, and round numbers for scales."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def thinned(x: Floats, y: Floats, tolerance: float) -> list[tuple[float, float]]:
    """Points of the polyline that is nowhere farther from all of them than `tolerance` (same unit as x and y).

    Method: Douglas and Peucker, Cartographica 10 (1973) 112: the farthest point splits the line until none is far.
    """
    keep = np.zeros(x.shape[0], dtype=bool)
    keep[0] = keep[-1] = True
    waiting = [(0, x.shape[0] - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        dx, dy = x[last] - x[first], y[last] - y[first]
        square = dx * dx + dy * dy
        inner = slice(first + 1, last)
        away_x, away_y = x[inner] - x[first], y[inner] - y[first]
        # Distance from the piece between the two points, not from the line through them: a curve may turn back, and a
        # closed one ends where it begins.
        share = np.clip((away_x * dx + away_y * dy) / square, 0.0, 1.0) if square > 0.0 else 0.0
        off = np.hypot(away_x - share * dx, away_y - share * dy)
        farthest = int(off.argmax())
        if off[farthest] > tolerance:
            middle = first + 1 + farthest
            keep[middle] = True
            waiting += [(first, middle), (middle, last)]
    return [(float(a), float(b)) for a, b in zip(x[keep], y[keep], strict=True)]


def round_below(value: float) -> float:
    """The largest of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten that is not above a positive `value`."""
    power = 10.0 ** math.floor(math.log10(value))
    steps = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0)
    return max(step * power for step in steps if step * power <= value * (1.0 + 1e-9))
