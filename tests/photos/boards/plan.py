"""Board plans of our own: pads, tracks and the pieces of copper they make, drawn as one raster of numbered copper.

A plan is made from a seed: pads set on a grid, nets told at random, each routed through the cells that are still free.
What the copper joins is not supposed but counted, on the finished raster.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

Cell = tuple[int, int]
Point = tuple[float, float]
Track = tuple[int, float, tuple[Point, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPad:
    """A pad [mm]: `drill` is the hole's diameter, 0 where there is none; `length` lies across, `width` down."""

    name: str
    x: float
    y: float
    length: float
    width: float
    drill: float = 0.0
    round_ended: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A board's plan: size [mm], pads, tracks as (net, width, points), filled areas as (net, points)."""

    width: float
    height: float
    pads: tuple[PlannedPad, ...]
    net_of: dict[str, int]
    tracks: tuple[Track, ...]
    areas: tuple[tuple[int, tuple[Point, ...]], ...] = ()
    isolated: float = 0.0  # width of the cut [mm] where everything else stays copper
    bodies: tuple[tuple[float, float, float, float], ...] = ()
    extra: dict[str, float] = field(default_factory=dict)


def routed(
    seed: int,
    *,
    width: float,
    height: float,
    grid: float,
    track: float,
    pads: int,
    nets: int,
    pad: float,
    drill: float,
    share_flat: float = 0.0,
    filled: float = 0.0,
    isolated: float = 0.0,
) -> Plan:
    """A plan of `pads` pads in `nets` nets on a grid of `grid` [mm] with tracks of `track` [mm]."""
    random = np.random.default_rng(seed)
    columns, rows = int((width - 2 * grid) / grid) + 1, int((height - 2 * grid) / grid) + 1
    left, top = (width - (columns - 1) * grid) / 2, (height - (rows - 1) * grid) / 2
    keep = max(1, int(np.ceil((pad / 2 + track / 2 + 0.3) / grid)))  # cells around a pad that no other net may use
    free_for: NDArray[np.int64] = np.zeros((rows, columns), np.int64)  # 0 free, else net + 1
    places: list[Cell] = []
    candidates = [(r, c) for r in range(rows) for c in range(columns)]
    random.shuffle(candidates)
    apart = 2 * keep + 1
    for r, c in candidates:
        if len(places) == pads:
            break
        if all(max(abs(r - a), abs(c - b)) >= apart for a, b in places):
            places.append((r, c))
    # Neighbours tend to share a net, as on a laid-out board.
    centres = [places[i] for i in random.choice(len(places), min(nets, len(places)), replace=False)]
    net_of_place = [
        int(np.argmin([(r - a) ** 2 + (c - b) ** 2 + random.uniform(0, 40) for a, b in centres])) for r, c in places
    ]
    for (r, c), net in zip(places, net_of_place, strict=True):
        free_for[max(0, r - keep) : r + keep + 1, max(0, c - keep) : c + keep + 1] = net + 1
    tracks: list[Track] = []
    final = list(net_of_place)
    next_net = len(centres)

    def at(cell: Cell) -> Point:
        return left + cell[1] * grid, top + cell[0] * grid

    for net in range(len(centres)):
        members = [i for i, n in enumerate(net_of_place) if n == net]
        if not members:
            continue
        reached = {places[members[0]]}
        for i in members[1:]:
            path = _path(free_for, net + 1, reached, places[i])
            if path is None:
                final[i] = next_net  # could not be reached: a piece of its own
                r, c = places[i]
                own = free_for[max(0, r - keep) : r + keep + 1, max(0, c - keep) : c + keep + 1]
                own[own == net + 1] = next_net + 1
                # A track that had gone that way already keeps its cells.
                for cell in reached:
                    free_for[cell] = net + 1
                next_net += 1
                continue
            for cell in path:
                free_for[cell] = net + 1
            reached |= set(path)
            tracks.append((net, track, tuple(at(cell) for cell in path)))
    if filled:
        tracks += _filled(random, free_for, tracks, filled, at)
    made = tuple(
        PlannedPad(
            name=f"P{i + 1:03d}",
            x=at(place)[0],
            y=at(place)[1],
            length=pad * (1.0 if random.random() < 0.5 else 1.25),
            width=pad,
            drill=0.0 if random.random() < share_flat else drill,
            round_ended=True,
        )
        for i, place in enumerate(places)
    )
    return Plan(
        width=width,
        height=height,
        pads=made,
        net_of={one.name: final[i] for i, one in enumerate(made)},
        tracks=tuple(tracks),
        isolated=isolated,
    )


