"""Light and mains quality of one state, put together from the figures room."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, get_args

import numpy as np

from lidoff.account.model import LightAndMains
from lidoff.cycle import Solution
from lidoff.figures import (
    CORNER_OF_THE_EYE,
    Interference,
    at_other_mains,
    camera,
    estimate,
    find_edges,
    input_comparisons,
    input_sentences,
    light_comparisons,
    light_sentences,
    warning,
)
from lidoff.figures.input_limits import Kind
from lidoff.record import Item

_SWITCHES: Final = ("triac", "thyristor")
_JUST_BEFORE: Final = 40e-6  # [s] before a step the switch still holds its voltage


def light_and_mains(item: Item, solution: Solution, figures: Mapping[str, Any], *, dimmed: bool) -> LightAndMains:
    """The page of one solved state on the mains. `figures` are those of the solution."""
    light, mains = figures["light"], figures["input"]
    voltage, current, glow = solution.harmonic_waves
    frequency, cycles = solution.circuit.supply.frequency, solution.cycles
    lit = light is not None and light["percent_flicker"] is not None
    kind: Kind = item.kind if item.kind in get_args(Kind) else "other"  # type: ignore[assignment]
    flows = mains["thd"] is not None
    return LightAndMains(
        light_words=light_sentences(light),
        input_words=input_sentences(mains),
        warning=warning(light),
        light_bounds=light_comparisons(
            light, light_uniform=glow, mains_frequency=frequency, cycles=cycles, region=item.region, dimmed=dimmed
        ),
        input_limits=input_comparisons(
            mains,
            voltage_uniform=voltage,
            current_uniform=current,
            mains_frequency=frequency,
            cycles=cycles,
            mains_voltage=item.rated.get("voltage"),
            kind=kind,
            rated_power=item.rated.get("power"),
            region=item.region,
            dimmed=dimmed,
            light=light is not None,
        ),
        camera=camera(glow, light["frequency"], frequency, cycles) if lit else None,
        interference=_interference(solution, lit) if flows else None,
        elsewhere=at_other_mains(light, glow, frequency, cycles),
        corner_of_the_eye=CORNER_OF_THE_EYE if lit else "",
        dimmed=dimmed,
    )


def _interference(solution: Solution, lit: bool) -> Interference | None:
    """The estimate from the steps of the mains current; None where the samples are too coarse to show a step."""
    supply = solution.circuit.supply
    current = solution.input_waves()[1]
    time = np.append(solution.time, solution.period)
    try:
        edges = find_edges(time, np.append(current, current[0]), 1.0 / supply.frequency)
    except ValueError:
        return None
    largest = max(edges, key=lambda edge: abs(edge.step), default=None)
    load = None
    if largest is not None:
        for element in solution.circuit.elements:
            if element.kind in _SWITCHES:
                across = np.abs(_switch_voltage(solution, element.ref))
                held = float(across[int(np.searchsorted(solution.time, max(largest.time - _JUST_BEFORE, 0.0)))])
                load = held / abs(largest.step) if held > 0.0 else None
    limit = "lighting" if lit else "residential"
    return estimate(edges, supply.frequency, solution.cycles, load=load, limit=limit)


def _switch_voltage(solution: Solution, ref: str) -> Any:
    """Voltage across a switch at the solution's uniform instants [V]."""
    points = solution.part_wave(ref)[0]
    time = np.concatenate([[0.0], solution.waves.time])
    return np.interp(solution.time, time, np.concatenate([points[-1:], points]))
