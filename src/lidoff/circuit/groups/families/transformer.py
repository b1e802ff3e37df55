"""Transformer supplies: a transformer and what its secondary feeds."""

from __future__ import annotations

from collections.abc import Iterator

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table


def find(scene: Scene) -> Iterator[Reading]:
    """Every transformer, with the rectifier on its secondary."""
    for unit in scene.net.of("transformer"):
        second = {unit.pin("s1"), unit.pin("s2")}
        fed = [r for r in scene.rectifiers if second & set(r.ac)]
        ratio = unit.members[0].number("ratio")
        figures: dict[str, tuple[float, str]] = {"turns ratio": (ratio, "")}
        if scene.mains:
            figures["voltage of the secondary with no load"] = (scene.volts / ratio, "V")
        apart = not any(second & scene.net.reached(rail, (), without=(unit,))[0] for rail in scene.net.rails)
        remarks: tuple[str, ...] = ()
        if not apart:
            remarks = (
                "A path that is not the transformer joins its two sides: the output is not separated from the mains.",
            )
        behind = f" and {listed(ref for r in fed for ref in r.refs)}" if fed else ""
        yield Reading(
            name="transformer-supply",
            title=f"transformer supply with {unit.label}{behind}",
            parts=own("transformer", unit) + shared("rectifier", *(u for r in fed for u in r.units)),
            weight=80.0,
            why=f"{unit.label} lowers the mains by its turns ratio of {ratio:.3g}; its two sides share no copper here."
            if apart
            else f"{unit.label} lowers the mains by its turns ratio of {ratio:.3g}.",
            figures=Table(figures),
            remarks=remarks,
        )


FAMILY = Family(
    title="Transformer supplies",
    about="A mains transformer with what its secondary feeds.",
    names=Table({"transformer-supply": "a transformer, and the rectifier behind it"}),
    stage=28,
    find=find,
    examples=(
        Example(
            about="A plug-in supply: thermal fuse, transformer, bridge, capacitor.",
            parts="""
  { ref = "F1", kind = "fuse", nodes = ["live", "a"] },
  { ref = "T1", kind = "transformer", ratio = 19, nodes = { p1 = "a", p2 = "neutral", s1 = "x", s2 = "y" } },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "x", ac2 = "y", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "1000u", nodes = ["p", "m"] },
  { ref = "R1", kind = "resistor", value = "33R", nodes = ["p", "m"] },
""",
            finds=(("transformer-supply", ("BR1", "T1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A choke with two windings is no transformer.",
            parts="""
  { ref = "L1", kind = "choke", value = "10m", nodes = { a1 = "live", a2 = "a", b1 = "neutral", b2 = "b" } },
  { ref = "LA1", kind = "lamp", power = "25 W", voltage = "230 V", nodes = ["a", "b"] },
""",
        ),
    ),
)
