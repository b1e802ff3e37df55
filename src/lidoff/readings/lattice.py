"""A regular grid in one or two coordinates, and cubic interpolation between its nodes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from lidoff.figures.wave import Floats

Box = tuple[tuple[float, float], ...]


def axis(box: tuple[float, float], count: int) -> Floats:
    """`count` even places from one end of a side to the other."""
    return np.linspace(box[0], box[1], count)


def nodes_of(box: Box, count: int) -> Floats:
    """All nodes (count ** sides, sides), the last coordinate running fastest."""
    return np.array(list(product(*(axis(side, count) for side in box))), dtype=np.float64)


def _weights(places: Floats, low: float, high: float, count: int) -> tuple[np.ndarray, Floats]:
    """For each place the first of four neighbouring nodes, and the weights of those four (Lagrange's cubic)."""
    step = (high - low) / (count - 1)
    u = (places - low) / step
    first = np.clip(np.floor(u).astype(np.int64) - 1, 0, count - 4)
    t = u - first
    weights = np.stack(
        [
            -(t - 1.0) * (t - 2.0) * (t - 3.0) / 6.0,
            t * (t - 2.0) * (t - 3.0) / 2.0,
            -t * (t - 1.0) * (t - 3.0) / 2.0,
            t * (t - 1.0) * (t - 2.0) / 6.0,
        ],
        axis=-1,
    )
    return first, weights


@dataclass(frozen=True, slots=True)
class Lattice:
    """Results at the nodes of a box: `values` (nodes, results), nodes as `nodes_of` orders them.

    A result that is above nothing at every node is interpolated by its logarithm (`logarithmic`): currents and powers
    run over decades where resistances do. `missed` (nodes, results) is how far a grid of half the nodes is off at each
    node, the largest about it; in logarithms where the result is.
    """

    box: Box
    count: int
    values: Floats
    logarithmic: NDArray[np.bool_]
    missed: Floats

    def at(self, points: Floats) -> Floats:
        """Results (points, results) at points (points, sides), cubic between the nodes."""
        found = _interpolated(self.box, self.count, self.values, points)
        return np.where(self.logarithmic, np.exp(np.minimum(found, 300.0)), found)

    def doubt(self, points: Floats, shown: Floats) -> Floats:
        """How far interpolation may be off (points, results): a quarter of what half the nodes miss thereabouts.

        A cubic's error falls sixteenfold when the step is halved, that at a kink twofold.
        """
        index = np.zeros(points.shape[0], dtype=np.int64)
        for k, side in enumerate(self.box):
            place = np.rint((points[:, k] - side[0]) / (side[1] - side[0]) * (self.count - 1))
            index = index * self.count + np.clip(place, 0, self.count - 1).astype(np.int64)
        missed = 0.25 * self.missed[index]
        return np.where(self.logarithmic, missed * np.abs(shown), missed)


def lattice_of(box: Box, count: int, values: Floats) -> Lattice:
    """The lattice of results (nodes, results) at `nodes_of(box, count)`; count is odd."""
    with np.errstate(invalid="ignore"):
        logarithmic = np.nan_to_num(values, nan=1.0).min(axis=0) > 0.0
    kept = np.where(logarithmic, np.log(np.where(logarithmic & (values > 0.0), values, 1.0)), values)
    kept = np.where(np.isfinite(values), kept, np.nan)
    shape = (count,) * len(box)
    table = kept.reshape(*shape, -1)
    every = tuple(slice(None, None, 2) for _ in box)
    coarse = table[every].reshape(-1, table.shape[-1])
    missed = np.abs(_interpolated(box, (count + 1) // 2, coarse, nodes_of(box, count)) - kept).reshape(table.shape)
    missed = np.nan_to_num(missed)
    # Coarse nodes miss nothing by construction: each node takes the largest of its neighbourhood.
    for side in range(len(box)):
        before = np.roll(missed, 1, axis=side)
        after = np.roll(missed, -1, axis=side)
        first, last = [slice(None)] * (len(box) + 1), [slice(None)] * (len(box) + 1)
        first[side], last[side] = slice(0, 1), slice(-1, None)
        before[tuple(first)] = missed[tuple(first)]
        after[tuple(last)] = missed[tuple(last)]
        missed = np.maximum(missed, np.maximum(before, after))
    return Lattice(box, count, kept, logarithmic, missed.reshape(kept.shape))


def _interpolated(box: Box, count: int, values: Floats, points: Floats) -> Floats:
    shape = (count,) * len(box)
    table = values.reshape(*shape, -1)
    first, weight = zip(*(_weights(points[:, k], side[0], side[1], count) for k, side in enumerate(box)), strict=True)
    total = np.zeros((points.shape[0], table.shape[-1]))
    for corner in product(range(4), repeat=len(box)):
        index = tuple(first[k] + corner[k] for k in range(len(box)))
        share = np.ones(points.shape[0])
        for k in range(len(box)):
            share = share * weight[k][:, corner[k]]
        total += share[:, None] * table[index]
    return total
