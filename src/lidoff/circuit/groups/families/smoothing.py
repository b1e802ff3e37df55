"""Smoothing behind a rectifier: capacitor input, a filter of two stages, capacitors in series, one across the LEDs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.direct import SMOOTHS, lines_of
from lidoff.circuit.groups.making import Parts, labels, own, shared
from lidoff.circuit.groups.match import Match, Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.outlets import Rectifier
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import listed, many, ref_order
from lidoff.record.model import Table

_PAIR: Final = (
    Want("upper", ("capacitor",), ("p", "k")),
    Want("lower", ("capacitor",), ("k", "m")),
)


def find(scene: Scene) -> Iterator[Reading]:
    """Capacitors between the plus and minus of each rectifier, and across LED strings."""
    used: set[Unit] = set()
    for rectifier in scene.rectifiers:
        reading, units = _behind(scene, rectifier)
        if reading is not None and not units <= used:
            used |= units
            yield reading
    for branch in scene.strings:
        for unit in scene.net.across(*branch.ends, "capacitor"):
            if unit in used or set(branch.ends) == set(scene.net.rails):
                continue
            used.add(unit)
            yield Reading(
                name="capacitor-input",
                title=f"capacitor across the LEDs ({unit.label})",
                parts=own("smoothing capacitor" if unit.value >= SMOOTHS else "bypass capacitor", unit),
                weight=58.0,
                why=f"{unit.label} stands straight across LEDs and carries their current between the peaks.",
                figures=Table({"capacitance": (unit.value, "F")}),
                remarks=_small(unit.value, unit.label),
            )


def _behind(scene: Scene, rectifier: Rectifier) -> tuple[Reading | None, set[Unit]]:
    net = scene.net
    plus, minus, joints = lines_of(scene, rectifier)
    whole = [u for u in net.of("capacitor") if _between(u, plus, minus)]
    pairs = [m for m in _pairs(scene, rectifier, plus, minus) if not set(m.parts.values()) & set(whole)]
    if not whole and not pairs:
        return None, set()
    halves = [unit for match in pairs for unit in match.parts.values()]
    balance = [u for match in pairs for unit in match.parts.values() for u in net.across(*unit.ends, "resistor")]
    chokes = [
        t.element.ref
        for t in scene.thin
        if t.element.kind in ("inductor", "choke") and set(t.roots) & (plus | minus) - set(net.rails) - scene.ac_nodes
    ]
    total = sum(unit.value for unit in whole) + sum(
        1.0 / (1.0 / m.parts["upper"].value + 1.0 / m.parts["lower"].value) for m in pairs
    )
    largest = max((unit.value for unit in whole), default=0.0)
    parts: Parts = ()
    for unit in whole:
        first = unit.value >= SMOOTHS or unit.value == largest
        parts += own("smoothing capacitor" if first else "bypass capacitor", unit)
    parts += own("smoothing capacitor, one of two in series", *halves) + own("balancing resistor", *balance)
    parts += own("filter resistor", *(unit for unit in joints if unit.kind == "resistor"))
    parts += tuple((ref, "filter choke", "own") for ref in sorted(chokes, key=ref_order))
    parts += shared("blocking diode", *(unit for unit in joints if unit.kind == "diode"))
    parts += shared("rectifier", *rectifier.units)
    capacitors = labels([*whole, *halves])
    figures = {"capacitance": (total, "F")}
    if scene.mains and scene.feeds_both(rectifier):
        figures["energy stored at the mains peak"] = (0.5 * total * scene.peak**2, "J")
    remarks = _small(total, listed(capacitors))
    if pairs and not balance:
        remarks += (
            f"No resistors share the voltage evenly between {listed(labels(halves))}: the one that leaks less takes "
            f"more.",
        )
    filters = [unit for unit in joints if unit.kind == "resistor"]
    if filters and any(unit.value >= 47.0 for unit in filters):
        remarks += (f"{listed(labels(filters))} also limits the current into what follows.",)
    stages = "capacitor input"
    if filters or chokes:
        several = sum(len(unit.members) for unit in whole) + len(pairs) > 1
        stages = "filter of two stages" if several else f"{'resistor' if filters else 'choke'} and capacitor"
    reading = Reading(
        name="capacitor-input",
        title=f"{stages} behind {listed(rectifier.refs)}",
        parts=parts,
        weight=60.0,
        why=(
            f"{listed(capacitors)} {many(len(capacitors), 'stands', 'stand')} between the plus and the minus of "
            f"{listed(rectifier.refs)} and {many(len(capacitors), 'holds', 'hold')} the voltage up between the peaks."
        ),
        figures=Table(figures),
        remarks=remarks,
    )
    return reading, {*whole, *halves}


def _between(unit: Unit, plus: set[str], minus: set[str]) -> bool:
    first, second = unit.ends
    return (first in plus and second in minus) or (first in minus and second in plus)


def _pairs(scene: Scene, rectifier: Rectifier, plus: set[str], minus: set[str]) -> list[Match]:
    """Two capacitors in series from plus to minus whose middle goes nowhere else but through balancing resistors."""
    found = []
    for first in plus:
        for second in minus:
            for match in matches(scene.net, _PAIR, {"p": first, "m": second}):
                middle = match.nodes["k"]
                others = [u for u in scene.net.joined_to(middle) if u not in match.parts.values()]
                if middle in scene.net.fixed or middle in rectifier.ac:
                    continue
                if all(u.kind == "resistor" and u.other(middle) in (first, second) for u in others):
                    found.append(match)
    return sorted(found, key=lambda match: tuple(unit.key for unit in match.parts.values()))


def _small(value: float, label: str) -> tuple[str, ...]:
    if value >= SMOOTHS:
        return ()
    return (f"{label} is too small to hold a load up between the peaks: it takes off noise and does not smooth.",)


FAMILY = Family(
    title="Smoothing",
    about="Capacitors between the plus and minus of a rectifier, with the resistor or choke between two stages.",
    names=Table({"capacitor-input": "capacitors that carry the load between the peaks"}),
    stage=50,
    find=find,
    examples=(
        Example(
            about="A capacitor straight behind a bridge; the fuse in the direct line is looked through.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "F1", kind = "fuse", nodes = ["p", "q"] },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["q", "m"] },
  { ref = "U1", kind = "converter", power = "9 W", nodes = { plus = "q", minus = "m" } },
""",
            finds=(("capacitor-input", ("BR1", "C1")),),
        ),
        Example(
            about="Two capacitors with a choke between them, and two in series with resistors that share the voltage.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },
  { ref = "L1", kind = "inductor", value = "1m", nodes = ["p", "q"] },
  { ref = "C2", kind = "capacitor", value = "22u", nodes = ["q", "k"] },
  { ref = "C3", kind = "capacitor", value = "22u", nodes = ["k", "m"] },
  { ref = "R1", kind = "resistor", value = "470k", nodes = ["q", "k"] },
  { ref = "R2", kind = "resistor", value = "470k", nodes = ["k", "m"] },
  { ref = "U1", kind = "converter", power = "9 W", nodes = { plus = "q", minus = "m" } },
""",
            finds=(("capacitor-input", ("BR1", "C1", "C2", "C3", "L1", "R1", "R2")),),
        ),
        Example(
            about="A resistor from the bridge to the capacitor across the LEDs, on the minus side.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "R1", kind = "resistor", value = "680R", nodes = ["x", "m"] },
  { ref = "C1", kind = "capacitor", value = "2u2", nodes = ["p", "x"] },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
""",
            finds=(("capacitor-input", ("BR1", "C1", "R1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A capacitor ahead of the bridge smooths nothing.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["live", "neutral"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "R1", kind = "resistor", value = "10k", nodes = ["p", "m"] },
""",
        ),
    ),
)
