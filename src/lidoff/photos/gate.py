"""Whether a picture bears an answer at all; and if not, the reason in plain words and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.reading import Reading

if TYPE_CHECKING:
    from lidoff.photos.views import Map, Mask

MOST_ASKED: Final = 0.45
"""Share of the joins of a tree that may be asked about: beyond it following the tracks by hand is quicker."""
FEW_ASKED: Final = 15
"""So many questions are always worth asking."""
_LEAST_WORTH: Final = 0.2
_WORD_OF_ITS_OWN: Final = 0.5
_MOST_BETWEEN: Final = 0.4
_MOST_UNSURE: Final = 0.3
_ALL_ALONE: Final = 0.9  # share of pads on their own, from which a view says nothing of where pads lie
_WHITE: Final = 97.0  # lightness from which the camera saw nothing but the lamp
_MOST_WHITE: Final = 0.06  # of the area

_FOLLOW = "or follow the tracks one by one and measure"


def refusal(best: Reading | None, tried: Sequence[Reading], colours: Map, area: Mask) -> str | None:
    """Why nothing is to be accepted from this picture; None where it bears an answer.

    `best` is the reading that would be used, None where none looks like a board; `tried` all of them.
    """
    if best is not None and (
        best.worth >= _LEAST_WORTH and best.between <= _MOST_BETWEEN and best.unsure <= _MOST_UNSURE
    ):
        return None
    if float((colours[..., 0][area] > _WHITE).mean()) > _MOST_WHITE:
        return (
            "Glare hides part of the copper. Take several shots with the lamp moved, or use a diffuse light, "
            f"{_FOLLOW}."
        )
    upright = [one.unsure for one in tried if not one.view.name.endswith("turned") and one.lone < _ALL_ALONE]
    if upright and float(np.median(upright)) > _MOST_UNSURE:
        return (
            "Many pads lie on no copper that can be made out: parts, solder or shadow hide it. Photograph the copper "
            f"side free of parts, or box the parts, {_FOLLOW}."
        )
    if best is None and all(one.lone > 0.6 or one.largest > 0.75 for one in tried):
        return (
            "No tracks show between the pads, or everything shows as joined: solder mask, or a plane, hides where the "
            f"copper ends. Try light from behind or from low at one side, {_FOLLOW}."
        )
    return (
        "Copper and laminate do not stand apart clearly enough. Take a sharper photo in even light, with more pixels "
        f"across the narrowest gap, {_FOLLOW}."
    )


def weak(best: Reading) -> bool:
    """Whether a picture is good for questions only: nothing is accepted on its word alone."""
    return best.worth < _WORD_OF_ITS_OWN


def too_much_asked(doubtful: int, pads: int) -> str | None:
    """The reason where more of the joins are doubtful than asking is worth; None otherwise."""
    if doubtful <= max(FEW_ASKED, MOST_ASKED * (pads - 1)):
        return None
    return (
        f"{doubtful} of at most {pads - 1} joins are in doubt: the picture is too coarse, too blurred or too uneven "
        f"for this board. Take a sharper photo in even light, {_FOLLOW}."
    )


def over_bright(colours: Map, copper: Mask, area: Mask) -> Mask:
    """Pixels clearly lighter than the metal around them: ink, or the lamp's own image.

    The metal's level and scatter are taken as the median and its deviation in tiles, so that light may fall off.
    """
    from lidoff.photos.needs import opencv

    cv2 = opencv()
    lightness = colours[..., 0]
    height, width = lightness.shape
    tile = max(16, round(max(height, width) / 12))
    rows, columns = max(1, -(-height // tile)), max(1, -(-width // tile))
    level = np.full((rows, columns), np.nan, np.float32)
    spread = np.full((rows, columns), np.nan, np.float32)
    chosen = copper & area
    for r in range(rows):
        for c in range(columns):
            here = (slice(r * tile, (r + 1) * tile), slice(c * tile, (c + 1) * tile))
            seen = lightness[here][chosen[here]]
            if seen.size >= 50:
                level[r, c] = np.median(seen)
                spread[r, c] = 1.4826 * np.median(np.abs(seen - level[r, c]))
    if np.isnan(level).all():
        return np.zeros(lightness.shape, bool)
    usual = float(np.nanmedian(level))
    level[np.isnan(level)] = usual
    spread[np.isnan(spread)] = float(np.nanmedian(spread))
    size = (width, height)
    smooth = cv2.resize(level, size, interpolation=cv2.INTER_LINEAR)
    scatter = cv2.resize(spread, size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(lightness - smooth > np.maximum(10.0, 4.0 * scatter))
