"""Rules on temperatures that were read: of what a hand meets, and of parts and cords against what they bear."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from lidoff.circuit.ratings import MARKED, rated
from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.questions import CLASS
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.record.model import Reading
from lidoff.standards import Row
from lidoff.standards.temperatures import OTHER, RISES, TOUCH

_ZERO: Final = 273.15  # [K] of 0 degC
_ROOM: Final = 25.0  # [degC] for which the documents give their limits
_HOT: Final = "Hot parts stay hot after unplugging. Temperatures are read under power only by somebody equipped for it."
_HELD: Final = re.compile(r"handle|grip|knob|switch|button|lever", re.IGNORECASE)
# What is there to be hot is not judged by these limits.
_MEANT: Final = re.compile(r"plate|sole|hob|element|grill|oven|toast|iron|bulb|globe|tube|heater|radiat", re.IGNORECASE)
# A cord of better insulation says so: H05V2V2, "90C", T90, silicone, rubber of a higher class.
_BETTER: Final = re.compile(r"V2V2|\b(?:90|105|180)\s*°?\s*C|\bT(?:90|105)\b|SIHF|SIAF|silicon", re.IGNORECASE)


def _celsius(reading: Reading) -> float | None:
    """A temperature reading [degC]; a rise is taken above a room of 25 degC. None for readings of other quantities."""
    if reading.quantity == "temperature":
        return reading.value - _ZERO
    return reading.value + _ROOM if reading.quantity == "temperature_rise" else None


def _at(reading: Reading, what: str) -> str | None:
    """The name behind "surface:" or "wire:" where a reading was taken there."""
    if isinstance(reading.at, str) and reading.at.startswith(f"{what}:"):
        return reading.at.removeprefix(f"{what}:").strip()
    return None


def _touched(facts: Facts) -> Iterable[Outcome]:
    luminaire = facts.item.kind == "luminaire"
    low = OTHER.row("luminaire, touched metal") if luminaire else TOUCH.row("touched 1 s to 10 s", "metal")
    high = OTHER.row("luminaire, touched other") if luminaire else TOUCH.row("touched 1 s to 10 s", "plastic")
    held = TOUCH.row("held 1 min and over", "metal")
    for reading in facts.item.readings:
        name, degrees = _at(reading, "surface"), _celsius(reading)
        if name is None or degrees is None or _out_of_reach(facts, name):
            continue
        said = f"{name} was read at {degrees:.0f} °C"
        if degrees > high.number and _MEANT.search(name):
            yield Open(needs=(f"Is {name} there to be hot, and guarded where it need not be touched? {said}.",))
        elif degrees > high.number:
            yield Hit(
                because=(
                    f"{said}; what is touched in use is to keep under {high.number:g} °C, metal under "
                    f"{low.number:g} °C.",
                ),
                evidence=(_evidence(reading),),
                about=(name,),
                basis=(Basis.of(high), Basis.of(low)),
            )
        elif degrees > low.number:
            yield Open(
                needs=(f"What {name} is made of: {said}, and metal is to keep under {low.number:g} °C.",), about=(name,)
            )
        elif degrees > held.number and _HELD.search(name):
            yield Open(
                needs=(f"How long {name} is held in use: {said}, and {held.number:g} °C is the most for a minute.",),
                about=(name,),
            )


def _out_of_reach(facts: Facts, name: str) -> bool:
    return any(one.get("name") == name and one.get("reached") == "with a tool" for one in facts.item.surfaces)


def _evidence(reading: Reading) -> str:
    at = reading.at if isinstance(reading.at, str) else " and ".join(reading.at)
    meter = f" with {reading.meter}" if reading.meter else ""
    return f"Reading of {reading.quantity.replace('_', ' ')} at {at}: {reading.text}{meter}"


def _parts(facts: Facts) -> Iterable[Outcome]:
    for reading in facts.item.readings:
        degrees = _celsius(reading)
        if degrees is None or not isinstance(reading.at, str):
            continue
        wire = _at(reading, "wire")
        if wire is not None:
            yield from _cord(facts, reading, wire, degrees)
        elif facts.item.part(reading.at) is not None:
            yield from _part(facts, reading, reading.at, degrees)


def _cord(facts: Facts, reading: Reading, wire: str, degrees: float) -> Iterable[Outcome]:
    row = RISES.row("PVC cord", "any")
    most = _ROOM + row.number
    if degrees <= most:
        return
    found = next((one for one in facts.item.wires if one.get("ref") == wire), {})
    said = f"The cord {wire} was read at {degrees:.0f} °C"
    if found.get("print") is None or _BETTER.search(f"{found.get('print')} {found.get('note', '')}"):
        yield Open(needs=(f"What the cord's insulation bears, by its print: {said}.",), about=(wire,))
        return
    yield Hit(
        because=(f"{said}; PVC insulation bears {most:g} °C in a room of {_ROOM:g} °C.",),
        evidence=(_evidence(reading),),
        about=(wire,),
        basis=(Basis.of(row),),
    )


def _part(facts: Facts, reading: Reading, ref: str, degrees: float) -> Iterable[Outcome]:
    part = facts.item.part(ref)
    assert part is not None
    known = rated(part)
    limit = known.rating.get("temperature")
    if isinstance(limit, int | float):
        most = float(limit) - _ZERO
        source = f", {MARKED}" if "temperature" in known.marked else ""
        if degrees > most:
            yield Hit(
                because=(f"{ref} was read at {degrees:.0f} °C; {most:.0f} °C is what it is rated for.",),
                evidence=(_evidence(reading), f"{ref} rating{source}: {most:.0f} °C"),
                about=(ref,),
                basis=(memory("Bench practice", "common practice, no source", "no part over its maker's rating"),),
            )
        return
    row = _unmarked(part.kind, part.marking, known.rating.get("class"))
    if row is not None and degrees > _ROOM + row.number:
        yield Open(
            needs=(
                f"The temperature printed on {ref} (85, 105 …): it was read at {degrees:.0f} °C, and without a mark "
                f"{_ROOM + row.number:g} °C is what it may reach.",
            ),
            about=(ref,),
        )


def _unmarked(kind: str, marking: str | None, grade: object) -> Row | None:
    """What a part without a temperature mark may rise by; None where the document has no row for it."""
    if kind != "capacitor":
        return None
    classed = bool(grade) or CLASS.search((marking or "").upper()) is not None
    return RISES.row("X or Y capacitor without T mark" if classed else "other capacitor without mark", "any")


def _read(at: str, value: str, more: str = "") -> str:
    return f'reading = [{{ quantity = "temperature", value = "{value}", at = "{at}" }}]\n{more}'


_SHELL: Final = 'surface = [{ name = "shell", reached = "by hand", node = "insulated" }]\n'
_PART: Final = """part = [
  { ref = "D1", kind = "diode", nodes = { anode = "live", cathode = "p" } },
  { ref = "C1", kind = "capacitor", value = "10u", RATING nodes = ["p", "neutral"] },
]"""

RULES: Final = (
    Rule(
        code="T01",
        id="too-hot-to-touch",
        title="Hotter than a hand may meet",
        looks_at='Temperatures read at surfaces (at = "surface:NAME") against those for what is touched in use.',
        why="Skin burns within a second or two on hot metal. Children and old people draw back late.",
        basis=(
            memory("IEC 62368-1", "Table 38", "touch temperatures by contact and material"),
            memory("IEC 60335-1", "11.8, Table 3", "temperature rises of handles, knobs and enclosures"),
            memory("IEC 60598-1", "12.4, Table 12.1", "parts of luminaires that are touched"),
        ),
        limits="The limits are for a room of 25 °C and the item at its recorded setting. Lamps and heating surfaces "
        "that have to be hot are not meant.",
        settles="A thermocouple fixed to the spot for an hour, and what the surface is made of.",
        action="Less power, more air, or a guard.",
        caution=_HOT,
        severity=2,
        steps=(
            step("it is touched at that heat in its life", 0.3),
            step("the hand is not drawn away in time", 0.02),
        ),
        check=_touched,
        bad=Case(
            about="A shell at 96 °C.",
            record=_SHELL + _read("surface:shell", "96 °C"),
            says=("shell was read at 96 °C",),
        ),
        good=Case(about="A warm shell.", record=_SHELL + _read("surface:shell", "52 °C")),
        undecided=Case(
            about="68 °C: metal or plastic?",
            record=_SHELL + _read("surface:shell", "68 °C"),
            says=("What shell is made of",),
        ),
        since="2",
    ),
    Rule(
        code="T02",
        id="part-over-temperature",
        title="Part or cord hotter than it bears",
        looks_at='Temperatures read at parts and cords (at = "C1", at = "wire:W1") against what they are rated for.',
        why="Every ten kelvin halve the life of a capacitor; insulation goes soft, then brittle, then conducts.",
        basis=(memory("IEC 60335-1", "11.8, Table 3", "temperature rises of windings, capacitors and cords"),),
        limits="A sensor that does not touch well reads low. The room is taken as 25 °C where a rise was read.",
        settles="A thermocouple under the sleeve or on the can, an hour after switching on; the part's print.",
        action="Move it away from the heat, let air to it, or take a part of a higher temperature.",
        caution=_HOT,
        severity=3,
        steps=(
            step("it runs on like that unattended", 0.5),
            step("it fails by burning", 0.005),
            step("the fire leaves the case or somebody is burnt", 0.05),
        ),
        check=_parts,
        bad=Case(
            about="A capacitor of 85 °C at 97 °C.",
            record=_PART.replace("RATING", 'rating = { temperature = "85 °C" },') + "\n" + _read("C1", "97 °C"),
            says=("C1 was read at 97 °C", "85 °C"),
        ),
        good=Case(
            about="One of 105 °C.",
            record=_PART.replace("RATING", 'rating = { temperature = "105 °C" },') + "\n" + _read("C1", "97 °C"),
        ),
        undecided=Case(
            about="Its print was not read.",
            record=_PART.replace("RATING", "") + "\n" + _read("C1", "97 °C"),
            says=("The temperature printed on C1",),
        ),
        since="2",
    ),
)
