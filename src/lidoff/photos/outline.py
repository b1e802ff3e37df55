"""Where the board lies in its photo: its outline, whatever the shape, and the four corners of its straight sides.

The ground is learnt from the rim of the picture; what is unlike it starts GrabCut (C. Rother, V. Kolmogorov, A. Blake,
"GrabCut: interactive foreground extraction using iterated graph cuts", ACM Transactions on Graphics 23, 2004). The
four sides are the straight lines of the outline found so whose quadrilateral covers the board best: rounded corners, a
plug that stands out at one side or a shadow do not shift them. Each side is then fitted to the full picture.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv
from lidoff.photos.picture import PhotoError

Floats = NDArray[np.float64]
Mask = NDArray[np.uint8]

_WORKING: Final = 400  # pixels of the long side while the board is looked for
_LEAST_SHARE: Final = 0.02  # of the picture; a smaller board is too small to be read anyway
_ROUNDS: Final = 3
_NEAR: Final = 1.0  # how near to a side its points lie [pixels]
_HELD: Final = 0.2  # of its score, that a side loses by being moved as far as it may
_PLACES: Final = np.linspace(0.16, 0.84, 80)  # along a side; rounded corners take up to a sixth of it
_NO_LIGHT: Final = 0.02  # of full light in all three colours; of less the shares are noise
_OTHER_COLOUR: Final = 0.05  # shares of red and blue by which something is no longer the ground
_PLAY: Final = 5.0  # times the ground's own play
_OF_THE_STEP: Final = 0.6  # of how much the board differs; the picture of colours is soft, and its foot lies outside
_PITCH_DARK: Final = 0.03  # of full light in all three colours together
_PLAINLY_OFF: Final = 0.6  # of the reach
_PLAIN_SIDE: Final = 0.9  # of a side's places, that have to differ from the ground for the side to be moved by colour
_LINES: Final = 12  # straight lines of the outline among which the sides are sought
_WELL_FOUND: Final = 0.8  # of the score; no other guess is needed then
_BARELY_FOUND: Final = 0.45
_LEAST_EDGES: Final = 0.002  # of the picture
_LEAST_STEEP: Final = 20.0  # Sobel's sum over L*a*b*; an edge of 20 units over three pixels has 50
_UNLIKE: Final = 3.0  # distance from the colours of the ground [standard deviations]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A board in a photo, in photo pixels.

    `contour` (n, 2) runs round it; `corners` (4, 2) begin at the one nearest the top left of the picture and run
    clockwise as seen. `fill` is how well board and quadrilateral cover each other (their common area over the area
    of both together): well under 1 where the board is not a rectangle. `sure` is False where little of the outline
    runs along an edge of the picture.
    """

    contour: Floats
    corners: Floats
    fill: float
    sure: bool


