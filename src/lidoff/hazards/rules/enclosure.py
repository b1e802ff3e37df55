"""Rules on the case: what it lets in, whether it is whole, what lies bare in it, and what heat has done to it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import memory
from lidoff.hazards.rule import Case, Outcome, Rule, sighted, step

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_SHOCK: Final = step("the shock is severe", 0.05)
_OPENS: Final = sighted(
    "opens-without-tool",
    {"yes": "The case opens by hand, without a tool."},
    "Pull and press at the case, unplugged, as a child would: does it open?",
)


def _opens(facts: Facts) -> Iterable[Outcome]:
    if facts.item.protection_class != "III":
        yield from _OPENS(facts)


RULES: Final = (
    Rule(
        code="E01",
        id="opens-without-tool",
        title="Live parts behind a cover that opens by hand",
        looks_at="Whether case or cover come off without a tool.",
        why="Who can open it by hand will, a child above all, and behind it lies the mains.",
        basis=(
            memory("IEC 60335-1", "8.1, 22.11", "live parts not accessible; fixed without relying on habits"),
            memory("IEC 60598-1", "8.2", "protection against electric shock"),
        ),
        limits="Covers that open only after the plug is out may be allowed by some product standards.",
        settles="A pull and a press on every seam, unplugged; a photograph of what lies behind.",
        action="Keep it away from children and out of use until it is closed with screws or a sealed seam.",
        caution=_UNPLUG + " Take the charge on capacitors seriously: see the bench card.",
        severity=4,
        steps=(step("somebody opens it while plugged in", 0.02), step("a live part is touched", 0.3), _SHOCK),
        check=_opens,
        bad=Case(
            about="Two clips and a thumbnail.",
            record='sighting = [{ about = "opens-without-tool", seen = "yes", note = "thumbnail" }]',
            says=("by hand",),
        ),
        good=Case(
            about="Extra-low voltage behind the clips.",
            record='item = { class = "III" }\nsighting = [{ about = "opens-without-tool", seen = "yes" }]',
        ),
        undecided=Case(
            about="Not tried for fear of breaking it.",
            record='sighting = [{ about = "opens-without-tool", seen = "not looked at" }]',
            says=("does it open",),
        ),
    ),
    Rule(
        code="E02",
        id="opening-reaches-live",
        title="An opening through which live parts are reached",
        looks_at="Openings in the case, tried with a finger probe and a thin rod.",
        why="A finger, a hairpin or a chain finds its way in.",
        basis=(memory("IEC 60335-1", "8.1.1, 8.1.2", "test finger, test pin"), memory("IEC 60598-1", "8.2", "finger")),
        limits="A skewer is no standard test pin.",
        settles="The standard's finger and pin, unplugged, with a lamp as indicator.",
        action="Take it out of use until the opening is closed or guarded.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("a finger or metal thing goes in while plugged in", 0.02),
            step("it meets the live part", 0.3),
            _SHOCK,
        ),
        check=sighted(
            "enclosure-openings",
            {
                "finger reaches live parts": "A finger reaches live parts through an opening.",
                "thin rod reaches live parts": "A thin rod reaches live parts through an opening.",
            },
            "Try each opening with a finger probe and a skewer, unplugged.",
        ),
        bad=Case(
            about="Slots over the board.",
            record='sighting = [{ about = "enclosure-openings", seen = "thin rod reaches live parts" }]',
            says=("thin rod",),
        ),
        good=Case(about="No way in.", record='sighting = [{ about = "enclosure-openings", seen = "nothing" }]'),
        undecided=Case(
            about="Slots, and nobody tried.",
            record='sighting = [{ about = "enclosure-openings", seen = "not looked at" }]',
            says=("finger probe",),
        ),
    ),
    Rule(
        code="E03",
        id="enclosure-broken",
        title="Case cracked or incomplete",
        looks_at="Whether the case is whole.",
        why="The case is the insulation. A crack grows, and a missing piece shows what is behind it.",
        basis=(memory("IEC 60335-1", "21.1, 8.1", "mechanical strength; live parts not accessible"),),
        limits="A hairline in a double shell may reach nothing.",
        settles="What a finger or a thin rod reaches through it.",
        action="Take it out of use until the case is replaced. Tape is no case.",
        caution=_UNPLUG,
        severity=4,
        steps=(step("the crack opens up to live parts", 0.1), step("they are touched while plugged in", 0.05), _SHOCK),
        check=sighted(
            "enclosure",
            {"cracked": "The case is cracked.", "parts missing": "Parts of the case are missing."},
            "Press lightly along the seams, unplugged: is the case whole?",
        ),
        bad=Case(
            about="A corner gone.",
            record='sighting = [{ about = "enclosure", seen = "parts missing" }]',
            says=("missing",),
        ),
        good=Case(about="Whole.", record='sighting = [{ about = "enclosure", seen = "whole" }]'),
        undecided=Case(
            about="Under a shrink film.",
            record='sighting = [{ about = "enclosure", seen = "cannot tell" }]',
            says=("seams",),
        ),
    ),
    Rule(
        code="E08",
        id="sleeve-missing",
        title="Bare live part beside what must stay free of it",
        looks_at="Bare leads and joints at mains voltage near the case or near low-voltage wires.",
        why="Boards shift, leads bend, solder whiskers grow. A sleeve or barrier keeps the distance when they do.",
        basis=(memory("IEC 60335-1", "29.1", "distances, also when parts move"),),
        limits="Judged by eye; a distance that was measured is judged against the tables.",
        settles="The distance, with the part pushed the worst way.",
        action="Sleeve it, or fix a barrier that cannot fall out.",
        caution=_UNPLUG + " Discharge what the bench card lists.",
        severity=4,
        steps=(
            step("the bare part moves up to it", 0.02),
            step("what is touched becomes live and is touched", 0.3),
            _SHOCK,
        ),
        check=sighted(
            "insulation-sleeve",
            {
                "bare near the case": "A bare live part lies near the case.",
                "bare near low voltage": "A bare live part lies near low-voltage wires.",
            },
            "Look along every bare lead at mains voltage: what could it touch if pushed?",
        ),
        bad=Case(
            about="A joint against the shell.",
            record='sighting = [{ about = "insulation-sleeve", seen = "bare near the case" }]',
            says=("near the case",),
        ),
        good=Case(about="Sleeved.", record='sighting = [{ about = "insulation-sleeve", seen = "sleeved" }]'),
        undecided=Case(
            about="Potted.",
            record='sighting = [{ about = "insulation-sleeve", seen = "cannot tell" }]',
            says=("bare lead",),
        ),
    ),
    Rule(
        code="E09",
        id="heat-marks",
        title="Traces of overheating",
        looks_at="Browned, softened or charred board, case or insulation.",
        why="Something ran hotter than its surroundings bear. Charred board conducts, and burns more easily each time.",
        basis=(memory("IEC 60335-1", "11.8", "no damage by heat in normal use"),),
        limits="Old marks may be from a part that was replaced since.",
        settles="The part above the mark, its computed power, a thermocouple on it under power.",
        action="Find the part that makes the heat before it is used again. Scrape or cut out charred board.",
        caution="Hot parts stay hot after unplugging.",
        severity=3,
        steps=(
            step("it runs on unattended", 0.5),
            step("board or case catch fire", 1e-3),
            step("the fire spreads", 0.3),
        ),
        check=sighted(
            "heat-marks",
            {
                "browned": "Board or case have gone brown from heat.",
                "charred": "Board or case are charred.",
            },
            "Look at both sides of the board and at the case over hot parts.",
        ),
        bad=Case(
            about="Brown under a resistor.",
            record='sighting = [{ about = "heat-marks", seen = "browned", note = "under R3" }]',
            says=("brown",),
        ),
        good=Case(about="None.", record='sighting = [{ about = "heat-marks", seen = "none" }]'),
        undecided=Case(
            about="Black board.",
            record='sighting = [{ about = "heat-marks", seen = "cannot tell", note = "black solder mask" }]',
            says=("both sides",),
        ),
    ),
)
