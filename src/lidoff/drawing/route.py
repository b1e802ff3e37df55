"""Wires between placed pins: orthogonal, on a grid, around bodies and words.

Method: the straight wires that the placement expects (rails and buses) are laid first. Then each node is joined piece
by piece with the cheapest path on the grid: the maze search of Lee, IRE Trans. EC-10 (1961) 346, with costs, drawn
towards its goal as by Hart, Nilsson and Raphael, IEEE Trans. SSC-4 (1968) 100 (both from memory). A bend and a crossing
cost as much as a detour of several steps. Finally each node is taken up and laid again among the others as long as that
saves bends or crossings.

Wires of two nodes may only cross at right angles, both running straight on, so that the drawing can be read back from
its lines alone: no wire ends, bends or branches on a wire of another node.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import Final

from lidoff.drawing.shapes import GRID, Point, Rect

STEP: Final = 10
BEND: Final = 34
CROSSING: Final = 90
BESIDE: Final = 6  # a step right beside a body or a wire of another node

Cell = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Terminal:
    """A pin on the grid of the drawing, its node, and the way its wire leaves."""

    node: str
    at: Cell
    out: Cell


@dataclass(frozen=True, slots=True)
class Straight:
    """A wire of a node along a row or column of the grid that is wanted whatever else is drawn."""

    node: str
    start: Cell
    end: Cell


@dataclass(frozen=True, slots=True, kw_only=True)
class Wiring:
    """The wires of each node as straight runs with bends, and where three or more meet."""

    wires: Mapping[str, tuple[tuple[Cell, ...], ...]]
    dots: Mapping[str, tuple[Cell, ...]]
    bends: int
    crossings: int
    length: int


@dataclass(slots=True)
class _Board:
    """The grid: what is blocked, whose an edge is, what a step onto a cell costs more."""

    width: int
    height: int
    blocked: bytearray
    beside: bytearray
    reserved: list[int]  # by cell in front of a pin: number of the pin's node, 0 elsewhere
    flat: list[int]  # by cell: number of the node that has the edge to the right of it, 0 for none
    steep: list[int]  # by cell: likewise for the edge below it

    def index(self, cell: Cell) -> int:
        return cell[1] * self.width + cell[0]


@dataclass(slots=True)
class _Net:
    """A node being wired: its cells by component."""

    number: int
    node: str
    pins: list[Terminal]
    straights: list[Straight]
    edges: set[tuple[int, bool]] = field(default_factory=set)  # cell, and whether the edge runs down from it


def blocked_cells(rects: Iterable[tuple[Rect, float]], origin: Point, width: int, height: int) -> bytearray:
    """The grid with every point inside one of the boxes, each grown by its margin, marked."""
    marked = bytearray(width * height)
    for rect, margin in rects:
        grown = rect.grown(margin)
        x0 = max(0, int((grown.x0 - origin[0]) // GRID) + 1)
        x1 = min(width - 1, int(-((origin[0] - grown.x1) // GRID)) - 1)
        y0 = max(0, int((grown.y0 - origin[1]) // GRID) + 1)
        y1 = min(height - 1, int(-((origin[1] - grown.y1) // GRID)) - 1)
        for y in range(y0, y1 + 1):
            for x in range(x0, x1 + 1):
                marked[y * width + x] = 1
    return marked


def route(
    pins: Sequence[Terminal],
    straights: Sequence[Straight],
    blocked: bytearray,
    width: int,
    height: int,
    *,
    tidy: int = 2,
) -> Wiring | None:
    """All nodes wired, or None where a pin cannot be reached; `tidy` is how often all is gone over again."""
    size = width * height
    board = _Board(width, height, blocked, _beside(blocked, width, height), [0] * size, [0] * size, [0] * size)
    nets = _nets(pins, straights)
    for net in nets:
        for pin in net.pins:
            board.blocked[board.index(pin.at)] = 1
            board.reserved[_front(board, pin)] = net.number
    for net in nets:
        if any(board.blocked[cell] or board.reserved[cell] != net.number for cell in _fronts(board, net)):
            return None
        _lay_stubs(board, net)
    for net in nets:
        for straight in net.straights:
            _lay(board, net, straight)
    order = sorted(nets, key=_spread)
    for net in order:
        if not _join(board, net):
            return None
        _trim(board, net)
    for _ in range(tidy):
        if not _gone_over(board, order):
            break
    return _drawn(board, nets)


def _nets(pins: Sequence[Terminal], straights: Sequence[Straight]) -> list[_Net]:
    nets: dict[str, _Net] = {}
    for pin in pins:
        nets.setdefault(pin.node, _Net(len(nets) + 1, pin.node, [], [])).pins.append(pin)
    for straight in straights:
        if straight.node in nets:
            nets[straight.node].straights.append(straight)
    return list(nets.values())


def _front(board: _Board, pin: Terminal) -> int:
    """The cell in front of a pin."""
    return board.index((pin.at[0] + pin.out[0], pin.at[1] + pin.out[1]))


def _fronts(board: _Board, net: _Net) -> list[int]:
    return [_front(board, pin) for pin in net.pins]


def _lay_stubs(board: _Board, net: _Net) -> None:
    """The first step out of each pin of the node."""
    for pin in net.pins:
        _take(board, net, [board.index(pin.at), _front(board, pin)])


def _spread(net: _Net) -> tuple[int, int]:
    xs = [pin.at[0] for pin in net.pins]
    ys = [pin.at[1] for pin in net.pins]
    return (max(xs) - min(xs)) + (max(ys) - min(ys)), net.number


def _beside(blocked: bytearray, width: int, height: int) -> bytearray:
    """Free cells next to blocked ones."""
    near = bytearray(width * height)
    for cell, taken in enumerate(blocked):
        if taken:
            x = cell % width
            if x:
                near[cell - 1] = 1
            if x < width - 1:
                near[cell + 1] = 1
            if cell >= width:
                near[cell - width] = 1
            if cell + width < width * height:
                near[cell + width] = 1
    return near


def _take(board: _Board, net: _Net, path: Sequence[int]) -> None:
    """Lays the edges of a path of neighbouring cells."""
    for one, other in pairwise(path):
        first = min(one, other)
        steep = abs(one - other) != 1
        (board.steep if steep else board.flat)[first] = net.number
        net.edges.add((first, steep))


def _clear(board: _Board, net: _Net) -> None:
    for first, steep in net.edges:
        (board.steep if steep else board.flat)[first] = 0
    net.edges.clear()


def _lay(board: _Board, net: _Net, straight: Straight) -> None:
    """Lays a straight wire as far as nothing stands in its way."""
    (x0, y0), (x1, y1) = sorted((straight.start, straight.end))
    steep = x0 == x1
    count = y1 - y0 if steep else x1 - x0
    stride = board.width if steep else 1
    first = board.index((x0, y0))
    cells = [first + k * stride for k in range(count + 1)]
    mine, other = (board.steep, board.flat) if steep else (board.flat, board.steep)
    cross = 1 if steep else board.width
    number = net.number
    runs: list[list[int]] = [[]]
    for place, cell in enumerate(cells):
        across = {other[cell], other[cell - cross]} - {0, number}
        straight_on = other[cell] == other[cell - cross] and 0 < place < count
        bad = (
            board.blocked[cell]
            or board.reserved[cell] not in (0, number)
            or {mine[cell], mine[cell - stride]} - {0, number}
            or (across and not straight_on)
        )
        if bad:
            runs.append([])
        else:
            runs[-1].append(cell)
    for run in runs:
        # A run broken off must not end on a crossing.
        while run and _foreign(board, net.number, run[0]):
            run.pop(0)
        while run and _foreign(board, net.number, run[-1]):
            run.pop()
        _take(board, net, run)


def _foreign(board: _Board, number: int, cell: int) -> bool:
    """Whether a wire of another node touches the cell."""
    flat, steep = board.flat, board.steep
    return any(n not in (0, number) for n in (flat[cell], flat[cell - 1], steep[cell], steep[cell - board.width]))


def _components(board: _Board, net: _Net) -> list[set[int]]:
    """The cells of the node's wires, by connected piece."""
    parent: dict[int, int] = {}

    def root(cell: int) -> int:
        while parent.setdefault(cell, cell) != cell:
            parent[cell] = parent[parent[cell]]
            cell = parent[cell]
        return cell

    for first, steep in net.edges:
        parent[root(first)] = root(first + (board.width if steep else 1))
    groups: dict[int, set[int]] = {}
    for cell in list(parent):
        groups.setdefault(root(cell), set()).add(cell)
    return list(groups.values())


