"""How far the computed figures may be off: every input moved to the ends of its own range, one at a time.

What a part's tolerance, the mains and a value that nobody wrote down do to a figure is found by solving the cycle again
at both ends; the deviations are added up as a root of squares, upwards and downwards apart (JCGM 100:2008, 5.1, with
differences for derivatives; the ends rather than standard deviations, so that the range is one that is seldom left).
It takes two solutions an input, where a run over thousands of samples takes thousands, and it keeps that the mains does
more upwards than downwards. Inputs that move together, or matter only together, it does not see.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from lidoff.account.model import Range
from lidoff.circuit import Circuit, CircuitError
from lidoff.cycle import Solution, solve
from lidoff.readings.inputs import Input, applied
from lidoff.record.model import Table
from lidoff.studies import stress

Numbers = Mapping[str, float]
# Figures that are counts or settings, or that hold too many numbers for a range each.
_WITHOUT_RANGE: Final = ("input.harmonics", "supply", "solver", "cycles", "range")


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """An input with the coordinates it stands at and is moved to."""

    input: Input
    at: float
    low: float
    high: float

    @property
    def ends(self) -> tuple[float, ...]:
        """Where it is moved to, without the place where it stands already."""
        return tuple(dict.fromkeys(z for z in (self.low, self.high) if z != self.at))


def numbers_of(solution: Solution) -> dict[str, float]:
    """Every figure of a solution that can have a range, by dotted name; stresses as "stress.R1.power.mean power"."""
    found: dict[str, float] = {}
    _flatten(solution.figures(), "", found)
    for row in stress(solution):
        found[stress_name(row.part, row.quantity, row.measure)] = row.value
    return found


def stress_name(part: str, quantity: str, measure: str) -> str:
    """The name under which the range of a row of stress is kept."""
    return f"stress.{part}.{quantity}.{measure}"


def _flatten(value: Any, name: str, found: dict[str, float]) -> None:
    if name in _WITHOUT_RANGE:
        return
    if isinstance(value, Mapping):
        for key, inner in value.items():
            _flatten(inner, f"{name}.{key}" if name else str(key), found)
    elif isinstance(value, float | int) and not isinstance(value, bool):
        found[name] = float(value)


def ranges(circuit: Circuit, moved: Sequence[Moved], centre: Numbers) -> tuple[Mapping[str, Range], tuple[str, ...]]:
    """The range of every figure in `centre`, and a sentence for each end that could not be solved.

    `circuit` is as recorded, with its unknowns; `centre` are the numbers with all inputs where they stand.
    """
    up: dict[str, list[float]] = {name: [] for name in centre}
    down: dict[str, list[float]] = {name: [] for name in centre}
    failed: list[str] = []
    for place, one in enumerate(moved):
        ends = [_numbers_at(circuit, moved, place, z) for z in one.ends]
        if None in ends:
            failed.append(
                f"With {one.input.name} at an end of its range no cycle was found; it is left out of the ranges."
            )
        got = [end for end in ends if end is not None]
        for name, middle in centre.items():
            steps = [end[name] - middle for end in got if name in end]
            up[name].append(max([0.0, *steps]))
            down[name].append(min([0.0, *steps]))
    found = {name: _range(middle, down[name], up[name], moved) for name, middle in centre.items()}
    return Table(found), tuple(failed)


def _range(middle: float, down: Sequence[float], up: Sequence[float], moved: Sequence[Moved]) -> Range:
    low, high = middle - math.hypot(*down), middle + math.hypot(*up)
    squares = [a * a + b * b for a, b in zip(down, up, strict=True)]
    whole = sum(squares)
    if whole <= 0.0:
        return Range(low=low, high=high)
    most = max(range(len(squares)), key=squares.__getitem__)
    return Range(low=low, high=high, most=moved[most].input.name, share=squares[most] / whole)


def _numbers_at(circuit: Circuit, moved: Sequence[Moved], place: int, z: float) -> Numbers | None:
    try:
        solution = solve(placed(circuit, moved, lambda k, one: z if k == place else one.at))
    except CircuitError:
        return None
    return numbers_of(solution) if solution.settled else None


def placed(
    circuit: Circuit, moved: Iterable[Moved], where: Callable[[int, Moved], float] = lambda _place, one: one.at
) -> Circuit:
    """The circuit with every input at its coordinate, or at the one that `where` gives it."""
    listed = list(moved)
    return applied(circuit, [one.input for one in listed], [where(k, one) for k, one in enumerate(listed)])
