"""Following one track by hand: between two clicked points the path keeps to what looks like the points themselves.

    followed = follow(rgb, (412.0, 233.5), (530.0, 240.0))
    followed.points                # the way, as a polyline in photo pixels
    followed.weakest               # where it looks least like copper

For pictures that bear no answer as a whole (solder mask, parts, glare): a person sees where a track begins, and the
colour under the two clicks says what to keep to. Every pixel is priced by how unlike that colour it is; the way is the
cheapest one (Dijkstra's, by scikit-image).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.needs import cheapest_path, opencv
from lidoff.photos.picture import PhotoError
from lidoff.photos.views import lab

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Map, Mask, Rgb

Point = tuple[float, float]

_SPARE: Final = 0.35  # of the way between the points, looked at on all sides
_LEAST_SPARE: Final = 40.0  # pixels
_MOST_PIXELS: Final = 300_000
_PATCH: Final = 2  # pixels about a click whose colour counts
_FLOOR: Final = 3.0  # of L*, a*, b*: colours nearer than this are one
_STEEP: Final = 6.0  # how much dearer laminate is than copper, as a power of e
_STRAIGHT: Final = 1.0  # pixels by which the polyline may cut a corner


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """A way along copper: `points` (x, y) in photo pixels from the first click to the second, its `length` [pixels].

    `margin` [1] is that of the weakest point, which lies at `weakest`: 1 looks like the clicks, 0 half way to what
    lies around them, -1 like that.
    """

    points: tuple[Point, ...]
    length: float
    weakest: Point
    margin: float


def follow(rgb: Rgb, start: Point, end: Point, *, bodies: Mask | None = None) -> Followed:
    """The way from `start` to `end` (x, y) [photo pixels] along what looks like them.

    `bodies` (height by width) marks what no track is to be read through. Raises PhotoError where a point lies outside
    of the photo or both are one, and where the extra is missing.
    """
    height, width = rgb.shape[:2]
    for x, y in (start, end):
        if not (0 <= x < width and 0 <= y < height):
            raise PhotoError(f"The point ({x:g}, {y:g}) lies outside of the photo of {width} by {height} pixels.")
    apart = float(np.hypot(start[0] - end[0], start[1] - end[1]))
    if apart < 2:
        raise PhotoError("The two points are one: click where the track begins and where it goes on.")
    spare = max(_LEAST_SPARE, _SPARE * apart)
    left, top = int(max(0, min(start[0], end[0]) - spare)), int(max(0, min(start[1], end[1]) - spare))
    right, bottom = int(min(width, max(start[0], end[0]) + spare)), int(min(height, max(start[1], end[1]) + spare))
    crop = rgb[top:bottom, left:right]
    factor = min(1.0, float(np.sqrt(_MOST_PIXELS / (crop.shape[0] * crop.shape[1]))))
    cv2 = opencv()
    if factor < 1:
        crop = np.asarray(cv2.resize(crop, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA))

    def inside(point: Point) -> tuple[int, int]:
        row = int(np.clip(round((point[1] - top) * factor), 0, crop.shape[0] - 1))
        column = int(np.clip(round((point[0] - left) * factor), 0, crop.shape[1] - 1))
        return row, column

    ends = inside(start), inside(end)
    margin = _likeness(lab(crop, smooth=0.8), ends)
    if bodies is not None:
        hidden = cv2.resize(
            bodies[top:bottom, left:right].astype(np.uint8), margin.shape[::-1], interpolation=cv2.INTER_NEAREST
        )
        margin = np.where(hidden > 0, np.float32(-1.0), margin)
    way = np.array(cheapest_path()(np.exp(_STEEP * (1 - margin) / 2), *ends, fully_connected=True, geometric=True)[0])
    weakest = int(np.argmin(margin[way[:, 0], way[:, 1]]))

    def outside(row: float, column: float) -> Point:
        return column / factor + left, row / factor + top

    bent = cv2.approxPolyDP(way[:, ::-1].astype(np.float32)[:, None], _STRAIGHT, False)[:, 0]
    points = tuple(outside(float(row), float(column)) for column, row in bent)
    steps = np.diff(np.array(points), axis=0)
    return Followed(
        points=points,
        length=float(np.hypot(steps[:, 0], steps[:, 1]).sum()),
        weakest=outside(float(way[weakest, 0]), float(way[weakest, 1])),
        margin=float(margin[way[weakest, 0], way[weakest, 1]]),
    )


def _likeness(colours: Map, ends: tuple[tuple[int, int], tuple[int, int]]) -> Map:
    """How like the colour at the two ends every pixel is: 1 like it, -1 like what else there is around, or further."""
    rows, columns = np.mgrid[0 : colours.shape[0], 0 : colours.shape[1]].astype(np.float32)
    patches = [_patch(colours, end) for end in ends]
    means = [patch.mean(axis=0) for patch in patches]
    spread = np.maximum(np.mean([patch.std(axis=0) for patch in patches], axis=0), _FLOOR)
    # From one end to the other the colour may change with the light: each pixel is compared with what its place on the
    # way suggests.
    (r0, c0), (r1, c1) = ends
    along = ((rows - r0) * (r1 - r0) + (columns - c0) * (c1 - c0)) / max((r1 - r0) ** 2 + (c1 - c0) ** 2, 1)
    share = np.clip(along, 0, 1)[..., None]
    wanted = means[0] * (1 - share) + means[1] * share
    off = np.sqrt((((colours - wanted) / spread) ** 2).sum(axis=2))
    # What else there is: half of the pixels are further off than this at the least, however broad the track.
    other = max(float(np.percentile(off, 75)), 3.0)
    return np.asarray(np.clip(1 - 2 * off / other, -1, 1), np.float32)


def _patch(colours: Map, at: tuple[int, int]) -> NDArray[np.float32]:
    row, column = at
    cut = colours[max(0, row - _PATCH) : row + _PATCH + 1, max(0, column - _PATCH) : column + _PATCH + 1]
    return np.asarray(cut.reshape(-1, 3), np.float32)
