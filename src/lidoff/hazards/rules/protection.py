"""Rules on what clears a fault and what breaks which conductor: fuses, varistors, switches."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, from_sighting, step

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_BRIDGE: Final = """  { ref = "BR1", kind = "bridge", nodes = { ac1 = "AC1", ac2 = "AC2", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "5 W", nodes = { plus = "p", minus = "m" } },
]"""
CHARGER_FUSE: Final = '{ ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] }'
_RESISTOR: Final = '{ ref = "R1", kind = "resistor", value = "10R", nodes = ["live", "a"] }'
_VARISTOR: Final = '{ ref = "RV1", kind = "varistor", voltage = "470 V", nodes = ["VA", "neutral"] }'
_IN_NEUTRAL: Final = '{ ref = "F1", kind = "fuse", rating = "1 A", nodes = ["neutral", "n"] }'
_AMERICAN: Final = (
    'item = { region = "US" }\nplug = { kind = "NEMA 5-15", wiring = { black = "live", white = "neutral" } }\n'
)
# A short of one of these across the mains draws what the mains gives. Capacitors of class X are made not to short,
# those without a class have a rule of their own, and so have varistors.
_SHORTS: Final = ("bridge", "diode", "converter")


def charger(first: str, live: str = "a", neutral: str = "neutral") -> str:
    """The parts of a charger as a record's text, with what stands first in the line."""
    return "part = [\n" + (f"  {first},\n" if first else "") + _BRIDGE.replace("AC1", live).replace("AC2", neutral)


def nothing_in_the_line(facts: Facts) -> Iterable[Outcome]:
    """A part across the mains with nothing before it that opens: a hit, or a question where nobody can tell."""
    net = facts.net
    if facts.circuit is None or not net.live:
        return
    if net.in_line("fuse") or net.in_line("fuse", "neutral"):
        return
    told = facts.answer("board-fuse")
    if told in ("fuse", "fusible resistor"):
        return
    directly = [
        e
        for e in facts.elements
        if e.kind in _SHORTS
        and {n for n in e.nodes if n is not None} & net.live
        and {n for n in e.nodes if n is not None} & net.neutral
    ]
    if not directly:
        return
    refs = tuple(e.ref for e in directly)
    if facts.item.region is None and not facts.item.plug:
        yield Open(needs=("The region or the plug: a British plug has a fuse of its own.",), about=refs)
        return
    if facts.british:
        if facts.item.plug.get("fuse") is not None:
            return  # the plug's own fuse is judged by its own rules
        if facts.answer("plug-fuse") not in ("none", "bridged"):
            yield Open(needs=("The fuse in the plug: nothing else in the line opens.",), about=refs)
            return
    resistors = [e.ref for e in net.in_line("resistor")]
    if resistors and told != "plain resistor":
        yield Open(
            needs=(f"Is {resistors[0]} a fusible resistor? Nothing else in the line opens.",), about=(resistors[0],)
        )
        return
    yield Hit(
        because=(f"Nothing in the line opens when {' or '.join(refs)} shorts, but the breaker at the board.",),
        evidence=("Circuit as recorded: no fuse between cord and first part.",),
        confidence="worked out",
        from_circuit=True,
        about=refs,
    )


def _varistor(facts: Facts) -> Iterable[Outcome]:
    net = facts.net
    for element in net.across_mains("varistor"):
        fuses = net.in_line("fuse")
        # A fuse that lies behind the varistor, seen from the mains, does not carry its current.
        ends = {node for node in element.nodes if node is not None}
        before = [fuse for fuse in fuses if not (ends & {"live"})] or list(net.in_line("fuse", "neutral"))
        if before:
            continue
        if facts.british and facts.item.plug.get("fuse") is not None:
            continue
        if facts.british and facts.answer("plug-fuse") is None:
            yield Open(
                needs=(f"The fuse in the plug: no fuse on the board carries {element.ref}.",), about=(element.ref,)
            )
            continue
        yield Hit(
            because=(f"No fuse opens when the varistor {element.ref} wears out and conducts.",),
            evidence=(f"Circuit as recorded: {element.ref} across the mains, no fuse before it.",),
            confidence="worked out",
            from_circuit=True,
            about=(element.ref,),
        )


