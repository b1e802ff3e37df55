"""Discharge resistors: what empties a capacitor after the plug is pulled."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import labels, own, power_of, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import computed, listed, many
from lidoff.record.model import Table

_LEAST: Final = 10e3  # [ohm]
_PINS: Final = 34.0  # [V] at the plug pins one second after it is pulled: common to appliance standards
_DIRECT: Final = 60.0  # [V dc]: what the standards of electronic equipment take for the limit of touch (from memory)
WORKS: Final = 1.0  # [W]: a resistor that takes more is rather a load; common practice, no source


def find(scene: Scene) -> Iterator[Reading]:
    """Resistors across the mains, across an X capacitor, or across a capacitor on the direct side."""
    net = scene.net
    direct = {frozenset((r.plus, r.minus)) for r in scene.rectifiers}
    for unit in net.of("resistor"):
        if unit.value < _LEAST:
            continue
        capacitors = list(net.across(*unit.ends, "capacitor"))
        on_line = set(unit.ends) == set(net.rails) and scene.mains
        on_direct = frozenset(unit.ends) in direct and not on_line
        if capacitors or on_line or on_direct:
            yield _reading(scene, unit, capacitors, on_line, on_direct)


def _reading(scene: Scene, unit: Unit, capacitors: list[Unit], on_line: bool, on_direct: bool) -> Reading:
    figures = {"resistance": (unit.value, "ohm")}
    remarks: tuple[str, ...] = unlike(unit, "discharge resistor") if on_line else ()
    total = sum(c.value for c in capacitors)
    power = 0.0
    if scene.mains:
        power = power_of(scene.volts if on_line else scene.peak, unit.value)
        figures["loss at the mains voltage" if on_line else "loss at the mains peak"] = (power, "W")
    if capacitors:
        figures["time constant"] = (unit.value * total, "s")
        limit = _PINS if on_line else _DIRECT
        if scene.mains and scene.peak > limit and (on_line or on_direct):
            wait = unit.value * total * math.log(scene.peak / limit)
            figures[f"time from the mains peak to {limit:g} V"] = (wait, "s")
            if on_line and wait > 1.0:
                remarks += (
                    f"From the mains peak the plug pins take {computed(wait, 's')} to fall to 34 V; one second is what "
                    f"appliance standards commonly ask.",
                )
    if capacitors:
        where = listed(labels(capacitors))
        verbs = many(len(unit.refs), "lies", "lie"), many(len(unit.refs), "empties", "empty")
        them = many(len(labels(capacitors)), "it", "them")
        why = f"{unit.label} {verbs[0]} across {where} and {verbs[1]} {them}."
    else:
        where = "the mains" if on_line else "the direct side"
        verb = many(len(unit.refs), "lies", "lie")
        why = f"{unit.label} {verb} across {where}; that would empty whatever capacitor is joined there."
    return Reading(
        name="discharge-resistor",
        title=f"discharge resistor across {where}",
        parts=own("discharge resistor", unit) + shared("capacitor", *capacitors),
        weight=50.0 if power <= WORKS else 42.0,
        why=why,
        figures=Table(figures),
        remarks=remarks,
        fallback=not (on_line or on_direct),
    )


FAMILY = Family(
    title="Discharge resistors",
    about="Resistors that empty an X capacitor or a smoothing capacitor after the plug is pulled.",
    names=Table({"discharge-resistor": "empties a capacitor that would keep its charge"}),
    stage=16,
    find=find,
    examples=(
        Example(
            about="Two resistors in a row across an X capacitor behind the fuse.",
            parts="""
  { ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] },
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["a", "neutral"] },
  { ref = "R1", kind = "resistor", value = "470k", nodes = ["a", "k"] },
  { ref = "R2", kind = "resistor", value = "470k", nodes = ["k", "neutral"] },
  { ref = "M1", kind = "motor", resistance = "90R", nodes = ["a", "neutral"] },
""",
            finds=(("discharge-resistor", ("C1", "R1", "R2")),),
        ),
        Example(
            about="Across the smoothing capacitor of a lamp.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },
  { ref = "R1", kind = "resistor", value = "470k", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "5 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("discharge-resistor", ("C1", "R1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="The same two parts in the line: the resistor is the bleeder of a dropper.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 12, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "m" } },
""",
        ),
    ),
)
