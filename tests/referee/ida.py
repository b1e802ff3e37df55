"""The referee: SUNDIALS IDA (scikit-sundae) with an analytic Jacobian on the system of `network`, flips of the latches
found by its root finding, started afresh at each.

`referee(circuit, cycles=8)` runs whole mains cycles from rest, or from a given start, and returns the figures of the
last one. Means (power, rms, part powers) come from integrals that IDA carries along as unknowns of their own; peaks and
harmonics from 2,000 points of the last cycle and the points around each flip.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from sksundae.ida import IDA
from tests.referee.laws import Floats
from tests.referee.network import Current, Latch, Network, RefereeError

from lidoff.circuit import Circuit

RTOLS = (1e-7, 1e-8)  # tried in turn: where IDA's corrector gives up, closer steps often keep it on the path
POINTS = 2000  # a cycle
_AFTER = np.geomspace(1e-8, 1e-4, 80)  # [s] after a flip: the discharge of a snubber is over in microseconds


class IdaStoppedError(RefereeError):
    """IDA did not reach the end."""


@dataclass(frozen=True)
class Start:
    """Capacitor voltages [V] and coil currents [A] by part, latches that are on by part with their direction."""

    states: Mapping[str, list[float]] = field(default_factory=dict)
    latches: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Verdict:
    """Figures of the last cycle, named as the record format names them, and how that cycle was reached."""

    current_rms: float
    current_peak: float
    power: float
    power_factor: float
    thd: float
    displacement_factor: float
    light_mean: float | None  # LEDs in series times amperes
    light_max: float | None
    percent_flicker: float | None
    mean_current: float | None
    parts: Mapping[str, Mapping[str, float]]
    remainder: float  # what the last cycle changed, share of the largest value of each state
    balance: float  # input energy less heat less change of stored energy, share of the input
    flips: list[tuple[float, str, str]]  # [s] within the last cycle, part, what
    time: Floats
    calls: int  # of the residual


class _System:
    """The network with its integrals, as IDA wants it."""

    def __init__(self, network: Network, *, parts: bool) -> None:
        self.net = network
        # Quantities q = M y + K f, the first of them the number one; integrals of products of two of them.
        quantities: list[Current] = [Current()]
        self.names: list[str] = []
        pairs: list[tuple[int, int]] = []

        def quantity(what: Current) -> int:
            quantities.append(what)
            return len(quantities) - 1

        def integral(name: str, first: int, second: int) -> None:
            self.names.append(name)
            pairs.append((first, second))

        volts = quantity(Current({network.node("live"): 1.0}))
        amps = quantity(Current({network.source: 1.0}))
        integral("energy", volts, amps)
        integral("current2", amps, amps)
        integral("voltage2", volts, volts)
        self.lamps = [e for e in network.circuit.elements if e.kind == "led"]
        total = Current()
        for e in self.lamps:
            through = network.parts[e.ref].current
            integral(f"charge {e.ref}", 0, quantity(through))
            total += through.times(e.number("series") * e.series)
        self.light = quantity(total)
        integral("light", 0, self.light)
        self.seen: dict[str, tuple[int, int]] = {}
        for ref, part in network.parts.items():
            v, i = quantity(Current(part.voltage)), quantity(part.current)
            self.seen[ref] = (v, i)
            if parts:
                integral(f"voltage2 {ref}", v, v)
                integral(f"current2 {ref}", i, i)
                for across, flow in part.heat:
                    integral(f"heat {ref}", quantity(Current(across)), quantity(flow))
        self.n, self.whole = network.size, network.size + len(pairs)
        self.first, self.second = (np.array(row) for row in zip(*pairs, strict=True))
        rows = [network.rows(what) for what in quantities]
        self.M, self.K = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])

    def quantities(self, x: Floats, i: Floats) -> Floats:
        q = self.M @ x + self.K @ i
        q[0] = 1.0
        return q

    def residual(self, t: float, y: Floats, yp: Floats, res: Floats) -> None:
        net, n = self.net, self.n
        x = y[:n]
        i, _ = net.evaluate(net.S @ x)
        out = net.A @ x
        out += net.B @ yp[:n]
        out += net.P @ i
        out[net.source] += net.mains(t)
        res[:n] = out
        q = self.quantities(x, i)
        res[n:] = yp[n:] - q[self.first] * q[self.second]

    def jacobian(self, t: float, y: Floats, yp: Floats, res: Floats, cj: float, out: Floats) -> None:
        net, n = self.net, self.n
        x = y[:n]
        i, g = net.evaluate(net.S @ x)
        gs = g[:, None] * net.S
        out[:n, :n] = net.A + cj * net.B + net.P @ gs
        out[:n, n:] = 0.0
        q, slopes = self.quantities(x, i)[:, None], self.M + self.K @ gs
        out[n:, :n] = -(q[self.second] * slopes[self.first] + q[self.first] * slopes[self.second])
        out[n:, n:] = cj * np.eye(self.whole - n)

    def consistent(self, t: float, y: Floats) -> Floats:
        """Puts the algebraic unknowns of `y` right for its states, in place; returns the derivatives."""
        slope = self._consistent(t, y, np.zeros(self.n))
        return self._consistent(t, y, self.net.B @ slope[: self.n])  # now with what the stray capacitances take

    def _consistent(self, t: float, y: Floats, stray: Floats) -> Floats:
        net, n = self.net, self.n
        x, free = y[:n].copy(), net.algebraic
        inner = np.ix_(free, free)
        scale = np.maximum(np.abs(net.A).max(axis=1), 1e-12)[free]
        v = net.S @ x
        for _ in range(300):
            i, g = net.evaluate(v)
            off = net.A @ x + net.P @ (i + g * (net.S @ x - v))
            off[net.source] += net.mains(t)
            jacobian = (net.A + net.P @ (g[:, None] * net.S))[inner]
            step = np.linalg.solve(jacobian / scale[:, None], -(off + stray)[free] / scale)
            x[free] += step
            before, v = v, net.limited(net.S @ x, v)
            apart = np.maximum(np.abs(v - net.S @ x), 0.1 * np.abs(v - before))
            if float(apart.max(initial=0.0)) < 1e-9:
                break
        else:
            raise RefereeError(f"no consistent start at {t:.6f} s")
        y[:n] = x
        i, g = net.evaluate(net.S @ x)
        own = net.differential
        slope = np.zeros(self.whole)
        balance = net.A @ x + net.P @ i
        balance[net.source] += net.mains(t)
        if own:
            slope[own] = np.linalg.solve(net.B[np.ix_(own, own)], -balance[own])
        whole = net.A + net.P @ (g[:, None] * net.S)
        moved = whole @ slope[:n]
        moved[net.source] += net.mains_rate(t)
        slope[free] = np.linalg.solve(whole[inner] / scale[:, None], -moved[free] / scale)
        q = self.quantities(x, i)
        slope[n:] = q[self.first] * q[self.second]
        return slope

    # Latches --------------------------------------------------------------------------------------------------------

    def watched(self) -> list[tuple[Latch, str]]:
        """The changes that may come next."""
        out = []
        for latch in self.net.latches:
            if latch.gate is None:
                out.append((latch, "opens" if latch.on else "fires"))
            elif not latch.on:
                out.append((latch, "fires"))
            elif latch.gated:
                out.append((latch, "gate falls"))
                out.append((latch, "turns" if latch.reached else "latches"))
            else:
                out.append((latch, "gate rises"))
                out.append((latch, "opens"))
        return out

    def trigger(self, latch: Latch, what: str, v: Floats, i: Floats) -> float:
        """Rises through zero where that change comes."""
        member = i[latch.main]
        if latch.gate is None:
            if what == "fires":
                return max(v[latch.main] / latch.fires[0], -v[latch.main] / latch.fires[1]) - 1.0
            return 1.0 - latch.reached * member / latch.holding
        gate = i[latch.gate] if latch.one_way else abs(i[latch.gate])
        if what in ("fires", "gate rises"):
            return gate / latch.fires[0] - 1.0
        if what == "gate falls":
            return 1.0 - gate / latch.fires[0]
        if what == "latches":
            return abs(member) / latch.latching - 1.0
        if what == "turns":
            return -latch.reached * member / latch.latching
        return 1.0 - latch.reached * member / latch.holding

    def curves(self, x: Floats) -> tuple[Floats, Floats]:
        """Voltages and currents of the curves, with the leaks that the format's thresholds count."""
        net = self.net
        v = net.S @ x
        i, _ = net.evaluate(v)
        for latch in net.latches:
            i[latch.main] += v[latch.main] * latch.leak
            if latch.gate is not None:
                element = net.circuit.element(latch.ref)
                assert element is not None
                i[latch.gate] += v[latch.gate] / element.number("gate_shunt")
        return v, i

    def flip(self, latch: Latch, what: str, v: Floats, i: Floats) -> None:
        if latch.gate is None:
            latch.on = what == "fires"
            latch.reached = int(math.copysign(1.0, v[latch.main]))
        elif what == "fires":
            latch.on, latch.gated, latch.reached = True, True, 0
        elif what == "latches":
            latch.reached = int(math.copysign(1.0, i[latch.main]))
        elif what == "turns":
            latch.reached = 0
        elif what == "gate rises":
            latch.gated = True
        elif what == "gate falls":
            latch.gated = False
            latch.on = latch.reached != 0
        else:
            latch.on = latch.gated = False
            latch.reached = 0
        self.net.switch()