def _switch_neutral(facts: Facts) -> Iterable[Outcome]:
    if facts.polarised is False:
        return
    answer = facts.answer("switch-breaks")
    net = facts.net
    inline = [e.ref for e in net.in_line("switch", "neutral")]
    other = [e.ref for e in net.in_line("switch", "live")]
    if answer == "neutral" or (answer is None and inline and not other):
        if facts.polarised is None or (answer is None and facts.answer("polarity") is None):
            yield Open(
                needs=("Continuity from each plug pin with the switch on and off: which conductor does it break?",),
                about=tuple(inline),
            )
        elif facts.answer("polarity") != "crossed" or answer == "neutral":
            yield Hit(
                because=("The switch breaks the neutral alone: switched off, everything inside stays live.",),
                evidence=(
                    from_sighting(facts, "switch-breaks")
                    if facts.sighting("switch-breaks") is not None
                    else (f"[plug] switch_breaks: {answer}",)
                    if answer is not None
                    else (f"Circuit as recorded: {', '.join(inline)} in the neutral",)
                ),
                about=tuple(inline),
                from_circuit=answer is None,
            )


def _fuse_neutral(facts: Facts) -> Iterable[Outcome]:
    if facts.polarised is False:
        return
    net = facts.net
    alone = [e.ref for e in net.in_line("fuse", "neutral")]
    if not alone or net.in_line("fuse", "live") or (facts.british and facts.item.plug.get("fuse") is not None):
        return
    if facts.polarised is None or facts.answer("polarity") is None:
        yield Open(needs=(f"Which plug pin leads to {alone[0]}: line or neutral?",), about=tuple(alone))
    elif facts.answer("polarity") == "right":
        yield Hit(
            because=(f"The only fuse, {alone[0]}, lies in the neutral: when it opens everything stays live.",),
            evidence=(f"Circuit as recorded: {alone[0]} in the neutral; polarity found right.",),
            about=tuple(alone),
            from_circuit=True,
        )


