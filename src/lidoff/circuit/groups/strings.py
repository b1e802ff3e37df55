"""LED strings as trees: what stands in a row with LEDs, what stands beside them, down to the single part.

A series-parallel reduction that only ever joins something to LEDs: ballast resistors before, behind or between them,
regulators, strings side by side. Whatever else is joined to a node (a bridge, a capacitor) ends a string there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from lidoff.circuit.groups.net import Net
from lidoff.circuit.groups.units import RHEOSTAT, Unit

_MEMBERS = ("led", "resistor", "regulator", "diode", "zener", RHEOSTAT)


@dataclass(frozen=True)
class Branch:
    """A leaf (one unit), or branches in series or side by side, between two nodes (anode side first where known).

    `volts` is what its LEDs need at their test current [V], `ohms` the resistance in series with them [ohm].
    """

    join: Literal["leaf", "series", "parallel", "shunt"]
    unit: Unit | None
    parts: tuple[Branch, ...]
    ends: tuple[str, str]
    lit: bool
    volts: float
    ohms: float
    facing: bool = True  # false where LEDs of one row face one another
    opposed: bool = False  # true where rows side by side face opposite ways

    @property
    def leaves(self) -> tuple[Unit, ...]:
        """All its units, in order of their refs."""
        return tuple(sorted(self._leaves(), key=lambda unit: unit.key))

    def _leaves(self) -> Iterator[Unit]:
        if self.unit is not None:
            yield self.unit
        for part in self.parts:
            yield from part._leaves()

    def roles(self) -> Iterator[tuple[Unit, str]]:
        """Each unit with its word: "led", "series" (a resistor in the row), "beside" (across LEDs) …"""
        if self.unit is not None:
            yield self.unit, "led" if self.unit.kind == "led" else "series"
        for part in self.parts:
            if self.join == "shunt" and not part.lit:
                yield from ((unit, "beside") for unit in part.leaves)
            else:
                yield from part.roles()

    @property
    def core(self) -> Branch:
        """Itself without what stands in a row with, or across, its only lit part: the rows side by side, if any."""
        lit = [part for part in self.parts if part.lit]
        return lit[0].core if self.join != "parallel" and len(lit) == 1 else self

    def row(self) -> list[Branch]:
        """What stands one after the other in it, from its first end to its last."""
        if self.join != "series":
            return [self]
        left = [piece for part in self.parts for piece in part._pieces()]
        found, node = [], self.ends[0]
        while left:
            piece = next(piece for piece in left if node in piece.ends)
            left.remove(piece)
            found.append(piece)
            node = piece.ends[1] if piece.ends[0] == node else piece.ends[0]
        return found

    def _pieces(self) -> Iterator[Branch]:
        if self.join != "series":
            yield self
            return
        for part in self.parts:
            yield from part._pieces()

    @property
    def spread(self) -> bool:
        """Whether a resistor stands between LEDs of the same row."""
        row = self.row()
        lit = [k for k, piece in enumerate(row) if piece.lit]
        between = row[lit[0] : lit[-1] + 1] if lit else []
        if any(not piece.lit and piece.ohms > 0.0 for piece in between):
            return True
        return any(part.spread for piece in row for part in piece.parts)

    @property
    def key(self) -> tuple[object, ...]:
        """Sorting key: the refs in it."""
        return tuple(unit.key for unit in self.leaves)


def strings_of(net: Net, taken: frozenset[Unit] = frozenset()) -> tuple[Branch, ...]:
    """The largest LED strings of a net; `taken` units (a bridge's own diodes) belong to something else."""
    units = [unit for unit in net.units if unit.kind in _MEMBERS and unit not in taken]
    if not any(unit.kind == "led" for unit in units):
        return ()
    others = {
        str(node)
        for unit in net.units
        if unit.kind not in _MEMBERS or unit in taken
        for node in unit.nodes
        if node is not None
    }
    ends = others | net.fixed
    branches = [_leaf(unit) for unit in units]
    while True:
        step = _step(branches, ends)
        if step is None:
            break
        old, new = step
        branches = [branch for branch in branches if branch not in old]
        branches.append(new)
        branches.sort(key=lambda branch: branch.key)
    return tuple(branch for branch in branches if branch.lit)


def _leaf(unit: Unit) -> Branch:
    lit = unit.kind == "led"
    ohms = unit.value if unit.kind in ("resistor", RHEOSTAT) else 0.0
    return Branch("leaf", unit, (), unit.ends, lit, unit.value if lit else 0.0, ohms)


def _step(branches: list[Branch], ends: set[str]) -> tuple[tuple[Branch, Branch], Branch] | None:
    """The first pair that can be joined, and what it becomes: rows first, then side by side, then what lies across."""
    degree: dict[str, int] = {}
    for branch in branches:
        for node in branch.ends:
            degree[node] = degree.get(node, 0) + 1
    pairs = [
        (first, second)
        for k, first in enumerate(branches)
        for second in branches[k + 1 :]
        if (first.lit or second.lit) and set(first.ends) & set(second.ends)
    ]
    for first, second in pairs:
        common = set(first.ends) & set(second.ends)
        if len(common) == 1 and (node := min(common)) not in ends and degree[node] == 2 and _may_follow(first, second):
            return (first, second), _series(first, second, node)
    for first, second in pairs:
        if set(first.ends) == set(second.ends) and first.lit and second.lit:
            return (first, second), _parallel(first, second)
    for first, second in pairs:
        if set(first.ends) == set(second.ends) and first.lit != second.lit and not set(first.ends) <= ends:
            lit = first if first.lit else second
            whole = Branch("shunt", None, (first, second), lit.ends, True, lit.volts, lit.ohms, lit.facing)
            return (first, second), whole
    return None


def _may_follow(first: Branch, second: Branch) -> bool:
    """Whether two branches may stand in a row: a zener alone may not, for it clamps."""
    return all(branch.unit is None or branch.unit.kind != "zener" for branch in (first, second))


def _series(first: Branch, second: Branch, node: str) -> Branch:
    outer = (_far(first, node), _far(second, node))
    sided = [branch for branch in (first, second) if branch.lit and not branch.core.opposed]
    into = [branch for branch in sided if branch.ends[1] == node]
    out = [branch for branch in sided if branch.ends[0] == node]
    facing = first.facing and second.facing and len(into) < 2 and len(out) < 2
    leads = into[0] if into else None
    ends = outer if (leads is first or (out and out[0] is second)) else outer[::-1]
    return Branch(
        "series", None, (first, second), ends, True, first.volts + second.volts, first.ohms + second.ohms, facing
    )


def _parallel(first: Branch, second: Branch) -> Branch:
    facing, opposed = first.facing and second.facing, first.ends != second.ends
    ohms = 1.0 / (1.0 / first.ohms + 1.0 / second.ohms) if first.ohms > 0.0 and second.ohms > 0.0 else 0.0
    volts = min(first.volts, second.volts)
    return Branch("parallel", None, (first, second), first.ends, True, volts, ohms, facing, opposed)


def _far(branch: Branch, node: str) -> str:
    return branch.ends[1] if branch.ends[0] == node else branch.ends[0]
