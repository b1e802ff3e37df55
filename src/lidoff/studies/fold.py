"""One member of a folded block on its own: the others stay folded beside it and in series with it.

A block of `repeat` members in series and `parallel` such rows is solved as one set of parts. A fault acts on one
member, so that one is taken out: in its own row `repeat` - 1 members stay folded in series with it, and the
`parallel` - 1 other rows stay folded beside the row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lidoff.circuit.model import Circuit, Element
from lidoff.studies.errors import StudyError


@dataclass(frozen=True, slots=True, kw_only=True)
class BrokenOut:
    """A circuit with one member of a block on its own.

    The member's parts keep the block's names ("section/R1"); `others` maps the names of the folded rest to them.
    `first` and `second` are the nodes between which the single member stands.
    """

    circuit: Circuit
    others: Mapping[str, str]
    first: str
    second: str


def break_out(circuit: Circuit, block: str) -> BrokenOut:
    """The circuit with one member of that block on its own, electrically the same as before.

    Raises StudyError where the circuit has no such block, or where it does not stand between two nodes.
    """
    members = [e for e in circuit.elements if e.block == block]
    if not members:
        known = ", ".join(dict.fromkeys(e.block for e in circuit.elements if e.block)) or "none"
        raise StudyError(f"There is no block '{block}' in this state; the blocks are: {known}")
    series, parallel = members[0].series, members[0].parallel
    inner = f"{block}/"
    outer = list(
        dict.fromkeys(node for e in members for node in e.nodes if node is not None and not node.startswith(inner))
    )
    if len(outer) != 2:
        raise StudyError(
            f"The block '{block}' does not stand between two nodes, so none of its members can be taken out"
        )
    first, second = outer
    middle = f"{inner}~between" if series > 1.0 else first
    others: dict[str, str] = {}
    kept: list[Element] = []
    for element in circuit.elements:
        if element.block != block:
            kept.append(element)
            continue
        kept.append(replace(_moved(element, {first: middle}), series=1.0, parallel=1.0))
        if series > 1.0:
            kept.append(_copy(element, "row", {second: middle}, inner, series - 1.0, 1.0, others))
        if parallel > 1.0:
            kept.append(_copy(element, "rows", {}, inner, series, parallel - 1.0, others))
    return BrokenOut(circuit=replace(circuit, elements=tuple(kept)), others=others, first=middle, second=second)


def _copy(
    element: Element,
    word: str,
    moved: Mapping[str, str],
    inner: str,
    series: float,
    parallel: float,
    others: dict[str, str],
) -> Element:
    """A folded copy of a member's part, with inner nodes of its own."""
    name = f"{element.ref}~{word}"
    others[name] = element.ref
    own = {node: f"{node}~{word}" for node in element.nodes if node is not None and node.startswith(inner)}
    return replace(_moved(element, {**own, **moved}), ref=name, series=series, parallel=parallel)


def _moved(element: Element, nodes: Mapping[str, str]) -> Element:
    return replace(element, nodes=tuple(node if node is None else nodes.get(node, node) for node in element.nodes))
