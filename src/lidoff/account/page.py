"""Light and mains quality of one state, put together from the figures room."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Final, get_args

import numpy as np

from lidoff.account.model import LightAndMains
from lidoff.circuit import Circuit, with_values
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.figures import (
    CORNER_OF_THE_EYE,
    Interference,
    Sentence,
    camera,
    input_comparisons,
    input_sentences,
    light_comparisons,
    light_sentences,
    warning,
)
from lidoff.figures import at_other_mains as same_swing_elsewhere
from lidoff.figures.input_limits import Kind
from lidoff.quantity import engineering
from lidoff.record import Item
from lidoff.studies import disturbance
from lidoff.studies.glow import is_lit
from lidoff.studies.other_mains import at_other_mains

_STOPS: Final = 11  # settings of a knob at which the radio is listened to
_MORE: Final = 1.12  # times the step here from which another setting is called louder: 1 dB


def loudest(circuit: Circuit, refs: Sequence[str], here: Interference) -> str:
    """Where along the knobs the steps of the current are largest, against those `here`, in a sentence; "" without any.

    One knob is turned at a time, the others as they are.
    """
    found: list[tuple[float, str, float]] = []
    for ref in refs:
        for position in np.linspace(0.0, 1.0, _STOPS).tolist():
            try:
                heard = disturbance(solve(with_values(circuit, {f"{ref}.position": position})))
            except LidoffError:
                continue
            if heard is not None:
                found.append((heard.step, ref, position))
    step, ref, position = max(found, default=(0.0, "", 0.0))
    if step <= 0.0:
        return ""
    where = f"with {ref} at {100.0 * position:.0f} % of its travel"
    one = len(refs) == 1
    if step <= _MORE * here.step:
        whole = (
            f"whole knob {ref}" if one else f"whole of the knobs {', '.join(refs[:-1])} and {refs[-1]}, each by itself,"
        )
        return f"Along the {whole} it is about as loud as this or quieter."
    if here.step <= 0.0:
        knobs = "knob" if one else "knobs"
        return f"Elsewhere along the {knobs} the current does step: by {engineering(step, 'A', 2)} {where}."
    louder = 20.0 * math.log10(step / here.step)
    return f"It is loudest {where}: steps of {engineering(step, 'A', 2)}, some {louder:.0f} dB more."


def light_and_mains(item: Item, solution: Solution, figures: Mapping[str, Any], *, dimmed: bool) -> LightAndMains:
    """The page of one solved state on the mains. `figures` are those of the solution."""
    light, mains = figures["light"], figures["input"]
    voltage, current, glow = solution.harmonic_waves
    frequency, cycles = solution.circuit.supply.frequency, solution.cycles
    lit = is_lit(solution.circuit, light)
    kind: Kind = item.kind if item.kind in get_args(Kind) else "other"  # type: ignore[assignment]
    return LightAndMains(
        light_words=light_sentences(light) if lit or light is None else (_too_little(light),),
        input_words=input_sentences(mains),
        warning=warning(light) if lit else None,
        light_bounds=light_comparisons(
            light if lit else None,
            light_uniform=glow,
            mains_frequency=frequency,
            cycles=cycles,
            region=item.region,
            dimmed=dimmed,
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
        elsewhere=at_other_mains(solution) or same_swing_elsewhere(light, glow, frequency, cycles),
        corner_of_the_eye=CORNER_OF_THE_EYE if lit else "",
        dimmed=dimmed,
        lit=lit,
    )


def _too_little(light: Mapping[str, Any]) -> Sentence:
    """What is said of a source that gives no light to speak of."""
    if light["percent_flicker"] is None:
        return light_sentences(light)[0]
    amperes = engineering(max(float(light["mean_current"]), 0.0), "A", 2)
    return Sentence(
        key="light.mean_current",
        text=f"The LEDs get {amperes}, a glow at most; its flicker is not held against anything.",
    )
