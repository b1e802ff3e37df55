"""Voltage doublers: both halves at once, one after the other, and a bridge whose middle is tied to a feeding node."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.match import Match, Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table

_BOTH_HALVES: Final = (
    Want("upper diode", ("diode",), ("x", "p")),
    Want("lower diode", ("diode",), ("m", "x")),
    Want("upper capacitor", ("capacitor",), ("p", "y")),
    Want("lower capacitor", ("capacitor",), ("y", "m")),
)
_BRIDGE: Final = (
    Want("bridge", ("bridge",), ("x", "y", "p", "m")),
    Want("upper capacitor", ("capacitor",), ("p", "y")),
    Want("lower capacitor", ("capacitor",), ("y", "m")),
)
# One after the other. The last two differ in which way round the diodes stand: a positive or a negative output.
_STEPPED: Final = (
    (
        Want("pumping capacitor", ("capacitor",), ("x", "a")),
        Want("return diode", ("diode",), ("m", "a")),
        Want("rectifier diode", ("diode",), ("a", "p")),
        Want("storing capacitor", ("capacitor",), ("p", "m")),
    ),
    (
        Want("pumping capacitor", ("capacitor",), ("x", "a")),
        Want("return diode", ("diode",), ("a", "m")),
        Want("rectifier diode", ("diode",), ("p", "a")),
        Want("storing capacitor", ("capacitor",), ("p", "m")),
    ),
)
_PUMP: Final = 0.05  # a pumping capacitor smaller than this share of the storing one limits current: a dropper


def find(scene: Scene) -> Iterator[Reading]:
    """Every doubler; one whose first capacitor is small is also (and rather) a capacitor dropper."""
    bridged = {unit for rectifier in scene.rectifiers if rectifier.both for unit in rectifier.units}
    for match in matches(scene.net, _BOTH_HALVES):
        yield _reading(scene, match, 93.0)
    for match in matches(scene.net, _BRIDGE):
        yield _reading(scene, match, 93.0)
    for pattern in _STEPPED:
        for match in matches(scene.net, pattern):
            if bridged & set(match.parts.values()):
                continue
            pump, store = match.parts["pumping capacitor"], match.parts["storing capacitor"]
            middle = match.nodes["a"]
            helped = [
                unit
                for unit in scene.net.joined_to(middle)
                if unit.kind in ("resistor", "zener") and unit not in match.parts.values()
            ]
            dropper = pump.value < _PUMP * store.value or bool(helped)
            yield _reading(scene, match, 70.0 if dropper else 93.0)


def _reading(scene: Scene, match: Match, weight: float) -> Reading:
    capacitors = [unit for role, unit in match.parts.items() if "capacitor" in role]
    parts = tuple(
        part
        for role, unit in match.parts.items()
        for part in (shared(role, unit) if unit.kind == "bridge" else own(role, unit))
    )
    figures = {f"{role} value": (unit.value, "F") for role, unit in match.parts.items() if "capacitor" in role}
    if scene.mains:
        figures["twice the mains peak"] = (2.0 * scene.peak, "V")
    remarks: tuple[str, ...] = ()
    if "return diode" in match.parts:
        why = (
            f"{match.parts['pumping capacitor'].label} charges through {match.parts['return diode'].label} in one "
            f"half-cycle and stands in a row with the mains in the other, so that "
            f"{match.parts['storing capacitor'].label} reaches twice the peak where little is drawn."
        )
        if weight < 90.0:
            remarks = (
                "The first capacitor is small for a doubler: more likely it limits the current (a capacitor dropper). "
                "Its value settles which: measure it.",
            )
    else:
        feed = "a bridge of which the lower half idles" if "bridge" in match.parts else "one diode for each half-cycle"
        why = (
            f"{listed(unit.label for unit in capacitors)} stand in a row, their middle tied to one side of the supply, "
            f"with {feed}: each takes the peak, together twice."
        )
        values = sorted(unit.value for unit in capacitors)
        if values[1] > 1.5 * values[0]:
            remarks = ("The two capacitors differ, so they do not share the voltage in halves: read both again.",)
    return Reading(
        name="voltage-doubler",
        title=f"voltage doubler with {listed(unit.label for unit in capacitors)}",
        parts=parts,
        weight=weight,
        why=why,
        figures=Table(figures),
        remarks=remarks,
    )


FAMILY = Family(
    title="Voltage doublers",
    about="Two capacitors and two diodes (or a bridge tied to its own feed) that make twice the peak.",
    names=Table({"voltage-doubler": "a rectifier that gives up to twice the peak of its supply"}),
    stage=45,
    find=find,
    examples=(
        Example(
            about="One diode and one capacitor for each half-cycle.",
            parts="""
  { ref = "F1", kind = "fuse", nodes = ["live", "x"] },
  { ref = "D1", kind = "diode", nodes = { anode = "x", cathode = "p" } },
  { ref = "D2", kind = "diode", nodes = { anode = "m", cathode = "x" } },
  { ref = "C1", kind = "capacitor", value = "47u", nodes = ["p", "neutral"] },
  { ref = "C2", kind = "capacitor", value = "47u", nodes = ["neutral", "m"] },
  { ref = "U1", kind = "converter", power = "20 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("voltage-doubler", ("C1", "C2", "D1", "D2")),),
        ),
        Example(
            about="Pumped in one half-cycle, stored in the other; both capacitors alike.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["live", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "neutral", cathode = "a" } },
  { ref = "D2", kind = "diode", nodes = { anode = "a", cathode = "p" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["p", "neutral"] },
  { ref = "R1", kind = "resistor", value = "220k", nodes = ["p", "neutral"] },
""",
            finds=(("voltage-doubler", ("C1", "C2", "D1", "D2")),),
        ),
    ),
    counter_examples=(
        Example(
            about="Two capacitors in a row behind a bridge, their middle tied to nothing: they only share the voltage.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "47u", nodes = ["p", "k"] },
  { ref = "C2", kind = "capacitor", value = "47u", nodes = ["k", "m"] },
  { ref = "U1", kind = "converter", power = "20 W", nodes = { plus = "p", minus = "m" } },
""",
        ),
    ),
)
