"""The plug pulled at the worst instant: what stays charged, how long it takes to fall, and what the pins still give.

The worst instant is searched among those at which a capacitor, or the mains itself, is at its highest, and some spread
over the cycle (a dimmer may or may not fire once more). Where a coil carries the current on, the pins draw an arc that
goes out when the current next passes zero: from there on the item is alone. What discharges a capacitor is what the
record holds, and the solver's own leaks: 1 nS across each junction and 1 Gohm across the pins. A converter draws
nothing once it is below its least voltage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from lidoff.circuit.model import Circuit, CircuitError, Element
from lidoff.cycle import Built, Point, Solution, Stretch, solve, transient
from lidoff.record import Table
from lidoff.studies.errors import StudyError
from lidoff.studies.traces import Floats, Trace, of_solution, of_stretch, pulled

# 60 V: direct voltage of IEC 62368-1 ES1 and IEC 60204-1; 34 V: IEC 60335-1 22.5. See `lidoff.standards`.
LEVELS: Final = (60.0, 34.0)
_LOOKED: Final = (0.03, 0.3, 3.0, 30.0, 300.0)  # [s] looked at, in turn, until everything is below the lower level
_COARSEST: Final = 100.0  # times the solver's own tolerance
_MANY: Final = 2000  # steps of one look from which something rings that nobody asked for
_STILL: Final = 0.01  # share of its inductance that is left to a coil that has rung long enough
_DAMPING: Final = 10.0  # [ohm] that it is given: 0.1 V at 10 mA of a discharge
_COILS: Final = ("inductor", "choke")
_AT: Final = 1e-6  # share of a converter's least voltage within which it is met
_ARC: Final = 1e-5  # [s] that the rest of a coil's current is given to die in the arc at the pins
_NO_ARC: Final = 1e-3  # share of the current's peak that keeps no arc alight
_INSTANTS: Final = 16  # spread over the cycle
_POINTS: Final = 80  # of a curve, twice: by time and by voltage
_IDLE: Final = 1e9  # [ohm] a converter below its least voltage
_OUT: Final = 0.01  # share of the light before at which it counts as out
_TRACE_OF_CHARGE: Final = 1.0  # [V] a capacitor that never holds more is left out


@dataclass(frozen=True, slots=True, kw_only=True)
class Decay:
    """How one voltage falls after the plug is pulled.

    `what` is a capacitor's ref (one member of a block) or "pins"; `start` [V] its magnitude at the worst instant,
    `to_60` and `to_34` [s] the times after which it stays below 60 V and 34 V: 0 where it is below from the start, None
    where that takes longer than was looked at. `end` [V] is what is left then. `energy` [J] and `charge` [C] are those
    at the start (None for the pins). `curve` holds times [s] and voltages [V].
    """

    what: str
    start: float
    to_60: float | None
    to_34: float | None
    end: float
    energy: float | None
    charge: float | None
    curve: tuple[tuple[float, ...], tuple[float, ...]]

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "what": self.what,
            "start": self.start,
            "to_60": self.to_60,
            "to_34": self.to_34,
            "end": self.end,
            "energy": self.energy,
            "charge": self.charge,
            "curve": {"time": list(self.curve[0]), "voltage": list(self.curve[1])},
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplugged:
    """Everything that holds charge after the plug is pulled, slowest first, and the pins.

    `looked` [s] is how long was looked at; `dark_after` [s] when the light is out (below 1 % of what it was), None
    where there is no light or it was not out by then.
    """

    state: str | None
    pins: Decay
    capacitors: tuple[Decay, ...]
    dark_after: float | None
    looked: float
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "state": self.state,
            "pins": self.pins.as_json(),
            "capacitors": [decay.as_json() for decay in self.capacitors],
            "dark_after": self.dark_after,
            "looked": self.looked,
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class _Run:
    trace: Trace
    light: Floats


def unplug(circuit: Circuit, solution: Solution | None = None) -> Unplugged:
    """The item's plug pulled at the worst instant of its settled cycle (`solution`, worked out where it is not given).

    Raises StudyError on a bench supply, CircuitError where no settled cycle is found.
    """
    if circuit.supply.dc is not None:
        raise StudyError("This state is fed by a bench supply; unplugging is about the mains")
    solved = solution if solution is not None else solve(circuit)
    settled = of_solution(solved)
    capacitors = [e for e in solved.circuit.elements if e.kind == "capacitor"]
    coils = settled.built.inductances.any()
    rows = _rows(settled, capacitors)
    if coils:
        rows = sorted({_arc_out(settled.source, row) for row in rows})
    warnings = list(solved.warnings)
    runs: list[_Run] = []
    for row in rows:
        try:
            runs.append(_run(solved, row, _ARC if coils else 0.0))
        except CircuitError as error:
            warnings.append(f"Pulled at {1e3 * settled.time[row]:.1f} ms of the cycle: {error}")
    if not runs:
        raise CircuitError("No way was found to follow this circuit after the plug is pulled")
    looked = max(float(run.trace.time[-1]) for run in runs)
    decays = []
    for element in capacitors:
        farads = element.number("value")
        waves = [(run.trace, run.trace.voltage(element)) for run in runs]
        before = float(np.abs(settled.voltage(element)).max())
        if before >= _TRACE_OF_CHARGE:
            decays.append(_decay(element.ref, waves, farads))
    full = float(solved.waves.weight @ solved.light)
    return Unplugged(
        state=circuit.state,
        pins=_decay("pins", [(run.trace, run.trace.node("live")) for run in runs], None),
        capacitors=tuple(sorted(decays, key=_slowest_first)),
        dark_after=_dark_after(runs, full),
        looked=looked,
        warnings=tuple(warnings),
    )


def _slowest_first(decay: Decay) -> tuple[float, float, str]:
    time = math.inf if decay.to_34 is None else decay.to_34
    return (-time, -decay.start, decay.what)


def _rows(settled: Trace, capacitors: list[Element]) -> list[int]:
    """The solver's points at which the plug is pulled."""
    waves = [settled.node("live"), *(settled.voltage(element) for element in capacitors)]
    rows = {int(at) for wave in waves for at in (wave.argmax(), wave.argmin())}
    spread = np.linspace(0.0, settled.time[-1], _INSTANTS, endpoint=False)
    return sorted(rows | {int(at) for at in np.searchsorted(settled.time, spread)})


