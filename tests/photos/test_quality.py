"""A photo that will not do is told why and what to do; several shots with the lamp moved make one without glare."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.photos import scene

from lidoff.photos.merge import merge
from lidoff.photos.picture import PhotoError
from lidoff.photos.quality import judge_picture

SIZE = (1000, 750)
CAMERA = scene.Camera(tilt=(5, -4, 2), size=SIZE, away=70)


def photo(**changes: float) -> np.ndarray:
    return scene.photographed(scene.plain(), CAMERA, **changes)  # type: ignore[arg-type]


def about(picture: np.ndarray, **words: float) -> set[str]:
    corners = scene.corners(scene.plain(), CAMERA)
    return {one.about for one in judge_picture(picture, corners=corners, **words).remarks}  # type: ignore[arg-type]


def test_a_good_photo_is_left_alone() -> None:
    assert about(photo(), px_per_mm=22.0, gap=0.3) == set()


def test_too_coarse_says_how_many_pixels_are_wanted() -> None:
    coarse = judge_picture(photo(), px_per_mm=5.0, gap=0.2)
    assert coarse.px_per_gap == pytest.approx(1.0)
    (remark,) = [one for one in coarse.remarks if one.about == "coarse"]
    assert remark.sentence.startswith("Too coarse: 1.0 pixels to a gap of 0.2 mm")
    assert "20 pixels per mm" in remark.sentence
    assert "coarse" in about(photo(), px_per_mm=12.0)
    assert "coarse" not in about(photo(), px_per_mm=20.0)


@pytest.mark.parametrize("smear", [1.0, 2.0, 4.0])
def test_the_blur_measured_is_the_blur_there_is(smear: float) -> None:
    measured = judge_picture(photo(blur=smear)).blur
    # The scene's own edges are a little soft already; edges that the sampling cuts at a slant read up to a tenth
    # sharper.
    assert measured == pytest.approx(np.hypot(smear, 0.9), rel=0.12)


def test_a_blurred_photo_is_told_to_be_taken_again() -> None:
    assert "blurred" in about(photo(blur=4.0))
    assert "blurred" in about(np.full((300, 400, 3), 128, np.uint8))


def test_bright_glare_and_dark() -> None:
    lit = photo()
    middle = scene.corners(scene.plain(), CAMERA).mean(axis=0)
    cv2.circle(lit, (round(middle[0]), round(middle[1])), 90, (255, 255, 255), -1)
    assert about(lit) == {"glare"}
    specks = photo()
    rows, columns = np.nonzero(np.random.default_rng(3).random(specks.shape[:2]) < 0.06)
    specks[rows, columns] = 255
    assert "bright" in about(specks)
    assert "dark" in about((photo() * 0.2).astype(np.uint8))


def test_glare_that_wanders_is_merged_away() -> None:
    board = scene.plain()
    clean = scene.photographed(board, CAMERA, seed=50)
    middle = scene.corners(board, CAMERA).mean(axis=0)
    shots = []
    for number, (dx, dy) in enumerate(((-120, -40), (100, 60), (20, -110))):
        # The lamp moves; the camera is nudged; the exposure follows the lamp.
        seen = scene.Camera(tilt=(5 + 0.3 * number, -4, 2 + 0.4 * number), size=SIZE, away=70 + number)
        shot = scene.photographed(board, seen, seed=number).astype(np.float32) * (1 - 0.1 * number)
        glow = np.zeros(shot.shape[:2], np.float32)
        cv2.circle(glow, (round(middle[0] + dx), round(middle[1] + dy)), 70, 1.0, -1)
        glow = cv2.GaussianBlur(glow, (0, 0), 12)[..., None]
        shots.append(np.clip(shot + 255 * glow, 0, 255).astype(np.uint8))
    merged = merge(shots)
    assert max(merged.misfit) < 1.0
    inside = np.zeros(SIZE[::-1], np.uint8)
    cv2.fillConvexPoly(inside, scene.corners(board, CAMERA).astype(np.int32), 1)
    inside = cv2.erode(inside, np.ones((15, 15)))

    def off(picture: np.ndarray) -> float:
        away = np.abs(picture.astype(np.float32) - clean.astype(np.float32)).max(axis=2)
        return float(np.percentile(away[inside > 0], 98))

    assert off(shots[0]) > 60
    assert off(merged.rgb) < 30
    assert "glare" not in {one.about for one in judge_picture(merged.rgb).remarks}


def test_one_shot_is_itself_and_another_side_is_refused() -> None:
    first = photo()
    assert merge([first]).rgb is first
    other = np.random.default_rng(8).integers(0, 255, first.shape, dtype=np.uint8)
    with pytest.raises(PhotoError, match="Shot 2 does not show the same side"):
        merge([first, other])
    with pytest.raises(PhotoError, match="at most 9"):
        merge([first] * 10)
