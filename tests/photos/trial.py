"""Trials of the tracing: a board whose pieces are known, a person who measures rightly, and what comes out."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.joins import Joins
from lidoff.photos.pads import Pad
from lidoff.photos.picture import open_upright
from lidoff.photos.questions import answered_from
from lidoff.photos.tracing import trace_copper

# The registered boards of the open data that have pads: folder, and whether parts hide the copper.
REGISTERED = {"fc_bare": False, "grblns_bare": False, "grbls_bare": False, "fc_pop": True}
# laser_pop has no registered pads: joints of its headers, its chip and its small parts, set by hand on the photo
# [pixels]. Its nets are not known here; whatever is accepted between them is counted.
_HEADERS = [(x, 391) for x in (541, 655, 753, 857, 962, 1058, 1158, 1260, 1364, 1463, 1565, 1667, 1769, 1871, 1973)] + [
    (x, 1647) for x in (1208, 1322, 1432, 1553, 1673, 1787, 1903, 2019, 2144)
]
_CHIP = [(1286, 741), (1316, 741), (1414, 741), (1512, 741), (1122, 901), (1122, 998), (1122, 1056), (1282, 1182)]
_SMALL = [
    (300, 377), (427, 377), (296, 591), (427, 591), (645, 547), (651, 691), (791, 907), (952, 907), (190, 1268),
    (337, 1268), (150, 1695), (300, 1695), (1979, 926), (1979, 1046), (2129, 932), (2129, 1042), (1923, 1815),
    (2133, 1815),
]  # fmt: skip
LASER_POP = {f"P{n + 1:03d}": (float(x), float(y)) for n, (x, y) in enumerate(_HEADERS + _CHIP + _SMALL)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a trial went: pieces that are exactly right before and after the questions, joins accepted between pads that
    are not joined, true joins that are missing at the end, questions asked.
    """

    pads: int
    pieces: int
    exact_before: int
    exact: int
    wrong: int
    missing: int
    asked: int
    refused: str | None

    @property
    def complete(self) -> bool:
        """Whether every piece is exactly right at the end."""
        return self.exact == self.pieces

    def figures(self) -> dict[str, Any]:
        """The outcome as it stands in the history."""
        return {
            "pads": self.pads,
            "pieces": self.pieces,
            "exact_unasked": self.exact_before,
            "asked": self.asked,
            "exact": self.exact,
            "wrong_joins": self.wrong,
            "missing_joins": self.missing,
            "refused": self.refused is not None,
        }


def tried(rgb: NDArray[np.uint8], pads: Mapping[str, tuple[float, float]], pieces: Sequence[Iterable[str]]) -> Outcome:
    """A board traced with a person answering from the known pieces."""
    truth = tuple(frozenset(piece) for piece in pieces)
    traced = trace_copper(rgb, [Pad(id=name, x=x, y=y) for name, (x, y) in pads.items()])
    joins, asked = answered_from(traced.joins, truth)
    piece_of = {name: number for number, piece in enumerate(truth) for name in piece}
    wrong = sum(one.status == "accepted" and piece_of[one.a] != piece_of[one.b] for one in joins.joins)
    found = [frozenset(piece) for piece in joins.pieces]
    return Outcome(
        pads=len(pads),
        pieces=len(truth),
        exact_before=exact(traced.joins, truth),
        exact=exact(joins, truth),
        wrong=wrong,
        missing=sum(sum(bool(piece & part) for part in found) - 1 for piece in truth),
        asked=asked,
        refused=traced.refused,
    )


def exact(joins: Joins, truth: Sequence[frozenset[str]]) -> int:
    """How many of the true pieces the joins give exactly."""
    found = {frozenset(piece) for piece in joins.pieces}
    return sum(piece in found for piece in truth)


def registered(
    folder: Path,
) -> tuple[NDArray[np.uint8], dict[str, tuple[float, float]], tuple[frozenset[str], ...]]:
    """A board of the open data: its photo, its pads in photo pixels, its pieces as its published artwork has them."""
    told = json.loads((folder / "truth.json").read_text())
    rgb = np.asarray(open_upright(folder / told["photo"], longest=None))
    pads = {pad["id"]: (float(pad["xy_photo"][0]), float(pad["xy_photo"][1])) for pad in told["pads"]}
    pieces: dict[str, set[str]] = {}
    for pad in told["pads"]:
        pieces.setdefault(pad["net"], set()).add(pad["id"])
    return rgb, pads, tuple(frozenset(piece) for piece in pieces.values())
