"""Where alternating becomes direct: rectifiers, each with its two feeding nodes and its plus and minus."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lidoff.circuit.groups.match import Want, matches
from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.units import Unit

Sort = Literal["bridge", "bridge of diodes", "half-wave"]


@dataclass(frozen=True)
class Rectifier:
    """A rectifier: `ac` are its two feeding nodes (of a half-wave one: the diode's, then the return)."""

    sort: Sort
    units: tuple[Unit, ...]
    ac: tuple[str, str]
    plus: str
    minus: str

    @property
    def both(self) -> bool:
        """Whether it takes both half-cycles."""
        return self.sort != "half-wave"

    @property
    def refs(self) -> tuple[str, ...]:
        """The refs of its diodes."""
        return tuple(ref for unit in self.units for ref in unit.refs)


_ARMS = (
    Want("upper left", ("diode", "led"), ("x", "p")),
    Want("upper right", ("diode", "led"), ("y", "p")),
    Want("lower left", ("diode", "led"), ("m", "x")),
    Want("lower right", ("diode", "led"), ("m", "y")),
)


def rectifiers_of(net: Net) -> tuple[Rectifier, ...]:
    """All rectifiers of a net, bridges first."""
    found: list[Rectifier] = []
    for unit in net.of("bridge"):
        x, y, plus, minus = (str(node) for node in unit.nodes)
        if len({x, y, plus, minus}) == 4:
            found.append(Rectifier("bridge", (unit,), (x, y), plus, minus))
    used: set[Unit] = set()
    for match in matches(net, _ARMS):
        units = tuple(sorted(match.parts.values(), key=lambda unit: unit.key))
        if not used & set(units):
            used |= set(units)
            nodes = match.nodes
            found.append(Rectifier("bridge of diodes", units, (nodes["x"], nodes["y"]), nodes["p"], nodes["m"]))
    sources = [net.rails, *((unit.pin("s1"), unit.pin("s2")) for unit in net.of("transformer"))]
    for unit in net.of("diode"):
        if unit not in used:
            found += _half_wave(net, unit, sources)
    return tuple(found)


def _half_wave(net: Net, unit: Unit, sources: list[tuple[str, str]]) -> list[Rectifier]:
    """The half-wave rectifier that a diode is, if what lies behind it leads to the other end of its source alone."""
    cut = [node for pair in sources for node in pair] + [net.earth]
    anode, cathode = unit.ends
    touched = {}
    for node in unit.ends:
        nodes = {node} if node in cut else net.reached(node, cut, without=(unit,))[0]
        touched[node] = nodes & set(cut)
    choices = []
    for feed, behind in ((anode, cathode), (cathode, anode)):
        for first, second in (pair for source in sources for pair in (source, source[::-1])):
            if behind not in cut and touched[behind] == {second} and first in touched[feed]:
                units = net.reached(behind, cut, without=(unit,))[1]
                sure = feed in cut
                choices.append((sure, _worth(units), behind == cathode, feed, behind, second))
    if not choices:
        return []
    # Where either side would do, the direct side is the one with the capacitor or the light in it.
    *_, feed, behind, back = max(choices, key=lambda row: row[:3])
    plus, minus = (behind, back) if feed == anode else (back, behind)
    return [Rectifier("half-wave", (unit,), (feed, back), plus, minus)]


def _worth(units: set[Unit]) -> int:
    kinds = {"capacitor", "led", "converter", "zener", "lamp", "heater", "motor"}
    return sum(1 for unit in units if unit.kind in kinds)
