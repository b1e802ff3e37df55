"""Which way the current takes that lights LEDs while the triac does not fire."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.circuit import Circuit
from lidoff.circuit.groups import Group, Groups
from lidoff.circuit.groups.scene import Scene, scene_of
from lidoff.circuit.groups.timing import timing_of
from lidoff.cycle import Solution
from lidoff.cycle.arrays import Floats

_ACROSS: Final = {
    "snubber": "the snubber",
    "no-snubber": "the pair in the snubber's place",
    "interference-filter": "the capacitor against radio noise",
    "surge-clamp": "the varistor",
    "zener-clamp": "the clamp",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak:
    """One way round a triac that does not fire: its parts, the group they belong to, and its `share` of the leak [1].

    `share` is the mean of its current in the direction of the whole, over the mean of the whole's size: the shares of
    all ways add up to 1, and each is that way's share of the light as far as light is proportional to current.
    """

    what: str
    group: str
    refs: tuple[str, ...]
    share: float


def leak_shares(circuit: Circuit, groups: Groups, group: Group, solution: Solution) -> tuple[Leak, ...]:
    """The ways round the triac of a dimmer, largest share first; empty where it charges through no load."""
    scene = scene_of(circuit)
    latches = [u for u in scene.net.of("triac", "thyristor") if set(u.refs) <= set(group.own)]
    timing = timing_of(scene, latches[0]) if latches else None
    if timing is None or not timing.through:
        return ()
    latch = timing.latch
    ends = [node for node in latch.ends if node not in scene.net.rails]
    fed = {node for load in timing.through for unit in load.units for node in unit.nodes}
    near = next((node for node in ends if node in fed), None)
    if near is None:
        return ()
    # The diac and the gate's resistors belong to the chain but are not on the way that is worth pointing at.
    charged = [unit for stage in timing.capacitors for unit in stage]
    chain = tuple(ref for unit in (*timing.chain, *charged) for ref in unit.refs)
    rest = tuple(ref for ref in group.own if ref not in latch.refs)
    ways = [("the timing chain", group.id, chain, rest)]
    for other in groups.best:
        if other.name in _ACROSS and set(latch.refs) & set(other.shared):
            ways.append((_ACROSS[other.name], other.id, other.own, other.own))
    ways.append((f"the {latch.kind}'s own leakage", group.id, latch.refs, latch.refs))
    currents = [(way, _leaving(scene, solution, near, way[3])) for way in ways]
    whole = sum(current for _, current in currents)
    size = float(solution.waves.weight @ np.abs(whole))
    if size <= 0.0:
        return ()
    leaks = [
        Leak(what=what, group=owner, refs=refs, share=float(solution.waves.weight @ (current * np.sign(whole))) / size)
        for (what, owner, refs, _), current in currents
    ]
    return tuple(sorted(leaks, key=lambda leak: -leak.share))


def _leaving(scene: Scene, solution: Solution, near: str, refs: tuple[str, ...]) -> Floats:
    """Current that leaves a node of the net into some parts [A], at the solver's points."""
    index = solution.built.index
    here = {index[name] for name in index if scene.root(name) == near}
    total = np.zeros(solution.waves.time.shape[0])
    for ref in refs:
        pair = solution.built.pins[ref].pair
        inside = [end in here for end in pair]
        if inside[0] == inside[1]:
            continue
        element = scene.circuit.element(ref)
        current = solution.part_wave(ref)[1] * (element.parallel if element is not None else 1.0)
        total += current if inside[0] else -current
    return total
