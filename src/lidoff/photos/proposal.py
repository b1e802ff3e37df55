"""From the photos of a record to a proposed trace: straightened, laid over each other, holes, bodies, pads and joins.

What the user set or answered before stays; only what the pictures said is said anew.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.bodies import find_bodies
from lidoff.photos.holes import Spot, find_joints, find_spots, measured
from lidoff.photos.intake import focal_length, pixels
from lidoff.photos.joins import Answer, Joins
from lidoff.photos.kept import (
    Continuity,
    KeptBoard,
    KeptBody,
    KeptHole,
    KeptJoin,
    KeptPad,
    KeptPhoto,
    KeptSaid,
    Picture,
    Trace,
    Word,
)
from lidoff.photos.merge import MOST, merge
from lidoff.photos.outline import Floats, find_outline
from lidoff.photos.pads import Pad
from lidoff.photos.picture import PhotoError
from lidoff.photos.quality import USUAL_GAP, Quality, judge_picture
from lidoff.photos.sheet import LINE, find_sheet, pose_on_sheet
from lidoff.photos.sides import Alignment, align
from lidoff.photos.straighten import Pose, Straight, mapped, pose_from_corners, rescaled, straightened
from lidoff.photos.tracing import Traced, trace_copper

if TYPE_CHECKING:
    from lidoff.record import Item, Photo

_MARGIN: Final = 1.0  # mm of ground kept round the straightened board
_CLEAR_HOLE: Final = 0.15  # contrast from which a spot is taken for a hole on one side's word
_RING: Final = 0.4  # and how even its rim is then: nicks and the ends of gaps are as dark
_DOUBTFUL_OUTLINE: Final = 0.9
_MOST_PADS: Final = 300
_WIDEST_PAD_HOLE: Final = 2.0  # mm; a wider one is for a screw


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the user says of the photos.

    `width` and `height` [mm] of the board; `line` [mm] is what the sheet's line measures, `thickness` [mm] how far the
    photographed side lies above the sheet; `gap` [mm] the narrowest gap between tracks; `corners` by photo file, four
    in photo pixels; `clicked` pairs of photo pixels (copper, parts); `length` two photo pixels of the copper photo and
    the mm between them.
    """

    width: float | None = None
    height: float | None = None
    line: float = LINE
    thickness: float = 1.6
    gap: float = USUAL_GAP
    corners: Mapping[str, Sequence[tuple[float, float]]] = field(default_factory=dict)
    clicked: Sequence[tuple[tuple[float, float], tuple[float, float]]] = ()
    length: tuple[tuple[float, float], tuple[float, float], float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A proposed trace and what to know of it.

    `traced` is the reading of the copper, None with fewer than two pads; `quality` by photo file; `remarks` are
    sentences for the user. `alignment` is that of the parts side, None where there is no photo of it.
    """

    trace: Trace
    traced: Traced | None
    quality: Mapping[str, Quality]
    alignment: Alignment | None
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """One side: its photo file, the picture (merged from several where there are), and where it lies on the board."""

    file: str
    rgb: NDArray[np.uint8]
    pose: Pose
    corners: Floats
    by_user: bool
    quality: Quality


def propose(
    item: Item, trace: Trace, settings: Settings | None = None, tell: Callable[[Trace, Floats], Trace] | None = None
) -> Proposal:
    """What the photos of the record propose, on top of what `trace` holds of the user's.

    `tell` is called with the trace before the copper is read, and with the copper photo's pose (photo pixels to board
    mm), to put in what the user says of its pads.

    Raises PhotoError where no photo shows copper, where a photo cannot be read, where no board is found in it, and
    where the extra is missing.
    """
    copper = [photo for photo in item.photos if photo.shows == "copper"]
    if not copper:
        raise PhotoError(
            f"{item.path}: no [[photo]] shows copper; take one in: "
            f"lidoff photo {item.folder} FILE --side bottom --shows copper."
        )
    side = copper[0].side
    other = _other_side(item.photos, side)
    set_, said = _all_said(settings or Settings(), trace, [copper[0].file, *(photo.file for photo in other[:1])])
    remarks: list[str] = []
    main = _looked_at(item, [photo for photo in copper if photo.side == side], trace, set_, remarks)
    flat = straightened(main.rgb, main.pose, margin=_MARGIN)
    spots = _spots(flat, main.pose)
    photos = [_kept_photo(main, main.pose.to_board)]
    quality = {main.file: main.quality}
    alignment, shared = None, np.empty((0, 2))
    if other:
        parts = _looked_at(item, other, trace, set_, remarks, like=main.pose)
        quality[parts.file] = parts.quality
        flat_parts = straightened(parts.rgb, parts.pose, margin=_MARGIN)
        alignment = align(
            main.pose,
            parts.pose,
            copper_spots=spots,
            parts_spots=_spots(flat_parts, parts.pose),
            clicked=set_.clicked,
            pictures=(flat, flat_parts),
        )
        shared = alignment.pairs[:, 0]
        photos.append(_kept_photo(parts, alignment.to_board, alignment))
        remarks += _said_of(alignment, parts.file)
    holes = _holes(trace, spots, shared)
    kept = Trace(
        board=KeptBoard(
            width=main.pose.width, height=main.pose.height, scale_from=main.pose.scale_from, outline=_outline(main)
        ),
        photos=tuple(photos),
        said=said,
        remarks=tuple(remarks),
        holes=holes,
        pads=_pads(trace, holes, find_joints(spots)),
        bodies=_bodies(trace, flat, main.pose),
        joins=tuple(one for one in trace.joins if one.evidence.kind != "picture"),
        wires=trace.wires,
    )
    if tell is not None:
        kept = tell(kept, main.pose.to_board)
    traced = None
    if len(kept.pads) >= 2:
        traced = read_copper(main.rgb, main.pose.to_board, kept)
        kept = with_joins(kept, traced.joins, main.file)
        if traced.refused:
            remarks.append(f"{main.file}: {traced.refused}")
        remarks += [f"{main.file}: {one}" for one in traced.warnings]
    return Proposal(trace=kept, traced=traced, quality=quality, alignment=alignment, remarks=tuple(remarks))


def _all_said(set_: Settings, trace: Trace, files: Sequence[str]) -> tuple[Settings, KeptSaid]:
    """What is said now with what was said before and still holds, and that to be kept. Pixels hold for their photos."""
    before, known = trace.said, [photo.file for photo in trace.photos]
    width, length = set_.width, set_.length
    if not (set_.width or set_.height or set_.length):
        width, length = before.width, before.length if known[:1] in ([], files[:1]) else None
    clicked = set_.clicked or (before.clicked if known in ([], files) else ())
    pairs = tuple((_point(one), _point(other)) for one, other in clicked)
    ends = None if length is None else (_point(length[0]), _point(length[1]), length[2])
    return replace(set_, width=width, length=ends, clicked=pairs), KeptSaid(width=width, length=ends, clicked=pairs)


def _point(at: Sequence[float]) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _other_side(photos: Sequence[Photo], side: str | None) -> list[Photo]:
    """The photos that show the board from the other side: its parts, or copper there."""
    seen = [photo for photo in photos if photo.shows in ("parts", "copper") and photo.side != side]
    kind = seen[0].shows if seen else None
    return [photo for photo in seen if photo.shows == kind and photo.side == seen[0].side]


def _looked_at(
    item: Item, photos: Sequence[Photo], trace: Trace, set_: Settings, remarks: list[str], like: Pose | None = None
) -> _Side:
    """One side's photos as one picture, straightened and judged. `like` is the pose of the side that has the scale."""
    first = photos[0].file
    path = item.folder / first
    rgb = pixels(path)
    if len(photos) > 1:
        shots = [rgb, *(pixels(item.folder / photo.file) for photo in photos[1:MOST])]
        try:
            rgb = merge(shots).rgb
        except PhotoError as error:
            remarks.append(f"{first} alone is used: {error}")
    size = (rgb.shape[1], rgb.shape[0])
    corners, by_user = _corners(rgb, first, trace, set_, remarks)
    pose = _pose(rgb, path, corners, set_, trace, like)
    if not pose.scale_from and like is None:
        remarks.append(
            f"{first}: nothing gives its scale, so the board is taken as {pose.width:g} mm wide; say --width, "
            "--length, or photograph it on the sheet (lidoff sheet)."
        )
    has_scale = bool(pose.scale_from)
    judged = judge_picture(rgb, px_per_mm=pose.px_per_mm() if has_scale else None, gap=set_.gap, corners=corners)
    remarks += [f"{first}: {one.sentence}" for one in judged.remarks]
    if not ((corners >= -5) & (corners <= np.array(size) + 5)).all():
        remarks.append(f"{first}: a corner of the board lies outside of the picture; photograph all of it.")
    return _Side(file=first, rgb=rgb, pose=pose, corners=corners, by_user=by_user, quality=judged)


