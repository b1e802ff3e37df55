"""Passes between pads, against every path of a small landscape as networkx finds them."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from numpy.typing import NDArray

from lidoff.photos.bottleneck import best_between, passes


def landscape(seed: int) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    random = np.random.default_rng(seed)
    margin = random.normal(size=(14, 17)).astype(np.float32)
    markers = np.zeros(margin.shape, np.int32)
    cells = random.choice(margin.size, 6, replace=False)
    for number, cell in enumerate(cells):
        markers.flat[cell] = number + 1
    # A spring is as high as copper gets: the way begins on it.
    margin.flat[cells] = 5.0
    return margin, markers


def widest(margin: NDArray[np.float32], markers: NDArray[np.int32]) -> NDArray[np.float64]:
    """The best bottleneck of every two pads: the least pixel on the path of the maximum spanning tree (networkx)."""
    graph = nx.Graph()
    height, width = margin.shape
    for row in range(height):
        for column in range(width):
            for down, right in ((0, 1), (1, 0), (1, 1), (1, -1)):
                r, c = row + down, column + right
                if 0 <= r < height and 0 <= c < width:
                    graph.add_edge((row, column), (r, c), weight=float(min(margin[row, column], margin[r, c])))
    tree = nx.maximum_spanning_tree(graph)
    places = [tuple(int(at) for at in np.argwhere(markers == n + 1)[0]) for n in range(int(markers.max()))]
    best = np.full((len(places), len(places)), np.inf)
    for a, one in enumerate(places):
        for b, other in enumerate(places):
            if a != b:
                way = nx.shortest_path(tree, one, other)
                best[a, b] = min(margin[at] for at in way)
    return best


@pytest.mark.parametrize("seed", range(6))
def test_the_best_bottleneck_is_that_of_the_best_of_all_paths(seed: int) -> None:
    margin, markers = landscape(seed)
    found = passes(margin, markers, np.ones(margin.shape, bool))
    assert best_between(found, 6) == pytest.approx(widest(margin, markers), abs=1e-6)


def test_a_pass_lies_at_the_pixel_that_is_as_low_as_it_says() -> None:
    margin = np.full((9, 30), -1.0, np.float32)
    margin[4, 2:28] = 1.0
    margin[4, 17] = 0.25
    markers = np.zeros(margin.shape, np.int32)
    markers[4, 3], markers[4, 26] = 1, 2
    (only,) = passes(margin, markers, np.ones(margin.shape, bool))
    assert only.height == pytest.approx(0.25)
    assert only.y == 4
    assert abs(only.x - 17) <= 1


def test_there_is_no_pass_where_the_area_ends() -> None:
    margin = np.ones((5, 20), np.float32)
    markers = np.zeros(margin.shape, np.int32)
    markers[2, 2], markers[2, 17] = 1, 2
    area = np.ones(margin.shape, bool)
    area[:, 10] = False
    assert passes(margin, markers, area) == ()
    assert best_between((), 2)[0, 1] == -np.inf
