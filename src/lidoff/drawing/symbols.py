"""A symbol for every part kind, drawn after the descriptions of IEC 60617 (from memory; no clause was at hand).

A resistor is a box, a fuse a box with the line through it, a coil four half circles, a rectifier bridge a diamond with
a diode; a current regulator takes the sign of a constant-current source, a switch-mode stage that of a converter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from lidoff.drawing.shapes import (
    REACH,
    Pin,
    Point,
    Rect,
    Stroke,
    Symbol,
    arrow,
    box,
    circle,
    dot,
    flat_turns,
    half_turns,
    lead,
    letter,
    line,
    outline,
)
from lidoff.kinds import KINDS

UP: Final = (0.0, -1.0)
DOWN: Final = (0.0, 1.0)
LEFT: Final = (-1.0, 0.0)
RIGHT: Final = (1.0, 0.0)

# Kinds with a way in at the left and a way out at the right: their height follows the rails they stand between.
TWO_PORTS: Final[Mapping[str, tuple[tuple[str, str], tuple[str, str]]]] = MappingProxyType(
    {
        "bridge": (("ac1", "ac2"), ("plus", "minus")),
        "transformer": (("p1", "p2"), ("s1", "s2")),
        "choke": (("a1", "b1"), ("a2", "b2")),
    }
)
# Kinds with a main path from the first to the second of these pins, and a third pin at the side.
SIDE_PINS: Final[Mapping[str, tuple[str, str, str]]] = MappingProxyType(
    {
        "triac": ("mt2", "mt1", "gate"),
        "thyristor": ("anode", "cathode", "gate"),
        "transistor": ("collector", "emitter", "base"),
        "mosfet": ("drain", "source", "gate"),
        "potentiometer": ("a", "b", "wiper"),
    }
)


def main_pins(kind: str, present: tuple[str, ...]) -> tuple[str, str]:
    """The two pins between which a part's main path runs, of those that are present."""
    if kind in SIDE_PINS:
        first, second, side = SIDE_PINS[kind]
        if first not in present:
            return side, second
        if second not in present:
            return first, side
        return first, second
    return present[0], present[1]


def symbol_for(
    kind: str,
    present: tuple[str, ...],
    *,
    closed: bool = True,
    reverse: bool = False,
    half: float = 40.0,
) -> Symbol:
    """The symbol of a part kind, upright, its pins named as in the record.

    `present` are the pins that are joined; `closed` is the position of a switch, `reverse` makes a transistor pnp or a
    MOSFET p-channel; `half` is half the distance between the rails that a two-port stands between.
    """
    if kind in TWO_PORTS:
        return _TWO_PORT_MAKERS[kind](half)
    if kind == "potentiometer" and len(present) < 3:
        return _two(_adjustable(), main_pins(kind, present), Rect(-16, -20, 16, 20))
    if kind in ("transistor", "mosfet"):
        return _transistor(reverse) if kind == "transistor" else _mosfet(reverse)
    if kind in ("switch", "thermostat"):
        return _two(_contact(closed, kind), main_pins(kind, present), Rect(-16, -20, 10, 20))
    return _fixed(kind)


@lru_cache(maxsize=64)
def _fixed(kind: str) -> Symbol:
    maker, body = _MAKERS[kind]
    pins = SIDE_PINS[kind][:2] if kind in SIDE_PINS else KINDS[kind].pins[:2]
    symbol = _two(maker(), (pins[0], pins[1]), Rect(*body))
    if kind not in SIDE_PINS:
        return symbol
    side = SIDE_PINS[kind][2]
    at = _SIDE_AT[kind]
    return Symbol(strokes=symbol.strokes, pins={**symbol.pins, side: Pin(at=at, out=LEFT)}, body=symbol.body)


_SIDE_AT: Final[Mapping[str, Point]] = MappingProxyType(
    {"triac": (-30.0, 20.0), "thyristor": (-30.0, 20.0), "potentiometer": (-30.0, 0.0)}
)


