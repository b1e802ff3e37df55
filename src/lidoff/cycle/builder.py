"""Building a system: conductances, capacitances, coils, curves and latches entered one by one, then laid out flat."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import numpy as np

from lidoff.circuit.model import Circuit
from lidoff.cycle import laws
from lidoff.cycle.arrays import Floats, System

TIE: Final = 1e-9  # [S] from a part of the circuit that floats to the reference node


Flow = tuple[str, int, int, float]
"""Share of a current: ("g", a, b, siemens), ("c", state, 0, farads), ("x", unknown, 0, 1) or ("f", curve, 0, sign)."""


@dataclass(slots=True)
class Pins:
    """Where an element's voltage and current are found in a solution: what adds up to the current, between which nodes.

    `branches` are all the inner ways that current takes, each with its own pair of nodes: their powers add up.
    """

    pair: tuple[int, int] = (-1, -1)  # voltage is taken from the first to the second
    current: list[Flow] = field(default_factory=list)
    branches: list[tuple[tuple[int, int], list[Flow]]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Built:
    """A system with its names: node to unknown, element to pins, latch to element."""

    system: System
    index: Mapping[str, int]
    pins: Mapping[str, Pins]
    latches: tuple[str, ...]
    owners: tuple[str, ...]  # element of each curve
    source: int
    stores: tuple[tuple[str, int, float], ...]  # element, state, capacitance or inductance (for energies)
    inductances: Floats


class Builder:
    """Collects what the parts of a circuit consist of.

    Nodes count from 0, the reference node is -1; branch unknowns, which come after all nodes, are -2 and down until
    `finish` lays everything out.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.index: dict[str, int] = {circuit.supply.reference: -1}
        self.nodes = 0
        for element in circuit.elements:
            for node in element.nodes:
                if node is not None:
                    self.at(node)
        if circuit.supply.dc is None:
            self.at("live")
        elif circuit.supply.nodes is not None:
            self.at(circuit.supply.nodes[0])
        self.inner: list[int] = []
        self.g: list[tuple[int, int, float]] = []
        self.c: list[tuple[int, int, float]] = []
        self.states: list[tuple[int, int, int]] = []  # za, zb, kind: 0 capacitor, 1 coil
        self.h: list[tuple[int, int, float]] = []
        self.branches: list[str] = []
        self.curves: list[tuple[int, int, int, int, int, tuple[float, ...], int]] = []
        self.latches: list[tuple[str, int, int, tuple[float, float, float], int]] = []
        self.pins: dict[str, Pins] = {}
        self.stores: list[tuple[str, int, float]] = []
        self.coils: list[tuple[int, int, float]] = []
        self.amplitudes: list[float] = []
        self.orders: list[float] = []
        self.source = -1
        self.entering = "supply"  # the element that is being entered
        self.owners: list[str] = []

    def at(self, node: str) -> int:
        """Number of a node, new or known."""
        if node not in self.index:
            self.index[node] = self.nodes
            self.nodes += 1
        return self.index[node]

    def new_node(self) -> int:
        """Number of an inner node of a part."""
        self.nodes += 1
        return self.nodes - 1

    def new_branch(self) -> int:
        """Number of a branch unknown (negative until all nodes are known)."""
        self.branches.append("")
        return -1 - len(self.branches)

    def conductance(self, a: int, b: int, value: float) -> Flow:
        """A conductance [S] between two nodes."""
        self.g += [(a, a, value), (b, b, value), (a, b, -value), (b, a, -value)]
        return ("g", a, b, value)

    def capacitance(self, ref: str, a: int, b: int, value: float) -> Flow:
        """A capacitance [F] between two nodes, with its state."""
        self.c += [(a, a, value), (b, b, value), (a, b, -value), (b, a, -value)]
        k = len(self.states)
        self.states.append((a, b, 0))
        self.h += [(a, k, value), (b, k, -value)]
        self.stores.append((ref, k, value))
        return ("c", k, 0, value)

    def coil(self, a: int, b: int, resistance: float) -> int:
        """A branch R i + (L i)' = v; its inductances are entered by `inductance`."""
        row = self.new_branch()
        self.g += [(a, row, 1.0), (b, row, -1.0), (row, a, -1.0), (row, b, 1.0), (row, row, resistance)]
        return row

    def inductance(self, rows: list[int], matrix: list[list[float]], ref: str) -> None:
        """Inductances [H] of branches made by `coil`, coupled or not, with their states."""
        first = len(self.states)
        for row in rows:
            self.states.append((row, -1, 1))
        for i, row in enumerate(rows):
            for j, other in enumerate(rows):
                self.c.append((row, other, matrix[i][j]))
                self.h.append((row, first + j, matrix[i][j]))
                self.coils.append((first + i, first + j, matrix[i][j]))
            self.stores.append((ref, first + i, 0.0))

    def curve(
        self,
        kind: int,
        a: int,
        b: int,
        par: tuple[float, ...],
        flow: tuple[int, int] | None = None,
        latch: int = -1,
    ) -> Flow:
        """A curve of `laws` sensed from a to b; its current flows there too unless `flow` says otherwise."""
        p, q = flow if flow is not None else (a, b)
        self.curves.append((kind, a, b, p, q, par, latch))
        self.owners.append(self.entering)
        return ("f", len(self.curves) - 1, 0, 1.0)

    def tie_floating(self) -> None:
        """Ties each part of the circuit that no conductor joins to the reference node by `TIE`."""
        parent = list(range(self.nodes + 1))

        def root(k: int) -> int:
            while parent[k] != k:
                parent[k] = parent[parent[k]]
                k = parent[k]
            return k

        def join(a: int, b: int) -> None:
            if a >= -1 and b >= -1:
                parent[root(a + 1)] = root(b + 1)

        branch_nodes: dict[int, list[int]] = {}
        for r, col, _ in self.g:
            if r >= -1 and col >= -1:
                join(r, col)
            elif col < -1 and r >= -1:
                branch_nodes.setdefault(col, []).append(r)
        for pair in branch_nodes.values():
            for node in pair[1:]:
                join(pair[0], node)
        for _kind, _a, _b, p, q, _par, _latch in self.curves:
            join(p, q)
        tied: set[int] = set()
        for node in range(self.nodes):
            r = root(node + 1)
            if r != root(0) and r not in tied:
                tied.add(r)
                self.g.append((node, node, TIE))

    def finish(self) -> Built:
        """Everything laid out flat, node voltages first, then branch currents."""
        nodes, n = self.nodes, self.nodes + len(self.branches)

        def place(k: int) -> int:
            return k if k >= -1 else nodes - 2 - k

        g, c = np.zeros((n, n)), np.zeros((n, n))
        for matrix, entries in ((g, self.g), (c, self.c)):
            for r, col, value in entries:
                if r != -1 and col != -1:
                    matrix[place(r), place(col)] += value
        nz, nc, nl = len(self.states), len(self.curves), len(self.latches)
        h = np.zeros((n, nz))
        for r, k, value in self.h:
            if r != -1:
                h[place(r), k] += value
        par = np.zeros((nc, laws.PARAMETERS))
        for row, curve in enumerate(self.curves):
            par[row, : len(curve[5])] = curve[5]
        inductances = np.zeros((nz, nz))
        for i, j, value in self.coils:
            inductances[i, j] = value

        def column(values: list[int]) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
            return np.array(values, dtype=np.int64)

        supply = self.circuit.supply
        volts = supply.voltage * math.sqrt(2.0) if supply.dc is None else max(supply.dc, 1e-3)
        c_row, c_col = np.nonzero(c)
        system = System(
            g=g,
            c=c,
            c_row=c_row.astype(np.int64),
            c_col=c_col.astype(np.int64),
            c_value=c[c_row, c_col],
            h=h,
            za=column([place(s[0]) for s in self.states]),
            zb=column([place(s[1]) for s in self.states]),
            kind=column([curve[0] for curve in self.curves]),
            sa=column([place(curve[1]) for curve in self.curves]),
            sb=column([place(curve[2]) for curve in self.curves]),
            fp=column([place(curve[3]) for curve in self.curves]),
            fq=column([place(curve[4]) for curve in self.curves]),
            par=par,
            latch_of=column([curve[6] for curve in self.curves]),
            main=column([latch[1] for latch in self.latches]),
            gate=column([latch[2] for latch in self.latches]),
            limit=np.array([latch[3] for latch in self.latches], dtype=float).reshape(nl, 3),
            oneway=column([latch[4] for latch in self.latches]),
            amplitude=np.array(self.amplitudes, dtype=float),
            order=np.array(self.orders, dtype=float),
            source=place(self.source) if self.source != -1 else -1,
            nodes=nodes,
            omega=2.0 * math.pi * supply.frequency,
            volts=volts,
            amperes=volts * 1e-7,
        )
        pins = {ref: _placed(pin, place) for ref, pin in self.pins.items()}
        return Built(
            system=system,
            index=MappingProxyType(self.index),
            pins=MappingProxyType(pins),
            latches=tuple(latch[0] for latch in self.latches),
            owners=tuple(self.owners),
            source=system.source,
            stores=tuple(self.stores),
            inductances=inductances,
        )


def _placed(pins: Pins, place: Callable[[int], int]) -> Pins:
    def flow(entry: Flow) -> Flow:
        what, a, b, value = entry
        if what == "g":
            return (what, place(a), place(b), value)
        if what == "x":
            return (what, place(a), b, value)
        return entry

    return Pins(
        pins.pair,
        [flow(entry) for entry in pins.current],
        [(pair, [flow(entry) for entry in flows]) for pair, flows in pins.branches],
    )
