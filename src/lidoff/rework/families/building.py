"""Pieces that several families are made of: fuse, surge resistor, bleeders, smoothing capacitor, cuts in the wiring."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.site import Site, gap_of

PINS: Final = 34.0  # [V] to which pins should fall
PINS_IN: Final = 1.0  # [s] within which (IEC 60335-1, 22.5; IEC 60598-1, 8.2.7)
INSIDE: Final = 60.0  # [V] direct voltage below which a charged capacitor gives no shock (IEC 62368-1 ES1)
INSIDE_IN: Final = 30.0  # [s] for a capacitor inside a closed case (our choice)
HIGH_MAINS: Final = 150.0  # [V rms] from which two resistors in a row are put across the mains
FLICKER: Final = ("percent_flicker", "svm", "ieee_1789")
REFERENCE: Final = 1.25  # [V] that a usual two-terminal linear current source keeps over its resistor


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What hangs behind the rectifier, as far as an equation needs it.

    `series` LEDs in a row, `current` [A] through all strings at the light aimed at, `volts` [V] of the string there,
    `slope` [ohm] its differential resistance, `ballast` [ohm] what stands in series with all of it now.
    """

    series: float
    current: float
    volts: float
    slope: float
    ballast: float


def load_of(case: Case, site: Site) -> Load | None:
    """The LED load at the light that is aimed at; None where there are no LEDs, or several kinds of string."""
    strings = site.elements(site.strings)
    if not strings or case.full is None:
        return None
    counts = {e.number("series") * e.series for e in strings}
    if len(counts) != 1:
        return None
    series = counts.pop()
    current = case.light_share * case.full / series
    groups = sum(e.number("parallel") * e.parallel for e in strings)
    first = strings[0]
    each = current / groups
    volts = equations.string_voltage(
        series, first.number("forward_voltage"), first.number("slope"), each, first.number("test_current")
    )
    resistance = 0.0
    for element in site.elements(site.ballasts):
        side = max(element.parallel, 1.0) if element.block else 1.0
        beside = len(site.ballasts) if not element.block and len(strings) == len(site.ballasts) else 1
        resistance = element.number("value") * element.series / side / beside
    return Load(
        series=series, current=current, volts=volts, slope=series * first.number("slope") / current, ballast=resistance
    )


def flicker_wanted(case: Case) -> float | None:
    """Percent flicker [1] that the goals allow at twice the mains frequency, a quarter kept back; None: no goal."""
    from lidoff.figures import most_modulation

    rate = 2.0 * case.circuit.supply.frequency
    found = []
    for goal in case.goals:
        if goal.name == "percent_flicker" and goal.high is not None:
            found.append(goal.high / 100.0)
        if goal.name == "ieee_1789":
            most = most_modulation("low risk" if goal.subject == "low risk" else "no effect", rate)
            found.append((most or 100.0) / 100.0)
        if goal.name == "svm" and goal.high is not None:
            found.append(0.26 * goal.high)  # a sine of 26 % at 100 Hz has SVM 1
    return 0.75 * min(found) if found else None


def fuse_part(case: Case, taken: set[str], line: str, load: str) -> NewPart:
    """A slow fuse of high breaking capacity in the line; its current is chosen later, from what flows."""
    return NewPart(
        ref=fresh("F", taken),
        kind="fuse",
        role="fuse in the line",
        values=Table({"rating": 0.25, "speed": "slow"}),
        nodes=Table({"1": line, "2": load}),
        why="Opens when the dropper, the rectifier or the smoothing capacitor shorts; nothing else here would.",
        must=(
            "ceramic body with filler, breaking capacity H (1500 A), 250 V",
            "first in the live conductor, in a holder that is closed or soldered in under sleeving",
        ),
    )


def surge_part(case: Case, taken: set[str], line: str, load: str, ohms: float, role: str = "surge resistor") -> NewPart:
    """A resistor in the line that limits what flows at switch-on."""
    return NewPart(
        ref=fresh("R", taken),
        kind="resistor",
        role=role,
        values=Table({"value": ohms}),
        nodes=Table({"1": line, "2": load}),
        tolerance=0.05,
        why=f"Limits the current at switch-on to some {case.highest / ohms:.2g} A, or twice that where it is plugged "
        "in again at once.",
        series=12,
        must=("wirewound or flame-proof fusible type that stands the pulse at switch-on", "not an ordinary film type"),
    )


