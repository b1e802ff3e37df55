"""From values of the inputs to what every meter would show: the circuits of all states, solved as often as needed.

One solved circuit serves all readings taken in it, so that whatever moves one of them moves the others with it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError, Element, build
from lidoff.cycle import Solution, solve
from lidoff.cycle.settle import Point
from lidoff.figures.wave import Floats
from lidoff.quantity import QuantityError
from lidoff.readings.body import BY_BODY, on_node, through_body, with_body
from lidoff.readings.inputs import Input, applied
from lidoff.readings.observe import UNPOWERED, Place, Seen, observe, reason_against
from lidoff.readings.unpowered import Bench, alone, bench_of, on_bench, shown_by
from lidoff.readings.words import in_state, name_of
from lidoff.record import Item, Meter, Reading, RecordError, Table

_LATCHING: Final = frozenset({"triac", "thyristor", "diac", "indicator"})
_METER: Final = "(meter)"
_KEPT: Final = 4000  # solved points remembered per rig

Prepare = Callable[[Circuit], Circuit]
Measure = Callable[[Solution], "Seen | None"]


@dataclass(slots=True)
class Rig:
    """One circuit to be solved: a state's, as it runs, with a meter hung on, or dead on the bench."""

    state: str | None
    circuit: Circuit
    prepare: Prepare
    dead: bool
    probes: list[int] = field(default_factory=list)
    start: Point | None = None
    kept: dict[tuple[float, ...], tuple[float, ...]] = field(default_factory=dict)

    def solved(self, circuit: Circuit) -> Solution:
        """The solution with these values. Raises CircuitError where there is none.

        What cannot latch has one settled state, which is reached sooner from the last one; what can is taken from rest,
        for it may have several.
        """
        ready = self.prepare(circuit)
        if any(element.kind in _LATCHING for element in ready.elements) or ready.supply.dc is not None:
            return solve(ready)
        solution = solve(ready, start=self.start)
        if self.start is None:
            self.start = solution.run.stretches[-1].end
        return solution


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """One reading that can be computed: where it stands in the record, its rig, and how it is measured there."""

    reading: int
    rig: int
    measure: Measure


class Forward:
    """All circuits and readings of an item. `reasons` says why a reading cannot be computed, by its place.

    `wandering` are the states whose cycle was found not to repeat.
    """

    def __init__(self, item: Item, states: Sequence[str | None], skip: frozenset[int] = frozenset()) -> None:
        """`states` holds the state of each reading, as decided by the caller; those in `skip` are left aside."""
        self.item = item
        self.skipped = skip
        self.circuits: dict[str | None, Circuit] = {}
        self.failures: dict[str | None, str] = {}
        self.rigs: list[Rig] = []
        self.probes: list[Probe] = []
        self.reasons: dict[int, str] = {}
        self.wandering: set[str | None] = set()
        self.inputs: tuple[Input, ...] = ()
        self._rig_of: dict[tuple[object, ...], int] = {}
        for number, (reading, state) in enumerate(zip(item.readings, states, strict=True)):
            if number not in skip:
                self._add(number, reading, state)

    def circuit(self, state: str | None) -> Circuit | None:
        """The circuit of a state, None where it cannot be built (`failures` says why)."""
        if state not in self.circuits and state not in self.failures:
            try:
                self.circuits[state] = build(self.item, state=state)
            except (CircuitError, RecordError, QuantityError) as error:
                self.failures[state] = str(error).rstrip(".")
        return self.circuits.get(state)

    def _add(self, number: int, reading: Reading, state: str | None) -> None:
        circuit = self.circuit(state)
        if circuit is None:
            self.reasons[number] = f"the circuit{in_state(state)} cannot be solved: {self.failures[state]}"
            return
        reading = on_node(self.item, reading)
        reason = reason_against(circuit, reading)
        if reason is not None:
            self.reasons[number] = reason
            return
        meter = self.item.meter(reading.meter) if reading.meter is not None else None
        try:
            self._add_probe(number, reading, circuit, meter)
        except CircuitError as error:
            self.reasons[number] = f"it cannot be computed there: {str(error).rstrip('.')}"

    def _add_probe(self, number: int, reading: Reading, circuit: Circuit, meter: Meter | None) -> None:
        if reading.quantity in UNPOWERED:
            bench = bench_of(circuit, reading.quantity, reading.at, meter)
            rig = self.rig(("dead", circuit.state, bench), circuit, lambda c: on_bench(c, bench), dead=True)
            self._probe(number, rig, lambda solution: _bench_seen(solution, bench))
            return
        if reading.quantity in BY_BODY and circuit.element(str(reading.at)) is None:
            at = reading.at
            rig = self.rig(("body", circuit.state, at), circuit, lambda c: with_body(c, at), dead=False)
            self._probe(number, rig, lambda solution: _body_seen(solution, at))
            return
        key, prepare = loading(reading.quantity, reading.at, meter)
        rig = self.rig(("runs", circuit.state, key), circuit, prepare, dead=False)
        self._probe(number, rig, lambda solution: observe(solution, reading, meter))

    def rig(self, key: tuple[object, ...], circuit: Circuit, prepare: Prepare, *, dead: bool) -> int:
        """The place of the rig of that key, made where it is new."""
        if key not in self._rig_of:
            self._rig_of[key] = len(self.rigs)
            self.rigs.append(Rig(circuit.state, circuit, prepare, dead))
        return self._rig_of[key]

    def _probe(self, number: int, rig: int, measure: Measure) -> None:
        self.rigs[rig].probes.append(len(self.probes))
        self.probes.append(Probe(reading=number, rig=rig, measure=measure))

    def solution(self, rig: int, z: Floats | None = None) -> Solution:
        """The solution of a rig with the inputs at z (at their recorded values by default). Raises CircuitError."""
        which = self.rigs[rig]
        circuit = which.circuit if z is None else applied(which.circuit, self.inputs, z)
        return which.solved(circuit)

    def seen(self, z: Floats | None = None) -> list[Seen | None]:
        """What every probe sees with the inputs at z."""
        found: list[Seen | None] = [None] * len(self.probes)
        for rig_number, rig in enumerate(self.rigs):
            if not rig.probes:
                continue
            try:
                solution = self.solution(rig_number, z)
            except CircuitError as error:
                for probe in rig.probes:
                    self.reasons.setdefault(self.probes[probe].reading, str(error).rstrip("."))
                continue
            if not solution.settled and not rig.dead:
                self.wandering.add(rig.state)
            for probe in rig.probes:
                found[probe] = self.probes[probe].measure(solution)
        return found

    def matters(self, rig: Rig) -> list[int]:
        """The inputs that have a part in a rig, by place."""
        return [
            k
            for k, one in enumerate(self.inputs)
            if one.touches(rig.circuit) and not (rig.dead and one.name.startswith("supply."))
        ]

    def values(self, z: Floats, asked: Sequence[int] | None = None) -> Floats:
        """What every meter would show with the inputs at z [unit of each reading]; nan where there is no such value.

        With `asked` only the circuits of those probes are solved, and the others are nan.
        """
        shown = np.full(len(self.probes), math.nan)
        for rig_number, rig in enumerate(self.rigs):
            if not rig.probes or (asked is not None and not set(asked) & set(rig.probes)):
                continue
            key = tuple(float(z[k]) for k in self.matters(rig))
            if key not in rig.kept:
                if len(rig.kept) > _KEPT:
                    rig.kept.clear()
                rig.kept[key] = self._shown(rig_number, rig, z)
            shown[rig.probes] = rig.kept[key]
        return shown

    def _shown(self, number: int, rig: Rig, z: Floats) -> tuple[float, ...]:
        try:
            solution = self.solution(number, z)
        except CircuitError:
            return tuple(math.nan for _ in rig.probes)
        seen = [self.probes[probe].measure(solution) for probe in rig.probes]
        return tuple(math.nan if one is None else one.shown for one in seen)


