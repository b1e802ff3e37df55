"""From one photo of a copper side and its pads to proposed joins.

    traced = trace_copper(rgb, pads)
    traced.joins.question          # what to ask next; None when nothing is doubtful
    traced.joins.answer("P003", "P044", joined=True)

Works on the part of the photo where the pads are, at a size at which the narrowest gaps still show and the flooding
stays quick. The views that give a board are read at that size, and a join is accepted where all of them do.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.photos.choosing import Board, Choice, choices
from lidoff.photos.gate import bears_questions, hidden, refusal, too_much_asked, weak
from lidoff.photos.guided import MOST_PADS, all_pairs, pads_show, strays
from lidoff.photos.joins import Answer, Candidate, Joins, Judged, propose
from lidoff.photos.needs import opencv
from lidoff.photos.odd import odd_colours, odd_pads, odd_share
from lidoff.photos.pads import Pad, nearest, springs
from lidoff.photos.picture import PhotoError
from lidoff.photos.reading import ACCEPT, DROP, Reading, joined_at, read
from lidoff.photos.views import area_about, crop_of, lab

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.views import Mask, Rgb, View

# The long side of what is worked on [pixels]: a smaller crop is enlarged, so that the flooding finds its way between
# two pixels of a hairline gap, a larger one reduced. The views are compared at the small size.
_ENLARGED_TO: Final = 1600
_REDUCED_TO: Final = 2100
_MOST_ENLARGED: Final = 4
_SMALL: Final = 900
_SPARE: Final = 0.12  # of the pads' extent, kept around them
# How far board is certain beyond the outermost pads: of the long side, and of the usual way from pad to pad.
_SURELY_BOARD: Final = 0.03
_SURELY_OF_WAY: Final = 0.1
_RIM: Final = 0.02  # of the long side: the edge of the photo, taken for ground
_GROUND_LIKE_COPPER: Final = 0.25  # share of that edge, from which no path is trusted beyond the pads
_SMOOTH: Final = 0.6  # pixels of the photo
# Other views that have a say beside the best: as board-like as it, but for this, and of this share of its contrast.
_AS_GOOD: Final = 0.12
_AS_CLEAR: Final = 0.35
_WITNESSES: Final = 2
# Of a pad that nothing is joined to, where it lies on no copper that could be made out, or where the picture is faint:
# how many of the nearest pads it is held against. Too few find less, more ask much of pads that are truly alone.
_NEAREST: Final = 1
_NEAREST_WHERE_FAINT: Final = 2
_CLEAR: Final = 0.6  # worth of a view that shows a board, whatever its colours


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """From a point of the photo to the worked-on crop: subtract `origin`, times `factor` [1]."""

    origin: tuple[int, int]
    factor: float

    def into(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (x, y) of the photo as points of the crop; a pixel's centre stays one."""
        return np.asarray((points - np.array(self.origin) + 0.5) * self.factor - 0.5)

    def back(self, x: float, y: float) -> tuple[float, float]:
        """A point of the crop as a point of the photo."""
        return (
            (x + 0.5) / self.factor - 0.5 + self.origin[0],
            (y + 0.5) / self.factor - 0.5 + self.origin[1],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Traced:
    """What was read: the joins, the views they were read in (best first), and why no join is accepted, where so.

    `unsure` are the pads that lie on no copper that could be made out.
    """

    joins: Joins
    views: tuple[View, ...]
    scale: Scale
    unsure: tuple[str, ...]
    refused: str | None
    warnings: tuple[str, ...] = ()


def trace_copper(
    rgb: Rgb,
    pads: Sequence[Pad],
    *,
    board: Mask | None = None,
    bodies: Mask | None = None,
    answers: Sequence[Answer] = (),
) -> Traced:
    """The joins that a photo of the copper side proposes.

    `rgb` is height by width by 3, `pads` in its pixels; `board` says where there is board (without it, about the pads),
    `bodies` what hides the copper. Raises PhotoError where the extra is missing, where there are fewer than two pads,
    or where a pad lies outside the photo.
    """
    opencv()
    points = _checked(pads, rgb.shape[:2])
    rows, columns = crop_of(points, rgb.shape[:2], _SPARE)
    crop, scale = _sized(rgb[rows, columns], (columns.start, rows.start))
    masks = [None if mask is None else mask[rows, columns] for mask in (board, bodies)]
    full = _board(crop, scale.into(points), max(scale.factor, 1.0), *masks)
    ranked = choices(_smaller(crop, full, *masks))
    readings, odd = _readings(full, ranked)
    tried = [one.small for one in ranked]
    best = readings[0] if readings else None
    refused = refusal(best, tried, full.colours, full.core, odd)
    faint = refused or (None if best is None else weak(best, odd))
    names = [pad.id for pad in pads]
    if faint is not None and len(pads) <= MOST_PADS and pads_show(tried, hidden=hidden(odd)):
        every = all_pairs(names, full.points, tried, scale.back, "the picture tells nothing for certain")
        return Traced(
            joins=propose(names, every, answers),
            views=tuple(one.view for one in readings),
            scale=scale,
            unsure=(),
            refused=None,
            warnings=(f"Every pair of pieces is asked about, the likely ones first: {faint.rstrip('.')}.",),
        )
    if not readings or (refused is not None and not bears_questions(best, ranked[0].small, odd)):
        return _refused(names, answers, scale, readings, refused)
    found = _candidates(rgb, full, names, readings, scale, faint)
    unsure = sorted(readings[0].springs.unsure)
    lonely = strays(names, full.points, unsure, found, scale.back, _NEAREST)
    if faint is not None:
        lonely = strays(names, full.points, range(len(names)), found, scale.back, _NEAREST_WHERE_FAINT)
    joins = propose(names, [*found, *lonely], answers)
    if (reason := too_much_asked(joins, readings[0].pieces)) is not None:
        return _refused(names, answers, scale, readings, reason)
    return Traced(
        joins=joins,
        views=tuple(one.view for one in readings),
        scale=scale,
        unsure=tuple(names[number] for number in unsure),
        refused=None,
        warnings=_not_measured([names[number] for number in unsure]),
    )


def _not_measured(unsure: Sequence[str]) -> tuple[str, ...]:
    """That a pad on no copper is asked about here and there only, so that finding nothing says little."""
    if not unsure:
        return ()
    lie = f"{', '.join(unsure)} lie" if len(unsure) > 1 else f"{unsure[0]} lies"
    return (
        f"{lie} on no copper that could be made out. Where nothing is found joined to such a pad, it was held against "
        "the likeliest pads only; that it is joined to nothing is then NOT measured.",
    )


def _board(crop: Rgb, points: NDArray[np.float64], enlarged: float, board: Mask | None, bodies: Mask | None) -> Board:
    shape = crop.shape[:2]
    usual = float(np.median(nearest(points)))
    core = area_about(points, shape, min(_SURELY_BOARD * max(shape), _SURELY_OF_WAY * usual))
    wide = np.ones(shape, bool)
    if board is not None:
        wide = _fitted(board, shape)
        core = core & wide if (core & wide).any() else core
    if bodies is not None:
        free = ~_fitted(bodies, shape)
        core, wide = core & free, wide & free
    return Board(colours=lab(crop, smooth=_SMOOTH * enlarged), core=core, wide=wide, points=points, enlarged=enlarged)


def _smaller(crop: Rgb, full: Board, board: Mask | None, bodies: Mask | None) -> Board:
    cv2 = opencv()
    factor = _SMALL / max(crop.shape[:2])
    if factor >= 1:
        return full
    size = (max(1, round(crop.shape[1] * factor)), max(1, round(crop.shape[0] * factor)))
    small = np.asarray(cv2.resize(crop, size, interpolation=cv2.INTER_AREA))
    return _board(small, (full.points + 0.5) * factor - 0.5, full.enlarged * factor, board, bodies)


def _readings(full: Board, ranked: Sequence[Choice]) -> tuple[list[Reading], float]:
    """The best view and those that are nearly as good, read at full size; and the largest share of what one of them
    takes for copper that does not look like it.
    """
    plausible = [one for one in ranked if one.small.plausible]
    chosen = [
        one
        for one in plausible
        if one.small.worth >= plausible[0].small.worth - _AS_GOOD
        and one.small.view.contrast >= _AS_CLEAR * plausible[0].small.view.contrast
    ][: _WITNESSES + 1]
    with ThreadPoolExecutor(2) as pool:
        read_so = list(pool.map(lambda one: _read_fully(full, one), chosen))
    return [reading for reading, _ in read_so], max((share for _, share in read_so), default=0.0)


def _read_fully(full: Board, choice: Choice) -> tuple[Reading, float]:
    made = choice.make(full)
    found = springs(made.plain, full.points, enlarged=full.enlarged)
    odd = odd_colours(full.colours, made, found.labels, full.core)
    strange = odd_pads(full.colours, made, found.labels, full.core)
    share = odd_share(odd, made, full.core)
    # Tracks that show clearly and are of another colour than their pads lie under a mask. They are asked about, every
    # one; with the marks on them nothing would be left to ask.
    marked = made if hidden(share) and choice.small.worth >= _CLEAR else replace(made, unknown=made.unknown | odd)
    reading = read(
        marked,
        full.points,
        full.wide,
        core=full.core,
        found=replace(found, unsure=found.unsure | strange),
        enlarged=full.enlarged,
    )
    return reading, share


def _candidates(
    rgb: Rgb, full: Board, names: Sequence[str], readings: Sequence[Reading], scale: Scale, faint: str | None
) -> list[Candidate]:
    """Every pass of every reading as a candidate, judged by all of them together; none is accepted of a `faint`
    picture.
    """
    count = len(names)
    best = readings[0]
    between = np.array([joined_at(one, count) for one in readings])
    # Beyond the pads the levels are carried on and the board may end: two views have to agree there, and what lies
    # around the board must not look like copper.
    trusted = len(readings) > 1 and not _ground_like_copper(best, rgb)
    inside = between[0] if trusted else joined_at(_within(best, full), count)
    unsure = set(best.springs.unsure)
    found: dict[tuple[int, int], Candidate] = {}
    for reading in readings:
        for one in reading.passes:
            pair = (one.a, one.b)
            if pair in found:
                continue
            told = between[:, one.a, one.b]
            judged, why = _judged(told, bool(unsure & set(pair)), float(inside[pair]))
            if judged == "accept" and faint is not None:
                judged, why = "ask", faint
            found[pair] = Candidate(
                a=names[one.a],
                b=names[one.b],
                margin=one.height,
                weakest=scale.back(one.x, one.y),
                view=reading.view.name,
                judged=judged,
                why=why,
            )
    return list(found.values())


def _within(best: Reading, full: Board) -> Reading:
    """The same view with no path outside of the pads' hull."""
    hull = area_about(full.points, full.core.shape, 0.0)
    return read(best.view, full.points, hull & full.core, enlarged=full.enlarged)


def _ground_like_copper(best: Reading, rgb: Rgb) -> bool:
    """Whether the edge of the photo, where the board lies on its ground, could be taken for copper, as a light desk can
    for tin.
    """
    cv2 = opencv()
    factor = min(1.0, _SMALL / max(rgb.shape[:2]))
    small = lab(np.asarray(cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)))
    rim = max(2, round(_RIM * max(small.shape[:2])))
    edge = np.ones(small.shape[:2], bool)
    edge[rim:-rim, rim:-rim] = False
    return float(best.view.says_copper(small[edge]).mean()) > _GROUND_LIKE_COPPER