def _path(free_for: NDArray[np.int64], net: int, start: set[Cell], goal: Cell) -> list[Cell] | None:
    """The shortest way with few corners from any of `start` to `goal` through cells that are free or the net's own."""
    rows, columns = free_for.shape
    queue: list[tuple[float, int, Cell, Cell]] = []
    best: dict[Cell, float] = {}
    before: dict[Cell, Cell | None] = {}
    count = 0
    for cell in sorted(start):
        heapq.heappush(queue, (0.0, count, cell, (0, 0)))
        best[cell] = 0.0
        before[cell] = None
        count += 1
    while queue:
        cost, _, cell, direction = heapq.heappop(queue)
        if cell == goal:
            path: list[Cell] = [cell]
            while (parent := before[path[-1]]) is not None:
                path.append(parent)
            return path
        if cost > best[cell]:
            continue
        for step in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            r, c = cell[0] + step[0], cell[1] + step[1]
            if not (0 <= r < rows and 0 <= c < columns) or free_for[r, c] not in (0, net):
                continue
            onward = cost + 1 + (0.4 if step != direction else 0)
            if onward < best.get((r, c), np.inf):
                best[r, c] = onward
                before[r, c] = cell
                count += 1
                heapq.heappush(queue, (onward, count, (r, c), step))
    return None


def _filled(
    random: np.random.Generator,
    free_for: NDArray[np.int64],
    tracks: list[Track],
    share: float,
    at: Callable[[Cell], Point],
) -> list[Track]:
    """Tracks made broader into free cells beside them: the broad copper of power boards."""
    rows, columns = free_for.shape
    cell_at = {at((r, c)): (r, c) for r in range(rows) for c in range(columns)}
    grown: list[Track] = []
    for net, width, points in tracks:
        for x, y in points:
            if random.random() > share:
                continue
            r, c = cell_at[x, y]
            step = ((0, 1), (1, 0), (0, -1), (-1, 0))[int(random.integers(4))]
            a, b = r + step[0], c + step[1]
            if 0 <= a < rows and 0 <= b < columns and free_for[a, b] in (0, net + 1):
                free_for[a, b] = net + 1
                grown.append((net, width, (at((r, c)), at((a, b)))))
    return grown


def tape(seed: int, *, groups: int = 3, leds: int = 3, height: float = 8.0) -> Plan:
    """Flexible LED tape: two rails, groups of LEDs in series with a resistor, pads to solder at each cut line."""
    random = np.random.default_rng(seed)
    pitch = float(random.uniform(11.0, 14.0))
    group = pitch * (leds + 1)
    width = groups * group + 6.0
    plus_y, minus_y, middle = 1.1, height - 1.1, height / 2
    pads: list[PlannedPad] = []
    nets: dict[str, int] = {}
    tracks: list[Track] = []
    rail = float(random.uniform(0.9, 1.3))
    plus, minus, net = 0, 1, 2
    tracks.append((plus, rail, ((1.0, plus_y), (width - 1.0, plus_y))))
    tracks.append((minus, rail, ((1.0, minus_y), (width - 1.0, minus_y))))

    def pad(x: float, y: float, number: int, length: float, high: float) -> None:
        name = f"P{len(pads) + 1:03d}"
        pads.append(PlannedPad(name=name, x=x, y=y, length=length, width=high, round_ended=False))
        nets[name] = number

    for g in range(groups):
        x = 3.0 + g * group
        pad(x, plus_y + 0.1, plus, 2.0, 1.5)
        pad(x, minus_y - 0.1, minus, 2.0, 1.5)
        link = plus
        for number in range(leds):
            led = x + (number + 0.75) * pitch
            tracks.append((link, 0.6, ((led - 3.2 if number == 0 else led - pitch + 1.7, middle), (led - 1.7, middle))))
            if number == 0:
                tracks.append((plus, 0.6, ((led - 3.2, plus_y), (led - 3.2, middle))))
            pad(led - 1.7, middle, link, 1.0, 2.2)
            link, net = net, net + 1
            pad(led + 1.7, middle, link, 1.0, 2.2)
        last = x + (leds - 0.25) * pitch
        tracks.append((link, 0.6, ((last + 1.7, middle), (last + 4.2, middle))))
        pad(last + 4.4, middle, link, 1.0, 1.3)
        pad(last + 6.4, middle, minus, 1.0, 1.3)
        tracks.append((minus, 0.6, ((last + 6.4, middle), (last + 7.4, middle), (last + 7.4, minus_y))))
    pad(width - 3.0, plus_y + 0.1, plus, 2.0, 1.5)
    pad(width - 3.0, minus_y - 0.1, minus, 2.0, 1.5)
    return Plan(width=width, height=height, pads=tuple(pads), net_of=nets, tracks=tuple(tracks))


