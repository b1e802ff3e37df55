"""Rules on the current of a dead short and of switching on: what fuses break, what contacts and rectifiers stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.given import surged
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.hazards.rules.protection import CHARGER_FUSE, charger, nothing_in_the_line
from lidoff.hazards.rules.single_faults import may_short
from lidoff.hazards.words import plain
from lidoff.quantity import engineering
from lidoff.standards.fuses import BREAKING
from lidoff.standards.plugs import PLUG_FUSE
from lidoff.studies.fault_effects import fuses_of, prospective
from lidoff.studies.fuses import Fuse

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_MOST: Final = 5  # faults told in one finding
_WELDS: Final = 10.0  # times a switch's rated current at which making it may weld (IEC 61058-1 for lamps, from memory)
_BIG: Final = 100.0  # [A] of a surge from which the rating of a switch is asked for (our choice)
_SWITCHED: Final = """part = [
  { ref = "S1", kind = "switch", RATING nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "100u", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "30 W", nodes = { plus = "p", minus = "m" } },
]"""


def _flows(facts: Facts, fuse: Fuse) -> tuple[float, str]:
    """The most that a single fault sends through a fuse [A rms], and in which; else what the mains could at most."""
    most, where = 0.0, ""
    for fault in facts.faults or ():
        for one in fault.get("fuses", ()):
            if one["part"] == fuse.ref and float(one["current"] or 0.0) > most:
                most, where = float(one["current"]), f"with {fault['part']} {fault['mode']}"
    if most > 0.0:
        return most, where
    assert facts.circuit is not None
    return prospective(facts.circuit), "in a dead short right behind it"


def _breaking(facts: Facts) -> Iterable[Outcome]:
    circuit = facts.circuit
    if circuit is None or circuit.supply.dc is not None:
        return
    fuses = fuses_of(circuit, facts.item)
    plug = next((fuse for fuse in fuses if fuse.plug), None)
    for fuse in fuses:
        flows, where = _flows(facts, fuse)
        row = PLUG_FUSE.row("breaking capacity") if fuse.plug else BREAKING.row("L")
        if fuse.breaking is None:
            if flows > row.number:
                yield Open(
                    needs=(
                        f"The letter on {fuse.ref} between its amperes and its volts (L, E or H): up to "
                        f"{plain(flows)} A flow {where}.",
                    ),
                    about=(fuse.ref,),
                )
            continue
        if flows <= fuse.breaking:
            continue
        if not fuse.plug and plug is not None:
            filler = facts.answer("plug-fuse-filler")
            if filler == "filler" and facts.answer("plug-fuse-mark") != "no mark":
                continue  # a sound plug fuse clears what the small one cannot
            if filler is None:
                yield Open(
                    needs=(f"Is the plug's fuse filled with sand? {fuse.ref} cannot break {plain(flows)} A alone.",),
                    about=(fuse.ref,),
                )
                continue
        yield Hit(
            because=(f"{fuse.ref} is made to break {fuse.breaking:.0f} A; up to {plain(flows)} A flow {where}.",),
            evidence=(
                f"Marking or rating of {fuse.ref}: breaks {fuse.breaking:.0f} A",
                f"Computed current through {fuse.ref} {where}: {plain(flows)} A",
            ),
            confidence="worked out" if facts.faults else "likely",
            about=(fuse.ref,),
            basis=(Basis.of(row),),
            from_circuit=True,
        )


def _not_cleared(facts: Facts) -> Iterable[Outcome]:
    if facts.faults is None or any(isinstance(one, Hit) for one in nothing_in_the_line(facts)):
        return
    electronic = {element.ref for element in facts.elements if may_short(facts, element)}
    shorts = [
        fault
        for fault in facts.faults
        if fault["severity"] >= 4
        and fault["part"] in electronic
        and not fault.get("touched")
        and not (fault.get("fuse") or {}).get("opens")
    ]
    if not shorts:
        return
    worst = {str(fault["part"]): fault for fault in reversed(shorts)}  # the worst of each part: they come worst first
    refs = tuple(dict.fromkeys(str(fault["part"]) for fault in shorts))
    if facts.british and facts.item.plug.get("fuse") is None and facts.answer("plug-fuse") not in ("none", "bridged"):
        yield Open(needs=("The fuse in the plug: nothing else is known to clear a short.",), about=refs)
    elif facts.item.region is None and not facts.item.plug:
        yield Open(needs=("The region or the plug: a British plug has a fuse of its own.",), about=refs)
    else:
        yield Hit(
            because=tuple(_first_clause(str(worst[ref]["outcome"])) for ref in refs[:_MOST]),
            evidence=tuple(f"Computed fault: {ref} {worst[ref]['mode']}" for ref in refs[:_MOST]),
            confidence="worked out",
            about=refs,
            from_circuit=True,
        )


def _first_clause(outcome: str) -> str:
    """What flows and what ends it; what else is overloaded meanwhile stands with the faults."""
    return outcome.partition(";")[0].rstrip(".") + "."


def _inrush(facts: Facts) -> Iterable[Outcome]:
    if facts.switched_on is None:
        return
    rated = {element.ref: element.rating.get("current") for element in facts.elements if element.kind == "switch"}
    for surge in facts.switched_on.surges:
        if surge.part in rated:
            yield from _at_a_switch(surge.part, surge.peak, rated[surge.part])
        elif surge.verdict == "over" and surge.rating is not None and surge.times is not None:
            said = (
                f"{surge.part}: the first half-cycle brings {engineering(surge.i2t, 'A2s', 2)} against "
                f"{engineering(surge.rating, 'A2s', 2)}, {plain(surge.times)} times."
            )
            if surge.assumed:
                yield Open(needs=(f"What surge {surge.part} stands. {said} That is {surge.why}.",), about=(surge.part,))
            else:
                yield Hit(
                    because=(said,),
                    evidence=(f"Computed surge at switch-on, cold, at the worst instant; {surge.part} {surge.why}.",),
                    confidence="worked out",
                    about=(surge.part,),
                    from_circuit=True,
                )


def _at_a_switch(ref: str, peak: float, rated: object) -> Iterable[Outcome]:
    said = f"{engineering(peak, 'A', 2)} flow through {ref} at switch-on"
    if not isinstance(rated, int | float):
        if peak > _BIG:
            yield Open(needs=(f"What is printed on the switch {ref}: up to {said}.",), about=(ref,))
    elif peak > _WELDS * rated:
        yield Hit(
            because=(f"Up to {said}, {plain(peak / rated)} times the {plain(rated)} A that are printed on it.",),
            evidence=(f"Computed surge at switch-on, cold, at the worst instant; {ref} rating: {plain(rated)} A.",),
            confidence="likely",
            about=(ref,),
            from_circuit=True,
        )


def _fused(print: str) -> str:
    return 'item = { region = "EU" }\n' + charger(CHARGER_FUSE.replace('rating = "1 A"', f'marking = "{print}"'))


def _short(outcome: str, opens: bool | None) -> Mapping[str, Any]:
    verdict = {"part": "F1", "opens": opens, "credited": False, "current": 300.0}
    fuses = [] if opens is None else [verdict]
    return {
        "part": "C1",
        "mode": "short",
        "outcome": outcome,
        "severity": 4,
        "overstressed": [],
        "fuse": fuses[0] if fuses else None,
        "fuses": fuses,
        "touched": [],
    }


_LAMP: Final = """part = [
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "LED1", kind = "led", series = 60, forward_voltage = "3 V", nodes = { anode = "p", cathode = "m" } },
]"""
_FLOWS: Final = "C1 shorted: 300 A flow, and only the fuse or breaker of the house ends it."

RULES: Final = (
    Rule(
        code="S07",
        id="fuse-cannot-break",
        title="Fuse made to break less than a short here draws",
        looks_at="What each fuse is rated to break, by its letter or its standard, against the current that a single "
        "fault sends through it.",
        why="A small glass fuse opens at once in a dead short, and then an arc goes on in it: the glass bursts, metal "
        "settles on what is near, and the current is cut by something else or not at all.",
        basis=(
            memory("IEC 60127-2", "breaking capacity", "L: 35 A or ten times the rated current; E: 150 A; H: 1500 A"),
            memory("IEC 60950-1", "2.7.3, 2.7.4", "adequate breaking capacity, or a protection behind it"),
        ),
        limits="The standards let the building's breaker, or a sound fuse in the plug, stand behind it. How much a "
        "socket gives is assumed where nobody measured its impedance.",
        settles="The letter on the fuse's cap, its body (glass, or ceramic with sand), the impedance of the socket.",
        action="A fuse of the same rating and speed with the letter H, and of the same size.",
        caution=_UNPLUG,
        severity=2,
        steps=(
            step("a dead short comes in its life", 0.02),
            step("the fuse bursts or goes on arcing", 0.1),
            step("somebody is hurt by it", 0.02),
        ),
        check=_breaking,
        bad=Case(
            about="A glass fuse of low breaking capacity before a bridge.",
            record=_fused("T1AL250V"),
            worked_out={"faults": (_short("C1 shorted.", True),)},
            says=("F1 is made to break 35 A; up to 300 A flow with C1 short",),
        ),
        good=Case(
            about="A filled one of high breaking capacity.",
            record=_fused("T1AH250V"),
            worked_out={"faults": (_short("C1 shorted.", True),)},
        ),
        undecided=Case(
            about="Its letter was not read.",
            record=_fused("T1A250V"),
            worked_out={"faults": (_short("C1 shorted.", True),)},
            says=("The letter on F1", "300 A flow with C1 short"),
        ),
        since="2",
    ),
    Rule(
        code="S08",
        id="short-not-cleared",
        title="A single fault makes a short that nothing in the item clears",
        looks_at="The computed single faults in which tens or hundreds of amperes flow and no fuse opens.",
        why="The breaker of the house ends it at last. Until then tracks, thin wire and the part itself are the fuse.",
        basis=(
            memory("IEC 60335-1", "19.11.2", "short circuit of capacitors but X and Y, and of electronic components"),
            memory("IEC 60335-1", "19.13", "no flames, no molten metal"),
        ),
        limits="Shorts of resistors, windings, heaters and lamps are not counted. A track may be made to open, and "
        "often does so harmlessly; nobody can see that. Where the first part across the mains has no fuse before it, "
        "no-fuse-in-line says so instead.",
        settles="The part in the line: a fuse, a fusible resistor, a track made thin on purpose.",
        action="Fit a fuse or a fusible resistor in the line, rated for the load.",
        caution="Do not try faults out on a bare bench.",
        severity=3,
        steps=(
            step("that part shorts in its life", 0.01),
            step("a part or a track burns before the breaker acts", 0.1),
            step("the fire leaves the case or somebody is burnt", 0.05),
        ),
        check=_not_cleared,
        bad=Case(
            about="A string whose resistor shorts.",
            record='item = { region = "EU" }\n' + _LAMP,
            worked_out={"faults": (_short(_FLOWS, None),)},
            says=("300 A flow",),
        ),
        good=Case(
            about="A fuse opens.",
            record='item = { region = "EU" }\n' + _LAMP,
            worked_out={"faults": (_short("C1 shorted: F1 opens.", True),)},
        ),
        undecided=Case(
            about="A British plug that nobody opened.",
            record='item = { region = "GB" }\n' + _LAMP,
            worked_out={"faults": (_short(_FLOWS, None),)},
            says=("The fuse in the plug",),
        ),
        since="2",
    ),
    Rule(
        code="R09",
        id="inrush-over-rating",
        title="Surge at switch-on over what a part stands",
        looks_at="The computed surge of the worst switch-on, cold: its heat against the recorded surge rating of fuses "
        "and rectifiers, its peak against the current printed on a switch.",
        why="A switch welds and then no longer switches off; a rectifier fails short; a fuse ages until it opens for "
        "nothing, and somebody puts a larger one in.",
        basis=(
            memory("IEC 61058-1", "lamp and capacitive loads", "a switch for lamps makes ten times its rated current"),
            memory("IEC 60747-2", "surge forward current, I2t"),
            memory("IEC 60127-1", "melting I2t"),
        ),
        limits="Thermistors are taken cold, the mains at the impedance recorded or assumed: at a socket far from the "
        "board it is less. A switch may be made for more surge than its plain rating tells.",
        settles="A current probe on a few dozen switchings, and the switch's full print (such as 6/48 A).",
        action="A thermistor or a resistor in the line, or parts made for the surge.",
        caution=_UNPLUG,
        severity=3,
        steps=(
            step("the part gives way in the life of the item", 0.05),
            step("it stays on, or shorts, without being noticed", 0.05),
            step("somebody is hurt by it", 0.01),
        ),
        check=_inrush,
        bad=Case(
            about="A 2 A switch before a large capacitor.",
            record=_SWITCHED.replace("RATING", 'rating = { current = "2 A" },'),
            worked_out={"switched_on": surged("S1", 320.0)},
            says=("320 A flow through S1", "160 times"),
        ),
        good=Case(
            about="A thermistor keeps it to some amperes.",
            record=_SWITCHED.replace("RATING", 'rating = { current = "2 A" },'),
            worked_out={"switched_on": surged("S1", 15.0)},
        ),
        undecided=Case(
            about="Nobody read the switch.",
            record=_SWITCHED.replace("RATING", ""),
            worked_out={"switched_on": surged("S1", 320.0)},
            says=("printed on the switch S1",),
        ),
        since="2",
    ),
)
