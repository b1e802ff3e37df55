"""Capacitor dropper: a capacitor in the line lets through a steady charge per half-cycle and makes no heat."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import REACHED, Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.families.building import (
    FLICKER,
    Load,
    amount,
    bleeder_parts,
    cut,
    entry,
    load_of,
    smoothing_choices,
    smoothing_part,
)
from lidoff.rework.family import NOTHING, Family, Plan
from lidoff.rework.site import Gap, Site, gap_of

_DIODES: Final = 1.4  # [V] two rectifier diodes at small currents
_MODULATION: Final = 0.667  # of |sin|: its second-harmonic term over its mean
_MORE: Final = 1.06  # times what the equation says: surge resistor and discharge resistor take their share
_SURGE_SHARE: Final = 0.02  # of the dropper's reactance
_FARADS: Final = (10e-9, 4.7e-6)  # X2 capacitors there are
_REACHED: Final = (
    *REACHED,
    "bare-output-joined-to-mains",
    "adapter-output-joined-to-mains",
    "touch-current-too-high",
)


def reached(case: Case) -> str | None:
    """Why nothing that leaves everything live may be built here, by the item's own findings; None where nothing is."""
    found = [one for one in case.findings.findings if one.id in _REACHED]
    if not found:
        return None
    return (
        "The findings on this item say that live parts can be reached: "
        f"{found[0].title[0].lower()}{found[0].title[1:]} ({found[0].id}). A dropper leaves every part "
        "behind it at mains potential: refused until that is put right."
    )


def _plans(case: Case) -> Iterable[Plan] | str:
    if why := reached(case):
        return why
    site = case.site
    if site is None:
        return "There is no full-wave rectifier that a dropper could feed."
    load = load_of(case, site)
    if load is None:
        return "There is no LED string of one kind that a dropper could feed."
    if any(e.kind == "converter" for e in site.elements(site.direct)):
        return "A switch-mode stage behind a dropper draws more the lower its voltage: it would not start, or hang."
    gap = gap_of(site, site.controls)
    if gap is None:
        return "The line was not found in series with the rectifier, so there is no place for a dropper."
    volts = load.volts + load.ballast * load.current + _DIODES
    low_crest = case.crest * (1.0 - case.circuit.supply.range)
    if volts > 0.9 * low_crest:
        return (
            f"The string needs {volts:.0f} V and the mains' crest is {low_crest:.0f} V at its lowest: next to nothing "
            "is left for the capacitor, and the light would follow every volt of the mains."
        )
    farads = equations.dropper_capacitor(load.current, case.crest, volts, case.circuit.supply.frequency)
    if not _FARADS[0] <= farads <= _FARADS[1]:
        return (
            f"The dropper would have to be {amount(farads, 'F')}: capacitors of class X2 run from "
            f"{amount(_FARADS[0], 'F', 2)} to {amount(_FARADS[1], 'F', 2)}."
        )
    return _variants(case, site, gap, load, volts, farads)


def _variants(case: Case, site: Site, gap: Gap, load: Load, volts: float, farads: float) -> Iterable[Plan]:
    yield _plain(case, site, gap, load, volts, farads, tolerance=0.10, pair=False)
    yield _plain(case, site, gap, load, volts, farads, tolerance=0.10, pair=True)
    yield _plain(case, site, gap, load, volts, farads, tolerance=0.05, pair=True)
    clamped = _clamped(case, site, gap, load)
    if clamped is not None:
        yield clamped


def _capacitor(taken: set[str], line: str, load: str, farads: float, tolerance: float) -> NewPart:
    picked = " or picked with a capacitance meter" if tolerance < 0.1 else ""
    return NewPart(
        ref=fresh("C", taken),
        kind="capacitor",
        role="dropper capacitor",
        values=Table({"value": farads}),
        nodes=Table({"1": line, "2": load}),
        tolerance=tolerance,
        why="Its reactance sets the current; class X2, for its short would put the whole mains on the rest.",
        series=6,
        must=(
            f"film capacitor of class X2, approved for the mains, ±{100 * tolerance:g} %{picked}",
            "one made for being in series with the mains, where it can be had: some X2 types lose capacitance",
        ),
    )


