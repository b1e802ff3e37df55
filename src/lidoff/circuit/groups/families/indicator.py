"""Indicators: a neon with its resistor, or one LED with a resistor so large that it only shows that there is mains."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.strings import Branch
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table

_WITH_RESISTOR: Final = (
    Want("indicator resistor", ("resistor",), ("a", "k")),
    Want("neon", ("indicator",), ("k", "b")),
)
_PILOT: Final = 35e-3  # [A]: most that the peak of the supply may drive through a pilot LED; common practice, no source
_WORK: Final = ("lamp", "heater", "motor", "converter", "transformer", "relay")


def find(scene: Scene) -> Iterator[Reading]:
    """Neons with or without a resistor, and pilot LEDs."""
    seen: set[Unit] = set()
    for net in (scene.net, scene.plain):
        for match in matches(net, _WITH_RESISTOR):
            resistor, neon = match.parts["indicator resistor"], match.parts["neon"]
            if neon not in seen and net.alone(match.nodes["k"], resistor, neon):
                seen.add(neon)
                yield _neon(scene, net, neon, resistor, (match.nodes["a"], match.nodes["b"]))
        for neon in net.of("indicator"):
            if neon not in seen:
                seen |= {neon} if net is scene.plain or _known_elsewhere(scene, neon) else set()
                if neon in seen:
                    yield _neon(scene, net, neon, None, neon.ends)
    for branch in scene.strings:
        yield from _pilot(scene, branch)


def _peak_at(scene: Scene, branch: Branch) -> float:
    """The highest voltage there is at a branch [V]: the mains peak, or that of the secondary that feeds it."""
    for transformer in scene.net.of("transformer"):
        secondary = {transformer.pin("s1"), transformer.pin("s2")}
        fed = [{r.plus, r.minus} for r in scene.rectifiers if secondary & set(r.ac)]
        if set(branch.ends) == secondary or set(branch.ends) in fed:
            return scene.peak / transformer.members[0].number("ratio")
    return scene.peak


def _known_elsewhere(scene: Scene, neon: Unit) -> bool:
    """Whether the neon stands in the plain net without a resistor of its own as well."""
    return not any(match.parts["neon"].refs == neon.refs for match in matches(scene.plain, _WITH_RESISTOR))


def _neon(scene: Scene, net: Net, neon: Unit, resistor: Unit | None, ends: tuple[str, str]) -> Reading:
    built_in = any(element.number("series") > 0.0 for element in neon.members)
    switch = [u for u in net.across(*ends, "switch", "thermostat") if u.kind in ("switch", "thermostat")]
    if net.rails[0] in ends and net.rails[1] in ends:
        place = "across the mains and shows that there is mains there"
    elif switch:
        place = f"across {listed(u.label for u in switch)} and glows while that is open"
    else:
        place = "across what it shows"
    parts = own("neon", neon)
    remarks: tuple[str, ...] = ()
    figures: dict[str, tuple[float, str]] = {}
    if resistor is not None:
        parts += own("indicator resistor", resistor)
        remarks += unlike(resistor, "indicator resistor")
        figures["resistance"] = (resistor.value, "ohm")
    elif not built_in:
        remarks += (f"No resistor was found in a row with {neon.label}: look for one in its lead or its socket.",)
    if switch:
        remarks += (f"It passes a little current with {listed(u.label for u in switch)} open, through the load.",)
        parts += shared("contact", *switch)
    names = [neon.label, *([resistor.label] if resistor is not None else [])]
    return Reading(
        name="indicator",
        title=f"indicator {neon.label}",
        parts=parts,
        weight=80.0,
        why=f"{listed(names)} stand{'s' if len(names) == 1 else ''} {place}.",
        figures=Table(figures),
        remarks=remarks,
        fallback=True,
    )


def _pilot(scene: Scene, branch: Branch) -> Iterator[Reading]:
    """An LED with a large resistor: an indicator where something else does the work, else perhaps the light itself."""
    lights = [unit for unit in branch.leaves if unit.kind == "led"]
    peak = _peak_at(scene, branch)
    if branch.ohms <= peak / _PILOT or len(lights) != 1 or lights[0].members[0].number("series") > 1.0:
        return
    others = [b for b in scene.strings if b is not branch and b.volts > branch.volts]
    busy = bool(scene.net.of(*_WORK)) or bool(others)
    resistors = [unit for unit in branch.leaves if unit.kind == "resistor"]
    diodes = [unit for unit in branch.leaves if unit.kind == "diode"]
    yield Reading(
        name="indicator",
        title=f"indicator LED {lights[0].label}",
        parts=own("indicator LED", *lights) + own("indicator resistor", *resistors) + shared("series diode", *diodes),
        weight=62.0 if busy else 45.0,
        why=(
            f"{listed(u.label for u in resistors)} leaves {lights[0].label} a few milliamperes at most"
            + (", and other parts do the work." if busy else "; but nothing else here gives light or heat.")
        ),
        figures=Table({"resistance": (branch.ohms, "ohm")}),
    )


FAMILY = Family(
    title="Indicators",
    about="A neon or an LED that only shows that there is mains, or that a switch is open.",
    names=Table({"indicator": "a small light that does no work"}),
    stage=14,
    find=find,
    examples=(
        Example(
            about="A neon across the heater.",
            parts="""
  { ref = "EH1", kind = "heater", power = "900 W", voltage = "230 V", nodes = ["live", "neutral"] },
  { ref = "NE1", kind = "indicator", nodes = ["live", "k"] },
  { ref = "R1", kind = "resistor", value = "220k", nodes = ["k", "neutral"] },
""",
            finds=(("indicator", ("NE1", "R1")),),
        ),
        Example(
            about="A neon across a switch, which finds the switch in the dark.",
            parts="""
  { ref = "S1", kind = "switch", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "150k", nodes = ["live", "k"] },
  { ref = "NE1", kind = "indicator", nodes = ["k", "a"] },
  { ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
            finds=(("indicator", ("NE1", "R1", "S1")),),
        ),
        Example(
            about="An LED with 100 k and a diode beside a fan's motor.",
            parts="""
  { ref = "M1", kind = "motor", resistance = "900R", nodes = ["live", "neutral"] },
  { ref = "R1", kind = "resistor", value = "100k", nodes = ["live", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "a", cathode = "b" } },
  { ref = "LED1", kind = "led", forward_voltage = "2.0 V", nodes = { anode = "b", cathode = "neutral" } },
""",
            finds=(("indicator", ("D1", "LED1", "R1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A neon that fires a triac is a trigger, not an indicator.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "220k", nodes = ["x", "t"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "live"] },
  { ref = "NE1", kind = "indicator", nodes = ["t", "g"] },
  { ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
        ),
    ),
)
