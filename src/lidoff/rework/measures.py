"""How each goal's figure is found for a circuit: one function per goal, from a solved circuit to a number."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any, Final

import numpy as np

from lidoff.circuit import Circuit, behind_reference, with_values
from lidoff.cycle import Solution, solve, transient
from lidoff.errors import LidoffError
from lidoff.figures import attenuation, estimate, find_edges, most_modulation
from lidoff.record.model import Table
from lidoff.rework.case import light_of
from lidoff.rework.goals import Goal
from lidoff.studies import glow, stress, turn, unplug
from lidoff.studies.fold import break_out
from lidoff.studies.surgery import OPEN, SHORT, as_resistor, swapped
from lidoff.studies.sweep import dead_travel, floor, stop_at
from lidoff.studies.switch_on import cold
from lidoff.studies.traces import of_stretch

_LATCHING: Final = ("triac", "thyristor", "diac", "indicator")
_QUICK_STEPS: Final = 4.0  # fineness while values are sought: costs some 0.1 % of a figure
_QUICK_STOPS: Final = 15  # places along a knob while values are still being sought
_ANGLES: Final = (30.0, 60.0, 75.0, 90.0, 105.0, 270.0)  # [deg] of switching on, tried for the peak
_SPREAD_OF_STRINGS: Final = 0.02  # of forward voltage between strings, where the record has no tolerance (our choice)
_JUST_BEFORE: Final = 40e-6  # [s] before a step the switch still holds its voltage
_NETWORK: Final = 100.0  # [ohm] the two lines of the artificial mains network, above some 1 MHz


class Run:
    """A circuit with what is worked out of it when it is first asked for.

    `full` is the light that shares are taken of [LEDs × A]; `quick` asks for rougher figures where they cost much.
    `before` is the circuit as found, `near` a run of much the same circuit, from whose cycle this one is reached where
    nothing latches in it; `fineness` that of the solver's steps. `floor` is the least over the most light of a
    knob that was turned for a goal, None before.
    """

    def __init__(
        self,
        circuit: Circuit,
        full: float | None,
        *,
        quick: bool = False,
        before: Circuit | None = None,
        near: Run | None = None,
        fineness: float | None = None,
    ) -> None:
        self.circuit = circuit
        self.full = full
        self.quick = quick
        self.before = before
        self.near = near
        self.floor: float | None = None
        self.fineness = fineness if fineness is not None else (_QUICK_STEPS if quick else 1.0)

    @cached_property
    def solution(self) -> Solution:
        """The settled cycle. Raises CircuitError where there is none."""
        start = None
        if self.near is not None and not any(e.kind in _LATCHING for e in self.circuit.elements):
            start = self.near.solution.run.stretches[-1].end
        return solve(self.circuit, start=start, fineness=self.fineness)

    @cached_property
    def input(self) -> Mapping[str, Any]:
        """The input figures."""
        return self.solution.input_figures()

    @cached_property
    def light(self) -> Mapping[str, Any] | None:
        """The light figures, None where there is no light."""
        return self.solution.light_figures()

    def value(self, goal: Goal) -> float | None:
        """The figure of a goal; None where it does not exist or could not be worked out."""
        try:
            return MEASURES[goal.name](self, goal)
        except (LidoffError, ArithmeticError, np.linalg.LinAlgError):
            return None


def _light_share(run: Run, _goal: Goal) -> float | None:
    return None if not run.full else light_of(run.solution) / run.full


def _figure(name: str) -> Callable[[Run, Goal], float | None]:
    def read(run: Run, _goal: Goal) -> float | None:
        held = None if run.light is None else run.light.get(name)
        return None if held is None else float(held)

    return read


def _ieee(run: Run, goal: Goal) -> float | None:
    if run.light is None or run.light["percent_flicker"] is None:
        return None
    most = most_modulation("low risk" if goal.subject == "low risk" else "no effect", float(run.light["frequency"]))
    return 0.0 if most is None else float(run.light["percent_flicker"]) / most


def _power_factor(run: Run, _goal: Goal) -> float | None:
    held = run.input["power_factor"]
    return None if held is None else float(held)


def _harmonics(run: Run, goal: Goal) -> float | None:
    """The worst line over its limit [1]; of class C's routes the one that is met best."""
    prefix = f"harmonics-class-{goal.subject}"
    found = [one for one in run.solution.figures()["input"]["limits"] if str(one["id"]).startswith(prefix)]
    worst = []
    for one in found:
        counted = [item["value"] / item["limit"] for item in one["items"] if not item["ignored"] and item["limit"]]
        worst.append(max(counted, default=0.0))
    return min(worst) if worst else None


