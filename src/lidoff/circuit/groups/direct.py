"""The direct side of a rectifier: which nodes count as its plus and its minus, and whether something smooths them."""

from __future__ import annotations

from typing import Final

from lidoff.circuit.groups.outlets import Rectifier
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit

SMOOTHS: Final = 0.47e-6
"""[F] A capacitor smaller than this takes noise off and does not hold a load over. Common practice, no source."""

_FILTER: Final = 10e3  # [ohm]: most for a resistor between two stages; common practice, no source


def lines_of(scene: Scene, rectifier: Rectifier) -> tuple[set[str], set[str], list[Unit]]:
    """The nodes that count as plus and as minus, and the parts that lead from the rectifier to the further ones."""
    net = scene.net
    plus, minus = {rectifier.plus}, {rectifier.minus}
    barred = scene.ac_nodes | net.fixed
    joints: list[Unit] = []
    while True:
        onward = [_next_nodes(scene, line, barred - line) for line in (plus, minus)]
        wide = [line | set(more) for line, more in zip((plus, minus), onward, strict=True)]
        grown = False
        for unit in net.of("capacitor"):
            for first, second in (unit.ends, unit.ends[::-1]):
                if first in wide[0] and second in wide[1] and not (first in plus and second in minus):
                    for line, more, node in ((plus, onward[0], first), (minus, onward[1], second)):
                        if node not in line:
                            line.add(node)
                            joints.append(more[node])
                            grown = True
        if not grown:
            return plus, minus, sorted(set(joints), key=lambda unit: unit.key)


def _next_nodes(scene: Scene, line: set[str], barred: frozenset[str]) -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for node in line:
        for unit in scene.net.joined_to(node):
            passes = (unit.kind == "resistor" and unit.value <= _FILTER) or (
                unit.kind in ("diode", "regulator") and unit not in scene.rectifying
            )
            if not passes or not unit.two:
                continue
            far = unit.other(node)
            if far not in line and far not in barred and (far not in found or unit.key < found[far].key):
                found[far] = unit
    return found


def smoothed(scene: Scene, rectifier: Rectifier) -> bool:
    """Whether a capacitor that can hold a load over stands between a rectifier's plus and minus."""
    plus, minus, _ = lines_of(scene, rectifier)
    ends = [unit.ends for unit in scene.net.of("capacitor") if unit.value >= SMOOTHS]
    return any((a in plus and b in minus) or (b in plus and a in minus) for a, b in ends)
