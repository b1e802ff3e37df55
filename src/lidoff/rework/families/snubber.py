"""Snubber resized, or taken out: what leaks through it when the switch is off lets LEDs glow."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.families.building import amount
from lidoff.rework.family import NOTHING, Family, Plan

_OHMS: Final = (47.0, 100.0, 220.0, 470.0)


def _plans(case: Case) -> Iterable[Plan] | str:
    if not case.asked("glow_off", "stress", "interference"):
        return (
            "A snubber changes only what leaks while nothing fires; a lamp that glows through it makes the knob no "
            "less dead."
        )
    found = next(iter(case.groups.named("snubber")), None)
    if found is None:
        return "There is no snubber across a triac or thyristor."
    capacitor = next(iter(found.having("snubber capacitor")), None)
    resistor = next(iter(found.having("snubber resistor")), None)
    element = case.circuit.element(capacitor or "")
    if elsewhere := case.other_part(found.own):
        return f"The snubber has no say in what {elsewhere} gets."
    if capacitor is None or element is None:
        return "The snubber has no capacitor that could be changed."
    farads, supply = element.number("value"), case.circuit.supply
    now = equations.leak(farads, supply.voltage, supply.frequency)
    smaller = [v for v in stock.members(6, 1e-9, 2.2 * farads) if abs(v / farads - 1.0) > 0.05]
    settings = []
    for value in sorted(smaller, reverse=True):
        for ohms in _OHMS if resistor else (0.0,):
            values = {f"{capacitor}.value": value}
            if resistor:
                values[f"{resistor}.value"] = ohms
            settings.append(Table(values))
    start = {f"{capacitor}.value": farads}
    least, damped = equations.snubber(case.crest, 1e-3, 10e6, 0.65)
    equation = (
        f"leak I = 2 π f C U = {amount(now, 'A', 2)} now, with {amount(farads, 'F')}",
        f"C ≥ (0.564 U / (dv/dt))² / (2 L) = {amount(least, 'F', 2)}, R = 2 ζ √(L/C) = {amount(damped, 'ohm', 2)} for "
        "10 V/µs behind 1 mH of line (our choice of both)",
    )
    own = tuple(ref for ref in (resistor, capacitor) if ref is not None)
    return [
        Plan(
            variant="another size",
            edits=Edits(set=Table(start)),
            axes=(tuple(settings),),
            equations=equation,
            why="A smaller snubber leaks less past the open switch; the triac then stands a steeper rise of voltage.",
            cautions=("Too small a snubber lets the triac fire by itself: try it with the real load.",),
        ),
        Plan(
            variant="taken out",
            edits=Edits(removed=own),
            axes=((NOTHING,),),
            equations=equation,
            why="Without a snubber nothing leaks but the switch itself; a triac for resistive loads can do without.",
            cautions=(
                "Only where the load has no coil, and with a triac that needs no snubber; it may fire by itself.",
            ),
        ),
    ]


FAMILY: Final = Family(
    id="snubber",
    title="Snubber resized",
    about="The resistor and capacitor across a triac given other values, or left out, so that less leaks past it.",
    equations=("I_leak = 2 π f C U", "C = (0.564 U / (dv/dt))² / (2 L)", "R = 2 ζ √(L / C)"),
    source="Textbook rule for ζ of about 0.65 (Gupta and Singhal, Power Electronics, example 2.37; in "
    "tests/reference/rework).",
    limits="The inductance of line and load is seldom known; what the triac stands in dv/dt is in its data sheet only.",
    serves=("glow_off", "stress", "interference", "dead_travel"),
    plan=_plans,
)
