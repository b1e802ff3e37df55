"""From a photo taken at a slant to a picture seen straight from above, with its true aspect and its scale.

The board is plane, so one homography takes the photo to it. Four corners fix that homography but for the ratio of the
board's sides, which follows from the perspective itself once the focal length is known (Z. Zhang, L. He, "Whiteboard
scanning and image enhancement", Digital Signal Processing 17, 2007, sections 3.2 and 3.3). The focal length is the
camera's own word where it gave one, else it is had from the same four corners where the slant is strong enough, else
that of a usual telephone is taken; the less the slant, the less it matters.

Board coordinates are in mm, x to the right and y down as the side is seen, from the corner at the top left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError

Floats = NDArray[np.float64]

USUAL_FOCAL: Final = 0.62
"""Focal length of a telephone's main camera over the picture's diagonal: 26 to 27 mm on a frame of 43.3 mm. Common
practice, no source."""
_FOCAL_RANGE: Final = (0.35, 4.0)  # of the diagonal; outside of it the corners are not those of a rectangle
_STRONG_SLANT: Final = 0.12  # opposite sides that differ by less than this share say nothing of the focal length
MOST_STRAIGHT_PIXELS: Final = 25_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Aspect:
    """Width over height of a board, the focal length used [pixels] and where that is from."""

    ratio: float
    focal: float
    focal_from: Literal["camera", "perspective", "usual"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """Where a photo's pixels lie on the board: `to_board` (3, 3) takes photo pixels to board mm.

    `width` and `height` [mm] are the board's, between its corners. `scale_from` says what the mm rest on.
    """

    to_board: Floats
    width: float
    height: float
    scale_from: str

    def board(self, points: Any) -> Floats:
        """Photo pixels (n, 2) as board mm."""
        return mapped(self.to_board, points)

    def photo(self, points: Any) -> Floats:
        """Board mm (n, 2) as photo pixels."""
        return mapped(np.asarray(np.linalg.inv(self.to_board), dtype=np.float64), points)

    def px_per_mm(self) -> float:
        """How many photo pixels one mm of the board takes at its middle, in its worse direction."""
        middle = np.array([[self.width / 2, self.height / 2]])
        there = self.photo(middle + np.array([[0, 0], [0.5, 0], [0, 0.5]]))
        return float(2 * np.linalg.svd(there[1:] - there[0])[1][1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """A straightened picture: `rgb` (rows, columns, 3), `px_per_mm`, and where its top left pixel lies [mm].

    `margin` [mm] of ground is kept round the board.
    """

    rgb: NDArray[np.uint8]
    px_per_mm: float
    margin: float

    def pixels(self, points: Any) -> Floats:
        """Board mm (n, 2) as pixels of this picture."""
        return (np.asarray(points, dtype=np.float64) + self.margin) * self.px_per_mm - 0.5

    def board(self, points: Any) -> Floats:
        """Pixels of this picture (n, 2) as board mm."""
        return (np.asarray(points, dtype=np.float64) + 0.5) / self.px_per_mm - self.margin


def mapped(homography: Floats, points: Any) -> Floats:
    """The points (n, 2) taken through a homography (3, 3)."""
    held = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    with_one = np.column_stack([held, np.ones(len(held))]) @ homography.T
    return with_one[:, :2] / with_one[:, 2:]


def homography(source: Any, target: Any) -> Floats:
    """The homography of least squares that takes `source` (n >= 4, 2) to `target`; PhotoError where there is none."""
    start, end = np.asarray(source, dtype=np.float64), np.asarray(target, dtype=np.float64)
    found = _through_four(start, end) if len(start) == 4 else opencv().findHomography(start, end, 0)[0]
    if found is None or not np.isfinite(found).all() or abs(np.linalg.det(found)) < 1e-15:
        raise PhotoError("These points lie on one line or on one another; give points that span the board.")
    made: Floats = found
    return made


def _through_four(start: Floats, end: Floats) -> Floats | None:
    """The homography through four pairs, to the last digit: what is fitted by way of it needs smooth derivatives."""
    rows = []
    for (x, y), (u, v) in zip(start, end, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    try:
        held = np.linalg.solve(np.array(rows), end.ravel())
    except np.linalg.LinAlgError:
        return None
    return np.append(held, 1.0).reshape(3, 3)


def true_aspect(corners: Any, size: tuple[int, int], focal: float | None = None) -> Aspect:
    """Width over height of the rectangle whose corners are seen at `corners` (4, 2), clockwise from the top left.

    `size` is the photo's (width, height) [pixels], whose middle is taken for where the camera looked; `focal` is the
    focal length over the diagonal where the camera told it.
    """
    diagonal = float(np.hypot(*size))
    middle = np.array([(size[0] - 1) / 2, (size[1] - 1) / 2])
    m1, m2, m4, m3 = (np.array([*(np.asarray(one, dtype=np.float64) - middle) / diagonal, 1.0]) for one in corners)
    # Zhang and He, equations 11 to 20: m1 m2 over m3 m4.
    k2 = np.dot(np.cross(m1, m4), m3) / np.dot(np.cross(m2, m4), m3)
    k3 = np.dot(np.cross(m1, m4), m2) / np.dot(np.cross(m3, m4), m2)
    n2, n3 = k2 * m2 - m1, k3 * m3 - m1
    where: Literal["camera", "perspective", "usual"] = "camera"
    used = focal
    if used is None:
        used, where = USUAL_FOCAL, "usual"
        if min(abs(k2 - 1), abs(k3 - 1)) > _STRONG_SLANT:
            square = -(n2[0] * n3[0] + n2[1] * n3[1]) / (n2[2] * n3[2])
            if square > 0 and _FOCAL_RANGE[0] < np.sqrt(square) < _FOCAL_RANGE[1]:
                used, where = float(np.sqrt(square)), "perspective"
    weight = np.array([1 / used**2, 1 / used**2, 1.0])
    ratio = float(np.sqrt((n2**2 * weight).sum() / (n3**2 * weight).sum()))
    if not np.isfinite(ratio) or not 0.005 < ratio < 200:
        raise PhotoError("The four corners do not look like those of a rectangle; set them anew.")
    return Aspect(ratio=ratio, focal=used * diagonal, focal_from=where)


def pose_from_corners(
    corners: Any,
    size: tuple[int, int],
    *,
    width: float | None = None,
    height: float | None = None,
    focal: float | None = None,
) -> Pose:
    """The pose of a rectangular board from its four corners, clockwise from the top left.

    With `width` and `height` [mm] both given they decide; with one the true aspect gives the other; with neither the
    board is taken as 100 mm wide until a scale is given (`rescaled`).
    """
    ordered = np.asarray(corners, dtype=np.float64)
    if ordered.shape != (4, 2):
        raise PhotoError("A board has four corners; give each as x,y in photo pixels, clockwise from the top left.")
    aspect = true_aspect(ordered, size, focal)
    if width is not None and height is not None:
        wide, high, basis = width, height, "width and height as given"
    elif width is not None:
        wide, high, basis = width, width / aspect.ratio, "width as given"
    elif height is not None:
        wide, high, basis = height * aspect.ratio, height, "height as given"
    else:
        wide, high, basis = 100.0, 100.0 / aspect.ratio, ""
    frame = np.array([[0, 0], [wide, 0], [wide, high], [0, high]])
    return Pose(to_board=homography(ordered, frame), width=wide, height=high, scale_from=basis)


def rescaled(pose: Pose, one: Sequence[float], other: Sequence[float], length: float, basis: str = "") -> Pose:
    """The pose with its scale set so that two photo points lie `length` [mm] apart: a ruler's marks, or the first and
    the last of a row of holes of known pitch.
    """
    apart = float(np.linalg.norm(np.diff(pose.board([one, other]), axis=0)))
    if apart <= 0 or length <= 0:
        raise PhotoError("The two marks of a length must lie apart, and the length must be above 0 mm.")
    factor = length / apart
    return Pose(
        to_board=np.diag([factor, factor, 1.0]) @ pose.to_board,
        width=pose.width * factor,
        height=pose.height * factor,
        scale_from=basis or f"a length of {length:g} mm in the picture",
    )


def straightened(
    rgb: NDArray[np.uint8], pose: Pose, *, px_per_mm: float | None = None, margin: float = 0.0, mirrored: bool = False
) -> Straight:
    """The board seen straight from above.

    Without `px_per_mm` it is that of the photo, lowered where the picture would pass MOST_STRAIGHT_PIXELS. `mirrored`
    turns the board over, left to right.
    """
    cv2 = opencv()
    wide, high = pose.width + 2 * margin, pose.height + 2 * margin
    wanted = pose.px_per_mm() if px_per_mm is None else px_per_mm
    scale = min(wanted, float(np.sqrt(MOST_STRAIGHT_PIXELS / (wide * high))))
    columns, rows = max(1, round(wide * scale)), max(1, round(high * scale))
    place = np.array([[scale, 0, margin * scale - 0.5], [0, scale, margin * scale - 0.5], [0, 0, 1.0]])
    flip = np.array([[-1.0, 0, pose.width], [0, 1, 0], [0, 0, 1]]) if mirrored else np.eye(3)
    matrix = place @ flip @ pose.to_board
    shrinks = pose.px_per_mm() / scale > 1.6
    source, shrink = rgb, 1.0
    if shrinks:
        # Interpolation looks at four pixels only: what is shrunk by more has to be averaged first.
        shrink = scale / pose.px_per_mm()
        source = cv2.resize(rgb, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        matrix = matrix @ np.array(
            [[1 / shrink, 0, 0.5 / shrink - 0.5], [0, 1 / shrink, 0.5 / shrink - 0.5], [0, 0, 1]]
        )
    made = cv2.warpPerspective(source, matrix, (columns, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return Straight(rgb=made, px_per_mm=scale, margin=margin)
