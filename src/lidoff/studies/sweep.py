"""Points along a value, and what a knob is worth: dead travel and floor of the light."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Point, Solution, solve
from lidoff.cycle.laws import GATED

DEAD_SHARE: Final = 0.05  # of (maximum - minimum): light that stays within it above the minimum counts as unchanged
_ABOVE_LEAK: Final = 1.2  # times what leaks through an open triac: more than that is light that it gives
_DARK: Final = 0.01  # share of the maximum below which a figure without a triac counts as out


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One place along the way: the value set there and the figures of the cycle that settled.

    `input` and `light` are the mappings of `figures --json`, None where no cycle was found; `problem` then says why.
    `cycles` is how many mains cycles the figures are taken over, more than one where the item runs in a rhythm.
    `fires` says whether a triac or thyristor fires here, None where there is none.
    """

    value: float
    input: Mapping[str, Any] | None
    light: Mapping[str, Any] | None
    settled: bool
    cycles: int = 1
    fires: bool | None = None
    problem: str | None = None

    @property
    def brightness(self) -> float | None:
        """Mean current of the LED string that gives most light [A]; None where there is none."""
        return None if self.light is None else float(self.light["mean_current"])

    @property
    def power(self) -> float | None:
        """Power at the item's terminals [W]."""
        return None if self.input is None else float(self.input["power"])

    def as_json(self, name: str) -> dict[str, Any]:
        """The mapping that `vary --json` and `turn --json` print for this place, the value under `name`."""
        return {
            name: self.value,
            "input": None if self.input is None else dict(self.input),
            "light": None if self.light is None else dict(self.light),
            "settled": self.settled,
            "cycles": self.cycles,
            "fires": self.fires,
        } | ({"problem": self.problem} if self.problem else {})


def stop_at(circuit: Circuit, value: float, start: Point | None = None) -> tuple[Stop, Point | None, Solution | None]:
    """The figures of a circuit that has `value` set, from rest or from `start`, and where its last cycle ended."""
    try:
        solution = solve(circuit, start=start)
    except CircuitError as error:
        return Stop(value=value, input=None, light=None, settled=False, problem=str(error)), start, None
    stop = Stop(
        value=value,
        input=solution.input_figures(),
        light=solution.light_figures(),
        settled=solution.settled,
        cycles=solution.cycles,
        fires=fires(solution),
        problem=None if solution.settled else _why(solution, circuit),
    )
    return stop, solution.run.stretches[-1].end, solution


def _why(solution: Solution, circuit: Circuit) -> str:
    new = [note for note in solution.warnings if note not in circuit.warnings]
    return new[-1] if new else "The cycle found here does not repeat; its figures wander."


def dead_travel(stops: Sequence[Stop]) -> float | None:
    """Share of the places [1] at which the light stays within 5 % of (maximum - minimum) above its minimum.

    Light is the mean LED current. None where there is no light.
    """
    light = [stop.brightness for stop in stops if stop.brightness is not None]
    if not light:
        return None
    low, high = min(light), max(light)
    limit = low + DEAD_SHARE * (high - low)
    return sum(value <= limit for value in light) / len(light)


def floor(stops: Sequence[Stop]) -> float | None:
    """Least light over most light [1]; None where there is none."""
    light = [stop.brightness for stop in stops if stop.brightness is not None]
    if not light or max(light) <= 0.0:
        return None
    return max(min(light), 0.0) / max(light)


def fires(solution: Solution) -> bool | None:
    """Whether a triac or thyristor fires, or stays on, in the settled cycle; None where there is none."""
    gated = np.flatnonzero(solution.built.system.gate >= 0)
    if not gated.size:
        return None
    return any(
        bool(stretch.start.latch[gated].any())
        or bool(np.isin(stretch.flips[:, 1], gated)[stretch.flips[:, 3] == GATED].any())
        for stretch in solution.run.stretches
    )


def on_level(stops: Sequence[Stop], figure: Callable[[Stop], float | None]) -> float | None:
    """The level of a figure above which it counts as on; None where it never goes out.

    Where there are places at which no triac fires, the largest value there (what leaks through) and a fifth more;
    else, where it falls below 1 % of its maximum, 5 % of (maximum - minimum) above the minimum.
    """
    values = [value for stop in stops if (value := figure(stop)) is not None]
    if not values or max(values) <= 0.0:
        return None
    leaks = [value for stop in stops if stop.fires is False and (value := figure(stop)) is not None]
    if leaks:
        level = _ABOVE_LEAK * max(leaks)
        return level if level < max(values) else None
    if min(values) >= _DARK * max(values):
        return None
    return min(values) + DEAD_SHARE * (max(values) - min(values))
