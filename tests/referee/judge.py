"""Our solution beside the referee's verdict: what both say, and where they differ by more than the design allows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
from tests.referee.circuits import TRADE
from tests.referee.ida import Start, Verdict, referee

from lidoff.circuit import Circuit, build
from lidoff.cycle import Solution, solve
from lidoff.record import open as open_record

REFERENCE = Path(__file__).resolve().parent.parent / "reference" / "cycle"
FIVE = ("strip", "bulk_charger", "dimmer_lamp", "dropper", "regulator_lamp")

# Cycles from rest where that settles soon; the others have a slow capacitor, start from our own settled state and must
# stay there for three cycles.
FROM_REST = {
    "strip": 1,
    "dimmer_lamp": 4,
    "dimmer_behind_filter": 4,
    "dimmer_on_a_motor": 5,
    "dimmer_of_two_stages": 5,
    "dimmer_with_uneven_diac": 5,
    "thyristor_behind_rectifier": 4,
    "half_wave_heater": 1,
    "lamps_in_series": 1,
    "dimmed_strip": 4,
    "strip_with_regulators": 1,
    "mosfet_string": 1,
    "neon_beside_a_load": 2,
}
AFTER = 3

SHARE = 0.005  # rms current, power, power factor
PEAK = 0.01  # peaks and light
OWN = 0.01  # rms values of a single part, whose discharges last microseconds


def circuit_of(name: str) -> Circuit:
    """One of the five reference circuits, or of `circuits`."""
    return build(open_record(REFERENCE / f"{name}.toml")) if name in FIVE else TRADE[name]()


def start_from(solution: Solution) -> Start:
    """The end of our settled record as the referee's start."""
    system, end = solution.built.system, solution.run.stretches[-1].end
    x = np.append(end.x, 0.0)
    states: dict[str, list[float]] = {}
    for ref, k, _ in solution.built.stores:
        states.setdefault(ref, []).append(float(x[system.za[k]] - x[system.zb[k]]))
    states.pop("supply", None)
    on = {ref: int(end.reached[k]) for k, ref in enumerate(solution.built.latches) if end.latch[k]}
    return Start(states=states, latches=on)


def filaments_of(solution: Solution) -> dict[str, float]:
    """The resistance of each lamp and heater as our solution has it [ohm]."""
    kinds = ("lamp", "heater")
    return {e.ref: e.number("resistance") for e in solution.circuit.elements if e.kind in kinds}


@cache
def both(name: str) -> tuple[Solution, Verdict]:
    """Our solution and the referee's verdict of a circuit."""
    circuit = circuit_of(name)
    solution = solve(circuit)
    if name in FROM_REST:
        return solution, referee(circuit, cycles=FROM_REST[name], filaments=filaments_of(solution))
    start = start_from(solution)
    return solution, referee(circuit, cycles=AFTER, start=start, filaments=filaments_of(solution))


def differences(solution: Solution, verdict: Verdict) -> Iterator[tuple[str, float, float, float]]:
    """Figure, our value, the referee's, and by how much they may differ."""
    figures = solution.figures()
    for key, share in (("current_rms", SHARE), ("power", SHARE), ("power_factor", SHARE), ("current_peak", PEAK)):
        value = getattr(verdict, key)
        yield f"input.{key}", figures["input"][key], value, share * abs(value)
    if verdict.light_mean is not None:
        light = figures["light"]
        yield "light.mean_current", light["mean_current"], verdict.mean_current, PEAK * verdict.mean_current
        flicker = verdict.percent_flicker
        # Flicker is a ratio of its own: a hundredth of it, or a twentieth of a percentage point where it is small.
        yield "light.percent_flicker", light["percent_flicker"], flicker, max(PEAK * flicker, 0.05)
        yield "light max", float(solution.light.max()), verdict.light_max, PEAK * verdict.light_max
    for ref, part in verdict.parts.items():
        # A part that takes next to nothing is asked for a ten-thousandth of the input instead.
        allowed = max(SHARE * part["power"], 1e-4 * verdict.power)
        yield f"{ref}.power", figures["parts"][ref]["power"], part["power"], allowed


def part_differences(solution: Solution, verdict: Verdict) -> Iterator[tuple[str, float, float, float]]:
    """The same of the parts' voltages and currents."""
    for ref, part in verdict.parts.items():
        ours = solution.part_figures(ref)
        for quantity in ("voltage", "current"):
            rms = part[f"{quantity}_rms"]
            yield f"{ref}.{quantity}_rms", ours[f"{quantity}_rms"], rms, OWN * rms
            peak = part[f"{quantity}_peak"]
            yield f"{ref}.{quantity}_peak", ours[f"{quantity}_peak"], peak, PEAK * peak
            yield f"{ref}.{quantity}_mean", ours[f"{quantity}_mean"], part[f"{quantity}_mean"], OWN * rms


def misses(rows: Iterator[tuple[str, float, float, float]]) -> list[str]:
    """The rows that differ by more than they may, in words."""
    return [
        f"{name}: ours {ours:.6g}, referee {theirs:.6g} ({ours / theirs - 1.0:+.2%})"
        for name, ours, theirs, allowed in rows
        if not abs(ours - theirs) <= allowed
    ]
