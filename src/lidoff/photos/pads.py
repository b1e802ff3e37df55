"""Pads as springs of copper: from a point that somebody set, often in the drill hole, to the copper that it means.

A point that lies on copper is a small disc of it. One in a hole is found by looking outward in all directions: where
most of them meet copper on one circle, that ring is the pad. Anything else is taken from the nearest copper and marked
as unsure: what such a pad is joined to is asked and never accepted.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.photos.picture import PhotoError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lidoff.photos.bottleneck import Labels
    from lidoff.photos.views import Map

MOST: Final = 5000
"""The most pads one board is traced with."""
_LARGEST_FILE: Final = 4_000_000  # bytes
_RAYS: Final = 48
_ON_COPPER: Final = 0.3  # margin
_RING_SHARE: Final = 0.6  # of the rays that have to meet the ring
_RING_SPREAD: Final = 0.3  # of its radius, by which a meeting may lie off it
_RING_WIDTH: Final = 3.0  # pixels of copper taken
_REACH: Final = 0.42  # of the distance to the nearest other pad: how far a pad is looked for
_REACH_OF_BOARD: Final = 0.03  # of the picture's long side, the most
_SEVERAL: Final = 6  # holes from which one of them can be called odd
_ODD_HOLE: Final = 1.7  # times the usual radius
_NEAR: Final = 4.0  # pixels by which a point may miss its copper
_HARDLY_FURTHER: Final = 2.0  # times as far as the nearest copper


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """A pad's name and where it was set [pixels of the photo as it stands upright]."""

    id: str
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Springs:
    """`labels` holds n + 1 on the copper taken for pad n; `unsure` the numbers of the pads that lie on no copper."""

    labels: Labels
    unsure: frozenset[int]


def read_pads(path: Path) -> tuple[Pad, ...]:
    """The pads of a file such as `[{"id": "P001", "x": 532.7, "y": 140.8}]`. Raises PhotoError."""
    held = _json(path)
    if not isinstance(held, list) or not held:
        raise PhotoError(f'{path}: a list of pads is wanted, such as [{{"id": "P001", "x": 532.7, "y": 140.8}}].')
    if len(held) > MOST:
        raise PhotoError(f"{path}: {len(held)} pads, more than the {MOST} that one board is traced with.")
    found: list[Pad] = []
    for number, one in enumerate(held, start=1):
        if not isinstance(one, dict) or not isinstance(one.get("id"), str) or not one["id"]:
            raise PhotoError(f'{path}: pad {number} has no "id" that is a text; give each pad one.')
        place = [one.get("x"), one.get("y")]
        if not all(isinstance(at, int | float) and not isinstance(at, bool) and np.isfinite(at) for at in place):
            raise PhotoError(f'{path}: pad {one["id"]} needs "x" and "y" as numbers of pixels.')
        found.append(Pad(id=one["id"], x=float(one["x"]), y=float(one["y"])))
    names = [pad.id for pad in found]
    if double := next((name for name in names if names.count(name) > 1), None):
        raise PhotoError(f"{path}: two pads are named {double}; give each its own id.")
    return tuple(found)


def read_pieces(path: Path, pads: Sequence[Pad]) -> tuple[frozenset[str], ...]:
    """The pieces of copper as a meter would tell them, from a file of lists of pad ids. Raises PhotoError."""
    held = _json(path)
    if not isinstance(held, list) or not all(
        isinstance(piece, list) and all(isinstance(name, str) for name in piece) for piece in held
    ):
        raise PhotoError(f'{path}: a list of pieces is wanted, each a list of pad ids, such as [["P001", "P017"]].')
    known = {pad.id for pad in pads}
    seen: set[str] = set()
    for name in (name for piece in held for name in piece):
        if name not in known:
            raise PhotoError(f"{path}: there is no pad {name} among the pads.")
        if name in seen:
            raise PhotoError(f"{path}: pad {name} is in two pieces; a pad belongs to one.")
        seen.add(name)
    return tuple(frozenset(piece) for piece in held if piece)


def springs(margin: Map, points: NDArray[np.float64], *, enlarged: float = 1.0) -> Springs:
    """The copper of each pad at `points` (x, y), by a view's margin; `enlarged` as in `views.view`."""
    labels = np.zeros(margin.shape, np.int32)
    away = nearest(points)
    most = max(4.0, _REACH_OF_BOARD * max(margin.shape))
    unsure: set[int] = set()
    radii: dict[int, float] = {}
    for number, (x, y) in enumerate(points):
        reach = float(np.clip(_REACH * away[number], 2.0, most))
        taken = _copper(margin, float(x), float(y), reach, max(enlarged, 1.0))
        free = labels[taken.rows, taken.columns] == 0
        labels[taken.rows[free], taken.columns[free]] = number + 1
        if not taken.sure or not free.any():
            unsure.add(number)
        if taken.radius is not None and free.any():
            radii[number] = taken.radius
    if len(radii) >= _SEVERAL:
        # A hole far wider than the others is no drill hole: a clearing, lettering, the space within a loop.
        usual = float(np.median(list(radii.values())))
        unsure |= {number for number, radius in radii.items() if radius > _ODD_HOLE * usual}
    return Springs(labels=labels, unsure=frozenset(unsure))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taken:
    """Pixels taken for a pad; the hole's radius [pixels] where they are its ring."""

    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    sure: bool
    radius: float | None = None


