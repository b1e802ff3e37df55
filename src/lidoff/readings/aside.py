"""Readings that no single settled cycle holds: the peak at switch-on, and light in one state against another.

The instant of switching on is not known: the peak is taken from rest and cold at instants all round the cycle, and the
reading may be any of them. A mains that nobody described is taken as its resistance alone: its coil, which a study of
the switch-on takes, would only lower the peak, and no reading is too high for want of a coil that may not be there.
Light is taken as proportional to the LEDs' current (efficacy that falls with current is not counted), so that two
readings by one meter at one place stand in the ratio of the computed light.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError, behind_reference, with_values
from lidoff.cycle import Solution, transient
from lidoff.cycle.filament import filaments, hot_resistance, with_resistances
from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError
from lidoff.readings.forward import Forward
from lidoff.readings.inputs import applied
from lidoff.readings.propagation import Spread
from lidoff.readings.uncertainty import Function, Response
from lidoff.readings.verdicts import Prediction
from lidoff.readings.words import amount, in_state, listed
from lidoff.record import Reading

RELATIVE: Final = ("illuminance", "luminous_flux")
_ANGLES: Final = 24
_SAME: Final = 0.03  # share of the most by which the least may be less for the instant to make no difference
_LOWERED: Final = 0.9  # share of the peak that a mains with a coil leaves, below which the coil is worth a word
_CYCLES: Final = 1.5  # looked at for the peak

State = str | None


@dataclass(slots=True)
class Aside:
    """Predictions of such readings by their place in the record, and why others have none."""

    predictions: dict[int, Prediction] = field(default_factory=dict)
    reasons: dict[int, str] = field(default_factory=dict)


def aside_of(
    forward: Forward, states: Sequence[State], errors: Sequence[MeterError], middle: Floats, halves: Floats
) -> Aside:
    """All of them, with the inputs at `middle` and each free within `halves` of it (coordinates)."""
    found = Aside()
    readings = forward.item.readings
    for number, (reading, state) in enumerate(zip(readings, states, strict=True)):
        if reading.quantity == "inrush_current" and number not in forward.skipped:
            try:
                _switched_on(found, forward, number, state, middle, halves)
            except CircuitError as error:
                found.reasons[number] = f"it cannot be computed: {str(error).rstrip('.')}"
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, reading in enumerate(readings):
        if reading.quantity in RELATIVE and reading.meter is not None and number not in forward.skipped:
            groups.setdefault((reading.quantity, reading.meter, reading.at), []).append(number)
    for members in groups.values():
        if len({states[number] for number in members}) > 1:
            _compared(found, forward, members, states, errors, middle, halves)
    return found


def _moved(function: Function, places: Sequence[int], middle: Floats, halves: Floats, forward: Forward) -> Spread:
    """The response of a function of the inputs at `places`, each moved to both ends of its range."""
    centre = function(middle)
    slope, bend = np.zeros((centre.size, middle.size)), np.zeros((centre.size, middle.size))
    for k in places:
        step = np.zeros(middle.size)
        step[k] = halves[k]
        above = function(np.clip(middle + step, -1.0, 1.0))
        below = function(np.clip(middle - step, -1.0, 1.0))
        slope[:, k] = np.nan_to_num(0.5 * (above - below))
        bend[:, k] = np.nan_to_num(0.5 * (above + below) - centre)
    response = Response(centre, slope, bend)
    low, high = response.interval()
    return Spread(response, forward.inputs, response.u, low, high)


def _shares(spread: Spread, row: int) -> dict[str, float]:
    """What each kind of input brings, unknowns among them."""
    variances = spread.response.variances[row]
    unknown = sum(
        float(variance) for one, variance in zip(spread.inputs, variances, strict=True) if one.origin == "unknown"
    )
    return {**({"what is not known": math.sqrt(unknown)} if unknown > 0.0 else {}), **spread.shares(row)}


# Switching on -----------------------------------------------------------------------------------------------------


def cold(circuit: Circuit) -> Circuit:
    """The circuit after standing unused: thermistors, filaments and heaters at their cold resistance."""
    cool = with_values(circuit, {f"{e.ref}.warm": False for e in circuit.elements if e.kind == "thermistor"})
    return with_resistances(cool, {e.ref: hot_resistance(e) * e.number("cold_ratio") for e in filaments(cool)})


def peak_at(circuit: Circuit, angle: float) -> float:
    """Largest current at the terminals [A] of a circuit switched on from rest at `angle` [deg after the rising zero].

    Raises CircuitError where no solution is found.
    """
    built, stretch = transient(circuit, duration=_CYCLES / circuit.supply.frequency, phase=math.radians(angle))
    return float(np.abs(stretch.x[:, built.source]).max())


def _switched_on(found: Aside, forward: Forward, number: int, state: State, middle: Floats, halves: Floats) -> None:
    reading = forward.item.readings[number]
    circuit = forward.circuit(state)
    if circuit is None:
        found.reasons[number] = f"the circuit{in_state(state)} cannot be solved: {forward.failures[state]}"
        return
    if circuit.supply.dc is not None:
        found.reasons[number] = "this state is fed by a bench supply, which limits its own current"
        return
    if reading.at not in ("input", ("live", "neutral")):
        found.reasons[number] = "a peak at switch-on is computed at the input only"
        return

    def at(z: Floats) -> Circuit:
        return cold(applied(circuit, forward.inputs, z))

    angles = [360.0 / _ANGLES * k for k in range(_ANGLES)]
    peaks = [peak_at(at(middle), angle) for angle in angles]
    least, most = angles[int(np.argmin(peaks))], angles[int(np.argmax(peaks))]
    places = [k for k, one in enumerate(forward.inputs) if one.touches(circuit)]

    def ends(z: Floats) -> Floats:
        cool = at(z)
        return np.array([peak_at(cool, least), peak_at(cool, most)])

    spread = _moved(ends, places, middle, halves, forward)
    low, high = min(peaks), max(peaks)
    typical = float(np.median(peaks))
    of_instant = float(np.std(peaks))
    shares = {"the instant of switching on": of_instant, **_shares(spread, 1)}
    unit = reading.unit
    whatever = high - low <= _SAME * high
    note = (
        f"switched on from cold the peak is {amount(high, unit)} whatever the instant"
        if whatever
        else f"switched on from cold it is {amount(low, unit)} at {least:.0f}° after the mains' zero, "
        f"{amount(high, unit)} at {most:.0f}°; half of all instants give less than {amount(typical, unit)}"
    )
    if circuit.supply.impedance_assumed and peak_at(behind_reference(at(middle)), most) < _LOWERED * high:
        note += "; the mains' own coil, which nobody wrote, is not in it and makes it less"
    found.predictions[number] = Prediction(
        computed=typical,
        true=typical,
        u=math.hypot(of_instant, float(spread.u[1])),
        low95=float(spread.low[0]),
        high95=float(spread.high[1]),
        shares={name: value for name, value in shares.items() if value > 0.0},
        note=note,
        between=((low, float(spread.u[0])), (high, float(spread.u[1]))),
    )


# Light in one state against another -----------------------------------------------------------------------------


def _compared(
    found: Aside,
    forward: Forward,
    members: Sequence[int],
    states: Sequence[State],
    errors: Sequence[MeterError],
    middle: Floats,
    halves: Floats,
) -> None:
    readings = forward.item.readings
    brightest = max(members, key=lambda number: readings[number].value)
    circuits = {number: forward.circuit(states[number]) for number in members}
    dark = [
        number
        for number, circuit in circuits.items()
        if circuit is None or not any(element.kind == "led" for element in circuit.elements)
    ]
    if brightest in dark or readings[brightest].value <= 0.0:
        return
    reference, own = circuits[brightest], readings[brightest]
    assert reference is not None
    others = [number for number in members if number not in dark and states[number] != states[brightest]]
    share = errors[brightest].sigma / own.value
    rigs: Mapping[int, int] = {
        number: forward.rig(("runs", circuit.state, ()), circuit, lambda c: c, dead=False)
        for number, circuit in circuits.items()
        if circuit is not None
    }
    for number in others:
        circuit = circuits[number]
        assert circuit is not None
        places = [k for k, one in enumerate(forward.inputs) if one.touches(circuit) or one.touches(reference)]

        def expected(z: Floats, number: int = number) -> Floats:
            here, there = (_light(forward.solution(rigs[n], z)) for n in (number, brightest))
            return np.array([own.value * here / there if there > 0.0 else math.nan])

        try:
            spread = _moved(expected, places, middle, halves, forward)
        except CircuitError as error:
            found.reasons[number] = f"it cannot be computed: {str(error).rstrip('.')}"
            continue
        computed = float(spread.response.centre[0])
        if not math.isfinite(computed):
            found.reasons[number] = f"no light is computed{in_state(states[brightest])}, against which it would be held"
            continue
        found.predictions[number] = _prediction(
            computed, spread, share * computed, f"the {amount(own.value, own.unit)}{in_state(states[brightest])}"
        )
    if others:
        places_read = listed([f"'{states[number]}'" for number in others])
        found.reasons[brightest] = (
            f"the circuit tells no level of light, only how states compare; the reading in {places_read} is held "
            f"against it"
        )


def _light(solution: Solution) -> float:
    return float(solution.waves.weight @ solution.light)


def _prediction(computed: float, spread: Spread, other: float, against: str) -> Prediction:
    shares = {"the meter's other reading": other, **_shares(spread, 0)}
    own = spread.response.u[0]
    u = math.hypot(float(own), other)
    return Prediction(
        computed=computed,
        true=computed,
        u=u,
        low95=float(spread.low[0]) - 2.0 * other,
        high95=float(spread.high[0]) + 2.0 * other,
        shares={name: value for name, value in shares.items() if value > 0.0},
        note=f"it is computed from {against}, in the ratio of the LEDs' currents",
    )


def is_aside(reading: Reading) -> bool:
    """Whether a reading is of this kind."""
    return reading.quantity == "inrush_current" or reading.quantity in RELATIVE
