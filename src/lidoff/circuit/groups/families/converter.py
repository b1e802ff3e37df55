"""The front end of a switch-mode converter: the stage itself with the capacitor and rectifier that feed it."""

from __future__ import annotations

from collections.abc import Iterator

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table


def find(scene: Scene) -> Iterator[Reading]:
    """Every converter, with what lies across its feed."""
    for unit in scene.net.of("converter"):
        bulk = scene.net.across(*unit.ends, "capacitor")
        fed = [r for r in scene.rectifiers if {r.plus, r.minus} == set(unit.ends)]
        power = sum(e.number("power") * e.series * e.parallel for e in unit.members)
        figures = {"power": (power, "W"), "least voltage": (unit.members[0].number("minimum_voltage"), "V")}
        remarks: tuple[str, ...] = ()
        if bulk:
            total = sum(c.value for c in bulk)
            figures["capacitance for each watt"] = (total / power, "F")
        elif not scene.net.of("bridge", "diode"):
            remarks = ("No rectifier was found that feeds it.",)
        behind = f" behind {listed(ref for r in fed for ref in r.refs)}" if fed else ""
        yield Reading(
            name="converter-front-end",
            title=f"converter {unit.label}{behind}",
            parts=own("converter", unit)
            + shared("bulk capacitor", *bulk)
            + shared("rectifier", *(u for r in fed for u in r.units)),
            weight=80.0,
            why=(
                f"{unit.label} takes the same power whatever its voltage, so its current rises where the voltage "
                f"falls; what lies beyond it is not in this record's circuit."
            ),
            figures=Table(figures),
            remarks=remarks,
        )


FAMILY = Family(
    title="Converter front ends",
    about="A switch-mode stage as the mains sees it.",
    names=Table({"converter-front-end": "a stage that takes constant power from its rectified feed"}),
    stage=60,
    find=find,
    examples=(
        Example(
            about="A charger's front end.",
            parts="""
  { ref = "R1", kind = "resistor", value = "10R", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "5 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("converter-front-end", ("BR1", "C1", "U1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A bridge and a capacitor without a converter.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },
  { ref = "R1", kind = "resistor", value = "100k", nodes = ["p", "m"] },
""",
        ),
    ),
)
