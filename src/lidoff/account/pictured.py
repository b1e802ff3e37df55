"""Which joins of an item rest on a picture alone, by what was traced on its photos."""

from __future__ import annotations

import networkx as nx

from lidoff.hazards import Pictured
from lidoff.photos.kept import KeptPad, Trace, read
from lidoff.record import Item


def pictured_joins(item: Item) -> tuple[Pictured, ...]:
    """The joins of the item's trace that nothing but a picture speaks for; none where nothing was traced.

    A join read off a picture whose two ends are also joined by a meter's or the user's word, or by a wire laid by hand,
    does not count. Raises TraceError where the trace cannot be read.
    """
    # A lone file of another name has no folder of its own: a trace beside it may be another item's.
    return of_trace(read(item.folder)) if item.path.name == "item.toml" else ()


def of_trace(trace: Trace) -> tuple[Pictured, ...]:
    """The joins of a trace that nothing but a picture speaks for, in its order."""
    vouched: nx.Graph = nx.Graph()
    vouched.add_nodes_from(pad.id for pad in trace.pads)
    vouched.add_edges_from((wire.a, wire.b) for wire in trace.wires)
    vouched.add_edges_from((join.a, join.b) for join in trace.joins if join.joined and join.evidence.kind != "picture")
    name = {pad.id: _pin(pad) for pad in trace.pads}
    return tuple(
        Pictured(first=name[join.a], second=name[join.b])
        for join in trace.joins
        if join.joined and join.evidence.kind == "picture" and not nx.has_path(vouched, join.a, join.b)
    )


def _pin(pad: KeptPad) -> str:
    """A pad by its part's pin where that is known, else by its own name."""
    if pad.part is None:
        return pad.id
    return f"{pad.part}.{pad.pin}" if pad.pin else f"{pad.part}.?"
