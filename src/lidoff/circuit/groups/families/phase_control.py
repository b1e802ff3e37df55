"""Phase control: a triac or thyristor fired late in each half-cycle by a timing network, with or without a trigger."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.direct import SMOOTHS
from lidoff.circuit.groups.making import Parts, own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.timing import ThroughLoad, Timing, timing_of
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import computed, counted, listed, many
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_LITTLE: Final = 5.0  # [V]: what a few diodes in the way take; it delays nothing that a knob shows
_STAGES: Final = ("", "first ", "second ", "third ")


def find(scene: Scene) -> Iterator[Reading]:
    """Every triac and thyristor with a timing network; those that nothing delays; those without a drive."""
    for latch in scene.net.of("triac", "thyristor"):
        timing = timing_of(scene, latch)
        if timing is not None:
            yield _timed(scene, timing)
        else:
            yield _switched(scene, latch)


def _timed(scene: Scene, timing: Timing) -> Reading:
    latch, stages = timing.latch, len(timing.capacitors)
    word = KINDS[latch.kind].title
    parts = own(word, latch)
    parts += own("trigger diac", *(u for u in timing.triggers if u.kind == "diac"))
    parts += own("trigger neon", *(u for u in timing.triggers if u.kind == "indicator"))
    parts += own("trigger resistor", *timing.lead) + own("gate resistor", *timing.gate)
    parts += own("end resistor", *timing.end_resistors) + own("resistor across the knob", *timing.across_knob)
    parts += own("second-stage resistor", *timing.second_stage)
    parts += own("timing potentiometer", *timing.knobs[:1]) + own("preset", *timing.knobs[1:])
    for stage, units in enumerate(timing.capacitors, start=1):
        parts += own(f"{_STAGES[stage] if 1 < stages < 4 else ''}timing capacitor", *units)
    through = _strings_in_way(timing)
    parts += shared("in the charging path", *(unit for load in through for unit in load.leds))
    direct = _behind(scene, latch)
    knob = timing.knobs[0].label if timing.knobs else "a fixed resistance"
    trigger = listed(u.label for u in timing.triggers)
    why = (
        f"Through {knob} the timing {many(stages, 'capacitor', 'capacitors')} "
        f"{listed(u.label for units in timing.capacitors for u in units)} "
        f"{many(stages, 'charges', 'charge')} anew in each half-cycle; "
    )
    why += (
        f"when the voltage reaches what {trigger} breaks over at, {latch.label} fires."
        if trigger
        else f"when enough current reaches the gate, {latch.label} fires."
    )
    return Reading(
        name="thyristor-control" if direct else "phase-control",
        title=_title(latch, stages, direct),
        parts=parts,
        weight=96.0,
        why=why,
        figures=Table(_figures(scene, timing, through)),
        remarks=_remarks(scene, timing, through),
        stage=57 if direct else 20,
    )


def _title(latch: Unit, stages: int, direct: bool) -> str:
    constants = f"{counted(stages)} time {many(stages, 'constant')}"
    if direct:
        return f"thyristor {latch.label} on the rectified side, {constants}"
    return f"phase control with {latch.label}, {constants}"


def _behind(scene: Scene, latch: Unit) -> bool:
    """Whether a thyristor stands on the direct side of a rectifier that takes both half-cycles."""
    direct = {node for r in scene.rectifiers if r.both for node in (r.plus, r.minus)}
    return latch.kind == "thyristor" and bool(direct & set(latch.ends))


def _strings_in_way(timing: Timing) -> list[ThroughLoad]:
    """The loads that let nothing through before the mains exceeds the voltage of their LEDs."""
    return [load for load in timing.through if load.leds and load.volts > _LITTLE]


def _figures(scene: Scene, timing: Timing, through: list[ThroughLoad]) -> dict[str, tuple[float, str]]:
    figures = {
        "shortest time constant": (timing.least * timing.capacitance, "s"),
        "longest time constant": (timing.most * timing.capacitance, "s"),
    }
    for unit in timing.triggers:
        if unit.kind == "diac":
            figures["breakover voltage"] = (unit.value, "V")
    for load in through:
        figures["string voltage in the charging path"] = (load.volts, "V")
        if scene.mains:
            figures["mains peak"] = (scene.peak, "V")
            if load.volts < scene.peak:
                figures["angle at which charging can begin"] = (math.degrees(math.asin(load.volts / scene.peak)), "deg")
    return figures


def _remarks(scene: Scene, timing: Timing, through: list[ThroughLoad]) -> tuple[str, ...]:
    remarks: tuple[str, ...] = ()
    capacitors = listed(u.label for u in timing.capacitors[0])
    for load in through:
        remarks += _string_remark(scene, load, capacitors, timing)
    for load in timing.through:
        if load not in through:
            remarks += (
                f"The timing current flows through the load ({listed(_named(load))}): there is no third wire. A load "
                f"that draws little changes the firing.",
            )
    if timing.knobs and not timing.end_resistors:
        remarks += (
            f"No fixed resistor was found in a row with {timing.knobs[0].label}: at the end of its travel the whole "
            f"current would go through its track and {capacitors}. Measure what is left at the end of the track, and "
            f"look for a resistor under the knob or a track that was missed.",
        )
    if not timing.knobs:
        remarks += ("No potentiometer was found in the charging chain: the firing angle is fixed.",)
    if not timing.triggers:
        remarks += (
            f"No diac was found between the timing capacitor and the gate of {timing.latch.label}: look for one "
            f"inside the part itself, or for a part that was missed.",
        )
    if timing.wrong_terminal:
        which = "MT1" if timing.latch.kind == "triac" else "the cathode"
        remarks += (
            f"The timing capacitor goes to the terminal of {timing.latch.label} that the gate is not referred to; look "
            f"again which of its two main terminals is {which}.",
        )
    for unit in (u for units in timing.capacitors for u in units):
        remarks += unlike(unit, "timing capacitor")
    for unit in timing.knobs[:1]:
        remarks += unlike(unit, "timing potentiometer")
    for unit in timing.end_resistors:
        remarks += unlike(unit, "end resistor")
    for unit in timing.second_stage:
        remarks += unlike(unit, "second-stage resistor")
    return remarks


def _string_remark(scene: Scene, load: ThroughLoad, capacitors: str, timing: Timing) -> tuple[str, ...]:
    leds = listed(unit.label for unit in load.leds)
    trigger = listed(u.label for u in timing.triggers) or "the gate"
    text = f"{capacitors} charges through the LED string {leds}, not straight from the mains: "
    if not scene.mains:
        return (f"{text}nothing charges before the supply exceeds the string's {computed(load.volts, 'V', 3)}.",)
    if load.volts >= scene.peak:
        text += (
            f"the string asks for {computed(load.volts, 'V', 3)}, more than the mains peak of "
            f"{computed(scene.peak, 'V', 3)}, so it may hardly charge at all."
        )
        return (text,)
    angle = math.degrees(math.asin(load.volts / scene.peak))
    text += (
        f"from empty it cannot begin before the mains exceeds the string's {computed(load.volts, 'V', 3)}, "
        f"{computed(angle, 'deg')} into the half-cycle. Expect a knob over much of whose travel {trigger} is never "
        f"reached; solve the circuit along the knob to see how much."
    )
    if any(unit.kind == "capacitor" and unit.value >= SMOOTHS for unit in load.others):
        text += " A smoothing capacitor beside the string holds charging back further still, up to its own voltage."
    return (text,)


def _named(load: ThroughLoad) -> list[str]:
    wanted = [
        u for u in load.units if u.kind in ("lamp", "heater", "motor", "resistor", "led", "transformer", "bridge")
    ]
    return [u.label for u in sorted(wanted or load.units, key=lambda unit: unit.key)]


def _switched(scene: Scene, latch: Unit) -> Reading:
    """A triac or thyristor that no capacitor times: fired through a resistor, or by something not found."""
    gate = str(latch.nodes[2])
    main = set(latch.ends)
    resistors = [u for u in scene.net.joined_to(gate) if u.kind == "resistor" and u.other(gate) in main]
    lead = [
        u
        for u in scene.net.joined_to(gate)
        if u.kind in ("resistor", "diac", "indicator", "diode") and u not in resistors and u.two
    ]
    drivers = [u for u in resistors if u.other(gate) != _reference(latch)] + lead
    shunts = [u for u in resistors if u.other(gate) == _reference(latch)]
    word = KINDS[latch.kind].title
    parts: Parts = own(word, latch) + own("gate drive", *drivers) + own("gate resistor", *shunts)
    if drivers:
        title = f"{word} {latch.label} switched by its gate"
        why = f"The gate of {latch.label} is fed through {listed(u.label for u in drivers)} and nothing delays it."
        remarks: tuple[str, ...] = ()
    else:
        title = f"{word} {latch.label}, its drive not found"
        why = f"{latch.label} is a {word}, but nothing was found that leads to its gate."
        remarks = (f"Look again for what is joined to the gate of {latch.label}; without it, it cannot fire.",)
    return Reading(
        name="latch-switch",
        title=title,
        parts=parts,
        weight=70.0,
        why=why,
        remarks=remarks,
        stage=57 if _behind(scene, latch) else 20,
    )


def _reference(latch: Unit) -> str:
    return str(latch.nodes[0] if latch.kind == "triac" else latch.nodes[1])


FAMILY = Family(
    title="Phase control",
    about=(
        "A triac between mains and load, or a thyristor behind the rectifier, fired by a capacitor that charges "
        "through the knob."
    ),
    names=Table(
        {
            "phase-control": "a triac or thyristor on the mains, fired late in each half-cycle",
            "thyristor-control": "the same on the rectified side",
            "latch-switch": "a triac or thyristor whose gate nothing delays",
        }
    ),
    stage=20,
    find=find,
    examples=(
        Example(
            about="Two time constants: a second resistor and capacitor follow the first. R1 is the end resistor.",
            parts="""
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["neutral", "x"] },
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "4k7", nodes = ["x", "v"] },
  { ref = "VR1", kind = "potentiometer", value = "470k", nodes = { a = "v", wiper = "u" } },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["u", "live"] },
  { ref = "R2", kind = "resistor", value = "15k", nodes = ["u", "t"] },
  { ref = "C2", kind = "capacitor", value = "47n", nodes = ["t", "live"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
""",
            finds=(("phase-control", ("C1", "C2", "D1", "Q1", "R1", "R2", "VR1")),),
        ),
        Example(
            about="The timing capacitor charges through a string of LEDs behind a bridge.",
            extra='supply = { voltage = "120 V", frequency = "60 Hz" }\n',
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "VR1", kind = "potentiometer", value = "500k", nodes = { a = "x", wiper = "w" } },
  { ref = "R1", kind = "resistor", value = "3k3", nodes = ["w", "t"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "live"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "x", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 36, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "y" } },
  { ref = "R2", kind = "resistor", value = "470R", nodes = ["y", "m"] },
""",
            finds=(("phase-control", ("C1", "D1", "LED1", "Q1", "R1", "VR1")),),
        ),
        Example(
            about="A thyristor behind the bridge, in a row with the LEDs.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "y" } },
  { ref = "R2", kind = "resistor", value = "1k", nodes = ["y", "a"] },
  { ref = "Q1", kind = "thyristor", nodes = { anode = "a", cathode = "m", gate = "g" } },
  { ref = "VR1", kind = "potentiometer", value = "220k", nodes = { a = "p", wiper = "w" } },
  { ref = "R1", kind = "resistor", value = "10k", nodes = ["w", "t"] },
  { ref = "C1", kind = "capacitor", value = "220n", nodes = ["t", "m"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["g", "m"] },
""",
            finds=(("thyristor-control", ("C1", "D1", "Q1", "R1", "R3", "VR1")),),
        ),
        Example(
            about="A triac that a thermostat turns on through a resistor: nothing delays it.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "330R", nodes = ["a", "g"] },
  { ref = "TH1", kind = "thermostat", nodes = ["x", "a"] },
  { ref = "EH1", kind = "heater", power = "700 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
            finds=(("latch-switch", ("Q1", "R1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A potentiometer, a capacitor and a diac without anything to fire.",
            parts="""
  { ref = "VR1", kind = "potentiometer", value = "500k", nodes = { a = "live", wiper = "t" } },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "neutral"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["g", "neutral"] },
""",
        ),
    ),
)