def _plain(
    case: Case, site: Site, gap: Gap, load: Load, volts: float, farads: float, *, tolerance: float, pair: bool
) -> Plan:
    """Dropper, bridge and smoothing: the current follows the mains."""
    supply, taken = case.circuit.supply, case.refs
    reactance = 1.0 / (2.0 * math.pi * supply.frequency * farads)
    surge = stock.around(min(max(_SURGE_SHARE * reactance, 47.0), 470.0), 12, 1)[0]
    start, end = f"{gap.load}_d", gap.load
    parts = [*entry(case, site, taken, gap.line, start, surge)]
    singles = stock.around(farads, 6, 3)
    first = _capacitor(taken, start, end, singles[0], tolerance)
    parts.append(first)
    second = None
    if pair:
        second = _capacitor(taken, start, end, singles[0], tolerance)
        parts.append(second)
    # The bleeder serves the largest capacitance that is tried.
    parts += bleeder_parts(case, taken, start, end, 1.3 * farads, "bleeder", volts=case.highest)
    smooth, choices = _smoothed(case, site, taken, load)
    parts += smooth
    droppers = _pairs(farads) if pair else [(v, 0.0) for v in stock.around(_MORE * farads, 6, 4)]
    across = [
        Table({f"{first.ref}.value": a} | ({f"{second.ref}.value": b} if second is not None else {}))
        for a, b in droppers
    ]
    bulks = [Table({f"{smooth[0].ref}.value": bulk}) for bulk in choices] if smooth else [NOTHING]
    removed = tuple(dict.fromkeys((*site.controls, *site.stores)))
    words = "two capacitors side by side" if pair else "one capacitor"
    return Plan(
        variant=f"{words}, ±{100 * tolerance:g} %",
        edits=replace(gap.edits, removed=removed, added=tuple(parts)),
        axes=(tuple(across), tuple(bulks)),
        equations=(
            f"C = I / (4 f (U − U_L)) = {amount(load.current, 'A')} / (4 · {supply.frequency:g} Hz · "
            f"({case.crest:.0f} V − {volts:.0f} V)) = {amount(farads, 'F')}",
            f"the current follows the mains: ±{100 * supply.range:.0f} % of it are "
            f"±{100 * supply.range * case.crest / (case.crest - volts):.0f} % of the light",
        ),
        why=f"A capacitor in the line carries {amount(load.current, 'A', 2)}; the string takes what it lets through.",
        cost=1 + int(pair) + int(tolerance < 0.1),
        live_everywhere=True,
    )


def _pairs(farads: float) -> list[tuple[float, float]]:
    """Two E6 capacitors side by side that come near the wanted value, or rather a little above it, closest first."""
    wanted = _MORE * farads
    values = stock.members(6, max(0.02 * farads, 1e-9), 1.2 * farads)
    found = [(a, b) for a in values for b in values if a >= b and abs((a + b) / wanted - 1.0) <= 0.14]
    return sorted(found, key=lambda ab: abs((ab[0] + ab[1]) / wanted - 1.0))[:8]


def _smoothed(case: Case, site: Site, taken: set[str], load: Load) -> tuple[tuple[NewPart, ...], tuple[float, ...]]:
    """The smoothing capacitor with its discharge resistor, and the capacitances to try."""
    if not case.asked(*FLICKER):
        return (), (0.0,)
    choices = smoothing_choices(case, load.slope + load.ballast, _MODULATION, 1e-6)
    parts = [smoothing_part(taken, site.plus, site.minus, choices[0])]
    parts += bleeder_parts(
        case,
        taken,
        site.plus,
        site.minus,
        choices[min(2, len(choices) - 1)],
        "discharge",
        volts=case.highest,
        inside=True,
    )
    return tuple(parts), choices


