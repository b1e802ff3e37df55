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
FEW_ASKED: Final = 20
"""So many questions are always worth asking."""
_LEAST_WORTH: Final = 0.2
_WORD_OF_ITS_OWN: Final = 0.6
_LEAST_CONTRAST: Final = 4.3
_MOST_ODD: Final = 0.15
_MOST_BETWEEN: Final = 0.4
_MOST_UNSURE: Final = 0.3
_ALL_ALONE: Final = 0.9  # share of pads on their own, from which a view says nothing of where pads lie
_WHITE: Final = 97.0  # lightness from which the camera saw nothing but the lamp
_MOST_WHITE: Final = 0.06  # of the area

_FOLLOW = "or follow the tracks one by one and measure"


def refusal(best: Reading | None, tried: Sequence[Reading], colours: Map, area: Mask, odd: float = 0.0) -> str | None:
    """Why nothing is to be accepted from this picture; None where it bears an answer.

    `best` is the reading that would be used, None where none looks like a board; `tried` all of them, `odd` the
    share of what is taken for copper that does not look like it.
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
    if odd > _MOST_ODD or (upright and float(np.median(upright)) > _MOST_UNSURE):
        return (
            "Parts, solder or shadow hide much of the copper. Photograph the copper "
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


def weak(best: Reading, odd: float) -> str | None:
    """Why a picture is good for questions only, nothing being accepted on its word alone; None where it is good for
    more. `odd` is the share of the copper that does not look like it.
    """
    if odd > _MOST_ODD:
        return "parts or print of another colour lie over the copper"
    if best.worth < _WORD_OF_ITS_OWN or best.view.contrast < _LEAST_CONTRAST:
        return "the picture is too faint for a join to rest on it alone"
    return None


def too_much_asked(doubtful: int, pads: int) -> str | None:
    """The reason where more of the joins are doubtful than asking is worth; None otherwise."""
    if doubtful <= max(FEW_ASKED, MOST_ASKED * (pads - 1)):
        return None
    return (
        f"{doubtful} of at most {pads - 1} joins are in doubt: the picture is too coarse, too blurred or too uneven "
        f"for this board. Take a sharper photo in even light, {_FOLLOW}."
    )