def bleeder_parts(
    case: Case,
    taken: set[str],
    first: str,
    second: str,
    farads: float,
    role: str,
    *,
    volts: float,
    inside: bool = False,
) -> tuple[NewPart, ...]:
    """One resistor, or two in a row where the voltage asks for it, that empty a capacitor [F] in time."""
    end, seconds = (INSIDE, INSIDE_IN) if inside else (PINS, PINS_IN)
    goal = case.goal("discharge")
    if goal is not None and goal.high is not None and not inside:
        seconds = min(seconds, goal.high)
    if volts <= 1.2 * end:
        return ()
    # 10 % of tolerance of the capacitor and 5 % of the resistor are kept back.
    whole = equations.bleeder(1.2 * farads if inside else 1.1 * farads, volts, end, seconds) / 1.05
    count = 2 if volts > math.sqrt(2.0) * HIGH_MAINS * 1.1 else 1
    each = max(v for v in stock.members(12, 1e2, 22e6) if v <= whole / count)
    middle = [first, *(f"{first}_{role.split(maxsplit=1)[0]}{k}" for k in range(1, count)), second]
    why = (
        f"Empties {'the smoothing capacitor' if inside else 'the capacitor at the mains'} to {end:g} V in "
        f"{seconds:g} s after unplugging."
    )
    if count > 1:
        why += " Two in a row, for the voltage, and so that one that shorts does not take the other's place."
    return tuple(
        NewPart(
            ref=fresh("R", taken),
            kind="resistor",
            role=role,
            values=Table({"value": each}),
            nodes=Table({"1": middle[k], "2": middle[k + 1]}),
            tolerance=0.05,
            why=why,
            series=12,
        )
        for k in range(count)
    )


def smoothing_part(taken: set[str], plus: str, minus: str, farads: float) -> NewPart:
    """The smoothing capacitor; its voltage is chosen later, from what an open string leaves on it."""
    return NewPart(
        ref=fresh("C", taken),
        kind="capacitor",
        role="smoothing capacitor",
        values=Table({"value": farads}),
        nodes=Table({"1": plus, "2": minus}),
        tolerance=0.20,
        why="Carries the light through the mains' zero crossings.",
        series=6,
        must=("aluminium electrolytic, 105 °C, 5000 h or more where it sits warm", "away from what gets hot"),
    )


def cut(case: Case, site: Site, node: str, removed: set[str]) -> tuple[Edits, str]:
    """The wire between the rectifier's plus or minus `node` and what hangs there cut: edits and the load's new node.

    Smoothing capacitors that stay are left on the rectifier's side.
    """
    new = f"{node}_s"
    moved: dict[str, str] = {}
    texts: dict[str, object] = {}
    for element in site.elements(site.direct):
        if element.ref in removed or element.ref in site.stores or element.block:
            continue
        for pin, held in element.pins.items():
            if held == node:
                moved[f"{element.ref}.{pin}"] = new
    for block in case.base.blocks:
        if node in block.nodes:
            texts[f"{block.name}.nodes"] = [new if one == node else one for one in block.nodes]
    return Edits(moved=Table(moved), texts=Table(texts)), new


def smoothing_choices(case: Case, resistance: float, modulation: float, least: float) -> tuple[float, ...]:
    """Smoothing capacitors worth trying [F], smallest first: from what the equation says up to three times that."""
    wanted = flicker_wanted(case)
    if wanted is None:
        return (next_standard(least),)
    rate = 2.0 * case.circuit.supply.frequency
    start = equations.smoothing_for_current_ripple(wanted, modulation, max(resistance, 1.0), rate)
    start = max(start / 0.8, least)
    return stock.members(6, 0.6 * start, 3.5 * start) or (next_standard(start),)


def next_standard(farads: float) -> float:
    """The E6 value at or next above [F]."""
    return stock.next_member(farads, 6)


def entry(case: Case, site: Site, taken: set[str], line: str, load: str, ohms: float) -> tuple[NewPart, ...]:
    """Fuse (where the item has none) and surge resistor from node `line` to node `load`."""
    if site.fuse is not None:
        return (surge_part(case, taken, line, load, ohms),)
    middle = f"{load}_f"
    return (fuse_part(case, taken, line, middle), surge_part(case, taken, middle, load, ohms))


def fuse_in_line(case: Case, site: Site, taken: set[str]) -> Edits:
    """A fuse ahead of the rectifier, where the item has none: what a short behind it needs to be cleared."""
    gap = gap_of(site, ())
    if site.fuse is not None or gap is None:
        return Edits()
    return replace(gap.edits, added=(fuse_part(case, taken, gap.line, gap.load),))


def amount(value: float, unit: str, digits: int = 3) -> str:
    """A figure for people."""
    from lidoff.quantity import engineering

    return engineering(value, unit, digits)