def _clamped(case: Case, site: Site, gap: Gap, load: Load) -> Plan | None:
    """A zener across the smoothing capacitor takes what the string does not: the light hardly follows the mains."""
    supply, taken = case.circuit.supply, case.refs
    low_crest = case.crest * (1.0 - supply.range)
    string = load.volts + load.ballast * load.current
    zeners = [v for v in stock.members(24, 1.25 * string, 0.8 * low_crest) if v <= 200.0]
    if not zeners:
        return None
    # Half way between the string and the least crest, by ratio: enough drop to be even, enough left for the capacitor.
    level = min(zeners, key=lambda v: abs(v - math.sqrt(string * low_crest)))
    resistance = (level - string) / load.current
    spare = 0.25 * load.current + 0.5e-3
    farads = equations.dropper_capacitor(1.1 * load.current + spare, low_crest, level + _DIODES, supply.frequency) / 0.9
    if not _FARADS[0] <= farads <= _FARADS[1]:
        return None
    surge = stock.around(min(max(_SURGE_SHARE / (2 * math.pi * supply.frequency * farads), 47.0), 470.0), 12, 1)[0]
    start, end = f"{gap.load}_d", gap.load
    removed = {*site.controls, *site.stores}
    opened, node = cut(case, site, site.plus, removed)
    parts = [*entry(case, site, taken, gap.line, start, surge)]
    droppers = stock.members(6, 0.95 * farads, 2.3 * farads)
    dropper = _capacitor(taken, start, end, droppers[0], 0.10)
    parts.append(dropper)
    parts += bleeder_parts(case, taken, start, end, droppers[-1], "bleeder", volts=case.highest)
    wanted = smoothing_choices(case, max(0.06 * level / load.current, 1.0), _MODULATION, 4.7e-6)
    store = smoothing_part(taken, site.plus, site.minus, wanted[0])
    parts.append(store)
    parts += bleeder_parts(
        case, taken, site.plus, site.minus, wanted[min(2, len(wanted) - 1)], "discharge", volts=1.1 * level, inside=True
    )
    zener = NewPart(
        ref=fresh("DZ", taken),
        kind="zener",
        role="zener clamp",
        values=Table({"voltage": level, "slope_resistance": 0.01 * level / 5e-3, "test_current": 5e-3}),
        nodes=Table({"anode": site.minus, "cathode": site.plus}),
        tolerance=0.05,
        why="Takes what the string leaves, so that the light hardly follows the mains; all of it if a string opens.",
        series=24,
        must=("±5 %, on leads long enough to stay cool", "two of half the voltage in a row serve as well"),
    )
    ballast = NewPart(
        ref=fresh("R", taken),
        kind="resistor",
        role="ballast resistor",
        values=Table({"value": stock.around(resistance, 24, 1)[0]}),
        nodes=Table({"1": site.plus, "2": node}),
        tolerance=0.01,
        why="Sets the string's current from the clamped voltage.",
        series=24,
        must=("metal film, ±1 %",),
    )
    parts += [zener, ballast]
    axes = (
        tuple(Table({f"{ballast.ref}.value": r}) for r in stock.around(resistance, 24, 5)),
        tuple(Table({f"{dropper.ref}.value": c}) for c in droppers),
        tuple(Table({f"{store.ref}.value": bulk}) for bulk in wanted),
    )
    return Plan(
        variant="with a zener clamp",
        edits=Edits(
            removed=tuple(dict.fromkeys((*site.controls, *site.stores))),
            moved=Table({**gap.edits.moved, **opened.moved}),
            texts=opened.texts,
            added=tuple(parts),
        ),
        axes=axes,
        equations=(
            f"zener U_Z = {level:g} V, between the string's {string:.0f} V and the lowest crest of {low_crest:.0f} V",
            f"R = (U_Z − U_L) / I = ({level:g} V − {string:.0f} V) / {amount(load.current, 'A')} = "
            f"{amount(resistance, 'ohm')}",
            f"C = I / (4 f (U_low − U_Z)) with a quarter to spare = {amount(farads, 'F')}",
        ),
        why="A dropper larger than needed into a zener: the string is fed from a steady voltage through a resistor.",
        cautions=("The zener runs hot all the time, and takes everything when a string opens.",),
        cost=3,
        live_everywhere=True,
    )


FAMILY: Final = Family(
    id="capacitor-dropper",
    title="Capacitor dropper",
    about="A capacitor of class X2 in the line ahead of the bridge, with a surge resistor, a bleeder across it and a "
    "smoothing capacitor behind; a zener clamp where the light may not follow the mains.",
    equations=(
        "I = 4 f C (√2 U − U_L)",
        "R_bleeder ≤ t / (C · ln(√2 U / 34 V))",
        "C_smooth from m / √(1 + (2 π · 2f · R C)²), m = 2/3",
        "R = (U_Z − U_L) / I with a clamp",
    ),
    source="Charge balance over a half-cycle; a published table of currents for 230 V 50 Hz (tests/reference/rework) "
    "agrees within 2 mA. Discharge: IEC 60335-1, 22.5 (34 V in 1 s).",
    limits="Full-wave bridge, LED string well below the mains' crest, currents up to some 50 mA. The power factor is "
    "low (leading). Nothing behind it is separated from the mains.",
    serves=("light", *FLICKER, "stress", "mains"),
    plan=_plans,
    cautions=(
        "A dropper leaves every part behind it live: the LEDs, their board, the smoothing capacitor's minus.",
        "A dropper capacitor that shorts puts the mains on the string; fuse and surge resistor are there for that.",
    ),
)