def _corners(
    rgb: NDArray[np.uint8], file: str, trace: Trace, set_: Settings, remarks: list[str]
) -> tuple[Floats, bool]:
    """The board's corners in a photo: as the user gives them, gave them, or as they are found."""
    if file in set_.corners:
        return np.array(set_.corners[file], dtype=np.float64), True
    before = next((photo for photo in trace.photos if photo.file == file and photo.corners_from == "user"), None)
    if before is not None:
        return np.array(before.corners), True
    outline = find_outline(rgb)
    if not outline.sure or outline.fill < _DOUBTFUL_OUTLINE:
        remarks.append(
            f"{file}: the outline found is doubtful, or the board is no rectangle; look at its corners and set them "
            "with --corners where they are off."
        )
    return outline.corners, False


def _pose(rgb: NDArray[np.uint8], path: Path, corners: Floats, set_: Settings, trace: Trace, like: Pose | None) -> Pose:
    size, focal = (rgb.shape[1], rgb.shape[0]), focal_length(path)
    found = find_sheet(rgb, set_.line)
    if found is not None:
        return pose_on_sheet(found, corners, size, thickness=set_.thickness, focal=focal)
    if like is None and set_.length is not None:
        return rescaled(pose_from_corners(corners, size, focal=focal), *set_.length)
    if like is None and (set_.width or set_.height):
        return pose_from_corners(corners, size, width=set_.width, height=set_.height, focal=focal)
    if like is None and trace.board is not None and trace.board.scale_from:
        kept = trace.board
        pose = pose_from_corners(corners, size, width=kept.width, focal=focal)
        return Pose(to_board=pose.to_board, width=pose.width, height=pose.height, scale_from=kept.scale_from)
    pose = pose_from_corners(corners, size, focal=focal)
    if like is None:
        return pose
    # The other side of the same board: as large as the first.
    factor = float(np.sqrt(like.width * like.height / (pose.width * pose.height)))
    ends = pose.photo([[0, 0], [pose.width, 0]])
    return rescaled(pose, ends[0], ends[1], pose.width * factor, like.scale_from)


