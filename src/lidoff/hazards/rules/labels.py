"""Rules on what is marked on the item, and whether it suits the mains."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, sighted, step

_NOMINAL: Final = {"GB": 230.0, "EU": 230.0, "US": 120.0}  # [V], by practice of the region
_ABOVE: Final = 1.1  # the mains may be a tenth above its nominal voltage (EN 50160, from memory)


def _mismatch(facts: Facts) -> Iterable[Outcome]:
    item = facts.item
    measured = item.supply.voltage if item.supply.measured and isinstance(item.supply.voltage, float | int) else None
    mains = measured or _NOMINAL.get(item.region or "")
    rated = item.rated.get("voltage_high") or item.rated.get("voltage")
    if mains is None or item.protection_class == "III":
        return
    if rated is None:
        if item.plug or item.rated:
            yield Open(needs=("Read the rated voltage on the label.",))
    elif mains > _ABOVE * rated:
        whose = "measured" if measured else f"usual in {item.region}"
        yield Hit(
            because=(f"It is rated for {rated:g} V; the mains is {mains:g} V ({whose}).",),
            evidence=(
                f"[item] rated voltage: {rated:g} V",
                f"[supply] voltage: {mains:g} V measured" if measured else f"[item] region: {item.region}",
            ),
            confidence="seen" if measured else "worked out",
        )


RULES: Final = (
    Rule(
        code="L01",
        id="marking-missing",
        title="Maker, ratings or approval mark missing from the item",
        looks_at="The label: maker, rated voltage and power, class, approval.",
        why="Without ratings nobody can choose a fuse or say whether it runs as meant; without a maker nobody "
        "answers for "
        "it or can call it back.",
        basis=(memory("IEC 60335-1", "7.1", "marking"), memory("IEC 60598-1", "3.2", "marking")),
        limits="An approval mark can be copied. This is a sign, not an injury by itself.",
        settles="Both sides of the item and its plug photographed in slanting light.",
        action="Do not pass it on. Judge it by what is inside only.",
        caution="Unplugged while you turn it over.",
        severity=3,
        steps=(
            step("it differs from what its user needs to know", 0.05),
            step("a wrong use or fuse follows", 0.05),
            step("somebody is hurt by it", 0.02),
        ),
        check=sighted(
            "marking",
            {
                "none": "Nothing is marked on the item.",
                "no maker, no approval mark": "Neither a maker nor an approval mark stands on the item.",
            },
            "Read the label in slanting light; it may be moulded in.",
        ),
        bad=Case(
            about="A bare shell.",
            record='sighting = [{ about = "marking", seen = "none" }]',
            says=("Nothing is marked",),
        ),
        good=Case(about="A full label.", record='sighting = [{ about = "marking", seen = "maker and ratings" }]'),
        undecided=Case(
            about="The label is scratched.",
            record='sighting = [{ about = "marking", seen = "cannot tell", note = "scratched" }]',
            says=("slanting light",),
        ),
    ),
    Rule(
        code="L02",
        id="instructions-missing",
        title="No instructions or warnings",
        looks_at="Papers that came with the item.",
        why="What the user must not do (join strips, cut them under power, use it in the wet) is only known if it is "
        "said in a language that the user reads.",
        basis=(memory("IEC 60335-1", "7.12", "instructions"), memory("IEC 60598-1", "3.3", "additional information")),
        limits="Second-hand items have lost theirs.",
        settles="The box, the seller's page, the maker.",
        action="Write a short warning and keep it with the item.",
        caution="None beyond the general ones.",
        severity=2,
        steps=(
            step("it is used in a way its maker forbids", 0.1),
            step("that leads to an injury", 0.01),
        ),
        check=sighted(
            "instructions",
            {
                "none": "No instructions came with it.",
                "another language": "Its instructions are in a language that its user does not read.",
            },
            "Ask who brought it whether there were papers.",
        ),
        bad=Case(
            about="Bought loose on a market.",
            record='sighting = [{ about = "instructions", seen = "none" }]',
            says=("No instructions",),
        ),
        good=Case(about="A leaflet.", record='sighting = [{ about = "instructions", seen = "there" }]'),
        undecided=Case(
            about="The owner does not remember.",
            record='sighting = [{ about = "instructions", seen = "?" }]',
            says=("Ask who brought it",),
        ),
    ),
    Rule(
        code="L03",
        id="mains-voltage-mismatch",
        title="Made for a lower mains voltage",
        looks_at="The rated voltage on the label against the mains of the region, or as measured.",
        why="At twice its voltage a resistor takes four times its power; capacitors and lamps fail by bursting or "
        "fire.",
        basis=(memory("IEC 60335-1", "7.1", "rated voltage is marked"),),
        limits="A rated voltage above the mains is not judged: it runs weakly, which hurts nobody by itself.",
        settles="The label, and a voltmeter at the socket.",
        action="Do not plug it in here. It needs a transformer of its own voltage and power.",
        caution="Do not try it out to see.",
        severity=3,
        steps=(
            step("it is plugged into this mains", 0.5),
            step("a part bursts or burns", 0.3),
            step("somebody is burnt or it sets something alight", 0.05),
        ),
        check=_mismatch,
        bad=Case(
            about="A 120 V lamp on a British plug.",
            record='item = { region = "GB", rated = { voltage = "120 V" } }',
            says=("rated for 120 V; the mains is 230 V",),
        ),
        good=Case(
            about="A range that holds the mains.",
            record='item = { region = "EU", rated = { voltage = "100-240 V" } }',
        ),
        undecided=Case(
            about="Only the watts can be read.",
            record='item = { region = "GB", rated = { power = "9 W" } }',
            says=("rated voltage",),
        ),
    ),
)
