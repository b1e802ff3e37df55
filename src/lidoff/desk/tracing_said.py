"""What the page says of the photos as a whole: corners, the board's width, a ruler, holes that both photos show.

    {"do": "corners", "file": "photos/copper.jpg", "corners": [[x, y], …]}      four, clockwise from the top left
    {"do": "width", "width": 62}                                                 mm, as the copper is seen
    {"do": "ruler", "ends": [[x, y], [x, y]], "length": 50}                      two marks in the copper photo, and mm
    {"do": "holes", "pairs": [[[x, y], [x, y]], …]}                              copper photo, other photo; none: let go

Places are in pixels of the upright photo. The photos are then read anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

import numpy as np

from lidoff.photos.kept import KeptPhoto, KeptSaid, Point, Trace, TraceError
from lidoff.photos.picture import PhotoError
from lidoff.photos.sides import align
from lidoff.photos.straighten import Pose, mapped, pose_from_corners

MOST_PAIRS: Final = 12
_CORNERS: Final = "Four corners are wanted, in pixels of the photo."
_NEAREST_ENDS: Final = 20.0  # pixels: marks that lie nearer give no scale worth having


def said(trace: Trace, files: frozenset[str], act: Mapping[str, Any]) -> tuple[Trace, str] | None:
    """The trace after such an act and what was done; None for any other act. `files` are those of the record.

    Raises TraceError.
    """
    doer = _DOERS.get(str(act.get("do")))
    return None if doer is None else doer(trace, files, act)


def corners_of(given: Any) -> tuple[Point, Point, Point, Point]:
    """Four corners as numbers of pixels. Raises TraceError."""
    four = points_of(given, 4, _CORNERS)
    turns = []
    for n in range(4):
        (ax, ay), (bx, by), (cx, cy) = four[n], four[(n + 1) % 4], four[(n + 2) % 4]
        turns.append((bx - ax) * (cy - by) - (by - ay) * (cx - bx))
    if min(turns) <= 1:
        raise TraceError("The corners go clockwise round the board from its top left; two of them have crossed.")
    return four[0], four[1], four[2], four[3]


def points_of(given: Any, count: int, wanted: str) -> tuple[Point, ...]:
    """So many places in pixels. Raises TraceError, saying what is `wanted`."""
    try:
        found = tuple((float(x), float(y)) for x, y in given)
    except (TypeError, ValueError) as error:
        raise TraceError(wanted) from error
    if len(found) != count or not np.isfinite(found).all() or np.abs(found).max() > 1e5:
        raise TraceError(wanted)
    return found


def pairs_of(given: Any) -> tuple[tuple[Point, Point], ...]:
    """Pairs of places that show one hole in both photos. Raises TraceError."""
    wanted = f"Up to {MOST_PAIRS} holes are taken, each a place in both photos."
    if not isinstance(given, list) or len(given) > MOST_PAIRS:
        raise TraceError(wanted)
    pairs = [points_of(one, 2, wanted) for one in given]
    return tuple((one[0], one[1]) for one in pairs)


def fit_of(trace: Trace, pairs: tuple[tuple[Point, Point], ...], sizes: tuple[Point, Point]) -> dict[str, Any]:
    """How well holes clicked in both photos go together: the rms distance, and that of each [mm].

    `sizes` are the two photos' [pixels]. Raises TraceError.
    """
    if len(trace.photos) < 2 or trace.board is None:
        raise TraceError("There is no photo of the other side that has been read.")
    if len(pairs) < 2:
        return {"residual": None, "each": [], "left_out": None}
    first, other = trace.photos[:2]
    board = trace.board
    copper = Pose(to_board=np.array(first.pose), width=board.width, height=board.height, scale_from="")
    alone = pose_from_corners(np.array(other.corners), (int(sizes[1][0]), int(sizes[1][1])))
    # The other side's own pose, as wide as the board or, where it lies on its side, as high.
    scale = math.sqrt(board.width * board.height / (alone.width * alone.height))
    parts = Pose(
        to_board=np.diag([scale, scale, 1.0]) @ alone.to_board,
        width=alone.width * scale,
        height=alone.height * scale,
        scale_from="",
    )
    try:
        found = align(copper, parts, clicked=pairs)
    except PhotoError as error:
        raise TraceError(str(error)) from error
    there = mapped(found.to_board, [one[1] for one in pairs])
    here = mapped(copper.to_board, [one[0] for one in pairs])
    return {
        "residual": found.residual,
        "left_out": found.left_out,
        "each": [round(float(one), 3) for one in np.linalg.norm(there - here, axis=1)],
    }


def _told(trace: Trace, **said: Any) -> Trace:
    told = trace.said.model_dump() | said | {"unread": True}
    return trace.model_copy(update={"said": KeptSaid.model_validate(told)})


def _corners(trace: Trace, files: frozenset[str], act: Mapping[str, Any]) -> tuple[Trace, str]:
    file = act.get("file")
    if not isinstance(file, str) or file not in files:
        raise TraceError("That photo is not in this record.")
    four = corners_of(act.get("corners"))
    if file not in {one.file for one in trace.photos}:
        raise TraceError(f"{file} has not been read yet; wait for that, then set its corners.")
    photos: list[KeptPhoto] = []
    for one in trace.photos:
        set_ = {"corners": four, "corners_from": "user"}
        photos.append(one.model_copy(update=set_) if one.file == file else one)
    return _told(trace.model_copy(update={"photos": tuple(photos)})), f"corners of {file}"


def _width(trace: Trace, _: frozenset[str], act: Mapping[str, Any]) -> tuple[Trace, str]:
    width = _number(act.get("width"), "The board's width is a number of mm from 1 to 1000.")
    return _told(trace, width=width, length=None), "the board's width"


def _ruler(trace: Trace, _: frozenset[str], act: Mapping[str, Any]) -> tuple[Trace, str]:
    length = _number(act.get("length"), "The length between the two marks is a number of mm from 1 to 1000.")
    one, other = points_of(act.get("ends"), 2, "A ruler is two marks in the copper photo.")
    if math.dist(one, other) < _NEAREST_ENDS:
        raise TraceError("The two marks lie on each other; take two that are as far apart as the photo allows.")
    return _told(trace, width=None, length=(one, other, length)), f"{length:g} mm between two marks"


def _holes(trace: Trace, files: frozenset[str], act: Mapping[str, Any]) -> tuple[Trace, str]:
    pairs = pairs_of(act.get("pairs"))
    if len(trace.photos) < 2:
        raise TraceError("There is no photo of the other side that has been read.")
    if len(pairs) == 1:
        raise TraceError("One hole does not say how the photos lie; set two, better four to six.")
    what = f"{len(pairs)} holes in both photos" if pairs else "holes in both photos let go"
    return _told(trace, clicked=pairs), what


def _number(value: Any, wanted: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 1 <= value <= 1000:
        raise TraceError(wanted)
    return float(value)


_DOERS: Final[Mapping[str, Callable[[Trace, frozenset[str], Mapping[str, Any]], tuple[Trace, str]]]] = {
    "corners": _corners,
    "width": _width,
    "ruler": _ruler,
    "holes": _holes,
}
