"""Switched on at the worst instant: how much current comes, for how long, and what it does to fuse and rectifier.

Everything starts from rest and cold: thermistors and filaments have their cold resistance throughout, which is the most
that can happen. I2t is taken over the first half-cycle, the time for which the I2t of fuses and rectifiers is stated.

Where nobody wrote the mains' impedance, peaks are followed behind the whole reference impedance of IEC 60725, whose
coil holds back a surge of microseconds. I2t and energy are still worked out without that coil: how hard a socket is
nobody knows, and no fuse, rectifier or resistor is to look better for what was assumed. (A capacitor charged through a
resistance alone puts C V^2 / 2 into it; with a coil in front it overshoots behind a rectifier and puts in less.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from lidoff.circuit import behind_reference, with_coil, with_values
from lidoff.circuit.model import Circuit, CircuitError, Element, Mains
from lidoff.cycle import Point, Solution, solve, transient
from lidoff.cycle.filament import filaments, hot_resistance, with_resistances
from lidoff.quantity import engineering
from lidoff.standards.measuring import IMPEDANCE
from lidoff.studies.errors import StudyError
from lidoff.studies.fuses import fuse_of, melting_i2t
from lidoff.studies.ratings import ratings_of
from lidoff.studies.traces import Floats, Trace, of_solution, of_stretch, pulled

_ANGLES: Final = 24  # switch-on angles tried first, then the neighbourhood of the worst
_CYCLES: Final = 1.5  # looked at for the peak
_LONG: Final = (0.1, 0.5, 2.0)  # [s] looked at, in turn, for the charging of capacitors
# A one-ampere rectifier stands one half-sine of 30 A and 8.3 ms (from memory): 30^2 x 8.3 ms / 2. A triac stands about
# eight times its rms rating for a half-cycle of 10 ms (from memory).
_RECTIFIER_I2T: Final = 30.0**2 * 8.3e-3 / 2.0
_TRIAC_I2T: Final = 8.0**2 * 10e-3 / 2.0
Verdict = Literal["over", "within", "no rating"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Surge:
    """What one part sees at switch-on, per member of a block and per diode of a bridge.

    peak [A], i2t [A2s] over the first half-cycle, energy [J] turned into heat in it, peak_power [W]. `rating` [A2s] is
    the I2t it stands, `times` the share of it; `assumed` where a rule of thumb stands in, `why` says which.
    """

    part: str
    peak: float
    i2t: float
    energy: float
    peak_power: float
    rating: float | None
    times: float | None
    assumed: bool
    verdict: Verdict
    why: str

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "part": self.part,
            "current_peak": self.peak,
            "i2t": self.i2t,
            "energy": self.energy,
            "power_peak": self.peak_power,
            "rating": self.rating,
            "times": self.times,
            "assumed": self.assumed,
            "verdict": self.verdict,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Charging:
    """How long a smoothing capacitor takes to nine tenths of the mean `voltage` [V] that it settles at.

    `time` [s] is None where that is longer than was looked at.
    """

    part: str
    voltage: float
    time: float | None

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {"part": self.part, "voltage": self.voltage, "time": self.time}


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchOn:
    """The worst switch-on, or the one at the angle asked for.

    `angle` [deg] after the mains' rising zero; `peak` [A] at the terminals, `time` [s] after switch-on at which it
    comes, `i2t` [A2s] of the first half-cycle and `i2t_angle` [deg] at which that is largest, `settled_peak` [A] of the
    settled cycle (None where none was found). `again` [A] is the peak where the plug is put back with mains capacitors
    still charged, None where there are none. `curve` holds times [s] and currents [A] of the worst switch-on.
    """

    state: str | None
    angle: float
    searched: bool
    peak: float
    time: float
    i2t: float
    i2t_angle: float
    settled_peak: float | None
    again: float | None
    surges: tuple[Surge, ...]
    charging: tuple[Charging, ...]
    curve: tuple[tuple[float, ...], tuple[float, ...]]
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "state": self.state,
            "angle": self.angle,
            "searched": self.searched,
            "current_peak": self.peak,
            "time": self.time,
            "i2t": self.i2t,
            "i2t_angle": self.i2t_angle,
            "settled_peak": self.settled_peak,
            "again": self.again,
            "parts": [surge.as_json() for surge in self.surges],
            "charging": [charging.as_json() for charging in self.charging],
            "curve": {"time": list(self.curve[0]), "current": list(self.curve[1])},
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class _Trial:
    angle: float
    trace: Trace
    peak: float
    time: float
    i2t: float


def switch_on(circuit: Circuit, angle: float | None = None) -> SwitchOn:
    """The circuit switched on at `angle` [deg after the rising zero], or at the worst one, from rest and cold.

    Raises StudyError on a bench supply, CircuitError where no solution is found.
    """
    if circuit.supply.dc is not None:
        raise StudyError(
            "This state is fed by a bench supply, which limits its own current; switch-on is about the mains"
        )
    bare = cold(circuit)
    cool = behind_reference(bare)
    if angle is not None:
        worst = _trial(cool, angle)
        hottest = worst if cool is bare else _trial(bare, angle)
    else:
        worst, hottest = _search(cool, bare)
    settled = _settled(circuit)
    surges = [
        surge_of(element, circuit, worst.trace, hottest.trace, 0.5 / circuit.supply.frequency)
        for element in circuit.elements
    ]
    warnings = [*circuit.warnings, *mains_assumed(circuit.supply)]
    if settled is None:
        warnings.append("No settled cycle was found, so the surge is not compared with one.")
    return SwitchOn(
        state=circuit.state,
        angle=worst.angle,
        searched=angle is None,
        peak=worst.peak,
        time=worst.time,
        i2t=hottest.i2t,
        i2t_angle=hottest.angle,
        settled_peak=None if settled is None else float(np.abs(of_solution(settled).source).max()),
        again=None if settled is None else _again(cool, settled),
        surges=tuple(sorted(surges, key=lambda s: (s.times is None, -(s.times or 0.0), -s.i2t))),
        charging=() if settled is None else _charging(cool, settled, worst.angle),
        curve=(tuple(worst.trace.time.tolist()), tuple(worst.trace.source.tolist())),
        warnings=tuple(warnings),
    )


def mains_assumed(supply: Mains) -> tuple[str, ...]:
    """What was assumed of the mains for a switch-on, in one sentence; nothing where the record tells of it."""
    taken = with_coil(supply)
    if taken is supply:
        return ()
    return (
        f"Peaks at switch-on are those behind the reference impedance of IEC 60725 "
        f"({IMPEDANCE.number('resistance'):g} + j{IMPEDANCE.number('reactance'):g} ohm, a coil of "
        f"{engineering(taken.inductance, 'H', 2)}), as nobody wrote the mains' own: most sockets have less of both, "
        "and then more flows. I²t is worked out without that coil, so that no fuse or rectifier looks better for it.",
    )


def cold(circuit: Circuit) -> Circuit:
    """The circuit as it is after standing unused: thermistors, filaments and heaters at their cold resistance."""
    thermistors = {f"{e.ref}.warm": False for e in circuit.elements if e.kind == "thermistor"}
    cool = with_values(circuit, thermistors) if thermistors else circuit
    return with_resistances(cool, {e.ref: hot_resistance(e) * e.number("cold_ratio") for e in filaments(cool)})


def _trial(circuit: Circuit, angle: float, start: Point | None = None) -> _Trial:
    period = 1.0 / circuit.supply.frequency
    since = angle / 360.0 * period
    built, stretch = transient(circuit, duration=_CYCLES * period, phase=math.radians(angle), start=start)
    trace = of_stretch(built, stretch, since)
    current = np.abs(trace.source)
    at = int(current.argmax())
    return _Trial(
        angle=angle,
        trace=trace,
        peak=float(current[at]),
        time=float(trace.time[at]),
        i2t=_i2t(trace, trace.source, 0.5 * period),
    )


def _i2t(trace: Trace, current: Floats, until: float) -> float:
    early = trace.time <= until
    return float(trace.weight[early] @ current[early] ** 2)


def _search(circuit: Circuit, bare: Circuit) -> tuple[_Trial, _Trial]:
    """The switch-on of `circuit` with the largest peak, and that of `bare` with the largest I2t."""
    step = 360.0 / _ANGLES
    trials = [_trial(circuit, step * k) for k in range(_ANGLES)]
    others = trials if bare is circuit else [_trial(bare, step * k) for k in range(_ANGLES)]
    highest = _refined(circuit, max(trials, key=lambda t: t.peak), step, "peak")
    hottest = _refined(bare, max(others, key=lambda t: t.i2t), step, "i2t")
    return highest, hottest


def _refined(circuit: Circuit, best: _Trial, step: float, what: str) -> _Trial:
    for _ in range(5):
        step /= 2.0
        sides = (_trial(circuit, (best.angle + way * step) % 360.0) for way in (-1.0, 1.0))
        best = max((best, *sides), key=lambda t: float(getattr(t, what)))
    return best


def _settled(circuit: Circuit) -> Solution | None:
    try:
        return solve(circuit)
    except CircuitError:
        return None


def surge_of(element: Element, circuit: Circuit, worst: Trace, hottest: Trace, half: float) -> Surge:
    """What a part sees at switch-on: peaks from the trace `worst`, the rest from `hottest`, over `half` [s]."""
    peak = max(float(np.abs(current).max()) for _, _, current in worst.branches(element))
    early = hottest.time <= half
    weight = hottest.weight[early]
    branches = [(v[early], i[early]) for _, v, i in hottest.branches(element)]
    i2t = max(float(weight @ current**2) for _, current in branches)
    heats = element.kind not in ("capacitor", "inductor", "transformer", "choke")
    energy = sum(float(weight @ (v * i)) for v, i in branches) if heats else 0.0
    power = max(float((v * i).max()) for _, v, i in worst.branches(element)) if heats else 0.0
    rating, assumed, why = _stands(element, circuit)
    times = None if rating is None else i2t / rating
    return Surge(
        part=element.ref,
        peak=peak,
        i2t=i2t,
        energy=energy,
        peak_power=power,
        rating=rating,
        times=times,
        assumed=assumed,
        verdict="no rating" if times is None else "over" if times > 1.0 else "within",
        why=why,
    )


def _stands(element: Element, circuit: Circuit) -> tuple[float | None, bool, str]:
    """I2t that a part stands [A2s], whether that is assumed, and where it comes from."""
    if element.kind == "fuse":
        return melting_i2t(fuse_of(element))
    recorded = element.rating.get("i2t")
    if isinstance(recorded, int | float):
        return float(recorded), False, "as recorded"
    scale = {"diode": _RECTIFIER_I2T, "bridge": _RECTIFIER_I2T, "triac": _TRIAC_I2T, "thyristor": _TRIAC_I2T}
    if element.kind not in scale:
        return None, False, "no I2t recorded, and no rule of thumb for it"
    rated = next(
        r for r in ratings_of(element, circuit.supply, alternating=True) if r.quantity == "current" and r.value
    )
    assert rated.value is not None
    surge = "30 times its mean current" if scale[element.kind] == _RECTIFIER_I2T else "8 times its rms current"
    return scale[element.kind] * rated.value**2, True, f"one half-sine of {surge}; from memory"


def _charging(circuit: Circuit, settled: Solution, angle: float) -> tuple[Charging, ...]:
    trace = of_solution(settled)
    wanted: dict[str, float] = {}
    parts = {e.ref: e for e in circuit.elements if e.kind == "capacitor"}
    for element in parts.values():
        voltage = trace.voltage(element)
        mean = float(trace.weight @ voltage / trace.weight.sum())
        if abs(mean) > 0.5 * float(np.abs(voltage).max()) and abs(mean) > 1.0:
            wanted[element.ref] = mean
    found: dict[str, float | None] = {}
    for duration in _LONG:
        if not (left := [ref for ref in wanted if found.get(ref) is None]):
            break
        try:
            built, stretch = transient(
                circuit, duration=duration, phase=math.radians(angle), fineness=0.2 if duration == _LONG[0] else 1.0
            )
        except CircuitError:
            break
        run = of_stretch(built, stretch, math.radians(angle) / built.system.omega)
        for ref in left:
            share = run.voltage(parts[ref]) / wanted[ref]
            reached = np.flatnonzero(share >= 0.9)
            found[ref] = None
            if reached.size:
                around = slice(max(int(reached[0]) - 1, 0), int(reached[0]) + 1)
                found[ref] = float(np.interp(0.9, share[around], run.time[around]))
    return tuple(Charging(part=ref, voltage=wanted[ref], time=found.get(ref)) for ref in wanted)


def _again(circuit: Circuit, settled: Solution) -> float | None:
    """The peak [A] where the plug is put back while the mains capacitors are still charged, at the worst instant."""
    trace = of_solution(settled)
    rows: set[int] = set()
    for element in circuit.elements:
        if element.kind == "capacitor":
            voltage = trace.voltage(element)
            if float(voltage.min()) < 0.0 < float(voltage.max()):
                rows |= {int(voltage.argmin()), int(voltage.argmax())}
    if not rows:
        return None
    starts = [pulled(settled, row) for row in sorted(rows)]
    return max(_trial(circuit, 30.0 * k, start).peak for start in starts for k in range(12))
