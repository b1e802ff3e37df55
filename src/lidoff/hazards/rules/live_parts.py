"""Rules on what a person can touch that is joined to the mains: surfaces, bare contacts, outputs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts, Touched
from lidoff.hazards.given import touched
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, asked_in_vain, from_sighting, step
from lidoff.standards import Row
from lidoff.standards.touch import ENERGY_SOURCES, LEAKAGE

_UNPLUG: Final = "Pull the plug before you touch it, and keep it in sight while you work."
_SHOCK: Final = step("the shock is severe", 0.05)
_REACHED: Final = ("by hand", "test finger")
_NEUTRAL: Final = (
    "Neutral counts as live: a crossed plug or a broken neutral brings what is joined to it to the full mains voltage."
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
            evidence=(f"Recorded surface {name}: node {node}, reached {reached}",),
            confidence="worked out" if node not in ("live", "neutral") else "seen",
            from_circuit=node not in ("live", "neutral"),
            about=(name,),
        )


def _felt(one: Touched) -> str:
    touch = one.touch
    return (
        f"A hand on {one.surface} gets {touch.voltage_rms:.3g} V before it touches and {1e3 * touch.current_rms:.2g} "
        f"mA "
        f"through the body (class {touch.level} of IEC 62368-1)."
    )


_ADAPTER: Final = ENERGY_SOURCES.row("ES1", "ac to 1 kHz", "current rms")
# Each limit with what it is for, for the rule's page; `_limit` picks the one that fits an item.
_LIMITS: Final = "; ".join(
    f"{what} {1e3 * row.number:g} mA {word} after {Basis.of(row)}"
    for what, row, word in (
        ("class II", LEAKAGE.row("class II"), "rms"),
        ("a luminaire of class II", LEAKAGE.row("luminaire class II, touch, peak"), "peak"),
        ("a portable item of class I", LEAKAGE.row("class I portable"), "rms"),
        ("class III, or none known", LEAKAGE.row("class 0, 0I, III"), "rms"),
        ("an adapter", _ADAPTER, "rms"),
    )
)


def _limit(facts: Facts) -> tuple[Row, bool]:
    """The touch-current row that fits the item, and whether it is a peak."""
    if facts.item.kind == "adapter":
        return _ADAPTER, False
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
                    f"Recorded surface {name}: node {node}",
                    "Computed with the body network of IEC 60990 between the surface and earth.",
                ),
                confidence="worked out",
                from_circuit=True,
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
            from_circuit=isolation != "joined to mains",
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


RULES: Final = (
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
        f"body, worked out with the network of IEC 60990, against: {_LIMITS}.",
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
)
