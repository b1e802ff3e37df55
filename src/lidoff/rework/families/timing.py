"""Timing network resized: another knob, another taper, another end resistor, so that the travel does something."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from lidoff.record import Table
from lidoff.record.model import Value
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.family import NOTHING, Family, Plan

_TAPERS: Final = ("linear", "log", "reverse-log")


def _plans(case: Case) -> Iterable[Plan] | str:
    found = next(iter(case.groups.named("phase-control")), None)
    if found is None:
        return "There is no phase control whose timing could be changed."
    knob = next(iter(found.having("timing potentiometer")), None)
    end = next(iter(found.having("end resistor")), None)
    capacitor = next(iter(found.having("timing capacitor")), None)
    diac = next(iter(found.having("trigger diac")), None)
    element, cap = case.circuit.element(knob or ""), case.circuit.element(capacitor or "")
    if knob is None or element is None or cap is None:
        return "The phase control has no potentiometer in its timing."
    if elsewhere := case.other_part(found.own):
        return f"The timing is set by the knob; at its bright end it has no say in what {elsewhere} gets."
    track, farads = element.number("value"), cap.number("value")
    tracks = [v for v in stock.POTENTIOMETERS if 0.05 * track <= v <= 1.3 * track]
    travel = [
        Table({f"{knob}.value": value, f"{knob}.taper": taper})
        for value in sorted(tracks, reverse=True)
        for taper in _TAPERS
    ]
    stops: list[Mapping[str, Value]] = (
        [Table({f"{end}.value": ohms}) for ohms in _ends(case, end)] if end else [NOTHING]
    )
    trigger = case.circuit.element(diac or "")
    level = 1.0 + (trigger.number("breakover") if trigger is not None else 0.0)
    supply = case.circuit.supply
    last = case.circuit.element(end or "")
    least = last.number("value") if last is not None else 1.0
    angles = [
        equations.firing_angle(ohms, farads, level, supply.voltage, supply.frequency) for ohms in (least, least + track)
    ]
    words = [f"{angle:.0f}°" if angle is not None else "not at all" for angle in angles]
    return [
        Plan(
            variant="knob, taper and end resistor",
            edits=Edits(set=Table({f"{knob}.value": track})),
            axes=(tuple(travel), tuple(stops)),
            equations=(
                f"u' = (√2 U sin ωt − u) / RC, fires at {level:.0f} V: {words[0]} and {words[1]} at the ends as found, "
                "for a load that is a plain resistor",
            ),
            why="The knob's track is made to cover the angles at which the lamp gives light, and not those at which it "
            "gives none.",
            checks=("floor",),
            cautions=("A shorter track does not go all the way down: the least light is told with the design.",),
        )
    ]


def _ends(case: Case, ref: str) -> tuple[float, ...]:
    element = case.circuit.element(ref)
    value = element.number("value") if element is not None else 3.3e3
    return tuple(dict.fromkeys((value, *stock.around(2.2 * value, 12, 1), *stock.around(4.7 * value, 12, 1))))


FAMILY: Final = Family(
    id="timing",
    title="Timing network resized",
    about="The potentiometer of a diac-fired dimmer, its taper and its end resistor given other values.",
    equations=("u' = (√2 U sin ωt − u) / RC, u(firing) = U_BO + U_G",),
    source="RC network on a sine in closed form; worked example with 0.6 µF and 25 V in tests/reference/rework.",
    limits="The closed form starts each half-cycle empty and has no string in the charging path; the search solves the "
    "circuit as it is. What the track is rated for has to be looked at again.",
    serves=("dead_travel", "glow_off", "stress"),
    plan=_plans,
)
