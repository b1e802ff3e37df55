"""A board of known measures, drawn and photographed by a camera of known place: what the photo room is tried on."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Floats = NDArray[np.float64]
PER_MM = 16


@dataclass(frozen=True, kw_only=True)
class Board:
    """Measures in mm as seen from copper; tracks are (points, width), pads and holes (x, y, diameter)."""

    width: float = 60.0
    height: float = 40.0
    rounded: float = 1.5
    tracks: tuple[tuple[tuple[tuple[float, float], ...], float], ...] = ()
    pads: tuple[tuple[float, float, float], ...] = ()
    holes: tuple[tuple[float, float, float], ...] = ()
    bodies: tuple[tuple[float, float, float, float], ...] = ()
    laminate: tuple[int, int, int] = (196, 160, 104)
    copper: tuple[int, int, int] = (188, 186, 180)
    ground: tuple[int, int, int] = (70, 84, 110)
    noise: float = 3.0


HOLES = ((4.0, 4.0, 3.2), (55.0, 5.0, 3.2), (6.0, 35.0, 3.2), (20.0, 12.0, 1.0), (33.0, 30.0, 1.0), (44.0, 17.5, 1.0),
         (51.0, 33.0, 1.0), (14.0, 25.0, 0.9), (27.0, 20.0, 0.9))  # fmt: skip


def plain(**changes: object) -> Board:
    """A small single-sided board with wide tracks and open holes."""
    pads = tuple((x, y, 2.6) for x, y, size in HOLES if size < 2)
    tracks = (
        (((20.0, 12.0), (27.0, 12.0), (27.0, 20.0)), 1.6),
        (((33.0, 30.0), (51.0, 30.0), (51.0, 33.0)), 1.6),
        (((14.0, 25.0), (14.0, 36.0), (30.0, 36.0)), 1.2),
    )
    made: dict[str, object] = {"tracks": tracks, "pads": pads, "holes": HOLES, "bodies": ((36.0, 8.0, 9.0, 7.0),)}
    return Board(**{**made, **changes})  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class Camera:
    """Where the camera stands over the board's middle: tilt [degrees], distance [mm], picture [pixels]."""

    tilt: tuple[float, float, float] = (0.0, 0.0, 0.0)
    away: float = 130.0
    size: tuple[int, int] = (1000, 750)
    focal: float = 0.62
    aside: tuple[float, float] = (0.0, 0.0)
    light: tuple[float, float] = field(default=(0.0, 0.0))

    def to_photo(self, board: Board) -> Floats:
        """The homography from board mm, as this side is seen, to photo pixels."""
        from scipy.spatial.transform import Rotation

        turn = Rotation.from_euler("xyz", self.tilt, degrees=True).as_matrix()
        length = self.focal * float(np.hypot(*self.size))
        inner = np.array([[length, 0, (self.size[0] - 1) / 2], [0, length, (self.size[1] - 1) / 2], [0, 0, 1]])
        middle = np.array([board.width / 2 + self.aside[0], board.height / 2 + self.aside[1], 0])
        where = np.array([0, 0, self.away]) - turn @ middle
        return inner @ np.column_stack([turn[:, 0], turn[:, 1], where])  # type: ignore[no-any-return]


def drawn(board: Board, side: str, edge: float) -> Picture:
    """The side of the board from straight above at PER_MM, with `edge` mm of ground; the parts side is mirrored."""

    def px(*values: float) -> tuple[int, ...]:
        return tuple(round(value * PER_MM * 16) for value in values)

    wide, high = round((board.width + 2 * edge) * PER_MM), round((board.height + 2 * edge) * PER_MM)
    picture = np.empty((high, wide, 3), np.uint8)
    picture[:] = board.ground
    solid = np.zeros((high, wide), np.uint8)
    r = board.rounded
    for x0, y0, x1, y1 in ((r, 0, board.width - r, board.height), (0, r, board.width, board.height - r)):
        cv2.rectangle(solid, px(x0 + edge - 0.5 / PER_MM, y0 + edge - 0.5 / PER_MM),
                      px(x1 + edge - 0.5 / PER_MM, y1 + edge - 0.5 / PER_MM), 255, -1, cv2.LINE_AA, 4)  # fmt: skip
    for x in (r, board.width - r):
        for y in (r, board.height - r):
            cv2.circle(solid, px(x + edge, y + edge), px(r)[0], 255, -1, cv2.LINE_AA, 4)
    share = solid[..., None].astype(np.float32) / 255
    grain = np.random.default_rng(7).normal(0, 5, (high // 6 + 1, wide // 6 + 1, 1)).astype(np.float32)
    grain = cv2.resize(grain, (wide, high))[..., None]
    face = np.clip(np.array(board.laminate, np.float32) + grain, 0, 255)
    picture = (picture * (1 - share) + face * share).astype(np.uint8)
    if side == "copper":
        for points, width in board.tracks:
            line = np.array([px(x + edge, y + edge) for x, y in points], np.int32)
            cv2.polylines(picture, [line], False, board.copper, round(width * PER_MM), cv2.LINE_AA, 4)
        for x, y, size in board.pads:
            cv2.circle(picture, px(x + edge, y + edge), px(size / 2)[0], board.copper, -1, cv2.LINE_AA, 4)
    for x, y, size in board.holes:
        cv2.circle(picture, px(x + edge, y + edge), px(size / 2)[0], (25, 24, 24), -1, cv2.LINE_AA, 4)
    if side == "parts":
        for x, y, w, h in board.bodies:
            cv2.rectangle(
                picture, px(x + edge, y + edge), px(x + w + edge, y + h + edge), (28, 27, 27), -1, cv2.LINE_AA, 4
            )
        picture = np.ascontiguousarray(picture[:, ::-1])
    return picture


def photographed(board: Board, camera: Camera, side: str = "copper", *, blur: float = 0.6, seed: int = 1) -> Picture:
    """What the camera sees of one side."""
    edge = 25.0
    above = drawn(board, side, edge)
    to_mm = np.array([[1 / PER_MM, 0, 0.5 / PER_MM - edge], [0, 1 / PER_MM, 0.5 / PER_MM - edge], [0, 0, 1]])
    # Drawn finer than it is seen: averaged first, since a warp looks at four pixels only.
    scale = float(np.sqrt(abs(np.linalg.det(camera.to_photo(board)[:2, :2])))) / camera.away
    above = cv2.GaussianBlur(above, (0, 0), max(0.4, 0.4 * PER_MM / max(scale, 1)))
    seen = cv2.warpPerspective(above, camera.to_photo(board) @ to_mm, camera.size, borderValue=board.ground)
    rows, columns = np.mgrid[: camera.size[1], : camera.size[0]]
    lit = 1 + camera.light[0] * (columns / camera.size[0] - 0.5) + camera.light[1] * (rows / camera.size[1] - 0.5)
    seen = cv2.GaussianBlur(seen.astype(np.float32) * lit[..., None].astype(np.float32), (0, 0), blur)
    noise = np.random.default_rng(seed).normal(0, board.noise, seen.shape)
    return np.clip(seen + noise, 0, 255).astype(np.uint8)  # type: ignore[no-any-return]


def corners(board: Board, camera: Camera) -> Floats:
    """The four corners in the photo, clockwise from the board's top left."""
    frame = np.array([[0, 0, 1], [board.width, 0, 1], [board.width, board.height, 1], [0, board.height, 1.0]])
    seen = frame @ camera.to_photo(board).T
    return seen[:, :2] / seen[:, 2:]  # type: ignore[no-any-return]
