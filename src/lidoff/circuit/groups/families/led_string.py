"""LED strings, alone or side by side, and the ballast resistors in a row with them or spread along them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.direct import smoothed
from lidoff.circuit.groups.making import labels, own, shared
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.outlets import Rectifier
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.strings import Branch
from lidoff.circuit.groups.units import RHEOSTAT, Unit
from lidoff.circuit.groups.words import counted, listed, many
from lidoff.record.model import Table

_LED_SIDE: Final = 47e3  # [ohm]: a larger resistor in the line feeds an indicator


def find(scene: Scene) -> Iterator[Reading]:
    """Each LED string with what belongs to it, and its ballast as a group of its own."""
    for branch in scene.strings:
        fed = next((r for r in scene.rectifiers if {r.plus, r.minus} == set(branch.ends)), None)
        ahead = _ahead(scene, fed)
        yield _lights(scene, branch, fed, ahead)
        series = [unit for unit, role in branch.roles() if role == "series" and unit.kind in ("resistor", RHEOSTAT)]
        series += ahead
        if series:
            yield _ballast(scene, branch, fed, series, bool(ahead))


def _ahead(scene: Scene, rectifier: Rectifier | None) -> list[Unit]:
    """Resistors on the alternating side that set the LEDs' current, for nothing behind the rectifier stores charge."""
    if rectifier is None or rectifier.sort == "half-wave" or smoothed(scene, rectifier):
        return []
    found = {
        unit
        for node in rectifier.ac
        for unit in scene.net.joined_to(node)
        if unit.kind == "resistor"
        and unit.value <= _LED_SIDE
        and set(unit.ends) != set(rectifier.ac)
        and scene.is_rail(unit.other(node))
        and not scene.is_rail(node)
    }
    return sorted(found, key=lambda unit: unit.key)


def _lights(scene: Scene, branch: Branch, fed: Rectifier | None, ahead: list[Unit]) -> Reading:
    roles = list(branch.roles())
    leds = [unit for unit, role in roles if role == "led"]
    diodes = [unit for unit, role in roles if unit.kind == "diode"]
    regulators = [unit for unit, _ in roles if unit.kind == "regulator"]
    parts = own("LED string", *leds)
    parts += own("across the LEDs", *(unit for unit, role in roles if role == "beside"))
    parts += own("series diode", *(u for u in diodes if u not in scene.rectifying))
    parts += shared("series diode", *(u for u in diodes if u in scene.rectifying))
    parts += shared("current regulator", *regulators)
    total = sum(e.number("series") * e.number("parallel") * e.series * e.parallel for u in leds for e in u.members)
    figures = {"LEDs": (total, ""), "string voltage": (branch.volts, "V")}
    remarks: tuple[str, ...] = ()
    ohms = branch.ohms + sum(unit.value for unit in ahead)
    straight = fed is not None and scene.feeds_both(fed)
    line = scene.mains and (straight or set(branch.ends) == set(scene.net.rails) or bool(ahead))
    if line:
        figures["share of the mains peak"] = (branch.volts / scene.peak, "")
        if branch.volts >= scene.peak:
            remarks += (
                "The string asks for more than the mains peak: it hardly lights. Count the LEDs and read their voltage "
                "again.",
            )
    if straight and ohms <= 0.0 and not regulators and scene.mains:
        remarks += (
            "Nothing was found in a row with the LEDs that limits their current: look for resistors between them, or a "
            "part that was missed.",
        )
    remarks += _sharing(branch, leds)
    rows = _rows(branch)
    word = "LED string"
    if rows > 1:
        word = f"{counted(rows)} LED strings {'facing opposite ways' if branch.core.opposed else 'side by side'},"
    return Reading(
        name="led-string",
        title=f"{word} {listed(labels(leds))}",
        parts=parts,
        weight=50.0,
        why=_why(branch, leds, rows),
        figures=Table(figures),
        remarks=remarks,
    )


def _why(branch: Branch, leds: list[Unit], rows: int) -> str:
    refs = listed(labels(leds))
    if branch.core.opposed:
        return f"{refs} stand side by side and face opposite ways: each lights in its own half-cycle."
    if rows > 1:
        return f"{refs} form {counted(rows)} rows between the same two nodes and share the current."
    block = any(e.block for u in leds for e in u.members)
    lights = sum(e.number("series") * e.series for u in leds for e in u.members)
    if lights <= 1.0:
        return f"{refs} is a single LED."
    return f"The LEDs of {refs} stand in a row and carry the same current" + (
        ", section after section." if block else "."
    )


def _rows(branch: Branch) -> int:
    """How many strings stand side by side."""
    core = branch.core
    return sum(_rows(part) for part in core.parts) if core.join == "parallel" else 1


