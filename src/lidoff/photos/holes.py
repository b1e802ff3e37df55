"""Holes proposed: small round spots of a straightened picture, darker or lighter than what is round them.

A blob is an extremum, over place and size, of the difference of two Gaussians (T. Lindeberg, "Feature detection with
automatic scale selection", International Journal of Computer Vision 30, 1998); what is drawn out along a track's edge
is refused by the ratio of its curvatures (D. Lowe, "Distinctive image features from scale-invariant keypoints",
International Journal of Computer Vision 60, 2004, section 4.1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv
from lidoff.photos.straighten import Floats, Straight

SMALLEST: Final = 0.5
LARGEST: Final = 4.0
"""Diameters of holes that are looked for [mm]: from a via's to a screw's."""
_WORKING: Final = 16.0  # pixels per mm; a hole of 0.5 mm is 8 pixels across
_MOST_PIXELS: Final = 3_000_000
_STEP: Final = 1.26  # from one size to the next
_OF_A_DISC: Final = (_STEP - 1) * 2 / np.e
_CONTRAST: Final = 0.13  # of the range from black to white; common practice, no source
_AROUND: Final = 2.0  # mm
_LAMINATE: Final = 0.6  # lightness; FR4 and paper board have 0.55 to 0.85
_DARKEST: Final = 0.18  # lightness up to which nothing is raised, and from twice which all is
_MOST_DRAWN_OUT: Final = 2.2  # ratio of the curvatures across and along
_MOST: Final = 400
_GLINT: Final = 0.2  # contrast
_WIDEST_GLINT: Final = 2.5  # mm
_RIMMED: Final = 0.3  # `ring`
_RAYS: Final = 24
_WITHIN: Final = np.linspace(0.0, 0.6, 5)  # of the radius: where a spot is looked at, and where what is round it
_BEYOND: Final = np.linspace(1.1, 1.8, 8)
_JOINTS_APART: Final = 1.6  # mm; leads stand 2.54 mm apart or more as a rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A round spot [mm]: its middle, its diameter, whether it is darker than what is round it, and how clear it is.

    `ring` [1] is how even the step at its rim is: near 1 for a hole, near 0 for a nick or a gap's end, which has
    nothing to step up to on one side.
    """

    x: float
    y: float
    diameter: float
    tone: Literal["dark", "bright"]
    contrast: float
    ring: float = 0.0


def find_spots(
    picture: Straight, width: float, height: float, *, smallest: float = SMALLEST, largest: float = LARGEST
) -> tuple[Spot, ...]:
    """The round spots on a board of `width` by `height` [mm], clearest first, at most 400."""
    cv2 = opencv()
    scale = min(
        picture.px_per_mm, _WORKING, float(np.sqrt(_MOST_PIXELS / (picture.rgb[..., 0].size)) * picture.px_per_mm)
    )
    factor = scale / picture.px_per_mm
    small = picture.rgb
    if factor < 1:
        small = cv2.resize(picture.rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    # Lightness as the eye has it: a hole in dark copper counts for as much as one in bright laminate.
    gray = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)[..., 0] / 100
    # The radius that a difference of Gaussians answers to most is the wider sigma by the square root of 2.
    sigmas = [smallest * scale / 2 / np.sqrt(2)]
    while sigmas[-1] < largest * scale / 2 / np.sqrt(2):
        sigmas.append(sigmas[-1] * _STEP)
    sigmas = [sigma for sigma in sigmas if sigma >= 0.8] or sigmas[-1:]
    found: list[Spot] = []
    for tone, sign, seen in (("dark", 1.0, _evened(cv2, gray, scale)), ("bright", -1.0, gray)):
        blurred = [cv2.GaussianBlur(seen, (0, 0), sigma) for sigma in (sigmas[0] / _STEP, *sigmas, sigmas[-1] * _STEP)]
        # Divided by what a disc of contrast 1 answers at its own size: the step less 1, times 2/e.
        levels = np.stack([(after - before) / _OF_A_DISC for before, after in pairwise(blurred)])
        found += _extrema(cv2, sign * levels, [sigmas[0] / _STEP, *sigmas], scale, picture.margin, width, height, tone)
    found.sort(key=lambda spot: -spot.contrast)
    return tuple(_apart(found)[:_MOST])


