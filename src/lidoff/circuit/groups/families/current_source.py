"""Linear constant-current sources: a regulator part, or a transistor that a small sense resistor holds back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.match import Match, Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import computed, listed, many
from lidoff.record.model import Table

_PASS: Final = ("transistor", "mosfet")
# Pins of a transistor are base, collector, emitter; of a mosfet gate, drain, source.
_TWO_TRANSISTORS: Final = (
    Want("pass transistor", _PASS, ("g", "x", "e")),
    Want("sense resistor", ("resistor",), ("e", "m")),
    Want("limiting transistor", ("transistor",), ("e", "g", "m")),
)
_WITH_BASE_RESISTOR: Final = (
    Want("pass transistor", _PASS, ("g", "x", "e")),
    Want("sense resistor", ("resistor",), ("e", "m")),
    Want("limiting transistor", ("transistor",), ("b", "g", "m")),
    Want("base resistor", ("resistor",), ("e", "b")),
)
_REFERENCE: Final = (
    Want("pass transistor", _PASS, ("g", "x", "e")),
    Want("sense resistor", ("resistor",), ("e", "m")),
    Want("reference", ("zener", "diode", "led"), ("g", "m")),
)
_REFERENCE_TURNED: Final = (*_REFERENCE[:2], Want("reference", ("zener", "diode", "led"), ("m", "g")))
_LEAST, _MOST = 0.5e-3, 2.0  # [A] what such a source holds on small products; common practice, no source


def find(scene: Scene) -> Iterator[Reading]:
    """Regulator parts, and transistors with a sense resistor."""
    for unit in scene.net.of("regulator"):
        yield Reading(
            name="current-source",
            title=f"constant-current {many(len(unit.refs), 'regulator')} {unit.label}",
            parts=own("current regulator", unit),
            weight=84.0,
            why=(
                f"{unit.label} {many(len(unit.refs), 'lets', 'let')} no more than the set current through, whatever "
                f"the voltage left."
            ),
            figures=Table({"current": (unit.value, "A")}),
        )
    held: set[Unit] = set()
    for pattern in (_TWO_TRANSISTORS, _WITH_BASE_RESISTOR, _REFERENCE, _REFERENCE_TURNED):
        for match in matches(scene.net, pattern):
            passing = match.parts["pass transistor"]
            if passing not in held:  # a zener beside a limiting transistor only guards the gate
                held.add(passing)
                yield _transistors(scene, match)


def _transistors(scene: Scene, match: Match) -> Reading:
    passing, sense = match.parts["pass transistor"], match.parts["sense resistor"]
    held, held_text = _held_voltage(match)
    gate = match.nodes["g"]
    inside = set(match.parts.values())
    near = {match.nodes["e"], match.nodes["m"]}
    bias = [
        u for u in scene.net.joined_to(gate) if u.kind == "resistor" and u not in inside and u.other(gate) not in near
    ]
    figures: dict[str, tuple[float, str]] = {"sense resistance": (sense.value, "ohm")}
    remarks: tuple[str, ...] = ()
    if held > 0.0:
        current = held / sense.value
        figures["current"] = (current, "A")
        if sense.known and not _LEAST <= current <= _MOST:
            remarks = (
                f"With {sense.label} as read the source would hold {computed(current, 'A')}: read its bands again, and "
                f"measure it with a leg lifted.",
            )
    if not bias:
        remarks += (f"Nothing was found that turns {passing.label} on: look for the resistor to its base or gate.",)
    parts = tuple(
        part
        for role, unit in match.parts.items()
        for part in (shared(role, unit) if unit.kind == "led" else own(role, unit))
    )
    return Reading(
        name="current-source",
        title=f"constant-current source with {passing.label}",
        parts=parts + own("bias resistor", *bias),
        weight=86.0,
        why=(
            f"The current of {passing.label} flows through {sense.label}; when its drop reaches {held_text}, "
            f"{listed(u.label for r, u in match.parts.items() if r in ('limiting transistor', 'reference'))} takes the "
            f"drive away."
        ),
        figures=Table(figures),
        remarks=remarks,
    )


def _held_voltage(match: Match) -> tuple[float, str]:
    """The voltage at which the sense resistor's drop is held [V], and how to say it; 0 where it cannot be told."""
    limiter = match.parts.get("limiting transistor")
    if limiter is not None:
        volts = limiter.members[0].number("base_voltage")
        return volts, f"the base voltage of {limiter.label} ({computed(volts, 'V')})"
    passing, reference = match.parts["pass transistor"], match.parts["reference"]
    own_drop = passing.members[0].number("base_voltage" if passing.kind == "transistor" else "threshold")
    volts = _reference_voltage(reference) - own_drop
    if volts <= 0.0:
        return 0.0, f"what {reference.label} leaves"
    return volts, f"what {reference.label} leaves ({computed(volts, 'V')})"


def _reference_voltage(unit: Unit) -> float:
    return 0.65 * len(unit.members) if unit.kind == "diode" else unit.value


FAMILY = Family(
    title="Constant-current sources",
    about="What holds the LED current level: a regulator part, or a transistor with a sense resistor.",
    names=Table({"current-source": "holds the current at a set value and takes the rest of the voltage"}),
    stage=65,
    find=find,
    examples=(
        Example(
            about="Two transistors: the second takes the first one's drive when the sense resistor drops 0.65 V.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
  { ref = "Q1", kind = "mosfet", nodes = { gate = "g", drain = "x", source = "e" } },
  { ref = "R1", kind = "resistor", value = "33R", nodes = ["e", "m"] },
  { ref = "Q2", kind = "transistor", nodes = { base = "e", collector = "g", emitter = "m" } },
  { ref = "R2", kind = "resistor", value = "470k", nodes = ["p", "g"] },
""",
            finds=(("current-source", ("Q1", "Q2", "R1", "R2")),),
        ),
        Example(
            about="A zener at the base and a resistor at the emitter.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
  { ref = "Q1", kind = "transistor", nodes = { base = "b", collector = "x", emitter = "e" } },
  { ref = "R1", kind = "resistor", value = "220R", nodes = ["e", "m"] },
  { ref = "DZ1", kind = "zener", voltage = "5.1 V", nodes = { anode = "m", cathode = "b" } },
  { ref = "R2", kind = "resistor", value = "100k", nodes = ["p", "b"] },
""",
            finds=(("current-source", ("DZ1", "Q1", "R1", "R2")),),
        ),
        Example(
            about="A regulator part in a row with the string.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 84, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
  { ref = "U1", kind = "regulator", limit = "25 mA", nodes = { input = "x", output = "m" } },
""",
            finds=(("current-source", ("U1",)),),
        ),
    ),
    counter_examples=(
        Example(
            about="A transistor that only switches: no reference holds it back.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "K1", kind = "relay", resistance = "10k", nodes = ["p", "x"] },
  { ref = "Q1", kind = "transistor", nodes = { base = "b", collector = "x", emitter = "m" } },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["p", "b"] },
  { ref = "R2", kind = "resistor", value = "100k", nodes = ["b", "m"] },
""",
        ),
    ),
)