def _sharing(branch: Branch, leds: list[Unit]) -> tuple[str, ...]:
    remarks: tuple[str, ...] = ()
    if not branch.facing:
        remarks += ("Some of the LEDs face one another in the same row: read their polarity again.",)
    twins = [u for u in leds if any(e.number("parallel") > 1 for e in u.members)]
    if twins:
        remarks += (
            f"In {listed(labels(twins))} LEDs stand side by side without a resistor each: if one fails open, the "
            f"others of its group carry its current.",
        )
    if _bare_rows(branch):
        remarks += (
            "Strings stand side by side without a resistor in each: the one with the lowest voltage takes most of the "
            "current, and if one opens the others take its share.",
        )
    return remarks


def _bare_rows(branch: Branch) -> bool:
    if branch.join == "parallel" and not branch.opposed and any(part.ohms <= 0.0 for part in branch.parts):
        return not any(unit.kind == "regulator" for unit in branch.leaves)
    return any(_bare_rows(part) for part in branch.parts)


def _ballast(scene: Scene, branch: Branch, fed: Rectifier | None, series: list[Unit], ahead: bool) -> Reading:
    leds = [unit for unit in branch.leaves if unit.kind == "led"]
    spread = branch.spread or any(e.block for u in series for e in u.members)
    ohms = branch.ohms + (sum(u.value for u in series if u not in branch.leaves) if ahead else 0.0)
    figures = {"resistance": (ohms, "ohm")}
    straight = scene.mains and ((fed is not None and scene.feeds_both(fed)) or ahead)
    drop = scene.peak - branch.volts - 1.4
    if straight and fed is not None and not smoothed(scene, fed) and drop > 0.0 and ohms > 0.0:
        figures["highest current, all else ideal"] = (drop / ohms, "A")
    refs, lights = listed(labels(series)), listed(labels(leds))
    if spread:
        title, where = "ballast resistors spread along the string", f"between the LEDs of {lights}"
    elif ahead:
        title, where = f"ballast {refs} ahead of the rectifier", f"ahead of the rectifier of {lights}"
    else:
        title, where = f"ballast {refs}", f"in a row with {lights}"
    count = len(labels(series))
    role = "spread ballast resistor" if spread else "ballast resistor"
    resistors = [unit for unit in series if unit.kind == "resistor"]
    knobs = [unit for unit in series if unit.kind == RHEOSTAT]
    return Reading(
        name="ballast",
        title=title,
        parts=own(role, *resistors) + own("knob in the string", *knobs) + shared("LED string", *leds),
        weight=51.0,
        why=(
            f"{refs} {many(count, 'stands', 'stand')} {where} and {many(count, 'turns', 'turn')} the voltage that "
            f"the LEDs do not need into heat; that sets the current."
        ),
        figures=Table(figures),
    )


FAMILY = Family(
    title="LED strings",
    about="LEDs in a row, rows side by side, and the resistors that set their current.",
    names=Table(
        {
            "led-string": "LEDs that carry the same current, and strings side by side",
            "ballast": "resistors in a row with the LEDs, in one place or spread along them",
        }
    ),
    stage=70,
    find=find,
    examples=(
        Example(
            about="Two strings side by side, each with its resistor, and one resistor for both.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "R1", kind = "resistor", value = "220R", nodes = ["p", "q"] },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "q", cathode = "a" } },
  { ref = "R2", kind = "resistor", value = "1k", nodes = ["a", "m"] },
  { ref = "LED2", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "q", cathode = "b" } },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["b", "m"] },
""",
            finds=(("led-string", ("LED1", "LED2")), ("ballast", ("LED1", "LED2", "R1", "R2", "R3"))),
        ),
        Example(
            about="Resistors between the LEDs of one string.",
            parts="""
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 40, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "a" } },
  { ref = "R1", kind = "resistor", value = "330R", nodes = ["a", "b"] },
  { ref = "LED2", kind = "led", series = 40, forward_voltage = "3.0 V", nodes = { anode = "b", cathode = "c" } },
  { ref = "R2", kind = "resistor", value = "330R", nodes = ["c", "m"] },
""",
            finds=(("led-string", ("LED1", "LED2")), ("ballast", ("LED1", "LED2", "R1", "R2"))),
        ),
    ),
    counter_examples=(
        Example(
            about="A lamp with a resistor in a row has no LEDs to ballast.",
            parts="""
  { ref = "R1", kind = "resistor", value = "100R", nodes = ["live", "a"] },
  { ref = "LA1", kind = "lamp", power = "15 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
        ),
    ),
)
