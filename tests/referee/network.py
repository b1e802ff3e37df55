"""A circuit as a differential-algebraic system F(t, y, y') = 0, written for the referee from the record format's laws.

Unknowns y: node voltages, branch currents (mains, coils), and of every capacitor its inner voltage and its current;
last come integrals over time (energies, charges), so that means over a cycle are as exact as the solution itself.

    nodes        sum of all currents leaving = 0
    coils        v_a - v_b - R i - sum L i' = 0           (the mains: e(t) - v_live - R i - L i' = 0)
    capacitors   C u' - i = 0   and   v_a - v_b - u - esr i = 0
    integrals    Q' - (V y)(I y + K f) = 0

with the curves f = f(S y) of `laws`. Everything but f and the latches is a constant matrix.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from tests.referee import laws
from tests.referee.laws import COLUMNS, LAWS, LEAK, Floats

from lidoff.circuit import Circuit, Element

EXPONENTIAL, KNEE, POWER, LIMITER, STEADY, SQUARE = range(6)
TIE = 1e-9  # [S] from a floating side to neutral
# Beside a regulator, from whose corner on nothing flows: without it a node that only leaks lead to is tied to the rest
# by 1 nS in one pass of Newton's method and by millisiemens in the next, and IDA's corrector gives up; with it a step
# can always be made short enough. At 325 V it takes 10 nA.
STRAY = 1e-13  # [F]

Row = dict[int, float]


class RefereeError(Exception):
    """The referee cannot judge this circuit."""


@dataclass(frozen=True)
class Current:
    """A current as a row over the unknowns plus a row over the curves."""

    linear: Row = field(default_factory=dict)
    curves: Row = field(default_factory=dict)

    def __add__(self, other: Current) -> Current:
        return Current(_sum(self.linear, other.linear), _sum(self.curves, other.curves))

    def times(self, factor: float) -> Current:
        return Current({k: factor * v for k, v in self.linear.items()}, {k: factor * v for k, v in self.curves.items()})


def _sum(one: Row, two: Row) -> Row:
    return {k: one.get(k, 0.0) + two.get(k, 0.0) for k in {**one, **two}}


@dataclass
class Latch:
    """A latching part and where it stands. `main` and `gate` are curves; a breakover device has no gate."""

    ref: str
    main: int
    gate: int | None
    fires: tuple[float, float]  # gate current [A] twice, or the breakover voltages of either direction [V]
    holding: float  # [A]
    latching: float  # [A]
    one_way: bool
    leak: float  # [S] of the part while open
    on: bool = False
    gated: bool = False
    reached: int = 0  # direction in which the main current has passed the latching current (of a diac: has fired)


@dataclass(frozen=True)
class Part:
    """Where a part's figures come from: voltage and current as the format signs them, and what it turns into heat."""

    voltage: Row
    current: Current
    heat: list[tuple[Row, Current]]


