"""Whether a photo is good enough to be traced, and what to do where it is not.

How far edges are smeared is measured by smearing them further by a known amount (S. Zhuo, T. Sim, "Defocus map
estimation from a single image", Pattern Recognition 44, 2011, section 3): the steepness of an edge of width s falls by
the factor sqrt(1 + (s0/s)^2) when it is blurred with s0. The floor of 2 pixels to the narrowest gap was measured: nets
of a bare board re-sampled step by step stayed whole down to 1.8, and fell apart below.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.needs import opencv

LEAST_PER_GAP: Final = 2.0
"""Pixels to the narrowest gap under which tracks run together."""
ADVISED: Final = 20.0
"""Pixels per mm to aim at: a board 60 mm long across 1200 pixels."""
USUAL_GAP: Final = 0.3
"""The narrowest gap where nobody has said it [mm]: that of ordinary boards. Common practice, no source."""
_MOST_BLURRED: Final = 1.8  # pixels; sharp photos of real boards had 0.4 to 0.7
_BLOWN: Final = 250
_MOST_BLOWN: Final = 0.03  # of the board; solder glints on every board
_LARGEST_GLARE: Final = 0.01  # of the board, in one piece
_DARK: Final = 60  # of 255, for the lightest twentieth
_MOST_LOOKED_AT: Final = 6_000_000  # pixels


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One thing wrong with a photo: what ("coarse", "blurred", "bright", "glare", "dark"), and what to do."""

    about: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Quality:
    """What was measured on a photo's board.

    `px_per_mm` is None where there is no scale; `px_per_gap` likewise. `blur` is the standard deviation by which edges
    are smeared [pixels], `blown` the share of the board without drawing left, `glare` that of the largest such patch.
    """

    px_per_mm: float | None
    px_per_gap: float | None
    blur: float
    blown: float
    glare: float
    remarks: tuple[Remark, ...]

    def as_json(self) -> dict[str, Any]:
        """As `trace --json` prints it."""
        return {
            "px_per_mm": self.px_per_mm,
            "px_per_gap": self.px_per_gap,
            "blur": self.blur,
            "blown": self.blown,
            "glare": self.glare,
            "remarks": [{"about": one.about, "sentence": one.sentence} for one in self.remarks],
        }


def judge_picture(
    rgb: NDArray[np.uint8], *, px_per_mm: float | None = None, gap: float = USUAL_GAP, corners: Any = None
) -> Quality:
    """What a photo is worth for tracing, on the board that its `corners` (4, 2) bound, else on all of it.

    `px_per_mm` is the photo's own, `gap` the narrowest gap between tracks [mm].
    """
    cv2 = opencv()
    board = np.full(rgb.shape[:2], 255, np.uint8)
    if corners is not None:
        board[:] = 0
        cv2.fillConvexPoly(board, np.round(np.asarray(corners)).astype(np.int32), 255)
        left, top, wide, high = cv2.boundingRect(np.round(np.asarray(corners)).astype(np.int32))
        rows, columns = slice(max(0, top), top + high), slice(max(0, left), left + wide)
        rgb, board = rgb[rows, columns], board[rows, columns]
    # Sharpness is judged on the photo's own pixels: of a large one, on bands spread over it.
    blur = _blur(cv2, _sampled(rgb), _sampled(board))
    step = max(1, int(np.sqrt(board.size / _MOST_LOOKED_AT)) + (board.size > _MOST_LOOKED_AT))
    seen, inside = rgb[::step, ::step], board[::step, ::step] > 0
    count = max(1, int(inside.sum()))
    white = ((seen.min(axis=2) >= _BLOWN) & inside).astype(np.uint8)
    blown = float(white.sum()) / count
    found, _, stats, _ = cv2.connectedComponentsWithStats(white)
    glare = float(stats[1:, cv2.CC_STAT_AREA].max()) / count if found > 1 else 0.0
    light = float(np.percentile(seen.max(axis=2)[inside], 95)) if inside.any() else 0.0
    per_gap = None if px_per_mm is None else px_per_mm * gap
    remarks = tuple(_remarks(px_per_mm, per_gap, gap, blur, blown, glare, light))
    return Quality(px_per_mm=px_per_mm, px_per_gap=per_gap, blur=blur, blown=blown, glare=glare, remarks=remarks)


