"""One answer of the solver as one binary message, and what stands where in it.

    int32    tag, settled, direct, carried, cycles of the rhythm, cycles shown, points P, spans S, bytes of text
    float32  the figures, one for each of `Layout.figures`; NaN where there is none
    float32  power [W], rms current [A] of each part of `Layout.refs`
    float32  R rows of P: instant [s], mains voltage [V], input current [A], light; voltage [V] and current [A] of each
             part (of one member of a block); current [A] into each pin of `Layout.pins`
    float32  S times: place in `Layout.switching`, from, to [degrees]: when a part conducts
    UTF-8    a JSON list of sentences that the solver has to say

All little-endian, which is what every browser's arrays are on the machines that this runs on. The rows stand at the
solver's own points, close together where something happens, so that no edge is lost.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.circuit import Circuit
from lidoff.cycle import Solution
from lidoff.drawing.flows import PinCurrents
from lidoff.drawing.view import MOST_CYCLES, SWITCHING, conductions
from lidoff.kinds import KINDS

Floats = NDArray[np.float64]
ROW_OF_PARTS: Final = 4
_MOST_POINTS: Final = 2400  # more than a screen has columns; a longer record is thinned to this
assert sys.byteorder == "little", "the frames of the cycle page are little-endian"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure of the cycle: where it stands in the solver's mapping, what it is called, its unit, and whether large.

    Its `unit` is "%" where the mapping has percent, "share" where it has a share that is shown as percent.
    """

    key: str
    label: str
    unit: str
    large: bool = False


