"""A circuit solved: settled cycle, filaments at their temperature, energy checked; or its point on a dc supply."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle.builder import Built
from lidoff.cycle.filament import filaments, resistance_at, with_resistances
from lidoff.cycle.settle import MOST_CYCLES, Point, Settled, Stretch, advance, control_for, rest, settle
from lidoff.cycle.solution import BALANCE, Solution
from lidoff.cycle.system import build_system

_FINER: Final = (1.0, 0.2)  # fineness of the steps, tried in turn until the energy balances
_STEADY: Final = 2e-4  # logarithm by which a filament's resistance may miss that of its temperature
_WANDERING: Final = 1e-2  # the same where the circuit does not settle
_ROUGH_CYCLES: Final = 6  # of a search that is only to tell a filament's power
_MUCH: Final = 60_000  # steps in the record of a rough search from which a longer one is not worth its time
# The resistance that fits falls as the one that is there rises: slope of their difference, in logarithms, for a start.
_FILAMENT_SLOPE: Final = -1.3
_DC_TIME: Final = 1e4  # [s] after which a circuit on a bench supply is taken to have come to rest


def solve(
    circuit: Circuit, *, start: Point | None = None, fineness: float = 1.0, most_cycles: int = MOST_CYCLES
) -> Solution:
    """The settled cycle of a circuit, reached from rest (or from `start`, a state carried along).

    The search ends after `most_cycles` mains cycles and says then that the operation wanders. Where the energy does not
    balance within 0.5 % the cycle is solved again in finer steps; if that does not help, the solution says that it is
    not settled. Raises CircuitError where no solution is found.
    """
    if circuit.supply.dc is not None:
        return _direct(circuit)
    if circuit.supply.voltage <= 0.0:
        raise CircuitError("The mains voltage is zero: nothing happens; give supply.voltage in volts rms")
    solution = _settle(circuit, start, fineness * _FINER[0], most_cycles)
    for finer in _FINER[1:]:
        if abs(solution.balance) <= BALANCE:
            break
        solution = _settle(circuit, start, fineness * finer, most_cycles)
    if abs(solution.balance) > BALANCE:
        note = f"The energy of this solution is out of balance by {abs(solution.balance):.1%}: do not rely on it."
        solution.warnings = (*solution.warnings, note)
    elif solution.run.settled and not solution.settled:
        note = f"It has not settled: {abs(solution.gain):.1%} of its power still goes into or comes out of a capacitor."
        solution.warnings = (*solution.warnings, note)
    return solution


def _settle(circuit: Circuit, start: Point | None, fineness: float, most_cycles: int) -> Solution:
    elements = filaments(circuit)
    if not elements:
        built = build_system(circuit)
        return Solution(circuit, built, settle(built, start=start, fineness=fineness, most_cycles=most_cycles))
    # In logarithms, as all of this is a matter of powers: a resistance, and how far the one that fits it is away.
    ohms = {e.ref: resistance_at(e, e.number("power")) for e in elements}
    slope = dict.fromkeys(ohms, _FILAMENT_SLOPE)
    moved: dict[str, tuple[float, float]] = {}
    rough = True  # far from the temperature a few cycles tell enough, settled or not
    for _ in range(25):
        heated = with_resistances(circuit, ohms)
        built = build_system(heated)
        cycles = _ROUGH_CYCLES if rough else most_cycles
        run = settle(built, start=start, fineness=fineness, most_cycles=cycles)
        solution, start = Solution(heated, built, run), run.stretches[-1].end
        powers = {e.ref: solution.powers[e.ref] / (e.series * e.parallel) for e in elements}
        off = {e.ref: math.log(resistance_at(e, powers[e.ref]) / ohms[e.ref]) for e in elements}
        furthest = max(abs(change) for change in off.values())
        # Where the operation wanders its power does too, and no resistance fits every record of it.
        if furthest < (_STEADY if run.settled else _WANDERING):
            if run.settled or not rough or sum(s.steps for s in run.stretches) > _MUCH:
                break
            rough = False
            continue
        for ref, (step, before) in moved.items():
            if abs(step) > 1e-6:
                slope[ref] = min(max((off[ref] - before) / step, -2.0), -0.5)
        rough = furthest > _WANDERING
        moved = {ref: (-off[ref] / slope[ref], off[ref]) for ref in ohms}
        ohms = {ref: ohms[ref] * math.exp(moved[ref][0]) for ref in ohms}
    return solution


def _direct(circuit: Circuit) -> Solution:
    built = build_system(circuit)
    control = control_for(built.system)._replace(longest=_DC_TIME / 20.0)
    try:
        stretch = advance(built, rest(built), 0.0, _DC_TIME, control)
    except CircuitError as error:
        raise CircuitError(f"On the bench supply this circuit does not come to rest ({error})") from error
    last = Stretch(
        start=stretch.start,
        end=stretch.end,
        time=np.array([1.0]),
        weight=np.array([1.0]),
        x=stretch.x[-1:],
        curves=stretch.curves[-1:],
        slopes=np.zeros_like(stretch.slopes[-1:]),
        flips=stretch.flips,
        steps=stretch.steps,
        trembling=stretch.trembling,
        sensitivity=None,
    )
    return Solution(circuit, built, Settled([last], True, 1, None, 0.0))


def transient(
    circuit: Circuit,
    *,
    duration: float,
    phase: float = 0.0,
    start: Point | None = None,
    open_mains: bool = False,
    fineness: float = 1.0,
) -> tuple[Built, Stretch]:
    """The circuit over `duration` [s] from rest or from `start`, the mains beginning at `phase` [rad].

    With `open_mains` the plug is pulled. The record's instants count from the mains' zero at phase 0. Raises
    CircuitError as `solve`.
    """
    built = build_system(circuit, open_mains=open_mains)
    control = control_for(built.system, fineness=fineness)
    if open_mains:
        control = control._replace(longest=max(control.longest, duration / 50.0))
    t0 = phase / built.system.omega
    return built, advance(built, start or rest(built), t0, t0 + duration, control)