def referee(
    circuit: Circuit,
    *,
    cycles: int,
    start: Start | None = None,
    filaments: Mapping[str, float] | None = None,
    parts: bool = True,
    rtols: tuple[float, ...] = RTOLS,
    points: int = POINTS,
) -> Verdict:
    """The figures of the last of `cycles` mains cycles from rest (or from `start`).

    Without `parts` only what the input and the light need is integrated. Raises RefereeError where IDA gives up or a
    latch flips without end.
    """
    for rtol in rtols:
        net = Network(circuit, filaments)
        try:
            return _Run(net, _System(net, parts=parts), start or Start(), rtol).verdict(cycles, points)
        except IdaStoppedError as error:
            last = error
    raise last


def cycle_by_cycle(
    circuit: Circuit, *, cycles: int, filaments: Mapping[str, float] | None = None, rtol: float = RTOLS[0]
) -> list[tuple[float, float]]:
    """Rms current [A] and power [W] of each of the first `cycles` from rest."""
    net = Network(circuit, filaments)
    run = _Run(net, _System(net, parts=False), Start(), rtol)
    period = 1.0 / circuit.supply.frequency
    ends = period * np.arange(cycles + 1)
    t, y, _ = run.stretch(0.0, cycles * period, ends)
    rows = [int(np.searchsorted(t, end - 1e-9)) for end in ends]
    names = run.system.names
    columns = [run.system.n + names.index(name) for name in ("current2", "energy")]
    means = np.diff(y[rows][:, columns], axis=0) / period
    return [(math.sqrt(squares), watts) for squares, watts in means]