def _arc_out(current: Floats, row: int) -> int:
    """The point at which the arc that is drawn at `row` goes out: where next to no mains current [A] is left of it."""
    ahead = np.roll(current, -row)
    size = np.abs(ahead)
    gone = size[:-1] <= _NO_ARC * size.max()
    passed = ahead[:-1] * ahead[1:] <= 0.0
    out = np.flatnonzero(gone | passed)
    if not out.size:
        return row
    at = int(out[0])
    if not gone[at]:  # on whichever side of zero it is nearer
        at += int(size[at + 1] < size[at])
    return (row + at) % int(current.shape[0])


def _follow(circuit: Circuit, duration: float, start: Point, coarse: float) -> tuple[Built, Stretch, float]:
    """The circuit left alone for that long [s], in steps `coarse` times as rough as the solver's own or rougher.

    Where a coil and a capacitor ring on and on, the way is too long at first; the roughness that it took comes back
    with the stretch. Raises CircuitError where the coarsest does not help either.
    """
    while True:
        try:
            built, stretch = transient(circuit, duration=duration, start=start, open_mains=True, fineness=coarse)
        except CircuitError:
            if coarse >= _COARSEST:
                raise
            coarse *= 10.0
        else:
            return built, stretch, coarse


def _run(solution: Solution, row: int, arc: float) -> _Run:
    """The circuit left alone from that point of its cycle, for as long as anything is above the lower level.

    What is left of a coil's current at that point is the arc's for `arc` [s], and not told.
    """
    circuit, start, begun, coarse = solution.circuit, pulled(solution, row), 0.0, 1.0
    pieces: list[Trace] = []
    lights: list[Floats] = []
    stopped: tuple[str, float] | None = None
    for until in _LOOKED:
        while begun < until:
            # What a converter sets ringing by stopping is looked at for a while before it may be stilled.
            end = until if stopped is None else min(until, begun + _LOOKED[0])
            built, stretch, coarse = _follow(circuit, end - begun, start, coarse)
            piece = of_stretch(built, stretch, -begun)
            stopped = _first_stop(circuit, piece)
            if stopped is not None:
                ref, end = stopped
                if end > begun:
                    piece, stretch, end = _to_the_stop(circuit, ref, start, begun, end, coarse)
                circuit = _stopped(circuit, ref)
            if end > begun:
                pieces.append(piece)
                lights.append(_light(solution, piece))
                start, begun = stretch.end, end
                if stretch.steps > _MANY:
                    circuit = _stilled(circuit)
        if _highest(solution, pieces[-1]) < LEVELS[-1]:
            break
    time = np.concatenate([piece.time for piece in pieces])
    told = slice(min(int(np.searchsorted(time, arc)), time.shape[0] - 1), None)
    joined = Trace(
        time[told],
        np.concatenate([piece.weight for piece in pieces])[told],
        np.concatenate([piece.x for piece in pieces])[told],
        np.empty((0, 0)),
        np.empty((0, 0)),
        pieces[-1].built,
    )
    return _Run(joined, np.concatenate(lights)[told])


