"""Capacitor droppers: a capacitor in the line whose reactance sets the current, with its bleeder and surge resistor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.making import own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.outlets import Rectifier
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import computed, listed
from lidoff.record.model import Table

_BLEEDS: Final = 10e3  # [ohm]: a smaller resistor across the capacitor carries the current itself
_SURGE: Final = 5e3  # [ohm]: a larger one would be the dropper
_LARGEST: Final = 30e-6  # [F]
_TOUCH: Final = 34.0  # [V] after one second at the plug pins: the figure common to household appliance standards


def find(scene: Scene) -> Iterator[Reading]:
    """Capacitors in series between a rail and what rectifies."""
    net = scene.net
    for unit in net.of("capacitor"):
        if unit.value > _LARGEST or set(unit.ends) <= set(net.rails):
            continue
        readings = [
            _reading(scene, unit, near, far, surge)
            for near, far in (unit.ends, unit.ends[::-1])
            for surge in _surges(scene, unit, near, far)
        ]
        if readings:
            yield max(readings, key=lambda reading: (reading.weight, len(reading.parts), reading.parts))


def _surges(scene: Scene, unit: Unit, near: str, far: str) -> Iterator[tuple[Unit, ...]]:
    """The resistors in a row with the capacitor on its way from a rail (near side) to what rectifies (far side).

    Nothing, where it is not on such a way.
    """
    firsts = [u for u in _resistors(scene, near, unit) if scene.is_rail(u.other(near))]
    for first in [(), *((u,) for u in firsts)]:
        start = first[0].other(near) if first else near
        if not scene.is_rail(start):
            continue
        for second in [(), *((u,) for u in _resistors(scene, far, unit))]:
            end = second[0].other(far) if second else far
            if not scene.is_rail(end) and not set(first) & set(second) and _feeds(scene, unit, start, end):
                yield (*first, *second)


def _feeds(scene: Scene, unit: Unit, start: str, end: str) -> bool:
    """Whether something that rectifies is fed at `end` and not by `start` as well; nor a triac across both."""
    if scene.net.across(start, end, "triac", "thyristor"):
        return False
    return any(end in r.ac and start not in r.ac for r in scene.rectifiers) or any(
        end in branch.ends and start not in branch.ends and set(branch.ends) != set(unit.ends)
        for branch in scene.strings
    )


def _resistors(scene: Scene, node: str, beside: Unit) -> list[Unit]:
    return [
        unit
        for unit in scene.net.joined_to(node)
        if unit.kind == "resistor" and unit.value <= _SURGE and set(unit.ends) != set(beside.ends)
    ]


def _reading(scene: Scene, unit: Unit, near: str, far: str, surge: tuple[Unit, ...]) -> Reading:
    net = scene.net
    start, end = _outer(near, far, surge)
    bleeders = [u for u in net.across(near, far, "resistor") if u.value >= _BLEEDS]
    if surge:
        bleeders += [u for u in net.across(start, end, "resistor") if u.value >= _BLEEDS and u not in bleeders]
    rectifier = next((r for r in scene.rectifiers if end in r.ac and start not in r.ac), None)
    back = next(iter(set(net.rails) - {start}), None)
    returns = (
        [] if back is None or (rectifier is not None and rectifier.both) else _returns(scene, end, back, rectifier)
    )
    figures, remarks = _figures(scene, unit, bleeders, surge, rectifier, returns)
    parts = own("dropper capacitor", unit) + own("bleeder resistor", *bleeders) + own("surge resistor", *surge)
    parts += own("return diode", *(u for u in returns if u.kind == "diode"))
    parts += shared("return path", *(u for u in returns if u.kind != "diode"))
    if rectifier is not None:
        parts += shared("rectifier", *rectifier.units)
    return Reading(
        name="capacitor-dropper",
        title=f"capacitor dropper {unit.label}",
        parts=parts,
        weight=85.0,
        why=(
            f"{unit.label} stands in the line ahead of {_fed(scene, rectifier, end)}: it lets through only the charge "
            f"that it takes and gives back in each half-cycle, and turns none of the rest into heat."
        ),
        figures=Table(figures),
        remarks=remarks,
    )


def _outer(near: str, far: str, surge: tuple[Unit, ...]) -> tuple[str, str]:
    start, end = near, far
    for resistor in surge:
        if near in resistor.ends:
            start = resistor.other(near)
        else:
            end = resistor.other(far)
    return start, end


def _returns(scene: Scene, end: str, back: str, rectifier: Rectifier | None) -> list[Unit]:
    used = set(rectifier.units) if rectifier is not None else set()
    return [u for u in scene.net.across(end, back, "diode", "zener", "led") if u not in used]


def _fed(scene: Scene, rectifier: Rectifier | None, end: str) -> str:
    if rectifier is not None:
        return listed(rectifier.refs)
    return listed(u.label for u in scene.net.joined_to(end) if u.kind == "led") or "the LEDs"


def _figures(
    scene: Scene,
    unit: Unit,
    bleeders: list[Unit],
    surge: tuple[Unit, ...],
    rectifier: Rectifier | None,
    returns: list[Unit],
) -> tuple[dict[str, tuple[float, str]], tuple[str, ...]]:
    figures: dict[str, tuple[float, str]] = {}
    remarks = unlike(unit, "dropper capacitor")
    if scene.mains:
        figures["reactance"] = (1.0 / (scene.omega * unit.value), "ohm")
        both = rectifier is None or rectifier.both
        clamps = [u.value for u in returns if u.kind == "zener"]
        load = min(clamps) if clamps else _load_voltage(scene, rectifier)
        if load is not None and (both or returns):
            # Charge balance: the capacitor's voltage swings by twice the peak less what the load takes, twice a cycle
            # through a bridge and once through a half-wave rectifier. A zener in the return limits the swing itself.
            drops = 0.7 * (1.0 if clamps else 2.0)
            swing = 2.0 * (scene.peak - load - 2.0 * 0.7) if both else 2.0 * scene.peak - load - drops
            if swing > 0.0:
                share = 2.0 if both else 1.0
                figures["mean current by charge balance"] = (share * scene.supply.frequency * unit.value * swing, "A")
                figures["load voltage"] = (load, "V")
    if rectifier is not None and not rectifier.both and not returns:
        remarks += (
            f"No way back was found for the other half-cycle (a diode or zener from the rectifier's feed to the "
            f"return): without one {unit.label} charges once and then lets nothing through.",
        )
    for resistor in bleeders:
        remarks += unlike(resistor, "bleeder resistor")
    for resistor in surge:
        remarks += unlike(resistor, "surge resistor")
    if bleeders:
        ohms = 1.0 / sum(1.0 / resistor.value for resistor in bleeders)
        figures["bleeder time constant"] = (ohms * unit.value, "s")
        if scene.mains:
            wait = ohms * unit.value * math.log(scene.peak / _TOUCH)
            figures["time from the mains peak to 34 V"] = (wait, "s")
            if wait > 1.0:
                remarks += (
                    f"{unit.label} takes {computed(wait, 's')} to fall from the mains peak to 34 V after the plug is "
                    f"pulled: wait, and measure, before you touch.",
                )
    else:
        remarks += (f"No resistor across {unit.label}: it keeps its charge after the plug is pulled.",)
    if not surge:
        remarks += (f"No resistor in a row with {unit.label}: only the wiring limits the current at switch-on.",)
    remarks += ("Nothing here separates the output from the mains: treat every part behind it as mains.",)
    return figures, remarks


def _load_voltage(scene: Scene, rectifier: Rectifier | None) -> float | None:
    """What the load asks for [V]: the LEDs or the zener behind the rectifier; None where that cannot be told."""
    if rectifier is None:
        return None
    way = scene.threshold(rectifier.plus, rectifier.minus, frozenset(rectifier.units))
    lit = way is not None and any(unit.kind in ("led", "zener") for unit in way.units)
    return way.volts if way is not None and lit else None


FAMILY = Family(
    title="Capacitor droppers",
    about="A capacitor in the line instead of a transformer, its bleeder and its surge resistor.",
    names=Table({"capacitor-dropper": "a capacitor in series that sets the current by its reactance"}),
    stage=30,
    find=find,
    examples=(
        Example(
            about="A night light: surge resistor, capacitor, bleeder of two resistors, bridge.",
            parts="""
  { ref = "R1", kind = "resistor", value = "220R", nodes = ["live", "a"] },
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["a", "b"] },
  { ref = "R2", kind = "resistor", value = "470k", nodes = ["a", "k"] },
  { ref = "R3", kind = "resistor", value = "470k", nodes = ["k", "b"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "LED1", kind = "led", series = 12, forward_voltage = "3.1 V", nodes = { anode = "p", cathode = "m" } },
""",
            finds=(("capacitor-dropper", ("BR1", "C1", "R1", "R2", "R3")),),
        ),
        Example(
            about="Half-wave, as in a thermostat's supply: the zener is the way back and the limit.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "470n", nodes = ["live", "a"] },
  { ref = "R2", kind = "resistor", value = "1M", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "100R", nodes = ["a", "b"] },
  { ref = "DZ1", kind = "zener", voltage = "24 V", nodes = { anode = "neutral", cathode = "b" } },
  { ref = "D1", kind = "diode", nodes = { anode = "b", cathode = "p" } },
  { ref = "C2", kind = "capacitor", value = "220u", nodes = ["p", "neutral"] },
  { ref = "K1", kind = "relay", resistance = "2k2", nodes = ["p", "neutral"] },
""",
            finds=(("capacitor-dropper", ("C1", "D1", "DZ1", "R1", "R2")),),
        ),
    ),
    counter_examples=(
        Example(
            about="A capacitor across the mains ahead of a bridge is not in the line.",
            parts="""
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["live", "neutral"] },
  { ref = "R1", kind = "resistor", value = "470R", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 60, forward_voltage = "3.1 V", nodes = { anode = "p", cathode = "m" } },
""",
        ),
    ),
)
