"""Ways of looking at a board photo in which copper stands out: each a map of how far every pixel is on copper's side.

A view takes one measure of colour and asks at every pixel how far it lies between what laminate and what copper look
like around there: -1 is the laminate's own level, +1 the copper's, 0 half way. Both levels are followed over the board,
so that light that falls off to one side moves neither. The levels are found by turns: a first split against the local
mean, then each class's own local mean, then the split anew.

Four measures are looked at: lightness; redness with some lightness; laminate against metal; and the mix of all three
colours that sets the two classes furthest apart on this very photo (Fisher's discriminant, Annals of Eugenics 7 (1936)
179-188), found from the split of one of the others.

Blur takes contrast from what is narrow: a hairline gap turns grey, and so does a hairline track. `sharp` gives that
back by adding what a pixel has beyond its surroundings, which tells thin tracks and thin gaps apart where one threshold
cannot.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.photos.needs import opencv

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Map = NDArray[np.float32]
    Mask = NDArray[np.bool_]
    Rgb = NDArray[np.uint8]

LIMIT: Final = 3.0
"""Where margins end: what lies further out tells no more."""
# Share of the area's long side over which a class's level is followed. Between 30 and 120 pixels of 1600 the result is
# much the same.
_REACH: Final = 1 / 27
_ROUNDS: Final = 3
# How far `sharp` looks around a pixel [pixels of the photo], and how much of the difference it adds.
_AROUND: Final = 2.5
_ADDED: Final = 2.0
# The levels are smooth: they are followed on a grid this many times finer than their reach.
_GRID: Final = 6.0
_FAINT: Final = 1e-3
_FEW: Final = 50  # pixels that make no class


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One view of a board.

    `plain` and `sharp` are margins [1], height by width, within ±LIMIT; `contrast` is the median distance between the
    two levels in units of the scatter within the classes. `unknown` marks what is neither: brighter than metal around
    there (ink, glare); no path leads through it above the threshold.
    """

    name: str
    plain: Map
    sharp: Map
    contrast: float
    unknown: Mask

    def turned(self) -> View:
        """The same view with copper and laminate exchanged."""
        return View(
            name=f"{self.name}, turned",
            plain=-self.plain,
            sharp=-self.sharp,
            contrast=self.contrast,
            unknown=self.unknown,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Two classes of one measure: their local levels, the scatter about them, and which pixels are surely which."""

    low: Map
    high: Map
    scatter: float
    lower: Mask
    upper: Mask


def lab(rgb: Rgb, *, smooth: float = 0.0) -> Map:
    """CIE L*a*b* (D65) of a picture, height by width by 3, its noise smoothed over `smooth` [pixels]."""
    cv2 = opencv()
    converted = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    return converted if smooth <= 0 else np.asarray(cv2.GaussianBlur(converted, (0, 0), smooth))


def channels(colours: Map) -> dict[str, Map]:
    """The measures a view can be made of, by name: lightness; redness with some lightness, for shiny or textured
    boards; and laminate against metal, copper and solder alike, for bare laminate.
    """
    lightness, a, b = colours[..., 0], colours[..., 1], colours[..., 2]
    return {
        "lightness": lightness,
        "redness": a + np.float32(0.3) * lightness,
        "laminate": a - b,
    }


def view(name: str, measure: Map, area: Mask, *, enlarged: float = 1.0) -> View:
    """The view of one measure within `area`, in which copper has more of it than laminate.

    `enlarged` is how many pixels of `measure` one pixel of the photo has become along a side.
    """
    found = split(measure, area)
    gap = np.maximum(found.high - found.low, np.float32(_FAINT))
    plain = np.clip((measure - (found.high + found.low) / 2) / (gap / 2), -LIMIT, LIMIT)
    return View(
        name=name,
        plain=plain,
        sharp=sharpened(plain, enlarged),
        contrast=float(np.median(gap[area])) / max(found.scatter, _FAINT),
        unknown=np.zeros(area.shape, bool),
    )


def sharpened(plain: Map, enlarged: float) -> Map:
    """The margins with what narrow things lost to blur given back."""
    cv2 = opencv()
    around = cv2.GaussianBlur(plain, (0, 0), max(_AROUND * enlarged, 1.0))
    return np.asarray(np.clip(plain + np.float32(_ADDED) * (plain - around), -LIMIT, LIMIT))


def mixed(colours: Map, area: Mask, start: Mask) -> Map | None:
    """The mix of the three colours that sets the classes of `start` furthest apart, bright for its set pixels.

    None where one of the classes is all but empty.
    """
    cv2 = opencv()
    reach = max(area.shape) * _REACH
    kernel = np.ones((3, 3), np.uint8)
    bright = start
    measure: Map | None = None
    for _ in range(2):
        upper = cv2.erode((bright & area).astype(np.uint8), kernel)
        lower = cv2.erode((~bright & area).astype(np.uint8), kernel)
        if min(int(upper.sum()), int(lower.sum())) < _FEW:
            return None
        planes = [np.ascontiguousarray(colours[..., at]) for at in range(3)]
        high = [_mean(plane, upper.astype(np.float32), reach) for plane in planes]
        low = [_mean(plane, lower.astype(np.float32), reach) for plane in planes]
        off = np.concatenate(
            [
                np.stack([(plane - level)[chosen > 0] for plane, level in zip(planes, levels, strict=True)], axis=1)
                for chosen, levels in ((upper, high), (lower, low))
            ]
        )
        off = off[:: max(1, len(off) // 50_000)]
        usual = 4 * 1.4826 * np.median(np.abs(off), axis=0) + _FAINT
        scatter = np.cov(off[(np.abs(off) < usual).all(axis=1)].T) + np.eye(3) * 0.05
        apart = [float(np.median((one - other)[area])) for one, other in zip(high, low, strict=True)]
        weights = np.linalg.solve(scatter, apart)
        weights = (weights / np.linalg.norm(weights)).astype(np.float32)
        measure = np.asarray(colours @ weights)
        found = split(measure, area)
        bright = measure > (found.high + found.low) / 2
    return measure


def split(measure: Map, area: Mask) -> Split:
    """The two classes of `measure` within `area`; scatter is the standard deviation by the median."""
    cv2 = opencv()
    reach = max(measure.shape) * _REACH
    start = measure - _mean(measure, area.astype(np.float32), reach)
    bright = start > _otsu(start[area])
    kernel = np.ones((3, 3), np.uint8)
    for _ in range(_ROUNDS):
        # Pixels on an edge belong to neither class.
        upper = cv2.erode((bright & area).astype(np.uint8), kernel)
        lower = cv2.erode((~bright & area).astype(np.uint8), kernel)
        high = _mean(measure, upper.astype(np.float32), reach)
        low = _mean(measure, lower.astype(np.float32), reach)
        bright = measure > (high + low) / 2
    off = np.where(bright, measure - high, measure - low)[(upper > 0) | (lower > 0)]
    return Split(
        low=low,
        high=high,
        scatter=1.4826 * float(np.median(np.abs(off))) if off.size else float("inf"),
        lower=np.asarray(lower > 0),
        upper=np.asarray(upper > 0),
    )


def _mean(values: Map, weight: Map, reach: float) -> Map:
    """The mean of `values` about each pixel, over `reach` [pixels] where the weight allows, wider where it is thin."""
    cv2 = opencv()
    height, width = values.shape
    step = max(1.0, reach / _GRID)
    size = (max(1, round(width / step)), max(1, round(height / step)))
    held = cv2.resize(values * weight, size, interpolation=cv2.INTER_AREA)
    count = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    total = float(count.sum())
    result = np.full(held.shape, float(held.sum()) / total if total > 0 else 0.0, np.float32)
    # From wide to near: where there is little of the class about, the wider mean stands in.
    for times in (9.0, 3.0, 1.0):
        sigma = times * reach / step
        near = cv2.GaussianBlur(held, (0, 0), sigma, borderType=cv2.BORDER_CONSTANT)
        seen = cv2.GaussianBlur(count, (0, 0), sigma, borderType=cv2.BORDER_CONSTANT)
        result = (near + np.float32(0.02) * result) / (seen + np.float32(0.02))
    return np.asarray(cv2.resize(result, (width, height), interpolation=cv2.INTER_LINEAR))


def _otsu(values: Map) -> float:
    """Otsu's threshold (IEEE Trans. SMC 9 (1979) 62-66): the split of the histogram that sets the classes furthest
    apart.
    """
    low, high = (float(edge) for edge in np.percentile(values, (0.5, 99.5)))
    if high - low < _FAINT:
        return (high + low) / 2
    counts, edges = np.histogram(values, bins=256, range=(low, high))
    centres = (edges[:-1] + edges[1:]) / 2
    below = np.cumsum(counts).astype(float)
    above = below[-1] - below
    sums = np.cumsum(counts * centres)
    with np.errstate(divide="ignore", invalid="ignore"):
        between = below * above * (sums / below - (sums[-1] - sums) / above) ** 2
    return float(centres[int(np.nanargmax(between[:-1]))])


def crop_of(points: NDArray[np.float64], shape: tuple[int, int], share: float) -> tuple[slice, slice]:
    """Rows and columns that hold all `points` (x, y) with `share` of their extent to spare, within a picture."""
    low, high = points.min(axis=0), points.max(axis=0)
    spare = max(float((high - low).max()) * share, 20.0)
    x0, y0 = (max(0, int(edge - spare)) for edge in low)
    x1, y1 = (int(edge + spare) + 1 for edge in high)
    return slice(y0, min(shape[0], y1)), slice(x0, min(shape[1], x1))


def area_about(points: NDArray[np.float64], shape: tuple[int, int], spare: float) -> Mask:
    """The convex hull of `points` (x, y) grown by `spare` [pixels]: where there is board for certain, or nearly."""
    cv2 = opencv()
    drawn: Any = np.zeros(shape, np.uint8)
    hull = cv2.convexHull(points.astype(np.float32)).round().astype(np.int32)
    cv2.fillConvexPoly(drawn, hull, 1)
    cv2.polylines(drawn, [hull], True, 1, 1)
    away = cv2.distanceTransform(1 - drawn, cv2.DIST_L2, 5)
    return np.asarray(away <= spare)