def _evened(cv2: Any, gray: NDArray[np.float32], scale: float) -> NDArray[np.float32]:
    """Lightness as it would be were everything as light as laminate; what is darker than that around there is raised.

    A hole is black whatever it is drilled through: in tarnished copper or in a shadow it has little contrast left.
    """
    around = cv2.GaussianBlur(gray, (0, 0), _AROUND * scale)
    # What is darker still is a dark mask or pitch shadow: there is nothing to raise but noise and lettering.
    trust = np.clip((around - _DARKEST) / _DARKEST, 0.0, 1.0)
    evened: NDArray[np.float32] = gray * (
        1 + trust * (np.clip(_LAMINATE / np.maximum(around, _DARKEST), 1.0, None) - 1)
    )
    return evened


def _extrema(
    cv2: Any,
    levels: NDArray[Any],
    sigmas: list[float],
    scale: float,
    margin: float,
    width: float,
    height: float,
    tone: Any,
) -> list[Spot]:
    strongest = levels.max(axis=0)
    at_level = levels.argmax(axis=0)
    around = cv2.dilate(strongest, np.ones((5, 5), np.uint8))
    rows, columns = np.nonzero((strongest >= around) & (strongest > _CONTRAST))
    found = []
    for row, column in zip(rows, columns, strict=True):
        if not (2 <= row < strongest.shape[0] - 2 and 2 <= column < strongest.shape[1] - 2):
            continue
        level = levels[at_level[row, column]]
        step = max(1, round(sigmas[at_level[row, column]] * 0.6))
        top, bottom, left, right = row - step, row + step, column - step, column + step
        if min(top, left) < 0 or bottom >= level.shape[0] or right >= level.shape[1]:
            continue
        here = float(level[row, column])
        xx = float(level[row, left] + level[row, right]) - 2 * here
        yy = float(level[top, column] + level[bottom, column]) - 2 * here
        xy = float(level[top, left] + level[bottom, right] - level[top, right] - level[bottom, left]) / 4
        determinant = xx * yy - xy * xy
        if determinant <= 0 or (xx + yy) ** 2 / determinant > (_MOST_DRAWN_OUT + 1) ** 2 / _MOST_DRAWN_OUT:
            continue
        # The middle to a fraction of a pixel, from the same three-point curvatures.
        across = float(level[row, right] - level[row, left]) / 2
        down = float(level[bottom, column] - level[top, column]) / 2
        shift = -np.linalg.solve(np.array([[xx, xy], [xy, yy]]), np.array([across, down])) * step
        shift = np.clip(shift, -1.5 * step, 1.5 * step)
        x, y = (column + shift[0] + 0.5) / scale - margin, (row + shift[1] + 0.5) / scale - margin
        if 0 <= x <= width and 0 <= y <= height:
            diameter = 2 * np.sqrt(2) * sigmas[at_level[row, column]] / scale
            found.append(Spot(x=float(x), y=float(y), diameter=float(diameter), tone=tone, contrast=here))
    return found


def _apart(spots: list[Spot]) -> list[Spot]:
    """Without those that lie within another, clearer one."""
    kept: list[Spot] = []
    places: Floats = np.empty((0, 2))
    for spot in spots:
        here = np.array([spot.x, spot.y])
        if kept and float(np.linalg.norm(places - here, axis=1).min()) < 0.5 * spot.diameter:
            continue
        kept.append(spot)
        places = np.vstack([places, here])
    return kept


