"""Rules on what stands between a failed insulation and a shock: the earth, and the insulation as measured."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, from_sighting, step
from lidoff.quantity import engineering
from lidoff.record.model import Reading
from lidoff.standards.earth import EARTH

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_BOND: Final = ("resistance", "earth_resistance")
_SHOCK: Final = step("the shock is severe", 0.05)


def _earth(facts: Facts) -> Iterable[Outcome]:
    if facts.item.protection_class != "I":
        return
    wiring = dict(facts.item.plug.get("wiring", {}))
    green = [core for core in wiring if core.startswith("green")]
    left_off = [core for core in green if wiring[core] in ("nothing", "live", "neutral")]
    answer = facts.answer("earth-bond")
    if answer in ("not joined", "left off"):
        yield Hit(because=("Its metal is not joined to the earth pin.",), evidence=from_sighting(facts, "earth-bond"))
    elif left_off:
        where = ", ".join(f"{core} on {wiring[core]}" for core in left_off)
        yield Hit(because=(f"The earth core is not on the earth pin: {where}.",), evidence=(f"[plug] wiring: {where}",))
    elif answer is None:
        yield Open(needs=("Low-ohm reading from the earth pin to bare metal, the cord flexed meanwhile.",))


def _bond(facts: Facts) -> Iterable[Outcome]:
    service = EARTH.row("in service, Germany", "resistance to 5 m")
    routine = EARTH.row("routine test", "resistance")
    for reading in facts.item.readings:
        if reading.quantity not in _BOND or not isinstance(reading.at, tuple) or "earth" not in reading.at:
            continue
        other = (reading.at[0] if reading.at[1] == "earth" else reading.at[1]).removeprefix("surface:")
        if other in ("live", "neutral") or not _metal(facts, other):
            continue
        said = f"{reading.value:.3g} ohm from the earth pin to {other}"
        if reading.value > service.number:
            yield Hit(
                because=(f"{said}; {service.number:g} ohm is the most with a cord of up to 5 m.",),
                evidence=(_evidence(reading, reading.at),),
                about=(other,),
                basis=(Basis.of(service),),
            )
        elif reading.value > routine.number:
            yield Open(
                needs=(f"{said} is more than {routine.number:g} ohm: the cord's own resistance, to be taken off.",),
                about=(other,),
            )


def _evidence(reading: Reading, at: tuple[str, str]) -> str:
    quantity = reading.quantity.replace("_", " ")
    return f"Reading of {quantity} between {' and '.join(end.removeprefix('surface:') for end in at)}: {reading.text}"


def _metal(facts: Facts, node: str) -> bool:
    return any(node in (surface.get("node"), surface.get("name")) for surface in facts.item.surfaces)


def _insulation(facts: Facts) -> Iterable[Outcome]:
    yield from _insulation_read(facts)
    answer, kind = facts.answer("insulation-reading"), facts.item.protection_class
    evidence = from_sighting(facts, "insulation-reading") if answer is not None else ()
    if answer == "under 1 megohm":
        least = "1 megohm" if kind == "I" else "2 megohm"
        yield Hit(because=(f"It reads under 1 megohm; {least} is the least in service.",), evidence=evidence)
    elif answer == "1 to 2 megohm" and kind == "II":
        yield Hit(because=("It reads under 2 megohm, the least for class II in service.",), evidence=evidence)
    elif answer == "1 to 2 megohm" and kind not in ("I", "II"):
        yield Open(needs=("The protection class: 1 to 2 megohm will do for class I and not for class II.",))


def _insulation_read(facts: Facts) -> Iterable[Outcome]:
    """Readings in ohms, from a line pin to a surface, against the least of the item's class."""
    rows = [EARTH.row("in service, UK", f"insulation, class {kind}") for kind in ("I", "II")]
    least = dict(zip(("I", "II"), rows, strict=True)).get(facts.item.protection_class or "")
    for reading in facts.item.readings:
        if reading.quantity != "insulation_resistance" or not isinstance(reading.at, tuple):
            continue
        ends = " to ".join(one.removeprefix("surface:") for one in reading.at)
        said = f"{engineering(reading.value, 'ohm', 2)} from {ends}"
        if least is None:
            if reading.value < rows[1].number:
                needed = engineering(rows[1].number, "ohm", 1)
                yield Open(needs=(f"The protection class: {said}, and class II needs {needed}.",))
        elif reading.value < least.number:
            yield Hit(
                because=(f"{said}; {engineering(least.number, 'ohm', 1)} is the least in service.",),
                evidence=(_evidence(reading, reading.at),),
                basis=(Basis.of(least),),
            )


