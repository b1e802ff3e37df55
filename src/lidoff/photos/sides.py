"""Laying the photos of both sides over each other: the outline first, then the holes; a few clicked pairs where asked.

Two sides of a board do not look alike, so features of the pictures are not compared. What both show is the board's
rim and what goes through it. The outlines give a first pose for each way the board can have been turned over; holes
seen on both sides are then paired, nearest first within a reach that shrinks, and the pose is bent to them only as far
as they bear it out: the four corners may each move, held by how well an outline is known, so that two holes shift the
picture, more turn and stretch it, and holes in one row do not tilt it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from scipy.stats import binom

from lidoff.photos.holes import Spot
from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError
from lidoff.photos.straighten import Floats, Pose, Straight, homography, mapped

_CORNER: Final = 0.4  # mm; how well a corner of an outline is known (measured on the boards at hand: 0.1 to 0.5)
_HOLE: Final = 0.05  # mm; how well the middle of a hole is
_CLICK: Final = 0.10  # mm; how well somebody clicks
_REACHES: Final = (1.4, 1.1, 0.8, 0.6, 0.4, 0.3, 0.3)  # mm, within which holes are paired, round by round
_WIDTH_COUNTS: Final = 0.8  # mm for a factor e in diameter: two holes of one size go together
_CHANCE: Final = 1e-3  # that as many pairs come about with the holes strewn at random
_LEAST_PAIRS: Final = 3
_COLOURS: Final = 12
_LIKE_SHAPE: Final = 1.18  # ratio of the aspects of one board's two sides, at most


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """How the parts photo lies on the board as the copper side is seen.

    `to_board` (3, 3) takes the parts photo's pixels to board mm. `turned` is how far it was turned after mirroring
    [quarter turns]. `pairs` (n, 2, 2) are the places used, in board mm: of the copper side, and of the parts side.
    `residual` is their rms distance, `left_out` the same with each pair in turn left out of the fit [mm]; both None
    where the outline alone had to do. `sure` is False where another way round fits as well.
    """

    to_board: Floats
    turned: int
    by: str
    pairs: Floats
    residual: float | None
    left_out: float | None
    sure: bool


def align(
    copper: Pose,
    parts: Pose,
    *,
    copper_spots: Sequence[Spot] = (),
    parts_spots: Sequence[Spot] = (),
    clicked: Sequence[tuple[Sequence[float], Sequence[float]]] = (),
    mirrored: bool = True,
    pictures: tuple[Straight, Straight] | None = None,
) -> Alignment:
    """Where the parts photo lies on the board.

    `copper` and `parts` are the poses of the two photos by their outlines; the spots are in each one's own board mm.
    `clicked` are pairs of photo pixels (copper photo, parts photo) that show the same hole: two or more settle which
    way round, three to six replace the holes. With `mirrored` False both photos show the same side. `pictures` are the
    two straightened photos; where no hole tells which way round, the way that makes them most alike is proposed, and
    `sure` is False. Raises PhotoError where clicked pairs contradict each other.
    """
    frame = _frame(copper)
    ways = _ways(copper, parts, mirrored)
    pairs = np.array([[copper.board([one])[0], parts.board([other])[0]] for one, other in clicked], dtype=np.float64)
    ahead = _places(copper_spots)
    sizes = (_sizes(parts_spots), _sizes(copper_spots))
    tries = [_Try(way, frame, mapped(way, _places(parts_spots)), ahead, sizes, turned) for turned, way in ways]
    if len(pairs):
        return _by_clicks(tries, pairs.reshape(-1, 2, 2), parts)
    for one in tries:
        one.settle()
    tries.sort(key=lambda one: one.chance)
    best = tries[0]
    if len(best.pairs) < _LEAST_PAIRS or best.chance > _CHANCE:
        guess = min(tries, key=lambda one: -_likeness(one, parts, pictures))
        return Alignment(
            to_board=guess.way @ parts.to_board,
            turned=guess.turned,
            by="outline alone",
            pairs=np.empty((0, 2, 2)),
            residual=None,
            left_out=None,
            sure=len(tries) == 1,
        )
    rival = tries[1] if len(tries) > 1 else None
    sure = rival is None or rival.chance > max(1e-2, 1e3 * best.chance)
    return best.alignment(parts, f"{len(best.pairs)} holes", _HOLE, sure=sure)


def _likeness(one: _Try, parts: Pose, pictures: tuple[Straight, Straight] | None) -> float:
    """How much one picture tells of the other, laid over it this way round; by the turn alone where there are none."""
    if pictures is None:
        return -float(one.turned)
    copper, other = pictures
    cv2 = opencv()
    scale = 300 / float(one.frame[2].max())
    size = (max(8, round(one.frame[2, 0] * scale)), max(8, round(one.frame[2, 1] * scale)))
    to_size = np.diag([scale, scale, 1.0])
    own = np.array([[1 / o.px_per_mm, 0, 0.5 / o.px_per_mm - o.margin] for o in (copper, other)])
    laid = []
    for (per, _, shift), picture, way in zip(own, (copper, other), (np.eye(3), one.way), strict=True):
        to_mm = np.array([[per, 0, shift], [0, per, shift], [0, 0, 1.0]])
        shrink = min(1.0, scale / picture.px_per_mm)
        small = cv2.resize(picture.rgb, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        matrix = to_size @ way @ to_mm @ np.diag([1 / shrink, 1 / shrink, 1.0])
        laid.append(cv2.GaussianBlur(cv2.warpPerspective(small, matrix, size), (0, 0), 1.5))
    return shared_information(*(_classes(cv2, picture) for picture in laid))


def _classes(cv2: Any, rgb: NDArray[np.uint8]) -> NDArray[np.intp]:
    """Each pixel's class of colour, of twelve."""
    lab = cv2.cvtColor(rgb.astype(np.float32) / 255, cv2.COLOR_RGB2LAB).reshape(-1, 3)
    cv2.setRNGSeed(1)
    rounds = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    _, label, _ = cv2.kmeans(lab, _COLOURS, None, rounds, 1, cv2.KMEANS_PP_CENTERS)
    return np.asarray(label[:, 0], dtype=np.intp)


