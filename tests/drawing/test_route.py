"""The router alone: short ways, around what is in the way, and crossings only where they cannot be misread."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.drawing.route import Cell, Straight, Terminal, Wiring, blocked_cells, route
from lidoff.drawing.shapes import Rect

LEFT, RIGHT, UP, DOWN = (-1, 0), (1, 0), (0, -1), (0, 1)


def _routed(
    pins: list[Terminal], straights: list[Straight] | None = None, blocked: list[Cell] | None = None, size: int = 30
) -> Wiring | None:
    board = bytearray(size * size)
    for x, y in blocked or ():
        board[y * size + x] = 1
    return route(pins, straights or [], board, size, size)


def test_straight_wire_between_facing_pins() -> None:
    """Two pins that face each other are joined by one straight line."""
    wiring = _routed([Terminal("a", (5, 9), RIGHT), Terminal("a", (15, 9), LEFT)])
    assert wiring is not None
    assert wiring.wires["a"] == (((5, 9), (15, 9)),)
    assert (wiring.bends, wiring.crossings, wiring.length) == (0, 0, 10)


def test_one_bend_where_one_is_enough() -> None:
    """Pins at right angles are joined with a single bend."""
    wiring = _routed([Terminal("a", (5, 9), RIGHT), Terminal("a", (15, 20), UP)])
    assert wiring is not None
    assert wiring.bends == 1


def test_way_round_an_obstacle() -> None:
    """What is blocked is gone round, with the four bends that takes."""
    wall = [(10, y) for y in range(6, 13)]
    wiring = _routed([Terminal("a", (5, 9), RIGHT), Terminal("a", (15, 9), LEFT)], blocked=wall)
    assert wiring is not None
    assert wiring.bends == 4
    assert not set(wall) & {cell for wire in wiring.wires["a"] for cell in _cells(wire)}


def test_walled_in_pin_is_said() -> None:
    """A pin that nothing can reach gives None instead of a wire through a wall."""
    wall = [(x, y) for x in range(3, 9) for y in (7, 11)] + [(x, y) for x in (3, 8) for y in range(7, 12)]
    assert _routed([Terminal("a", (5, 9), RIGHT), Terminal("a", (15, 9), LEFT)], blocked=wall) is None


def test_wires_cross_at_right_angles_only() -> None:
    """Two nodes that have to cross do so once, straight on."""
    wiring = _routed(
        [
            Terminal("a", (5, 10), RIGHT),
            Terminal("a", (20, 10), LEFT),
            Terminal("b", (12, 4), DOWN),
            Terminal("b", (12, 16), UP),
        ],
        blocked=[(x, 3) for x in range(30)] + [(x, 17) for x in range(30)],
    )
    assert wiring is not None
    assert (wiring.crossings, wiring.bends) == (1, 0)


def test_three_pins_meet_in_a_dot() -> None:
    """Three pins of a node have one branch point, and it is named."""
    wiring = _routed([Terminal("a", (5, 9), RIGHT), Terminal("a", (20, 9), LEFT), Terminal("a", (12, 20), UP)])
    assert wiring is not None
    assert wiring.dots["a"] == ((12, 9),)


def test_wanted_wire_is_used_and_its_spare_ends_taken_away() -> None:
    """A rail that is wanted is kept between the pins that need it and no farther."""
    wiring = _routed(
        [Terminal("a", (6, 9), UP), Terminal("a", (16, 9), UP)], straights=[Straight("a", (2, 5), (25, 5))]
    )
    assert wiring is not None
    assert {cell for wire in wiring.wires["a"] for cell in _cells(wire)} == {
        *((x, 5) for x in range(6, 17)),
        *((6, y) for y in range(5, 10)),
        *((16, y) for y in range(5, 10)),
    }


def test_blocked_cells_are_those_inside() -> None:
    """A box blocks the grid points inside it, grown by its margin, and none on its edge."""
    rects = [(Rect(20.0, 20.0, 40.0, 30.0), 0.0), (Rect(61.0, 61.0, 69.0, 69.0), 2.0)]
    assert _blocked(rects) == [(6, 6), (7, 6), (6, 7), (7, 7)]
    assert _blocked([(Rect(15.0, 15.0, 35.0, 25.0), 0.0)]) == [(2, 2), (3, 2)]


def _blocked(rects: list[tuple[Rect, float]]) -> list[Cell]:
    return [(k % 10, k // 10) for k, taken in enumerate(blocked_cells(rects, (0.0, 0.0), 10, 10)) if taken]


def _cells(wire: tuple[Cell, ...]) -> list[Cell]:
    cells = [wire[0]]
    for x1, y1 in wire[1:]:
        x0, y0 = cells[-1]
        steps = max(abs(x1 - x0), abs(y1 - y0))
        cells += [(x0 + (x1 - x0) * k // steps, y0 + (y1 - y0) * k // steps) for k in range(1, steps + 1)]
    return cells


@given(st.data())
@settings(max_examples=60)
def test_nodes_never_touch(data: st.DataObject) -> None:
    """On a free board all pins are joined; wires of two nodes share a point only where both run straight on."""
    spots = [(x, y) for x in range(4, 30, 5) for y in range(4, 30, 5)]
    chosen = data.draw(st.lists(st.sampled_from(spots), min_size=2, max_size=14, unique=True))
    pins = [
        Terminal(data.draw(st.sampled_from("abcd")), spot, data.draw(st.sampled_from((LEFT, RIGHT, UP, DOWN))))
        for spot in chosen
    ]
    wiring = _routed(pins, size=36)
    assert wiring is not None
    through: dict[Cell, set[tuple[str, int]]] = {}
    stops: dict[Cell, set[str]] = {}
    for node, wires in wiring.wires.items():
        joined: set[Cell] = set()
        for wire in wires:
            cells = _cells(wire)
            joined |= set(cells)
            for corner in wire:
                stops.setdefault(corner, set()).add(node)
            for k, cell in enumerate(cells[1:-1], 1):
                through.setdefault(cell, set()).add((node, int(cells[k - 1][0] == cells[k + 1][0])))
        assert {pin.at for pin in pins if pin.node == node} <= joined
    for cell, nodes in stops.items():
        assert nodes | {node for node, _ in through.get(cell, set())} == nodes
        assert len(nodes) == 1
    for runs in through.values():
        assert len({axis for _, axis in runs}) == len({node for node, _ in runs})
