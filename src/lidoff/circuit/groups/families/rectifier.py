"""Rectifiers: a bridge in one piece, four diodes that form one, a single diode, a diode that only blocks."""

from __future__ import annotations

from collections.abc import Iterator

from lidoff.circuit.groups.making import own
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table


def find(scene: Scene) -> Iterator[Reading]:
    """Every rectifier, and diodes in a direct line that merely block."""
    for rectifier in scene.rectifiers:
        refs = listed(rectifier.refs)
        figures = {"diodes in the path": (2.0 if rectifier.both else 1.0, "")}
        if scene.mains and scene.feeds_both(rectifier):
            figures["highest voltage out"] = (scene.peak, "V")
        if rectifier.sort == "bridge":
            title, role = f"bridge rectifier {refs}", "bridge"
            why = f"{refs} turns both half-cycles of what reaches its two alternating pins into the same direction."
        elif rectifier.sort == "bridge of diodes":
            lit = any(unit.kind == "led" for unit in rectifier.units)
            title = "bridge whose arms are LEDs" if lit else "bridge rectifier of four diodes"
            role = "bridge arm"
            why = (
                f"{refs} lead in pairs from two nodes to a common plus and from a common minus back to them: "
                f"together they are a bridge."
            )
        else:
            title, role = f"half-wave rectifier {refs}", "rectifier diode"
            why = f"Everything behind {refs} goes back to the other end of the supply, so only one half-cycle feeds it."
        remarks: tuple[str, ...] = ()
        if rectifier.sort == "half-wave" and scene.mains and scene.rail_of(rectifier.ac[0]):
            remarks = ("It draws direct current from the mains: one half-cycle only.",)
        yield Reading(
            name="half-wave-rectifier" if rectifier.sort == "half-wave" else "bridge-rectifier",
            title=title,
            parts=own(role, *rectifier.units),
            weight=55.0 if rectifier.sort == "half-wave" else 95.0,
            why=why,
            figures=Table(figures),
            remarks=remarks,
        )
    yield from _blocking(scene)


def _blocking(scene: Scene) -> Iterator[Reading]:
    direct = {node for rectifier in scene.rectifiers for node in (rectifier.plus, rectifier.minus)}
    for unit in scene.net.of("diode"):
        if unit in scene.rectifying:
            continue
        anode, cathode = unit.ends
        forward = anode in {r.plus for r in scene.rectifiers} or cathode in {r.minus for r in scene.rectifiers}
        if forward and not set(unit.ends) <= direct:
            yield Reading(
                name="blocking-diode",
                title=f"blocking diode {unit.label}",
                parts=own("blocking diode", unit),
                weight=20.0,
                why=f"{unit.label} stands in the direct line and lets current only leave the rectifier.",
                fallback=True,
            )


FAMILY = Family(
    title="Rectifiers",
    about="One bridge part, four diodes that form a bridge, or one diode: what makes direct out of alternating.",
    names=Table(
        {
            "bridge-rectifier": "both half-cycles, through two diodes at a time",
            "half-wave-rectifier": "one half-cycle, through one diode",
            "blocking-diode": "a diode in the direct line that keeps current from coming back",
        }
    ),
    stage=40,
    find=find,
    examples=(
        Example(
            about="Four loose diodes form a bridge just as one part does.",
            parts="""
  { ref = "D1", kind = "diode", nodes = { anode = "live", cathode = "p" } },
  { ref = "D2", kind = "diode", nodes = { anode = "neutral", cathode = "p" } },
  { ref = "D3", kind = "diode", nodes = { anode = "m", cathode = "live" } },
  { ref = "D4", kind = "diode", nodes = { anode = "m", cathode = "neutral" } },
  { ref = "R1", kind = "resistor", value = "10k", nodes = ["p", "m"] },
""",
            finds=(("bridge-rectifier", ("D1", "D2", "D3", "D4")),),
        ),
        Example(
            about="A diode before a lamp passes one half-cycle.",
            parts="""
  { ref = "D1", kind = "diode", nodes = { anode = "live", cathode = "x" } },
  { ref = "LA1", kind = "lamp", power = "25 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
            finds=(("half-wave-rectifier", ("D1",)),),
        ),
        Example(
            about="A diode between a bridge and its capacitor only blocks.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["p", "m"] },
  { ref = "D1", kind = "diode", nodes = { anode = "p", cathode = "q" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["q", "m"] },
  { ref = "U1", kind = "converter", power = "5 W", nodes = { plus = "q", minus = "m" } },
""",
            finds=(("bridge-rectifier", ("BR1",)), ("blocking-diode", ("D1",))),
        ),
    ),
    counter_examples=(
        Example(
            about="A diode across a relay coil rectifies nothing: it lets the coil's current die away.",
            parts="""
  { ref = "R1", kind = "resistor", value = "10k", nodes = ["live", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "neutral", cathode = "a" } },
  { ref = "K1", kind = "relay", resistance = "12k", nodes = ["a", "neutral"] },
""",
        ),
        Example(
            about="Four diodes in a ring are no bridge.",
            parts="""
  { ref = "D1", kind = "diode", nodes = { anode = "a", cathode = "b" } },
  { ref = "D2", kind = "diode", nodes = { anode = "b", cathode = "c" } },
  { ref = "D3", kind = "diode", nodes = { anode = "c", cathode = "d" } },
  { ref = "D4", kind = "diode", nodes = { anode = "d", cathode = "a" } },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["live", "a"] },
  { ref = "R2", kind = "resistor", value = "1k", nodes = ["b", "neutral"] },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["c", "neutral"] },
  { ref = "R4", kind = "resistor", value = "1k", nodes = ["d", "neutral"] },
""",
        ),
    ),
)
