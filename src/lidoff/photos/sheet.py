"""The printed sheet that gives a photo its pose and its scale at once: its frames, and finding them in a photo.

A frame is a ring of square markers of the open ArUco dictionary 5x5_100 (S. Garrido-Jurado and others, "Automatic
generation and detection of highly reliable fiducial markers under occlusion", Pattern Recognition 47, 2014) round an
opening into which the board is laid. Each frame has marker numbers of its own, so that a photo tells which one it
shows. Sheet coordinates are in mm from the opening's corner at the top left.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError
from lidoff.photos.straighten import USUAL_FOCAL, Floats, Pose, homography, mapped

LINE: Final = 100.0
"""Length of the line that is measured after printing [mm]."""
_LEAST_MARKERS: Final = 4
_WORST_FIT: Final = 0.6  # mm; a sheet that is not flat cannot give a pose
_LARGEST_LOOKED_AT: Final = 2600  # pixels of the long side while markers are looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A ring of markers: the opening's `width` and `height`, the `marker` side [mm], and the first marker's number."""

    name: str
    width: float
    height: float
    marker: float
    gap: float
    across: int
    down: int
    first: int

    @property
    def count(self) -> int:
        """How many markers stand round the opening."""
        return 2 * (self.across + self.down)

    @property
    def reach(self) -> float:
        """How far the ring stands out beyond the opening [mm]."""
        return self.gap + self.marker

    def places(self) -> Mapping[int, tuple[float, float]]:
        """The top left corner of each marker [mm], by its number."""
        outer = -self.reach
        columns = np.linspace(outer, self.width + self.gap, self.across)
        rows = np.linspace(outer, self.height + self.gap, self.down + 2)[1:-1]
        ring = [(float(x), outer) for x in columns]
        ring += [(self.width + self.gap, float(y)) for y in rows]
        ring += [(float(x), self.height + self.gap) for x in columns]
        ring += [(outer, float(y)) for y in rows]
        return MappingProxyType({self.first + number: place for number, place in enumerate(ring)})

    def corners(self, number: int) -> Floats:
        """The four corners of a marker [mm], clockwise from its top left."""
        x, y = self.places()[number]
        side = self.marker
        return np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]])