def _sampled(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Whole bands of a large picture, at most _MOST_LOOKED_AT pixels together."""
    rows, columns = picture.shape[:2]
    most = max(64, _MOST_LOOKED_AT // max(1, columns))
    if rows <= most:
        return picture
    bands = np.linspace(0, rows - most // 6, 6).astype(int)
    return np.concatenate([picture[start : start + most // 6] for start in bands])


def _blur(cv2: Any, rgb: NDArray[np.uint8], board: NDArray[np.uint8]) -> float:
    """The smear of the sharper half of the strong edges [pixels]; infinite where there is no edge at all."""
    gray = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY).astype(np.float32)
    inside = cv2.erode(board, np.ones((9, 9), np.uint8)) > 0
    found = float("inf")
    # What a camera adds by itself is smoothed first: noise makes edges of its own, all of them sharp. What comes out
    # smeared is looked at again with more smoothing, in which even less noise is left.
    for smooth, again in ((0.7, 1.0), (1.6, 2.5)):
        found = _smear(cv2, gray, inside, smooth, again)
        if found < 1.3:
            break
    return found


def _smear(cv2: Any, gray: NDArray[np.float32], inside: NDArray[np.bool_], smooth: float, again: float) -> float:
    first = cv2.GaussianBlur(gray, (0, 0), smooth)
    once, twice = (_steepness(cv2, one) for one in (first, cv2.GaussianBlur(first, (0, 0), again)))
    if not inside.any():
        return float("inf")
    crest = once >= cv2.dilate(once, np.ones((3, 3), np.uint8))
    # Well above what noise and grain make everywhere, and not far below the clearest.
    strong = once > max(8.0, float(np.percentile(once[inside], 99.7)) * 0.5, 4 * float(np.median(once[inside])))
    edge = inside & crest & strong
    if edge.sum() < 50:
        return float("inf")
    ratio = np.maximum(once[edge] / np.maximum(twice[edge], 1e-6), 1.0 + 1e-6)
    measured = float(np.percentile(again / np.sqrt(ratio**2 - 1), 30))
    return float(np.sqrt(max(0.0, measured**2 - smooth**2)))


def _steepness(cv2: Any, gray: NDArray[np.float32]) -> NDArray[np.float32]:
    across, down = cv2.Sobel(gray, cv2.CV_32F, 1, 0, ksize=3), cv2.Sobel(gray, cv2.CV_32F, 0, 1, ksize=3)
    made: NDArray[np.float32] = cv2.magnitude(across, down)
    return made


def _remarks(
    px_per_mm: float | None, per_gap: float | None, gap: float, blur: float, blown: float, glare: float, light: float
) -> list[Remark]:
    said = []
    if px_per_mm is not None and per_gap is not None:
        if per_gap < LEAST_PER_GAP:
            needed = max(ADVISED, LEAST_PER_GAP / gap)
            said.append(
                Remark(
                    about="coarse",
                    sentence=f"Too coarse: {per_gap:.1f} pixels to a gap of {gap:g} mm, where {LEAST_PER_GAP:g} are "
                    f"the least; go nearer, or photograph the board in parts, for {needed:.0f} pixels per mm.",
                )
            )
        elif px_per_mm < ADVISED:
            said.append(
                Remark(
                    about="coarse",
                    sentence=f"{px_per_mm:.0f} pixels per mm bear wide tracks only: go nearer, to {ADVISED:.0f}.",
                )
            )
    if not np.isfinite(blur):
        said.append(Remark(about="blurred", sentence="No sharp edge anywhere: focus on the copper, wipe the lens."))
    elif blur > _MOST_BLURRED or (per_gap is not None and 2.35 * blur > max(per_gap, 2.35)):
        said.append(
            Remark(
                about="blurred",
                sentence=f"Blurred: edges are smeared over {2.35 * blur:.1f} pixels; rest the camera on something, tap "
                "the board to focus on it, and let more light in.",
            )
        )
    if glare > _LARGEST_GLARE:
        said.append(
            Remark(
                about="glare",
                sentence=f"Glare hides {100 * glare:.0f} % of the board in one patch: take three to five shots with "
                "the lamp moved and the camera still, or hang paper before the lamp.",
            )
        )
    elif blown > _MOST_BLOWN:
        said.append(
            Remark(
                about="bright",
                sentence=f"Too bright: {100 * blown:.0f} % of the board is white without drawing; lower the exposure "
                "by one or two stops.",
            )
        )
    if light < _DARK:
        said.append(Remark(about="dark", sentence="Too dark: bring more light on the board, from two sides."))
    return said