def find_outline(rgb: NDArray[np.uint8], within: tuple[float, float, float, float] | None = None) -> Outline:
    """The outline of the board in an upright photo (height, width, 3).

    `within` (left, top, right, bottom) [pixels] is where to look when there is more than one board. Raises PhotoError
    where nothing board-like is found, and where OpenCV is missing.
    """
    cv2 = opencv()
    height, width = rgb.shape[:2]
    left, top, right, bottom = (0, 0, width, height) if within is None else _whole(within, width, height)
    seen = rgb[top:bottom, left:right]
    scale = min(1.0, _WORKING / max(seen.shape[:2]))
    small = cv2.resize(seen, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    best: tuple[float, float, Any, Floats] | None = None
    edges = _sharp_edges(cv2, small)
    # Without an edge anywhere GrabCut would ponder noise for seconds.
    masks = _board_masks(cv2, small) if edges.mean() > _LEAST_EDGES else iter(())
    for mask in masks:
        contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        if not contours:
            continue
        contour = max(contours, key=cv2.contourArea)
        if cv2.contourArea(contour) < _LEAST_SHARE * mask.size:
            continue
        found = _four_sides(cv2, mask, contour, edges)
        # What is cut out well follows edges all round, whether it is a rectangle or not.
        score = 0.0 if found is None else float(edges[contour[:, 0, 1], contour[:, 0, 0]].mean()) * (0.5 + found[0] / 2)
        if found is not None and (best is None or score > best[0]):
            best = (score, min(1.0, found[1]), contour, found[2])
            if score > _WELL_FOUND:
                break
    if best is None:
        raise PhotoError(
            "No board was found in the picture: give its four corners, or photograph it alone on a plain ground of "
            "another colour."
        )
    score, fill, contour, rough = best
    rough = _onto_edges(edges, rough)
    # A pixel of the small picture stands for a square of the large one: centres are mapped to centres.
    shift = np.array([left, top], dtype=np.float64)
    corners = (rough + 0.5) / scale - 0.5
    for reach in (6.0, 3.0, 2.0):
        corners = refine_corners(seen, corners, reach=reach / scale)
    corners = refine_by_colour(seen, corners, reach=3.0 / scale)
    return Outline(
        contour=(contour[:, 0, :].astype(np.float64) + 0.5) / scale - 0.5 + shift,
        corners=corners + shift,
        fill=fill,
        sure=score > _BARELY_FOUND,
    )


def _whole(box: tuple[float, float, float, float], width: int, height: int) -> tuple[int, int, int, int]:
    left, top = max(0, int(box[0])), max(0, int(box[1]))
    right, bottom = min(width, int(np.ceil(box[2]))), min(height, int(np.ceil(box[3])))
    if right - left < 20 or bottom - top < 20:
        raise PhotoError("The place to look for the board lies outside of the picture; give it in photo pixels.")
    return left, top, right, bottom


def _board_masks(cv2: Any, small: NDArray[np.uint8]) -> Iterator[Mask]:
    """Guesses at where the board is, by GrabCut: from what is unlike the ground even in shadow, from what is unlike it
    as it is lit, and from the whole picture.
    """
    yield _one_piece(cv2, _grab_cut(cv2, small, _from_ground(cv2, small, in_shadow=True) > _UNLIKE))
    yield _one_piece(cv2, _grab_cut(cv2, small, _from_ground(cv2, small) > _UNLIKE))
    yield _one_piece(cv2, _grab_cut(cv2, small, np.ones(small.shape[:2], dtype=bool)))


def _grab_cut(cv2: Any, small: NDArray[np.uint8], probably: NDArray[np.bool_]) -> Mask:
    height, width = small.shape[:2]
    mask = np.where(probably, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    rim = max(2, round(0.012 * max(height, width)))
    mask[:rim] = mask[-rim:] = mask[:, :rim] = mask[:, -rim:] = cv2.GC_BGD
    # Somebody who photographs a board has it in the middle.
    inner = np.zeros((height, width), dtype=bool)
    inner[int(0.35 * height) : int(0.65 * height), int(0.35 * width) : int(0.65 * width)] = True
    if probably.all():
        inner = cv2.erode(inner.astype(np.uint8), np.ones((int(0.2 * height) | 1, int(0.2 * width) | 1))) > 0
    mask[inner & probably] = cv2.GC_FGD
    if not ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).any():
        return np.zeros((height, width), np.uint8)
    # GrabCut draws its first colour models with random numbers: the same photo must give the same outline.
    cv2.setRNGSeed(1)
    ground, board = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(cv2.cvtColor(small, cv2.COLOR_RGB2BGR), mask, None, ground, board, _ROUNDS, mode=cv2.GC_INIT_WITH_MASK)
    cut: Mask = ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8)
    return cut


def _from_ground(cv2: Any, small: NDArray[np.uint8], *, in_shadow: bool = False) -> Floats:
    """How far each pixel is from the colours at the rim of the picture [standard deviations].

    With `in_shadow` the ground may also be darker, down to a third of its lightness.
    """
    lab = cv2.GaussianBlur(cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), (0, 0), 1.2)
    height, width = lab.shape[:2]
    rim = max(3, round(0.01 * max(height, width)))
    at_rim = np.ones((height, width), dtype=bool)
    at_rim[rim:-rim, rim:-rim] = False
    colours = lab[at_rim]
    cv2.setRNGSeed(1)
    rounds = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    _, label, _ = cv2.kmeans(colours, 4, None, rounds, 2, cv2.KMEANS_PP_CENTERS)
    away = np.full((height, width), np.inf)
    for number in range(4):
        own = colours[label[:, 0] == number]
        if len(own) < 0.08 * len(colours):
            continue
        # Even a plain ground has some play: light falls off across it more than its colour changes.
        inverse = np.linalg.inv(np.cov(own.T) + np.diag([16.0, 4.0, 4.0]))
        error = lab - own.mean(axis=0)
        if in_shadow:
            light = own.mean(axis=0)[0]
            error[..., 0] = np.where(error[..., 0] > 0, error[..., 0], np.minimum(0, error[..., 0] + 0.67 * light))
        away = np.minimum(away, np.sqrt(np.einsum("...i,ij,...j", error, inverse, error)))
    return away