def shared_information(one: NDArray[np.intp], other: NDArray[np.intp]) -> float:
    """Normalised mutual information of two pictures of classes, (H(a) + H(b)) / H(a, b), from 1 to 2.

    C. Studholme, D. Hill, D. Hawkes, "An overlap invariant entropy measure of 3D medical image alignment", Pattern
    Recognition 32, 1999.
    """
    joint = np.bincount(one * _COLOURS + other, minlength=_COLOURS**2).reshape(_COLOURS, _COLOURS) / len(one)

    def entropy(shares: NDArray[Any]) -> float:
        some = shares[shares > 0]
        return float(-(some * np.log(some)).sum())

    whole = entropy(joint.ravel())
    return (entropy(joint.sum(axis=1)) + entropy(joint.sum(axis=0))) / whole if whole > 0 else 1.0


class _Try:
    """One way round, with the holes paired by it."""

    def __init__(
        self, way: Floats, frame: Floats, moving: Floats, fixed: Floats, sizes: tuple[Floats, Floats], turned: int
    ) -> None:
        self.way = way
        self.sizes = sizes
        self.frame = frame
        self.moving = moving
        self.fixed = fixed
        self.turned = turned
        self.shift = np.zeros(8)
        self.pairs: NDArray[np.intp] = np.empty((0, 2), dtype=np.intp)
        self.chance = 1.0

    def settle(self) -> None:
        """Pairs the holes, and says how likely as many pairs are by chance."""
        if min(len(self.moving), len(self.fixed)) < _LEAST_PAIRS:
            return
        for reach in _REACHES:
            moved = mapped(_bend(self.frame, self.shift), self.moving)
            self.pairs = _mutual(
                np.column_stack([moved, self.sizes[0]]), np.column_stack([self.fixed, self.sizes[1]]), reach
            )
            if len(self.pairs) < _LEAST_PAIRS:
                return
            # At first the pairs are as far off as the outlines are, and none must be taken for false.
            sigma = max(_HOLE, reach / 4)
            here, there = self.moving[self.pairs[:, 0]], self.fixed[self.pairs[:, 1]]
            self.shift = _bent(self.frame, here, there, sigma, self.shift)
        area = float(np.prod(self.frame[2]))
        share = min(1.0, len(self.fixed) * np.pi * _REACHES[-1] ** 2 / area)
        # The fit takes up to eight numbers out of the pairs themselves: they count for less by four.
        free = max(0, len(self.pairs) - 4)
        self.chance = float(binom.sf(free - 1, len(self.moving), share)) if free else 1.0

    def alignment(self, parts: Pose, by: str, sigma: float, *, sure: bool) -> Alignment:
        """What this way comes to."""
        moving, fixed = self.moving[self.pairs[:, 0]], self.fixed[self.pairs[:, 1]]
        return _alignment(self, parts, moving, fixed, by=by, sigma=sigma, sure=sure)