def _stress(run: Run, goal: Goal) -> float | None:
    ref, _, quantity = (goal.subject or "").partition(".")
    rows = [
        row
        for row in stress(run.solution)
        if row.times is not None and ref in (row.part, "all") and quantity in ("", row.quantity)
    ]
    return max((row.times for row in rows if row.times is not None), default=None)


def _dead_travel(run: Run, _goal: Goal) -> float | None:
    """As `lidoff turn` has it; while values are sought, from rest at fewer places, which is quicker."""
    knob = next((e.ref for e in run.circuit.elements if e.kind == "potentiometer"), None)
    if knob is None:
        return None
    if not run.quick:
        return turn(run.circuit, knob).dead_travel
    name = f"{knob}.position"
    stops = [stop_at(with_values(run.circuit, {name: x}), x)[0] for x in np.linspace(0.0, 1.0, _QUICK_STOPS).tolist()]
    run.floor = floor(stops)
    return dead_travel(stops)


def _glow(run: Run, _goal: Goal) -> float | None:
    """Largest share of full light that any way of being off leaves; 0 where it has no way of being off."""
    return max((one.share for one in glow(run.circuit)), default=0.0)


def _inrush(run: Run, _goal: Goal) -> float:
    return inrush(run.circuit)


def inrush(circuit: Circuit) -> float:
    """Largest current [A] in the first cycle and a half after switching on, cold, at a handful of angles."""
    cool = behind_reference(cold(circuit))
    duration = 1.5 / circuit.supply.frequency
    peak = 0.0
    for angle in _ANGLES:
        built, stretch = transient(cool, duration=duration, phase=math.radians(angle))
        peak = max(peak, float(np.abs(of_stretch(built, stretch, 0.0).source).max()))
    return peak


def _discharge(run: Run, _goal: Goal) -> float:
    time = unplug(run.circuit, run.solution).pins.to_34
    return math.inf if time is None else time


def _balance(run: Run, _goal: Goal) -> float | None:
    """How much more than the mean one string carries whose LEDs drop less than the others' by their tolerance [1]."""
    split = _one_apart(run.circuit)
    if split is None:
        return 0.0
    circuit, ref, others, count = split
    solution = solve(circuit)
    own = abs(float(solution.part_figures(ref)["current_mean"]))
    rest = sum(
        abs(float(solution.part_figures(other)["current_mean"])) * (circuit_count(circuit, other)) for other in others
    )
    mean = (own + rest) / count
    return own / mean - 1.0 if mean > 0.0 else None


def circuit_count(circuit: Circuit, ref: str) -> float:
    """How many strings side by side an element of a split circuit stands for, as its current counts them."""
    element = circuit.element(ref)
    return 1.0 if element is None else element.parallel


def _one_apart(circuit: Circuit) -> tuple[Circuit, str, tuple[str, ...], float] | None:
    """The circuit with one of several strings side by side on its own, and dropping less; None where there is one."""
    for element in circuit.elements:
        if element.kind != "led":
            continue
        groups = element.number("parallel")
        share = _tolerance(element.tolerance)
        low = element.number("forward_voltage") * (1.0 - share)
        if groups > 1.0:
            one = replace(
                element,
                ref=f"{element.ref}~low",
                values=Table({**element.values, "parallel": 1.0, "forward_voltage": low}),
            )
            rest = replace(element, values=Table({**element.values, "parallel": groups - 1.0}))
            return swapped(circuit, element.ref, rest, one), one.ref, (rest.ref,), groups
        if element.block is not None and element.parallel > 1.0:
            broken = break_out(circuit, element.block)
            single = broken.circuit.element(element.ref)
            if single is None:
                continue
            weak = replace(single, values=Table({**single.values, "forward_voltage": low}))
            mates = tuple(o for o, owner in broken.others.items() if owner == element.ref and o.endswith("~rows"))
            return swapped(broken.circuit, element.ref, weak), element.ref, mates, element.parallel
    alike = _alike(circuit)
    if len(alike) > 1:
        first = circuit.element(alike[0])
        assert first is not None
        low = first.number("forward_voltage") * (1.0 - _tolerance(first.tolerance))
        weak = replace(first, values=Table({**first.values, "forward_voltage": low}))
        return swapped(circuit, first.ref, weak), first.ref, alike[1:], float(len(alike))
    return None


def _alike(circuit: Circuit) -> tuple[str, ...]:
    """LED parts with the same number in a row: strings side by side, each with parts of its own."""
    strings = [e for e in circuit.elements if e.kind == "led"]
    return tuple(e.ref for e in strings if strings and e.number("series") == strings[0].number("series"))