def _two(strokes: tuple[Stroke, ...], pins: tuple[str, str], body: Rect) -> Symbol:
    """A symbol with its first pin at the top and its second at the bottom; leads marked "1" and "2" get their names."""
    names = {"1": pins[0], "2": pins[1]}
    return Symbol(
        strokes=tuple(
            Stroke(form=s.form, points=s.points, pin=names.get(s.pin, s.pin), text=s.text) if s.pin else s
            for s in strokes
        ),
        pins={pins[0]: Pin(at=(0.0, -REACH), out=UP), pins[1]: Pin(at=(0.0, REACH), out=DOWN)},
        body=body,
    )


def _leads(top: float, bottom: float) -> tuple[Stroke, Stroke]:
    """The two leads down to `top` and up to `bottom`."""
    return lead("1", (0, -REACH), (0, top)), lead("2", (0, REACH), (0, bottom))


def _resistor() -> tuple[Stroke, ...]:
    return (*_leads(-20, 20), box(-8, -20, 8, 20))


def _capacitor() -> tuple[Stroke, ...]:
    return (*_leads(-4, 4), line((-14, -4), (14, -4)), line((-14, 4), (14, 4)))


def _inductor() -> tuple[Stroke, ...]:
    return (*_leads(-20, 20), half_turns(0.0, -20.0, 20.0, 4))


def _adjustable() -> tuple[Stroke, ...]:
    return (*_resistor(), *arrow((-15, 15), (16, -16)))


def _potentiometer() -> tuple[Stroke, ...]:
    shaft, head = arrow((-30, 0), (-8, 0), 7.0)
    return (*_resistor(), Stroke(form=shaft.form, points=shaft.points, pin="wiper"), head)


def _fuse() -> tuple[Stroke, ...]:
    return (*_leads(-20, 20), box(-7, -20, 7, 20), line((0, -20), (0, 20)))


def _contact(closed: bool, kind: str) -> tuple[Stroke, ...]:
    tip = (4.0, -14.0) if closed else (-13.0, -12.0)
    strokes = (*_leads(-12, 12), line((0, 12), tip), line((0, -12), (8, -12)))
    return (*strokes, letter(-11, 8, "θ")) if kind == "thermostat" else strokes


def _triangle() -> tuple[Stroke, ...]:
    return (*_leads(-9, 9), line((0, -9), (0, 9)), outline((-11, -9), (11, -9), (0, 9)))


def _diode() -> tuple[Stroke, ...]:
    return (*_triangle(), line((-11, 9), (11, 9)))


def _led() -> tuple[Stroke, ...]:
    return (*_diode(), *arrow((13, -2), (24, -9), 5.0), *arrow((13, 6), (24, -1), 5.0))


def _zener() -> tuple[Stroke, ...]:
    return (*_triangle(), line((-11, 15), (-11, 9), (11, 9)))


def _nonlinear(mark: str) -> tuple[Stroke, ...]:
    return (*_resistor(), line((-20, 16), (-13, 16), (15, -16)), letter(-16, 4, mark))


def _both_ways() -> tuple[Stroke, ...]:
    return (
        *_leads(-9, 9),
        line((-17, -9), (17, -9)),
        line((-17, 9), (17, 9)),
        outline((-16, -9), (0, -9), (-8, 9)),
        outline((0, 9), (16, 9), (8, -9)),
    )


def _triac() -> tuple[Stroke, ...]:
    return (*_both_ways(), lead("gate", (-30, 20), (-24, 20), (-15, 9)))


def _thyristor() -> tuple[Stroke, ...]:
    return (*_diode(), lead("gate", (-30, 20), (-16, 20), (-5, 9)))


def _regulator() -> tuple[Stroke, ...]:
    return (*_leads(-14, 14), circle(0, 0, 14), line((-14, 0), (14, 0)))


def _converter() -> tuple[Stroke, ...]:
    return (
        *_leads(-20, 20),
        box(-20, -20, 20, 20),
        line((-20, 20), (20, -20)),
        *(line((x, y + dy), (x + 10, y + dy)) for x, y in ((-15, -11), (5, 10)) for dy in (-2, 2)),
    )


