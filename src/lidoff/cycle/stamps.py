"""The laws of the part kinds, each as conductances, states, curves and latches of a `Builder`.

A folded block member is entered once: voltages of its law times `series`, currents times `parallel`. The laws are those
of the record format; where that leaves something open the choice is stated beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from lidoff.circuit.model import Element
from lidoff.cycle import laws
from lidoff.cycle.builder import Builder, Flow, Pins
from lidoff.cycle.filament import hot_resistance

LEAK: Final = 1e-9  # [S] across each junction, as the reference figures have it
_THERMAL: Final = 25.85e-3  # [V] kT/q at 300 K
_OPEN_SWITCH: Final = 100e6  # [ohm]
_CLOSED_SWITCH: Final = 10e-3  # [ohm]
_WIPER: Final = 1.0  # [ohm] least resistance on either side of a wiper


def _single(pair: tuple[int, int], flows: list[Flow]) -> Pins:
    return Pins(pair, flows, [(pair, flows)])


def _two(b: Builder, e: Element) -> tuple[int, int]:
    first, second = e.nodes[0], e.nodes[1]
    assert first is not None
    assert second is not None
    return b.index[first], b.index[second]


def _resistance(b: Builder, e: Element, ohms: float) -> Pins:
    pair = _two(b, e)
    return _single(pair, [b.conductance(*pair, e.parallel / (e.series * ohms))])


def _resistor(b: Builder, e: Element) -> Pins:
    return _resistance(b, e, e.number("value"))


def _switch(b: Builder, e: Element) -> Pins:
    return _resistance(b, e, _CLOSED_SWITCH if e.values["closed"] else _OPEN_SWITCH)


def _fuse(b: Builder, e: Element) -> Pins:
    return _resistance(b, e, e.number("resistance"))


def _thermistor(b: Builder, e: Element) -> Pins:
    return _resistance(b, e, thermistor_resistance(e))


def thermistor_resistance(e: Element) -> float:
    """Resistance of a thermistor's state [ohm]: `hot` when warm, else `cold` (25 degC).

    Where `hot` is not given but `beta` is, it is taken at 125 degC by R = R25 exp(beta (1/T - 1/298.15 K)), the usual
    description of such parts (common practice, no source); with neither, warm is a tenth of cold, the upper end of the
    published "falls by a factor of 10 to 50".
    """
    cold = e.number("cold")
    if not e.values.get("warm", True):
        return cold
    if e.values.get("hot") is not None:
        return e.number("hot")
    if e.values.get("beta") is not None:
        return cold * math.exp(e.number("beta") * (1.0 / 398.15 - 1.0 / 298.15))
    return cold / 10.0


def _filament(b: Builder, e: Element) -> Pins:
    # `resistance` is worked out by `filament` from the mean power; until then it is that at the rated power.
    return _resistance(b, e, float(e.values.get("resistance", hot_resistance(e))))


def _relay(b: Builder, e: Element) -> Pins:
    return _resistance(b, e, e.number("resistance"))


def _motor(b: Builder, e: Element) -> Pins:
    # At a steady speed seen from the mains cycle: the winding's resistance and inductance in series
    # (R. H. Park's equations reduce to that at standstill; common practice for small series motors, no source).
    if not e.number("inductance"):
        return _resistance(b, e, e.number("resistance"))
    return _coil(b, e, e.number("inductance"), e.number("resistance"))


def _capacitor(b: Builder, e: Element) -> Pins:
    a, z = _two(b, e)
    value, esr = e.number("value") * e.parallel / e.series, e.number("esr") * e.series / e.parallel
    if esr <= 0.0:
        return _single((a, z), [b.capacitance(e.ref, a, z, value)])
    middle = b.new_node()
    flow = b.capacitance(e.ref, a, middle, value)
    series = b.conductance(middle, z, 1.0 / esr)
    pins = Pins((a, z), [flow])
    pins.branches = [((a, middle), [flow]), ((middle, z), [series])]
    return pins


def _coil(b: Builder, e: Element, henries: float, ohms: float) -> Pins:
    a, z = _two(b, e)
    scale = e.series / e.parallel
    row = b.coil(a, z, ohms * scale)
    b.inductance([row], [[henries * scale]], e.ref)
    return _single((a, z), [("x", row, 0, 1.0)])


def _inductor(b: Builder, e: Element) -> Pins:
    return _coil(b, e, e.number("value"), e.number("resistance"))


def wiper_share(position: float, taper: str) -> float:
    """Share of a potentiometer's track between pin a and the wiper at a knob position 0..1, through its taper."""
    if taper == "log":
        return float((81.0**position - 1.0) / 80.0)
    if taper == "reverse-log":
        return float(1.0 - (81.0 ** (1.0 - position) - 1.0) / 80.0)
    return position