RULES: Final = (
    Rule(
        code="E10",
        id="earth-left-off",
        title="Class I item without a working earth",
        looks_at="The protective conductor of a class I item.",
        why="Class I has one layer of insulation. When it fails the earth is what blows the fuse; without it the metal "
        "stays live and nothing opens.",
        basis=(memory("IEC 60335-1", "27.1, 27.5", "earthing of accessible metal"),),
        limits="Says nothing of the earth in the wall.",
        settles="Low-ohm reading from earth pin to metal, cord flexed.",
        action="Take it out of use until the earth is joined.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("basic insulation fails in its life", 0.02),
            step("the metal is touched with a way to earth", 0.5),
            _SHOCK,
        ),
        check=_earth,
        bad=Case(
            about="The green-yellow core is cut short.",
            record='item = { class = "I", region = "GB" }\nplug = { kind = "BS 1363", '
            'wiring = { brown = "live", blue = "neutral", green-yellow = "nothing" } }',
            says=("green-yellow on nothing",),
        ),
        good=Case(
            about="Metal joined to the earth pin.",
            record='item = { class = "I" }\nsighting = [{ about = "earth-bond", seen = "joined" }]',
        ),
        undecided=Case(
            about="Class I, and nobody measured.",
            record='item = { class = "I" }',
            says=("Low-ohm reading",),
        ),
    ),
    Rule(
        code="E11",
        id="earth-bond-high",
        title="Earth path with too much resistance",
        looks_at="Readings of resistance between earth and a touchable surface.",
        why="A thin or loose earth burns off before the fuse opens, just when it is needed.",
        basis=(Basis.of(EARTH.row("routine test", "resistance")),),
        limits="A hand meter at microamperes passes a path of one strand; the standards test with 10 A or 25 A.",
        settles="The same reading at 10 A or more.",
        action="Clean and tighten the joint, or replace the cord.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("basic insulation fails in its life", 0.02),
            step("the earth path burns off first", 0.1),
            step("the metal is touched with a way to earth", 0.5),
            _SHOCK,
        ),
        check=_bond,
        bad=Case(
            about="2 ohm to the shade.",
            record='item = { class = "I" }\nsurface = [{ name = "shade", reached = "by hand", node = "earth" }]\n'
            'reading = [{ quantity = "resistance", value = "2.0 R", at = ["earth", "shade"] }]',
            says=("2 ohm from the earth pin to shade",),
        ),
        good=Case(
            about="A few hundredths.",
            record='item = { class = "I" }\nsurface = [{ name = "shade", reached = "by hand", node = "earth" }]\n'
            'reading = [{ quantity = "resistance", value = "0.06 R", at = ["earth", "shade"] }]',
        ),
        undecided=Case(
            about="In between: is it the cord?",
            record='item = { class = "I" }\nsurface = [{ name = "shade", reached = "by hand", node = "earth" }]\n'
            'reading = [{ quantity = "resistance", value = "0.18 R", at = ["earth", "shade"] }]',
            says=("the cord's own resistance",),
        ),
    ),
    Rule(
        code="E12",
        id="insulation-low",
        title="Insulation resistance too low",
        looks_at="The insulation reading between the joined line pins and touchable metal, by class.",
        why="Damp, soot or a crushed wire has made a path that is not meant. It seldom gets better.",
        basis=(
            Basis.of(EARTH.row("in service, UK", "insulation, class I")),
            Basis.of(EARTH.row("in service, UK", "insulation, class II")),
        ),
        limits="Heating elements read low when damp; surge-protected items need the lower test voltage.",
        settles="The same test after a day in the dry, and the limit of the local code.",
        action="Take it out of use until the path is found.",
        caution="By somebody trained on the tester: 500 V is on the item. Discharge afterwards.",
        severity=4,
        steps=(
            step("the path becomes a connection", 0.05),
            step("the metal is touched with a way to earth", 0.3),
            _SHOCK,
        ),
        check=_insulation,
        bad=Case(
            about="Half a megohm to the shell.",
            record='item = { class = "II" }\nsighting = [{ about = "insulation-reading", seen = "under 1 megohm" }]',
            says=("under 1 megohm", "2 megohm"),
        ),
        good=Case(
            about="Over 2 megohm.",
            record='item = { class = "II" }\nsighting = [{ about = "insulation-reading", seen = "over 2 megohm" }]',
        ),
        undecided=Case(
            about="1.5 megohm, and the class not known.",
            record='item = { class = "?" }\nsighting = [{ about = "insulation-reading", seen = "1 to 2 megohm" }]',
            says=("class",),
        ),
    ),
)