def _spots(flat: Straight, pose: Pose) -> tuple[Spot, ...]:
    return tuple(measured(flat, spot) for spot in find_spots(flat, pose.width, pose.height))


def _kept_photo(side: _Side, to_board: Floats, alignment: Alignment | None = None) -> KeptPhoto:
    a, b, c, d = ((float(x), float(y)) for x, y in side.corners)
    scaled = to_board / to_board[2, 2]
    rows = [(float(row[0]), float(row[1]), float(row[2])) for row in scaled]
    return KeptPhoto(
        file=side.file,
        corners=(a, b, c, d),
        corners_from="user" if side.by_user else "picture",
        pose=(rows[0], rows[1], rows[2]),
        mirrored=alignment is not None,
        aligned_by="" if alignment is None else alignment.by,
        residual=None if alignment is None else alignment.residual,
    )


def _outline(side: _Side) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in side.pose.board(side.corners))


def _said_of(alignment: Alignment, file: str) -> list[str]:
    if alignment.residual is None:
        return [
            f"{file}: laid over the copper side by its outline alone, good to half a millimetre or so; give three to "
            "six holes that both photos show with --pair."
            + ("" if alignment.sure else " Which way round it lies is a guess: look at it.")
        ]
    out = f", {alignment.left_out:.2f} mm for a hole that was left out" if alignment.left_out is not None else ""
    said = [f"{file}: laid over the copper side by {alignment.by}, {alignment.residual:.2f} mm apart{out}."]
    if not alignment.sure:
        said.append(f"{file}: another way round fits nearly as well; settle it with --pair.")
    return said


def _holes(trace: Trace, spots: Sequence[Spot], shared: Floats) -> tuple[KeptHole, ...]:
    """The user's holes, those that both sides show, and those that are clear on the copper side alone."""
    found = [hole for hole in trace.holes if hole.origin == "user"]
    for spot in spots:
        here = np.array([spot.x, spot.y])
        on_both = len(shared) > 0 and float(np.linalg.norm(shared - here, axis=1).min()) < 0.1
        clear = spot.tone == "dark" and spot.contrast > _CLEAR_HOLE and spot.ring >= _RING
        near = any(np.hypot(hole.x - spot.x, hole.y - spot.y) < hole.diameter / 2 for hole in found)
        if (on_both or clear) and not near:
            found.append(KeptHole(x=round(spot.x, 3), y=round(spot.y, 3), diameter=round(spot.diameter, 3)))
    return tuple(found)


