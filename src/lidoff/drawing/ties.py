"""What ties branches that stand beside each other: a gate or base steered from another branch, a part that bridges two.

Tied branches are put next to each other and shifted until the two ends of the tie are level, so that what joins them is
a straight line.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lidoff.drawing.symbols import SIDE_PINS
from lidoff.drawing.trees import Tree, leaves, refs_of

if TYPE_CHECKING:
    from lidoff.circuit import Element


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """From a branch to another (their places in a row).

    It leaves the first at the side pin of `ref`, or at its node `node`, and ends at node `target` of the other; `parts`
    stand in it.
    """

    one: int
    other: int
    target: str
    parts: int
    ref: str | None = None
    node: str = ""


@dataclass(frozen=True, slots=True)
class Setting:
    """What is known of the parts when branches are tied: parts by ref, leads to side pins, links between nodes."""

    elements: Mapping[str, Element]
    leads: tuple[Tree, ...]
    links: tuple[Tree, ...]

    def side_node(self, ref: str) -> str | None:
        """The node of the part's side pin, None where it has none."""
        element = self.elements[ref]
        if element.kind not in SIDE_PINS or len(element.pins) < 3:
            return None
        return element.pins[SIDE_PINS[element.kind][2]]

    def steering(self, ref: str) -> tuple[str, int] | None:
        """The node from which the part's side pin is steered, and how many parts lie on the way."""
        node = self.side_node(ref)
        if node is None:
            return None
        lead = next((lead for lead in self.leads if lead.b == node), None)
        return (node, 0) if lead is None else (lead.a, len(refs_of(lead)))

    def reached_for(self, branches: Sequence[Tree]) -> set[str]:
        """The inner nodes of branches to which something outside of them all is tied."""
        refs = {ref for branch in branches for ref in refs_of(branch)}
        inner = {node for branch in branches for node in inner_nodes(branch)}
        ends = {
            node for link in self.links if not {link.a, link.b} <= inner for node in (link.a, link.b) if node in inner
        }
        for ref in self.elements:
            steering = self.steering(ref) if ref not in refs else None
            if steering is not None:
                ends.add(steering[0])
        return inner & ends

    def has_side(self, tree: Tree) -> bool:
        """Whether a part of the network is steered."""
        return any(self.side_node(ref) is not None for ref in refs_of(tree))


def inner_nodes(tree: Tree) -> set[str]:
    """The nodes of a network but its two ends."""
    return {node for leaf in leaves(tree) for node in (leaf.a, leaf.b)} - {tree.a, tree.b}


def ties_of(setting: Setting, branches: Sequence[Tree]) -> list[Tie]:
    """All ties between branches that stand in a row."""
    inner = [inner_nodes(branch) for branch in branches]
    found: list[Tie] = []
    for one, branch in enumerate(branches):
        for ref in refs_of(branch):
            steering = setting.steering(ref)
            if steering is None:
                continue
            target, parts = steering
            found += [
                Tie(one=one, other=other, target=target, parts=parts, ref=ref)
                for other, nodes in enumerate(inner)
                if other != one and target in nodes
            ]
    for link in setting.links:
        ends = [(k, n) for k, nodes in enumerate(inner) for n in (link.a, link.b) if n in nodes]
        if len(ends) == 2 and ends[0][0] != ends[1][0]:
            (one, node), (other, target) = ends
            found.append(Tie(one=one, other=other, target=target, node=node, parts=len(refs_of(link))))
    return found


def in_order(
    setting: Setting,
    branches: Sequence[Tree],
    rank: Callable[[Tree], tuple[float, ...]],
    *,
    steering_first: bool,
) -> list[Tree]:
    """Branches in their order, what steers a part right before it (or right after), bridged ones side by side."""
    # What something further off is tied to comes nearest to it: last where that stands to the right, else first.
    near = 1.0 if steering_first else -1.0
    reached = setting.reached_for(branches)
    order = sorted(branches, key=lambda branch: (near * bool(reached & inner_nodes(branch)), *rank(branch)))
    settled: set[int] = set()
    while True:
        tie = next((t for t in ties_of(setting, order) if id(order[t.other]) not in settled), None)
        if tie is None:
            return order
        branch, other = order[tie.one], order[tie.other]
        settled.add(id(other))
        if id(branch) in settled or (tie.ref is None and abs(tie.one - tie.other) == 1):
            continue
        settled.add(id(branch))
        order.remove(other)
        order.insert(order.index(branch) + (0 if steering_first else 1), other)


def shifts_for(
    ties: Sequence[Tie],
    lengths: Sequence[float],
    level: Callable[[int, Tie, bool], float | None],
    snap: Callable[[float], float],
) -> tuple[list[float], float]:
    """How far each branch is shifted along its own direction, and the room they take together.

    Branches stand in the middle; tied ones so that `level` of both ends of the tie agrees. `level(place, tie, own)`
    tells how far from the start of a branch the tie leaves it (own) or arrives.
    """
    room = max(lengths)
    shifts = [snap(0.5 * (room - length)) for length in lengths]
    fixed: set[int] = set()
    for tie in ties:
        if tie.one in fixed and tie.other in fixed:
            continue
        leaves_at, arrives_at = level(tie.one, tie, True), level(tie.other, tie, False)
        if leaves_at is None or arrives_at is None:
            continue
        # The longer branch, and one that is tied already, stays.
        if tie.one in fixed or (tie.other not in fixed and lengths[tie.one] >= lengths[tie.other]):
            shifts[tie.other] = shifts[tie.one] + leaves_at - arrives_at
        else:
            shifts[tie.one] = shifts[tie.other] + arrives_at - leaves_at
        fixed |= {tie.one, tie.other}
    least = min(shifts)
    shifts = [shift - least for shift in shifts]
    return shifts, max(shift + length for shift, length in zip(shifts, lengths, strict=True))