def find_joints(spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """Solder joints among the spots of a copper side: where a glint stands, one for each two millimetres.

    Solder is the brightest and roundest thing on a copper side, so that most joints are found; lettering and glare
    glint as well, so that some are none. `spots` are `measured`: what has no rim on one side is a bend of a track.
    Common practice, no source.
    """
    found: list[Spot] = []
    for spot in sorted(spots, key=lambda one: -one.contrast):
        if spot.tone != "bright" or spot.contrast < _GLINT or spot.diameter > _WIDEST_GLINT or spot.ring < _RIMMED:
            continue
        if all(np.hypot(spot.x - one.x, spot.y - one.y) > _JOINTS_APART for one in found):
            found.append(spot)
    return tuple(found)


def measured(picture: Straight, spot: Spot) -> Spot:
    """The spot with its middle and diameter taken from its rim, half way between inside and outside, and its `ring`.

    Where no rim is found all round, middle and diameter stay as they were.
    """
    placed = _placed(picture, spot)
    return replace(placed, ring=_ring(picture, placed))


def _ring(picture: Straight, spot: Spot) -> float:
    """The step from the spot's middle to just beyond its rim [lightness]: its lowest tenth, of all directions, as a
    share of its median. Common practice, no source.
    """
    cv2 = opencv()
    angles = np.linspace(0, 2 * np.pi, _RAYS, endpoint=False)
    directions = np.column_stack([np.cos(angles), np.sin(angles)])
    reach = np.concatenate([_WITHIN, _BEYOND]) * spot.diameter / 2 * picture.px_per_mm
    middle = picture.pixels([[spot.x, spot.y]])[0]
    points = (middle + reach[None, :, None] * directions[:, None, :]).astype(np.float32)
    seen = cv2.remap(picture.rgb, points[..., 0], points[..., 1], cv2.INTER_LINEAR)
    light = cv2.cvtColor(seen.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)[..., 0] * (1 if spot.tone == "dark" else -1)
    steps = light[:, len(_WITHIN) :].max(axis=1) - np.median(light[:, : len(_WITHIN)])
    usual = float(np.median(steps))
    return float(np.clip(np.percentile(steps, 10) / usual, 0.0, 1.0)) if usual > 0 else 0.0


def _placed(picture: Straight, spot: Spot) -> Spot:
    cv2 = opencv()
    middle = picture.pixels([[spot.x, spot.y]])[0]
    radius = spot.diameter / 2 * picture.px_per_mm
    angles = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    reach = np.arange(0.25 * radius, 2.0 * radius + 1, 0.25)
    directions = np.column_stack([np.cos(angles), np.sin(angles)])
    points = (middle + reach[None, :, None] * directions[:, None, :]).astype(np.float32)
    gray = cv2.cvtColor(cv2.remap(picture.rgb, points[..., 0], points[..., 1], cv2.INTER_LINEAR), cv2.COLOR_RGB2GRAY)
    profile = cv2.blur(gray.astype(np.float32), (5, 1)) * (1 if spot.tone == "dark" else -1)
    rise = profile[:, 4:] - profile[:, :-4]
    at = np.argmax(rise, axis=1)
    height = rise[np.arange(len(at)), at]
    clear = height > 0.4 * np.median(height)
    if height.max() <= 0 or clear.sum() < 20:
        return spot
    rim = middle + reach[2:-2][at][:, None] * directions
    # A circle of least squares through the rim (Kåsa's linear form), without the rays that missed it.
    for _ in range(3):
        x, y = rim[clear].T
        solved, *_ = np.linalg.lstsq(np.column_stack([x, y, np.ones_like(x)]), x**2 + y**2, rcond=None)
        centre = solved[:2] / 2
        squared = solved[2] + centre @ centre
        if squared <= 0:
            return spot
        off = np.abs(np.linalg.norm(rim - centre, axis=1) - np.sqrt(squared))
        clear &= off < max(1.0, 0.25 * radius)
        if clear.sum() < 12:
            return spot
    moved = picture.board(centre[None])[0]
    if float(np.linalg.norm(centre - middle)) > radius:
        return spot
    diameter = float(2 * np.sqrt(squared) / picture.px_per_mm)
    return replace(spot, x=float(moved[0]), y=float(moved[1]), diameter=diameter)