def _potentiometer(b: Builder, e: Element) -> Pins:
    share = wiper_share(e.number("position"), str(e.values["taper"]))
    wiper = e.node("wiper")
    assert wiper is not None
    w = b.index[wiper]
    pins = Pins()
    ends: list[int] = []
    for pin, part in (("a", share), ("b", 1.0 - share)):
        node = e.node(pin)
        if node is None:
            continue
        end = b.index[node]
        ohms = max(e.number("value") * part, _WIPER) * e.series / e.parallel
        pair = (end, w) if pin == "a" else (w, end)
        flow = b.conductance(*pair, 1.0 / ohms)
        pins.branches.append((pair, [flow]))
        ends.append(end)
        if not pins.current:
            pins.current = [flow]
        pins.pair = pair if len(ends) == 1 else (ends[0], ends[1])
    return pins


def _exponential(e: Element, series: float = 1.0, parallel: float = 1.0) -> tuple[float, ...]:
    """Parameters of a junction, of `series` x `parallel` of them, folding included."""
    return _junction(
        e, e.number("test_current") * parallel, e.number("slope") * series, e.number("forward_voltage") * series
    )


def _junction(e: Element, current: float, slope: float, volts: float) -> tuple[float, ...]:
    """Parameters of an exponential of one member: current [A] at volts [V], slope [V]; folded."""
    current, slope, volts = current * e.parallel, slope * e.series, volts * e.series
    return current, slope, LEAK * e.parallel / e.series, volts, laws.knee_of(current, slope, volts)


