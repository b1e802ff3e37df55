"""The copper of one photo as it is looked at on the tracing page: followed from point to point.

A path is the cheapest way over the picture (Dijkstra's shortest path on the pixels, by scikit-image): a pixel costs one
on copper and more the less it looks like it. What looks like copper is told by the view in which the joins were read,
or, where no view was of use, by the colour of the points that somebody clicked.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.intake import pixels
from lidoff.photos.merge import MOST, merge
from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError
from lidoff.photos.straighten import mapped
from lidoff.photos.tracing import Scale, Traced
from lidoff.photos.views import lab

Floats = NDArray[np.float64]
Point = tuple[float, float]
_LARGEST_WINDOW: Final = 420  # pixels: the long side of what a path is sought in
_SPARE: Final = (0.35, 3.0)  # of the extent of the points, kept round them: little at first, much where that fails
_OFF: Final = 0.06  # share of a way that may lie off copper before one is sought further round
_OFF_COPPER: Final = 24.0  # cost of a pixel that is laminate for certain, over that of copper
_FAR_COLOUR: Final = 26.0  # distance in L*a*b* at which a pixel is not what was clicked
_NEAR: Final = 3  # pixels about a click from which its colour is taken
_STRAIGHT: Final = 0.9  # pixels by which a drawn path may leave the found one


@dataclass(frozen=True, slots=True, kw_only=True)
class Copper:
    """A photo of the copper side: its pixels, its pose (photo pixels to board mm), and the margins [1] of the view
    that the joins were read in with their scale, where there is one.
    """

    rgb: NDArray[np.uint8]
    pose: Floats
    margins: NDArray[np.float32] | None = None
    scale: Scale | None = None


def inverse(pose: Floats) -> Floats:
    """The way back: board mm to photo pixels."""
    return np.asarray(np.linalg.inv(pose), dtype=np.float64)


def load(folder: Path, files: Sequence[str], pose: Any) -> Copper:
    """The copper side's photos as one picture. Raises PhotoError."""
    rgb = pixels(folder / files[0])
    if len(files) > 1:
        with contextlib.suppress(PhotoError):  # the first alone serves then; the proposal says so
            rgb = merge([rgb, *(pixels(folder / file) for file in files[1:MOST])]).rgb
    return Copper(rgb=rgb, pose=np.array(pose, dtype=np.float64))


def seen(copper: Copper, traced: Traced | None) -> Copper:
    """The copper with the margins of the best view of a reading."""
    if traced is None or not traced.views:
        return Copper(rgb=copper.rgb, pose=copper.pose)
    margins = np.array(traced.views[0].plain, dtype=np.float32)
    return Copper(rgb=copper.rgb, pose=copper.pose, margins=margins, scale=traced.scale)


def path(copper: Copper, points: Sequence[Point], *, clicked: bool = False) -> tuple[Point, ...]:
    """The way along copper through board points [mm], simplified. Raises PhotoError where the extra is missing.

    `clicked` points lie on the copper that is meant: their colour tells what copper looks like there.
    """
    opencv()
    in_photo = mapped(inverse(copper.pose), points)
    by_view = copper.margins is not None and copper.scale is not None and not clicked
    at = copper.scale.into(in_photo) if by_view and copper.scale is not None else in_photo
    picture: Any = copper.margins if by_view else copper.rgb
    height, width = picture.shape[:2]
    at = at.clip((0, 0), (width - 1, height - 1))
    found, best = at, np.inf
    for share in _SPARE:
        window, corner, factor = _window(picture, at, share)
        local = (at - corner + 0.5) * factor - 0.5
        cost = _cost_of_view(window, factor) if by_view else _cost_of_colour(window, factor, local)
        way, total, off = _through(cost, local)
        if total / factor < best:
            found, best = (_simplified(way) + 0.5) / factor - 0.5 + corner, total / factor
        if off < _OFF:
            break
    if by_view and copper.scale is not None:
        found = np.array([copper.scale.back(x, y) for x, y in found])
    on_board = mapped(copper.pose, found)
    # The ends are where they were set, not where their pixel's middle is.
    on_board[0], on_board[-1] = points[0], points[-1]
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in on_board)


