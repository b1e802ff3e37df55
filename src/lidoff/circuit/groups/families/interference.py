"""Interference suppression at the part that makes it: a capacitor across a triac with its choke, or across a diode."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import Parts, labels, own
from lidoff.circuit.groups.model import Example, Family, Reading, Tie
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import listed
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_SMALL: Final = 100e-9  # [F]: most for a capacitor across a diode; common practice, no source


def find(scene: Scene) -> Iterator[Reading]:
    """Capacitors straight across triacs and thyristors, the chokes next to them, and capacitors across diodes."""
    for latch in scene.net.of("triac", "thyristor"):
        yield from _at_latch(scene, latch)
    for unit in scene.net.of("diode"):
        for capacitor in scene.net.across(*unit.ends, "capacitor"):
            if capacitor.value <= _SMALL:
                yield _across_diode(unit, capacitor)


def _at_latch(scene: Scene, latch: Unit) -> Iterator[Reading]:
    capacitors = scene.net.across(*latch.ends, "capacitor")
    chokes = [
        thin for thin in scene.thin if thin.element.kind in ("inductor", "choke") and set(thin.roots) & set(latch.ends)
    ]
    if not capacitors and not any(_apart(scene, thin.roots) for thin in chokes):
        return
    word = KINDS[latch.kind].title
    parts: Parts = own("suppression capacitor", *capacitors)
    for thin in chokes:
        tie: Tie = "own" if _apart(scene, thin.roots) else "shared"
        parts += ((thin.element.ref, "interference choke", tie),)
    parts += tuple((ref, word, "shared") for ref in latch.refs)
    remarks: tuple[str, ...] = ()
    for capacitor in capacitors:
        remarks += unlike(capacitor, "suppression capacitor")
    if capacitors and not chokes:
        remarks += (
            f"No choke and no resistor stand between {listed(labels(capacitors))} and {latch.label}: each firing "
            f"empties the capacitor through it at once. Look for what was missed.",
        )
    figures = {f"capacitance of {u.label}": (u.value, "F") for u in capacitors}
    figures |= {f"inductance of {t.element.ref}": (t.element.number("value"), "H") for t in chokes}
    names = [*labels(capacitors), *(thin.element.ref for thin in chokes)]
    yield Reading(
        name="interference-filter",
        title=f"interference filter at {latch.label}",
        parts=parts,
        weight=60.0,
        why=f"{listed(names)} keep the sharp edge at each firing of {latch.label} from reaching the mains.",
        figures=Table(figures),
        remarks=remarks,
    )


def _apart(scene: Scene, roots: tuple[str, ...]) -> bool:
    """Whether a choke stands in no line of the mains, so that the input stage does not have it."""
    return not (scene.mains and any(scene.is_rail(root) for root in roots))


def _across_diode(diode: Unit, capacitor: Unit) -> Reading:
    return Reading(
        name="interference-filter",
        title=f"noise capacitor across {diode.label}",
        parts=own("noise capacitor", capacitor) + tuple((ref, "diode", "shared") for ref in diode.refs),
        weight=35.0,
        why=f"{capacitor.label} lies across {diode.label} and takes the noise of its turning off.",
        figures=Table({f"capacitance of {capacitor.label}": (capacitor.value, "F")}),
        fallback=True,
    )


FAMILY = Family(
    title="Interference suppression",
    about="A choke and a capacitor at a triac, or a small capacitor across a diode.",
    names=Table({"interference-filter": "keeps switching noise where it is made"}),
    stage=21,
    find=find,
    examples=(
        Example(
            about="A capacitor across triac and choke together, the choke on the load's side.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "a", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["a", "g"] },
  { ref = "L1", kind = "inductor", value = "100u", nodes = ["a", "x"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["x", "live"] },
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
            finds=(("interference-filter", ("C1", "L1", "Q1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="With a resistor in a row the capacitor across the triac is a snubber.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "R2", kind = "resistor", value = "100R", nodes = ["x", "s"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["s", "live"] },
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
        ),
    ),
)
