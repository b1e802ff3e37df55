"""Clamps: zeners that hold a voltage down, alone or behind a feed resistor, and varistors away from the mains input."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import labels, own, shared
from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import listed
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_REGULATED: Final = (
    Want("zener", ("zener",), ("m", "k")),
    Want("feed resistor", ("resistor",), ("p", "k")),
)
_FED_BELOW: Final = (
    Want("zener", ("zener",), ("k", "p")),
    Want("feed resistor", ("resistor",), ("m", "k")),
)


def find(scene: Scene) -> Iterator[Reading]:
    """Zeners fed through a resistor from a direct line, other zeners, varistors."""
    plus = {r.plus for r in scene.rectifiers}
    minus = {r.minus for r in scene.rectifiers}
    for pattern, ends in ((_REGULATED, (plus, minus)), (_FED_BELOW, (plus, minus))):
        for match in matches(scene.net, pattern):
            if match.nodes["p"] in ends[0] and match.nodes["m"] in ends[1]:
                yield _regulator(scene, match.parts["zener"], match.parts["feed resistor"])
    for unit in scene.net.of("zener", "varistor"):
        if unit.kind == "zener" or set(unit.ends) != set(scene.net.rails):
            yield _clamp(scene, unit)


def _beside(scene: Scene, unit: Unit) -> list[Unit]:
    return [u for u in scene.net.across(*unit.ends) if u is not unit and u.kind not in ("zener", "varistor")]


def _regulator(scene: Scene, zener: Unit, resistor: Unit) -> Reading:
    beside = _beside(scene, zener)
    holds = any(u.kind == "capacitor" for u in beside)
    return Reading(
        name="zener-clamp",
        title=f"supply held down by {zener.label}",
        parts=own("zener", zener) + (shared("feed resistor", resistor) if holds else own("feed resistor", resistor)),
        weight=48.0,
        why=f"{resistor.label} feeds {zener.label} from the direct line; what the load does not take, the zener does.",
        figures=Table({"voltage": (zener.value, "V"), "feed resistance": (resistor.value, "ohm")}),
    )


def _clamp(scene: Scene, unit: Unit) -> Reading:
    beside = _beside(scene, unit)
    gates = [u for u in scene.net.of("mosfet") if u.pin("gate") in unit.ends]
    fed = [r for r in scene.rectifiers if set(r.ac) == set(unit.ends)]
    where = f"across {listed(labels(beside))}" if beside else unit.label
    if fed and not beside:
        where = f"where {listed(fed[0].refs)} is fed"
    if gates:
        beside, where = gates, f"at the gate of {listed(labels(gates))}"
    word = KINDS[unit.kind].title
    return Reading(
        name="zener-clamp" if unit.kind == "zener" else "surge-clamp",
        title=f"{word} clamp {where}",
        parts=own("clamp", unit) + shared("clamped", *beside),
        weight=40.0,
        why=(
            f"{unit.label} lies {where} and keeps the voltage there from rising past its own."
            if where != unit.label
            else f"{unit.label} keeps the voltage between its ends from rising past its own."
        ),
        figures=Table({"voltage": (unit.value, "V")}),
        fallback=True,
    )


FAMILY = Family(
    title="Clamps",
    about="Zeners and varistors that keep a voltage from rising.",
    names=Table(
        {"zener-clamp": "a zener across what it protects or feeds", "surge-clamp": "a varistor not across the mains"}
    ),
    stage=55,
    find=find,
    examples=(
        Example(
            about="Across the smoothing capacitor of a dropper, for when the LEDs open.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C2", kind = "capacitor", value = "47u", nodes = ["p", "m"] },
  { ref = "DZ1", kind = "zener", voltage = "47 V", nodes = { anode = "m", cathode = "p" } },
  { ref = "LED1", kind = "led", series = 12, forward_voltage = "3.1 V", nodes = { anode = "p", cathode = "m" } },
""",
            finds=(("zener-clamp", ("C2", "DZ1", "LED1")),),
        ),
        Example(
            about="Two zeners back to back across a triac.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "DZ1", kind = "zener", voltage = "400 V", nodes = { anode = "x", cathode = "k" } },
  { ref = "DZ2", kind = "zener", voltage = "400 V", nodes = { anode = "live", cathode = "k" } },
  { ref = "M1", kind = "motor", resistance = "60R", nodes = ["x", "neutral"] },
""",
            finds=(("zener-clamp", ("DZ1", "DZ2", "Q1")),),
        ),
        Example(
            about="A varistor across a triac.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "RV1", kind = "varistor", voltage = "430 V", nodes = ["x", "live"] },
  { ref = "M1", kind = "motor", resistance = "60R", nodes = ["x", "neutral"] },
""",
            finds=(("surge-clamp", ("Q1", "RV1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A zener that sets a transistor's base is the reference of a current source.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
  { ref = "Q1", kind = "transistor", nodes = { base = "b", collector = "x", emitter = "e" } },
  { ref = "R1", kind = "resistor", value = "220R", nodes = ["e", "m"] },
  { ref = "DZ1", kind = "zener", voltage = "5.1 V", nodes = { anode = "m", cathode = "b" } },
  { ref = "R2", kind = "resistor", value = "100k", nodes = ["q", "b"] },
  { ref = "R3", kind = "resistor", value = "100k", nodes = ["p", "q"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["q", "m"] },
""",
        ),
    ),
)
