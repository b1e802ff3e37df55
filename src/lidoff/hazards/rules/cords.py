"""Rules on the cord as a whole: its grip, its state, its terminals, and the fuse that protects it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, sighted, step
from lidoff.hazards.wires import area_of, name_of
from lidoff.standards.plugs import CORDS, RULE_OF_THUMB

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_PULLED: Final = (
    step("the cord is pulled hard in its life", 0.3),
    step("a live core comes off and lies bare or on metal", 0.05),
    step("it is touched and the shock is severe", 0.02),
)


def _from_plug(facts: Facts) -> list[Mapping[str, Any]]:
    named = [wire for wire in facts.item.wires if "plug" in str(wire.get("from", "")) or wire.get("to") == "plug"]
    return named or ([facts.item.wires[0]] if len(facts.item.wires) == 1 else [])


def _nearest_row(area: float) -> float | None:
    sizes = [float(size) for size in CORDS.axis(0)]
    return next((size for size in sizes if abs(size - area) < 0.02), None)


def _fuse_and_cord(facts: Facts, *, practice: bool) -> Iterable[Outcome]:
    fuse = facts.item.plug.get("fuse")
    if not facts.british or fuse is None or facts.answer("cord") == "no cord":
        return
    wires = _from_plug(facts)
    areas = [(wire, area) for wire in wires if (area := area_of(wire)) is not None]
    if not areas:
        if not practice:
            yield Open(needs=("Read the size printed on the cord, or measure its conductor.",))
        return
    wire, area = min(areas, key=lambda pair: pair[1])
    size = _nearest_row(area)
    largest = CORDS.get(size, "largest fuse") if size is not None else None
    if size is None or largest is None:
        if not practice:
            yield Open(
                needs=(f"The table of BS 1363 has no row for a cord of {area:g} mm²: measure or read it again.",)
            )
        return
    evidence = (f"[plug] fuse: {fuse:g} A", f"{name_of(wire)}: {wire['print']}, {size:g} mm²")
    row = CORDS.get(size, "fuse of practice") or CORDS.row(size, "rating")
    habit = row.number
    sayings = (
        f"BS 1363 Table 2 allows a fuse of up to {largest.number:g} A on {size:g} mm².",
        f"Practice takes no fuse above what the cord carries: {habit:g} A on {size:g} mm².",
    )
    # A 13 A fuse on a 10 A core is the table's own pairing; practice is told only where it names a fuse.
    if not practice and fuse > largest.number * 1.001:
        yield Hit(
            because=(f"A {fuse:g} A fuse stands before a cord of {size:g} mm².", *sayings),
            evidence=evidence,
            basis=(Basis.of(largest), Basis.of(row)),
        )
    if practice and largest.number * 1.001 >= fuse > habit * 1.001 and row.key[1] == "fuse of practice":
        yield Hit(
            because=(
                f"A {fuse:g} A fuse stands before a cord of {size:g} mm²: the two published readings differ.",
                *sayings,
                *_by_load(facts, fuse),
            ),
            evidence=evidence,
            confidence="worked out",
            basis=(Basis.of(largest), Basis.of(row), Basis.of(RULE_OF_THUMB.row("3 A up to"))),
        )


def _by_load(facts: Facts, fuse: float) -> tuple[str, ...]:
    power = facts.item.rated.get("power")
    if power is None or fuse <= 3.0 or power > RULE_OF_THUMB.number("3 A up to"):
        return ()
    return (f"At {power:g} W a 3 A fuse carries it (up to {RULE_OF_THUMB.number('3 A up to'):g} W).",)


RULES: Final = (
    Rule(
        code="C01",
        id="cord-grip-missing",
        title="Cord held by nothing that lasts",
        looks_at="What holds the cord where it enters the case.",
        why="Without a grip every pull lands on the joints. A core that comes off lies bare at mains voltage inside, "
        "or on "
        "metal.",
        basis=(
            memory("IEC 60335-1", "25.15", "cord anchorage; no knots"),
            memory("IEC 60598-1", "5.2.10", "cord anchorage"),
        ),
        limits="Judged by eye and hand, not by the standard's pull and twist test.",
        settles="A pull along the cord with the joints in view, nothing moving.",
        action="Take it out of use until the cord is clamped. A knot, a drop of glue or a tie round the core is no "
        "grip.",
        caution=_UNPLUG,
        severity=4,
        steps=_PULLED,
        check=sighted(
            "cord-grip",
            {
                "knot only": "The cord is held by a knot alone.",
                "none": "Nothing holds the cord where it enters.",
                "glued": "The cord is held by glue alone.",
            },
            "Pull the cord with two fingers where it enters: do the cores move?",
        ),
        bad=Case(
            about="A knot behind the hole.",
            record='sighting = [{ about = "cord-grip", seen = "knot only", note = "pulls out with two fingers" }]',
            says=("knot",),
        ),
        good=Case(
            about="A screwed clamp.",
            record='sighting = [{ about = "cord-grip", seen = "clamped" }]',
        ),
        undecided=Case(
            about="Nobody could see.",
            record='sighting = [{ about = "cord-grip", seen = "cannot tell" }]',
            says=("two fingers",),
        ),
    ),
    Rule(
        code="C02",
        id="cord-damaged",
        title="Cord cut, cracked, or with one layer of insulation",
        looks_at="The sheath of the cord.",
        why="A cord is handled, trodden on and pulled over edges. One layer of thin insulation, or a cut one, is all "
        "that "
        "stands between a hand and the line.",
        basis=(memory("IEC 60335-1", "25.7", "supply cords not lighter than the sheathed types named"),),
        limits="Judged by eye. Some decorative chains may have single cores by their own standard.",
        settles="A close photograph, and the print on the sheath.",
        action="Take it out of use and have the cord replaced.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("the bare place is touched while plugged in", 0.05),
            step("the shock is severe", 0.02),
        ),
        check=sighted(
            "cord",
            {
                "cuts or cracks": "The cord is cut or cracked.",
                "single insulation": "The cord's cores have a single layer of insulation and no sheath.",
            },
            "Run the cord through your fingers, unplugged: is the sheath whole all the way?",
        ),
        bad=Case(
            about="A cut at the case.",
            record='sighting = [{ about = "cord", seen = "cuts or cracks" }]',
            says=("cut or cracked",),
        ),
        good=Case(about="A whole sheath.", record='sighting = [{ about = "cord", seen = "sound" }]'),
        undecided=Case(
            about="Not unrolled yet.",
            record='sighting = [{ about = "cord", seen = "not looked at" }]',
            says=("sheath",),
        ),
    ),
    Rule(
        code="C03",
        id="termination-poor",
        title="Mains conductor held by one joint that may let go",
        looks_at="How mains conductors end inside.",
        why="A core that comes off its joint swings free at mains voltage. That is why each is to be held a second "
        "time, "
        "by a sleeve, a crimp or a clamp.",
        basis=(
            memory("IEC 60335-1", "23.2, 25.15", "a loose conductor must not reach metal"),
            memory("IEC 60598-1", "5.3", "internal wiring"),
        ),
        limits="A soldered joint beside a good cord grip on a small plastic item is common and seldom comes off.",
        settles="Each joint pushed with a plastic stick, and a look at what a loose core could reach.",
        action="Hold each core by a second means near its joint.",
        caution=_UNPLUG + " Discharge what the bench card lists before you push at anything.",
        severity=4,
        steps=(
            step("a joint lets go in its life", 0.01),
            step("the core reaches metal or a gap in the case", 0.05),
            step("it is touched and the shock is severe", 0.02),
        ),
        check=sighted(
            "terminations",
            {
                "solder alone": "Mains conductors are held by their solder alone.",
                "twisted": "Mains conductors are only twisted together.",
            },
            "Push each joint of the mains conductors with a plastic stick, unplugged: what else holds it?",
        ),
        bad=Case(
            about="Two cores soldered flat on pads.",
            record='sighting = [{ about = "terminations", seen = "solder alone" }]',
            says=("solder alone",),
        ),
        good=Case(about="Crimped and clamped.", record='sighting = [{ about = "terminations", seen = "held twice" }]'),
        undecided=Case(
            about="Under potting.",
            record='sighting = [{ about = "terminations", seen = "cannot tell", note = "potted" }]',
            says=("Push each joint",),
        ),
    ),
    Rule(
        code="C04",
        id="plug-fuse-too-big-for-cord",
        title="Plug fuse larger than the cord may have",
        looks_at="The fuse in a British plug against the printed size of the cord.",
        why="The plug fuse is there for the cord. A larger one lets the cord run hotter than its insulation bears "
        "before "
        "it opens.",
        basis=(memory("BS 1363", "Table 2"),),
        limits="Takes the print on the cord at its word; a conductor thinner than its print is found by "
        "conductor-too-thin.",
        settles="The fuse's print and the cord's print, photographed.",
        action="Fit the fuse that cord and load ask for.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("an overload or a soft short comes in its life", 0.02),
            step("the cord overheats before the fuse opens", 0.1),
            step("fire or a burn follows", 0.1),
        ),
        check=lambda facts: _fuse_and_cord(facts, practice=False),
        bad=Case(
            about="13 A before half a square millimetre.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
            'wire = [{ ref = "W1", print = "2x0.5mm2", from = "plug" }]',
            says=("13 A fuse stands before a cord of 0.5 mm²", "allows a fuse of up to 3 A"),
        ),
        good=Case(
            about="3 A before half a square millimetre.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'
            'wire = [{ ref = "W1", print = "2x0.5mm2", from = "plug" }]',
        ),
        undecided=Case(
            about="A cord without a print.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
            'wire = [{ ref = "W1", from = "plug" }]',
            says=("size printed on the cord",),
        ),
    ),
    Rule(
        code="C05",
        id="plug-fuse-above-practice",
        title="Plug fuse within the table, above practice",
        looks_at="The fuse in a British plug on a cord for which the standard's table and the code of practice differ.",
        why="The table of the plug standard allows 13 A on a 0.75 mm² cord; the code of practice keeps the fuse to "
        "what "
        "the cord carries. A smaller fuse costs nothing and opens sooner.",
        basis=(Basis.of(CORDS.row(0.75, "largest fuse")), Basis.of(CORDS.row(0.75, "fuse of practice"))),
        limits="Both readings are published; this is advice, not a breach of the table. Inrush may ask for more than "
        "3 A.",
        settles="The rated load, and the inrush at switch-on.",
        action="Fit the smallest fuse that carries load and inrush.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("an overload or a soft short comes in its life", 0.02),
            step("it lies between the two fuses and lasts", 0.01),
            step("fire or a burn follows", 0.05),
        ),
        check=lambda facts: (
            _fuse_and_cord(facts, practice=True)
            if facts.item.wires
            else (
                [Open(needs=("Read the size printed on the cord: the fuse is above 5 A.",))]
                if facts.british and (facts.item.plug.get("fuse") or 0.0) > 5.0 and facts.answer("cord") != "no cord"
                else []
            )
        ),
        bad=Case(
            about="13 A before three quarters of a square millimetre, for 9 W.",
            record='item = { region = "GB", rated = { power = "9 W" } }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
            'wire = [{ ref = "W1", print = "2x0.75mm2", from = "plug" }]',
            says=("two published readings differ", "up to 13 A", "5 A on 0.75 mm²", "3 A fuse carries it"),
        ),
        good=Case(
            about="3 A on the same cord.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'
            'wire = [{ ref = "W1", print = "2x0.75mm2", from = "plug" }]',
        ),
        undecided=Case(
            about="13 A, and no cord written down.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }',
            says=("size printed on the cord",),
        ),
    ),
)
