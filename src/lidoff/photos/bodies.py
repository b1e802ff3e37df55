"""Part bodies proposed: large dark boxes on a straightened picture, through which no track may be read.

Only what is plainly a dark moulded body is found so: chips, chokes, bridge rectifiers, connectors. Chip resistors and
pale capacitors are for the user to box.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.photos.needs import opencv
from lidoff.photos.straighten import Straight

_WORKING: Final = 8.0  # pixels per mm
_DARK: Final = 0.42  # of the board's median lightness
_DARKEST: Final = 34.0  # of 100, in lightness; a body is not lighter whatever the board is
_COLOURLESS: Final = 14.0  # chroma; copper, laminate and masks have more
_SMALLEST: Final = 4.0  # mm²
_THIN: Final = 1.2  # mm; leads, shadows and lettering are thinner
_LARGEST: Final = 0.3  # of the board; a dark laminate is no body
_BOXY: Final = 0.62  # share of its box that a body fills
_WIDEST_HOLE: Final = 6.0  # mm; what is round, dark and no wider is a hole
_ROUND: Final = 0.8  # of a disc's area for its length round; a square has 0.785, and less when drawn in pixels


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """A box round a part's body [mm]: its corner at the top left, width and height."""

    x: float
    y: float
    width: float
    height: float


def find_bodies(picture: Straight, width: float, height: float) -> tuple[Body, ...]:
    """Boxes round the dark bodies on a board of `width` by `height` [mm], largest first."""
    cv2 = opencv()
    scale = min(picture.px_per_mm, _WORKING)
    factor = scale / picture.px_per_mm
    small = cv2.resize(picture.rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    edge = round(picture.margin * scale)
    inside = np.zeros(lab.shape[:2], dtype=bool)
    inside[edge : edge + round(height * scale), edge : edge + round(width * scale)] = True
    limit = min(_DARKEST, _DARK * float(np.median(lab[..., 0][inside])) + 6.0)
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    dark = ((lab[..., 0] < limit) & (chroma < _COLOURLESS) & inside).astype(np.uint8)
    # Print on a body is light; what is round it is closed before thin things are opened away.
    close, thin = (max(3, round(size * scale)) | 1 for size in (0.9, _THIN))
    solid = cv2.morphologyEx(dark, cv2.MORPH_CLOSE, np.ones((close, close), np.uint8))
    solid = cv2.morphologyEx(solid, cv2.MORPH_OPEN, np.ones((thin, thin), np.uint8))
    contours, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    found = []
    for contour in contours:
        left, top, wide, high = cv2.boundingRect(contour)
        size, area, round_ = wide * high / scale**2, cv2.contourArea(contour), cv2.arcLength(contour, True)
        if size < _SMALLEST or size > _LARGEST * width * height or area < _BOXY * wide * high:
            continue
        if max(wide, high) / scale < _WIDEST_HOLE and 4 * np.pi * area > _ROUND * round_**2:
            continue
        x, y = left / scale - picture.margin, top / scale - picture.margin
        found.append(Body(x=float(x), y=float(y), width=float(wide / scale), height=float(high / scale)))
    return tuple(sorted(found, key=lambda body: -body.width * body.height))