def _lamp() -> tuple[Stroke, ...]:
    d = 14 * 0.7071
    return (*_leads(-14, 14), circle(0, 0, 14), line((-d, -d), (d, d)), line((-d, d), (d, -d)))


def _heater() -> tuple[Stroke, ...]:
    return (*_resistor(), *(line((-8, y), (8, y)) for y in (-12, -4, 4, 12)))


def _indicator() -> tuple[Stroke, ...]:
    return (*_leads(-5, 5), circle(0, 0, 14), line((-7, -5), (7, -5)), line((-7, 5), (7, 5)), dot(9, 0, 1.8))


def _relay() -> tuple[Stroke, ...]:
    return (*_leads(-10, 10), box(-18, -10, 18, 10))


def _motor() -> tuple[Stroke, ...]:
    return (*_leads(-14, 14), circle(0, 0, 14), letter(0, 0, "M"))


_MAKERS: Final[Mapping[str, tuple[Callable[[], tuple[Stroke, ...]], tuple[float, float, float, float]]]] = (
    MappingProxyType(
        {
            "resistor": (_resistor, (-8, -20, 8, 20)),
            "capacitor": (_capacitor, (-14, -20, 14, 20)),
            "inductor": (_inductor, (-8, -20, 8, 20)),
            "potentiometer": (_potentiometer, (-16, -20, 8, 20)),
            "fuse": (_fuse, (-7, -20, 7, 20)),
            "diode": (_diode, (-12, -20, 12, 20)),
            "led": (_led, (-12, -20, 25, 20)),
            "zener": (_zener, (-12, -20, 12, 20)),
            "varistor": (lambda: _nonlinear("U"), (-22, -20, 16, 20)),
            "triac": (_triac, (-18, -20, 18, 20)),
            "thyristor": (_thyristor, (-14, -20, 12, 20)),
            "diac": (_both_ways, (-18, -20, 18, 20)),
            "regulator": (_regulator, (-14, -20, 14, 20)),
            "converter": (_converter, (-20, -20, 20, 20)),
            "thermistor": (lambda: _nonlinear("θ"), (-22, -20, 16, 20)),
            "lamp": (_lamp, (-14, -20, 14, 20)),
            "heater": (_heater, (-8, -20, 8, 20)),
            "indicator": (_indicator, (-14, -20, 14, 20)),
            "relay": (_relay, (-18, -20, 18, 20)),
            "motor": (_motor, (-14, -20, 14, 20)),
        }
    )
)


def _three(strokes: tuple[Stroke, ...], names: tuple[str, str, str], side_y: float, body: Rect) -> Symbol:
    first, second, side = names
    return Symbol(
        strokes=strokes,
        pins={
            first: Pin(at=(0.0, -REACH), out=UP),
            second: Pin(at=(0.0, REACH), out=DOWN),
            side: Pin(at=(-REACH, side_y), out=LEFT),
        },
        body=body,
    )


def _transistor(pnp: bool) -> Symbol:
    emitter = arrow((0, 18), (-11, 7)) if pnp else arrow((-12, 6), (-1, 17))
    return _three(
        (
            lead("base", (-30, 0), (-12, 0)),
            Stroke(form="line", points=((-12, -13), (-12, 13))),
            lead("collector", (0, -30), (0, -18), (-12, -6)),
            lead("emitter", (0, 30), (0, 18), (-12, 6)),
            *emitter,
        ),
        ("collector", "emitter", "base"),
        0.0,
        Rect(-16, -20, 6, 20),
    )


def _mosfet(p_channel: bool) -> Symbol:
    channel = arrow((-8, 0), (0, 0), 6.0) if p_channel else arrow((0, 0), (-8, 0), 6.0)
    return _three(
        (
            lead("gate", (-30, 10), (-13, 10), (-13, -12)),
            *(line((-8, y - 4), (-8, y + 4)) for y in (-11, 0, 11)),
            lead("drain", (0, -30), (0, -11), (-8, -11)),
            lead("source", (0, 30), (0, 11), (-8, 11)),
            *channel,
            line((0, 0), (0, 11)),
        ),
        ("drain", "source", "gate"),
        10.0,
        Rect(-16, -20, 6, 20),
    )