def _to_the_stop(
    circuit: Circuit, ref: str, start: Point, begun: float, instant: float, coarse: float
) -> tuple[Trace, Stretch, float]:
    """The circuit followed from `begun` to the instant [s] at which a converter has its least voltage; about `instant`.

    From there on its capacitor hardly falls: a tenth of a volt that it were stopped too early would count for minutes.
    """
    element = next(e for e in circuit.elements if e.ref == ref)
    least = element.number("minimum_voltage")
    for _ in range(6):
        built, stretch, _coarse = _follow(circuit, instant - begun, start, coarse)
        piece = of_stretch(built, stretch, -begun)
        volts, time = piece.voltage(element)[-2:], piece.time[-2:]
        above = float(volts[1] - least)
        if abs(above) <= _AT * least or volts[1] >= volts[0]:
            break
        later = instant + above * float((time[1] - time[0]) / (volts[0] - volts[1]))
        if later <= begun:
            break
        instant = later
    return piece, stretch, instant


def _first_stop(circuit: Circuit, piece: Trace) -> tuple[str, float] | None:
    """The first converter to fall below its least voltage, and when [s]."""
    found: list[tuple[float, str]] = []
    for element in circuit.elements:
        if element.kind == "converter":
            least, volts = element.number("minimum_voltage"), piece.voltage(element)
            low = np.flatnonzero(volts < least)
            if low.size:
                found.append((_crossing(piece.time, volts, int(low[0]), least), element.ref))
    if not found:
        return None
    instant, ref = min(found)
    return ref, instant


def _stopped(circuit: Circuit, ref: str) -> Circuit:
    """The circuit with that converter drawing nothing but a leak."""
    idle = [
        replace(e, kind="resistor", values=Table({"value": _IDLE}), rating=Table()) if e.ref == ref else e
        for e in circuit.elements
    ]
    return replace(circuit, elements=tuple(idle))


