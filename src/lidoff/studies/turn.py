"""A knob turned up and then down, the state carried along: hysteresis, snap-on, dead travel.

The light of a diac-fired dimmer comes later on the way up than it goes on the way down, because the timing capacitor
is charged differently before the first firing than between firings. So each place starts from where the last one has
settled, and the way down begins where the way up has ended.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import numpy as np

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit
from lidoff.cycle import Point
from lidoff.studies.errors import StudyError
from lidoff.studies.sweep import Stop, dead_travel, floor, on_level, stop_at

# A knob moved in a jerk can wake a dimmer that would have stayed dark: the timing capacitor swings higher for a moment.
# So it is turned in steps no longer than this, and where the light comes or goes a tenth of that.
_LONGEST: Final = 0.025 * (1.0 + 1e-9)
_FINER: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A knob turned: the places on the way up and on the way down, in the order in which they were taken.

    `snap_on` and `snap_off` are the positions [0..1] at which the light comes and goes, each in its own direction,
    located within the knob's step: the mean LED current rises above, or falls below, a fifth more than what leaks
    through while the triac does not fire (where that is no measure, 5 % of its range above its minimum). They are None
    where the light never goes out, or where there is none. `power_on` and `power_off` say the same of the power at the
    terminals, for lamps that are not LEDs; None where there are LEDs.
    """

    ref: str
    state: str | None
    up: tuple[Stop, ...]
    down: tuple[Stop, ...]
    dead_travel: float | None
    floor: float | None
    snap_on: float | None
    snap_off: float | None
    power_on: float | None
    power_off: float | None
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff turn --json` prints."""
        return {
            "ref": self.ref,
            "state": self.state,
            "up": [stop.as_json("position") for stop in self.up],
            "down": [stop.as_json("position") for stop in self.down],
            "dead_travel": self.dead_travel,
            "floor": self.floor,
            "snap_on": self.snap_on,
            "snap_off": self.snap_off,
            "power": {"snap_on": self.power_on, "snap_off": self.power_off},
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True, slots=True)
class _Way:
    """A stop with the state that the next one starts from."""

    stop: Stop
    end: Point | None


def turn(circuit: Circuit, ref: str, points: int = 41) -> Turn:
    """The potentiometer `ref` turned from position 0 to 1 and back, `points` places each way.

    The first place starts from rest, each other one from where the last one settled. Raises StudyError where `ref` is
    not a potentiometer of this circuit, or for fewer than two points.
    """
    element = circuit.element(ref)
    knobs = ", ".join(e.ref for e in circuit.elements if e.kind == "potentiometer")
    if element is None or element.kind != "potentiometer":
        what = "there is no such part in this state" if element is None else f"it is a {element.kind}"
        there = f"what turns here is {knobs}" if knobs else "this state has no potentiometer"
        raise StudyError(f"{ref} cannot be turned, {what}; {there}")
    if points < 2:
        raise StudyError(f"{points} points make no turn of {ref}; take at least 2")
    positions = [float(position) for position in np.linspace(0.0, 1.0, points)]

    def at(position: float, start: Point | None) -> _Way:
        stop, end, _ = stop_at(with_values(circuit, {f"{ref}.position": position}), position, start)
        return _Way(stop, end)

    ways: list[_Way] = []
    for position in (*positions, *reversed(positions)):
        start = ways[-1].end if ways else None
        for between in _steps(ways[-1].stop.value, position) if ways else ():
            start = at(between, start).end
        ways.append(at(position, start))
    up, down = ways[:points], ways[points:]
    stops = [way.stop for way in ways]
    if all(stop.input is None for stop in stops):
        raise StudyError(f"No cycle was found anywhere along {ref}: {stops[0].problem}")
    on, off = _snaps((up, down), lambda stop: stop.brightness, at)
    without_leds = all(stop.light is None for stop in stops)
    power_on, power_off = _snaps((up, down), lambda stop: stop.power, at) if without_leds else (None, None)
    return Turn(
        ref=ref,
        state=circuit.state,
        up=tuple(way.stop for way in up),
        down=tuple(way.stop for way in down),
        dead_travel=dead_travel(stops),
        floor=floor(stops),
        snap_on=on,
        snap_off=off,
        power_on=power_on,
        power_off=power_off,
        warnings=(*circuit.warnings, *_problems(ref, stops)),
    )


def _problems(ref: str, stops: Sequence[Stop]) -> list[str]:
    """One sentence per kind of trouble met, with where it was met first and how often."""
    met: dict[str, list[float]] = {}
    for stop in stops:
        if stop.problem:
            met.setdefault(stop.problem, []).append(stop.value)
    return [
        f"{ref} at {where[0]:.3f}{f' and {len(where) - 1} other places' if len(where) > 1 else ''}: {problem}"
        for problem, where in met.items()
    ]


def _snaps(
    sweeps: tuple[Sequence[_Way], Sequence[_Way]],
    figure: Callable[[Stop], float | None],
    at: Callable[[float, Point | None], _Way],
) -> tuple[float | None, float | None]:
    """Positions at which a figure comes and goes, None where it does not or where there is none."""
    level = on_level([way.stop for sweep in sweeps for way in sweep], figure)
    if level is None:
        return None, None
    on: float | None = None
    off: float | None = None
    for sweep in sweeps:
        for before, after in pairwise(sweep):
            first, second = figure(before.stop), figure(after.stop)
            if first is None or second is None or (first > level) == (second > level):
                continue
            if second > level and on is None:
                on = _located(before, after.stop.value, figure, level, at)
            elif second <= level and off is None:
                off = _located(before, after.stop.value, figure, level, at)
    return on, off


def _steps(first: float, last: float, count: int | None = None) -> list[float]:
    """Positions on the way from first to last, both left out, `count` steps or none longer than allowed."""
    parts = count or math.ceil(abs(last - first) / _LONGEST)
    return [float(position) for position in np.linspace(first, last, parts + 1)[1:-1]] if parts > 1 else []


def _located(
    before: _Way,
    beyond: float,
    figure: Callable[[Stop], float | None],
    level: float,
    at: Callable[[float, Point | None], _Way],
) -> float:
    """Where within one step of the knob the figure passes the level, turned slowly from the place before it."""
    here, start = before, figure(before.stop)
    for position in (*_steps(before.stop.value, beyond, _FINER), beyond):
        trial = at(position, here.end)
        value = figure(trial.stop)
        if value is None or start is None or (value > level) != (start > level):
            return 0.5 * (here.stop.value + position)
        here = trial
    return beyond
