"""A part of higher rating: the same value in a larger size, where all that is asked is that it be less stressed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.cycle import solve
from lidoff.record import Table
from lidoff.rework import stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.families.building import amount
from lidoff.rework.family import NOTHING, Family, Plan
from lidoff.rework.worst import at_mains
from lidoff.studies import stress

_SPARE: Final = 1.35  # for tolerances, beside what the highest mains asks for


def _plans(case: Case) -> Iterable[Plan] | str:
    goal = case.goal("stress")
    ref, _, quantity = ((goal.subject if goal is not None else None) or "").partition(".")
    element = case.circuit.element(ref)
    if goal is None or goal.high is None or element is None:
        return "The goal is about no single part that a stronger one could take the place of."
    if element.kind != "resistor" or quantity not in ("", "power"):
        return f"{ref} is no resistor whose power is asked about; of other parts take one with the rating needed."
    rows = stress(solve(at_mains(case.circuit)["high"]))
    row = next(r for r in rows if r.part == ref and r.quantity == "power")
    size = stock.resistor_size(_SPARE * row.value / goal.high, 1.0)
    if size is None:
        return f"{ref} gets {amount(row.value, 'W', 2)} at the highest mains: no usual size has that to spare."
    watts, volts, _ = size
    part = case.base.part(ref)
    assert part is not None
    rating = {"power": f"{watts:g} W", "voltage": f"{max(volts, float(part.rating.get('voltage', 0.0))):g} V"}
    return [
        Plan(
            variant=f"{ref} of {watts:g} W",
            edits=Edits(
                set=Table({f"{ref}.value": element.number("value")}),
                texts=Table({f"{ref}.rating": rating}),
            ),
            axes=((NOTHING,),),
            equations=(
                f"P_rated ≥ P / {100 * goal.high:g} % = {amount(row.value / goal.high, 'W', 2)} at the highest mains",
            ),
            why="The same value in a larger size: it gets as much as before, and stands it better.",
            cautions=(
                "The heat is the same: a larger part is cooler itself, and what is around it is as warm as before.",
            ),
            cost=1,
        )
    ]


FAMILY: Final = Family(
    id="stronger-part",
    title="A part of higher rating",
    about="The same value in a larger size.",
    equations=("P_rated ≥ P / share",),
    source="The part's own rating; derating habits as in `lidoff.standards.temperatures`.",
    limits="Changes nothing in the circuit: the heat stays. Resistors only.",
    serves=("stress",),
    plan=_plans,
)