def _sharp_edges(cv2: Any, small: NDArray[np.uint8]) -> Mask:
    """Where the picture changes as sharply as it does at the rim of a thing."""
    lab = cv2.GaussianBlur(cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), (0, 0), 1.0)
    across, down = cv2.Sobel(lab, cv2.CV_32F, 1, 0), cv2.Sobel(lab, cv2.CV_32F, 0, 1)
    steep = np.sqrt((across**2 + down**2).sum(axis=2))
    sharp: Mask = (steep > max(_LEAST_STEEP, 0.3 * float(np.percentile(steep, 97)))).astype(np.uint8)
    wide: Mask = cv2.dilate(sharp, np.ones((3, 3), np.uint8))
    return wide


def _one_piece(cv2: Any, mask: Mask) -> Mask:
    """The largest piece without its openings, and without the leads and clips that hang off it."""
    close = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9))
    contours, _ = cv2.findContours(
        cv2.morphologyEx(mask, cv2.MORPH_CLOSE, close), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    solid = np.zeros_like(mask)
    cv2.drawContours(solid, contours, -1, 1, -1)
    solid = cv2.morphologyEx(solid, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (19, 19)))
    count, label, stats, _ = cv2.connectedComponentsWithStats(solid)
    if count < 2:
        return np.zeros_like(mask)
    largest: Mask = (label == 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))).astype(np.uint8)
    return largest


def _four_sides(cv2: Any, mask: Mask, contour: NDArray[np.int32], edges: Mask) -> tuple[float, float, Floats] | None:
    """The quadrilateral of straight lines of the contour that fits best: its score, how well it covers, its corners."""
    lines = _straight_lines(cv2, mask, contour)
    height, width = mask.shape
    area = int(mask.sum())
    near = np.zeros_like(mask)
    cv2.drawContours(near, [contour], -1, 1, 5)
    best: tuple[float, float, Floats] | None = None
    for four in itertools.combinations(lines, 4):
        corners = _corners_of(four)
        if corners is None or abs(corners - (width / 2, height / 2)).max() > 2 * max(width, height):
            continue
        size = float(cv2.contourArea(corners.astype(np.float32)))
        if not 0.6 * area < size < 2 * area:
            continue
        covered = np.zeros_like(mask)
        cv2.fillConvexPoly(covered, np.round(corners).astype(np.int32), 1)
        both = int((covered & mask).sum())
        share = both / max(1.0, size + area - both)
        # A quadrilateral that takes in a shadow covers the mask well, but its sides run free of the outline or
        # through the soft edge of the shadow.
        # The four corners bound the board: one that leaves a part of it outside is worse than one too wide.
        score = share * both / area * float(np.sqrt(_followed(near, corners) * _followed(edges, corners)))
        if best is None or score > best[0]:
            best = (score, share, corners)
    return best


def _onto_edges(edges: Mask, corners: Floats) -> Floats:
    """The quadrilateral with each side moved, by little, to where it runs along a sharp edge of the picture."""
    shifts = np.arange(-14.0, 15.0)
    starts, ends = (one.ravel() for one in np.meshgrid(shifts, shifts, indexing="ij"))
    places = np.linspace(0.08, 0.92, 60)
    lines: list[tuple[Floats, Floats]] = []
    for at in range(4):
        start, end = corners[at], corners[(at + 1) % 4]
        along = (end - start) / max(1e-9, float(np.linalg.norm(end - start)))
        normal = np.array([-along[1], along[0]])
        offsets = starts[:, None] + (ends - starts)[:, None] * places[None, :]
        points = start + places[None, :, None] * (end - start) + offsets[..., None] * normal
        columns, rows = np.round(points[..., 0]).astype(int), np.round(points[..., 1]).astype(int)
        inside = (columns >= 0) & (rows >= 0) & (columns < edges.shape[1]) & (rows < edges.shape[0])
        hit = edges[rows.clip(0, edges.shape[0] - 1), columns.clip(0, edges.shape[1] - 1)] * inside
        # A side moves inwards past tracks that run along the rim only for a clearly better edge.
        score = hit.mean(axis=1) - 0.012 * np.maximum(np.abs(starts), np.abs(ends))
        best = int(np.argmax(score))
        lines.append((start + starts[best] * normal, end + ends[best] * normal))
    moved = [_meeting(*lines[at - 1], *lines[at]) for at in range(4)]
    return corners if any(one is None for one in moved) else np.array(moved)


