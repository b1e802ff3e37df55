"""Every part's computed power, voltage and current against its rating, worst first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from lidoff.circuit.model import Element
from lidoff.cycle import Solution
from lidoff.standards.temperatures import DERATING
from lidoff.studies.ratings import UNITS, Quantity, Rating, against_direct, ratings_of
from lidoff.studies.traces import Floats, Trace, of_solution

Verdict = Literal["over", "close", "within", "no rating"]
_CLOSE: Final = 0.9  # share of a rating above which a part is called close to it, where no habit says otherwise


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """One quantity of one part held against its rating.

    `value` and `rating` [`unit`: W, V or A] are per member of a block, per diode of a bridge and per LED of a string;
    `times` is value over rating. `measure` says which figure was taken ("rms", "peak reverse" …). Where the part's
    marking tells the rating and nobody wrote it down, `marked` is true; where a rule of thumb stands in, `assumed` is;
    `why` says which; `crest` is true where the rating is the crest of a capacitor's AC rating. Where there is none,
    `rating` is None. `verdict` is "over" above the rating, "close" above the share of it that is good habit.
    """

    part: str
    quantity: Quantity
    measure: str
    value: float
    unit: str
    rating: float | None
    times: float | None
    assumed: bool
    verdict: Verdict
    why: str
    marked: bool = False
    crest: bool = False

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units; part, quantity, value, rating and times as `faults --json` prints them."""
        return {
            "part": self.part,
            "quantity": self.quantity,
            "measure": self.measure,
            "value": self.value,
            "unit": self.unit,
            "rating": self.rating,
            "times": self.times,
            "assumed": self.assumed,
            "marked": self.marked,
            "verdict": self.verdict,
            "why": self.why,
        }


def stress(solution: Solution) -> tuple[Stress, ...]:
    """Every part of a solved circuit against its ratings: those over most first, parts without a rating last.

    A rating that the record does not give is taken from the part's marking, else by rule of thumb; the row says which.
    """
    trace = of_solution(solution)
    rows: list[Stress] = []
    for element in solution.circuit.elements:
        voltage = trace.part(element)[0]
        alternating = alternates(voltage)
        for rating in ratings_of(element, solution.circuit.supply, alternating=alternating):
            taken = rating if alternating else against_direct(element, rating)
            value = _measured(solution, trace, element, taken)
            if value is not None:
                rows.append(_judged(element, taken, value))
    return tuple(sorted(rows, key=_worst_first))


def _worst_first(row: Stress) -> tuple[bool, float, str, str]:
    return (row.times is None, -(row.times or 0.0), row.part, row.quantity)


def alternates(voltage: Floats) -> bool:
    """Whether a voltage changes sign for good, its lesser side over a tenth of its greater one."""
    low, high = float(voltage.min()), float(voltage.max())
    return low < 0.0 < high and min(-low, high) > 0.1 * max(-low, high)


def _judged(element: Element, rating: Rating, value: float) -> Stress:
    times = None if rating.value is None else value / rating.value
    return Stress(
        part=element.ref,
        quantity=rating.quantity,
        measure=rating.measure,
        value=value,
        unit=UNITS[rating.quantity],
        rating=rating.value,
        times=times,
        assumed=rating.assumed,
        marked=rating.marked,
        verdict=_verdict(element, rating, times),
        why=rating.why,
        crest=rating.crest,
    )


def _verdict(element: Element, rating: Rating, times: float | None) -> Verdict:
    if times is None:
        return "no rating"
    if times > 1.0:
        return "over"
    close = _CLOSE
    if element.kind in ("resistor", "potentiometer") and rating.quantity == "power":
        close = DERATING.number("resistor power, share of rating, most")
    elif element.kind == "capacitor" and rating.measure == "peak" and not rating.crest:
        close = DERATING.number("electrolytic voltage, share of rating")
    elif element.kind in ("fuse", "lamp", "heater"):  # these are meant to run at what they are rated for
        close = 1.0
    return "close" if times > close else "within"


def _measured(solution: Solution, trace: Trace, element: Element, rating: Rating) -> float | None:
    """The figure that a rating is about, per member, diode or LED; None where the part has none such."""
    members = element.series * element.parallel
    supply = solution.circuit.supply
    if rating.measure == "mean power":
        return _of_one_led(element, solution.powers[element.ref] / members, power=True)
    if rating.measure == "mains voltage":
        return supply.voltage if supply.dc is None else supply.dc
    voltage, current = trace.part(element)
    branches = trace.branches(element)
    if rating.quantity == "voltage":
        if rating.measure == "peak reverse":
            worst = max(float(-across.min()) for _, across, _ in branches)
            leds = element.number("series") if element.kind == "led" else 1.0
            return max(worst, 0.0) / leds
        if element.kind in ("triac", "thyristor", "transistor", "mosfet"):
            return float(np.abs(voltage).max())
        if rating.measure == "rms":
            return max(_rms(trace, across) for _, across, _ in branches)
        return max(float(np.abs(across).max()) for _, across, _ in branches)
    if rating.measure == "mean":
        # A bridge is rated for what it gives, the sum of its two upper diodes; a diode for what flows forward.
        return _of_one_led(element, abs(float(_mean(trace, current))), power=False)
    if element.kind in ("triac", "thyristor", "transistor", "mosfet"):
        return _rms(trace, current)
    return max(_rms(trace, through) for _, _, through in branches)


def _of_one_led(element: Element, value: float, *, power: bool) -> float:
    """A figure of an LED string as that of one of its LEDs."""
    if element.kind != "led":
        return value
    share = element.number("parallel") * (element.number("series") if power else 1.0)
    return value / share


def _mean(trace: Trace, wave: Floats) -> float:
    """Mean of a wave over the trace."""
    return float(trace.weight @ wave / trace.weight.sum())


def _rms(trace: Trace, wave: Floats) -> float:
    return math.sqrt(max(_mean(trace, wave * wave), 0.0))
