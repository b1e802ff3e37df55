"""Several shots of one side with the lamp moved, made one: glare that wanders is left out.

The shots are laid over the first by features of the picture (D. Lowe's, see `holes`), which works within one side, and
each pixel is taken from the second darkest shot that shows it (of two shots, from the darker): glare is light, and one
lamp's shadow is left out as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError
from lidoff.photos.straighten import Floats, mapped

MOST: Final = 9
_WORKING: Final = 1600  # pixels of the long side while features are compared
_LEAST_INLIERS: Final = 30
_LEAST_SHARE: Final = 0.25
_ROWS: Final = 256  # rows that are put in order at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """One picture in the place of several, `rgb`, as the first shot lies.

    `misfit` [pixels of the first shot] is the rms distance of the features of each further shot.
    """

    rgb: NDArray[np.uint8]
    misfit: tuple[float, ...]


def merge(shots: Sequence[NDArray[np.uint8]]) -> Merged:
    """The shots as one picture. Raises PhotoError where one shows something else, and for more than nine."""
    if not 1 <= len(shots) <= MOST:
        raise PhotoError(f"{len(shots)} shots of one side; at most {MOST} are merged.")
    cv2 = opencv()
    first = shots[0]
    laid, misfit = [first], []
    for number, shot in enumerate(shots[1:], start=2):
        to_first, off = _laid_over(cv2, first, shot, number)
        moved = cv2.warpPerspective(shot, to_first, (first.shape[1], first.shape[0]), flags=cv2.INTER_LINEAR)
        seen = cv2.warpPerspective(
            np.full(shot.shape[:2], 255, np.uint8), to_first, (first.shape[1], first.shape[0]), flags=cv2.INTER_NEAREST
        )
        moved = _as_bright_as(cv2, moved, first, seen)
        # Where a shot does not reach, the first stands in: it is never the odd one out there.
        moved[seen == 0] = first[seen == 0]
        laid.append(moved)
        misfit.append(off)
    if len(laid) == 1:
        return Merged(rgb=first, misfit=())
    made = np.empty_like(first)
    which = 0 if len(laid) == 2 else 1
    for start in range(0, len(first), _ROWS):
        band = np.stack([one[start : start + _ROWS] for one in laid])
        # Whole pixels are chosen, so that no colour is made up of two.
        order = np.argsort(band.astype(np.uint16).sum(axis=3), axis=0, kind="stable")[which]
        made[start : start + _ROWS] = np.take_along_axis(band, order[None, ..., None], axis=0)[0]
    return Merged(rgb=made, misfit=tuple(misfit))


def _laid_over(cv2: Any, first: NDArray[np.uint8], shot: NDArray[np.uint8], number: int) -> tuple[Floats, float]:
    sift = cv2.SIFT_create(6000)
    found = []
    for picture in (first, shot):
        scale = min(1.0, _WORKING / max(picture.shape[:2]))
        gray = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
        small = gray if scale == 1 else cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        # Light from another side changes how bright a place is, less how it differs from what is near.
        small = cv2.createCLAHE(2.0, (8, 8)).apply(small)
        points, described = sift.detectAndCompute(small, None)
        places = np.array([point.pt for point in points], dtype=np.float64).reshape(-1, 2)
        found.append(((places + 0.5) / scale - 0.5, described))
    (there, its), (here, own) = found
    refused = PhotoError(
        f"Shot {number} does not show the same side as the first, or the camera was moved too far; leave it out."
    )
    if its is None or own is None or min(len(its), len(own)) < _LEAST_INLIERS:
        raise refused
    pairs = [
        one[0]
        for one in cv2.BFMatcher(cv2.NORM_L2).knnMatch(own, its, k=2)
        if len(one) == 2 and one[0].distance < 0.8 * one[1].distance
    ]
    if len(pairs) < _LEAST_INLIERS:
        raise refused
    source = np.array([here[pair.queryIdx] for pair in pairs])
    target = np.array([there[pair.trainIdx] for pair in pairs])
    cv2.setRNGSeed(1)
    matrix, kept = cv2.findHomography(source, target, cv2.USAC_MAGSAC, 0.002 * max(first.shape[:2]), None, 5000, 0.999)
    if matrix is None:
        raise refused
    chosen = np.ravel(kept) > 0
    if chosen.sum() < _LEAST_INLIERS or chosen.mean() < _LEAST_SHARE:
        raise refused
    off = mapped(matrix, source[chosen]) - target[chosen]
    return matrix, float(np.sqrt((off**2).sum(axis=1).mean()))


def _as_bright_as(
    cv2: Any, moved: NDArray[np.uint8], first: NDArray[np.uint8], seen: NDArray[np.uint8]
) -> NDArray[np.uint8]:
    """The shot with each colour's exposure made that of the first."""
    step = max(1, max(first.shape[:2]) // 400)
    both = seen[::step, ::step] > 0
    table = np.empty((256, 1, 3), np.uint8)
    for colour in range(3):
        ahead, own = (float(np.median(one[::step, ::step, colour][both])) for one in (first, moved))
        gain = float(np.clip(ahead / max(own, 1.0), 0.25, 4.0))
        table[:, 0, colour] = np.clip(np.arange(256) * gain, 0, 255)
    made: NDArray[np.uint8] = cv2.LUT(moved, table)
    return made
