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

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
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
# The scatter that the margins may have after that; how far they are smoothed [pixels of the photo] where there is more
# than so much of it before.
_NOISE: Final = 0.47
_CALMING: Final = ((1.8, 0.7), (1.2, 0.45), (0.8, 0.3))
# The levels are smooth: they are followed on a grid this many times finer than their reach.
_GRID: Final = 6.0
_FAINT: Final = 1e-3
_FEW: Final = 50  # pixels that make no class


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One view of a board.

    `plain` and `sharp` are margins [1], height by width, within ±LIMIT; `contrast` is the median distance between the
    two levels in units of the scatter within the classes. `unknown` marks what is neither: brighter than metal around
    there (ink, glare); no path leads through it above the threshold. `weights` and `middle` tell the measure and where
    its classes part as a rule, copper on the positive side of `weights`. `pads` is the pads' own metal and its rim,
    where the tracks have another colour.
    """

    name: str
    plain: Map
    sharp: Map
    contrast: float
    unknown: Mask
    weights: tuple[float, float, float]
    middle: float
    pads: Mask | None = None

    def says_copper(self, colours: Map) -> Mask:
        """Which of these colours (any shape, by 3) lie on copper's side, the light's falling off left out."""
        return np.asarray(colours @ np.array(self.weights, np.float32) > self.middle)

    def turned(self) -> View:
        """The same view with copper and laminate exchanged."""
        return View(
            name=f"{self.name}, turned",
            plain=-self.plain,
            sharp=-self.sharp,
            contrast=self.contrast,
            unknown=self.unknown,
            weights=(-self.weights[0], -self.weights[1], -self.weights[2]),
            middle=-self.middle,
            pads=self.pads,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How a view is made: the weights of L*, a* and b* in its measure, and the levels of the darker and the brighter
    class over the board, as maps of any size.
    """

    name: str
    weights: tuple[float, float, float]
    low: Map
    high: Map


MEASURES: Final[Mapping[str, tuple[float, float, float]]] = MappingProxyType(
    {"lightness": (1.0, 0.0, 0.0), "redness": (0.3, 1.0, 0.0), "laminate": (0.0, 1.0, -1.0)}
)
"""The ready-made measures as weights of L*, a* and b*: lightness; redness with some lightness, for shiny or textured
boards; and metal, copper and solder alike, against bare laminate."""


def lab(rgb: Rgb, *, smooth: float = 0.0) -> Map:
    """CIE L*a*b* (D65) of a picture, height by width by 3, its noise smoothed over `smooth` [pixels]."""
    cv2 = opencv()
    converted = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    return converted if smooth <= 0 else np.asarray(cv2.GaussianBlur(converted, (0, 0), smooth))


def measure_of(colours: Map, weights: tuple[float, float, float]) -> Map:
    """The weighted sum of the three colours of every pixel."""
    return np.asarray(colours @ np.array(weights, np.float32))


def recipe(name: str, weights: tuple[float, float, float], colours: Map, area: Mask) -> Recipe:
    """The recipe of a measure, its levels found on these colours within `area`."""
    low, high = _levels(measure_of(colours, weights), area)
    return Recipe(name=name, weights=weights, low=low, high=high)


def view(made_by: Recipe, colours: Map, area: Mask, *, enlarged: float = 1.0) -> View:
    """The view of a recipe, in which copper has more of the measure than laminate.

    `enlarged` is how many pixels of `colours` one pixel of the photo has become along a side.
    """
    measure = measure_of(colours, made_by.weights)
    low, high = (_resized(level, measure.shape) for level in (made_by.low, made_by.high))
    gap = np.maximum(high - low, np.float32(_FAINT))
    plain = np.clip((measure - (high + low) / 2) / (gap / 2), -LIMIT, LIMIT)
    lower, upper = _surely(plain > 0, area)
    off = np.where(upper, measure - high, measure - low)[lower | upper]
    scatter = 1.4826 * float(np.median(np.abs(off))) if off.size else float("inf")
    contrast = float(np.median(gap[area])) / max(scatter, _FAINT)
    return View(
        name=made_by.name,
        plain=plain,
        sharp=sharpened(plain, contrast, enlarged),
        contrast=contrast,
        unknown=np.zeros(area.shape, bool),
        weights=made_by.weights,
        middle=float(np.median((high + low)[area])) / 2,
    )