def _four(strokes: tuple[Stroke, ...], kind: str, half: float, reach: float, body: Rect) -> Symbol:
    (in1, in2), (out1, out2) = TWO_PORTS[kind]
    return Symbol(
        strokes=strokes,
        pins={
            in1: Pin(at=(-reach, -half), out=LEFT),
            in2: Pin(at=(-reach, half), out=LEFT),
            out1: Pin(at=(reach, -half), out=RIGHT),
            out2: Pin(at=(reach, half), out=RIGHT),
        },
        body=body,
    )


def _bridge(half: float) -> Symbol:
    """A box with the sign of a rectifier bridge in it and what each pin is beside the pin.

    Between rails that are far apart the box stays compact and its leads come in from above and below.
    """
    corners = (("ac1", -1, -1, "~"), ("ac2", -1, 1, "~"), ("plus", 1, -1, "+"), ("minus", 1, 1, "−"))
    tall = half <= 60.0
    edge = half + 10.0 if tall else 40.0
    strokes = []
    for pin, x, y, mark in corners:
        if tall:
            strokes += [lead(pin, (40 * x, half * y), (30 * x, half * y)), letter(21 * x, half * y, mark)]
        else:
            strokes.append(lead(pin, (40 * x, half * y), (20 * x, half * y), (20 * x, edge * y)))
            strokes.append(letter(20 * x, (edge - 9) * y, mark))
    return _four(
        (
            *strokes,
            box(-30, -edge, 30, edge),
            outline((-20, 0), (0, -20), (20, 0), (0, 20)),
            outline((-7, -8), (-7, 8), (7, 0)),
            line((7, -8), (7, 8)),
            line((-20, 0), (20, 0)),
        ),
        "bridge",
        half,
        40.0,
        Rect(-30, -max(edge, half), 30, max(edge, half)),
    )


def _transformer(half: float) -> Symbol:
    return _four(
        (
            lead("p1", (-30, -half), (-12, -half), (-12, -20)),
            lead("p2", (-30, half), (-12, half), (-12, 20)),
            lead("s1", (30, -half), (12, -half), (12, -20)),
            lead("s2", (30, half), (12, half), (12, 20)),
            half_turns(-12.0, -20.0, 20.0, 4),
            half_turns(12.0, -20.0, 20.0, 4, side=-1.0),
            line((-2, -22), (-2, 22)),
            line((2, -22), (2, 22)),
            dot(-17, -17, 1.8),
            dot(17, -17, 1.8),
        ),
        "transformer",
        half,
        30.0,
        Rect(-20, -half, 20, half),
    )


def _choke(half: float) -> Symbol:
    top, bottom = -half, half
    return _four(
        (
            lead("a1", (-40, top), (-20, top)),
            lead("a2", (40, top), (20, top)),
            lead("b1", (-40, bottom), (-20, bottom)),
            lead("b2", (40, bottom), (20, bottom)),
            flat_turns(top, -20.0, 20.0, 4),
            flat_turns(bottom, -20.0, 20.0, 4),
            line((-20, top + 5), (20, top + 5)),
            line((-20, bottom - 9), (20, bottom - 9)),
            # One core: a broken line joins its two halves.
            *(line((0, y), (0, min(y + 6, bottom - 11))) for y in range(int(top) + 9, int(bottom) - 11, 10)),
            dot(-24, top - 6, 1.8),
            dot(-24, bottom - 6, 1.8),
        ),
        "choke",
        half,
        40.0,
        Rect(-30, top - 10, 30, bottom + 6),
    )


_TWO_PORT_MAKERS: Final[Mapping[str, Callable[[float], Symbol]]] = MappingProxyType(
    {"bridge": _bridge, "transformer": _transformer, "choke": _choke}
)