def _window(picture: Any, at: Floats, share: float) -> tuple[Any, Floats, float]:
    """The part of a picture about some points, the place of its corner, and what it is to be shrunk by."""
    height, width = picture.shape[:2]
    low, high = at.min(axis=0), at.max(axis=0)
    spare = max(24.0, share * float((high - low).max()))
    x0, y0 = (max(0, int(edge - spare)) for edge in low)
    x1, y1 = min(width, int(high[0] + spare) + 2), min(height, int(high[1] + spare) + 2)
    window = picture[y0:y1, x0:x1]
    return window, np.array([x0, y0], dtype=np.float64), min(1.0, _LARGEST_WINDOW / max(window.shape[:2]))


def _cost_of_view(window: NDArray[np.float32], factor: float) -> Floats:
    margins = _shrunk(window, factor)
    return np.asarray(1.0 + _OFF_COPPER * np.clip((0.6 - margins) / 1.6, 0.0, 1.0) ** 2, dtype=np.float64)


def _cost_of_colour(window: NDArray[np.uint8], factor: float, at: Floats) -> Floats:
    colours = lab(np.ascontiguousarray(_shrunk(window, factor)), smooth=0.8)
    off = np.full(colours.shape[:2], np.inf)
    for x, y in np.round(at).astype(int):
        near = colours[max(0, y - _NEAR) : y + _NEAR + 1, max(0, x - _NEAR) : x + _NEAR + 1]
        # Light falls off over a board: lightness counts for half of what hue does.
        away = (colours - np.median(near.reshape(-1, 3), axis=0)) * np.array([0.5, 1.0, 1.0])
        off = np.minimum(off, np.linalg.norm(away, axis=2))
    return np.asarray(1.0 + _OFF_COPPER * np.clip(off / _FAR_COLOUR, 0.0, 1.0) ** 2, dtype=np.float64)


def _shrunk(window: Any, factor: float) -> Any:
    if factor >= 1:
        return window
    cv2 = opencv()
    size = (max(1, round(window.shape[1] * factor)), max(1, round(window.shape[0] * factor)))
    return cv2.resize(window, size, interpolation=cv2.INTER_AREA)


def _through(cost: Floats, points: Floats) -> tuple[Floats, float, float]:
    """The cheapest way (x, y) through all points in turn, what it costs, and what share of it lies off copper."""
    try:
        from skimage.graph import MCP_Geometric
    except ImportError as error:
        raise PhotoError("Tracing a board needs the extra photos: pip install lidoff[photos].") from error
    rows, columns = cost.shape
    cells = [(min(max(0, round(y)), rows - 1), min(max(0, round(x)), columns - 1)) for x, y in points]
    way: list[tuple[int, int]] = [cells[0]]
    for start, end in pairwise(cells):
        if start == end:
            continue
        finder = MCP_Geometric(cost)
        finder.find_costs([start], [end])
        way += finder.traceback(end)[1:]
    if len(way) == 1:
        way += way
    along = np.array([cost[cell] for cell in way])
    off = float((along > 1.0 + _OFF_COPPER / 3).mean())
    return np.array([(x, y) for y, x in way], dtype=np.float64), float(along.sum()), off


def _simplified(way: Floats) -> Floats:
    """The way with what lies on a straight line left out (Douglas and Peucker, by OpenCV)."""
    cv2 = opencv()
    made = cv2.approxPolyDP(way.astype(np.float32).reshape(-1, 1, 2), _STRAIGHT, False).reshape(-1, 2)
    return np.asarray(made if len(made) > 1 else way[[0, -1]], dtype=np.float64)
