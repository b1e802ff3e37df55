"""Snubbers: a resistor and a capacitor in a row across something that switches; and pairs that only look like one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import computed
from lidoff.kinds import KINDS
from lidoff.record.model import Table

SLOW: Final = 200e-6
"""[s] A snubber acts in the microseconds in which its part turns off (worked examples: 50 Ω with 135 nF, 100 Ω with
100 nF). A pair twenty times slower does not act in time. The limit itself is common practice, no source."""

_SWITCHING: Final = (
    "triac",
    "thyristor",
    "switch",
    "thermostat",
    "relay",
    "diode",
    "bridge",
    "motor",
    "transformer",
    "inductor",
)
_PAIR: Final = (
    Want("snubber resistor", ("resistor",), ("a", "k")),
    Want("snubber capacitor", ("capacitor",), ("k", "b")),
)
_BLEEDS: Final = 47e3  # [ohm]: a resistor this large across the capacitor only empties it


def find(scene: Scene) -> Iterator[Reading]:
    """A resistor and a capacitor in a row, nothing else between them, across something that switches."""
    seen: set[tuple[str, ...]] = set()
    for net in (scene.net, scene.plain):
        for match in matches(net, _PAIR):
            resistor, capacitor = match.parts["snubber resistor"], match.parts["snubber capacitor"]
            ends = (match.nodes["a"], match.nodes["b"])
            bleeders = tuple(u for u in net.across(match.nodes["k"], ends[1], "resistor") if u.value >= _BLEEDS)
            refs = tuple(sorted(match.refs))
            if refs in seen or not net.alone(match.nodes["k"], resistor, capacitor, *bleeders):
                continue
            across = _across(net, ends, (resistor, capacitor))
            if across is None and set(ends) != set(net.rails):
                continue
            seen.add(refs)
            yield _reading(scene, resistor, capacitor, bleeders, across)


def _across(net: Net, ends: tuple[str, str], without: tuple[Unit, ...]) -> Unit | None:
    """The part that switches between these nodes; the first of those that come first in the list above."""
    there = [u for u in net.across(*ends, *_SWITCHING) if u not in without]
    return min(there, key=lambda u: (_SWITCHING.index(u.kind), u.key)) if there else None


def _reading(scene: Scene, resistor: Unit, capacitor: Unit, bleeders: tuple[Unit, ...], across: Unit | None) -> Reading:
    slow = resistor.value * capacitor.value > SLOW
    place = f"across {across.label}" if across is not None else "across the mains"
    figures = {"time constant": (resistor.value * capacitor.value, "s")}
    if scene.mains:
        reactance = 1.0 / (scene.omega * capacitor.value)
        whole = math.hypot(resistor.value, reactance)
        figures["leakage current with the whole mains across it"] = (scene.volts / whole, "A")
    remarks = unlike(resistor, "snubber resistor") + unlike(capacitor, "snubber capacitor")
    parts = own("bleeder resistor", *bleeders)
    if slow:
        name, title = "no-snubber", f"resistor and capacitor {place}, too slow for a snubber"
        parts += own("resistor in the snubber's place", resistor) + own("capacitor in the snubber's place", capacitor)
        why = (
            f"{resistor.label} and {capacitor.label} stand where a snubber stands, {place}, but with a time constant "
            f"of {computed(figures['time constant'][0], 's')} they do nothing in the microseconds that count: as "
            f"read, this is no snubber."
        )
    else:
        name, title = "snubber", f"snubber {place}"
        parts += own("snubber resistor", resistor) + own("snubber capacitor", capacitor)
        reason = _REASON.get(across.kind, "") if across is not None else " and damp what the wiring rings with"
        why = f"{resistor.label} and {capacitor.label} stand in a row {place}{reason}."
    if across is not None:
        parts += shared(KINDS[across.kind].title, across)
    return Reading(name=name, title=title, parts=parts, weight=80.0, why=why, figures=Table(figures), remarks=remarks)


_REASON: Final = Table(
    {
        "triac": " and slow the voltage that rises when it turns off, so that it does not fire by itself",
        "thyristor": " and slow the voltage that rises when it turns off, so that it does not fire by itself",
        "switch": " and take the spark when the contact opens",
        "thermostat": " and take the spark when the contact opens",
        "relay": " and take the spark of its coil",
        "diode": " and damp its ringing when it turns off",
        "bridge": " and damp the ringing when its diodes turn off",
        "motor": " and take the sparks of its brushes",
        "transformer": " and damp its ringing",
        "inductor": " and damp its ringing",
    }
)


FAMILY = Family(
    title="Snubbers",
    about="A resistor and a capacitor in a row across a part that switches. They pass a little current at all times.",
    names=Table(
        {
            "snubber": "slows the voltage across a switching part",
            "no-snubber": "the same two parts, but with a time constant that makes them none",
        }
    ),
    stage=22,
    find=find,
    examples=(
        Example(
            about="Across a triac, with the interference choke looked through.",
            parts="""
  { ref = "L1", kind = "inductor", value = "100u", nodes = ["live", "a"] },
  { ref = "Q1", kind = "triac", nodes = { mt1 = "a", mt2 = "x", gate = "g" } },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "R1", kind = "resistor", value = "47R", nodes = ["x", "s"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["s", "live"] },
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
            finds=(("snubber", ("C1", "Q1", "R1")),),
        ),
        Example(
            about="A resistor read as 150 k: no snubber, and more likely a misread band.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "R1", kind = "resistor", value = "150k", nodes = ["x", "s"] },
  { ref = "C1", kind = "capacitor", value = "47n", nodes = ["s", "live"] },
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
            finds=(("no-snubber", ("C1", "Q1", "R1")),),
        ),
        Example(
            about="Across a thermostat's contact.",
            parts="""
  { ref = "TH1", kind = "thermostat", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "100R", nodes = ["live", "s"] },
  { ref = "C1", kind = "capacitor", value = "47n", nodes = ["s", "a"] },
  { ref = "EH1", kind = "heater", power = "500 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
            finds=(("snubber", ("C1", "R1", "TH1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A timing network has the same two parts in a row, but the diac is joined between them.",
            parts="""
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R1", kind = "resistor", value = "100k", nodes = ["x", "t"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "live"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["x", "neutral"] },
""",
        ),
    ),
)