def _alignment(
    one: _Try, parts: Pose, moving: Floats, fixed: Floats, *, by: str, sigma: float, sure: bool
) -> Alignment:
    shift = _bent(one.frame, moving, fixed, sigma, one.shift)
    bend = _bend(one.frame, shift)
    moved = mapped(bend, moving)
    outside = []
    for out in range(len(moving)):
        kept = np.arange(len(moving)) != out
        without = _bend(one.frame, _bent(one.frame, moving[kept], fixed[kept], sigma, shift))
        outside.append(mapped(without, moving[out : out + 1])[0] - fixed[out])
    return Alignment(
        to_board=bend @ one.way @ parts.to_board,
        turned=one.turned,
        by=by,
        pairs=np.stack([fixed, moved], axis=1),
        residual=_rms(moved - fixed),
        left_out=_rms(np.array(outside)) if len(moving) > 2 else None,
        sure=sure,
    )


def _by_clicks(tries: list[_Try], pairs: Floats, parts: Pose) -> Alignment:
    fixed, own = pairs[:, 0], pairs[:, 1]
    best = min(tries, key=lambda one: _rms(mapped(one.way, own) - fixed))
    moving = mapped(best.way, own)
    if _rms(moving - fixed) > 0.25 * float(best.frame[2].max()):
        raise PhotoError("The clicked pairs do not show the same places on both sides; click them again.")
    return _alignment(best, parts, moving, fixed, by=f"{len(pairs)} clicked pairs", sigma=_CLICK, sure=len(pairs) > 1)


def _frame(pose: Pose) -> Floats:
    return np.array([[0, 0], [pose.width, 0], [pose.width, pose.height], [0, pose.height]])


def _ways(copper: Pose, parts: Pose, mirrored: bool) -> list[tuple[int, Floats]]:
    """Each way round that the shape allows: quarter turns, and the homography of the parts' own mm to the board's."""
    frame, own = _frame(copper), _frame(parts)
    # Mirrored left to right: what is at the top right on one side is at the top left on the other.
    corners = own[[1, 0, 3, 2]] if mirrored else own
    ways = []
    for turned in range(4):
        aspect = parts.width / parts.height if turned % 2 == 0 else parts.height / parts.width
        off = aspect / (copper.width / copper.height)
        if max(off, 1 / off) < _LIKE_SHAPE:
            ways.append((turned, homography(np.roll(corners, turned, axis=0), frame)))
    if not ways:
        raise PhotoError(
            "The outlines of the two sides are not of one shape: look at both, and set the corners where they are off."
        )
    return ways


def _places(spots: Sequence[Spot]) -> Floats:
    return np.array([[spot.x, spot.y] for spot in spots], dtype=np.float64).reshape(-1, 2)


def _sizes(spots: Sequence[Spot]) -> Floats:
    """The diameters as a third coordinate [mm]."""
    return _WIDTH_COUNTS * np.log([spot.diameter for spot in spots]) if len(spots) else np.empty(0)


def _mutual(moving: Floats, fixed: Floats, reach: float) -> NDArray[np.intp]:
    """Pairs of which each is the other's nearest, within `reach` [mm]."""
    near, there = cKDTree(fixed).query(moving, distance_upper_bound=reach)
    _, back = cKDTree(moving).query(fixed)
    there, back = np.asarray(there), np.asarray(back)
    rows = np.flatnonzero(np.isfinite(near))
    rows = rows[back[there[rows]] == rows]
    return np.column_stack([rows, there[rows]])


def _bend(frame: Floats, shift: Floats) -> Floats:
    """The homography that moves the corners of the frame by `shift` (8) [mm]."""
    return homography(frame, frame + shift.reshape(4, 2))


def _bent(frame: Floats, moving: Floats, fixed: Floats, sigma: float, start: Floats) -> Floats:
    """How the corners of the frame have to move (8) [mm] to take `moving` to `fixed` (n, 2): as little as the pairs ask
    for; pairs that are far off for a place known within `sigma` [mm] count for little.
    """

    def misfit(shift: NDArray[Any]) -> Floats:
        off = (mapped(_bend(frame, shift), moving) - fixed) / sigma
        # Cauchy's loss on the distance, so that a false pair pulls no harder the further off it is.
        length = np.linalg.norm(off, axis=1, keepdims=True)
        weight = np.sqrt(np.log1p(length**2 / 9) * 9) / np.maximum(length, 1e-9)
        return np.concatenate([(off * weight).ravel(), shift / _CORNER])

    found: Floats = least_squares(misfit, start, method="lm", max_nfev=400).x
    return found


def _rms(off: Floats) -> float:
    return float(np.sqrt((off**2).sum(axis=1).mean()))
