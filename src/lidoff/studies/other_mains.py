"""The item taken to the other common mains: the circuit solved again there, not the same swing at another rate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from lidoff.circuit import with_values
from lidoff.circuit.model import CircuitError
from lidoff.cycle import Solution, solve
from lidoff.figures import most_modulation
from lidoff.figures.comparison import number
from lidoff.figures.sentences import MAINS
from lidoff.quantity import engineering, percent
from lidoff.standards.harmonic_limits import SCOPE
from lidoff.studies.glow import is_lit

_FITS: Final = 1.15  # times its mains that an item may get without a warning: mains are 10 % off, and a little more


def at_other_mains(solution: Solution) -> str | None:
    """What the item takes, how much light it gives and how that swings at the other common mains, in a sentence.

    Of 230 V 50 Hz and 120 V 60 Hz it is the one whose frequency is further from this mains'. Knobs and switches stay as
    they are. None where the circuit is not solved there.
    """
    supply = solution.circuit.supply
    voltage, frequency = max(MAINS, key=lambda pair: abs(pair[1] - supply.frequency))
    moved = with_values(solution.circuit, {"supply.voltage": voltage, "supply.frequency": frequency})
    try:
        there = solve(moved)
    except CircuitError:
        return None
    here, found = solution.figures(), there.figures()
    powers = [engineering(max(float(one["input"]["power"]), 0.0), "W", 2) for one in (found, here)]
    takes = f"{powers[0]}, as here" if powers[0] == powers[1] else f"{powers[0]} instead of {powers[1]}"
    said = [f"Solved again at {voltage:g} V {frequency:g} Hz, it takes {takes}"]
    if found["light"] is not None and is_lit(solution.circuit, here["light"]):
        said.append(_light(there, found["light"], _mean(there) / _mean(solution)))
    sets = "sets limits" if voltage >= SCOPE.number("least voltage") else "sets no limits"
    never = "" if voltage <= _FITS * supply.voltage else " This is worked out, never to be tried: parts burn or burst."
    return f"{'; '.join(said)}. IEC 61000-3-2 {sets} for the harmonics there.{never}"


def _mean(solution: Solution) -> float:
    return float(solution.waves.weight @ solution.light)


def _light(there: Solution, light: Mapping[str, Any], share: float) -> str:
    if not is_lit(there.circuit, light):
        return "it gives no light to speak of"
    beat = float(light["frequency"])
    low = most_modulation("low risk", beat)
    line = f"the low-risk line stands at {number(low)} %" if low is not None else "there is no low-risk line"
    strobe = "" if light["svm"] is None else f", with an SVM of {number(float(light['svm']))}"
    return (
        f"it gives {percent(share)} of this light, which swings by {number(float(light['percent_flicker']))} % at "
        f"{beat:g} Hz, where {line}{strobe}"
    )
