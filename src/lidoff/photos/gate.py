"""Whether a picture bears an answer at all; and if not, the reason in plain words and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.joins import Joins
from lidoff.photos.reading import Reading

if TYPE_CHECKING:
    from lidoff.photos.views import Map, Mask

_LEAST_WORTH: Final = 0.2
_WORD_OF_ITS_OWN: Final = 0.6
_LEAST_CONTRAST: Final = 4.3
_MOST_ODD: Final = 0.15
_MOST_BETWEEN: Final = 0.4
_MOST_UNSURE: Final = 0.3
_FOR_QUESTIONS: Final = 0.1  # worth from which an unclear picture still says what to ask; below it joins are missed
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


def bears_questions(best: Reading | None, small: Reading | None, odd: float) -> bool:
    """Whether a picture that does not bear answers says at least which joins to ask about: the best view, read at full
    size and small, looks like a board, and copper like copper.
    """
    return (
        best is not None
        and small is not None
        and odd <= _MOST_ODD
        and min(best.worth, small.worth) >= _FOR_QUESTIONS
        and best.unsure <= _MOST_UNSURE
    )


def hidden(odd: float) -> bool:
    """Whether much of what is taken for copper does not look like it."""
    return odd > _MOST_ODD


def buzzing_out(pads: int, pieces: int) -> float:
    """How many measurements it takes without a picture: each pad is held against one pad of every piece known so far,
    against half of them in the mean where it belongs to one.
    """
    return pieces * (pieces - 1) / 2 + (pads - pieces) * (pieces + 1) / 2


def too_much_asked(joins: Joins, pieces: int) -> str | None:
    """The reason where asking would take as long as buzzing the board out; None otherwise. `pieces` is how many there
    are by the picture.
    """
    open_pairs = sum(one.judged == "ask" and not joins.joined(one.a, one.b) for one in joins.candidates)
    if open_pairs <= max(len(joins.pads), buzzing_out(len(joins.pads), pieces)):
        return None
    return (
        f"{open_pairs} joins are in doubt, and to buzz the board out takes no more: the picture is too coarse, too "
        f"blurred or too uneven. Take a sharper photo in even light, {_FOLLOW}."
    )
