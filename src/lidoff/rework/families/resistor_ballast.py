"""Resistor ballast: the string's current set by a resistor, from a smoothed supply where the light has to be steady."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from lidoff.circuit import Element
from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.families.building import (
    FLICKER,
    Load,
    amount,
    bleeder_parts,
    cut,
    entry,
    flicker_wanted,
    load_of,
    smoothing_part,
)
from lidoff.rework.family import Family, Plan
from lidoff.rework.site import Gap, Site, gap_of

SURGE_AMPERES: Final = 4.0
_DIODES: Final = 1.6
_MOST_SURGE_WATTS: Final = 2.0
_MOST_EACH: Final = 5.0  # [W] in one resistor on a small board
_HEAT_OF_PULSES: Final = 2.5  # rms over mean of the current into a smoothing capacitor, about


def bulk_choices(case: Case, load: Load, resistance: float) -> tuple[float, ...]:
    """Smoothing capacitors worth trying behind the rectifier [F], smallest first.

    The ripple of the light is that of the voltage over what the resistor drops: ΔU / (2 I (R + r)).
    """
    wanted = flicker_wanted(case)
    rate = 2.0 * case.circuit.supply.frequency
    share = wanted if wanted is not None else 0.3
    ripple = 2.0 * share * load.current * (resistance + load.slope)
    start = equations.smoothing_for_ripple(load.current, ripple, rate)
    return stock.members(6, 0.5 * start, 4.0 * start) or (stock.next_member(start, 6),)


def surge_ohms(case: Case) -> float:
    """The resistor in the line that keeps switching on to the goal for it, or to a few amperes [ohm]."""
    goal = case.goal("inrush")
    most = goal.high if goal is not None and goal.high is not None else SURGE_AMPERES
    return stock.next_member(equations.surge_resistor(case.highest, 0.9 * min(most, SURGE_AMPERES)) / 0.95, 12)


def _plans(case: Case) -> Iterable[Plan] | str:
    site = case.site
    if site is None:
        return "There is no full-wave rectifier; the current of a string straight at the mains is set elsewhere."
    load = load_of(case, site)
    if load is None:
        return "There is no LED string of one kind whose current a resistor could set."
    if case.asked(*FLICKER):
        gap = gap_of(site, site.controls)
        if gap is None:
            return "The line was not found in series with the rectifier."
        return _smoothed(case, site, gap, load)
    return _unsmoothed(case, site, load)


def _smoothed(case: Case, site: Site, gap: Gap, load: Load) -> Iterable[Plan]:
    crest = case.crest - _DIODES
    whole = equations.ballast(crest, load.volts, load.current, 0.03 * crest)
    if whole <= 0.0:
        return
    surge = surge_ohms(case)
    if surge * (_HEAT_OF_PULSES * load.current) ** 2 > _MOST_SURGE_WATTS:
        surge = stock.around(_MOST_SURGE_WATTS / (_HEAT_OF_PULSES * load.current) ** 2, 12, 1)[0]
    heat = load.current**2 * whole
    inside = any(e.block for e in site.elements(site.ballasts))
    for count in (1,) if inside else (1, 2, 3):
        if heat / count > _MOST_EACH and count < 3 and not inside:
            continue
        yield _in_a_row(case, site, gap, load, whole, surge, count)


def _in_a_row(case: Case, site: Site, gap: Gap, load: Load, whole: float, surge: float, count: int) -> Plan:
    taken = case.refs
    old = site.elements(site.ballasts)
    inside = [e for e in old if e.block]
    removed = {*site.controls, *site.stores}
    parts = [*entry(case, site, taken, gap.line, gap.load, surge)]
    bulk = bulk_choices(case, load, whole)
    store = smoothing_part(taken, site.plus, site.minus, bulk[0])
    parts.append(store)
    parts += bleeder_parts(
        case, taken, site.plus, site.minus, bulk[min(2, len(bulk) - 1)], "discharge", volts=case.highest, inside=True
    )
    edits = replace(gap.edits, removed=tuple(dict.fromkeys((*site.controls, *site.stores))))
    if inside:  # every section keeps a resistor of its own
        names = [e.ref for e in inside]
        each = whole * inside[0].parallel / inside[0].series / len(names)
        edits = edits.joined(Edits(texts=Table({f"{name}.tolerance": "1 %" for name in names})))
        settings = [Table({f"{name}.value": r for name in names}) for r in stock.around(each, 24, 5)]
        edits = replace(edits, added=tuple(parts))
        words = "in every section"
    else:
        keep = sum(e.number("value") for e in old) if len(old) == 1 else 0.0
        opened, node = cut(case, site, site.plus, removed)
        edits = edits.joined(opened)
        chain = _chain(taken, site.plus, node, count, (whole - keep) / count)
        parts += chain
        edits = replace(edits, added=tuple(parts))
        settings = [
            Table(dict(zip((f"{p.ref}.value" for p in chain), values, strict=True)))
            for values in _rows(max(whole - keep, 10.0), count)
        ]
        words = {1: "one resistor", 2: "two resistors in a row", 3: "three resistors in a row"}[count]
    return Plan(
        variant=words,
        edits=edits,
        axes=(tuple(settings), tuple(Table({f"{store.ref}.value": c}) for c in bulk)),
        equations=(
            f"R = (√2 U − ΔU/2 − U_L) / I = ({case.crest - _DIODES:.0f} V − {0.015 * case.crest:.0f} V − "
            f"{load.volts:.0f} V) / {amount(load.current, 'A')} = {amount(whole, 'ohm')}, all in all",
            f"heat I² R = {amount(load.current**2 * whole, 'W')}",
            f"C ≥ I / (2 f ΔU), about {amount(bulk[0], 'F')}",
        ),
        why="The rectified mains is smoothed, and a resistor sets the string's current from it.",
        cost=count,
    )


def _chain(taken: set[str], first: str, last: str, count: int, each: float) -> list[NewPart]:
    nodes = [first, *(f"{first}_b{k}" for k in range(1, count)), last]
    return [
        NewPart(
            ref=fresh("R", taken),
            kind="resistor",
            role="ballast resistor",
            values=Table({"value": stock.around(max(each, 1.0), 24, 1)[0]}),
            nodes=Table({"1": nodes[k], "2": nodes[k + 1]}),
            tolerance=0.01,
            why="Sets the string's current; in a row so that each stands its share of voltage and heat."
            if count > 1
            else "Sets the string's current.",
            series=24,
            must=("metal film, ±1 %", "clear of the board, for it gets warm"),
        )
        for k in range(count)
    ]


def _rows(whole: float, count: int) -> list[tuple[float, ...]]:
    """Values for that many resistors in a row whose sum comes near the wanted one, closest first."""
    if count == 1:
        return [(v,) for v in stock.around(whole, 24, 5)]
    each = stock.around(whole / count, 24, 6)
    if count == 2:
        found = {tuple(sorted((a, b), reverse=True)) for a in each for b in each}
    else:
        found = {tuple(sorted((a, a, b), reverse=True)) for a in each for b in each}
    wanted = sorted(found, key=lambda row: abs(sum(row) / whole - 1.0))
    return [tuple(row) for row in wanted if abs(sum(row) / whole - 1.0) < 0.14][:10]


def _unsmoothed(case: Case, site: Site, load: Load) -> Iterable[Plan]:
    """The ballast that is there given another value: nothing else changes, neither dimmer nor flicker."""
    old = site.elements(site.ballasts)
    if not old:
        return
    share = case.light_share
    factor = 1.0 / share if share > 0.0 else 1.0
    settings = []
    for value in stock.members(24, 0.35 * factor * _value(old[0]), 3.0 * factor * _value(old[0])):
        settings.append(Table({f"{e.ref}.value": value for e in old}))
    yield Plan(
        variant="the ballast changed",
        edits=Edits(set=Table({f"{e.ref}.value": _value(e) for e in old})),
        axes=(tuple(settings),),
        equations=(f"I ∝ 1/R: {amount(_value(old[0]), 'ohm')} for full light, about {factor:.2g} times that here",),
        why="The resistor that sets the current is changed; all else stays.",
        cost=1,
    )


def _value(element: Element) -> float:
    return element.number("value")


FAMILY: Final = Family(
    id="resistor-ballast",
    title="Resistor ballast",
    about="The string's current set by a resistor: from the rectified mains, smoothed where the light has to be "
    "steady, with a surge resistor ahead.",
    equations=("R = (√2 U − ΔU/2 − U_L) / I", "P = I² R", "C ≥ I / (2 f ΔU)", "R_surge = √2 U / I_peak"),
    source="Ohm's law; peak rectifier approximation C = I / (f ΔU) (Sedra and Smith, Microelectronic Circuits; worked "
    "examples in tests/reference/rework).",
    limits="All that the string does not drop becomes heat. The light follows the mains by U / (U − U_L) times. With "
    "LEDs side by side on one resistor each carries what its own voltage lets it.",
    serves=("light", *FLICKER, "stress", "power_factor", "mains", "length"),
    plan=_plans,
    cautions=("The resistor gets hot whenever the light is on: keep it clear of plastic, cord and capacitors.",),
)