def _stilled(circuit: Circuit) -> Circuit:
    """The circuit with little left of its coils but a resistance, in which their ringing dies.

    A record seldom knows what damps a coil: without that it rings on for ever, and a slow discharge is not bothered.
    """
    still = [
        replace(
            e,
            values=Table(
                {**e.values, "value": _STILL * e.number("value"), "resistance": e.number("resistance") + _DAMPING}
            ),
        )
        if e.kind in _COILS
        else e
        for e in circuit.elements
    ]
    return replace(circuit, elements=tuple(still))


def _light(solution: Solution, trace: Trace) -> Floats:
    total = np.zeros(trace.time.shape[0])
    for element in solution.led_parts:
        total += element.number("series") * element.series * trace.part(element)[1] * element.parallel
    return total


def _highest(solution: Solution, trace: Trace) -> float:
    """The largest voltage that anything still has at the end of a trace [V]."""
    held = [abs(float(trace.node("live")[-1]))]
    held += [abs(float(trace.voltage(e)[-1])) for e in solution.circuit.elements if e.kind == "capacitor"]
    return max(held)


def _decay(what: str, waves: list[tuple[Trace, Floats]], farads: float | None) -> Decay:
    """The slowest of the ways in which a voltage falls; the times are the longest of all of them."""
    falls = [[_below(trace.time, np.abs(wave), level) for level in LEVELS] for trace, wave in waves]
    starts = [float(np.abs(wave[0])) for _, wave in waves]
    # Of ways that take about as long the one that begins highest is shown.
    at = max(range(len(waves)), key=lambda k: (_rank(falls[k][-1]), starts[k]))
    trace, wave = waves[at]
    start = max(starts)
    times = [
        None if any(fall[k] is None for fall in falls) else max(fall[k] or 0.0 for fall in falls)
        for k in range(len(LEVELS))
    ]
    return Decay(
        what=what,
        start=start,
        to_60=times[0],
        to_34=times[1],
        end=float(np.abs(wave[-1])),
        energy=None if farads is None else 0.5 * farads * start**2,
        charge=None if farads is None else farads * start,
        curve=_thinned(trace.time, wave),
    )


def _rank(time: float | None) -> float:
    """A time [s] in steps of some 10 %, for comparison; None is longer than any."""
    if time is None:
        return math.inf
    return -math.inf if time <= 0.0 else float(round(10.0 * math.log(time)))


def _below(time: Floats, size: Floats, level: float) -> float | None:
    """The instant [s] after which a magnitude stays below a level."""
    above = np.flatnonzero(size >= level)
    if not above.size:
        return 0.0
    last = int(above[-1])
    if last == size.shape[0] - 1:
        return None
    return _crossing(time, size, last + 1, level)


def _crossing(time: Floats, wave: Floats, after: int, level: float) -> float:
    """The instant [s] at which a wave falls past a level between its points `after` - 1 and `after`.

    It is 0 before the first. Between two points a discharge falls by equal shares in equal times.
    """
    if after == 0:
        return 0.0
    above, below = float(wave[after - 1]), float(wave[after])
    share = math.log(above / level) / math.log(above / below) if below > 0.0 else (above - level) / (above - below)
    return float(time[after - 1] + share * (time[after] - time[after - 1]))


def _thinned(time: Floats, wave: Floats) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """A curve in few points: close together where time begins, and wherever the voltage moves."""
    moved = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(wave)))])
    steps = np.linspace(0.0, moved[-1], _POINTS)[1:] if moved[-1] > 0.0 else np.empty(0)
    instants = np.concatenate(
        [time[:1], time[-1:], np.geomspace(1e-4, time[-1], _POINTS), np.interp(steps, moved, time)]
    )
    instants = np.unique(np.clip(instants, time[0], time[-1]))
    return tuple(instants.tolist()), tuple(np.interp(instants, time, wave).tolist())


def _dark_after(runs: list[_Run], full: float) -> float | None:
    if full <= 0.0:
        return None
    ends = [_below(run.trace.time, run.light, _OUT * full) for run in runs]
    return None if any(end is None for end in ends) else max(end or 0.0 for end in ends)
