"""Rules on the cord's conductor: its size and its metal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, from_sighting, step
from lidoff.hazards.wires import (
    area_by_mass,
    area_by_strands,
    area_of,
    highest_ohms_per_km,
    measured_well,
    name_of,
    of_one_core,
    ohms_per_km,
    product,
    product_of,
)
from lidoff.standards.conductors import METALS, RESISTANCE

# Share over the table's resistance below which length, temperature and meter leave it open (our choice).
_DOUBT: Final = 1.10
# Share of the printed cross-section below which strands or mass speak of a thin core (our choice).
_THIN: Final = 0.80
# Bounds of resistance x mass per length [ohm g/m2] between which nothing is said: copper is 0.153, copper-clad
# aluminium 0.091 to 0.097; lay, length, balance and meter together are off by up to 15 % (our choice).
_CLAD_UP_TO: Final = 0.112
_COPPER: Final = (0.133, 0.21)


def _too_thin(facts: Facts) -> Iterable[Outcome]:
    for wire in facts.item.wires:
        area = area_of(wire)
        limit = highest_ohms_per_km(area) if area is not None else None
        if area is None or limit is None:
            continue
        yield from _judged(wire, area, limit)


def _judged(wire: Mapping[str, Any], area: float, limit: float) -> Iterable[Outcome]:
    name, printed = name_of(wire), f"printed {wire['print']}"
    row = Basis.of(RESISTANCE.row(area, "5/6 plain"), f"at most {limit:g} ohm/km at 20 °C")
    other = _other_signs(wire, area)
    per_km = ohms_per_km(wire)
    if per_km is None:
        if other:
            yield Hit(
                because=(f"The conductor of {name} is thinner than its print, {area:g} mm².", *other),
                evidence=(printed, *other),
                confidence="worked out",
                about=(name,),
                basis=(row,),
            )
        else:
            yield Open(
                needs=(f"Measure {name}: 1 A through one core and millivolts at its ends, and its length.",),
                about=(name,),
            )
        return
    if not measured_well(wire):
        yield Open(
            needs=(f"How was the resistance of {name} measured, and what do the leads read by themselves?",),
            about=(name,),
        )
        return
    cores = of_one_core(wire)
    core = per_km / 2.0 if cores is False else per_km
    if core <= limit:
        return
    said = f"One core of {name} has {core:.3g} ohm/km; {area:g} mm² of copper has at most {limit:g} ohm/km."
    if core <= _DOUBT * limit:
        yield Open(needs=(f"{said} That is within the doubt of length and temperature: measure again.",), about=(name,))
    elif cores is None and core / 2.0 <= _DOUBT * limit and not other:
        yield Open(
            needs=(f"Was it one core of {name} that was measured, or both in a row? Both in a row would be in order.",),
            about=(name,),
        )
    else:
        yield Hit(
            because=(said, *other),
            evidence=(printed, f"resistance {wire['resistance']['value']:g} ohm over {wire['length']:g} m", *other),
            about=(name,),
            basis=(row,),
        )


def _other_signs(wire: Mapping[str, Any], area: float) -> tuple[str, ...]:
    signs = []
    strands = area_by_strands(wire)
    if strands is not None and strands < _THIN * area:
        signs.append(f"Its {wire['strands']} strands add up to {strands:.2g} mm².")
    mass = area_by_mass(wire)
    if wire.get("core") == "copper" and mass is not None and mass < _THIN * area:
        signs.append(f"A bare core of copper of {1e3 * wire['mass']:.2g} g/m has {mass:.2g} mm².")
    return tuple(signs)


def _metal(facts: Facts) -> Iterable[Outcome]:
    answer = facts.answer("core-metal")
    if answer in ("copper-clad aluminium", "steel"):
        told = [wire for wire in facts.item.wires if wire.get("core") == answer and wire.get("told_by")]
        evidence = (
            tuple(f"{name_of(wire)}: {answer}, told by {', '.join(wire['told_by'])}" for wire in told)
            if told and facts.sighting("core-metal") is None
            else from_sighting(facts, "core-metal")
        )
        yield Hit(because=(f"The conductor is {answer}, not copper.",), evidence=evidence)
        return
    if answer == "copper":
        return
    for wire in facts.item.wires:
        name, per_km = name_of(wire), ohms_per_km(wire)
        if per_km is None and "mass" not in wire:
            continue
        value = product(wire, per_km) if per_km is not None else None
        if value is None or per_km is None:
            yield Open(
                needs=(
                    f"Ohms per metre and grams per metre of one bare core of {name}, both: either alone reads the same "
                    f"for thin copper as for another metal. Or scrape a strand under a lens.",
                ),
                about=(name,),
            )
            continue
        if not measured_well(wire):
            yield Open(needs=(f"How was the resistance of {name} measured, leads apart?",), about=(name,))
            continue
        if of_one_core(wire) is False:
            value /= 2.0
        said = (
            f"Resistance times mass of one core of {name} is {value:.3g} ohm·g/m²: copper has "
            f"{product_of('copper'):.3g}, copper-clad aluminium {product_of('copper-clad aluminium 10 %'):.2g} to "
            f"{product_of('copper-clad aluminium 15 %'):.2g}."
        )
        if value < _CLAD_UP_TO:
            yield Hit(
                because=(said,),
                evidence=(
                    f"{name}: {wire['resistance']['value']:g} ohm over {wire['length']:g} m, "
                    f"{1e3 * wire['mass']:g} g/m",
                ),
                confidence="worked out",
                about=(name,),
            )
        elif not _COPPER[0] <= value <= _COPPER[1]:
            yield Open(needs=(f"{said} Scrape a strand under a lens, and measure again.",), about=(name,))


RULES: Final = (
    Rule(
        code="W01",
        id="conductor-too-thin",
        title="Conductor thinner than the cord's print",
        looks_at="The measured resistance of a core per length, its strands and its mass, against the size that is "
        "printed on the cord.",
        why="A thin core gets hot at a current that its print, and the fuse chosen by it, allow. On a dead short it "
        "burns "
        "before the fuse opens.",
        basis=(Basis.of(RESISTANCE.row(0.75, "5/6 plain"), "highest resistance by size"),),
        limits="Resistance alone cannot tell a thin copper core from a full one of another metal; core-not-copper asks "
        "for the mass too. Not corrected for temperature: 10 K makes 4 %.",
        settles="1 A through one core with separate millivolt leads, its length by tape, its strands counted and "
        "gauged.",
        action="Replace the cord, or fuse it for what the core really is.",
        caution="Measure unplugged, with the cord laid out and not coiled hot.",
        severity=3,
        steps=(
            step("an overload or a soft short comes in its life", 0.05),
            step("the thin core overheats before anything opens", 0.2),
            step("fire or a burn follows", 0.1),
        ),
        check=_too_thin,
        bad=Case(
            about="Sold as 0.5 mm², measured with four wires on one core.",
            record='wire = [{ ref = "W1", print = "2x0.5mm2", length = "1.4 m", '
            'resistance = { value = "0.11 R", method = "one core, 1 A and millivolts" } }]',
            says=("78.6 ohm/km", "at most 39 ohm/km"),
        ),
        good=Case(
            about="Half a square millimetre as printed.",
            record='wire = [{ ref = "W1", print = "2x0.5mm2", length = "2 m", '
            'resistance = { value = "74 mR", method = "one core, four-wire" } }]',
        ),
        undecided=Case(
            about="A hand meter's 0.3 ohm, leads and all.",
            record='wire = [{ ref = "W1", print = "2x0.5mm2", length = "1.4 m", resistance = "0.3 R" }]',
            says=("leads read by themselves",),
        ),
    ),
    Rule(
        code="W02",
        id="core-not-copper",
        title="Conductor not of copper",
        looks_at="The metal of the cord's core: scraped, weighed, or resistance and mass together.",
        why="Copper-clad aluminium and steel carry less than copper of the same size, break sooner when bent, and work "
        "loose under screws. The fuse was chosen for copper.",
        basis=(
            Basis.of(METALS.row("copper", "conductivity")),
            Basis.of(METALS.row("copper-clad aluminium 10 %", "density")),
        ),
        limits="Never judged from ohms per metre alone. Tinned copper is white outside and red below.",
        settles="A strand scraped under a lens, a magnet, a bare metre on a balance.",
        action="Replace the cord.",
        caution="Photograph the strands before they are scraped. Unplugged.",
        severity=3,
        steps=(
            step("the core overheats or breaks in its life", 0.02),
            step("it arcs or glows where something burns", 0.1),
            step("fire or a burn follows", 0.1),
        ),
        check=_metal,
        bad=Case(
            about="Reads like thin copper, weighs like aluminium.",
            record='wire = [{ ref = "W1", print = "2x0.75mm2", length = "2 m", mass = "2.5 g/m", '
            'resistance = { value = "74 mR", method = "one core, four-wire" } }]',
            says=("0.0925 ohm·g/m²",),
        ),
        good=Case(
            about="Copper by resistance and mass.",
            record='wire = [{ ref = "W1", print = "2x0.5mm2", length = "2 m", mass = "4.3 g/m", '
            'resistance = { value = "74 mR", method = "one core, four-wire" } }]',
        ),
        undecided=Case(
            about="Ohms alone.",
            record='wire = [{ ref = "W1", print = "2x0.5mm2", length = "1.4 m", '
            'resistance = { value = "0.11 R", method = "one core, four-wire" } }]',
            says=("reads the same",),
        ),
    ),
)
