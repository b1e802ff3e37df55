"""Series LED count changed: fewer or more LEDs in a row move what the ballast takes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.family import Family, Plan

_SPAN: Final = (0.4, 1.5)
_MOST_CHOICES: Final = 40
_FEW: Final = 8


def _plans(case: Case) -> Iterable[Plan] | str:
    strings = [e for e in case.circuit.elements if e.kind == "led"]
    if not strings:
        return "There are no LEDs whose number could be changed."
    first = strings[0]
    now = first.number("series")
    blocked = first.block is not None and now <= 1.0
    if blocked and first.block is not None:
        name, now = f"{first.block}.repeat", first.series
        names = [name]
    else:
        names = [f"{e.ref}.series" for e in strings if e.number("series") == now]
    low, high = max(round(_SPAN[0] * now), 1), round(_SPAN[1] * now)
    counts = [n for n in range(low, high + 1) if n != round(now)]
    if not counts:
        return "There is one LED in the row; none can be taken out, and one more doubles its voltage."
    # The nearest to what is there first: the fewest LEDs bridged or added.
    counts.sort(key=lambda n: abs(n - now))
    settings = [Table({name: float(n) for name in names}) for n in counts[:_MOST_CHOICES]]
    volts = first.number("forward_voltage")
    wanted = round(now * case.circuit.supply.voltage / case.before.supply.voltage)
    plans = _with_ballast(case, names, wanted, counts)
    return [
        Plan(
            variant="LEDs bridged or added",
            edits=Edits(set=Table(dict.fromkeys(names, float(now)))),
            axes=(tuple(settings),),
            equations=(
                f"I = (√2 U − n U_F) / R at the crest: {now:g} LEDs of {volts:.3g} V are {now * volts:.0f} V of "
                f"{case.crest:.0f} V",
                f"r = n U_F / (√2 U) = {now * volts / case.crest:.2f}: the row conducts over "
                f"{equations.conduction(now * volts / case.crest):.0f}° of each half-cycle as found",
            ),
            why="The row is made shorter by bridging LEDs, or longer by more of the same type.",
            cautions=(
                "Bridging LEDs puts their voltage on the ballast and raises the current of those that are left.",
                "Added LEDs have to be of the same type; the light is no longer even where they sit elsewhere.",
            ),
            cost=1,
        ),
        *plans,
    ]


def _with_ballast(case: Case, names: list[str], wanted: int, counts: list[int]) -> list[Plan]:
    """The same with the ballast changed as well, where there is one resistor that sets the current."""
    site = case.site
    ballasts = site.elements(site.ballasts) if site is not None else ()
    near = sorted(counts, key=lambda n: abs(n - wanted))[:_FEW]
    if not ballasts or not near:
        return []
    value = ballasts[0].number("value")
    resistors = [f"{e.ref}.value" for e in ballasts]
    return [
        Plan(
            variant="LEDs and ballast",
            edits=Edits(set=Table({**dict.fromkeys(names, float(near[0])), **dict.fromkeys(resistors, value)})),
            axes=(
                tuple(Table({name: float(n) for name in names}) for n in near),
                tuple(Table(dict.fromkeys(resistors, r)) for r in stock.members(12, 0.1 * value, 3.0 * value)),
            ),
            equations=(f"n in proportion to the mains: {wanted}; R from what is left",),
            why="The row is fitted to the mains, and the resistor to what is left over it.",
            cost=2,
        )
    ]


FAMILY: Final = Family(
    id="led-count",
    title="Series LED count changed",
    about="LEDs of the row bridged, or more of the same put in.",
    equations=("I = (√2 U − n U_F) / R at the crest", "r = n U_F / (√2 U): conduction 180° − 2 asin r"),
    source="Ohm's law; conduction and shares by r in closed form (tests/reference/rework).",
    limits="A few LEDs either way. The current rises faster than the number falls.",
    serves=("light", "mains", "stress", "power_factor", "harmonics", "length"),
    plan=_plans,
)