def _diode(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    return _single(pair, [b.curve(laws.EXPONENTIAL, *pair, _exponential(e))])


def _led(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    par = _exponential(e, e.number("series"), e.number("parallel"))
    return _single(pair, [b.curve(laws.EXPONENTIAL, *pair, par)])


def _bridge(b: Builder, e: Element) -> Pins:
    nodes = []
    for node in e.nodes:
        assert node is not None
        nodes.append(b.index[node])
    ac1, ac2, plus, minus = nodes
    par = _exponential(e)
    flows = [
        b.curve(laws.EXPONENTIAL, first, second, par)
        for first, second in ((ac1, plus), (ac2, plus), (minus, ac1), (minus, ac2))
    ]
    pairs = [(ac1, plus), (ac2, plus), (minus, ac1), (minus, ac2)]
    pins = Pins((plus, minus), flows[:2])
    pins.branches = [(pair, [flow]) for pair, flow in zip(pairs, flows, strict=True)]
    return pins


def _zener(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    resistance = e.number("slope_resistance")
    par = (
        *_junction(e, 1.0, 0.05, e.number("forward_voltage")),
        max(e.number("voltage") - e.number("test_current") * resistance, 0.5 * laws.SPAN) * e.series,
        resistance * e.series / e.parallel,
        0.5 * laws.SPAN * e.series,
    )
    return _single(pair, [b.curve(laws.ZENER, *pair, par)])


def _varistor(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    par = (e.number("voltage") * e.series, 1e-3 * e.parallel, e.number("exponent"))
    return _single(pair, [b.curve(laws.VARISTOR, *pair, par)])


def _regulator(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    par = (
        e.number("limit") * e.parallel,
        e.number("dropout") * e.series,
        LEAK * e.parallel / e.series,
        0.5 * laws.SPAN * e.series,
    )
    return _single(pair, [b.curve(laws.REGULATOR, *pair, par)])


def _converter(b: Builder, e: Element) -> Pins:
    pair = _two(b, e)
    par = (e.number("power") * e.series * e.parallel, e.number("minimum_voltage") * e.series, 2.0 * e.series)
    return _single(pair, [b.curve(laws.CONVERTER, *pair, par)])


def _gated(b: Builder, e: Element) -> Pins:
    first, second, gate = (b.index[node] for node in e.nodes if node is not None)
    one_way = e.kind == "thyristor"
    low = second if one_way else first  # cathode or mt1: what the gate is driven against
    main = (first, second) if one_way else (second, first)
    half = 0.5 * laws.SPAN * e.series
    scale = e.series / e.parallel
    latch = len(b.latches)
    through = b.curve(
        laws.LATCH,
        *main,
        (
            max(e.number("on_voltage") * e.series, half),
            e.number("on_resistance") * scale,
            1.0 / (e.number("off_resistance") * scale),
            half,
            1.0 if one_way else 0.0,
        ),
        latch=latch,
    )
    control = b.curve(
        laws.GATE,
        gate,
        low,
        (
            max(e.number("gate_voltage") * e.series, half),
            e.number("gate_resistance") * scale,
            1.0 / (e.number("gate_shunt") * scale),
            half,
        ),
    )
    holding = e.number("holding_current")
    latching = e.number("latching_current") if e.values.get("latching_current") is not None else holding
    limits = tuple(e.parallel * value for value in (e.number("gate_current"), holding, latching))
    b.latches.append((e.ref, through[1], control[1], (limits[0], limits[1], limits[2]), int(one_way)))
    pins = Pins(main, [through])
    pins.branches = [(main, [through]), ((gate, low), [control])]
    return pins


def _breakover(
    b: Builder,
    e: Element,
    knees: tuple[float, float],
    on_voltage: float,
    on_resistance: float,
    off_resistance: float,
    holding: float,
) -> Pins:
    pair = _two(b, e)
    half = 0.5 * laws.SPAN * e.series
    scale = e.series / e.parallel
    latch = len(b.latches)
    up, down = (max(knee, laws.SPAN) * e.series for knee in knees)
    flow = b.curve(
        laws.BREAKOVER,
        *pair,
        (max(on_voltage * e.series, half), on_resistance * scale, 1.0 / (off_resistance * scale), half, up, down),
        latch=latch,
    )
    b.latches.append((e.ref, flow[1], -1, (up, holding * e.parallel, down), 0))
    return _single(pair, [flow])


def _diac(b: Builder, e: Element) -> Pins:
    # `asymmetry` is the difference between the two polarities' breakover voltages, as data sheets state it: half of it
    # is added on the side of the first pin, half taken off on the other.
    middle, apart = e.number("breakover"), e.number("asymmetry")
    return _breakover(
        b,
        e,
        (middle + 0.5 * apart, middle - 0.5 * apart),
        middle - e.number("breakback"),
        e.number("on_resistance"),
        e.number("off_resistance"),
        e.number("holding_current"),
    )


def _indicator(b: Builder, e: Element) -> Pins:
    # A glow lamp with its series resistor: dark it takes next to nothing (1 Gohm), lit it keeps its maintaining
    # voltage down to some 20 uA (common practice, no source).
    return _breakover(
        b,
        e,
        (e.number("strike"), e.number("strike")),
        e.number("maintain"),
        max(e.number("series"), 100.0),
        1e9,
        20e-6,
    )


def _transistor(b: Builder, e: Element) -> Pins:
    """Ebers and Moll in transport form; see `laws`.

    `base_voltage` is taken at 1 mA of collector current (common practice for small types, no source); the reverse gain
    is the one that gives `saturation` at a forced gain of ten: V_CEsat = V_T ln((1 + 11/B_R)/(1 - 10/B_F)).
    """
    nodes = [b.index[node] for node in e.nodes if node is not None]
    base, collector, emitter = nodes
    gain = e.number("gain")
    room = math.exp(e.number("saturation") / _THERMAL) * (1.0 - 10.0 / max(gain, 10.5)) - 1.0
    reverse = 11.0 / max(room, 1e-3)

    def junction(a: int, z: int, share: float, flow: tuple[int, int], leaks: float) -> Flow:
        if e.values["polarity"] == "pnp":
            a, z, flow = z, a, (flow[1], flow[0])
        current, slope, leak, volts, knee = _junction(e, 1e-3 * share, _THERMAL, e.number("base_voltage"))
        return b.curve(laws.EXPONENTIAL, a, z, (current, slope, leak * leaks, volts, knee), flow)

    forward = junction(base, emitter, 1.0 / gain, (base, emitter), 1.0)
    back = junction(base, collector, 1.0 / reverse, (base, collector), 1.0)
    through = junction(base, emitter, 1.0, (collector, emitter), 0.0)
    against = junction(base, collector, 1.0, (emitter, collector), 0.0)
    sign = -1.0 if e.values["polarity"] == "pnp" else 1.0
    signed = [(w, a, z, value * sign) for w, a, z, value in (forward, back, through, against)]
    minus = [(w, a, z, -value) for w, a, z, value in (signed[1], signed[3])]
    pins = Pins((collector, emitter), [signed[2], *minus])
    pins.branches = [
        ((base, emitter), [signed[0]]),
        ((base, collector), [signed[1]]),
        ((collector, emitter), [signed[2], minus[1]]),
    ]
    return pins


def _mosfet(b: Builder, e: Element) -> Pins:
    """Square law with the channel's resistance in series with the drain and the body diode beside it; see `laws`."""
    nodes = [b.index[node] for node in e.nodes if node is not None]
    gate, drain, source = nodes
    inner = b.new_node()
    rds = e.number("on_resistance") * e.series / e.parallel
    k = e.number("transconductance") * e.parallel / e.series**2
    par = (k, e.number("threshold") * e.series, 0.5 * laws.SPAN * e.series)
    flip = e.values["polarity"] == "p"
    low, high = (source, inner)

    def channel(end: int, flow: tuple[int, int]) -> Flow:
        if flip:
            return b.curve(laws.SQUARE, end, gate, par, (flow[1], flow[0]))
        return b.curve(laws.SQUARE, gate, end, par, flow)

    sign = -1.0 if flip else 1.0
    forward = channel(low, (high, low))
    back = channel(high, (low, high))
    leak = b.conductance(inner, source, LEAK)
    series = b.conductance(drain, inner, 1.0 / rds)
    b.conductance(gate, source, LEAK)
    flows = [("f", forward[1], 0, sign), ("f", back[1], 0, -sign), leak]
    pins = Pins((drain, source), [series])
    pins.branches = [((drain, inner), [series]), ((inner, source), flows)]
    if e.values["body_diode"]:
        pair = (drain, source) if flip else (source, drain)
        diode = b.curve(laws.EXPONENTIAL, *pair, _junction(e, 1.0, 0.05, 0.93))  # as an ordinary rectifier
        pins.branches.append((pair, [diode]))
        pins.current = [series, ("f", diode[1], 0, 1.0 if flip else -1.0)]
    return pins


def _coupled(
    b: Builder, e: Element, pairs: list[tuple[int, int]], ohms: list[float], matrix: list[list[float]]
) -> Pins:
    scale = e.series / e.parallel
    rows = [b.coil(*pair, r * scale) for pair, r in zip(pairs, ohms, strict=True)]
    b.inductance(rows, [[value * scale for value in line] for line in matrix], e.ref)
    flows: list[Flow] = [("x", row, 0, 1.0) for row in rows]
    pins = Pins(pairs[0], [flows[0]])
    pins.branches = [(pair, [flow]) for pair, flow in zip(pairs, flows, strict=True)]
    return pins


def _transformer(b: Builder, e: Element) -> Pins:
    p1, p2, s1, s2 = (b.index[node] for node in e.nodes if node is not None)
    ratio, magnetising = e.number("ratio"), e.number("magnetising")
    # All leakage is put on the primary side: L_p = L_m + L_leak, M = L_m / n, L_s = L_m / n^2.
    leakage = max(e.number("leakage"), 1e-6 * magnetising)
    matrix = [
        [magnetising + leakage, magnetising / ratio],
        [magnetising / ratio, magnetising / ratio**2],
    ]
    ohms = [e.number("resistance_primary"), e.number("resistance_secondary")]
    return _coupled(b, e, [(p1, p2), (s1, s2)], ohms, matrix)


def _choke(b: Builder, e: Element) -> Pins:
    a1, a2, b1, b2 = (b.index[node] for node in e.nodes if node is not None)
    value = e.number("value")
    mutual = e.number("coupling") * value
    ohms = [e.number("resistance")] * 2
    return _coupled(b, e, [(a1, a2), (b1, b2)], ohms, [[value, mutual], [mutual, value]])


STAMPS: Final[Mapping[str, Callable[[Builder, Element], Pins]]] = MappingProxyType(
    {
        "resistor": _resistor,
        "capacitor": _capacitor,
        "inductor": _inductor,
        "potentiometer": _potentiometer,
        "switch": _switch,
        "thermostat": _switch,
        "fuse": _fuse,
        "diode": _diode,
        "bridge": _bridge,
        "led": _led,
        "zener": _zener,
        "varistor": _varistor,
        "triac": _gated,
        "thyristor": _gated,
        "diac": _diac,
        "indicator": _indicator,
        "regulator": _regulator,
        "converter": _converter,
        "thermistor": _thermistor,
        "lamp": _filament,
        "heater": _filament,
        "relay": _relay,
        "motor": _motor,
        "transistor": _transistor,
        "mosfet": _mosfet,
        "transformer": _transformer,
        "choke": _choke,
    }
)