class _Run:
    def __init__(self, net: Network, system: _System, start: Start, rtol: float) -> None:
        self.net, self.system, self.rtol = net, system, rtol
        self.y = np.zeros(system.whole)
        for ref, values in start.states.items():
            self.y[net.states[ref]] = values
        for latch in net.latches:
            latch.reached = start.latches.get(latch.ref, 0)
            latch.on = latch.reached != 0
        net.switch()
        self.flips: list[tuple[float, str, str]] = []
        self.calls = 0
        # IDA's error test looks at every unknown. Currents through a few ohms into a large capacitor repeat the noise
        # of its voltage a thousandfold, so voltages are asked for closely and algebraic currents are not.
        self.atol = np.full(system.whole, rtol * 10.0)
        self.atol[list(net.coils)] = rtol * 0.1
        # What an integral comes to over a cycle, roughly: joules of the input and of a part, A2s, V2s, ampere-seconds.
        scales = {"energy": 0.1, "heat": 1e-2, "current2": 1e-4, "voltage2": 1e3, "light": 1e-2, "charge": 1e-4}
        self.atol[system.n :] = [rtol * scales[name.split()[0]] for name in system.names]

    def _settle_latches(self, t: float) -> Floats:
        """Flips whatever is due at once; a consistent start."""
        for _ in range(12):
            slope = self.system.consistent(t, self.y)
            v, i = self.system.curves(self.y[: self.system.n])
            due = [
                (latch, what)
                for latch, what in self.system.watched()
                if self.system.trigger(latch, what, v, i) > 1e-6
            ]  # fmt: skip
            if not due:
                return slope
            latch, what = due[0]
            self._flip(t, latch, what, v, i)
        raise RefereeError(f"a latch flips without end at {t:.6f} s")

    def stretch(self, t0: float, t1: float, times: Floats) -> tuple[Floats, Floats, Floats]:
        """From t0 to t1: instants, unknowns and curve currents at `times`, and around flips after the first of them."""
        seen: list[tuple[Floats, Floats, Floats]] = []

        def keep(at: Floats, y: Floats) -> None:
            wanted = at >= times[0] - 1e-12
            seen.append((at[wanted], y[wanted], self.net.currents(y[wanted][:, : self.system.n])))

        t = t0
        while True:
            slope = self._settle_latches(t)
            keep(np.array([t]), self.y[None, :].copy())
            watched = self.system.watched()
            wanted = times[(times > t + 1e-12) & (times < t1 - 1e-12)]
            if times[0] <= t and t > t0:
                after = t + _AFTER
                wanted = np.union1d(wanted, after[after < t1 - 1e-12])
            grid = np.concatenate([[t], wanted, [t1]])
            if grid.size == 2:  # else IDA would save each of its own steps
                grid = np.array([t, 0.5 * (t + t1), t1])
            result = self._solver(watched).solve(grid, self.y, slope)
            if not result.success:
                raise IdaStoppedError(f"IDA stopped at {result.t[-1]:.6f} s: {result.message}")
            self.calls += int(result.nfev)
            keep(np.array(result.t[1:]), np.array(result.y[1:]))
            if result.t_events is None or len(result.t_events) == 0:
                self.y = np.array(result.y[-1])
                rows = zip(*seen, strict=True)
                t_all, y_all, i_all = (np.concatenate(row) for row in rows)
                return t_all, y_all, i_all
            t = float(result.t_events[-1])
            self.y = np.array(result.y_events[-1])
            latch, what = watched[int(np.flatnonzero(result.i_events[-1])[0])]
            v, i = self.system.curves(self.y[: self.system.n])
            self._flip(t, latch, what, v, i)

    def _flip(self, t: float, latch: Latch, what: str, v: Floats, i: Floats) -> None:
        self.system.flip(latch, what, v, i)
        self.flips.append((t, latch.ref, what))
        if len(self.flips) > 4000:
            raise RefereeError("a latch flips without end")

    def _solver(self, watched: list[tuple[Latch, str]]) -> IDA:
        system = self.system
        options: dict[str, Any] = {}
        if watched:

            def events(t: float, y: Floats, yp: Floats, out: Floats) -> None:
                v, i = system.curves(y[: system.n])
                for k, (latch, what) in enumerate(watched):
                    out[k] = system.trigger(latch, what, v, i)

            events.terminal = [True] * len(watched)  # type: ignore[attr-defined]
            events.direction = [1] * len(watched)  # type: ignore[attr-defined]
            options = {"eventsfn": events, "num_events": len(watched)}
        return IDA(
            system.residual,
            jacfn=system.jacobian,
            algebraic_idx=self.net.algebraic,
            rtol=self.rtol,
            atol=self.atol,
            max_step=2e-4,
            max_num_steps=50_000,
            **options,
        )

    def verdict(self, cycles: int, points: int) -> Verdict:
        period = 1.0 / self.net.circuit.supply.frequency
        t0 = (cycles - 1) * period
        times = t0 + period * np.arange(points) / points
        t, y, curves = self.stretch(0.0, cycles * period, times)
        return _figures(self, period, t - t0, y, curves, t0)


