"""Smoothing added: a bulk capacitor behind the rectifier, with something that limits its charging; all else stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from lidoff.record import Table
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.families.building import FLICKER, amount, bleeder_parts, entry, load_of, smoothing_part
from lidoff.rework.families.resistor_ballast import bulk_choices, surge_ohms
from lidoff.rework.family import Family, Plan
from lidoff.rework.site import gap_of


def _plans(case: Case) -> Iterable[Plan] | str:
    site = case.site
    if site is None:
        return "There is no full-wave rectifier behind which a capacitor could smooth anything."
    load = load_of(case, site)
    if load is None:
        return "There is no LED string of one kind to be smoothed."
    gap = gap_of(site, ())
    if gap is None:
        return "The line was not found in series with the rectifier."
    taken = case.refs
    dropper = any(g.name == "capacitor-dropper" for g in case.groups.best)
    parts = [*entry(case, site, taken, gap.line, gap.load, surge_ohms(case))] if not dropper else []
    bulk = bulk_choices(case, load, max(load.ballast, 0.05 * load.volts / load.current))
    edits = Edits() if dropper else gap.edits
    if site.stores:  # the one that is there gives way to a larger one
        edits = replace(edits, removed=site.stores)
    store = smoothing_part(taken, site.plus, site.minus, bulk[0])
    parts.append(store)
    parts += bleeder_parts(
        case, taken, site.plus, site.minus, bulk[min(2, len(bulk) - 1)], "discharge", volts=case.highest, inside=True
    )
    words = ""
    if site.dimmed:
        words = " A phase-cut dimmer stands ahead: at each firing it meets an uncharged capacitor, and no two agree."
    return [
        Plan(
            variant="a capacitor added",
            edits=replace(edits, added=tuple(parts)),
            axes=(tuple(Table({f"{store.ref}.value": c}) for c in bulk),),
            equations=(
                f"C ≥ I / (2 f ΔU) with ΔU = 2 m I (R + r): {amount(bulk[0], 'F')} to {amount(bulk[-1], 'F')} tried",
            ),
            why=f"A capacitor carries the string through the zero crossings; the ballast stays as it is.{words}",
            cost=1,
            cautions=(
                "The mean light rises: the capacitor holds the crest, where the string had the whole half-cycle.",
            ),
        )
    ]


FAMILY: Final = Family(
    id="smoothing",
    title="Smoothing added",
    about="A bulk capacitor behind the rectifier with a surge resistor ahead; ballast, dimmer and string stay.",
    equations=("C ≥ I / (2 f ΔU)", "R_surge = √2 U / I_peak", "R_discharge ≤ t / (C · ln(√2 U / 60 V))"),
    source="Peak rectifier approximation (Sedra and Smith, Microelectronic Circuits; worked examples in "
    "tests/reference/rework).",
    limits="Raises the light and the stress of the ballast, lowers the power factor to 0.5 or so. Behind a phase-cut "
    "dimmer it does not work.",
    serves=(*FLICKER,),
    plan=_plans,
    cautions=("The capacitor stays charged after unplugging: its discharge resistor can fail, so measure.",),
)