def _judged(told: NDArray[np.float64], unsure: bool, inside: float) -> tuple[Judged, str]:
    """What follows for a pair of pads from its best bottleneck in each reading, the best reading first."""
    if (told <= DROP).all():
        return "drop", ""
    if unsure:
        return "ask", "one of the pads lies on no copper that could be made out"
    if (told < ACCEPT).all():
        return "ask", "the weakest point is neither copper nor gap"
    if (told <= DROP).any():
        return "ask", "the views disagree"
    if told[0] < ACCEPT:
        return "ask", "the weakest point is neither copper nor gap in the best view"
    if inside < ACCEPT:
        return "ask", "the path runs beyond the pads, where the board may have ended"
    return "accept", ""


def _refused(
    names: Sequence[str],
    answers: Sequence[Answer],
    scale: Scale,
    readings: Sequence[Reading],
    reason: str | None,
) -> Traced:
    """Nothing from the picture: what was answered alone."""
    return Traced(
        joins=propose(names, (), answers),
        views=tuple(one.view for one in readings),
        scale=scale,
        unsure=(),
        refused=reason,
    )


def _checked(pads: Sequence[Pad], shape: tuple[int, ...]) -> NDArray[np.float64]:
    if len(pads) < 2:
        raise PhotoError("At least two pads are needed to look for joins between them.")
    for pad in pads:
        if not (0 <= pad.x < shape[1] and 0 <= pad.y < shape[0]):
            raise PhotoError(
                f"Pad {pad.id} lies at ({pad.x:g}, {pad.y:g}), outside the photo of {shape[1]} by {shape[0]} pixels."
            )
    return np.array([(pad.x, pad.y) for pad in pads], float)


def _sized(crop: Rgb, origin: tuple[int, int]) -> tuple[Rgb, Scale]:
    cv2 = opencv()
    long = max(crop.shape[:2])
    factor = 1.0
    if long > _REDUCED_TO:
        factor = _REDUCED_TO / long
    elif long < _ENLARGED_TO:
        factor = float(min(_MOST_ENLARGED, round(_ENLARGED_TO / long)))
    if factor == 1.0:
        return crop, Scale(origin=origin, factor=1.0)
    size = (max(1, round(crop.shape[1] * factor)), max(1, round(crop.shape[0] * factor)))
    how = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(crop, size, interpolation=how)), Scale(origin=origin, factor=factor)


def _fitted(mask: Mask, shape: tuple[int, ...]) -> Mask:
    cv2 = opencv()
    sized = cv2.resize(mask.astype(np.uint8), (shape[1], shape[0]), interpolation=cv2.INTER_NEAREST)
    return np.asarray(sized > 0)