class Network:
    """The system of one circuit on the mains; `filaments` gives the resistance [ohm] of each lamp and heater."""

    def __init__(self, circuit: Circuit, filaments: Mapping[str, float] | None = None) -> None:
        if circuit.supply.dc is not None:
            raise RefereeError("a bench supply is not judged here")
        self.circuit = circuit
        self.filaments = dict(filaments or {})
        self.size = 0
        self.differential: list[int] = []  # unknowns whose derivative stands in an equation of their own
        self.a: list[tuple[int, int, float]] = []
        self.b: list[tuple[int, int, float]] = []
        self.nodes: dict[str, int] = {}
        self.curve_rows: list[tuple[int, Row, tuple[float, ...]]] = []
        self.flows: list[tuple[int, int, float]] = []  # row, curve, share
        self.joined: list[tuple[int, int]] = []  # pairs of nodes with a conductor between
        self.latches: list[Latch] = []
        self.parts: dict[str, Part] = {}
        self.states: dict[str, list[int]] = {}  # capacitor voltages and coil currents by part
        self.coils: set[int] = set()
        self._mains()
        for element in circuit.elements:
            self.parts[element.ref] = getattr(self, f"_{element.kind}")(element)
        self._tie()
        self._lay_out()

    # Unknowns and entries -------------------------------------------------------------------------------------------

    def unknown(self, *, differential: bool = False) -> int:
        self.size += 1
        if differential:
            self.differential.append(self.size - 1)
        return self.size - 1

    def node(self, name: str | None) -> int:
        """The unknown of a node, -1 for neutral."""
        if name is None or name == "earth":
            raise RefereeError(f"a node {name} is not judged here")
        if name == "neutral":
            return -1
        if name not in self.nodes:
            self.nodes[name] = self.unknown()
        return self.nodes[name]

    def across(self, a: int, b: int, factor: float = 1.0) -> Row:
        return _sum({a: factor} if a >= 0 else {}, {b: -factor} if b >= 0 else {})

    def flow(self, a: int, b: int, current: Current) -> Current:
        """A current that leaves node a and enters node b."""
        for node, sign in ((a, 1.0), (b, -1.0)):
            if node >= 0:
                self.a += [(node, k, sign * v) for k, v in current.linear.items()]
                self.flows += [(node, k, sign * v) for k, v in current.curves.items()]
        return current

    def conductor(self, a: int, b: int, siemens: float) -> Current:
        self.joined.append((a, b))
        return self.flow(a, b, Current(self.across(a, b, siemens)))

    def curve(self, kind: int, sense: Row, par: tuple[float, ...]) -> int:
        self.curve_rows.append((kind, sense, par))
        return len(self.curve_rows) - 1

    def stray(self, a: int, b: int) -> None:
        for node, other in ((a, b), (b, a)):
            if node >= 0:
                self.b.append((node, node, STRAY))
                if other >= 0:
                    self.b.append((node, other, -STRAY))

    def two(self, e: Element) -> tuple[int, int]:
        return self.node(e.nodes[0]), self.node(e.nodes[1])

    def single(self, a: int, b: int, current: Current) -> Part:
        row = self.across(a, b)
        return Part(row, current, [(row, current)])

    def branch(self, a: int, b: int, ohms: float) -> int:
        """A coil's current from a to b with its equation v_a - v_b - R i - sum L i' = 0, the last still to come."""
        k = self.unknown(differential=True)
        self.a += [(k, at, value) for at, value in self.across(a, b).items()]
        self.a.append((k, k, -ohms))
        self.flow(a, b, Current({k: 1.0}))
        # Not `joined`: of a side that hangs on coils alone the currents could not all be chosen freely, so it is tied.
        return k

    # The mains ------------------------------------------------------------------------------------------------------

    def _mains(self) -> None:
        supply = self.circuit.supply
        live = self.node("live")
        self.source = self.unknown(differential=supply.inductance > 0.0)
        if live >= 0:
            self.a += [(self.source, live, -1.0), (live, self.source, -1.0)]
        self.a.append((self.source, self.source, -supply.resistance))
        if supply.inductance > 0.0:
            self.b.append((self.source, self.source, -supply.inductance))
        self.joined.append((live, -1))
        harmonics = {order: share for order, share in supply.shape.items() if order > 1 and share}
        peak = supply.voltage * math.sqrt(2.0 / (1.0 + sum(share**2 for share in harmonics.values())))
        self.waves = [(1.0, peak), *((float(order), peak * share) for order, share in harmonics.items())]
        self.omega = 2.0 * math.pi * supply.frequency

    def mains(self, t: float) -> float:
        return sum(peak * math.sin(n * self.omega * t) for n, peak in self.waves)

    def mains_rate(self, t: float) -> float:
        return sum(peak * n * self.omega * math.cos(n * self.omega * t) for n, peak in self.waves)

    # Linear parts ---------------------------------------------------------------------------------------------------

    def _ohmic(self, e: Element, ohms: float) -> Part:
        a, b = self.two(e)
        return self.single(a, b, self.conductor(a, b, e.parallel / (e.series * ohms)))

    def _resistor(self, e: Element) -> Part:
        return self._ohmic(e, e.number("value"))

    def _relay(self, e: Element) -> Part:
        return self._ohmic(e, e.number("resistance"))

    def _switch(self, e: Element) -> Part:
        return self._ohmic(e, 0.01 if e.values["closed"] else 100e6)

    _thermostat = _switch

    def _fuse(self, e: Element) -> Part:
        return self._ohmic(e, e.number("resistance"))

    def _thermistor(self, e: Element) -> Part:
        if e.values["warm"] and e.values.get("hot") is None:
            raise RefereeError("a warm thermistor needs its hot resistance here")
        return self._ohmic(e, e.number("hot" if e.values["warm"] else "cold"))

    def _lamp(self, e: Element) -> Part:
        if e.ref not in self.filaments:
            raise RefereeError(f"the resistance of {e.ref} has to be given")
        return self._ohmic(e, self.filaments[e.ref])

    _heater = _lamp

    def _potentiometer(self, e: Element) -> Part:
        x, taper = e.number("position"), e.values["taper"]
        p = {"linear": x, "log": (81.0**x - 1.0) / 80.0, "reverse-log": 1.0 - (81.0 ** (1.0 - x) - 1.0) / 80.0}[taper]
        wiper = self.node(e.node("wiper"))
        heat = []
        for pin, share in (("a", p), ("b", 1.0 - p)):
            if e.node(pin) is not None:
                end = self.node(e.node(pin))
                ends = (end, wiper) if pin == "a" else (wiper, end)
                ohms = max(e.number("value") * share, 1.0) * e.series / e.parallel
                heat.append((self.across(*ends), self.conductor(*ends, 1.0 / ohms)))
        voltage = heat[0][0] if len(heat) == 1 else self.across(self.node(e.node("a")), self.node(e.node("b")))
        return Part(voltage, heat[0][1], heat)

    def _capacitor(self, e: Element) -> Part:
        a, b = self.two(e)
        farads, esr = e.number("value") * e.parallel / e.series, e.number("esr") * e.series / e.parallel
        u, i = self.unknown(differential=True), self.unknown()
        self.b.append((u, u, farads))
        self.a += [(u, i, -1.0), (i, u, -1.0), (i, i, -esr)]
        self.a += [(i, at, value) for at, value in self.across(a, b).items()]
        current = self.flow(a, b, Current({i: 1.0}))
        self.states[e.ref] = [u]
        heat = [({i: esr}, current)] if esr > 0.0 else []
        return Part(self.across(a, b), current, heat)

    def _coils(self, e: Element, pairs: list[tuple[int, int]], ohms: list[float], henries: list[list[float]]) -> Part:
        scale = e.series / e.parallel
        rows = [self.branch(*pair, r * scale) for pair, r in zip(pairs, ohms, strict=True)]
        for row, line in zip(rows, henries, strict=True):
            self.b += [(row, other, -value * scale) for other, value in zip(rows, line, strict=True)]
        self.states[e.ref] = rows
        self.coils.update(rows)
        heat = [({row: r * scale}, Current({row: 1.0})) for row, r in zip(rows, ohms, strict=True) if r > 0.0]
        return Part(self.across(*pairs[0]), Current({rows[0]: 1.0}), heat)

    def _inductor(self, e: Element) -> Part:
        return self._coils(e, [self.two(e)], [e.number("resistance")], [[e.number("value")]])

    def _motor(self, e: Element) -> Part:
        if not e.number("inductance"):
            return self._ohmic(e, e.number("resistance"))
        return self._coils(e, [self.two(e)], [e.number("resistance")], [[e.number("inductance")]])

    def _transformer(self, e: Element) -> Part:
        p1, p2, s1, s2 = (self.node(node) for node in e.nodes)
        n, main, leakage = e.number("ratio"), e.number("magnetising"), e.number("leakage")
        if leakage <= 0.0:
            raise RefereeError("a transformer needs leakage here")
        henries = [[main + leakage, main / n], [main / n, main / n**2]]
        ohms = [e.number("resistance_primary"), e.number("resistance_secondary")]
        return self._coils(e, [(p1, p2), (s1, s2)], ohms, henries)

    def _choke(self, e: Element) -> Part:
        a1, a2, b1, b2 = (self.node(node) for node in e.nodes)
        own, mutual = e.number("value"), e.number("coupling") * e.number("value")
        return self._coils(e, [(a1, a2), (b1, b2)], [e.number("resistance")] * 2, [[own, mutual], [mutual, own]])

    # Curves ---------------------------------------------------------------------------------------------------------

    def curved(self, e: Element, a: int, b: int, kind: int, par: tuple[float, ...], leak: float = LEAK) -> Current:
        """A curve of one member, folded, with its leak [S]; its current flows from a to b."""
        k = self.curve(kind, self.across(a, b, 1.0 / e.series), par)
        self.joined.append((a, b))
        if kind == LIMITER:
            self.stray(a, b)
        return self.flow(a, b, Current(self.across(a, b, leak * e.parallel / e.series), {k: e.parallel}))

    def _junction(self, e: Element, a: int, b: int, *, series: float = 1.0, parallel: float = 1.0) -> Current:
        slope = e.number("slope")
        saturation = parallel * e.number("test_current") * math.exp(-e.number("forward_voltage") / slope)
        return self.curved(e, a, b, EXPONENTIAL, (saturation, slope * series))

    def _diode(self, e: Element) -> Part:
        a, b = self.two(e)
        return self.single(a, b, self._junction(e, a, b))

    def _led(self, e: Element) -> Part:
        a, b = self.two(e)
        return self.single(
            a, b, self._junction(e, a, b, series=e.number("series"), parallel=e.number("parallel"))
        )  # fmt: skip

    def _bridge(self, e: Element) -> Part:
        ac1, ac2, plus, minus = (self.node(node) for node in e.nodes)
        pairs = ((ac1, plus), (ac2, plus), (minus, ac1), (minus, ac2))
        currents = [self._junction(e, *pair) for pair in pairs]
        heat = [(self.across(*pair), current) for pair, current in zip(pairs, currents, strict=True)]
        return Part(self.across(plus, minus), currents[0] + currents[1], heat)

    def _zener(self, e: Element) -> Part:
        a, b = self.two(e)
        ohms = e.number("slope_resistance")
        foot = e.number("voltage") - e.number("test_current") * ohms
        forward = (math.exp(-e.number("forward_voltage") / 0.05), 0.05)
        current = self.curved(e, a, b, EXPONENTIAL, forward)
        return self.single(a, b, current + self.curved(e, a, b, KNEE, (foot, ohms, 0.0, 1.0), 0.0))

    def _varistor(self, e: Element) -> Part:
        a, b = self.two(e)
        par = (e.number("voltage"), 1e-3, e.number("exponent"))
        return self.single(a, b, self.curved(e, a, b, POWER, par, 0.0))

    def _regulator(self, e: Element) -> Part:
        a, b = self.two(e)
        return self.single(a, b, self.curved(e, a, b, LIMITER, (e.number("limit"), e.number("dropout"))))

    def _converter(self, e: Element) -> Part:
        a, b = self.two(e)
        par = (e.number("power"), e.number("minimum_voltage"))
        return self.single(a, b, self.curved(e, a, b, STEADY, par, 0.0))

    def _gated(self, e: Element, *, one_way: bool) -> Part:
        first, second, gate = (self.node(node) for node in e.nodes)
        low = second if one_way else first
        high = first if one_way else second
        leak = 1.0 / e.number("off_resistance")
        par = (e.number("on_voltage"), e.number("on_resistance"), 1.0, 0.0 if one_way else 1.0)
        main = self.curved(e, high, low, KNEE, par, leak)
        at = len(self.curve_rows) - 1
        par = (e.number("gate_voltage"), e.number("gate_resistance"), 1.0, 1.0)
        control = self.curved(e, gate, low, KNEE, par, 1.0 / e.number("gate_shunt"))
        holding = e.number("holding_current")
        latching = e.values.get("latching_current")
        self.latches.append(
            Latch(
                ref=e.ref,
                main=at,
                gate=len(self.curve_rows) - 1,
                fires=(e.number("gate_current"),) * 2,
                holding=holding,
                latching=holding if latching is None else float(latching),
                one_way=one_way,
                leak=leak,
            )
        )
        row = self.across(high, low)
        return Part(row, main, [(row, main), (self.across(gate, low), control)])

    def _triac(self, e: Element) -> Part:
        return self._gated(e, one_way=False)

    def _thyristor(self, e: Element) -> Part:
        return self._gated(e, one_way=True)

    def _breakover(
        self, e: Element, fires: tuple[float, float], on_volts: float, on_ohms: float, off_ohms: float, holding: float
    ) -> Part:
        a, b = self.two(e)
        current = self.curved(e, a, b, KNEE, (on_volts, on_ohms, 1.0, 1.0), 1.0 / off_ohms)
        self.latches.append(
            Latch(
                ref=e.ref,
                main=len(self.curve_rows) - 1,
                gate=None,
                fires=fires,
                holding=holding,
                latching=0.0,
                one_way=False,
                leak=1.0 / off_ohms,
            )
        )
        return self.single(a, b, current)

    def _diac(self, e: Element) -> Part:
        # The format leaves open how `asymmetry` is shared out; the package puts half of it on either side.
        middle, half = e.number("breakover"), 0.5 * e.number("asymmetry")
        return self._breakover(
            e,
            (middle + half, middle - half),
            middle - e.number("breakback"),
            e.number("on_resistance"),
            e.number("off_resistance"),
            e.number("holding_current"),
        )

    def _indicator(self, e: Element) -> Part:
        # Left open by the format, as the package has it: 1 Gohm dark, lit down to 20 uA.
        strike = e.number("strike")
        return self._breakover(
            e, (strike, strike), e.number("maintain"), max(e.number("series"), 100.0), 1e9, 20e-6
        )  # fmt: skip

    def _transistor(self, e: Element) -> Part:
        """Ebers and Moll (1954), transport form, 1 mA at `base_voltage`; reverse gain from the saturation voltage."""
        base, collector, emitter = (self.node(node) for node in e.nodes)
        sign = -1.0 if e.values["polarity"] == "pnp" else 1.0
        gain = e.number("gain")
        # V_CE = V_T ln((1 + 11/B_R) / (1 - 10/B_F)) at a collector current ten times the base current.
        reverse = 11.0 / (math.exp(e.number("saturation") / laws.THERMAL) * (1.0 - 10.0 / gain) - 1.0)
        par = (1e-3 * math.exp(-e.number("base_voltage") / laws.THERMAL), laws.THERMAL)
        heat = []
        through = Current()
        for other, beta, way in ((emitter, gain, 1.0), (collector, reverse, -1.0)):
            k = self.curve(EXPONENTIAL, self.across(base, other, sign / e.series), par)
            leak = self.across(base, other, LEAK * e.parallel / e.series)
            own = self.flow(base, other, Current(leak, {k: sign * e.parallel / beta}))
            heat.append((self.across(base, other), own))
            through += Current({}, {k: way * sign * e.parallel})
            self.joined.append((base, other))
        self.flow(collector, emitter, through)
        heat.append((self.across(collector, emitter), through))
        return Part(self.across(collector, emitter), through + heat[1][1].times(-1.0), heat)

    def _mosfet(self, e: Element) -> Part:
        """Square law (Shichman and Hodges 1968), `on_resistance` before the drain, body diode from source to drain."""
        gate, drain, source = (self.node(node) for node in e.nodes)
        sign = -1.0 if e.values["polarity"] == "p" else 1.0
        inner = self.unknown()
        series = self.conductor(drain, inner, e.parallel / (e.series * e.number("on_resistance")))
        par = (e.number("transconductance"), e.number("threshold"))
        channel = Current(self.across(inner, source, LEAK))
        for end, way in ((source, 1.0), (inner, -1.0)):
            k = self.curve(SQUARE, self.across(gate, end, sign / e.series), par)
            channel += Current({}, {k: way * sign * e.parallel})
        self.flow(inner, source, channel)
        self.conductor(gate, source, LEAK)
        heat = [(self.across(drain, inner), series), (self.across(inner, source), channel)]
        current = series
        if e.values["body_diode"]:
            ends = (source, drain) if sign > 0.0 else (drain, source)
            body = self.curved(e, *ends, EXPONENTIAL, (math.exp(-0.93 / 0.05), 0.05))
            heat.append((self.across(*ends), body))
            current = series + body.times(-sign)
        self.joined.append((inner, source))
        return Part(self.across(drain, source), current, heat)

    # Laying out -----------------------------------------------------------------------------------------------------

    def _tie(self) -> None:
        """Ties every side that no conductor joins to neutral."""
        group = list(range(-1, self.size))

        def root(k: int) -> int:
            while group[k + 1] != k:
                k = group[k + 1]
            return k

        for a, b in self.joined:
            group[root(max(a, b)) + 1] = root(min(a, b))
        nodes = {*self.nodes.values(), *(k for pair in self.joined for k in pair if k >= 0)}
        tied: set[int] = set()
        for k in sorted(nodes):
            if root(k) != root(-1) and root(k) not in tied:
                tied.add(root(k))
                self.a.append((k, k, TIE))

    def matrix(self, entries: list[tuple[int, int, float]], rows: int) -> Floats:
        out = np.zeros((rows, self.size))
        for row, col, value in entries:
            out[row, col] += value
        return out

    def dense(self, row: Row, size: int) -> Floats:
        out = np.zeros(size)
        for k, value in row.items():
            out[k] += value
        return out

    def _lay_out(self) -> None:
        # Curves sorted by law, so that each law is one call on a slice.
        order = sorted(range(len(self.curve_rows)), key=lambda k: self.curve_rows[k][0])
        self.place = {old: new for new, old in enumerate(order)}
        self.curves = len(order)
        self.groups: list[tuple[int, slice, Floats]] = []
        kinds = [self.curve_rows[old][0] for old in order]
        for kind in sorted(set(kinds)):
            first, count = kinds.index(kind), kinds.count(kind)
            par = np.array([self.curve_rows[old][2] for old in order[first : first + count]], dtype=float).T
            assert par.shape == (COLUMNS[kind], count)
            self.groups.append((kind, slice(first, first + count), np.ascontiguousarray(par)))
        self.A, self.B = self.matrix(self.a, self.size), self.matrix(self.b, self.size)
        self.S = np.array([self.dense(self.curve_rows[old][1], self.size) for old in order]).reshape(-1, self.size)
        self.P = np.zeros((self.size, self.curves))
        for row, k, share in self.flows:
            self.P[row, self.place[k]] += share
        for latch in self.latches:
            latch.main = self.place[latch.main]
            latch.gate = self.place[latch.gate] if latch.gate is not None else None
        self.algebraic = [k for k in range(self.size) if k not in set(self.differential)]
        self.active = np.ones(self.curves)
        self.switch()

    def rows(self, current: Current) -> tuple[Floats, Floats]:
        """A current as a dense row over the unknowns and one over the curves."""
        return (
            self.dense(current.linear, self.size),
            self.dense({self.place[k]: v for k, v in current.curves.items()}, self.curves),
        )  # fmt: skip

    def switch(self) -> None:
        """Lets the main path of each latch conduct where it is on."""
        for latch in self.latches:
            self.active[latch.main] = 1.0 if latch.on else 0.0

    def evaluate(self, v: Floats) -> tuple[Floats, Floats]:
        """Currents and slopes of all curves at their voltages."""
        i, g = np.empty(self.curves), np.empty(self.curves)
        for kind, span, par in self.groups:
            i[span], g[span] = LAWS[kind](v[span], *par)
        return i * self.active, g * self.active

    def limited(self, to: Floats, v: Floats) -> Floats:
        """Curve voltages on the way from `v` to `to`: an exponential rises as far as its straight line promised."""
        out = to.copy()
        for kind, span, par in self.groups:
            if kind == EXPONENTIAL:
                slope = par[1]
                top = slope * np.log(1e-3 / par[0])  # a milliampere: below it nothing runs away
                base = np.maximum(v[span], np.minimum(top, to[span]))
                rise = np.log1p(np.maximum(to[span] - base, 0.0) / slope) * slope
                out[span] = np.where(to[span] > base, base + rise, to[span])
        return out

    def currents(self, x: Floats) -> Floats:
        """Currents of all curves at several instants, a row of unknowns each."""
        v = x @ self.S.T
        out = np.empty_like(v)
        for kind, span, par in self.groups:
            out[:, span] = LAWS[kind](v[:, span], *par)[0]
        return out * self.active
