"""Light and mains quality of one state, put together from the figures room."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final, get_args

import numpy as np

from lidoff.account.model import LightAndMains
from lidoff.circuit import Circuit, with_values
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.figures import (
    CORNER_OF_THE_EYE,
    Interference,
    at_other_mains,
    camera,
    input_comparisons,
    input_sentences,
    light_comparisons,
    light_sentences,
    warning,
)
from lidoff.figures.input_limits import Kind
from lidoff.quantity import engineering
from lidoff.record import Item
from lidoff.studies import disturbance

_STOPS: Final = 11  # settings of a knob at which the radio is listened to
_MORE: Final = 1.12  # times the step here from which another setting is called louder: 1 dB


def loudest(circuit: Circuit, ref: str, here: Interference) -> str:
    """Where along a knob the steps of the current are largest, against those `here`, in a sentence; "" without any."""
    found: list[tuple[float, float]] = []
    for position in np.linspace(0.0, 1.0, _STOPS).tolist():
        try:
            heard = disturbance(solve(with_values(circuit, {f"{ref}.position": position})))
        except LidoffError:
            continue
        if heard is not None:
            found.append((heard.step, position))
    step, position = max(found, default=(0.0, 0.0))
    if step <= 0.0:
        return ""
    where = f"with {ref} at {100.0 * position:.0f} % of its travel"
    if step <= _MORE * here.step:
        return f"Along the whole knob {ref} it is about as loud as this or quieter."
    if here.step <= 0.0:
        return f"Elsewhere along the knob the current does step: by {engineering(step, 'A', 2)} {where}."
    louder = 20.0 * math.log10(step / here.step)
    return f"It is loudest {where}: steps of {engineering(step, 'A', 2)}, some {louder:.0f} dB more."


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
