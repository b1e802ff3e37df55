"""Rules on what a person can reach: the case, bare contacts, surfaces, earth and insulation."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts, Touched
from lidoff.hazards.given import touched
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, asked_in_vain, from_sighting, sighted, step
from lidoff.standards import Row
from lidoff.standards.earth import EARTH
from lidoff.standards.touch import ENERGY_SOURCES, LEAKAGE

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_SHOCK: Final = step("the shock is severe", 0.05)
_REACHED: Final = ("by hand", "test finger")
_NEUTRAL: Final = (
    "Neutral counts as live: a crossed plug or a broken neutral brings what is joined to it to the full mains voltage."
)
_OPENS: Final = sighted(
    "opens-without-tool",
    {"yes": "The case opens by hand, without a tool."},
    "Pull and press at the case, unplugged, as a child would: does it open?",
)
# A lamp of one LED string on a bridge, joined to the mains throughout: what most cases here need.
_STRING: Final = """part = [
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 60, forward_voltage = "3 V", nodes = { anode = "p", cathode = "m" } },
]"""
_Y: Final = """part = [
  { ref = "H1", kind = "heater", power = "100 W", voltage = "230 V", nodes = ["live", "neutral"] },
  { ref = "C1", kind = "capacitor", value = "4n7", rating = { class = "Y2" }, nodes = ["live", "shell"] },
  { ref = "C2", kind = "capacitor", value = "4n7", rating = { class = "Y2" }, nodes = ["neutral", "shell"] },
]"""


def _opens(facts: Facts) -> Iterable[Outcome]:
    if facts.item.protection_class != "III":
        yield from _OPENS(facts)


def _live_surface(facts: Facts) -> Iterable[Outcome]:
    for surface in facts.item.surfaces:
        name, node, reached = surface.get("name", "a surface"), surface.get("node"), surface.get("reached", "?")
        if node in ("insulated", "earth") or reached == "with a tool":
            continue
        if node in (None, "?"):
            yield Open(needs=(f"Ohms from each plug pin to {name}: what is it joined to?",), about=(name,))
            continue
        if node not in ("live", "neutral") and facts.circuit is None:
            yield Open(needs=(f"What joins the node {node}, on which {name} lies, to the mains?",), about=(name,))
            continue
        at = facts.circuit.resolve(node) if facts.circuit is not None else node
        if node not in ("live", "neutral") and at not in facts.net.joined:
            continue
        if reached == "?":
            yield Open(needs=(f"Can a hand or a finger reach {name}?",), about=(name,))
            continue
        felt = next((one for one in facts.touched if one.surface == name), None)
        yield Hit(
            because=(
                f"The surface {name} can be touched ({reached}) and is joined to the mains at node {node}, "
                "no insulation between.",
                *((_felt(felt),) if felt is not None else ()),
                *((_NEUTRAL,) if felt is not None and felt.touch.level == "ES1" else ()),
            ),
            evidence=(f"[[surface]] {name}: node {node}, reached {reached}",),
            confidence="worked out" if node not in ("live", "neutral") else "seen",
            about=(name,),
        )


def _felt(one: Touched) -> str:
    touch = one.touch
    return (
        f"A hand on {one.surface} gets {touch.voltage_rms:.3g} V before it touches and {1e3 * touch.current_rms:.2g} "
        f"mA "
        f"through the body (class {touch.level} of IEC 62368-1)."
    )


def _limit(facts: Facts) -> tuple[Row, bool]:
    """The touch-current row that fits the item, and whether it is a peak."""
    if facts.item.kind == "adapter":
        return ENERGY_SOURCES.row("ES1", "ac to 1 kHz", "current rms"), False
    if facts.item.protection_class == "II":
        if facts.item.kind == "luminaire":
            return LEAKAGE.row("luminaire class II, touch, peak"), True
        return LEAKAGE.row("class II"), False
    if facts.item.protection_class == "I":
        return LEAKAGE.row("class I portable"), False
    return LEAKAGE.row("class 0, 0I, III"), False


def _touch_current(facts: Facts) -> Iterable[Outcome]:
    row, peak = _limit(facts)
    word = "peak" if peak else "rms"
    for surface in facts.item.surfaces:
        name, node = surface.get("name", "a surface"), surface.get("node")
        if surface.get("reached") not in _REACHED or node in (None, "?", "insulated", "earth", "live", "neutral"):
            continue
        if facts.circuit is not None and facts.circuit.resolve(node) in facts.net.joined:
            continue  # a live surface, which is worse: see live-surface
        felt = next((one for one in facts.touched if one.surface == name), None)
        if felt is None:
            yield Open(needs=(f"The circuit between the mains and {name}, so that the current can be worked out.",))
            continue
        current = felt.touch.current_peak if peak else felt.touch.current_rms
        if current > row.number:
            yield Hit(
                because=(
                    f"A hand on {name} draws {1e3 * current:.2g} mA {word}; {1e3 * row.number:g} mA is the limit.",
                    _felt(felt),
                ),
                evidence=(
                    f"[[surface]] {name}: node {node}",
                    "Computed with the body network of IEC 60990 between the surface and earth.",
                ),
                confidence="worked out",
                about=(name,),
                basis=(Basis.of(row, f"{1e3 * row.number:g} mA {word}"),),
                severity=4 if felt.touch.level == "ES3" else 2,
                steps=(step("it is touched by somebody with a way to earth", 0.3), _SHOCK)
                if felt.touch.level == "ES3"
                else (),
            )


def _bare_output(facts: Facts) -> Iterable[Outcome]:
    if facts.answer("output-ends") != "bare contacts":
        if facts.answer("output-ends") is None and asked_in_vain(facts, "output-ends"):
            yield Open(needs=("Look at every connector, strip end and end cap: can metal be touched?",))
        return
    isolation = facts.answer("output-isolation")
    if isolation == "isolated":
        return
    strings = [e for e in facts.elements if e.kind == "led" and set(e.pins.values()) <= facts.net.joined]
    if isolation == "joined to mains" or strings:
        refs = tuple(e.ref for e in strings)
        how = (
            f"{', '.join(refs)} is joined to the mains with no transformer between"
            if refs
            else "the output is joined to the mains"
        )
        yield Hit(
            because=(f"Bare contacts can be touched, and {how}.",),
            evidence=(
                *from_sighting(facts, "output-ends"),
                *((f"Circuit as recorded: {', '.join(refs)}",) if refs else from_sighting(facts, "output-isolation")),
            ),
            confidence="worked out" if refs else "seen",
            about=refs,
        )
    else:
        yield Open(needs=("Ohms from each plug pin to the bare contacts: is a transformer between?",))


def _output_isolation(facts: Facts) -> Iterable[Outcome]:
    answer = facts.answer("output-isolation")
    if answer == "joined to mains" and facts.item.kind == "adapter":
        yield Hit(
            because=("The adapter's output is joined to the mains.",),
            evidence=from_sighting(facts, "output-isolation"),
        )
    elif answer is None and facts.item.kind == "adapter":
        yield Open(needs=("Ohms from each plug pin to each output contact, unplugged and discharged.",))


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
        if reading.quantity != "resistance" or not isinstance(reading.at, tuple) or "earth" not in reading.at:
            continue
        other = reading.at[0] if reading.at[1] == "earth" else reading.at[1]
        if other in ("live", "neutral") or not _metal(facts, other):
            continue
        said = f"{reading.value:.3g} ohm from the earth pin to {other}"
        if reading.value > service.number:
            yield Hit(
                because=(f"{said}; {service.number:g} ohm is the most with a cord of up to 5 m.",),
                evidence=(f"Reading of resistance between {reading.at[0]} and {reading.at[1]}: {reading.text}",),
                about=(other,),
                basis=(Basis.of(service),),
            )
        elif reading.value > routine.number:
            yield Open(
                needs=(f"{said} is more than {routine.number:g} ohm: the cord's own resistance, to be taken off.",),
                about=(other,),
            )


def _metal(facts: Facts, node: str) -> bool:
    return any(node in (surface.get("node"), surface.get("name")) for surface in facts.item.surfaces)


def _insulation(facts: Facts) -> Iterable[Outcome]:
    answer, kind = facts.answer("insulation-reading"), facts.item.protection_class
    evidence = from_sighting(facts, "insulation-reading") if answer is not None else ()
    if answer == "under 1 megohm":
        least = "1 megohm" if kind == "I" else "2 megohm"
        yield Hit(because=(f"It reads under 1 megohm; {least} is the least in service.",), evidence=evidence)
    elif answer == "1 to 2 megohm" and kind == "II":
        yield Hit(because=("It reads under 2 megohm, the least for class II in service.",), evidence=evidence)
    elif answer == "1 to 2 megohm" and kind not in ("I", "II"):
        yield Open(needs=("The protection class: 1 to 2 megohm will do for class I and not for class II.",))


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
        code="E04",
        id="live-surface",
        title="A surface that can be touched is joined to the mains",
        looks_at="Every surface of the record: who reaches it, and the node that it is joined to.",
        why="There is nothing between the mains and the hand. Turning the plug round does not mend that.",
        basis=(
            memory("IEC 60335-1", "8.1", "no access to live parts; neutral counts as live"),
            Basis.of(ENERGY_SOURCES.row("ES2", "ac to 1 kHz", "current rms")),
        ),
        limits="Joined is what the record says: a mistake in tracing is a mistake here.",
        settles="Ohms from each plug pin to the surface, unplugged.",
        action="Take it out of use at once.",
        caution=_UNPLUG,
        severity=4,
        steps=(step("it is touched while plugged in", 0.3), step("another part of the body is earthed", 0.1), _SHOCK),
        check=_live_surface,
        bad=Case(
            about="A screw that sits on the string's minus.",
            record=_STRING + '\nsurface = [{ name = "end screw", reached = "by hand", node = "m" }]',
            says=("end screw", "node m"),
        ),
        good=Case(
            about="A shell joined to nothing.",
            record=_STRING + '\nsurface = [{ name = "shell", reached = "by hand", node = "insulated" }]',
        ),
        undecided=Case(
            about="A screw that nobody rang through.",
            record=_STRING + '\nsurface = [{ name = "end screw", reached = "by hand", node = "?" }]',
            says=("Ohms from each plug pin",),
        ),
    ),
    Rule(
        code="E05",
        id="touch-current-too-high",
        title="Too much touch current",
        looks_at="Surfaces that are joined to the mains by capacitors or very high resistances: the current through a "
        "body, worked out with the network of IEC 60990.",
        why="It tingles; people let go, fall, or think that it is nothing. More of it keeps a hand from letting go.",
        basis=(memory("IEC 60990", "Figure 4", "network for perception and reaction"),),
        limits="Stray capacitance of windings and heat sinks is in it only where it was recorded. Earth is taken as "
        "joined "
        "to neutral.",
        settles="A touch-current meter by somebody trained on it, both ways round of the plug.",
        action="Smaller or fewer Y capacitors, or an earth.",
        caution="Touch current is measured under power: residual-current device, isolating transformer, nobody alone.",
        severity=2,
        steps=(
            step("it is touched by somebody with a way to earth", 0.3),
            step("whoever starts falls, or drops something hot or heavy", 0.01),
        ),
        check=_touch_current,
        bad=Case(
            about="A class II heater with two 4.7 nF to its shell.",
            record='item = { class = "II", kind = "appliance" }\n'
            + _Y
            + '\nsurface = [{ name = "shell", reached = "by hand", node = "shell" }]',
            worked_out={"touched": (touched("shell", "shell", 115.0, 0.34, "ES1"),)},
            says=("0.34 mA rms; 0.25 mA",),
        ),
        good=Case(
            about="With 1 nF it is less.",
            record='item = { class = "II", kind = "appliance" }\n'
            + _Y
            + '\nsurface = [{ name = "shell", reached = "by hand", node = "shell" }]',
            worked_out={"touched": (touched("shell", "shell", 115.0, 0.07, "ES1"),)},
        ),
        undecided=Case(
            about="The way to the shell was not traced.",
            record='item = { class = "II", kind = "appliance" }\n'
            'surface = [{ name = "shell", reached = "by hand", node = "shell" }]',
            says=("circuit between the mains and shell",),
        ),
    ),
    Rule(
        code="E06",
        id="bare-output-joined-to-mains",
        title="Bare output contacts joined to the mains",
        looks_at="Connectors, strip ends and end caps with bare metal, and whether a transformer is between them and "
        "the "
        "mains.",
        why="A capacitor, a resistor or a bridge lowers the voltage between two contacts, not against earth: each of "
        "them "
        "is as live as the socket.",
        basis=(memory("IEC 60598-1", "8.2", "live parts of luminaires"), memory("IEC 60335-1", "8.1.4", "live parts")),
        limits="Believes the recorded circuit where nobody measured the insulation.",
        settles="Ohms from each plug pin to each contact, unplugged and discharged.",
        action="Cover the ends so that only a tool opens them, or take it out of use.",
        caution="Never join, cut or open it while it is plugged in.",
        severity=4,
        steps=(
            step("a contact is touched while plugged in", 0.1),
            step("another part of the body is earthed", 0.1),
            _SHOCK,
        ),
        check=_bare_output,
        bad=Case(
            about="A strip with an open end.",
            record=_STRING + '\nsighting = [{ about = "output-ends", seen = "bare contacts" }]',
            says=("LED1", "no transformer"),
        ),
        good=Case(
            about="Bare contacts behind a transformer.",
            record='sighting = [{ about = "output-ends", seen = "bare contacts" }, '
            '{ about = "output-isolation", seen = "isolated" }]',
        ),
        undecided=Case(
            about="Bare contacts, the insides unknown.",
            record='sighting = [{ about = "output-ends", seen = "bare contacts" }]',
            says=("is a transformer between",),
        ),
    ),
    Rule(
        code="E07",
        id="adapter-output-joined-to-mains",
        title="Adapter without insulation between mains and output",
        looks_at="Whether an adapter's output is kept from the mains.",
        why="Whoever plugs a device into an adapter trusts its low-voltage side with bare hands.",
        basis=(memory("IEC 62368-1", "5.3, 5.4", "output of ordinary persons is ES1, by reinforced insulation"),),
        limits="Insulation that is there may still be too thin: see the distances.",
        settles="Ohms from each plug pin to each output contact, and an insulation test by somebody trained.",
        action="Take it out of use.",
        caution="Unplugged and discharged while you measure.",
        severity=4,
        steps=(
            step("the output is touched while plugged in", 0.3),
            step("another part of the body is earthed", 0.1),
            _SHOCK,
        ),
        check=_output_isolation,
        bad=Case(
            about="A dropper sold as a charger.",
            record='item = { kind = "adapter" }\nsighting = [{ about = "output-isolation", seen = "joined to mains" }]',
            says=("joined to the mains",),
        ),
        good=Case(
            about="A transformer between.",
            record='item = { kind = "adapter" }\nsighting = [{ about = "output-isolation", seen = "isolated" }]',
        ),
        undecided=Case(
            about="Not looked at.",
            record='item = { kind = "adapter" }\nsighting = [{ about = "output-isolation", seen = "not looked at" }]',
            says=("Ohms from each plug pin",),
        ),
    ),
    Rule(
        code="E08",
        id="sleeve-missing",
        title="Bare live part beside what must stay free of it",
        looks_at="Bare leads and joints at mains voltage near the case or near low-voltage wires.",
        why="Boards shift, leads bend, solder whiskers grow. A sleeve or barrier keeps the distance when they do.",
        basis=(memory("IEC 60335-1", "29.1", "distances, also when parts move"),),
        limits="Judged by eye; a measured [[gap]] is judged against the tables.",
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
