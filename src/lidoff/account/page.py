"""Light and mains quality of one state, put together from the figures room."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from lidoff.account.model import LightAndMains
from lidoff.cycle import Solution
from lidoff.figures import (
    CORNER_OF_THE_EYE,
    at_other_mains,
    camera,
    input_comparisons,
    input_sentences,
    light_comparisons,
    light_sentences,
    warning,
)
from lidoff.figures.input_limits import Kind
from lidoff.record import Item
from lidoff.studies import disturbance


def light_and_mains(item: Item, solution: Solution, figures: Mapping[str, Any], *, dimmed: bool) -> LightAndMains:
    """The page of one solved state on the mains. `figures` are those of the solution."""
    light, mains = figures["light"], figures["input"]
    voltage, current, glow = solution.harmonic_waves
    frequency, cycles = solution.circuit.supply.frequency, solution.cycles
    lit = light is not None and light["percent_flicker"] is not None
    kind: Kind = item.kind if item.kind in get_args(Kind) else "other"  # type: ignore[assignment]
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
        interference=disturbance(solution),
        elsewhere=at_other_mains(light, glow, frequency, cycles),
        corner_of_the_eye=CORNER_OF_THE_EYE if lit else "",
        dimmed=dimmed,
    )
