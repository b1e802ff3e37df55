"""Valley-fill: two capacitors charged in series near the peak and emptied side by side in the valley."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from lidoff.circuit.groups.making import own
from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table

_ENDS: Final = (
    Want("upper capacitor", ("capacitor",), ("p", "a")),
    Want("lower capacitor", ("capacitor",), ("b", "m")),
    Want("upper emptying diode", ("diode",), ("b", "p")),
    Want("lower emptying diode", ("diode",), ("m", "a")),
)
_PLAIN: Final = (*_ENDS, Want("charging diode", ("diode",), ("a", "b")))
_BEFORE: Final = (
    *_ENDS,
    Want("charging diode", ("diode",), ("c", "b")),
    Want("charging resistor", ("resistor",), ("a", "c")),
)
_BEHIND: Final = (
    *_ENDS,
    Want("charging diode", ("diode",), ("a", "c")),
    Want("charging resistor", ("resistor",), ("c", "b")),
)


def find(scene: Scene) -> Iterator[Reading]:
    """Two capacitors and three diodes in the valley-fill arrangement, with or without a charging resistor."""
    for pattern in (_PLAIN, _BEFORE, _BEHIND):
        for match in matches(scene.net, pattern):
            upper, lower = match.parts["upper capacitor"], match.parts["lower capacitor"]
            figures = {"capacitance of each": (min(upper.value, lower.value), "F")}
            if scene.mains:
                figures["half the mains peak"] = (scene.peak / 2.0, "V")
            remarks: tuple[str, ...] = ()
            if max(upper.value, lower.value) > 1.5 * min(upper.value, lower.value):
                remarks = (
                    f"{upper.label} and {lower.label} differ, so they do not share the peak in halves: read both "
                    f"again.",
                )
            yield Reading(
                name="valley-fill",
                title=f"valley-fill of {upper.label} and {lower.label}",
                parts=tuple(part for role, unit in match.parts.items() for part in own(role, unit)),
                weight=97.0,
                why=(
                    f"{upper.label} and {lower.label} charge in a row through {match.parts['charging diode'].label} "
                    f"and empty side by side through {listed(_emptying(match.parts))}: between the peaks the direct "
                    f"voltage rests at half the peak."
                ),
                figures=Table(figures),
                remarks=remarks,
            )


def _emptying(parts: Mapping[str, Unit]) -> list[str]:
    return [parts["upper emptying diode"].label, parts["lower emptying diode"].label]


FAMILY = Family(
    title="Valley-fill",
    about="A cheap way to draw current over more of the cycle: half the peak is held in the valley.",
    names=Table({"valley-fill": "two capacitors, charged in series and emptied in parallel"}),
    stage=51,
    find=find,
    examples=(
        Example(
            about="The usual three diodes, with a resistor that softens the charging peak.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "m", cathode = "a" } },
  { ref = "D2", kind = "diode", nodes = { anode = "a", cathode = "c" } },
  { ref = "R1", kind = "resistor", value = "22R", nodes = ["c", "b"] },
  { ref = "D3", kind = "diode", nodes = { anode = "b", cathode = "p" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["b", "m"] },
  { ref = "U1", kind = "converter", power = "12 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("valley-fill", ("C1", "C2", "D1", "D2", "D3", "R1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="Two capacitors in series with one diode between them are no valley-fill.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "a"] },
  { ref = "D2", kind = "diode", nodes = { anode = "a", cathode = "b" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["b", "m"] },
  { ref = "U1", kind = "converter", power = "12 W", nodes = { plus = "p", minus = "m" } },
""",
        ),
    ),
)
