"""The cycle page's own solver session: one item in one state, values changed, the state of the circuit carried along.

A knob that is turned, a switch that is thrown and a mains voltage that drifts start from where the circuit stands, in
steps as in `studies.turn`, so that a dimmer comes on later than it goes off. A part with another value, and another
state, start from rest: nobody changes a part in a circuit that runs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from typing import Any, Final

from lidoff.circuit import Circuit, with_values
from lidoff.circuit.model import Number
from lidoff.cycle import Point, Solution, solve
from lidoff.desk.live_frame import Layout, layout_of, packed
from lidoff.desk.live_tries import read_values
from lidoff.errors import LidoffError

# As in studies.turn: a longer step would be a jerk, and a jerk can wake a dimmer that would have stayed dark.
_LONGEST: Final = 0.025 * (1.0 + 1e-9)
_ON_THE_WAY: Final = 0.1  # [s] spent at most on the places between; where that is not enough the steps get longer
_CARRIED: Final = frozenset({"position", "closed"})


class Session:
    """Answers to what one open page asks, one after the other, each from where the last one ended."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.layout: Layout = layout_of(circuit)
        self._values: Mapping[str, Number] = {}
        self._end: Point | None = None
        self._cost = 0.005  # [s] of one solution, as the last ones took

    def answer(self, tag: int, asked: Mapping[str, Any], *, rest: bool = False) -> bytes:
        """The cycle with those values in place of the recorded ones, as a frame (see `live_frame`) with that tag.

        `asked` maps "VR1.position", "R2.value", "supply.voltage" to numbers or to what somebody typed ("2k2"). With
        `rest` the circuit starts from rest. Raises LidoffError where there is no answer; the next one then starts
        from where the last good one ended.
        """
        values = read_values(self.circuit, asked)
        solution, carried = self._solved(values, rest)
        return packed(tag, solution, self.layout, carried=carried)

    def _solved(self, values: Mapping[str, Number], rest: bool) -> tuple[Solution, bool]:
        start = None if rest or not self._carries(values) else self._end
        if start is not None:
            for between in self._between(values):
                try:
                    start = self._timed(between, start).run.stretches[-1].end
                except LidoffError:
                    continue  # a place on the way without a solution: the next one starts from before it
        solution = self._timed(values, start)
        self._values = values
        # On a bench supply of dc the point is found from rest every time.
        self._end = None if solution.direct else solution.run.stretches[-1].end
        return solution, start is not None

    def _timed(self, values: Mapping[str, Number], start: Point | None) -> Solution:
        began = time.perf_counter()
        solution = solve(with_values(self.circuit, values), start=start)
        self._cost = 0.5 * self._cost + 0.5 * (time.perf_counter() - began)
        return solution

    def _carries(self, values: Mapping[str, Number]) -> bool:
        """Whether nothing but knobs, switches and the mains voltage is other than last time."""
        changed = {name for name in {*values, *self._values} if self._at(values, name) != self._at(self._values, name)}
        return all(name.rpartition(".")[2] in _CARRIED or name == "supply.voltage" for name in changed)

    def _between(self, values: Mapping[str, Number]) -> list[Mapping[str, Number]]:
        """The places that knobs pass on the way from where they stand."""
        moved: dict[str, tuple[float, float]] = {}
        for name in {*values, *self._values}:
            if name.endswith(".position"):
                before, now = (float(self._at(one, name) or 0.0) for one in (self._values, values))
                moved[name] = (before, now - before)
        furthest = max((abs(way) for _, way in moved.values()), default=0.0)
        count = min(math.ceil(furthest / _LONGEST), 1 + int(_ON_THE_WAY / max(self._cost, 1e-4)))
        return [
            {**values, **{name: before + way * step / count for name, (before, way) in moved.items()}}
            for step in range(1, count)
        ]

    def _at(self, values: Mapping[str, Number], name: str) -> Number | None:
        """What a value is among those, else what the record says of it; None where it has none of that name."""
        if name in values:
            return values[name]
        owner, _, key = name.rpartition(".")
        if owner == "supply":
            return self.circuit.supply.voltage if key == "voltage" else self.circuit.supply.dc
        element = self.circuit.element(owner)
        return element.values.get(key) if element is not None else None
