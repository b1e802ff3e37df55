"""Stages put together: series parts lying on the rails, branches standing between them, two-ports leading on.

The main path of a stage runs along its upper rail to the two-port that feeds the next stage, or to the load; what hangs
across the rails before it stands between them in the order of the path.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from lidoff.drawing.pieces import GAP, LENGTH, Bus, Piece, Row, Workshop, columns, down, lying, standing, up
from lidoff.drawing.shapes import Pose, Rect, around
from lidoff.drawing.skeleton import Skeleton, TwoPort
from lidoff.drawing.symbols import TWO_PORTS
from lidoff.drawing.trees import Framed, Leaf, Parallel, Port, Series, Tree, has_port, leaves, refs_of, reversed_tree

_LOADS: Final = frozenset({"led", "lamp", "heater", "converter", "motor", "relay", "indicator"})
_ON_RAILS: Final = frozenset({"fuse", "switch", "thermostat", "thermistor", "inductor", "triac", "thyristor"})
_TALLEST: Final = 4  # parts one above the other
_LEAST: Final = 100.0  # distance of the rails [SVG units]


@dataclass(slots=True)
class _Slot:
    """A place along the rails: parts lying on one or both, or branches standing between, or a two-port."""

    top: Tree | None = None
    bottom: Tree | None = None
    across: tuple[Tree, ...] = ()
    port: TwoPort | None = None
    nodes: tuple[str, str] = ("", "")  # of the rails at the slot's left end


@dataclass(slots=True)
class _Laid:
    """A slot with its parts laid out."""

    slot: _Slot
    top: Piece | None = None
    bottom: Piece | None = None
    across: Row | None = None

    @property
    def height(self) -> float:
        """The distance of the rails that it needs."""
        if self.slot.port is not None:
            return 0.0 if self.slot.port.ref is not None else 2.0 * LENGTH + 5.0 * GAP
        if self.across is not None:
            over = max(max(0.0, piece.box.y1 - self.across.length) for piece in self.across.pieces)
            under = max(max(0.0, -piece.box.y0) for piece in self.across.pieces)
            return self.across.length + 2.0 * max(GAP, over + 4.0, under + 4.0)
        depth = self.top.box.y1 - self.top.start[1] if self.top else 0.0
        rise = self.bottom.start[1] - self.bottom.box.y0 if self.bottom else 0.0
        return depth + rise + 2.0 * GAP


@dataclass(slots=True)
class _Rails:
    """What has been put between the rails so far, and where nodes come to them from left to right: (x, node)."""

    height: float
    top: list[tuple[float, str]]
    bottom: list[tuple[float, str]]
    edge: float = 0.0
    pieces: list[Piece] = field(default_factory=list)
    buses: list[Bus] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Builder:
    """Lays out the stages of a skeleton with the tools of a workshop."""

    shop: Workshop
    skeleton: Skeleton

    def whole(self) -> Piece:
        """The first stage and all that it feeds; starts at the upper rail's left end, ends at the lower one's."""
        stage = self.skeleton.first
        slots: list[_Slot] = []
        if stage.tree is not None:
            self._along(stage.tree, slots, first=True)
        return self._assembled(slots, (stage.top, stage.bottom))

    def behind(self, port: Port) -> Piece:
        """A two-port with all that it feeds, as a piece between two nodes."""
        slots: list[_Slot] = []
        self._along(port, slots, first=False)
        return self._assembled(slots, (port.a, port.b))

    # Which part goes where

    def _along(self, tree: Tree, slots: list[_Slot], *, first: bool) -> None:
        nodes = (tree.a, tree.b)
        match tree:
            case Port(name):
                slots.append(_Slot(port=self._facing(name, tree), nodes=nodes))
                stage = self.skeleton.beyond.get(name)
                if stage is not None and stage.tree is not None:
                    self._along(stage.tree, slots, first=False)
            case Series(items) if has_port(tree) or not self._stands(items, first):
                at = self._main(items)
                tops = list(items[:at])
                bottoms = [reversed_tree(item) for item in reversed(items[at + 1 :])]
                for k in range(max(len(tops), len(bottoms))):
                    top = tops[k] if k < len(tops) else None
                    bottom = bottoms[k] if k < len(bottoms) else None
                    slots.append(_Slot(top=top, bottom=bottom, nodes=nodes))
                self._along(items[at], slots, first=first)
            case Parallel(items):
                last = self._leading_on(items)
                across = tuple(item for item in items if item is not last)
                if across:
                    slots.append(_Slot(across=across, nodes=nodes))
                if last is not None:
                    self._along(last, slots, first=first)
            case Framed(_, inner) if has_port(inner):
                self._along(inner, slots, first=first)
            case _:
                slots.append(_Slot(across=(tree,), nodes=nodes))

    def _leading_on(self, branches: Sequence[Tree]) -> Tree | None:
        """The branch that the rails lead on to: the one with the next stage, else one with branches of its own."""
        through = [item for item in branches if has_port(item)]
        if not through:
            through = [
                item
                for item in branches
                if isinstance(item, Series)
                and not self._stands(item.items, False)
                and any(isinstance(inner, Parallel) for inner in item.items)
            ]
        return max(through, key=lambda item: len(self._fed(item))) if through else None

    def _fed(self, tree: Tree) -> list[str]:
        """All parts of a branch and of what it feeds."""
        refs = refs_of(tree)
        for leaf in leaves(tree):
            if isinstance(leaf, Port):
                stage = self.skeleton.beyond.get(leaf.name)
                if stage is not None and stage.tree is not None:
                    refs += self._fed(stage.tree)
        return refs

    def _stands(self, items: Sequence[Tree], first: bool) -> bool:
        """Whether a chain without a two-port is one column between the rails."""
        if first or len(items) > _TALLEST:
            return False
        kinds = {self.shop.elements[ref].kind for item in items for ref in refs_of(item)}
        if kinds & _ON_RAILS:
            return False
        return all(not isinstance(item, Parallel) or self._is_pair(item) for item in items)

    def _is_pair(self, tree: Parallel) -> bool:
        """Whether branches side by side are one part and what goes with it, such as a coil and its diode."""
        leaves_only = all(isinstance(item, Leaf) for item in tree.items)
        kinds = {self.shop.elements[ref].kind for ref in refs_of(tree)}
        return leaves_only and len(tree.items) == 2 and "capacitor" not in kinds

    def _main(self, items: Sequence[Tree]) -> int:
        """Which item of a chain closes it: the way to the next stage, else the load, else the last one."""

        def weight(place: int) -> tuple[int, int, int]:
            item = items[place]
            kinds = {self.shop.elements[ref].kind for ref in refs_of(item)}
            series = bool(kinds & _ON_RAILS) and not kinds & _LOADS
            telling = 4 if has_port(item) else 3 if kinds & _LOADS else 0 if series else 1
            if telling == 1 and isinstance(item, Parallel) and len(refs_of(item)) > 2:
                telling = 2
            return telling, len(self._fed(item)) if has_port(item) else 0, place

        return max(range(len(items)), key=weight)

    def _facing(self, name: str, leaf: Port) -> TwoPort:
        """The two-port with its upper input on the upper rail; a bridge's outputs stay, plus above."""
        port = self.skeleton.ports[name]
        if port.inputs == (leaf.a, leaf.b):
            return port
        return replace(port, inputs=(leaf.a, leaf.b))

    # Where it goes

    def _assembled(self, slots: Sequence[_Slot], nodes: tuple[str, str]) -> Piece:
        """The slots side by side between two rails as far apart as the tallest needs."""
        laid = [self._laid(slot) for slot in slots]
        height = 2.0 * up(0.5 * max([_LEAST, *(one.height for one in laid)]))
        rails = _Rails(height, [(0.0, nodes[0])], [(0.0, nodes[1])])
        for one in laid:
            if one.slot.port is not None:
                self._two_port(one.slot.port, rails)
            elif one.across is not None:
                self._between(one.across, one.slot.nodes, rails)
            else:
                self._on_rails(one, rails)
        rails.buses += [*_runs(rails.top, 0.0), *_runs(rails.bottom, height)]
        return Piece(
            stands=tuple(stand for piece in rails.pieces for stand in piece.stands),
            start=(0.0, 0.0),
            end=(0.0, height),
            box=around([Rect(0.0, 0.0, 0.0, height), *(piece.box for piece in rails.pieces)]),
            buses=(*(bus for piece in rails.pieces for bus in piece.buses), *rails.buses),
            frames=tuple(frame for piece in rails.pieces for frame in piece.frames),
        )

    def _laid(self, slot: _Slot) -> _Laid:
        return _Laid(
            slot,
            top=lying(self.shop, slot.top) if slot.top is not None else None,
            bottom=lying(self.shop, slot.bottom, upward=True) if slot.bottom is not None else None,
            across=columns(self.shop, slot.across) if slot.across else None,
        )

    def _between(self, row: Row, nodes: tuple[str, str], rails: _Rails) -> None:
        """Branches from rail to rail."""
        first = row.pieces[0]
        x = up(rails.edge + max(first.start[0] - first.box.x0, 10.0) + 4.0)
        y = down(0.5 * (rails.height - row.length))
        for piece in row.pieces:
            placed = piece.moved(x, y)
            rails.pieces.append(placed)
            rails.top.append((placed.start[0], nodes[0]))
            rails.bottom.append((placed.end[0], nodes[1]))
            rails.buses.append(Bus(nodes[0], (placed.start[0], 0.0), placed.start))
            rails.buses.append(Bus(nodes[1], placed.end, (placed.end[0], rails.height)))
            rails.edge = max(rails.edge, placed.box.x1 + 10.0)

    def _on_rails(self, one: _Laid, rails: _Rails) -> None:
        """A part lying on each rail, both beginning at the same place."""
        leads = [p.start[0] - p.box.x0 for p in (one.top, one.bottom) if p is not None]
        x = up(rails.edge + max(GAP, *leads))
        for piece, tree, y, rail in (
            (one.top, one.slot.top, 0.0, rails.top),
            (one.bottom, one.slot.bottom, rails.height, rails.bottom),
        ):
            if piece is None or tree is None:
                continue
            placed = piece.moved_to((x, y))
            rails.pieces.append(placed)
            rail.append((x, tree.a))
            rail.append((placed.end[0], tree.b))
            rails.edge = max(rails.edge, placed.end[0] + 10.0, placed.box.x1)

    def _two_port(self, port: TwoPort, rails: _Rails) -> None:
        if port.ref is None:
            self._two_columns(port, rails)
            return
        half = 0.5 * rails.height
        stand = self.shop.stand(port.ref, self._port_pose(port), half=half)
        reach = max(abs(pin.at[0]) for pin in stand.symbol.pins.values())
        x = up(rails.edge + max(reach, -stand.keep.x0) + GAP)
        stand = stand.moved(x, half)
        # The router finds which of two like pins is the upper one; the rails end in front of them.
        for rail, place in ((rails.top, 0), (rails.bottom, 1)):
            rail += [(x - reach - 10.0, port.inputs[place]), (x + reach + 10.0, port.outputs[place])]
        rails.pieces.append(Piece(stands=(stand,), start=(x, 0.0), end=(x, rails.height), box=stand.keep))
        rails.edge = max(stand.keep.x1, x + reach) + GAP

    def _port_pose(self, port: TwoPort) -> Pose:
        """Mirrored where its outputs face the mains, upset where its upper input would be below.

        A bridge's ac pins may change places, plus stays above minus.
        """
        assert port.ref is not None
        element = self.shop.elements[port.ref]
        if element.kind == "bridge" and not port.turned:
            return Pose()
        near = TWO_PORTS[element.kind][1 if port.turned else 0]
        return Pose(mirror=port.turned, upset=element.pins[near[0]] != port.inputs[0])

    def _two_columns(self, port: TwoPort, rails: _Rails) -> None:
        """A bridge of four single parts: two columns between plus and minus, the mains at their middles."""
        plus, minus = port.outputs
        pair = sorted(port.columns, key=lambda column: column[2] != port.inputs[0])
        entry = up(rails.edge + GAP)
        edge = entry
        middle = down(0.5 * rails.height)
        for place, (upper, lower, node) in enumerate(pair):
            top = standing(self.shop, Leaf(upper, plus, node))
            low = standing(self.shop, Leaf(lower, node, minus))
            x = up(edge + 2.0 * GAP - min(top.box.x0, low.box.x0))
            top = top.moved_to((x, middle - 1.5 * GAP - LENGTH))
            low = low.moved_to((x, middle + 1.5 * GAP))
            rails.pieces += [top, low]
            rails.top.append((x, plus))
            rails.bottom.append((x, minus))
            # The two ways in lie one above the other and cross the first column at most once.
            level = middle - 10.0 + 20.0 * place
            rails.buses += [
                Bus(plus, (x, 0.0), top.start),
                Bus(node, top.end, low.start),
                Bus(minus, low.end, (x, rails.height)),
                Bus(node, (entry, level), (x, level)),
                Bus(node, (entry, 0.0 if place == 0 else rails.height), (entry, level)),
            ]
            edge = max(top.box.x1, low.box.x1)
        rails.top.insert(-2, (entry, port.inputs[0]))
        rails.bottom.insert(-2, (entry, port.inputs[1]))
        rails.edge = edge + GAP


def _runs(places: Sequence[tuple[float, str]], y: float) -> list[Bus]:
    """Straight wires along a rail: from the first to the last place of each node that no other interrupts."""
    runs: list[Bus] = []
    for x, node in places:
        if runs and runs[-1].node == node:
            runs[-1] = Bus(node, runs[-1].start, (max(x, runs[-1].end[0]), y))
        else:
            runs.append(Bus(node, (x, y), (x, y)))
    return [run for run in runs if run.start != run.end]