def _followed(near: Mask, corners: Floats) -> float:
    """The share of the quadrilateral's sides along which the mask is set."""
    places = np.linspace(0, 1, 60)[:, None]
    points = np.concatenate([corners[at] + places * (corners[(at + 1) % 4] - corners[at]) for at in range(4)])
    columns, rows = np.round(points).astype(int).T
    inside = (columns >= 0) & (rows >= 0) & (columns < near.shape[1]) & (rows < near.shape[0])
    return float(near[rows[inside], columns[inside]].sum()) / len(points)


def _straight_lines(cv2: Any, mask: Mask, contour: NDArray[np.int32]) -> list[tuple[Floats, Floats]]:
    """The strongest straight lines of the contour, as points on them and directions, each of a place of its own."""
    drawn = np.zeros_like(mask)
    cv2.drawContours(drawn, [contour], -1, 255, 1)
    shortest = max(20, round(0.06 * cv2.arcLength(contour, True)))
    votes = cv2.HoughLines(drawn, 1.0, np.pi / 360, shortest)
    rectangle = cv2.boxPoints(cv2.minAreaRect(contour)).astype(np.float64)
    found: list[tuple[Floats, Floats]] = []
    middle = contour[:, 0, :].mean(axis=0)
    for rho, theta in [] if votes is None else votes[:400, 0, :2]:
        normal = np.array([np.cos(theta), np.sin(theta)])
        foot = middle + normal * (rho - middle @ normal)
        _add_line(found, foot, np.array([-normal[1], normal[0]]), middle)
        if len(found) == _LINES:
            break
    # Where the outline has hardly a straight side, the box round it stands in.
    for at in range(4):
        start, end = rectangle[at], rectangle[(at + 1) % 4]
        direction = (end - start) / max(1e-9, float(np.linalg.norm(end - start)))
        _add_line(found, start + direction * float((middle - start) @ direction), direction, middle)
    return found


def _add_line(found: list[tuple[Floats, Floats]], foot: Floats, direction: Floats, middle: Floats) -> None:
    """Adds the line unless one much like it is there; feet are the points nearest the middle."""
    for there, its in found:
        if float(np.linalg.norm(there - foot)) < 8 and abs(_cross(its, direction)) < np.sin(np.radians(6)):
            return
    found.append((foot, direction))


def _corners_of(four: tuple[tuple[Floats, Floats], ...]) -> Floats | None:
    """The corners of the convex quadrilateral that four lines bound, or None where they bound none.

    The two lines most nearly parallel to each other are opposite sides.
    """
    first, *others = four
    opposite = min(range(3), key=lambda number: abs(_cross(first[1], others[number][1])))
    third = others.pop(opposite)
    if max(abs(_cross(first[1], third[1])), abs(_cross(others[0][1], others[1][1]))) > np.sin(np.radians(35)):
        return None
    meets = [
        _meeting(one[0], one[0] + one[1], other[0], other[0] + other[1])
        for one, other in ((first, others[0]), (others[0], third), (third, others[1]), (others[1], first))
    ]
    if any(meet is None for meet in meets):
        return None
    corners = np.array(meets)
    turns = [
        _cross(corners[(at + 1) % 4] - corners[at], corners[(at + 2) % 4] - corners[(at + 1) % 4]) for at in range(4)
    ]
    return _in_order(corners) if min(turns) > 0 or max(turns) < 0 else None


def _cross(one: Floats, other: Floats) -> float:
    return float(one[0] * other[1] - one[1] * other[0])


