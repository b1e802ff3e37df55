"""Half-wave heat setting: a diode in the line of a heater or lamp, and a switch that goes round it."""

from __future__ import annotations

from collections.abc import Iterator

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.words import listed
from lidoff.record.model import Table


def find(scene: Scene) -> Iterator[Reading]:
    """Every diode that a switch or thermostat bypasses."""
    for chain in scene.bridging:
        diodes = [unit for unit in chain.units if unit.kind == "diode"]
        if not diodes or any(unit.kind not in ("diode", "switch", "thermostat") for unit in chain.units):
            continue
        bypass = [
            unit
            for unit in scene.plain.of("switch", "thermostat")
            if set(unit.ends) == set(chain.ends) and unit not in chain.units
        ]
        if not bypass:
            continue
        selector = [unit for unit in chain.units if unit.kind != "diode"]
        joint = scene.root(chain.ends[0])
        loads = [u for u in scene.net.joined_to(joint) if u.kind in ("heater", "lamp", "motor")]
        names = listed(unit.label for unit in loads) or "what is in a row with it"
        yield Reading(
            name="half-wave-setting",
            title=f"half-wave setting with {listed(u.label for u in diodes)}",
            parts=(
                own("half-wave diode", *diodes)
                + own("bypass switch", *bypass)
                + own("setting switch", *selector)
                + shared("load", *loads)
            ),
            weight=85.0,
            why=(
                f"With {listed(u.label for u in bypass)} open, {listed(u.label for u in diodes)} lets one half-cycle "
                f"through to {names}: half the power. Closed, the switch goes round it."
            ),
            figures=Table({"share of full power on the half setting": (0.5, "")}),
            remarks=("On the half setting it draws direct current from the mains.",),
        )


FAMILY = Family(
    title="Half-wave heat setting",
    about="A diode with a switch across it: half the power at one setting, all of it at the other.",
    names=Table({"half-wave-setting": "a diode that a switch goes round"}),
    stage=24,
    find=find,
    examples=(
        Example(
            about="A heating pad with two settings.",
            parts="""
  { ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "a", cathode = "b" } },
  { ref = "S1", kind = "switch", nodes = ["a", "b"] },
  { ref = "EH1", kind = "heater", power = "60 W", voltage = "230 V", nodes = ["b", "neutral"] },
""",
            finds=(("half-wave-setting", ("D1", "EH1", "S1")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A diode with a switch in a row: off or half, but never full.",
            parts="""
  { ref = "S1", kind = "switch", nodes = ["live", "a"] },
  { ref = "D1", kind = "diode", nodes = { anode = "a", cathode = "b" } },
  { ref = "EH1", kind = "heater", power = "60 W", voltage = "230 V", nodes = ["b", "neutral"] },
""",
        ),
    ),
)