# A4 is 210 mm by 297 mm, US letter 215.9 mm by 279.4 mm: every frame fits on both (ISO 216; ANSI/ASME Y14.1).
FRAMES: Final = (
    Frame(name="small", width=70, height=50, marker=8, gap=3, across=6, down=3, first=0),
    Frame(name="medium", width=130, height=90, marker=11, gap=4, across=7, down=4, first=20),
    Frame(name="large", width=160, height=182, marker=12, gap=4, across=7, down=7, first=50),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFound:
    """A frame found in a photo: `to_sheet` (3, 3) takes photo pixels to sheet mm; `misfit` is the rms distance of the
    markers' corners from where they should lie [mm].
    """

    frame: Frame
    to_sheet: Floats
    markers: int
    misfit: float


def dictionary(cv2: Any) -> Any:
    """The open dictionary that the markers are from."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_100)


def cells(number: int) -> NDArray[np.bool_]:
    """The marker as (7, 7) cells, rim included; True is white."""
    cv2 = opencv()
    drawn: NDArray[np.bool_] = cv2.aruco.generateImageMarker(dictionary(cv2), number, 7, borderBits=1) > 127
    return drawn


def find_sheet(rgb: NDArray[np.uint8], line: float = LINE) -> SheetFound | None:
    """The frame that an upright photo shows, or None where there is none.

    `line` [mm] is what the sheet's line of 100 mm measures as printed. Raises PhotoError where the markers do not lie
    in one plane, which is what a sheet with a bend looks like.
    """
    cv2 = opencv()
    scale = min(1.0, _LARGEST_LOOKED_AT / max(rgb.shape[:2]))
    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    seen = gray if scale == 1.0 else cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    found, numbers, _ = cv2.aruco.ArucoDetector(dictionary(cv2), settings).detectMarkers(seen)
    if numbers is None:
        return None
    places = {
        int(one): (held.reshape(4, 2).astype(np.float64) + 0.5) / scale - 0.5
        for one, held in zip(np.ravel(numbers), found, strict=True)
    }
    frame = max(FRAMES, key=lambda one: len(places.keys() & one.places().keys()))
    own = sorted(places.keys() & frame.places().keys())
    if len(own) < _LEAST_MARKERS:
        return None
    photo = np.concatenate([places[number] for number in own])
    if scale < 1.0:
        size = max(2, round(1.2 / scale))
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.01)
        photo = cv2.cornerSubPix(gray, photo.astype(np.float32).reshape(-1, 1, 2), (size, size), (-1, -1), stop)
        photo = photo.reshape(-1, 2).astype(np.float64)
    sheet = np.concatenate([frame.corners(number) for number in own]) * (line / LINE)
    rough, kept = cv2.findHomography(photo, sheet, cv2.RANSAC, 0.5)
    if rough is None or kept.sum() < 4 * _LEAST_MARKERS:
        raise _bent()
    chosen = np.ravel(kept) > 0
    to_sheet = homography(photo[chosen], sheet[chosen])
    misfit = float(np.sqrt(((mapped(to_sheet, photo[chosen]) - sheet[chosen]) ** 2).sum(axis=1).mean()))
    if misfit > _WORST_FIT or chosen.mean() < 0.6:
        raise _bent()
    return SheetFound(frame=frame, to_sheet=to_sheet, markers=len(own), misfit=misfit)


def _bent() -> PhotoError:
    return PhotoError(
        "The markers of the sheet do not lie in one plane: press it flat, use the camera's plain lens, and photograph "
        "it again."
    )


def raised(to_sheet: Floats, size: tuple[int, int], height: float, focal: float | None = None) -> Floats:
    """The homography for a plane `height` [mm] above the sheet: a board's upper side is nearer to the camera than the
    paper it lies on, and looks larger by that.

    `size` is the photo's (width, height) [pixels], `focal` the focal length over its diagonal where the camera told it.
    """
    diagonal = float(np.hypot(*size))
    middle = np.array([[1, 0, -(size[0] - 1) / 2], [0, 1, -(size[1] - 1) / 2], [0, 0, 1.0]])
    to_photo = middle @ np.linalg.inv(to_sheet)
    h1, h2, h3 = to_photo.T
    length = focal * diagonal if focal is not None else _focal_of(h1, h2, diagonal)
    inverse = np.diag([1 / length, 1 / length, 1.0])
    r1, r2, where = inverse @ h1, inverse @ h2, inverse @ h3
    scale = 2 / (np.linalg.norm(r1) + np.linalg.norm(r2))
    r1, r2, where = r1 * scale, r2 * scale, where * scale
    if where[2] < 0:
        r1, r2, where = -r1, -r2, -where
    # x to the right and y down: the third axis points away from the camera, so up is against it.
    up = -np.cross(r1, r2)
    lifted = np.diag([length, length, 1.0]) @ np.column_stack([r1, r2, where + height * up])
    found = np.asarray(np.linalg.inv(np.linalg.inv(middle) @ lifted), dtype=np.float64)
    scaled: Floats = found / found[2, 2]
    return scaled


def _focal_of(h1: Floats, h2: Floats, diagonal: float) -> float:
    """The focal length [pixels] from the two conditions on a plane's homography, where the slant is strong enough.

    Z. Zhang, "A flexible new technique for camera calibration", IEEE Transactions on Pattern Analysis and Machine
    Intelligence 22, 2000, section 3.1, with the middle of the picture as principal point.
    """
    usual = USUAL_FOCAL * diagonal
    # Two equations in 1/f²: r1·r2 = 0 and |r1| = |r2|.
    a = np.array([h1[0] * h2[0] + h1[1] * h2[1], h1[0] ** 2 + h1[1] ** 2 - h2[0] ** 2 - h2[1] ** 2])
    b = -np.array([h1[2] * h2[2], h1[2] ** 2 - h2[2] ** 2])
    size = (h1[0] ** 2 + h1[1] ** 2 + h2[0] ** 2 + h2[1] ** 2) / usual**2
    if float(np.linalg.norm(b)) < 0.02 * size:
        return usual
    inverse = float(a @ b / (a @ a))
    if inverse <= 0:
        return usual
    found = 1 / np.sqrt(inverse)
    return float(found) if 0.35 < found / diagonal < 4 else usual


def pose_on_sheet(
    found: SheetFound, corners: Any, size: tuple[int, int], *, thickness: float = 1.6, focal: float | None = None
) -> Pose:
    """The pose of a board that lies in the frame, from its four corners in the photo, clockwise from the top left.

    `thickness` [mm] is how far the side that is seen lies above the paper.
    """
    to_plane = raised(found.to_sheet, size, thickness, focal)
    on_sheet = mapped(to_plane, corners)
    top, right, bottom, left = (float(np.linalg.norm(on_sheet[(at + 1) % 4] - on_sheet[at])) for at in range(4))
    width, height = (top + bottom) / 2, (left + right) / 2
    frame = np.array([[0, 0], [width, 0], [width, height], [0, height]])
    # Turned and shifted, not stretched: the sheet's mm stay.
    middle, target = on_sheet.mean(axis=0), frame.mean(axis=0)
    turn = np.linalg.svd((on_sheet - middle).T @ (frame - target))
    rotation = (turn[0] @ np.diag([1, np.sign(np.linalg.det(turn[0] @ turn[2]))]) @ turn[2]).T
    rigid = np.eye(3)
    rigid[:2, :2] = rotation
    rigid[:2, 2] = target - rotation @ middle
    return Pose(
        to_board=rigid @ to_plane,
        width=width,
        height=height,
        scale_from=f"the printed sheet, {found.frame.name} frame, {found.markers} markers",
    )