def _join(board: _Board, net: _Net) -> bool:
    """Joins the pieces of a node; False where one cannot be reached."""
    pins = {board.index(pin.at) for pin in net.pins}
    groups = _components(board, net)
    # Straight wires that touch no pin are kept as ways to go, the pieces with pins have to be joined.
    tree = next((g for g in sorted(groups, key=len, reverse=True) if g & pins), None)
    if tree is None:
        return True
    waiting = [g for g in groups if g is not tree]
    while any(g & pins for g in waiting):
        # The nearest piece next; from the larger to the smaller of the two, towards which the search is drawn.
        box = _box(board, tree)
        nearest = min(waiting, key=lambda g: (_apart(box, _box(board, g)), min(g)))
        goals = {cell: k for k, group in enumerate(waiting) for cell in group if cell not in pins}
        if len(tree) >= len(nearest):
            path = _path(board, net, tree - pins, goals, _box(board, nearest - pins))
            if path is None:
                return False
            reached = waiting.pop(goals[path[-1]])
        else:
            path = _path(board, net, nearest - pins, dict.fromkeys(tree - pins, 0), _box(board, tree - pins))
            if path is None:
                return False
            reached = nearest
            waiting.remove(nearest)
        _take(board, net, path)
        tree = tree | reached | set(path)
    return True