def raster(plan: Plan, scale: float, *, burr: float = 0.0, seed: int = 0) -> NDArray[np.int32]:
    """The copper as numbers (net + 1, 0 for none) at `scale` [pixels per mm], its edges rough by `burr` [mm]."""
    shape = (round(plan.height * scale), round(plan.width * scale))
    drawn = np.zeros(shape, np.int32)

    def whole(points: Sequence[Point]) -> NDArray[np.int32]:
        return np.round(np.array(points) * scale * 16).astype(np.int32)

    for net, points in plan.areas:
        cv2.fillPoly(drawn, [whole(points)], net + 1, shift=4)
    for net, width, points in plan.tracks:
        cv2.polylines(drawn, [whole(points)], False, net + 1, max(1, round(width * scale)), shift=4)
    for pad in plan.pads:
        number = plan.net_of[pad.name] + 1
        long, high = pad.length * scale, pad.width * scale
        x, y = pad.x * scale, pad.y * scale
        if pad.round_ended:
            half = max(0.0, (long - high) / 2)
            ends = np.round(np.array([[x - half, y], [x + half, y]]) * 16).astype(np.int32)
            cv2.polylines(drawn, [ends], False, number, max(1, round(high)), shift=4)
        else:
            corner = (round(x - long / 2), round(y - high / 2))
            cv2.rectangle(drawn, corner, (round(x + long / 2), round(y + high / 2)), number, -1)
    if plan.isolated:
        drawn = _isolated(drawn, plan.isolated * scale)
    if burr:
        drawn = _roughened(drawn, burr * scale, scale, seed)
    return drawn


def _isolated(drawn: NDArray[np.int32], cut: float) -> NDArray[np.int32]:
    """Everything copper but a cut round each piece, as a mill leaves it."""
    away = cv2.distanceTransform((drawn == 0).astype(np.uint8), cv2.DIST_L2, 5)
    plane = drawn.max() + 1
    result = drawn.copy()
    result[away > cut] = plane
    # Cuts between two pieces that lie close are all cut; what the plane is split into are pieces too.
    count, label = cv2.connectedComponents((result == plane).astype(np.uint8), connectivity=4)
    for number in range(1, count):
        result[label == number] = plane + number - 1
    return result


def _roughened(drawn: NDArray[np.int32], amount: float, scale: float, seed: int) -> NDArray[np.int32]:
    random = np.random.default_rng(seed)
    height, width = drawn.shape
    shifts = []
    for _ in range(2):
        noise = random.normal(size=(height, width)).astype(np.float32)
        noise = cv2.GaussianBlur(noise, (0, 0), 0.08 * scale)
        shifts.append(noise / noise.std() * amount)
    columns, rows = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    moved = cv2.remap(
        drawn.astype(np.float32), columns + shifts[0], rows + shifts[1], cv2.INTER_NEAREST, borderValue=0.0
    )
    return np.asarray(moved).astype(np.int32)


def pieces(plan: Plan, drawn: NDArray[np.int32], scale: float) -> tuple[frozenset[str], ...]:
    """The pads that one piece of the drawn copper carries, counted on the raster."""
    _, label = cv2.connectedComponents((drawn > 0).astype(np.uint8), connectivity=8)
    held: dict[int, set[str]] = {}
    for pad in plan.pads:
        x, y = round(pad.x * scale), round(pad.y * scale)
        held.setdefault(int(label[min(y, label.shape[0] - 1), min(x, label.shape[1] - 1)]), set()).add(pad.name)
    assert 0 not in held, "a pad without copper"
    return tuple(frozenset(group) for group in held.values())
