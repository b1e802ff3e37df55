"""Pads as springs of copper: points in holes, on copper, off copper; and the files that name them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from lidoff.photos.pads import Pad, read_pads, read_pieces, springs
from lidoff.photos.picture import PhotoError


def drawn() -> NDArray[np.float32]:
    """Three pads in a row: with a hole, without one, and a plain hole in laminate; margins ±1."""
    margin = np.full((80, 700), -1.0, np.float32)
    cv2.circle(margin, (40, 40), 18, 1.0, -1)
    cv2.circle(margin, (40, 40), 8, -1.4, -1)
    cv2.circle(margin, (120, 40), 14, 1.0, -1)
    cv2.circle(margin, (200, 40), 8, -1.4, -1)
    return margin


@pytest.mark.parametrize("off", [(0, 0), (5, 0), (-3, 4), (0, -6)])
def test_a_point_in_a_hole_finds_the_ring_around_it_wherever_in_the_hole_it_lies(off: tuple[int, int]) -> None:
    margin = drawn()
    points = np.array([(40.0 + off[0], 40.0 + off[1]), (120.0, 40.0)])
    found = springs(margin, points)
    taken = found.labels == 1
    assert found.unsure == frozenset()
    assert taken.sum() > 50
    assert (margin[taken] > 0).all()
    rows, columns = np.nonzero(taken)
    # All round the hole, not on one side of it.
    assert (columns.min() < 33, columns.max() > 47) == (True, True)
    assert (rows.min() < 33, rows.max() > 47) == (True, True)


def test_a_point_on_copper_is_taken_where_it_lies() -> None:
    found = springs(drawn(), np.array([(40.0, 40.0), (120.0, 40.0)]))
    assert found.labels[40, 120] == 2
    assert set(np.unique(found.labels[:, 90:150])) == {0, 2}


def test_a_hole_without_copper_is_unsure() -> None:
    found = springs(drawn(), np.array([(40.0, 40.0), (120.0, 40.0), (200.0, 40.0)]))
    assert found.unsure == frozenset({2})


def test_a_clearing_far_wider_than_the_drill_holes_is_unsure() -> None:
    """Six holes of one size and one three times as wide: lettering cut out of a plane, not a hole."""
    margin = np.ones((160, 700), np.float32)
    points = [(50.0 + 100 * n, 80.0) for n in range(7)]
    for n, (x, y) in enumerate(points):
        cv2.circle(margin, (int(x), int(y)), 8 if n < 6 else 20, -1.0, -1)
    assert springs(margin, np.array(points)).unsure == frozenset({6})


def test_a_point_just_beside_its_track_takes_the_track() -> None:
    margin = np.full((60, 120), -1.0, np.float32)
    margin[28:32, 20:60] = 1.0
    found = springs(margin, np.array([(62.0, 30.0), (110.0, 30.0)]))
    assert 0 not in found.unsure
    assert (margin[found.labels == 1] > 0).all()


def test_a_point_in_the_gap_between_two_tracks_is_unsure() -> None:
    """Either may be meant: nothing is accepted for such a pad, whichever copper is taken."""
    margin = np.full((80, 400), -1.0, np.float32)
    margin[30:36] = 1.0
    margin[40:46] = 1.0
    found = springs(margin, np.array([(100.0, 37.6), (300.0, 33.0)]))
    assert found.unsure == frozenset({0})


def test_tracks_and_a_plane_that_stand_about_a_point_are_no_ring() -> None:
    """Three pieces of copper at one distance from the point, with gaps between them where a ring has none."""
    margin = np.full((120, 400), -1.0, np.float32)
    for start in (0, 120, 240):
        cv2.ellipse(margin, (60, 60), (22, 22), 0, start + 16, start + 104, 1.0, 8)
    cv2.circle(margin, (300, 60), 12, 1.0, -1)
    assert springs(margin, np.array([(60.0, 60.0), (300.0, 60.0)])).unsure == frozenset({0})


def test_pads_and_pieces_are_read(tmp_path: Path) -> None:
    pads, pieces = tmp_path / "pads.json", tmp_path / "pieces.json"
    pads.write_text('[{"id": "P001", "x": 532.7, "y": 140.8}, {"id": "P002", "x": 1, "y": 2, "net": "spare"}]')
    pieces.write_text('[["P001", "P002"], []]')
    read = read_pads(pads)
    assert read == (Pad(id="P001", x=532.7, y=140.8), Pad(id="P002", x=1.0, y=2.0))
    assert read_pieces(pieces, read) == (frozenset({"P001", "P002"}),)


@pytest.mark.parametrize(
    ("held", "says"),
    [
        ({}, "a list of pads is wanted"),
        ([], "a list of pads is wanted"),
        ([{"x": 1, "y": 2}], 'pad 1 has no "id"'),
        ([{"id": "A", "x": "1", "y": 2}], 'pad A needs "x" and "y"'),
        ([{"id": "A", "x": True, "y": 2}], 'pad A needs "x" and "y"'),
        ([{"id": "A", "x": 1, "y": 2}, {"id": "A", "x": 3, "y": 4}], "two pads are named A"),
        ([{"id": f"P{n}", "x": 1, "y": 2} for n in range(5001)], "more than the 5000"),
    ],
)
def test_a_wrong_file_of_pads_is_one_sentence_that_names_the_place(tmp_path: Path, held: Any, says: str) -> None:
    file = tmp_path / "pads.json"
    file.write_text(json.dumps(held))
    with pytest.raises(PhotoError, match=says) as raised:
        read_pads(file)
    assert "pads.json" in str(raised.value)


def test_a_file_that_is_no_json_is_named_with_its_line(tmp_path: Path) -> None:
    file = tmp_path / "pads.json"
    file.write_text('[{"id": "A",\n "x": }]')
    with pytest.raises(PhotoError, match=r"pads.json, line 2"):
        read_pads(file)
    with pytest.raises(PhotoError, match="cannot be read"):
        read_pads(tmp_path / "none.json")


@pytest.mark.parametrize(
    ("held", "says"),
    [
        ({"A": "B"}, "a list of pieces is wanted"),
        ([["A", "C"]], "no pad C among the pads"),
        ([["A"], ["A"]], "pad A is in two pieces"),
    ],
)
def test_wrong_pieces_are_named(tmp_path: Path, held: Any, says: str) -> None:
    file = tmp_path / "pieces.json"
    file.write_text(json.dumps(held))
    with pytest.raises(PhotoError, match=says):
        read_pieces(file, [Pad(id="A", x=0, y=0), Pad(id="B", x=1, y=1)])