def _tolerance(held: Any) -> float:
    if isinstance(held, float | int) and held > 0.0:
        return float(held)
    if isinstance(held, Mapping) and "forward_voltage" in held:
        return float(held["forward_voltage"])
    return _SPREAD_OF_STRINGS


def _interference(run: Run, goal: Goal) -> float | None:
    after = disturbance(run.circuit)
    if goal.subject == "limit":
        return after
    before = disturbance(run.before) if run.before is not None else None
    return None if after is None or before is None else before - after


QUIET: Final = -60.0
"""Decibels over the limit that a current without any step is given, for there is no level of nothing."""


def disturbance(circuit: Circuit) -> float | None:
    """How far the worst place of the estimate up to 300 kHz stands over its limit [dB], a filter's share taken off."""
    chokes, farads, bare = without_filter(circuit)
    solution = solve(bare)
    current = solution.input_waves()[1]
    time = np.append(solution.time, solution.period)
    try:
        edges = find_edges(time, np.append(current, current[0]), 1.0 / bare.supply.frequency)
    except ValueError:
        return None
    load = _held(solution, max(edges, key=lambda e: abs(e.step)).time, edges) if edges else None
    lit = bool(solution.led_parts)
    found = estimate(
        edges, bare.supply.frequency, solution.cycles, load=load, limit="lighting" if lit else "residential"
    )
    known = [level for level in found.levels if level.frequency <= 300e3]
    if not known:
        return QUIET
    frequency = np.array([level.frequency for level in known])
    over = np.array([level.middle - level.limit for level in known])
    if chokes or farads:
        over = over - attenuation(frequency, load if load is not None else _NETWORK, chokes, farads)
    return float(max(over.max(), QUIET))


def _held(solution: Solution, instant: float, edges: Any) -> float | None:
    """What the largest step stands behind [ohm]: the voltage that the switch held just before it, over the step."""
    step = max(abs(edge.step) for edge in edges)
    for element in solution.circuit.elements:
        if element.kind in ("triac", "thyristor"):
            wave = solution.part_wave(element.ref)[0]
            times = np.concatenate([[0.0], solution.waves.time])
            held = abs(float(np.interp(max(instant - _JUST_BEFORE, 0.0), times, np.concatenate([wave[-1:], wave]))))
            return held / step if held > 0.0 else None
    return None


def without_filter(circuit: Circuit) -> tuple[float, float, Circuit]:
    """The chokes in the line [H] and the capacitors across it [F] of a circuit, and the circuit without them."""
    henries = farads = 0.0
    poles = tied(circuit)
    for element in circuit.elements:
        if element.kind == "inductor":
            henries += element.number("value")
            circuit = as_resistor(circuit, element.ref, max(element.number("resistance"), SHORT))
        elif element.kind == "choke":
            henries += 2.0 * element.number("value") * (1.0 - element.number("coupling"))
        elif element.kind == "capacitor" and {poles.get(str(n), str(n)) for n in element.nodes} == {"live", "neutral"}:
            farads += element.number("value")
            circuit = as_resistor(circuit, element.ref, OPEN)
    return henries, farads, circuit


def tied(circuit: Circuit) -> dict[str, str]:
    """Nodes that fuses, closed switches and thermistors tie to a pole, with the pole."""
    poles = {"live": "live", "neutral": "neutral"}
    changed = True
    while changed:
        changed = False
        for element in circuit.elements:
            if element.kind in ("fuse", "switch", "thermistor", "thermostat", "inductor") and len(element.nodes) == 2:
                a, b = str(element.nodes[0]), str(element.nodes[1])
                for one, other in ((a, b), (b, a)):
                    if one in poles and other not in poles:
                        poles[other] = poles[one]
                        changed = True
    return poles


MEASURES: Final[Mapping[str, Callable[[Run, Goal], float | None]]] = Table(
    {
        "light": _light_share,
        "percent_flicker": _figure("percent_flicker"),
        "svm": _figure("svm"),
        "ieee_1789": _ieee,
        "dead_travel": _dead_travel,
        "glow_off": _glow,
        "power_factor": _power_factor,
        "harmonics": _harmonics,
        "stress": _stress,
        "inrush": _inrush,
        "discharge": _discharge,
        "balance": _balance,
        "interference": _interference,
    }
)
"""Each goal's figure."""

COSTLY: Final = frozenset({"dead_travel", "glow_off", "inrush", "discharge", "interference", "balance"})
"""Goals whose figure takes many solutions."""
