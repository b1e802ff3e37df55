"""The printed sheet, drawn by our own page and photographed by a camera of known place, gives that place back."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

cv2 = pytest.importorskip("cv2", reason="OpenCV is not installed: pip install lidoff[photos]")

from lidoff.cli import main  # noqa: E402
from lidoff.photos.sheet import FRAMES, LINE, Frame, cells, find_sheet, pose_on_sheet, raised  # noqa: E402
from lidoff.photos.sheet_page import sheet_pdf  # noqa: E402
from lidoff.photos.straighten import mapped  # noqa: E402

SIZE = (2400, 1800)
FOCAL = 0.62 * float(np.hypot(*SIZE))


def camera(tilt: tuple[float, float, float], middle: tuple[float, float], away: float) -> NDArray[np.float64]:
    """The (3, 4) matrix of a pinhole camera over the sheet: mm to photo pixels."""
    from scipy.spatial.transform import Rotation

    turn = Rotation.from_euler("xyz", tilt, degrees=True).as_matrix()
    inner = np.array([[FOCAL, 0, (SIZE[0] - 1) / 2], [0, FOCAL, (SIZE[1] - 1) / 2], [0, 0, 1]])
    return inner @ np.column_stack([turn, np.array([0, 0, away]) - turn @ [*middle, 0]])


def photographed(frame: Frame, view: NDArray[np.float64]) -> NDArray[np.uint8]:
    """The frame as that camera sees it, with a little noise."""
    per_mm = 20
    edge = frame.reach + 4
    paper = np.full(
        (round((frame.height + 2 * edge) * per_mm), round((frame.width + 2 * edge) * per_mm)), 245, np.uint8
    )
    for number, (x, y) in frame.places().items():
        side = round(frame.marker * per_mm)
        drawn = cv2.resize(
            np.where(cells(number), 245, 20).astype(np.uint8), (side, side), interpolation=cv2.INTER_NEAREST
        )
        left, top = round((x + edge) * per_mm), round((y + edge) * per_mm)
        paper[top : top + side, left : left + side] = drawn
    to_mm = np.array([[1 / per_mm, 0, 0.5 / per_mm - edge], [0, 1 / per_mm, 0.5 / per_mm - edge], [0, 0, 1]])
    seen = cv2.warpPerspective(
        cv2.GaussianBlur(paper, (0, 0), 1.5), view[:, [0, 1, 3]] @ to_mm, SIZE, flags=cv2.INTER_AREA, borderValue=90
    )
    noise = np.random.default_rng(1).normal(0, 4, (*seen.shape, 3))
    return np.clip(seen[..., None] + noise, 0, 255).astype(np.uint8)  # type: ignore[no-any-return]


@pytest.mark.parametrize("frame", FRAMES, ids=lambda frame: frame.name)
@pytest.mark.parametrize("tilt", [(0, 0, 0), (14, -9, 20), (3, 2, 180)])
def test_a_photographed_frame_gives_its_pose(frame: Frame, tilt: tuple[float, float, float]) -> None:
    view = camera(tilt, (frame.width / 2, frame.height / 2), 1.9 * max(frame.width, frame.height) + 80)
    found = find_sheet(photographed(frame, view))
    assert found is not None
    assert found.frame is frame
    assert found.markers >= 0.9 * frame.count
    points = np.array([[0, 0], [frame.width, 0], [frame.width, frame.height], [0, frame.height]])
    photo = mapped(view[:, [0, 1, 3]], points)
    assert np.abs(mapped(found.to_sheet, photo) - points).max() < 0.05  # mm


def test_a_board_above_the_paper_is_measured_at_its_own_height() -> None:
    frame = FRAMES[0]
    view = camera((14, -9, 20), (35, 25), 190)
    found = find_sheet(photographed(frame, view))
    assert found is not None
    flat = np.array([[8.0, 6.0], [58.0, 6.0], [58.0, 36.0], [8.0, 36.0]])
    # Towards the camera is against the third axis.
    corners = np.column_stack([flat, np.full(4, -1.6), np.ones(4)]) @ view.T
    corners = corners[:, :2] / corners[:, 2:]
    pose = pose_on_sheet(found, corners, SIZE, thickness=1.6, focal=0.62)
    assert (pose.width, pose.height) == pytest.approx((50, 30), abs=0.06)
    untold = pose_on_sheet(found, corners, SIZE, thickness=1.6)
    assert (untold.width, untold.height) == pytest.approx((50, 30), abs=0.1)
    as_if_flat = pose_on_sheet(found, corners, SIZE, thickness=0.0, focal=0.62)
    assert as_if_flat.width > 50.3  # what is not corrected shows
    assert np.abs(mapped(raised(found.to_sheet, SIZE, 1.6, 0.62), corners) - flat).max() < 0.08


def test_a_line_that_was_printed_short_scales_everything() -> None:
    frame = FRAMES[0]
    view = camera((0, 0, 0), (35, 25), 220)
    photo = photographed(frame, view)
    plain, short = find_sheet(photo), find_sheet(photo, line=97.0)
    assert plain is not None
    assert short is not None
    ends = np.array([[700.0, 900.0], [1700.0, 900.0]])
    lengths = [float(np.linalg.norm(np.diff(mapped(one.to_sheet, ends), axis=0))) for one in (plain, short)]
    assert lengths[1] / lengths[0] == pytest.approx(0.97, rel=1e-6)


def test_no_sheet_is_no_sheet() -> None:
    noise = np.random.default_rng(5).integers(0, 255, (400, 600, 3), dtype=np.uint8)
    assert find_sheet(noise) is None


def test_no_two_frames_share_a_marker_and_all_fit_on_both_papers() -> None:
    numbers = [number for frame in FRAMES for number in frame.places()]
    assert len(set(numbers)) == len(numbers)
    assert max(numbers) < 100  # the dictionary's size
    for frame in FRAMES:
        assert frame.width + 2 * frame.reach < 210 - 10  # the narrower paper less what printers leave white
        assert frame.height + 2 * frame.reach < 279 - 30


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_the_pdf_is_to_scale(paper: str, size: tuple[float, float], tmp_path: Path) -> None:
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm, an independent reader of PDF, is not on this machine")
    file = tmp_path / "sheet.pdf"
    assert main(["sheet", "-o", str(file), "--paper", paper]) == 0
    subprocess.run(["pdftoppm", "-r", "200", "-png", str(file), str(tmp_path / "page")], check=True)
    pages = sorted(tmp_path.glob("page*.png"))
    assert len(pages) == len(FRAMES)
    per_mm = 200 / 25.4
    for page, frame in zip(pages, FRAMES, strict=True):
        picture = cv2.cvtColor(cv2.imread(str(page)), cv2.COLOR_BGR2RGB)
        assert (picture.shape[1] / per_mm, picture.shape[0] / per_mm) == pytest.approx(size, abs=0.2)
        found = find_sheet(picture)
        assert found is not None
        assert found.frame is frame
        assert found.markers == frame.count
        assert found.misfit < 0.5 / per_mm  # the renderer sets edges on whole pixels
        # One mm of the sheet is one mm of the paper.
        step = mapped(found.to_sheet, [[500.0, 500.0], [500.0 + 100 * per_mm, 500.0]])
        assert float(np.linalg.norm(np.diff(step, axis=0))) == pytest.approx(100, abs=0.05)
        # The line to measure: dark over exactly 100 mm.
        foot = (11 + 2 * frame.reach + frame.height + 7) * per_mm
        row = picture[round(foot) - 3 : round(foot) + 4, :, 0].min(axis=0) < 128
        dark = np.flatnonzero(row)
        assert (dark[-1] - dark[0]) / per_mm == pytest.approx(LINE, abs=0.4)


def test_the_pdf_is_the_same_every_time() -> None:
    assert sheet_pdf("a4") == sheet_pdf("a4")


def test_another_ending_is_refused(tmp_path: Path) -> None:
    assert main(["sheet", "-o", str(tmp_path / "item.toml")]) == 2
    assert not list(tmp_path.iterdir())
