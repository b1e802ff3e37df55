"""Loads: heaters, lamps, motors, relays, resistors that take real power, and the small parts that stand by them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import Parts, labels, own, power_of, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import counted, listed
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_LOADS: Final = ("heater", "lamp", "motor", "relay")
_WARM: Final = 1.0  # [W]: a resistor that could take less at the full mains is no load; common practice, no source
_WHY: Final = Table(
    {
        "heater": "turns what it takes into heat",
        "lamp": "turns what it takes into heat and some light",
        "motor": "turns what it takes into motion and heat",
        "relay": "pulls its contacts when enough current flows",
    }
)


def find(scene: Scene) -> Iterator[Reading]:
    """Loads by kind, in rows where they stand in rows, and resistors in a load's place."""
    done: set[Unit] = set()
    for chain in scene.net_chains:
        row = tuple(unit for unit in chain.units if unit.kind in _LOADS)
        done |= set(row)
        capacitors = tuple(u for u in chain.units if u.kind == "capacitor") if len(chain.units) == len(row) + 1 else ()
        if row:
            yield _load(scene, row, capacitors)
    for unit in scene.net.of(*_LOADS):
        if unit not in done:
            yield _load(scene, (unit,), ())
    yield from _in_row(scene)
    yield from _resistors(scene)


def _in_row(scene: Scene) -> Iterator[Reading]:
    """Resistors in a row with a load, and nothing joined between but what lies across the load."""
    for load in scene.net.of(*_LOADS):
        beside = {load, *scene.net.across(*load.ends)}
        for node in load.ends:
            others = [u for u in scene.net.joined_to(node) if u not in beside]
            if node not in scene.net.fixed and len(others) == 1 and others[0].kind == "resistor":
                unit = others[0]
                yield Reading(
                    name="series-resistor",
                    title=f"series resistor {unit.label} of {load.label}",
                    parts=own("series resistor", unit) + shared(KINDS[load.kind].title, load),
                    weight=25.0,
                    why=f"All the current of {load.label} flows through {unit.label}, which takes part of the voltage.",
                    figures=Table({"resistance": (unit.value, "ohm")}),
                    fallback=True,
                )


def _load(scene: Scene, row: tuple[Unit, ...], in_row: tuple[Unit, ...]) -> Reading:
    kinds = {unit.kind for unit in row}
    word = KINDS[row[0].kind].title if len(kinds) == 1 else "load"
    beside: Parts = ()
    remarks: tuple[str, ...] = ()
    for unit in row:
        diodes = [u for u in scene.net.across(*unit.ends, "diode") if u not in scene.rectifying]
        beside += own("freewheel diode", *diodes)
        if unit.kind in ("motor", "relay") and set(unit.ends) != set(scene.net.rails):
            beside += own(
                "suppression capacitor", *(u for u in scene.net.across(*unit.ends, "capacitor") if u.value < 1e-6)
            )
    figures: dict[str, tuple[float, str]] = {}
    for unit in row:
        for element in unit.members:
            if "power" in element.values:
                figures[f"rated power of {element.ref}"] = (element.number("power"), "W")
                figures[f"rated voltage of {element.ref}"] = (element.number("voltage"), "V")
    refs = listed(labels(row))
    if in_row:
        remarks += (
            f"{listed(labels(in_row))} in a row with {refs} lowers its voltage without heat: a speed or level set.",
        )
    title = f"{counted(len(row))} {word}s in a row, {refs}" if len(row) > 1 else f"{word} {refs}"
    return Reading(
        name="load",
        title=title,
        parts=own(word if len(kinds) == 1 else "load", *row) + own("series capacitor", *in_row) + beside,
        weight=78.0,
        why=f"{refs} {_WHY[row[0].kind]}."
        if len(row) == 1
        else f"{refs} stand in a row; each takes part of the voltage.",
        figures=Table(figures),
        remarks=remarks,
    )


def _resistors(scene: Scene) -> Iterator[Reading]:
    """Resistors that stand where a load stands and could take a watt or more at the supply's voltage."""
    places = set(scene.net.rails) | set(scene.ac_nodes)
    places |= {node for r in scene.rectifiers for node in (r.plus, r.minus)}
    places |= {node for latch in scene.net.of("triac", "thyristor") for node in latch.ends}
    direct = {frozenset((r.plus, r.minus)) for r in scene.rectifiers}
    for unit in scene.net.of("resistor"):
        power = power_of(scene.volts, unit.value)
        if power < _WARM or not set(unit.ends) <= places:
            continue
        straight = set(unit.ends) == set(scene.net.rails) or frozenset(unit.ends) in direct
        yield Reading(
            name="load",
            title=f"resistive load {unit.label}",
            parts=own("resistive load", unit) + shared("capacitor", *scene.net.across(*unit.ends, "capacitor")),
            weight=46.0,
            why=(
                f"{unit.label} stands "
                + ("across the supply" if straight else "in the way of the whole current")
                + " and turns what it takes into heat."
            ),
            figures=Table({"resistance": (unit.value, "ohm"), "power at the whole supply voltage": (power, "W")}),
            fallback=not straight,
        )


FAMILY = Family(
    title="Loads",
    about="Heaters, lamps, motors and relays, alone or in rows; a resistor that takes real power is a load as well.",
    names=Table(
        {"load": "what the rest is there for", "series-resistor": "a resistor that takes part of a load's voltage"}
    ),
    stage=80,
    find=find,
    examples=(
        Example(
            about="Two lamps in a row behind a fuse.",
            parts="""
  { ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] },
  { ref = "LA1", kind = "lamp", power = "15 W", voltage = "115 V", nodes = ["a", "b"] },
  { ref = "LA2", kind = "lamp", power = "15 W", voltage = "115 V", nodes = ["b", "neutral"] },
""",
            finds=(("load", ("LA1", "LA2")),),
        ),
        Example(
            about="A relay with its diode, behind a rectifier with a smoothing resistor.",
            parts="""
  { ref = "D1", kind = "diode", nodes = { anode = "live", cathode = "a" } },
  { ref = "R1", kind = "resistor", value = "4k7", nodes = ["a", "p"] },
  { ref = "C1", kind = "capacitor", value = "22u", nodes = ["p", "neutral"] },
  { ref = "K1", kind = "relay", resistance = "10k", nodes = ["p", "neutral"] },
  { ref = "D2", kind = "diode", nodes = { anode = "neutral", cathode = "p" } },
""",
            finds=(("load", ("D2", "K1")),),
        ),
        Example(
            about="A lamp with a resistor in a row.",
            parts="""
  { ref = "R1", kind = "resistor", value = "100R", nodes = ["live", "a"] },
  { ref = "LA1", kind = "lamp", power = "15 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
            finds=(("load", ("LA1",)), ("series-resistor", ("LA1", "R1"))),
        ),
    ),
    counter_examples=(
        Example(
            about="A megohm across the mains warms nothing.",
            parts="""
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "neutral"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["live", "neutral"] },
""",
        ),
    ),
)