def sharpened(plain: Map, contrast: float, enlarged: float) -> Map:
    """The margins with what narrow things lost to blur given back, as far as the noise allows; smoothed where there is
    too much of it as it stands. `contrast` is the view's.
    """
    cv2 = opencv()
    noise = 2.0 / max(contrast, _FAINT)  # of the margins: the levels lie 2 apart
    calm = plain
    for size, most in _CALMING:
        if noise > most:
            calm = cv2.GaussianBlur(plain, (0, 0), max(size * enlarged, 0.6))
            break
    added = float(np.clip(_NOISE / noise - 1.0, 0.0, _ADDED))
    around = cv2.GaussianBlur(calm, (0, 0), max(_AROUND * enlarged, 1.0))
    return np.asarray(np.clip(calm + np.float32(added) * (calm - around), -LIMIT, LIMIT))


def mixed(colours: Map, area: Mask, start: Mask) -> tuple[float, float, float] | None:
    """The weights of the mix that sets the classes of `start` furthest apart, brighter for its set pixels.

    None where one of the classes is all but empty.
    """
    reach = max(area.shape) * _REACH
    bright = start
    planes = [np.ascontiguousarray(colours[..., at]) for at in range(3)]
    weights: NDArray[np.float64] = np.zeros(3)
    for _ in range(2):
        lower, upper = _surely(bright, area)
        if min(int(upper.sum()), int(lower.sum())) < _FEW:
            return None
        high = [_mean(plane, upper.astype(np.float32), reach) for plane in planes]
        low = [_mean(plane, lower.astype(np.float32), reach) for plane in planes]
        off = np.concatenate(
            [
                np.stack([(plane - level)[chosen] for plane, level in zip(planes, levels, strict=True)], axis=1)
                for chosen, levels in ((upper, high), (lower, low))
            ]
        )
        off = off[:: max(1, len(off) // 50_000)]
        usual = 4 * 1.4826 * np.median(np.abs(off), axis=0) + _FAINT
        scatter = np.cov(off[(np.abs(off) < usual).all(axis=1)].T) + np.eye(3) * 0.05
        apart = [float(np.median((one - other)[area])) for one, other in zip(high, low, strict=True)]
        weights = np.asarray(np.linalg.solve(scatter, apart), float)
        weights = weights / np.linalg.norm(weights)
        measure = measure_of(colours, (float(weights[0]), float(weights[1]), float(weights[2])))
        darker, brighter = _levels(measure, area)
        bright = measure > (darker + brighter) / 2
    return float(weights[0]), float(weights[1]), float(weights[2])


def _levels(measure: Map, area: Mask) -> tuple[Map, Map]:
    """The local levels of the darker and the brighter class of `measure` within `area`."""
    reach = max(measure.shape) * _REACH
    start = measure - _mean(measure, area.astype(np.float32), reach)
    bright = start > _otsu(start[area])
    for _ in range(_ROUNDS):
        lower, upper = _surely(bright, area)
        high = _mean(measure, upper.astype(np.float32), reach)
        low = _mean(measure, lower.astype(np.float32), reach)
        bright = measure > (high + low) / 2
    return low, high


def _surely(bright: Mask, area: Mask) -> tuple[Mask, Mask]:
    """The pixels of the darker and of the brighter class without those on an edge, which belong to neither."""
    cv2 = opencv()
    kernel = np.ones((3, 3), np.uint8)
    lower = cv2.erode((~bright & area).astype(np.uint8), kernel)
    upper = cv2.erode((bright & area).astype(np.uint8), kernel)
    return np.asarray(lower > 0), np.asarray(upper > 0)


def _resized(level: Map, shape: tuple[int, ...]) -> Map:
    if level.shape == shape:
        return level
    return np.asarray(opencv().resize(level, (shape[1], shape[0]), interpolation=opencv().INTER_LINEAR))


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


def alike(one: Map, other: Map, area: Mask) -> float:
    """The correlation of two maps within an area [1]."""
    a, b = one[area][::7], other[area][::7]
    if a.std() < 1e-6 or b.std() < 1e-6:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


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
