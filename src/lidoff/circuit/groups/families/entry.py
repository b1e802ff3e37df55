"""What stands between the cord and the first real part: fuse, thermistor, chokes, varistor, X and Y capacitors."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups.direct import smoothed
from lidoff.circuit.groups.making import Parts, labels, own
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit, unit_of
from lidoff.circuit.groups.usual import unlike
from lidoff.circuit.groups.words import computed, listed, many, marked, ref_order
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_WORDS: Final = Table(
    {"fuse": "fuse", "thermistor": "inrush thermistor", "inductor": "line choke", "choke": "common-mode choke"}
)
_INPUT: Final = 1e3  # [ohm]: most for a resistor ahead of a rectifier with a capacitor behind it; common practice
_LARGEST_X: Final = 10e-6  # [F]


def find(scene: Scene) -> Iterator[Reading]:
    """The input stage as one group, and fuses, chokes and thermistors that stand elsewhere."""
    if scene.mains:
        yield from _input(scene)
    for thin in scene.thin:
        word = _WORDS.get(thin.element.kind)
        if word is None or (scene.mains and any(scene.is_rail(root) for root in thin.roots)):
            continue
        word = "choke" if thin.element.kind == "inductor" else word
        ref = thin.element.ref
        yield Reading(
            name="series-part",
            title=f"{word} {ref} in a row with what follows",
            parts=((ref, word, "own"),),
            weight=20.0,
            why=f"All the current of the parts behind it flows through {ref}.",
            figures=_values([unit_of(thin.element, thin.element.nodes)]),
            fallback=True,
        )


def input_resistors(scene: Scene) -> tuple[Unit, ...]:
    """Resistors from a rail to a rectifier with a smoothed or converting load, a transformer or a converter."""
    found = []
    for unit in scene.net.of("resistor"):
        if unit.value > _INPUT or sum(scene.is_rail(node) for node in unit.ends) != 1:
            continue
        far = next(node for node in unit.ends if not scene.is_rail(node))
        fed = [r for r in scene.rectifiers if far in r.ac]
        joined = {u.kind for u in scene.net.joined_to(far)}
        if any(smoothed(scene, r) or not _only_lights(scene, r.plus, r.minus) for r in fed) or (
            joined & {"converter", "transformer", "diode"} and not fed
        ):
            found.append(unit)
    return tuple(found)


def _only_lights(scene: Scene, plus: str, minus: str) -> bool:
    return any({plus, minus} & set(branch.ends) for branch in scene.strings)


def _input(scene: Scene) -> Iterator[Reading]:
    net = scene.net
    resistors = input_resistors(scene)
    rail = {node: node for node in net.rails}
    for unit in resistors:
        near, far = unit.ends if scene.is_rail(unit.ends[0]) else unit.ends[::-1]
        rail[far] = near
    lines = [t for t in scene.thin if t.element.kind in _WORDS and any(scene.is_rail(root) for root in t.roots)]
    coils = {t.element.ref for t in lines if t.element.kind in ("inductor", "choke")}
    dampers = [u for chain in scene.bridging for u in chain.units if u.kind == "resistor" and len(chain.units) == 1]
    dampers = [u for u in dampers if coils and _over_coil(scene, u, coils)]
    varistors = [u for u in net.of("varistor") if _places(u, rail, net.earth) in ("line", "earth")]
    capacitors = [u for u in net.of("capacitor") if u.value <= _LARGEST_X]
    across = [u for u in capacitors if _places(u, rail, net.earth) == "line"]
    to_earth = [u for u in capacitors if _places(u, rail, net.earth) == "earth"]
    leak = [u for u in net.of("resistor") if _places(u, rail, net.earth) == "earth"]
    parts: Parts = tuple((t.element.ref, _WORDS[t.element.kind], "own") for t in lines)
    parts += own("input resistor", *resistors) + own("varistor", *varistors) + own("X capacitor", *across)
    parts += own("Y capacitor", *to_earth) + own("resistor to earth", *leak) + own("damping resistor", *dampers)
    if not parts:
        return
    elements = [unit_of(t.element, t.element.nodes) for t in lines]
    units = [*elements, *resistors, *varistors, *across, *to_earth]
    words = list(dict.fromkeys(word for _, word, _ in parts if word not in ("damping resistor", "resistor to earth")))
    yield Reading(
        name="input-stage",
        title=f"input stage: {listed(words)}" if words else "input stage",
        parts=parts,
        weight=75.0,
        why=(
            f"{listed(sorted((ref for ref, _, _ in parts), key=ref_order))} {many(len(parts), 'stands', 'stand')} "
            f"between the cord and the first part that does work: in the line, across it, or to earth."
        ),
        figures=_values(units),
        remarks=_remarks(scene, elements, resistors, varistors, across, to_earth),
    )


def _over_coil(scene: Scene, unit: Unit, coils: set[str]) -> bool:
    ends = set(unit.ends)
    return any(ends == set(u.ends) for u in scene.plain.of("inductor") if set(u.refs) & coils)


def _places(unit: Unit, rail: dict[str, str], earth: str) -> str:
    """Between which places a part stands: "line" for both lines, "earth" for a line and earth, else nothing."""
    first, second = (rail.get(node) for node in unit.ends)
    if first is not None and second is not None and first != second:
        return "line"
    if earth in unit.ends and (first or second) is not None:
        return "earth"
    return ""


def _values(units: list[Unit]) -> Table:
    """The value of each part, by its ref."""
    what = {
        "fuse": ("rating of", "A"),
        "thermistor": ("cold resistance of", "ohm"),
        "inductor": ("inductance of", "H"),
        "choke": ("inductance of", "H"),
        "resistor": ("resistance of", "ohm"),
        "varistor": ("voltage at 1 mA of", "V"),
        "capacitor": ("capacitance of", "F"),
    }
    return Table({f"{what[u.kind][0]} {u.label}": (u.value, what[u.kind][1]) for u in units if u.value > 0.0})


def _remarks(
    scene: Scene,
    lines: list[Unit],
    resistors: tuple[Unit, ...],
    varistors: list[Unit],
    across: list[Unit],
    to_earth: list[Unit],
) -> tuple[str, ...]:
    remarks: tuple[str, ...] = ()
    fuses = [unit for unit in lines if unit.kind == "fuse"]
    if not fuses and not resistors:
        remarks += ("No fuse was found in the line; look in the plug, and for one under a sleeve.",)
    if not fuses and resistors:
        remarks += (f"No fuse was found; {listed(labels(resistors))} may be meant to open in its place.",)
    for unit in varistors:
        raw = {node for element in unit.members for node in element.nodes}
        if fuses and raw == {"live", "neutral"}:
            remarks += (f"{unit.label} stands ahead of {listed(labels(fuses))}, which does not protect it.",)
        if unit.known and 0.0 < unit.value < 1.15 * scene.peak:
            remarks += (
                f"{unit.label} begins to conduct at {marked(unit.value, 'V')}, too near the mains peak of "
                f"{computed(scene.peak, 'V', 3)}: read its code again.",
            )
    for word, units in (("input resistor", resistors), ("X capacitor", across), ("Y capacitor", to_earth)):
        for unit in units:
            remarks += unlike(unit, word)
    return remarks


FAMILY = Family(
    title="Input stage",
    about="Fuse, inrush thermistor, choke, varistor and capacitors at the mains side, and such parts elsewhere.",
    names=Table(
        {
            "input-stage": "what stands between the cord and the first part that does work",
            "series-part": f"a {KINDS['fuse'].title}, choke or thermistor in a row with something further on",
        }
    ),
    stage=10,
    find=find,
    examples=(
        Example(
            about="Everything a charger may have, the X capacitor behind the fuse and the varistor before it.",
            parts="""
  { ref = "RV1", kind = "varistor", voltage = "470 V", nodes = ["live", "neutral"] },
  { ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] },
  { ref = "RT1", kind = "thermistor", cold = "10R", hot = "1R", nodes = ["a", "b"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["b", "neutral"] },
  { ref = "L1", kind = "choke", value = "20m", nodes = { a1 = "b", a2 = "c", b1 = "neutral", b2 = "d" } },
  { ref = "C2", kind = "capacitor", value = "2n2", nodes = ["c", "earth"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "c", ac2 = "d", plus = "p", minus = "m" } },
  { ref = "C3", kind = "capacitor", value = "22u", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "15 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("input-stage", ("C1", "C2", "F1", "L1", "RT1", "RV1")),),
        ),
        Example(
            about="A small resistor ahead of the bridge and its capacitor, in place of a fuse.",
            parts="""
  { ref = "R1", kind = "resistor", value = "10R", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },
  { ref = "U1", kind = "converter", power = "5 W", nodes = { plus = "p", minus = "m" } },
""",
            finds=(("input-stage", ("R1",)),),
        ),
        Example(
            about="A thermal fuse between two halves of a heater stands in no line of the mains.",
            parts="""
  { ref = "EH1", kind = "heater", power = "500 W", voltage = "115 V", nodes = ["live", "a"] },
  { ref = "F1", kind = "fuse", rating = "10 A", nodes = ["a", "b"] },
  { ref = "EH2", kind = "heater", power = "500 W", voltage = "115 V", nodes = ["b", "neutral"] },
""",
            finds=(("series-part", ("F1",)),),
        ),
    ),
    counter_examples=(
        Example(
            about="A resistor ahead of a bridge with only LEDs behind it sets their current: it is their ballast.",
            parts="""
  { ref = "R1", kind = "resistor", value = "680R", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "m" } },
""",
        ),
    ),
)