def _bench_seen(solution: Solution, bench: Bench) -> Seen | None:
    shown = shown_by(solution, bench)
    return None if shown is None else Seen(true=shown, shown=shown)


def _body_seen(solution: Solution, at: Place) -> Seen:
    shown = through_body(solution, at)
    return Seen(true=shown, shown=shown)


def lifted(circuit: Circuit, reading: Reading, meter: Meter | None) -> float | None:
    """What the meter would show of the part alone, as with a leg lifted [unit of the reading]; None for no part."""
    if not isinstance(reading.at, str) or reading.at == "input":
        return None
    only = alone(circuit, reading.at)
    if only is None:
        return None
    bench = bench_of(only, reading.quantity, reading.at, meter)
    try:
        return shown_by(solve(on_bench(only, bench)), bench)
    except CircuitError:
        return None


def loading(quantity: str, at: Place, meter: Meter | None) -> tuple[tuple[object, ...], Prepare]:
    """How a meter's own resistance changes the circuit it hangs on: a key for it, and the change.

    A voltmeter's input resistance lies across the two nodes, an ammeter's burden in series with the part. Only what the
    record says of the meter counts; hand meters' usual 10 Mohm are left out.
    """
    own = meter.extra if meter is not None else Table()
    across, series = own.get("input_resistance"), own.get("burden_resistance")
    if quantity.startswith("voltage") and at != "input" and isinstance(across, int | float):
        return (quantity[:7], at, float(across)), lambda c: _with_voltmeter(c, at, float(across))
    if quantity.startswith("current") and isinstance(series, int | float):
        return (quantity[:7], at, float(series)), lambda c: _with_ammeter(c, at, float(series))
    return (), lambda c: c


def _with_voltmeter(circuit: Circuit, at: Place, ohms: float) -> Circuit:
    if isinstance(at, tuple):
        nodes: tuple[str, ...] = (circuit.resolve(at[0]), circuit.resolve(at[1]))
    else:
        element = circuit.element(at)
        if element is None:
            raise CircuitError(f"{at} plays no part in this state")
        nodes = tuple(element.pins.values())[:2]
        ohms *= element.series
    return replace(circuit, elements=(*circuit.elements, _resistor(nodes, ohms)))


def _with_ammeter(circuit: Circuit, at: Place, ohms: float) -> Circuit:
    if at == "input":
        return replace(circuit, supply=replace(circuit.supply, resistance=circuit.supply.resistance + ohms))
    element = circuit.element(at) if isinstance(at, str) else None
    if element is None:
        raise CircuitError(f"{name_of('current')} at {at} cannot be read in this state")
    first = element.nodes[0]
    assert first is not None
    moved = replace(element, nodes=(_METER, *element.nodes[1:]))
    elements = tuple(moved if one is element else one for one in circuit.elements)
    return replace(circuit, elements=(*elements, _resistor((first, _METER), ohms / element.parallel)))


def _resistor(nodes: tuple[str, ...], ohms: float) -> Element:
    return Element(ref=_METER, kind="resistor", nodes=nodes, values=Table({"value": ohms}))