def _pads(trace: Trace, holes: Sequence[KeptHole], joints: Sequence[Spot]) -> tuple[KeptPad, ...]:
    """The pads there are; where nobody has named or set one yet, one proposed at each hole that a lead goes through and
    at each solder joint.
    """
    if _told(trace) or any(pad.origin == "user" or pad.part or pad.node for pad in trace.pads):
        return trace.pads
    places = [(hole.x, hole.y) for hole in holes if hole.diameter < _WIDEST_PAD_HOLE]
    for joint in joints:
        # A mounting hole has a bright rim as well.
        if not any(np.hypot(joint.x - one.x, joint.y - one.y) < 0.5 * one.diameter + 1.0 for one in holes):
            places.append((round(joint.x, 3), round(joint.y, 3)))
    ordered = sorted(places, key=lambda place: (round(place[1] / 3), place[0]))[:_MOST_PADS]
    return tuple(KeptPad(id=f"P{number:03d}", x=x, y=y, origin="picture") for number, (x, y) in enumerate(ordered, 1))


def _told(trace: Trace) -> bool:
    return bool(trace.wires) or any(one.evidence.kind != "picture" for one in trace.joins)


def _bodies(trace: Trace, flat: Straight, pose: Pose) -> tuple[KeptBody, ...]:
    """The user's boxes, and the dark bodies on the copper side that lie in none of them."""
    found = [body for body in trace.bodies if body.origin == "user"]
    for body in find_bodies(flat, pose.width, pose.height):
        x, y = body.x + body.width / 2, body.y + body.height / 2
        if not any(one.x <= x <= one.x + one.width and one.y <= y <= one.y + one.height for one in found):
            found.append(
                KeptBody(
                    x=round(body.x, 2),
                    y=round(body.y, 2),
                    width=round(body.width, 2),
                    height=round(body.height, 2),
                    origin="picture",
                )
            )
    return tuple(found)


def read_copper(rgb: NDArray[np.uint8], to_board: Floats, trace: Trace) -> Traced:
    """The joins that a copper photo shows between the pads of a trace, with the answers it holds.

    `to_board` (3, 3) takes the photo's pixels to board mm. Raises PhotoError.
    """
    from lidoff.photos.needs import opencv

    cv2 = opencv()
    back = np.asarray(np.linalg.inv(to_board), dtype=np.float64)
    height, width = rgb.shape[:2]
    inside = mapped(back, [[pad.x, pad.y] for pad in trace.pads]).clip((0, 0), (width - 1, height - 1))
    board = np.zeros((height, width), np.uint8)
    cv2.fillConvexPoly(board, np.round(np.array(trace.photos[0].corners)).astype(np.int32), 1)
    hidden = np.zeros((height, width), np.uint8)
    for body in trace.bodies:
        box = [(0, 0), (body.width, 0), (body.width, body.height), (0, body.height)]
        seen = mapped(back, [[body.x + x, body.y + y] for x, y in box])
        cv2.fillConvexPoly(hidden, np.round(seen).astype(np.int32), 1)
    return trace_copper(
        rgb,
        [Pad(id=pad.id, x=float(x), y=float(y)) for pad, (x, y) in zip(trace.pads, inside, strict=True)],
        board=board > 0,
        bodies=hidden > 0 if trace.bodies else None,
        answers=[
            Answer(a=one.a, b=one.b, joined=one.joined, by=one.evidence.kind)
            for one in trace.joins
            if one.evidence.kind != "picture"
        ],
    )


def with_joins(trace: Trace, joins: Joins, file: str) -> Trace:
    """The trace with its joins as they stand: what was accepted from the picture, and every answer."""
    told = {frozenset((one.a, one.b)): one for one in trace.joins if one.evidence.kind != "picture"}
    pose = next((np.array(photo.pose) for photo in trace.photos if photo.file == file), np.eye(3))
    answers = {frozenset((one.a, one.b)): one for one in joins.answers}
    kept: list[KeptJoin] = []
    for pair, answer in answers.items():
        before = told.get(pair)
        if before is not None and before.joined == answer.joined:
            kept.append(before)
        else:
            evidence = Word() if answer.by == "user" else Continuity()
            kept.append(KeptJoin(a=answer.a, b=answer.b, joined=answer.joined, evidence=evidence))
    seen = [one for one in joins.joins if one.status == "accepted" and frozenset((one.a, one.b)) not in answers]
    places = mapped(pose, [one.weakest or (0.0, 0.0) for one in seen]).round(3).tolist()
    for one, (x, y) in zip(seen, places, strict=True):
        kept.append(
            KeptJoin(
                a=one.a,
                b=one.b,
                joined=True,
                evidence=Picture(
                    photo=file,
                    view=one.view,
                    score=round(one.score, 4),
                    margin=round(one.margin or 0.0, 4),
                    weakest=None if one.weakest is None else (x, y),
                ),
            )
        )
    return trace.model_copy(update={"joins": tuple(kept)})