def _meeting(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats | None:
    """Where the line through a and b meets that through c and d."""
    one, other = b - a, d - c
    across = _cross(one, other)
    if abs(across) < 1e-9 * (np.linalg.norm(one) * np.linalg.norm(other) + 1e-12):
        return None
    where: Floats = a + one * (_cross(c - a, other) / across)
    return where


def _in_order(corners: Floats) -> Floats:
    """The four corners clockwise as seen, from the one nearest the top left."""
    middle = corners.mean(axis=0)
    angles = np.arctan2(corners[:, 1] - middle[1], corners[:, 0] - middle[0])
    turned = corners[np.argsort(angles)]
    first = int(np.argmin(turned.sum(axis=1)))
    return np.roll(turned, -first, axis=0)


def refine_corners(rgb: NDArray[np.uint8], corners: Floats, reach: float) -> Floats:
    """The corners with each side moved to the strongest edge within `reach` [pixels] of it.

    A side whose edge cannot be made out stays where it was. `corners` (4, 2) in photo pixels, in order round the board.
    """
    return _with_sides(_fitted_side, rgb, corners, reach)


def refine_by_colour(rgb: NDArray[np.uint8], corners: Floats, reach: float) -> Floats:
    """The corners with each side moved to where the picture's colour ceases to be that of the ground beside it.

    A shadow changes how light the ground is, not the shares that red, green and blue have in it. So a rim that lies in
    the board's own shadow is found as well, and copper that runs along within it is not taken for it.
    """
    return _with_sides(_coloured_side, rgb, corners, reach)


def _with_sides(
    fit: Callable[[Any, NDArray[np.uint8], Floats, Floats, float], tuple[Floats, Floats]],
    rgb: NDArray[np.uint8],
    corners: Floats,
    reach: float,
) -> Floats:
    """The corners in which the sides meet, each as `fit` has it."""
    cv2 = opencv()
    lines = [fit(cv2, rgb, corners[at], corners[(at + 1) % 4], reach) for at in range(4)]
    moved = np.empty((4, 2))
    for at in range(4):
        before, after = lines[at - 1], lines[at]
        meet = _meeting(before[0], before[1], after[0], after[1])
        near = meet is not None and float(np.linalg.norm(meet - corners[at])) < 4 * reach
        moved[at] = meet if near and meet is not None else corners[at]
    return moved


def _fitted_side(cv2: Any, rgb: NDArray[np.uint8], start: Floats, end: Floats, reach: float) -> tuple[Floats, Floats]:
    length = float(np.linalg.norm(end - start))
    if length < 20:
        return start, end
    offsets = np.arange(-reach, reach + 0.25, 0.5)
    profile = _across(cv2, rgb, start, end, offsets)
    profile = cv2.cvtColor(profile.astype(np.float32) / 255, cv2.COLOR_RGB2LAB).astype(np.float64)
    # A board differs from its ground in colour; its shadow does so in lightness alone.
    profile[..., 0] *= 0.5
    # The sharpness of a well-focused rim, at most: what is smeared out further is a shadow.
    spread = int(np.clip(round(reach / 8), 1, 3))
    smooth = cv2.blur(profile, (2 * spread + 1, 1))
    steps = np.linalg.norm(smooth[:, 2:] - smooth[:, :-2], axis=2)
    return _shifted(start, end, _side_through(_PLACES * length, steps, offsets[1:-1], reach), reach)


def _across(cv2: Any, rgb: NDArray[np.uint8], start: Floats, end: Floats, offsets: Floats) -> NDArray[np.uint8]:
    """The picture across a side (80, n, 3), at its places and at `offsets` (n) from it [pixels], inwards positive."""
    along = (end - start) / float(np.linalg.norm(end - start))
    normal = np.array([-along[1], along[0]])
    points = start + _PLACES[:, None, None] * (end - start) + offsets[None, :, None] * normal
    seen: NDArray[np.uint8] = cv2.remap(
        rgb,
        points[..., 0].astype(np.float32),
        points[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return seen


def _shifted(start: Floats, end: Floats, line: tuple[float, float] | None, reach: float) -> tuple[Floats, Floats]:
    """The side moved to a line given by slope and offset; as it was where there is none, or one out of reach."""
    length = float(np.linalg.norm(end - start))
    if line is None or max(abs(line[1]), abs(line[0] * length + line[1])) > 2 * reach:
        return start, end
    along = (end - start) / length
    normal = np.array([-along[1], along[0]])
    return start + line[1] * normal, end + (line[0] * length + line[1]) * normal


def _coloured_side(cv2: Any, rgb: NDArray[np.uint8], start: Floats, end: Floats, reach: float) -> tuple[Floats, Floats]:
    length = float(np.linalg.norm(end - start))
    if length < 20:
        return start, end
    offsets = np.arange(-2 * reach, reach + 0.25, 0.5)
    level = _across(cv2, rgb, start, end, offsets).astype(np.float32) / 255
    light = np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)
    light = cv2.GaussianBlur(light, (5, 5), 1.2)
    shares = light[..., ::2] / (light.sum(axis=-1, keepdims=True) + _NO_LIGHT)
    # The ground is what lies out of reach; it is looked at place by place, for light that the board throws tints it.
    ground = np.median(shares[:, offsets < -reach], axis=1)
    ground = np.stack([cv2.blur(np.ascontiguousarray(one)[:, None], (1, 9))[:, 0] for one in ground.T], axis=1)
    away = np.linalg.norm(shares - ground[:, None], axis=2)
    play = float(np.median(away[:, offsets < -reach]))
    enough = max(_OTHER_COLOUR, _PLAY * play, _OF_THE_STEP * float(np.median(away[:, offsets > 0.0])))
    other = np.minimum(away, enough) / enough
    inside, outside = other[:, offsets > 0.5 * reach].mean(axis=1), other[:, offsets < -reach].mean(axis=1)
    plain = inside - outside > 0.5
    if plain.mean() < _PLAIN_SIDE or float(np.median(light[:, offsets < -reach].sum(axis=-1))) < _PITCH_DARK:
        return start, end
    near = np.abs(offsets) < reach
    steps = np.maximum(other[:, 2:] - other[:, :-2], 0.0)[:, near[1:-1]] * plain[:, None]
    line = _side_through(_PLACES * length, steps, offsets[near], reach)
    # Photos hold colours at half the sharpness of lightness: a side is moved only where it is plainly off.
    if line is None or max(abs(line[1]), abs(line[0] * length + line[1])) < _PLAINLY_OFF * reach:
        return start, end
    return _shifted(start, end, line, reach)


def _side_through(x: Floats, steps: Floats, offsets: Floats, reach: float) -> tuple[float, float] | None:
    """The line that the peaks of the profiles lie on: slope and offset, or None where they lie on none.

    `steps` (n, m) is how much the picture changes at each of the `offsets` (m) from the side, at the places `x` (n).
    Of two lines almost as good the outer one is the rim: copper often runs along it on the inside. Every line through
    two peaks is tried (M. Fischler, R. Bolles, "Random sample consensus", Communications of the ACM 24, 1981, with all
    samples instead of random ones), then the peaks near the one chosen are fitted.
    """
    strong = 0.3 * float(np.median(steps.max(axis=1)))
    inner = steps[:, 1:-1]
    is_peak = (inner >= steps[:, :-2]) & (inner > steps[:, 2:]) & (inner > strong)
    row, column = np.nonzero(is_peak)
    if len(np.unique(row)) < 10:
        return None
    column = column + 1
    y = offsets[column] + _between(steps[row], column) * (offsets[1] - offsets[0])
    weight = np.minimum(1.0, steps[row, column] / (2 * strong))
    middle, length = float(x.mean()), float(np.ptp(x))
    shifts, turns = np.arange(-reach, reach + 0.1, 0.5), np.arange(-reach, reach + 0.1, 0.5)
    shift, turn = (one.ravel() for one in np.meshgrid(shifts, turns, indexing="ij"))
    score = np.zeros(len(shift))
    for place in range(len(x)):
        own = row == place
        if own.any():
            line = shift + turn * (x[place] - middle) / length
            near = np.exp(-0.5 * ((y[own][None, :] - line[:, None]) / _NEAR) ** 2) * weight[own][None, :]
            score += near.max(axis=1)
    if score.max() < 0.25 * len(x):
        return None
    # The side as it was is a guess worth something.
    score *= 1 - _HELD * np.maximum(np.abs(shift), np.abs(turn)) / reach
    good = np.flatnonzero(score > 0.93 * score.max())
    # Inside lies on the positive hand. Steep lines gain nothing by it: it is the line's middle that counts.
    outer = good[shift[good] <= shift[good].min() + 1.0]
    best = outer[np.argmax(score[outer])]
    slope, offset = turn[best] / length, shift[best] - turn[best] * middle / length
    for _ in range(3):
        kept = np.abs(y - slope * x[row] - offset) < 2 * _NEAR
        if kept.sum() < 8:
            return None
        slope, offset = np.polyfit(x[row][kept], y[kept], 1, w=weight[kept])
    return float(slope), float(offset)


def _between(steps: Floats, peak: NDArray[np.intp]) -> Floats:
    """Where between the samples each row's peak lies, by a parabola through three [samples]."""
    rows = np.arange(len(peak))
    inner = np.clip(peak, 1, steps.shape[1] - 2)
    left, middle, right = steps[rows, inner - 1], steps[rows, inner], steps[rows, inner + 1]
    bend = left - 2 * middle + right
    shift = np.where(np.abs(bend) > 1e-9, 0.5 * (left - right) / np.where(bend == 0, 1, bend), 0.0)
    return np.where(inner == peak, np.clip(shift, -0.5, 0.5), 0.0)