def _figures(run: _Run, period: float, t: Floats, y: Floats, curves: Floats, t0: float) -> Verdict:
    net, system = run.net, run.system
    before = y[0]
    mean: dict[str, float] = {}
    for name, value in zip(system.names, (run.y - before)[system.n :] / period, strict=True):
        mean[name] = mean.get(name, 0.0) + float(value)
    waves = y[:, : system.n] @ system.M.T + curves @ system.K.T
    current, voltage = waves[:, 2], waves[:, 1]
    rms, volts, watts = math.sqrt(mean["current2"]), math.sqrt(mean["voltage2"]), mean["energy"]
    harmonics = np.abs([_fourier(t, current, order, period) for order in range(1, 41)])
    parted = any(name.startswith("voltage2 ") for name in system.names)
    figures: dict[str, dict[str, float]] = {}
    for ref, (at_v, at_i) in system.seen.items() if parted else ():
        element = net.circuit.element(ref)
        assert element is not None
        v, i = waves[:, at_v] / element.series, waves[:, at_i] / element.parallel
        figures[ref] = {
            "voltage_rms": math.sqrt(mean[f"voltage2 {ref}"]) / element.series,
            "voltage_mean": _mean(t, v),
            "voltage_peak": float(np.abs(v).max()),
            "current_rms": math.sqrt(mean[f"current2 {ref}"]) / element.parallel,
            "current_mean": _mean(t, i),
            "current_peak": float(np.abs(i).max()),
            "power": mean.get(f"heat {ref}", 0.0),
        }
    heat = sum(row["power"] for row in figures.values())
    states = [k for rows in net.states.values() for k in rows]
    change = np.abs(run.y[states] - before[states])
    largest = np.maximum(np.abs(y[:, states]).max(axis=0, initial=0.0), 1e-9)
    stored = _stored(net, run.y) - _stored(net, before)
    fundamental, lag = (_fourier(t, wave, 1, period) for wave in (current, voltage))
    light = waves[:, system.light]
    lit: dict[str, float | None] = dict.fromkeys(("light_mean", "light_max", "percent_flicker", "mean_current"))
    if system.lamps:
        high, low = float(light.max()), float(light.min())
        best = max(system.lamps, key=lambda e: e.number("series") * e.series * mean[f"charge {e.ref}"])
        lit = {
            "light_mean": mean["light"],
            "light_max": high,
            "percent_flicker": 100.0 * (high - low) / (high + low),
            "mean_current": mean[f"charge {best.ref}"] / best.parallel,
        }
    return Verdict(
        current_rms=rms,
        current_peak=float(np.abs(current).max()),
        power=watts,
        power_factor=watts / (rms * volts),
        thd=math.sqrt(float(np.sum(harmonics[1:] ** 2))) / harmonics[0],
        displacement_factor=math.cos(float(np.angle(fundamental) - np.angle(lag))),
        parts=figures,
        remainder=float((change / largest).max(initial=0.0)),
        balance=(watts - heat - stored / period) / watts if parted else math.nan,
        flips=[(at - t0, ref, what) for at, ref, what in run.flips if at >= t0],
        time=t,
        calls=run.calls,
        **lit,
    )


def _mean(t: Floats, wave: Floats) -> float:
    return float(np.trapezoid(wave, t)) / float(t[-1] - t[0])


def _fourier(t: Floats, wave: Floats, order: int, period: float) -> complex:
    """The Fourier coefficient of a wave that runs straight between its points."""
    w = 2.0 * math.pi * order / period
    h = np.diff(t)
    keep = h > 0.0
    first, second, at, h = wave[:-1][keep], wave[1:][keep], t[:-1][keep], h[keep]
    bend = (second - first) / h
    e0, e1 = np.exp(-1j * w * at), np.exp(-1j * w * (at + h))
    part = (second * e1 - first * e0) / (-1j * w) - bend * (e1 - e0) / (-1j * w) ** 2
    return complex(2.0 / period * part.sum())


def _stored(net: Network, y: Floats) -> float:
    rows = [k for k in net.differential if k != net.source]
    x = y[rows]
    return 0.5 * abs(float(x @ np.abs(net.B[np.ix_(rows, rows)]) @ x))
