"""One item's circuits and readings with everything worked out that the verdicts ask for, each thing once."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any, Final

import numpy as np
from scipy.special import chdtri

from lidoff.circuit import CircuitError, build, with_values
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError
from lidoff.readings.advice import BENCH, CLIPS, DEAD, LIGHT, PLUG_IN, Target, propose, repeat_of
from lidoff.readings.aside import Aside, aside_of, is_aside
from lidoff.readings.forward import Forward, lifted
from lidoff.readings.inference import Answer, infer, without
from lidoff.readings.inputs import Input, inputs_of
from lidoff.readings.left_out import Fit, best_fit
from lidoff.readings.model import Inferred, Joint, Judged, Proposal
from lidoff.readings.observe import UNPOWERED, Seen, true_value
from lidoff.readings.posterior import untouched
from lidoff.readings.propagation import Spread, spread_of, spread_with_unknowns
from lidoff.readings.search import near
from lidoff.readings.uncertainty import rectangular
from lidoff.readings.verdicts import DOUBTFUL, NEEDS_VOLTS, SOLVER, Prediction
from lidoff.readings.words import amount, in_state, name_of, place_of, shown
from lidoff.record import Item, effective_supply

State = str | None
_MOST_STATES: Final = 12  # looked through for unknowns that no reading touches


def workbench_with(
    item: Item, states: Sequence[State], errors: Sequence[MeterError], *, skip: Mapping[int, str]
) -> Workbench:
    """The workbench of an item; readings in `skip` are left aside."""
    return Workbench(item, states, errors, skip)


class Workbench:
    """Circuits, predictions and inferred values of one item. Readings are known by their place in the record."""

    def __init__(
        self, item: Item, states: Sequence[State], errors: Sequence[MeterError], skip: Mapping[int, str]
    ) -> None:
        self.item = item
        self.states = tuple(states)
        self.errors = list(errors)
        self.warnings: list[str] = []
        self.forward = Forward(item, states, skip=frozenset(skip))
        if not item.readings:
            self.forward.circuit(item.states[0].name if item.states else None)
        circuits = list(self.forward.circuits.values())
        self.recorded = inputs_of(item, circuits)
        self.centred = self._centring()
        inputs = self._with_volts_read(self.recorded)
        touched = self._touched(inputs)
        elsewhere = self._unknowns_elsewhere({one.id for one in inputs})
        self.untouched = [one for one in inputs if one.origin == "unknown" and one.id not in touched] + elsewhere
        self.forward.inputs = tuple(one for one in inputs if one.origin != "unknown" or one.id in touched)
        self.unknowns = sum(1 for one in self.forward.inputs if one.origin == "unknown")
        self.place = {probe.reading: k for k, probe in enumerate(self.forward.probes)}
        self.warnings += [f"No reading hangs on {one.id}: nothing is learnt about it." for one in self.untouched]
        self.doubted: dict[State, int] = {}
        """States whose mains was read plainly wrong, with the reading: there the mains is left open."""
        self._solutions: dict[int, Solution] = {}
        self._uncentred: tuple[Forward, Spread] | None = None
        self.answer = self._inferred()
        """The inference, None where nothing is unknown or nothing was read."""

    def _unknowns_elsewhere(self, known: set[str]) -> list[Input]:
        """Unknowns of states in which nothing was read."""
        circuits = []
        for state in self.item.states[:_MOST_STATES]:
            if state.name not in self.forward.circuits and state.name not in self.forward.failures:
                try:
                    circuits.append(build(self.item, state=state.name))
                except LidoffError:
                    continue
        return [one for one in inputs_of(self.item, circuits) if one.origin == "unknown" and one.id not in known]

    # The mains ------------------------------------------------------------------------------------------------------

    def unread(self, state: State) -> bool:
        """Whether nobody read the mains voltage in a state that runs on the mains."""
        supply = effective_supply(self.item, state)
        known = state in self.centred or state in self.doubted
        return supply.dc is None and not supply.measured and not known

    def _centring(self) -> dict[State, int]:
        """For each state whose mains the record does not give as measured: the best reading of it."""
        best: dict[State, int] = {}
        for number, (reading, state) in enumerate(zip(self.item.readings, self.states, strict=True)):
            supply = effective_supply(self.item, state)
            if (
                reading.quantity in ("voltage", "voltage_ac")
                and reading.at in ("input", ("live", "neutral"))
                and supply.dc is None
                and not supply.measured
                and isinstance(supply.voltage, float | int)
                and number not in self.forward.skipped
                and (state not in best or self.errors[number].sigma < self.errors[best[state]].sigma)
            ):
                best[state] = number
        return best

    def _with_volts_read(self, inputs: tuple[Input, ...]) -> tuple[Input, ...]:
        """The inputs with each mains that was read about the reading instead of over its whole range."""
        found = []
        for one in inputs:
            state = one.state or None
            number = self.centred.get(state)
            if one.name != "supply.voltage" or one.origin != "mains" or number is None:
                found.append(one)
                continue
            circuit = self.forward.circuits[state]
            nominal = circuit.supply.voltage
            reading, error = self.item.readings[number], self.errors[number]
            source = reading.value + self._drop(state, reading.value)
            half = math.sqrt(3.0) * error.sigma
            found.append(replace(one, low=(source - half) / nominal - 1.0, high=(source + half) / nominal - 1.0))
        return tuple(found)

    def _drop(self, state: State, volts: float) -> float:
        """What the mains' own resistance takes of its voltage before the item's terminals [V]."""
        circuit = self.forward.circuits[state]
        try:
            solution = solve(with_values(circuit, {"supply.voltage": volts}))
        except CircuitError:
            return 0.0
        return volts - (true_value(solution, "voltage", "input") or volts)

    def _touched(self, inputs: tuple[Input, ...]) -> set[str]:
        self.forward.inputs = inputs
        used = {k for rig in self.forward.rigs if rig.probes for k in self.forward.matters(rig)}
        return {inputs[k].id for k in used}

    # What the circuits say ------------------------------------------------------------------------------------------

    def _inferred(self) -> Answer | None:
        if not self.unknowns or not self.forward.probes:
            return None
        answer = infer(self.forward, self.unknowns, self.errors, frozenset(self.centred.values()))
        for state in self._in_trouble(answer):
            number = self.centred[state]
            forward = self._with_mains_open(state)
            aside = frozenset(other for other in self.centred.values() if other != number)
            opened = infer(forward, self.unknowns, self.errors, aside)
            if opened.suspect is not None and forward.probes[opened.suspect].reading == number:
                self.forward, self.doubted[state] = forward, number
                del self.centred[state]
                answer = opened
        return answer

    def _in_trouble(self, answer: Answer) -> list[State]:
        """States whose mains was read and in which readings do not fit what is inferred with it, the worst first."""
        worst: dict[State, float] = {}
        for number, k in self.place.items():
            state = self.states[number]
            if state not in self.centred or number in self.centred.values():
                continue
            if self.item.readings[number].quantity in UNPOWERED:
                continue
            off = abs(self.errors[number].measured - float(answer.expected[k]))
            u = math.hypot(self.errors[number].sigma, float(answer.spread[k]))
            miss = off / u if u > 0.0 and math.isfinite(off) else 0.0
            if miss > DOUBTFUL or answer.suspect == k or not answer.posterior.fits:
                worst[state] = max(worst.get(state, 0.0), miss)
        return sorted(worst, key=lambda state: -worst[state])

    def _with_mains_open(self, state: State) -> Forward:
        """The circuits with the mains of one state over its whole recorded range again."""
        recorded = {one.id: one for one in self.recorded}
        forward = Forward(self.item, self.states, skip=self.forward.skipped)
        forward.inputs = tuple(
            recorded[one.id] if one.name == "supply.voltage" and (one.state or None) == state else one
            for one in self.forward.inputs
        )
        return forward

    def mains_fitting(self, state: State) -> tuple[float, float] | None:
        """The mains voltages [V] with which the readings of a state go together, where they narrow its range."""
        for one in self.narrowed:
            if one.key == "supply.voltage" and one.state == state and state in self.forward.circuits:
                volts = float(self.forward.circuits[state].supply.voltage)
                return volts * one.low95, volts * one.high95
        return None

    def mains_found(self, state: State) -> float | None:
        """The mains voltage [V] that the readings of a state give where its own reading is in doubt."""
        if self.answer is None:
            return None
        for k, one in enumerate(self.forward.inputs):
            if one.name == "supply.voltage" and one.origin == "mains" and (one.state or None) == state:
                volts = float(self.forward.circuits[state].supply.voltage)
                return volts * (1.0 + float(one.at(float(self.answer.posterior.inputs_mean[k]))))
        return None

    @cached_property
    def middle(self) -> Floats:
        """Coordinates of the inputs: as recorded, unknowns where the readings have them."""
        z = np.zeros(len(self.forward.inputs))
        if self.answer is not None:
            z[: self.unknowns] = self.answer.middle
        return z

    @cached_property
    def seen(self) -> list[Seen | None]:
        """What every probe sees there."""
        return self.forward.seen(self.middle)

    @cached_property
    def spread(self) -> Spread:
        """How every probe's value answers the inputs other than unknowns."""
        fixed = frozenset(range(self.unknowns))
        unread = {state for state in set(self.states) if self.unread(state)}
        asked = [
            k
            for number, k in self.place.items()
            if not (self.answer is not None and self.answer.hangs[k])
            and not (self.states[number] in unread and self.item.readings[number].quantity in NEEDS_VOLTS)
        ]
        return spread_of(self.forward, self.middle, fixed, asked, self._sloped_next_to_middle())

    def _sloped_next_to_middle(self) -> Floats | None:
        """Where next to the middle the circuits were already solved with every other input moved, None for nowhere."""
        at = None if self.answer is None else self.answer.posterior.sloped_at
        if at is None or not near(self.forward.inputs, at, self.middle):
            return None
        z = np.zeros(len(self.forward.inputs))
        z[: self.unknowns] = at
        return z

    @cached_property
    def _unheld(self) -> Spread:
        """How every probe's value answers all inputs, the unknowns as the readings have them that need no volts."""
        assert self.answer is not None
        waiting = frozenset(
            number
            for number in self.place
            if self.unread(self.states[number]) and self.item.readings[number].quantity in NEEDS_VOLTS
        )
        aside = waiting | frozenset(self.centred.values()) | frozenset(self.doubted.values())
        middle, covariance = without(self.forward, self.unknowns, self.errors, aside, self.answer)
        held = self.spread
        if not near(self.forward.inputs, middle, self.middle):
            z = np.zeros(len(self.forward.inputs))
            z[: self.unknowns] = middle
            held = spread_of(self.forward, z, frozenset(range(self.unknowns)), [])
        return spread_with_unknowns(self.forward, held, middle, covariance)

    @cached_property
    def aside(self) -> Aside:
        """Readings that no single settled cycle holds."""
        if not any(is_aside(reading) for reading in self.item.readings):
            return Aside()
        halves = np.ones(len(self.forward.inputs))
        if self.answer is not None:
            own = np.diag(self.answer.covariance)[: self.unknowns]
            halves[: self.unknowns] = np.minimum(np.sqrt(3.0 * np.clip(own, 0.0, None)), 1.0)
        return aside_of(self.forward, self.states, self.errors, self.middle, halves)

    @cached_property
    def predictions(self) -> dict[int, Prediction]:
        """What each meter would show, of the readings that can be computed."""
        found = {}
        for number, k in self.place.items():
            seen = self.seen[k]
            if seen is not None:
                found[number] = self._prediction(number, k, seen)
        return found

    def _prediction(self, number: int, k: int, seen: Seen) -> Prediction:
        spread, reading = self.spread, self.item.readings[number]
        shares: dict[str, float] = dict(spread.shares(k))
        computed, low, high = seen.shown, float(spread.low[k]), float(spread.high[k])
        if number in self.centred.values():
            return self._of_mains(number, seen)
        state = self.states[number]
        waits = self.unread(state) and reading.quantity in NEEDS_VOLTS
        doubted = state in self.doubted and reading.quantity not in UNPOWERED
        if self.answer is not None and self.answer.hangs[k] and waits:
            # What the circuit says without the readings that wait for the volts, this one among them.
            spread = self._unheld
            computed, low, high = (float(x[k]) for x in (spread.response.centre, spread.low, spread.high))
            unknown = math.sqrt(float(spread.response.variances[k, : self.unknowns].sum()))
            shares = {self.answer.unknown: unknown, **spread.shares(k)}
        elif self.answer is not None and (self.answer.hangs[k] or doubted):
            computed, size = float(self.answer.expected[k]), float(self.answer.spread[k])
            shares = {self.answer.name: size}
            low, high = computed - 2.0 * size, computed + 2.0 * size
        own = rectangular(seen.uncertain)
        if own > 0.0:
            shares["the meter's crest limit"] = own
        solver = rectangular(SOLVER * abs(computed))
        u = math.sqrt(sum(value**2 for value in shares.values()) + solver**2)
        return Prediction(
            computed=computed,
            true=computed * seen.true / seen.shown if seen.shown else seen.true,
            u=u,
            low95=low,
            high95=high,
            shares={name: value for name, value in shares.items() if value > 0.0},
            note=seen.note,
            also=self._also(number, seen),
            ends=spread.ends(k, self.forward.inputs, self.states[number])
            if reading.quantity not in UNPOWERED
            else None,
        )

    def _of_mains(self, number: int, seen: Seen) -> Prediction:
        """The reading that tells the mains, against what the mains may be."""
        supply = effective_supply(self.item, self.states[number])
        volts, width = float(supply.voltage), supply.range or 0.0  # type: ignore[arg-type]
        half = width * volts
        return Prediction(
            computed=volts,
            true=volts,
            u=rectangular(half),
            low95=volts - 0.95 * half,
            high95=volts + 0.95 * half,
            shares={"the range of the mains": rectangular(half)},
            note=seen.note,
        )

    def _also(self, number: int, seen: Seen) -> tuple[tuple[float, str], ...]:
        reading = self.item.readings[number]
        found = []
        if seen.also is not None:
            found.append((seen.also, "the meter takes the mean in as well"))
        if reading.quantity in UNPOWERED:
            circuit = self.forward.circuit(self.states[number])
            meter = self.item.meter(reading.meter) if reading.meter is not None else None
            alone = lifted(circuit, reading, meter) if circuit is not None else None
            if alone is not None and abs(alone - seen.shown) > 0.005 * abs(alone):
                in_circuit = amount(seen.shown, reading.unit)
                found.append((alone, f"that is {reading.at} alone, one leg lifted; in circuit it is {in_circuit}"))
        return tuple(found)

    def reason(self, number: int) -> str:
        """Why a reading cannot be computed, as a clause."""
        if number in self.aside.reasons:
            return self.aside.reasons[number]
        if number in self.forward.reasons:
            return self.forward.reasons[number]
        if self.item.readings[number].quantity in UNPOWERED:
            return "the meter would show an open circuit there"
        if self.item.readings[number].quantity == "angle":
            return "nothing fires there in this state"
        return "there is no such value in this state: no current flows or no light comes"

    def solution_of(self, number: int) -> Solution:
        """The solved circuit in which a reading was computed."""
        rig = self.forward.probes[self.place[number]].rig
        if rig not in self._solutions:
            self._solutions[rig] = self.forward.solution(rig, self.middle)
        return self._solutions[rig]

    def input_figures(self, number: int) -> Mapping[str, Any]:
        """The input figures of the solved circuit of a reading."""
        return self.solution_of(number).input_figures()

    # For the contradictions -----------------------------------------------------------------------------------------

    def bent_by_meter(self) -> list[int]:
        """Readings whose meter, by its kind, does not show the value itself (over 2 % off)."""
        return [
            number
            for number, k in self.place.items()
            if (seen := self.seen[k]) is not None and seen.shown and abs(seen.true / seen.shown - 1.0) > 0.02
        ]

    def power_factors(self) -> dict[State, tuple[float, float] | None]:
        """The computed power factor of each state with its standard uncertainty."""
        found: dict[State, tuple[float, float] | None] = {}
        for number, k in self.place.items():
            state = self.states[number]
            if state in found or self.item.readings[number].quantity in UNPOWERED or self.seen[k] is None:
                continue
            factor = self.input_figures(number).get("power_factor")
            found[state] = None if factor is None else (float(factor), 0.02)
        return found

    def _plain(self) -> tuple[Forward, Spread]:
        """The circuits with every mains over its whole recorded range."""
        if self._uncentred is None:
            forward = Forward(self.item, self.states, skip=self.forward.skipped)
            known = {one.id for one in self.forward.inputs}
            forward.inputs = tuple(one for one in self.recorded if one.id in known)
            z = np.zeros(len(forward.inputs))
            z[: self.unknowns] = self.middle[: self.unknowns]
            self._uncentred = forward, spread_of(forward, z, frozenset(range(self.unknowns)))
        return self._uncentred

    def fit_of(self, readings: tuple[int, ...]) -> Fit | None:
        """Some readings as the circuit gives them, the mains anywhere in its recorded range."""
        usable = [number for number in readings if number in self.predictions]
        if not usable or self.unknowns:
            return None
        _, spread = self._plain()
        rows = [self.place[number] for number in usable]
        return Fit(
            readings=tuple(usable),
            measured=np.array([self.item.readings[number].value for number in usable]),
            sigma=np.array(
                [math.hypot(self.errors[n].sigma, SOLVER * abs(self.item.readings[n].value)) for n in usable]
            ),
            response=spread.response.rows(rows),
        )

    def mended_without(self, number: int) -> bool:
        """Whether the other readings of a state fit the circuit together, the mains voltage left open."""
        others = tuple(
            k for k in self.predictions
            if self.states[k] == self.states[number] and k != number and self.item.readings[k].quantity not in UNPOWERED
        )  # fmt: skip
        fit = self.fit_of(others)
        if fit is None or len(fit.readings) < 2:
            return False
        return best_fit(fit, range(len(fit.readings))) <= float(chdtri(float(len(fit.readings)), 0.0455))

    # Inferred -------------------------------------------------------------------------------------------------------

    @property
    def inferred(self) -> tuple[Inferred, ...]:
        """Every unknown of the record: as the readings have it, or untouched."""
        found = self.answer.inferred if self.answer is not None else ()
        return (*found, *(untouched(one) for one in self.untouched))

    @property
    def narrowed(self) -> tuple[Inferred, ...]:
        """Tolerances and mains that the readings narrow."""
        return self.answer.narrowed if self.answer is not None else ()

    @property
    def joint(self) -> Joint | None:
        """The joint density of two unknowns."""
        return self.answer.joint if self.answer is not None else None

    @property
    def suspect(self) -> int | None:
        """The reading that the inference left out as wrong."""
        if self.answer is None or self.answer.suspect is None:
            return None
        return self.forward.probes[self.answer.suspect].reading

    # What next ------------------------------------------------------------------------------------------------------

    def proposals(
        self, open_ones: Sequence[int], without: Sequence[State], taken: frozenset[tuple[str, object, State]]
    ) -> tuple[Proposal, ...]:
        """What to measure next for the readings that are open and the unknowns."""
        size = len(self.forward.inputs)
        covariance = np.eye(size) / 3.0
        targets: list[Target] = []
        if self.answer is not None:
            covariance = self.answer.covariance
            targets += [Target(slope=np.eye(size)[k]) for k in range(self.unknowns)]
        elif self.forward.probes:
            rows = [self.place[number] for number in open_ones if number in self.predictions]
            slopes = self.spread.response.slope
            targets += [
                Target(slope=slopes[row], rest=0.0) for row in rows if float(np.abs(slopes[row]).max(initial=0.0)) > 0.0
            ]
        states = list(dict.fromkeys([*without, *self.forward.circuits]))
        wanting = {state: self._wanting_volts(state) for state in without}
        if not targets and not wanting:
            return ()
        return propose(
            self.forward,
            covariance,
            targets,
            self.middle,
            states=states[:4],
            without_volts=wanting,
            taken=taken,
        )

    def _wanting_volts(self, state: State) -> list[Target]:
        """The powers and currents of a state that wait for its mains voltage; where none was read, the voltage."""
        slopes = self.spread.response.slope if self.forward.probes else np.zeros((0, len(self.forward.inputs)))
        found = [
            Target(slope=slopes[k])
            for number, k in self.place.items()
            if self.states[number] == state and self.item.readings[number].quantity in NEEDS_VOLTS
        ]
        if found:
            return found
        return [
            Target(slope=np.eye(len(self.forward.inputs))[k])
            for k, one in enumerate(self.forward.inputs)
            if one.name == "supply.voltage" and (one.state or None) == state
        ]

    def again(self, number: int, judged: Judged) -> Proposal | None:
        """The proposal to read a doubted value once more; None where that cannot be proposed to anybody.

        On the mains, inside the item, only volts: to read amperes there a wire would have to be opened for the meter.
        """
        reading = judged.reading
        circuit = self.forward.circuit(judged.state)
        if judged.u is None or circuit is None:
            return None
        if reading.quantity in UNPOWERED:
            caution = DEAD
        elif circuit.supply.dc is not None:
            caution = BENCH
        elif reading.at == "input":
            caution = PLUG_IN
        elif reading.quantity.startswith("voltage"):
            caution = CLIPS
        elif reading.quantity in ("percent_flicker", "flicker_index", "svm"):
            caution = LIGHT
        else:
            return None
        return Proposal(
            quantity=reading.quantity,
            at=reading.at,
            state=judged.state,
            gain=repeat_of(judged.u, judged.sigma),
            why=(
                f"The {name_of(reading.quantity)} of {shown(reading.quantity, reading.value, reading.unit)}"
                f"{in_state(judged.state)} does not fit: take another meter if there is one."
            ),
            how=f"The {name_of(reading.quantity)} {place_of(reading.at)}{in_state(judged.state)} once more.",
            caution=caution,
        )