_INPUT: Final = (
    Figure(key="input.power", label="Power", unit="W", large=True),
    Figure(key="input.current_rms", label="Current, rms", unit="A", large=True),
    Figure(key="input.power_factor", label="Power factor", unit="", large=True),
)
_LIGHT: Final = (
    Figure(key="light.percent_flicker", label="Percent flicker", unit="%", large=True),
    Figure(key="light.mean_current", label="Mean LED current", unit="A", large=True),
    Figure(key="leds.power", label="Of the power, in the LEDs", unit="W"),
    Figure(key="light.flicker_index", label="Flicker index", unit=""),
    Figure(key="light.frequency", label="Frequency of the light", unit="Hz"),
    Figure(key="light.svm", label="Stroboscopic visibility measure", unit=""),
)
_MORE: Final = (
    Figure(key="input.apparent_power", label="Apparent power", unit="VA"),
    Figure(key="input.current_peak", label="Current, peak", unit="A"),
    Figure(key="input.crest_factor", label="Crest factor of the current", unit=""),
    Figure(key="input.displacement_factor", label="Displacement factor", unit=""),
    Figure(key="input.thd", label="Distortion, THD", unit="share"),
)
_LARGE_UNLIT: Final = frozenset({"input.current_peak", "input.thd"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What the frames of one circuit hold, in order; `pins` are those of parts with three pins and more."""

    refs: tuple[str, ...]
    pins: tuple[tuple[str, str], ...]
    switching: tuple[str, ...]
    figures: tuple[Figure, ...]

    def lead(self, circuit: Circuit, ref: str, pin: str) -> tuple[int, float]:
        """The row of the current into a pin, and what to multiply it by [A into the whole group of members]."""
        if (ref, pin) in self.pins:
            return ROW_OF_PARTS + 2 * len(self.refs) + self.pins.index((ref, pin)), 1.0
        element = circuit.element(ref)
        assert element is not None
        first = next(iter(element.pins)) == pin
        return ROW_OF_PARTS + 2 * self.refs.index(ref) + 1, element.parallel if first else -element.parallel


def layout_of(circuit: Circuit) -> Layout:
    """The layout of the frames of a circuit, whatever the values in it."""
    lit = any(e.kind == "led" for e in circuit.elements)
    direct = circuit.supply.dc is not None
    order = list(SWITCHING)
    switching = sorted((e for e in circuit.elements if e.kind in SWITCHING), key=lambda e: order.index(e.kind))
    if direct:
        figures = (*_INPUT[:2], *([_LIGHT[1], _LIGHT[2]] if lit else []))
    elif lit:
        figures = (*_INPUT, *_LIGHT, *_MORE)
    else:
        figures = (*_INPUT, *(replace(one, large=one.key in _LARGE_UNLIT) for one in _MORE))
    return Layout(
        refs=tuple(e.ref for e in circuit.elements),
        pins=tuple((e.ref, pin) for e in circuit.elements if len(KINDS[e.kind].pins) > 2 for pin in e.pins),
        switching=() if direct else tuple(e.ref for e in switching),
        figures=figures,
    )


def packed(tag: int, solution: Solution, layout: Layout, *, carried: bool) -> bytes:
    """A solution as a frame. Of its figures no more is worked out than a frame has: a hand waits for it."""
    waves = _waves(solution, layout)
    table = {"input": solution.input_figures(), "light": solution.light_figures()}
    figures = [_number(table, solution, one.key) for one in layout.figures]
    first = ROW_OF_PARTS - 1  # the instants are not among the waves
    currents = waves[first + 1 : first + 2 * len(layout.refs) : 2]
    rms = np.sqrt(np.maximum(np.square(currents) @ solution.waves.weight, 0.0))
    powers = np.array([solution.powers[ref] for ref in layout.refs])
    parts = np.stack([powers, rms], axis=1).ravel()
    rows = _rows(solution, waves)
    spans = _spans(solution, layout)
    about = len(solution.circuit.warnings)
    words = json.dumps(list(solution.warnings[about:]), ensure_ascii=False).encode()
    shown = 1 if solution.direct else min(solution.cycles, MOST_CYCLES)
    head = np.array(
        [
            tag,
            solution.settled,
            solution.direct,
            carried,
            solution.cycles,
            shown,
            rows.shape[1],
            len(spans) // 3,
            len(words),
        ],
        dtype=np.int32,
    )
    numbers = np.concatenate([figures, parts, rows.ravel(), spans]).astype(np.float32)
    return head.tobytes() + numbers.tobytes() + words


def _waves(solution: Solution, layout: Layout) -> Floats:
    """Every row but the instants, at the solver's points."""
    waves = [*_input(solution), solution.light]
    for ref in layout.refs:
        waves += solution.part_wave(ref)
    pins: dict[tuple[str, str], Floats] = {}
    currents, several = PinCurrents(solution), {ref for ref, _ in layout.pins}
    for element in solution.circuit.elements:
        if element.ref in several:
            pins |= currents.of(element)
    return np.stack([*waves, *(pins[pin] for pin in layout.pins)])


def _rows(solution: Solution, found: Floats) -> Floats:
    """The rows with their instants, the start of the record with them."""
    if solution.direct:
        return np.vstack([np.zeros(1), found[:, -1:]])
    time = np.concatenate([[0.0], solution.waves.time])
    found = np.concatenate([found[:, -1:], found], axis=1)
    end = min(solution.cycles, MOST_CYCLES) / solution.circuit.supply.frequency
    if solution.cycles > MOST_CYCLES:
        kept = time <= end * (1.0 + 1e-9)
        time, found = time[kept], found[:, kept]
    if time.shape[0] > _MOST_POINTS:
        even = np.linspace(0.0, end, _MOST_POINTS)
        found = np.stack([np.interp(even, time, row) for row in found])
        time = even
    return np.vstack([time, found])


def _input(solution: Solution) -> tuple[Floats, Floats]:
    """Voltage [V] and current [A] at the item's terminals."""
    built, waves = solution.built, solution.waves
    if solution.direct:
        supply = built.pins["supply"]
        return waves.across(supply.pair), -waves.flow(supply.current)
    return waves.x[:, built.index["live"]], waves.x[:, built.source]


def _number(document: Mapping[str, Any], solution: Solution, key: str) -> float:
    place, _, name = key.partition(".")
    if place == "leds":
        return sum(solution.powers[e.ref] for e in solution.led_parts)
    value = (document[place] or {}).get(name)
    return float("nan") if value is None else float(value)


def _spans(solution: Solution, layout: Layout) -> list[float]:
    if solution.direct:
        return []
    found: list[float] = []
    whole = 360.0 * min(solution.cycles, MOST_CYCLES)
    for part in conductions(solution):
        which = float(layout.switching.index(part.ref))
        for start, end in part.spans:
            if start < whole:
                found += [which, start, min(end, whole)]
    return found
