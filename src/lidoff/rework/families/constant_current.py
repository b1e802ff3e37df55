"""Linear constant current: a two-terminal current source in series with the string, from a smoothed supply."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import NewPart, fresh
from lidoff.rework.families.building import (
    FLICKER,
    REFERENCE,
    amount,
    bleeder_parts,
    cut,
    entry,
    load_of,
    smoothing_part,
)
from lidoff.rework.families.resistor_ballast import surge_ohms
from lidoff.rework.family import NOTHING, Family, Plan
from lidoff.rework.site import gap_of

_DIODES: Final = 1.6
_KNEE: Final = 8.0  # [V] at which a source of 4 V dropout gives 96 % of its current
_MOST_WATTS: Final = 2.0  # without a heat sink (common practice, no source)
_OF_REFERENCE: Final = 0.04  # of a usual 1.25 V reference over temperature (makers' tables, from memory)
_OF_RESISTOR: Final = 0.01


def _plans(case: Case) -> Iterable[Plan] | str:
    site = case.site
    if site is None:
        return "There is no full-wave rectifier to feed a current source."
    load = load_of(case, site)
    if load is None:
        return "There is no LED string of one kind that a current source could feed."
    smooth = case.asked(*FLICKER)
    if not smooth and site.dimmed:
        return "Behind a phase-cut dimmer a current source without smoothing only cuts the crest off the light."
    gap = gap_of(site, site.controls)
    if gap is None:
        return "The line was not found in series with the rectifier."
    low = case.crest * (1.0 - case.circuit.supply.range) - _DIODES
    needed = load.volts + load.ballast * load.current + REFERENCE + _KNEE
    if low < needed:
        return (
            f"At the lowest mains {low:.0f} V are there at the crest, and string, resistor and source need "
            f"{needed:.0f} V: the light would sag. Fewer LEDs in a row would do."
        )
    heat = load.current * (case.highest - load.volts - load.ballast * load.current)
    if heat > _MOST_WATTS:
        return (
            f"The source would turn {amount(heat, 'W')} into heat at the highest mains; more than "
            f"{_MOST_WATTS:g} W needs a heat sink, and a live one. More LEDs in a row would take the voltage instead."
        )
    taken = case.refs
    removed = {*site.controls, *site.stores}
    opened, node = cut(case, site, site.plus, removed)
    parts = [*entry(case, site, taken, gap.line, gap.load, surge_ohms(case))]
    choices: tuple[float, ...] = (0.0,)
    store = None
    if smooth:
        rate = 2.0 * case.circuit.supply.frequency
        # The source keeps its current while the capacitor stays above what is needed: no more smoothing than that.
        ripple = min(0.8 * (low - needed), 0.35 * low)
        start = equations.smoothing_for_ripple(load.current, max(ripple, 1.0), rate) / 0.8
        choices = stock.members(6, 0.9 * start, 5.0 * start) or (stock.next_member(start, 6),)
        store = smoothing_part(taken, site.plus, site.minus, choices[0])
        parts.append(store)
        parts += bleeder_parts(
            case, taken, site.plus, site.minus, choices[min(2, len(choices) - 1)], "discharge",
            volts=case.highest, inside=True,
        )  # fmt: skip
    ohms = equations.sense_resistor(REFERENCE, load.current)
    source = NewPart(
        ref=fresh("U", taken),
        kind="regulator",
        role="linear current source",
        values=Table({"limit": load.current, "dropout": 4.0}),
        nodes=Table({"input": site.plus, "output": f"{node}_i"}),
        tolerance=Table({"limit": _OF_REFERENCE + _OF_RESISTOR}),
        why="Keeps the string's current whatever the mains is, as long as it has some volts over it.",
        must=(
            f"two-terminal linear current source set by a resistor, reference {REFERENCE:g} V ±4 % over temperature",
            "its voltage rating counts: all of the mains stands over it when a string shorts",
            "a depletion MOSFET, or a high-voltage LED driver chip, of the kind found in such lamps",
        ),
    )
    sense = NewPart(
        ref=fresh("R", taken),
        kind="resistor",
        role="sense resistor",
        values=Table({"value": stock.around(ohms, 24, 1)[0]}),
        nodes=Table({"1": f"{node}_i", "2": node}),
        tolerance=_OF_RESISTOR,
        why=f"The source keeps {REFERENCE:g} V over it: I = {REFERENCE:g} V / R.",
        series=24,
        must=("metal film, ±1 %",),
    )
    parts += [source, sense]
    senses = [
        Table({f"{sense.ref}.value": value, f"{source.ref}.limit": float(f"{REFERENCE / value:.5g}")})
        for value in stock.around(ohms, 24, 3)
    ]
    bulks = [Table({f"{store.ref}.value": bulk}) for bulk in choices] if store is not None else [NOTHING]
    edits = replace(gap.edits, removed=tuple(dict.fromkeys((*site.controls, *site.stores)))).joined(opened)
    return [
        Plan(
            variant="smoothed" if smooth else "not smoothed",
            edits=replace(edits, added=tuple(parts)),
            axes=(tuple(senses), tuple(bulks)),
            equations=(
                f"R = U_ref / I = {REFERENCE:g} V / {amount(load.current, 'A')} = {amount(ohms, 'ohm')}",
                f"heat at the highest mains: (U − U_L) I = {amount(heat, 'W')}",
            ),
            why="A linear source keeps the string's current; the smoothing capacitor keeps it fed between crests.",
            cost=3,
        )
    ]


FAMILY: Final = Family(
    id="constant-current",
    title="Linear constant-current source",
    about="A two-terminal current source and its sense resistor in series with the string, behind a smoothing "
    "capacitor where the light has to be steady.",
    equations=("R = U_ref / I", "P = (√2 U − U_L) I", "C ≥ I / (2 f ΔU), ΔU what the source can spare"),
    source="The device's own rule, as in makers' data sheets (from memory); peak rectifier approximation as for the "
    "ballast.",
    limits="Up to 2 W without a heat sink. The string's voltage has to stay some 10 V below the lowest crest less the "
    "ripple. The knee is that of the part law: 96 % of the current at twice the dropout.",
    serves=("light", *FLICKER, "stress", "mains"),
    plan=_plans,
    cautions=("The source's tab is live: no heat sink that can be touched, no metal case.",),
)