def nearest(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each point's nearest other one is [pixels]."""
    from scipy.spatial import cKDTree

    if len(points) < 2:
        return np.full(len(points), np.inf)
    away, _ = cKDTree(points).query(points, 2)
    return np.asarray(away, float)[:, 1]


def _copper(margin: Map, x: float, y: float, reach: float, enlarged: float) -> _Taken:
    """The copper that the point means."""
    height, width = margin.shape
    row = int(np.clip(round(y), 0, height - 1))
    column = int(np.clip(round(x), 0, width - 1))
    angles: NDArray[np.float64] = np.asarray(np.arange(_RAYS) * (2 * np.pi / _RAYS), float)
    steps = np.arange(0.0, reach + 0.5, 0.5)
    rows = np.clip(np.rint(y + np.outer(np.sin(angles), steps)), 0, height - 1).astype(np.intp)
    columns = np.clip(np.rint(x + np.outer(np.cos(angles), steps)), 0, width - 1).astype(np.intp)
    copper = margin[rows, columns] > _ON_COPPER
    if copper[:, steps <= enlarged].mean() > 0.5:  # on copper
        near = steps <= max(1.5 * enlarged, 0.3 * reach)
        taken = np.logical_and.accumulate(copper, axis=1) & near
        return _unique(rows[taken], columns[taken], sure=True)
    met: NDArray[np.bool_] = np.asarray(copper.any(axis=1))
    first: NDArray[np.float64] = np.asarray(steps[np.argmax(copper, axis=1)], float)
    if met.mean() >= _RING_SHARE and (on_ring := _on_ring(angles, first, met, enlarged)) is not None:
        taken = (
            copper & on_ring[:, None] & (steps >= first[:, None]) & (steps <= first[:, None] + _RING_WIDTH * enlarged)
        )
        whole = _longest_run(on_ring) >= _RING_SHARE * _RAYS
        return _unique(rows[taken], columns[taken], sure=whole, radius=float(np.median(first[on_ring])))
    if met.any():
        nearest = float(first[met].min())
        taken = (
            copper
            & met[:, None]
            & (first <= nearest + 0.5)[:, None]
            & (steps >= first[:, None])
            & (steps <= first[:, None] + 2.0)
        )
        # In a gap between two tracks either may be meant: copper on another side that is hardly further off.
        close = met & (first <= _HARDLY_FURTHER * nearest + enlarged)
        sides = int((close & ~np.roll(close, 1)).sum())
        return _unique(rows[taken], columns[taken], sure=nearest <= _NEAR * enlarged and sides <= 1)
    return _Taken(rows=np.array([row]), columns=np.array([column]), sure=False)


def _on_ring(
    angles: NDArray[np.float64], first: NDArray[np.float64], met: NDArray[np.bool_], enlarged: float
) -> NDArray[np.bool_] | None:
    """Which of the rays first meet copper on one circle, about whatever centre; None where too few do.

    The circle is fitted by least squares (x2 + y2 = 2ax + 2by + c), and once more without what lies off it.
    """
    x, y = first * np.cos(angles), first * np.sin(angles)
    chosen = met.copy()
    for _ in range(2):
        system = np.stack([2 * x[chosen], 2 * y[chosen], np.ones(int(chosen.sum()))], axis=1)
        (a, b, c), *_ = np.linalg.lstsq(system, x[chosen] ** 2 + y[chosen] ** 2, rcond=None)
        radius = float(np.sqrt(max(c + a * a + b * b, 0.0)))
        off = np.abs(np.hypot(x - a, y - b) - radius)
        near = met & (off <= max(_RING_SPREAD * radius, 1.5 * enlarged))
        if near.sum() < 6 or np.hypot(a, b) > radius:
            return None
        chosen = near
    return chosen if chosen.mean() >= _RING_SHARE else None


def _longest_run(on_ring: NDArray[np.bool_]) -> int:
    """The most rays in a row that meet the ring, one or two that miss it let pass (a highlight, a nick): tracks and
    planes that stand about a point have wider gaps between them.
    """
    missed = ~on_ring
    both = missed & np.roll(missed, 1) & np.roll(missed, -1)
    wide = both | np.roll(both, 1) | np.roll(both, -1)
    if not wide.any():
        return len(on_ring)
    breaks = np.flatnonzero(wide)
    return int((np.diff(np.append(breaks, breaks[0] + len(on_ring))) - 1).max())


def _unique(rows: NDArray[np.intp], columns: NDArray[np.intp], *, sure: bool, radius: float | None = None) -> _Taken:
    both = np.unique(np.stack([rows, columns]), axis=1)
    return _Taken(rows=both[0], columns=both[1], sure=sure, radius=radius)


def _json(path: Path) -> Any:
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise PhotoError(f"{path}: over {_LARGEST_FILE // 1_000_000} MB, more than a board's pads take.")
        return json.loads(path.read_bytes())
    except OSError as error:
        raise PhotoError(f"{path} cannot be read: {error.strerror or error}.") from error
    except (ValueError, RecursionError) as error:
        where = f", line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise PhotoError(f"{path}{where}: this is no JSON; write the file as lidoff trace --help shows.") from error
