"""Rules on capacitors at the mains: class, place, and what stays on the pins."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from lidoff.circuit import Element
from lidoff.hazards.facts import Facts
from lidoff.hazards.given import unplugged
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.questions import CLASS
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, from_sighting, step
from lidoff.quantity import engineering
from lidoff.standards.discharge import DISCHARGE

_EXEMPT: Final = DISCHARGE.number("appliance", "exempt up to")
_KICK: Final = 2.5  # times the crest: more comes of a coil cut off by an ideal switch, not of a charge (our choice)
_DISCHARGE: Final = "Measure it with a meter and discharge it through a resistor before you touch it."
_DROPPER: Final = """part = [
  { ref = "C1", kind = "capacitor", value = "330n", CLASS nodes = ["live", "b"] },BLEED
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "LED1", kind = "led", series = 20, forward_voltage = "3 V", nodes = { anode = "p", cathode = "m" } },
]"""
_BLEEDER: Final = '\n  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "b"] },'
_HEATER: Final = '  { ref = "H1", kind = "heater", power = "100 W", voltage = "230 V", nodes = ["live", "neutral"] },\n'


def _dropper(marked: str = "", bleed: bool = False) -> str:
    return _DROPPER.replace("CLASS", marked and f"{marked},").replace("BLEED", _BLEEDER if bleed else "")


def _across(number: int, value: str, grade: str, first: str, second: str) -> str:
    return (
        f'  {{ ref = "C{number}", kind = "capacitor", value = "{value}", rating = {{ class = "{grade}" }}, '
        f'nodes = ["{first}", "{second}"] }},\n'
    )


def _class_of(facts: Facts, element: Element) -> str | None:
    """The class that a capacitor carries by rating or print ("X2"), None where neither gives one."""
    rated = element.rating.get("class")
    if isinstance(rated, str):
        return rated
    part = facts.part(element.ref)
    match = CLASS.search((part.marking or "").upper()) if part is not None else None
    return match[1] if match else None


def _at_the_mains(facts: Facts) -> list[tuple[Element, str]]:
    """Capacitors across the mains, and droppers, with how they stand there."""
    found = [(element, "stands across the mains") for element in facts.net.across_mains("capacitor")]
    for group in facts.group("capacitor-dropper"):
        for ref in group.having("dropper capacitor"):
            element = facts.circuit.element(ref) if facts.circuit is not None else None
            if element is not None and element not in [one for one, _ in found]:
                found.append((element, "stands in the line as a dropper"))
    return found


def _unclassed(facts: Facts) -> Iterable[Outcome]:
    standing = _at_the_mains(facts)
    sighting = facts.answer("capacitor-class")
    for element, place in standing:
        part = facts.part(element.ref)
        if _class_of(facts, element) is not None:
            continue
        if sighting not in (None, "no class printed") and len(standing) == 1:
            continue
        if sighting == "no class printed" and len(standing) == 1:
            evidence = from_sighting(facts, "capacitor-class")
        elif part is not None and part.marking:
            evidence = (f"Marking of {element.ref}: {part.marking}",)
        else:
            yield Open(
                needs=(f"What is printed on every side of {element.ref}: a class X1 or X2?",), about=(element.ref,)
            )
            continue
        yield Hit(
            because=(f"{element.ref} {place} and carries no class X1 or X2.",),
            evidence=evidence,
            about=(element.ref,),
            from_circuit=True,
        )


def _touchable_nodes(facts: Facts) -> frozenset[str]:
    """Earth, surfaces, and everything on the far side of a transformer."""
    if facts.circuit is None:
        return frozenset()
    resolve = facts.circuit.resolve
    nodes = {
        resolve(str(surface["node"]))
        for surface in facts.item.surfaces
        if surface.get("node") not in (None, "?", "insulated")
    }
    for element in facts.elements:
        if element.kind == "transformer":
            nodes |= {node for pin, node in element.pins.items() if pin in ("s1", "s2")}
    return frozenset((nodes | {"earth"}) - facts.net.joined)


def _bridging(facts: Facts) -> Iterable[Outcome]:
    for element in facts.net.bridging("capacitor", _touchable_nodes(facts)):
        grade = _class_of(facts, element)
        part = facts.part(element.ref)
        where = " and ".join(str(node) for node in element.nodes)
        if grade is not None and grade.startswith("Y"):
            continue
        if grade is None and not (part is not None and part.marking):
            yield Open(needs=(f"What is printed on {element.ref}: a class Y1 or Y2?",), about=(element.ref,))
            continue
        what = f"is of class {grade}" if grade else "carries no class"
        yield Hit(
            because=(f"{element.ref} bridges the insulation between {where} and {what}; only class Y may.",),
            evidence=(
                f"Circuit as recorded: {element.ref} between {where}",
                f"{element.ref}: {'rating or marking ' + grade if grade else 'marking ' + str(part and part.marking)}",
            ),
            about=(element.ref,),
            from_circuit=True,
        )


def _crest(facts: Facts) -> float:
    """The crest of the mains [V]."""
    supply = facts.circuit.supply if facts.circuit is not None else None
    return math.sqrt(2.0) * (supply.voltage if supply is not None else 230.0)


def _at_pins(facts: Facts) -> float:
    """Capacitance [F] that the pins can see at most: all capacitors with an end on either side of the mains."""
    return sum(element.number("value") for element in facts.net.touching("capacitor"))


def _charge(facts: Facts) -> Iterable[Outcome]:
    # Told apart by product: adapters by 62368-1, all else as appliances and luminaires, which say the same.
    adapter = facts.item.kind == "adapter"
    after = DISCHARGE.row("adapter" if adapter else "appliance", "after")
    answer = facts.answer("pins-after-unplugging")
    if answer == "over 34 V":
        yield Hit(
            because=("More than 34 V was measured on the pins a second after unplugging.",),
            evidence=from_sighting(facts, "pins-after-unplugging"),
            basis=(Basis.of(after),),
        )
        return
    farads = _at_pins(facts)
    if answer == "under 34 V" or farads <= _EXEMPT * (1.0 + 1e-9):
        return
    if facts.unplugged is None:
        yield Open(
            needs=(
                f"What discharges the {engineering(farads, 'F', 2)} at the pins: the circuit solved with the plug "
                f"pulled, "
                "or the volts on the pins a second after.",
            )
        )
        return
    pins = facts.unplugged.pins
    volts, took = (60.0, pins.to_60) if adapter else (34.0, pins.to_34)
    if took is not None and took <= after.number:
        return
    highest = max(pins.start, *(abs(volts) for volts in pins.curve[1]))
    if highest > _KICK * _crest(facts):
        yield Open(needs=("The volts on the pins, measured: a coil that is cut off hides them in the computed ones.",))
        return
    lasts = f"{took:.3g} s" if took is not None else f"more than {facts.unplugged.looked:.0f} s"
    yield Hit(
        because=(
            f"Pulled at the worst instant, the pins hold up to {highest:.3g} V and stay above {volts:g} V for "
            f"{lasts}; "
            f"{after.number:g} s is allowed.",
            f"{engineering(farads, 'F', 2)} stands at the pins; up to {engineering(_EXEMPT, 'F', 2)} is exempt.",
        ),
        evidence=("Computed: the circuit as recorded, with the plug pulled.",),
        confidence="worked out",
        from_circuit=True,
        basis=(Basis.of(after),),
    )


def _no_bleeder(facts: Facts) -> Iterable[Outcome]:
    for group in facts.group("capacitor-dropper"):
        for ref in group.having("dropper capacitor"):
            element = facts.circuit.element(ref) if facts.circuit is not None else None
            if element is None or element.number("value") <= _EXEMPT * (1.0 + 1e-9):
                continue
            if facts.part(ref) is not None and _left_unread(facts, element):
                yield Open(needs=(f"A resistor across {ref} is recorded without a value: read or measure it.",))
                continue
            if group.having("bleeder resistor"):
                continue
            size = engineering(element.number("value"), "F", 2)
            yield Hit(
                because=(f"Nothing empties the dropper capacitor {ref} ({size}) once the plug is out.",),
                evidence=(f"Circuit as recorded: no resistor across {ref}.",),
                confidence="worked out",
                from_circuit=True,
                about=(ref,),
            )


def _left_unread(facts: Facts, element: Element) -> bool:
    """Whether a resistor of unknown value stands across a capacitor."""
    return any(
        other.kind == "resistor" and other.unknown and set(other.nodes) == set(element.nodes)
        for other in facts.elements
    )


RULES: Final = (
    Rule(
        code="K01",
        id="mains-capacitor-without-class",
        title="Capacitor at the mains without class X",
        looks_at="Capacitors across the mains and droppers in the line: the class that is printed on them.",
        why="The mains brings pulses of kilovolts. A class X capacitor is made to survive them, or to fail without "
        "burning. Another one shorts or burns.",
        basis=(memory("IEC 60384-14", "class X: across the mains"), memory("IEC 60335-1", "24.1.1", "capacitors")),
        limits="Cheap X2 types lose capacitance over the years without burning; that is not judged. Capacitors "
        "across a "
        "switching part behind the load are not judged.",
        settles="The print on every side of the capacitor.",
        action="Replace it by a class X2 capacitor of the same value and pitch, rated for the mains.",
        caution=_DISCHARGE,
        severity=3,
        steps=(
            step("pulses break it down in its life", 0.02),
            step("it burns before a fuse opens", 0.1),
            step("the fire leaves the case or somebody is burnt", 0.1),
        ),
        check=_unclassed,
        bad=Case(
            about="A dropper marked with its value and 400 V.",
            record=_dropper('marking = "334J 400V"'),
            says=("C1", "dropper", "no class"),
        ),
        good=Case(about="X2, with its bleeder.", record=_dropper('marking = "334K 275V~ X2"', bleed=True)),
        undecided=Case(about="Its print was not noted.", record=_dropper(), says=("printed on every side of C1",)),
    ),
    Rule(
        code="K02",
        id="capacitor-across-insulation-not-y",
        title="Capacitor across insulation that is not class Y",
        looks_at="Capacitors from the mains side to earth, to a touchable surface, or to the far side of a "
        "transformer.",
        why="When such a capacitor shorts, what a person touches is live. Class Y is made not to short; class X is "
        "not.",
        basis=(memory("IEC 60384-14", "class Y: where failure could lead to shock"), memory("IEC 60335-1", "22.42")),
        limits="Y2 across reinforced insulation at 230 V may do or not, by product standard: not judged.",
        settles="The print on the capacitor, and where its two ends lead.",
        action="Replace it by a class Y capacitor (Y1 or two Y2 in a row across reinforced insulation).",
        caution=_DISCHARGE,
        severity=4,
        steps=(
            step("it breaks down in its life", 0.02),
            step("what it feeds is touched with a way to earth", 0.3),
            step("the shock is severe", 0.05),
        ),
        check=_bridging,
        bad=Case(
            about="An X2 from live to a bare shell.",
            record="part = [\n"
            + _HEATER
            + _across(1, "4n7", "X2", "live", "shell")
            + _across(2, "4n7", "Y2", "neutral", "shell")
            + ']\nsurface = [{ name = "shell", reached = "by hand", node = "shell" }]',
            says=("C1", "class X2", "only class Y"),
        ),
        good=Case(
            about="Y2 to earth.",
            record="part = [\n" + _HEATER + _across(1, "2n2", "Y2", "live", "earth") + "]",
        ),
        undecided=Case(
            about="A blue disc to earth, print not noted.",
            record="part = [\n"
            + _HEATER
            + '  { ref = "C1", kind = "capacitor", value = "2n2", nodes = ["live", "earth"] },\n]',
            says=("Y1 or Y2",),
        ),
    ),
    Rule(
        code="K03",
        id="pins-stay-charged",
        title="Plug pins stay charged after unplugging",
        looks_at="The voltage left on the plug pins, computed with the plug pulled at the worst instant, or measured.",
        why="Pins that bite make people jerk, drop things and fall.",
        basis=(
            Basis.of(DISCHARGE.row("appliance", "voltage between pins")),
            Basis.of(DISCHARGE.row("appliance", "exempt up to")),
        ),
        limits="0.1 µF and less at the pins is exempt. Adapters are held to 60 V after 2 s. What the meter itself "
        "discharges is not in the computed value.",
        settles="A meter of 10 megohm or more on the pins a second after unplugging, ten times over.",
        action="Put a bleeder across the capacitor: two resistors in a row, each good for the voltage, whose ohms "
        "together times its farads stay under 0.4 s (34 V after a second, from 358 V).",
        caution=_DISCHARGE,
        severity=1,
        steps=(
            step("the pins are touched within seconds of unplugging", 0.3),
            step("it was pulled near the crest", 0.5),
            step("the jolt makes somebody fall or knock against something", 0.01),
        ),
        check=_charge,
        bad=Case(
            about="A dropper with nothing across it.",
            record=_dropper('marking = "334K 275V~ X2"'),
            worked_out={"unplugged": unplugged(325.0, None, None)},
            says=("325 V", "more than 300 s"),
        ),
        good=Case(
            about="0.33 µF with 1 megohm: 34 V after 0.75 s.",
            record=_dropper('marking = "334K 275V~ X2"', bleed=True),
            worked_out={"unplugged": unplugged(325.0, 0.558, 0.745)},
        ),
        undecided=Case(
            about="Not followed and not measured.",
            record=_dropper('marking = "334K 275V~ X2"', bleed=True),
            says=("What discharges",),
        ),
    ),
    Rule(
        code="K04",
        id="dropper-without-bleeder",
        title="Dropper capacitor with nothing to empty it",
        looks_at="Whether a resistor lies across the dropper capacitor.",
        why="It keeps up to the crest of the mains for hours, on the pins and on everything that the next person "
        "touches "
        "inside.",
        basis=(Basis.of(DISCHARGE.row("appliance", "exempt up to")), memory("IEC 60335-1", "22.5", "discharge")),
        limits="A load behind a bridge does not empty it: the diodes block.",
        settles="Volts across the capacitor a minute after unplugging.",
        action="Put two resistors in a row across it, each rated for 250 V or more, whose ohms together times its "
        "farads stay under 0.4 s (330 nF: 1.2 megohm at most).",
        caution=_DISCHARGE,
        severity=1,
        steps=(
            step("pins or insides are touched after unplugging", 0.3),
            step("it was pulled near the crest", 0.5),
            step("the jolt makes somebody fall or knock against something", 0.01),
        ),
        check=_no_bleeder,
        bad=Case(
            about="0.33 µF alone in the line.",
            record=_dropper('marking = "334K 275V~ X2"'),
            says=("Nothing empties", "C1"),
        ),
        good=Case(about="1 megohm across it.", record=_dropper('marking = "334K 275V~ X2"', bleed=True)),
        undecided=Case(
            about="A resistor across it whose bands nobody can read.",
            record=_dropper('marking = "334K 275V~ X2"', bleed=True).replace(
                'value = "1M"', 'value = "?", between = ["100 k", "100 M"]'
            ),
            says=("without a value",),
        ),
    ),
)
