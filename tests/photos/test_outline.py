"""The board is found in its photo, whatever the ground, the light and the slant; its true aspect follows."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

pytest.importorskip("cv2", reason="OpenCV is not installed: pip install lidoff[photos]")

from tests.photos import scene

from lidoff.photos.intake import pixels
from lidoff.photos.outline import find_outline, refine_by_colour
from lidoff.photos.picture import PhotoError
from lidoff.photos.straighten import (
    mapped,
    pose_from_corners,
    rescaled,
    straightened,
    true_aspect,
)

SLANTS = [(0.0, 0.0, 0.0), (14.0, -9.0, 5.0), (-10.0, 12.0, -20.0)]
SIZE = (1000, 750)


def camera(tilt: tuple[float, float, float], light: tuple[float, float] = (0.0, 0.0)) -> scene.Camera:
    return scene.Camera(tilt=tilt, size=SIZE, light=light, away=95)


@pytest.mark.parametrize("tilt", SLANTS)
@pytest.mark.parametrize(
    ("ground", "laminate"),
    [((70, 84, 110), (196, 160, 104)), ((226, 224, 220), (60, 92, 62)), ((40, 38, 36), (206, 204, 198))],
    ids=["paper board on blue", "green on paper", "white on black"],
)
def test_the_corners_are_found(
    tilt: tuple[float, float, float], ground: tuple[int, int, int], laminate: tuple[int, int, int]
) -> None:
    board = scene.plain(ground=ground, laminate=laminate)
    seen = camera(tilt, (0.4, 0.3))
    outline = find_outline(scene.photographed(board, seen))
    assert np.abs(outline.corners - scene.corners(board, seen)).max() < 2.0  # pixels; 13 to the mm here
    assert outline.fill > 0.93


def test_a_board_that_is_no_rectangle_is_outlined_and_says_so() -> None:
    board = scene.plain(tracks=(), pads=(), holes=(), bodies=())
    seen = camera((0, 0, 0))
    photo = scene.photographed(board, seen)
    # A quarter sawn off.
    corner = scene.corners(board, seen)
    middle = corner.mean(axis=0)
    photo[round(middle[1]) : round(corner[2, 1]) + 3, round(middle[0]) : round(corner[2, 0]) + 3] = board.ground
    outline = find_outline(photo)
    assert outline.fill < 0.85
    inside = [np.array(place) for place in (middle - 40, middle + np.array([-80, 60]), middle + np.array([80, -60]))]
    import cv2

    contour = outline.contour.astype(np.float32)
    assert all(cv2.pointPolygonTest(contour, tuple(map(float, place)), False) > 0 for place in inside)
    assert cv2.pointPolygonTest(contour, tuple(map(float, middle + np.array([80, 60]))), False) < 0


def test_of_two_boards_the_one_asked_for_is_found() -> None:
    board = scene.plain(width=30.0, height=22.0, tracks=(), pads=(), holes=(), bodies=())
    left = scene.photographed(board, camera((0, 0, 8)))
    both = np.concatenate([left, scene.photographed(board, camera((0, 0, -6)))], axis=1)
    outline = find_outline(both, within=(SIZE[0], 0, 2 * SIZE[0], SIZE[1]))
    expected = scene.corners(board, camera((0, 0, -6))) + np.array([SIZE[0], 0])
    assert np.abs(outline.corners - expected).max() < 2.0


def test_no_board_is_one_sentence() -> None:
    noise = np.random.default_rng(2).integers(110, 120, (300, 400, 3), dtype=np.uint8)
    with pytest.raises(PhotoError, match="No board was found"):
        find_outline(noise)


def test_the_same_photo_gives_the_same_outline() -> None:
    photo = scene.photographed(scene.plain(), camera(SLANTS[1]))
    assert np.array_equal(find_outline(photo).corners, find_outline(photo).corners)


@pytest.mark.parametrize("tilt", [(0, 0, 0), (8, -5, 3), (25, -20, 10), (30, 30, 40)])
def test_the_aspect_is_true(tilt: tuple[float, float, float]) -> None:
    board = scene.Board(width=80, height=50)
    seen = scene.Camera(tilt=tilt, away=150)
    corners = scene.corners(board, seen)
    assert true_aspect(corners, seen.size, seen.focal).ratio == pytest.approx(1.6, rel=1e-6)
    untold = true_aspect(corners, seen.size)
    assert untold.ratio == pytest.approx(1.6, rel=1e-3)
    assert untold.focal_from == ("perspective" if tilt[0] >= 25 else "usual")


def test_a_strong_slant_tells_the_focal_length() -> None:
    board = scene.Board(width=80, height=50)
    seen = scene.Camera(tilt=(28, -24, 10), away=140, focal=1.3)
    found = true_aspect(scene.corners(board, seen), seen.size)
    assert found.focal_from == "perspective"
    assert found.focal / np.hypot(*seen.size) == pytest.approx(1.3, rel=1e-3)
    assert found.ratio == pytest.approx(1.6, rel=1e-3)


def test_a_wrong_focal_length_matters_little_at_a_small_slant() -> None:
    board = scene.Board(width=80, height=50)
    seen = scene.Camera(tilt=(6, -5, 2), away=200, focal=1.3)
    assert true_aspect(scene.corners(board, seen), seen.size).ratio == pytest.approx(1.6, rel=0.01)


def test_a_ruler_mark_and_a_pitch_give_the_scale() -> None:
    board, seen = scene.plain(), camera(SLANTS[1])
    pose = pose_from_corners(scene.corners(board, seen), SIZE, focal=seen.focal)
    ends = mapped(seen.to_photo(board), [[5.0, 20.0], [55.0, 20.0]])
    scaled = rescaled(pose, ends[0], ends[1], 50.0)
    assert (scaled.width, scaled.height) == pytest.approx((60, 40), rel=1e-6)
    # Eleven holes at 2.54 mm from the first to the last: ten pitches.
    row = mapped(seen.to_photo(board), [[10.0, 8.0], [10.0, 8.0 + 10 * 2.54]])
    assert rescaled(pose, row[0], row[1], 10 * 2.54).width == pytest.approx(60, rel=1e-6)
    with pytest.raises(PhotoError, match="must lie apart"):
        rescaled(pose, ends[0], ends[0], 50.0)


def test_the_straight_picture_is_to_scale() -> None:
    board, seen = scene.plain(), camera(SLANTS[2])
    pose = pose_from_corners(scene.corners(board, seen), SIZE, width=60, height=40)
    photo = scene.photographed(board, seen)
    flat = straightened(photo, pose, px_per_mm=16, margin=2.0)
    assert flat.rgb.shape == (44 * 16, 64 * 16, 3)
    for x, y, size in scene.HOLES:
        column, row = np.round(flat.pixels([[x, y]])[0]).astype(int)
        assert flat.rgb[row, column].max() < 90
        column, row = np.round(flat.pixels([[x + size / 2 + 0.4, y]])[0]).astype(int)
        assert flat.rgb[row, column].max() > 110
    assert flat.board(flat.pixels([[12.5, 7.25]]))[0] == pytest.approx((12.5, 7.25))
    over = straightened(photo, pose, px_per_mm=16, margin=2.0, mirrored=True)
    assert np.abs(over.rgb.astype(int) - flat.rgb[:, ::-1].astype(int)).mean() < 2


def test_corners_that_are_none_are_refused() -> None:
    with pytest.raises(PhotoError, match="four corners"):
        pose_from_corners([(0, 0), (1, 0), (1, 1)], SIZE)


def shaded(ground: float) -> NDArray[np.uint8]:
    """A yellow board from (150, 150) to (850, 550) whose ground on the right is dark: `ground` of full light there."""
    columns = np.mgrid[:700, :1000][1]
    light = 1 - (1 - ground) / (1 + np.exp(-(columns - 790) / 15.0))
    base = np.full((700, 1000, 3), 0.6)
    base[150:550, 150:850] = (0.38, 0.31, 0.06)
    base *= light[..., None]
    noise = np.random.default_rng(3).normal(0, 2, base.shape)
    return np.clip(255 * base ** (1 / 2.2) + noise, 0, 255).astype(np.uint8)


def test_a_side_in_the_shadow_is_set_right_by_colour() -> None:
    true = np.array([[149.5, 149.5], [849.5, 149.5], [849.5, 549.5], [149.5, 549.5]])
    off = true + np.array([[0, 0], [4, 0], [-14, 0], [0, 0]])
    found = refine_by_colour(shaded(0.1), off, reach=16)
    assert np.abs(found - true).max() < 1.5  # pixels
    # What is off by little stays: edges are sharper than colours. So does a side on ground too dark to have a colour.
    near = true + np.array([[0, 0], [2, 0], [-3, 0], [0, 0]])
    assert refine_by_colour(shaded(0.1), near, reach=16) == pytest.approx(near, abs=1e-6)
    assert refine_by_colour(shaded(0.004), off, reach=16) == pytest.approx(off, abs=1e-6)


@pytest.mark.open_data
def test_the_outlines_of_real_boards(reference: Path) -> None:
    told = json.loads((reference / "photos" / "corners.json").read_text(encoding="utf-8"))
    folder = Path(os.environ["LIDOFF_OPEN_DATA"]) / "photos"
    for name, one in told["boards"].items():
        photo = pixels(folder / name)
        outline = find_outline(photo, tuple(one["within"]) if "within" in one else None)
        off = np.linalg.norm(outline.corners - np.array(one["corners"]), axis=1)
        side = np.linalg.norm(np.diff(np.array(one["corners"])[:2], axis=0))
        assert off.max() / side < one["within_share"], name
