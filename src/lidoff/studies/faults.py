"""Parts failed one at a time: what then happens, worst first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Solution, solve
from lidoff.record import Item
from lidoff.studies.errors import StudyError
from lidoff.studies.fault_effects import (
    CYCLES,
    FINENESS,
    UNSOLVED,
    Exposure,
    FirstHalfCycle,
    FuseVerdict,
    Overstress,
    exposures,
    first_half_cycle,
    fuse_verdicts,
    fuses_of,
    live_when_off,
    overstressed,
    sound_stress,
)
from lidoff.studies.fault_list import Case, cases, is_electrolytic
from lidoff.studies.fault_words import Found, outcome, severity
from lidoff.studies.fuses import Fuse
from lidoff.studies.stress import alternates
from lidoff.studies.switch_on import mains_assumed
from lidoff.studies.traces import of_solution
from lidoff.studies.unplug import unplug

_STORE: Final = 0.1e-6  # [F] capacitors up to which no discharge is asked for (IEC 60335-1, 22.5)
_SOON: Final = 1.0  # [s] within which the pins should fall to 34 V (the same)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault and what it comes to.

    `input` and `light` are figures as `figures --json` has them, of the circuit with the fault and the fuses whole;
    None where no cycle was found, and `problem` says why. `fuses` come in the order in which they act. `live_when_off`
    are the parts that stay live with the switch off, `pins_to_34` [s] how long the pins stay charged where the fault is
    to blame (None: not, or longer than looked at). `severity` runs from 1 to 4, 4 being worst.
    """

    part: str
    mode: str
    input: Mapping[str, Any] | None
    light: Mapping[str, Any] | None
    settled: bool
    overstressed: tuple[Overstress, ...]
    fuses: tuple[FuseVerdict, ...]
    touched: tuple[Exposure, ...]
    live_when_off: tuple[str, ...]
    pins_to_34: float | None
    outcome: str
    severity: int
    problem: str | None

    @property
    def fuse(self) -> FuseVerdict | None:
        """The fuse that acts first, or that would have to."""
        return self.fuses[0] if self.fuses else None

    def as_json(self) -> dict[str, Any]:
        """The mapping that `faults --json` prints for a fault."""
        return {
            "part": self.part,
            "mode": self.mode,
            "input": None if self.input is None else dict(self.input),
            "light": None if self.light is None else dict(self.light),
            "settled": self.settled,
            "overstressed": [over.as_json() for over in self.overstressed],
            "fuse": None if self.fuse is None else self.fuse.as_json(),
            "fuses": [fuse.as_json() for fuse in self.fuses],
            "touched": [exposure.as_json() for exposure in self.touched],
            "live_when_off": list(self.live_when_off),
            "pins_to_34": self.pins_to_34,
            "outcome": self.outcome,
            "severity": self.severity,
            "problem": self.problem,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Faults:
    """All single faults of an item in one state, worst first; `undecided` says what the record leaves open."""

    state: str | None
    faults: tuple[Fault, ...]
    undecided: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff faults --json` prints."""
        return {
            "state": self.state,
            "faults": [fault.as_json() for fault in self.faults],
            "undecided": list(self.undecided),
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class _Sound:
    """The circuit without a fault."""

    solution: Solution
    power: float
    light: Mapping[str, Any] | None
    stress: Mapping[tuple[str, str], float]
    touched: frozenset[tuple[str, str]]
    fuses: tuple[Fuse, ...]
    electrolytics: frozenset[str]
    first_peak: float  # [A] in the first half-cycle
    hard_peak: float  # [A] the same without the mains' assumed coil
    pins: float  # [s] to 34 V


def faults(circuit: Circuit, item: Item | None = None) -> Faults:
    """Every single fault of a circuit, and of the item it belongs to, worst first.

    `item` brings surfaces, gaps, the plug and sightings; without it what a person can touch stays undecided. A fault
    that cannot be solved is told as such; the others go on. Raises StudyError on a bench supply, CircuitError where the
    sound circuit is not solved.
    """
    if circuit.supply.dc is not None:
        raise StudyError("This state is fed by a bench supply; faults are about the mains: choose another state")
    sound = _sound(circuit, item)
    found = [_fault(case, sound, item) for case in cases(circuit, item, sound.electrolytics)]
    return Faults(
        state=circuit.state,
        faults=tuple(sorted(found, key=_worst_first)),
        undecided=_undecided(circuit, item),
        warnings=sound.solution.warnings,
    )


def _worst_first(fault: Fault) -> tuple[int, float]:
    return -fault.severity, -max((over.times for over in fault.overstressed), default=0.0)


def _sound(circuit: Circuit, item: Item | None) -> _Sound:
    solution = solve(circuit, fineness=FINENESS, most_cycles=CYCLES)
    nothing = Case(part="", mode="", words="", circuit=circuit)
    first = first_half_cycle(circuit)
    trace = of_solution(solution)
    steady = (e for e in circuit.elements if e.kind == "capacitor" and not alternates(trace.voltage(e)))
    return _Sound(
        solution=solution,
        power=float(solution.input_figures()["power"]),
        light=solution.light_figures(),
        stress=sound_stress(solution, first),
        touched=frozenset((e.what, e.touch.level) for e in exposures(nothing, solution, item)),
        fuses=fuses_of(circuit, item),
        electrolytics=frozenset(e.ref for e in steady if is_electrolytic(e)),
        first_peak=0.0 if first is None else first.peak,
        hard_peak=0.0 if first is None else first.hard_peak,
        pins=_pins(circuit, solution),
    )


def _pins(circuit: Circuit, solution: Solution) -> float:
    time = unplug(circuit, solution).pins.to_34
    return math.inf if time is None else time


def _fault(case: Case, sound: _Sound, item: Item | None) -> Fault:
    solution, problem = _solved(case.circuit)
    given = light = None
    over: tuple[Overstress, ...] = ()
    fuses: tuple[FuseVerdict, ...] = ()
    touched: tuple[Exposure, ...] = ()
    pins: float | None = None
    first: FirstHalfCycle | None = None
    if solution is not None:
        given, light = solution.input_figures(), solution.light_figures()
        first = first_half_cycle(case.circuit)
        over = overstressed(solution, case, sound.stress, first, sound.electrolytics)
        fuses = fuse_verdicts(case, solution, sound.fuses, item, first)
        touched = tuple(e for e in exposures(case, solution, item) if (e.what, e.touch.level) not in sound.touched)
        pins = _lost_bleed(case, solution, sound)
    live = live_when_off(case)
    facts = Found(
        part=case.part,
        words=case.words,
        given=given,
        light=light,
        sound_power=sound.power,
        sound_light=sound.light,
        first_peak=0.0 if first is None else first.peak,
        sound_first_peak=sound.first_peak,
        hard_peak=0.0 if first is None else first.hard_peak,
        sound_hard_peak=sound.hard_peak,
        over=over,
        fuses=fuses,
        touched=touched,
        live=live,
        is_off=case.off,
        pins_after=pins,
        water=_water(case, solution),
        settled=solution is None or solution.settled,
        problem=problem,
    )
    return Fault(
        part=case.part,
        mode=case.mode,
        input=given,
        light=None if facts.dying else light,
        settled=facts.settled and solution is not None,
        overstressed=over,
        fuses=fuses,
        touched=touched,
        live_when_off=live,
        pins_to_34=None if pins is None or math.isinf(pins) else pins,
        outcome=outcome(facts),
        severity=severity(facts),
        problem=problem,
    )


def _solved(circuit: Circuit) -> tuple[Solution | None, str | None]:
    try:
        return solve(circuit, fineness=FINENESS, most_cycles=CYCLES), None
    except UNSOLVED as error:
        return None, str(error)


def _lost_bleed(case: Case, solution: Solution, sound: _Sound) -> float | None:
    """Time [s] for which the pins stay above 34 V because of the fault; None where it is not to blame for that."""
    element = sound.solution.circuit.element(case.part)
    if case.mode != "open" or element is None or element.kind not in ("resistor", "varistor") or sound.pins > _SOON:
        return None
    stores = [e for e in case.circuit.elements if e.kind == "capacitor" and e.number("value") > _STORE]
    if not any(set(e.nodes) & set(element.nodes) for e in stores):
        return None
    try:
        after = _pins(case.circuit, solution)
    except CircuitError:
        return None
    return after if after > _SOON else None


def _water(case: Case, solution: Solution | None) -> tuple[float, float] | None:
    """Current [A rms] and power [W] in the water that bridges the terminals, where that is the fault."""
    ref = f"{case.part}~water"
    if case.mode != "water" or solution is None:
        return None
    return float(solution.part_figures(ref)["current_rms"]), float(solution.powers[ref])


def _undecided(circuit: Circuit, item: Item | None) -> tuple[str, ...]:
    found: list[str] = []
    if item is None or not item.surfaces:
        found.append("What becomes live where a person can touch: no touchable surface is recorded.")
    if item is None or not item.gaps:
        found.append("Which insulation is a single one that may be bridged: no gap between parts is recorded.")
    plug = item.plug if item is not None else {}
    if any(e.kind == "switch" for e in circuit.elements) and not plug.get("switch_breaks"):
        found.append(
            "Which pole the switch breaks as found: [plug] switch_breaks is not recorded, the circuit is taken."
        )
    if not any(e.kind == "fuse" for e in circuit.elements) and plug.get("fuse") is None:
        found.append("Whether a fuse in the plug or in the wall opens: none is recorded.")
    if mains_assumed(circuit.supply):
        found.append(
            "How hard the mains is: its impedance is not recorded. Peaks at switch-on are those behind the reference "
            "impedance of IEC 60725, what it does to fuses and rectifiers is worked out without its coil."
        )
    return tuple(found)