RULES: Final = (
    Rule(
        code="S01",
        id="no-fuse-in-line",
        title="Nothing in the line that opens",
        looks_at="What lies between the cord and the first part whose short would draw all that the mains gives.",
        why="When a bridge across the mains shorts, hundreds of amperes flow until something opens. "
        "Without a fuse that is a track, the part, or the breaker in the hall.",
        basis=(memory("IEC 60335-1", "19.11", "fault conditions of electronic circuits"), memory("IEC 61347-1", "14")),
        limits="Many small class II items rely on a track or a resistor that opens, which a standard may accept once "
        "it was tried; a fusible resistor looks like any other.",
        settles="The part in the line: its print, its body, a fusible type by its maker's table.",
        action="Fit a fuse or a fusible resistor in the line, rated for the load.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("a part across the mains shorts in its life", 0.03),
            step("it or a track burns before the breaker acts", 0.1),
            step("the fire leaves the case or somebody is burnt", 0.05),
        ),
        check=nothing_in_the_line,
        bad=Case(
            about="A bridge straight at the cord.",
            record='item = { region = "EU" }\n' + charger("", live="live"),
            says=("BR1 shorts",),
        ),
        good=Case(about="A fuse in the line.", record='item = { region = "EU" }\n' + charger(CHARGER_FUSE)),
        undecided=Case(
            about="A resistor in the line: fusible or not?",
            record='item = { region = "EU" }\n' + charger(_RESISTOR),
            says=("Is R1 a fusible resistor",),
        ),
    ),
    Rule(
        code="S02",
        id="varistor-without-fuse",
        title="Varistor that no fuse disconnects",
        looks_at="Varistors across the mains, and the fuse before them.",
        why="A varistor wears with every surge, until it conducts at the ordinary voltage, glows and burns.",
        basis=(memory("IEC 60335-1", "24.1, 19.11", "components"), memory("IEC 62368-1", "G.8.2", "varistors")),
        limits="Some discs have a thermal cut-out inside; their print says so. A plug fuse is counted as a fuse.",
        settles="The disc's print, and where the fuse lies.",
        action="Put the fuse before the varistor, or take a disc with a thermal cut-out.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("it wears out in the life of the item", 0.03),
            step("it burns", 0.1),
            step("the fire leaves the case or somebody is burnt", 0.1),
        ),
        check=_varistor,
        bad=Case(
            about="Before the fuse, as seen from the cord.",
            record='item = { region = "EU" }\n' + charger(_VARISTOR.replace("VA", "live") + ",\n  " + CHARGER_FUSE),
            says=("RV1",),
        ),
        good=Case(
            about="Behind the fuse.",
            record='item = { region = "EU" }\n' + charger(_VARISTOR.replace("VA", "a") + ",\n  " + CHARGER_FUSE),
        ),
        undecided=Case(
            about="A British plug that nobody opened.",
            record='item = { region = "GB" }\n' + charger(_VARISTOR.replace("VA", "live") + ",\n  " + CHARGER_FUSE),
            says=("fuse in the plug",),
        ),
    ),
    Rule(
        code="S03",
        id="switch-in-neutral",
        title="Single-pole switch in the neutral",
        looks_at="Which conductor a single-pole switch breaks, on a plug that goes in one way round only.",
        why="Off looks dead and is not: every part inside stays at the line's voltage.",
        basis=(memory("IEC 60335-1", "22.2, 24.3", "disconnection"), memory("BS 1363", "polarity")),
        limits="On plugs that go in both ways round a single-pole switch is in the neutral half of the time; that is "
        "not "
        "judged.",
        settles="Continuity from each plug pin with the switch on and off.",
        action="Change it over, or fit a two-pole switch.",
        caution="Never trust a switch: pull the plug.",
        severity=4,
        steps=(
            step("somebody opens it or changes a lamp with the switch off", 0.1),
            step("a live part is touched with a way to earth", 0.05),
            step("the shock is severe", 0.05),
        ),
        check=_switch_neutral,
        bad=Case(
            about="As found on a British cord.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A", switch_breaks = "neutral" }',
            says=("neutral alone",),
        ),
        good=Case(
            about="In the line.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A", switch_breaks = "live" }',
        ),
        undecided=Case(
            about="Drawn in the neutral, the cores not rung through.",
            record='item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'
            + charger('{ ref = "S1", kind = "switch", nodes = ["neutral", "n"] }', live="live", neutral="n"),
            says=("which conductor does it break",),
        ),
    ),
    Rule(
        code="S04",
        id="fuse-in-neutral",
        title="The only fuse lies in the neutral",
        looks_at="Which side of the mains the only fuse is on, on a plug that goes in one way round only.",
        why="A fault from line to earth passes it by, and when it does open the item is dark and live.",
        basis=(memory("IEC 60335-1", "25", "supply connection"), memory("BS 1363", "fuse in the line")),
        limits="A fused British plug has its fuse in the line already; then it is not judged.",
        settles="Continuity from each plug pin to the fuse.",
        action="Move the fuse to the line.",
        caution=_UNPLUG,
        severity=4,
        steps=(
            step("the fuse opens and somebody opens the item", 0.02),
            step("a live part is touched with a way to earth", 0.05),
            step("the shock is severe", 0.05),
        ),
        check=_fuse_neutral,
        bad=Case(
            about="A polarised American plug, cores right, fuse in the neutral.",
            record=_AMERICAN + charger(_IN_NEUTRAL, "live", "n"),
            says=("F1", "neutral"),
        ),
        good=Case(
            about="In the line.",
            record=_AMERICAN + charger(CHARGER_FUSE),
        ),
        undecided=Case(
            about="The cores not rung through.",
            record='item = { region = "US" }\nplug = { kind = "NEMA 5-15" }\n' + charger(_IN_NEUTRAL, "live", "n"),
            says=("Which plug pin leads to F1",),
        ),
    ),
)
