"""Symbols: every kind has one, its leads reach its pins, and every pose keeps the pins on the grid."""

from __future__ import annotations

from itertools import product

import pytest

from lidoff.drawing.shapes import GRID, Pose, posed
from lidoff.drawing.symbols import SIDE_PINS, TWO_PORTS, main_pins, symbol_for
from lidoff.kinds import KINDS

POSES = [Pose(lying=a, upset=b, mirror=c) for a, b, c in product((False, True), repeat=3)]


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("pose", POSES)
def test_pins_are_on_the_grid_and_reached_by_a_lead(kind: str, pose: Pose) -> None:
    """Each pin of the record stands on the grid, outside the body, with a lead that begins there."""
    symbol = posed(symbol_for(kind, KINDS[kind].pins), pose)
    assert set(symbol.pins) == set(KINDS[kind].pins)
    for name, pin in symbol.pins.items():
        assert pin.at[0] % GRID == 0
        assert pin.at[1] % GRID == 0
        assert sorted(abs(c) for c in pin.out) == [0.0, 1.0]
        x, y = pin.at
        assert not (symbol.body.x0 < x < symbol.body.x1 and symbol.body.y0 < y < symbol.body.y1)
        assert any(stroke.points[0] == pin.at for stroke in symbol.strokes if stroke.pin == name)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_no_two_kinds_look_alike(kind: str) -> None:
    """Every kind can be told from every other by its strokes."""
    own = _shape(kind)
    assert [other for other in KINDS if other != kind and _shape(other) == own] == []


def _shape(kind: str) -> tuple[object, ...]:
    return tuple((s.form, s.points, s.text) for s in symbol_for(kind, KINDS[kind].pins).strokes)


def test_switch_position_and_polarity_show() -> None:
    """An open contact differs from a closed one, pnp from npn, p-channel from n-channel, a rheostat from a divider."""
    assert symbol_for("switch", ("1", "2"), closed=False).strokes != symbol_for("switch", ("1", "2")).strokes
    for kind in ("transistor", "mosfet"):
        pins = KINDS[kind].pins
        assert symbol_for(kind, pins, reverse=True).strokes != symbol_for(kind, pins).strokes
    rheostat = symbol_for("potentiometer", ("a", "wiper"))
    assert set(rheostat.pins) == {"a", "wiper"}
    assert rheostat.strokes != symbol_for("potentiometer", ("a", "wiper", "b")).strokes


def test_two_ports_reach_from_rail_to_rail() -> None:
    """The pins of a two-port stand as far apart as the rails, however far that is."""
    for kind, half in product(TWO_PORTS, (40.0, 60.0, 100.0, 240.0)):
        (in1, in2), (out1, out2) = TWO_PORTS[kind]
        pins = symbol_for(kind, KINDS[kind].pins, half=half).pins
        for one, two in ((in1, in2), (out1, out2)):
            assert pins[two].at[1] - pins[one].at[1] == 2.0 * half
        assert pins[in1].at[0] < 0.0 < pins[out1].at[0]


def test_main_path_of_a_part() -> None:
    """The main path runs between the two power pins; a rheostat's between its end and the wiper."""
    assert main_pins("triac", KINDS["triac"].pins) == ("mt2", "mt1")
    assert main_pins("potentiometer", ("a", "wiper")) == ("a", "wiper")
    assert main_pins("potentiometer", ("wiper", "b")) == ("wiper", "b")
    assert set(SIDE_PINS) == {"triac", "thyristor", "transistor", "mosfet", "potentiometer"}