def _box(board: _Board, cells: Iterable[int]) -> tuple[int, int, int, int]:
    """The smallest box around the cells."""
    xs = [cell % board.width for cell in cells]
    ys = [cell // board.width for cell in cells]
    return min(xs), min(ys), max(xs), max(ys)


def _apart(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> int:
    """Steps between two boxes."""
    dx = max(other[0] - one[2], one[0] - other[2], 0)
    dy = max(other[1] - one[3], one[1] - other[3], 0)
    return dx + dy


def _path(
    board: _Board, net: _Net, sources: set[int], goals: Mapping[int, int], towards: tuple[int, int, int, int]
) -> list[int] | None:
    """The cheapest path from any source cell to a goal cell, drawn towards the box of one of the goals."""
    width, number = board.width, net.number
    size = width * board.height
    blocked, reserved, beside, flat, steep = board.blocked, board.reserved, board.beside, board.flat, board.steep
    near_x = [STEP * max(towards[0] - x, x - towards[2], 0) for x in range(width)]
    near_y = [STEP * max(towards[1] - y, y - towards[3], 0) for y in range(board.height)]
    own = (0, number)
    best: dict[int, int] = {}
    came: dict[int, int] = {}
    heap: list[tuple[int, int, int]] = []
    # A state is twice the cell, plus one when it was reached by a steep step.
    for cell in sources:
        if _foreign(board, number, cell):
            continue
        ahead = near_x[cell % width] + near_y[cell // width]
        for axis in (0, 1):
            # To leave a wire's end straight on is free, to branch off costs half a bend.
            runs = number in ((steep[cell], steep[cell - width]) if axis else (flat[cell], flat[cell - 1]))
            start = 0 if runs else BEND // 2
            best[2 * cell + axis] = start
            heap.append((start + ahead, start, 2 * cell + axis))
    heapify(heap)
    while heap:
        _, cost, state = heappop(heap)
        if cost > best[state]:
            continue
        cell, axis = state >> 1, state & 1
        if cell in goals:
            return _traced(came, state)
        if axis:
            crossing = flat[cell] not in own or flat[cell - 1] not in own
        else:
            crossing = steep[cell] not in own or steep[cell - width] not in own
        x = cell % width
        for step, new_axis in ((1, 0), (-1, 0), (width, 1), (-width, 1)):
            if crossing and new_axis != axis:
                continue  # straight on over a wire of another node
            following = cell + step
            if following < 0 or following >= size or (step == 1 and x == width - 1) or (step == -1 and x == 0):
                continue
            if blocked[following] or reserved[following] not in own or following in sources:
                continue
            # Wires of other nodes at the cell stepped on: along the way forbidden, across it only straight ones.
            if new_axis:
                along = steep[following] not in own or steep[following - width] not in own
                one, two = flat[following], flat[following - 1]
            else:
                along = flat[following] not in own or flat[following - 1] not in own
                one, two = steep[following], steep[following - width]
            if along:
                continue
            price = cost + STEP
            if new_axis != axis:
                price += BEND
            if beside[following]:
                price += BESIDE
            if one not in own or two not in own:
                if one != two or following in goals:
                    continue
                price += CROSSING
            target = 2 * following + new_axis
            known = best.get(target)
            if known is None or price < known:
                best[target] = price
                came[target] = state
                ahead = near_x[following % width] + near_y[following // width]
                heappush(heap, (price + ahead, price, target))
    return None


def _traced(came: Mapping[int, int], state: int) -> list[int]:
    path = [state >> 1]
    while state in came:
        state = came[state]
        path.append(state >> 1)
    path.reverse()
    return path


def _trim(board: _Board, net: _Net) -> None:
    """Takes away what leads to no pin; the stub of a pin that stands alone stays."""
    pins = {board.index(pin.at) for pin in net.pins}
    if len(pins) == 1:
        pins.add(_front(board, net.pins[0]))
    _open_loops(board, net)
    at: dict[int, set[tuple[int, bool]]] = {}
    for edge in net.edges:
        for cell in (edge[0], edge[0] + (board.width if edge[1] else 1)):
            at.setdefault(cell, set()).add(edge)
    loose = [cell for cell, edges in at.items() if len(edges) == 1 and cell not in pins]
    while loose:
        cell = loose.pop()
        if len(at.get(cell, ())) != 1 or cell in pins:
            continue
        edge = at[cell].pop()
        net.edges.discard(edge)
        (board.steep if edge[1] else board.flat)[edge[0]] = 0
        other = edge[0] if cell != edge[0] else edge[0] + (board.width if edge[1] else 1)
        at[other].discard(edge)
        if len(at[other]) == 1 and other not in pins:
            loose.append(other)
    # Pieces that touch no pin at all.
    for group in _components(board, net):
        if not group & pins:
            for edge in [e for e in net.edges if e[0] in group]:
                net.edges.discard(edge)
                (board.steep if edge[1] else board.flat)[edge[0]] = 0


def _open_loops(board: _Board, net: _Net) -> None:
    """Takes an edge out of every loop, so that the wires of a node form a tree."""
    parent: dict[int, int] = {}

    def root(cell: int) -> int:
        while parent.setdefault(cell, cell) != cell:
            parent[cell] = parent[parent[cell]]
            cell = parent[cell]
        return cell

    for edge in sorted(net.edges):
        one, other = root(edge[0]), root(edge[0] + (board.width if edge[1] else 1))
        if one == other:
            net.edges.discard(edge)
            (board.steep if edge[1] else board.flat)[edge[0]] = 0
        parent[one] = other


def _cost(board: _Board, net: _Net) -> int:
    """What the node's wires cost as they lie."""
    total = STEP * len(net.edges)
    corners, crossings, _ = _counts(board, net)
    return total + BEND * corners + CROSSING * crossings


def _counts(board: _Board, net: _Net) -> tuple[int, int, int]:
    """Bends, crossings and branch points of the node's wires."""
    degree: dict[int, list[bool]] = {}
    for first, steep in net.edges:
        for cell in (first, first + (board.width if steep else 1)):
            degree.setdefault(cell, []).append(steep)
    bends = sum(1 for axes in degree.values() if len(axes) == 2 and axes[0] != axes[1])
    branches = sum(1 for axes in degree.values() if len(axes) > 2)
    crossings = sum(1 for cell in degree if _foreign(board, net.number, cell))
    return bends, crossings, branches


def _gone_over(board: _Board, nets: Sequence[_Net]) -> bool:
    """Lays each node again among the others where that is cheaper; whether anything changed."""
    changed = False
    for net in nets:
        bends, crossings, _ = _counts(board, net)
        if bends <= 1 and not crossings:
            continue
        before, cost = set(net.edges), _cost(board, net)
        _clear(board, net)
        _lay_stubs(board, net)
        for straight in net.straights:
            _lay(board, net, straight)
        joined = _join(board, net)
        if joined:
            _trim(board, net)
        if joined and _cost(board, net) < cost:
            changed = True
            continue
        _clear(board, net)
        for first, steep in before:
            (board.steep if steep else board.flat)[first] = net.number
        net.edges |= before
    return changed


def _drawn(board: _Board, nets: Sequence[_Net]) -> Wiring:
    wires: dict[str, tuple[tuple[Cell, ...], ...]] = {}
    dots: dict[str, tuple[Cell, ...]] = {}
    bends = crossings = length = 0
    for net in nets:
        at: dict[int, list[int]] = {}
        for first, steep in net.edges:
            second = first + (board.width if steep else 1)
            at.setdefault(first, []).append(second)
            at.setdefault(second, []).append(first)
        wires[net.node] = tuple(_chains(at, board.width))
        dots[net.node] = tuple(
            (cell % board.width, cell // board.width) for cell, around in sorted(at.items()) if len(around) > 2
        )
        corners, crossed, _ = _counts(board, net)
        bends += corners
        crossings += crossed
        length += len(net.edges)
    return Wiring(wires=wires, dots=dots, bends=bends, crossings=crossings // 2, length=length)


def _chains(at: Mapping[int, list[int]], width: int) -> list[tuple[Cell, ...]]:
    """The wires of a node as lines from end or branch point to the next, with their bends."""
    seen: set[tuple[int, int]] = set()
    chains: list[tuple[Cell, ...]] = []
    ends = sorted(cell for cell, around in at.items() if len(around) != 2)
    for start in ends:
        for following in sorted(at[start]):
            if (start, following) in seen:
                continue
            cells = [start, following]
            seen |= {(start, following), (following, start)}
            while len(at[cells[-1]]) == 2:
                ahead = next(c for c in at[cells[-1]] if c != cells[-2])
                seen |= {(cells[-1], ahead), (ahead, cells[-1])}
                cells.append(ahead)
            points = [(c % width, c // width) for c in cells]
            kept = [points[0]]
            for before, here, after in zip(points, points[1:], points[2:], strict=False):
                if (here[0] - before[0], here[1] - before[1]) != (after[0] - here[0], after[1] - here[1]):
                    kept.append(here)
            chains.append((*kept, points[-1]))
    return chains
