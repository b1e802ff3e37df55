"""Rules on the plug, its fuse and its wiring."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, asked_in_vain, from_sighting, sighted, step
from lidoff.standards.plugs import PLUG_FUSE, PLUGS

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
# Ratings sold for the British plug; PLUG_FUSE names them in words.
_SOLD: Final = (1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 13.0)


def _fuse_missing(facts: Facts) -> Iterable[Outcome]:
    if not facts.british:
        return
    answer = facts.answer("plug-fuse")
    if answer in ("none", "bridged"):
        found = "There is no fuse in the plug." if answer == "none" else "The plug's fuse is bridged."
        yield Hit(because=(found,), evidence=from_sighting(facts, "plug-fuse"))
    elif answer is None and (facts.item.plug or asked_in_vain(facts, "plug-fuse")):
        yield Open(needs=("Open the plug's fuse carrier and write down what is in it.",))


def _off_list(facts: Facts) -> Iterable[Outcome]:
    if not facts.british or facts.answer("plug-fuse") != "there":
        return
    rating = facts.item.plug.get("fuse")
    reasons: list[str] = []
    evidence: list[str] = []
    basis: list[Basis] = []
    if rating is not None and all(abs(rating - one) > 1e-6 for one in _SOLD):
        reasons.append(f"The plug's fuse is marked {rating:g} A, a rating that is not made to BS 1362.")
        evidence.append(f"[plug] fuse: {rating:g} A")
        basis.append(Basis.of(PLUG_FUSE.row("preferred ratings")))
    mark = facts.answer("plug-fuse-mark")
    if mark == "no mark":
        reasons.append("The plug's fuse carries neither the standard's number nor a maker's or approval mark.")
        evidence += from_sighting(facts, "plug-fuse-mark")
        basis.append(Basis.of(PLUG_FUSE.row("approval")))
    if reasons:
        yield Hit(because=tuple(reasons), evidence=tuple(evidence), basis=tuple(basis))
    elif mark is None:
        yield Open(needs=("Read the print on the plug's fuse: BS 1362, rating, maker's or approval mark.",))


def _filler(facts: Facts) -> Iterable[Outcome]:
    if not facts.british or facts.answer("plug-fuse") != "there":
        return
    answer = facts.answer("plug-fuse-filler")
    if answer == "no filler":
        yield Hit(
            because=(
                "The plug's fuse has no sand in it, so it may burst or go on arcing where a good one clears 6 kA.",
            ),
            evidence=from_sighting(facts, "plug-fuse-filler"),
        )
    elif answer is None:
        yield Open(needs=("Hold the plug's fuse against a lamp, shake it, weigh it against a known one.",))


def _crossed(facts: Facts) -> Iterable[Outcome]:
    if facts.polarised is False:
        return
    wiring = dict(facts.item.plug.get("wiring", {}))
    answer = facts.answer("polarity")
    if answer == "crossed":
        if facts.polarised is None:
            yield Open(needs=("Look whether the plug goes in one way round only: is one blade wider?",))
            return
        cores = ", ".join(f"{core} on {pin}" for core, pin in wiring.items())
        evidence = (f"[plug] wiring: {cores}",) if wiring else from_sighting(facts, "polarity")
        yield Hit(because=("Line and neutral are crossed in the plug.",), evidence=evidence)
    elif answer is None and (wiring or asked_in_vain(facts, "polarity")):
        yield Open(needs=("Continuity from each plug pin to each core: which core is on which pin?",))


def _earthless(facts: Facts) -> Iterable[Outcome]:
    kind = str(facts.item.plug.get("kind", ""))
    bare = kind.upper().replace(" ", "")
    if facts.item.protection_class != "I":
        return
    if not kind:
        yield Open(needs=("Write down what kind of plug it has, and whether that has an earth contact.",))
    elif any(two in bare for two in ("CEE7/16", "CEE7/17", "EN50075", "NEMA1-15")):
        yield Hit(
            because=(f"The item is of class I, but its plug ({kind}) has no earth contact.",),
            evidence=("[item] class: I", f"[plug] kind: {kind}"),
        )


RULES: Final = (
    Rule(
        code="P01",
        id="plug-fuse-missing",
        title="No fuse in a plug that relies on one",
        looks_at="The fuse carrier of a British plug.",
        why="The ring circuit behind a British socket is protected at 30 A or 32 A. Only the fuse in the plug keeps a "
        "thin cord from glowing when something shorts.",
        basis=(memory("BS 1363", "fused plugs; fuse to BS 1362 in the line"),),
        limits="Says nothing of plugs of other countries, where the cord is protected at the board.",
        settles="The fuse carrier opened and photographed.",
        action="Take it out of use. Fit a good plug with a filled fuse to BS 1362 of the rating for cord and load.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("a short or an overload comes in cord or item", 0.02),
            step("the cord burns before the breaker acts", 0.3),
            step("fire spreads or somebody is burnt", 0.1),
        ),
        check=_fuse_missing,
        bad=Case(
            about="The carrier holds a piece of rod.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363" }\n'
            'sighting = [{ about = "plug-fuse", seen = "bridged", note = "a bit of copper rod" }]',
            says=("bridged",),
        ),
        good=Case(
            about="A 3 A fuse is there.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }',
        ),
        undecided=Case(
            about="The plug is moulded, nobody opened the carrier.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", note = "moulded" }',
            says=("fuse carrier",),
        ),
    ),
    Rule(
        code="P02",
        id="fuse-without-filler",
        title="Plug fuse without sand",
        looks_at="The filler of the fuse in a British plug.",
        why="Sand puts the arc out. A fuse that is only a wire in an empty tube can burst or keep burning at the "
        "current "
        "of a dead short, inside a plug that somebody may be holding.",
        basis=(Basis.of(PLUG_FUSE.row("filler")), Basis.of(PLUG_FUSE.row("breaking capacity"), "6 kA to be cleared")),
        limits="Weight and light tell a filled tube from an empty one, not good filler from bad.",
        settles="The fuse crushed in a bag after it was photographed: sand runs out, or nothing does.",
        action="Do not put it back. Fit a fuse to BS 1362 with a maker's and an approval mark, rated for the cord and "
        "the load.",
        caution=_UNPLUG + " Crush a fuse only in a bag, with goggles on.",
        severity=3,
        steps=(
            step("a dead short comes behind the plug", 0.02),
            step("the fuse bursts or keeps arcing", 0.3),
            step("a hand is at the plug, or the plug sets something alight", 0.1),
        ),
        check=_filler,
        bad=Case(
            about="Air in the tube.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
            'sighting = [{ about = "plug-fuse-filler", seen = "no filler", note = "see-through" }]',
            says=("no sand",),
        ),
        good=Case(
            about="Sand heard and seen.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'
            'sighting = [{ about = "plug-fuse-filler", seen = "filler" }]',
        ),
        undecided=Case(
            about="A fuse is there, nobody looked through it.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }',
            says=("against a lamp",),
        ),
    ),
    Rule(
        code="P03",
        id="plug-fuse-off-list",
        title="Plug fuse unmarked or of a rating that is not made",
        looks_at="The print on the fuse of a British plug, and its rating.",
        why="A fuse without the standard's number and a maker's or approval mark promises nothing: neither when it "
        "opens "
        "nor that it clears a dead short.",
        basis=(Basis.of(PLUG_FUSE.row("approval")),),
        limits="Marks are copied. A marked fuse without filler is found by fuse-without-filler.",
        settles="The print read under a lens and photographed all round.",
        action="Replace it by a marked fuse from a known source.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("a dead short comes behind the plug", 0.02),
            step("the unknown fuse does not clear it", 0.1),
            step("somebody is burnt, or it sets something alight", 0.1),
        ),
        check=_off_list,
        bad=Case(
            about="A tube with nothing printed on it.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
            'sighting = [{ about = "plug-fuse-mark", seen = "no mark" }]',
            says=("neither the standard's number",),
        ),
        good=Case(
            about="Number, rating and approval are there.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'
            'sighting = [{ about = "plug-fuse-mark", seen = "BS 1362 and approval" }]',
        ),
        undecided=Case(
            about="Only the rating was noted.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }',
            says=("Read the print",),
        ),
    ),
    Rule(
        code="P04",
        id="plug-crossed",
        title="Line and neutral crossed in the plug",
        looks_at="Which core stands on which pin of a plug that goes in one way round only.",
        why="With the cores crossed, a switch or a fuse in the line breaks the neutral instead: the item goes dark and "
        "stays live inside.",
        basis=(
            Basis.of(PLUGS.row("BS 1363", "terminals, cover off, seen from inside")),
            memory("IEC 60446", "colours"),
        ),
        limits="On plugs that go in both ways round it means nothing and the rule is silent.",
        settles="Continuity from each plug pin to each core.",
        action="Rewire or replace the plug: brown (black) to line and fuse, blue (white, ribbed) to neutral.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("somebody opens it or changes a lamp with the switch off", 0.1),
            step("a live part is touched", 0.05),
            step("the shock is severe", 0.1),
        ),
        check=_crossed,
        bad=Case(
            about="Brown on neutral.",
            record='item = { region = "GB" }\n'
            'plug = { kind = "BS 1363", fuse = "3 A", wiring = { brown = "neutral", blue = "live" } }',
            says=("crossed",),
        ),
        good=Case(
            about="Brown on line.",
            record='item = { region = "GB" }\n'
            'plug = { kind = "BS 1363", fuse = "3 A", wiring = { brown = "live", blue = "neutral" } }',
        ),
        undecided=Case(
            about="A moulded plug, the cores not rung through.",
            record='item = { region = "GB" }\n'
            'plug = { kind = "BS 1363", fuse = "3 A", wiring = { brown = "?", blue = "?" } }',
            says=("Continuity",),
        ),
    ),
    Rule(
        code="P05",
        id="class-one-plug-without-earth",
        title="Class I item on a plug without earth",
        looks_at="The protection class against the plug's contacts.",
        why="A class I item relies on its earth. Without one a single failed insulation makes its metal live, and no "
        "fuse "
        "opens.",
        basis=(memory("IEC 60335-1", "27.1", "accessible metal of class I is joined to earth"),),
        limits="Believes the recorded class. An item that only claims class I is judged as such.",
        settles="The class mark, and continuity from metal to the plug.",
        action="Take it out of use until cord and plug have an earth that reaches its metal.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("basic insulation fails in its life", 0.02),
            step("its metal is touched while live, with a way to earth", 0.5),
            step("the shock is severe", 0.1),
        ),
        check=_earthless,
        bad=Case(
            about="A metal lamp on a flat two-pin plug.",
            record='item = { region = "EU", class = "I" }\nplug = { kind = "CEE 7/16" }',
            says=("no earth contact",),
        ),
        good=Case(
            about="A metal lamp on a plug with earth.",
            record='item = { region = "EU", class = "I" }\nplug = { kind = "CEE 7/7" }',
        ),
        undecided=Case(
            about="The plug was cut off.",
            record='item = { region = "EU", class = "I" }',
            says=("kind of plug",),
        ),
    ),
    Rule(
        code="P06",
        id="plug-pins-without-sleeves",
        title="Live pins without sleeves",
        looks_at="The sleeves on line and neutral pins next to the plug's face.",
        why="A half-drawn plug shows live pins. The sleeves keep small fingers off them.",
        basis=(
            Basis.of(PLUGS.row("BS 1363", "sleeve length on line and neutral")),
            memory("EN 50075", "standard sheet", "sleeves on the pins"),
        ),
        limits="Judged for the British plug and the flat two-pin plug only; old plugs were made without.",
        settles="A look at the pins.",
        action="Replace plug or cord.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("fingers are at the pins of a half-drawn plug", 0.01),
            step("both pins, or one and earth, are touched", 0.1),
            step("the shock is severe", 0.1),
        ),
        check=sighted(
            "plug-pin-sleeves",
            {"bare": "The line and neutral pins are bare up to the plug's face."},
            "Look whether line and neutral pins are sleeved next to the plug's face.",
        ),
        bad=Case(
            about="Bare metal up to the face.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363" }\n'
            'sighting = [{ about = "plug-pin-sleeves", seen = "bare" }]',
            says=("bare",),
        ),
        good=Case(
            about="Sleeved pins.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363" }\n'
            'sighting = [{ about = "plug-pin-sleeves", seen = "sleeved" }]',
        ),
        undecided=Case(
            about="The photograph does not show it.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363" }\n'
            'sighting = [{ about = "plug-pin-sleeves", seen = "cannot tell" }]',
            says=("sleeved",),
        ),
    ),
)
