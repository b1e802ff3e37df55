"""The cycle on the schematic: at an instant, the thickness of wires and parts is their current, the nodes bear volts.

What carries less than a hundredth of the largest current of the cycle is drawn thin and faint, so that the way of the
current shows without colour. Arrows tell its direction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from lidoff.drawing.flows import Floats, PinCurrents, voltages_at, wire_currents
from lidoff.drawing.labels import node_labels, room_of
from lidoff.drawing.render import Overlay, layers
from lidoff.drawing.schematics import Schematic, schematic
from lidoff.drawing.shapes import Point
from lidoff.drawing.svg import DrawingError, document, element, label, wrapped
from lidoff.quantity import engineering

if TYPE_CHECKING:
    from lidoff.circuit import Circuit
    from lidoff.cycle import Solution

_THIN: Final = 1.6  # width that stands for a hundredth of the largest current
_THICK: Final = 6.5  # and for the whole of it
_SHARE: Final = 0.01
_SPIKE: Final = 0.005  # of the time
_ARROW: Final = 44.0  # a straight run this long bears an arrow
SIX: Final = (15.0, 45.0, 75.0, 105.0, 135.0, 165.0)  # degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleScene:
    """A drawn circuit with its currents, placed and wired once, to be looked at at any instant.

    `most` is the current that is drawn thickest [A].
    """

    drawing: Schematic
    solution: Solution
    pins: PinCurrents
    most: float

    def at(self, t: float, *, paper: bool = False) -> str:
        """The schematic at the instant `t` [s] of the cycle as SVG."""
        heading, overlay = _overlay(self, t, size=12.0)
        width, height, body = layers(self.drawing, overlay)
        return document(
            width,
            height,
            body,
            name="schematic instant",
            title=f"{self.drawing.circuit.title or 'Schematic'} {heading}",
            description=_described(self, t),
            paper=paper,
        )

    def bare(self, t: float, *, volts: float = 0.0, description: bool = False) -> str:
        """The schematic at the instant `t` [s] without a heading or a legend, for moving pictures and slides.

        `volts` is the size of the words with the volts of the nodes; with 0 there are none, and every instant gives a
        picture of the same size. `description` puts the instant in words into it.
        """
        _, overlay = _overlay(self, t, size=volts or 12.0, legend=False)
        if volts <= 0.0:
            overlay = replace(overlay, words=(), notes=())
        width, height, body = layers(self.drawing, overlay)
        return document(
            width,
            height,
            body,
            name="schematic instant",
            title=f"{self.drawing.circuit.title or 'Schematic'} {_heading(self, t)}",
            description=_described(self, t) if description else "",
        )

    def carrying(self, t: float) -> tuple[tuple[str, float], ...]:
        """The parts that carry more than a hundredth of the largest current, with their currents [A], largest first."""
        currents = self.pins.at(t)
        found = [
            (e.ref, max((abs(currents[e.ref, pin]) for pin in e.pins), default=0.0))
            for e in self.solution.circuit.elements
        ]
        return tuple(sorted((one for one in found if _width(self, one[1]) > 0.0), key=lambda one: -one[1]))


def cycle_scene(
    circuit: Circuit,
    solution: Solution,
    *,
    hints: Mapping[str, Any] | None = None,
    size: float = 13.0,
    values: bool = True,
) -> CycleScene:
    """The circuit drawn for looking at its cycle, with words of that size and with or without values.

    Raises DrawingError where the solution is not of this circuit.
    """
    if {e.ref for e in circuit.elements} != {e.ref for e in solution.circuit.elements}:
        raise DrawingError("The solution is not of this circuit; solve it in the same state")
    pins = PinCurrents(solution)
    most = max((_lasting(solution, wave) for wave in pins.waves.values()), default=0.0)
    drawing = schematic(circuit, hints=hints, size=size, values=values)
    return CycleScene(drawing=drawing, solution=solution, pins=pins, most=most)


def instant_svg(
    circuit: Circuit,
    solution: Solution,
    t: float,
    *,
    hints: Mapping[str, Any] | None = None,
    paper: bool = False,
) -> str:
    """The schematic at the instant `t` [s] of the cycle, as SVG: currents as thickness, node voltages as numbers.

    Voltages are against neutral (on a bench supply against its minus). For many instants of one cycle make the scene
    once (`cycle_scene`). Raises DrawingError where the solution is not of this circuit.
    """
    return cycle_scene(circuit, solution, hints=hints).at(t, paper=paper)


def six_instants_svg(
    circuit: Circuit,
    solution: Solution,
    *,
    angles: Sequence[float] = SIX,
    hints: Mapping[str, Any] | None = None,
    narrow: bool = False,
    paper: bool = False,
) -> str:
    """Six instants of the half-cycle side by side, for print; one below the other in the narrow form.

    `angles` [degrees] count from the rising zero crossing. The thickness means the same in all six.
    """
    scene = cycle_scene(circuit, solution, hints=hints, size=30.0 if narrow else 24.0, values=False)
    period = 360.0 * circuit.supply.frequency
    shots = []
    for angle in angles:
        heading, overlay = _overlay(scene, angle / period, size=27.0 if narrow else 22.0, legend=False)
        shots.append((heading, *layers(scene.drawing, overlay)))
    widest, tallest = max(shot[1] for shot in shots), max(shot[2] for shot in shots)
    columns = 1 if narrow else 2 if widest > 1.6 * tallest else 3
    page, gap, size = (360.0, 8.0, 12.0) if narrow else (1000.0, 16.0, 15.0)
    wide = (page - gap * (columns + 1)) / columns
    scale = wide / widest
    body = []
    for place, (heading, width, height, inner) in enumerate(shots):
        x = gap + (place % columns) * (wide + gap)
        y = gap + (place // columns) * (scale * tallest + 2.4 * size)
        body.append(label(x, y + size, heading, size, weight="bold"))
        body.append(
            element(
                "svg",
                *inner,
                x=x,
                y=y + 1.4 * size,
                width=scale * width,
                height=scale * height,
                viewBox=f"0 0 {width:g} {height:g}",
            )
        )
    rows = -(-len(shots) // columns)
    bottom = gap + rows * (scale * tallest + 2.4 * size) + 1.1 * size
    for row in wrapped(_legend(scene), size, page - 2.0 * gap):
        body.append(label(gap, bottom, row, size, opacity=0.85))
        bottom += 1.4 * size
    return document(
        page,
        bottom,
        body,
        name="instants",
        title=f"{circuit.title or 'Schematic'}: six instants of the half-cycle",
        description=" ".join(_described(scene, angle / period) for angle in angles),
        paper=paper,
    )


def _lasting(solution: Solution, wave: Floats) -> float:
    """The magnitude [A] that a wave exceeds for half a percent of the time at most: spikes do not set the scale."""
    size = np.abs(wave)
    order = np.argsort(size)
    share = np.cumsum(solution.waves.weight[order])
    return float(size[order][np.searchsorted(share, 1.0 - _SPIKE).clip(max=size.size - 1)])


def _overlay(scene: CycleScene, t: float, *, size: float, legend: bool = True) -> tuple[str, Overlay]:
    currents = scene.pins.at(t)
    along = wire_currents(scene.drawing, currents)
    wires = {node: tuple(_width(scene, amps) for amps in flows) for node, flows in along.items()}
    parts: dict[str | tuple[str, str], float] = {}
    for e in scene.solution.circuit.elements:
        own = [abs(currents[e.ref, pin]) for pin in e.pins]
        parts[e.ref] = _width(scene, max(own, default=0.0))
        parts |= {(e.ref, pin): _width(scene, currents[e.ref, pin]) for pin in e.pins}
    volts = voltages_at(scene.solution, t)
    reference = scene.solution.circuit.supply.reference
    texts = {node: _volts(volts[node]) for node in volts if node != reference}
    labels = node_labels(scene.drawing, room_of(scene.drawing), texts, size)
    notes = ["; ".join(f"node {node}: {text}" for node, text in labels.left_over)] if labels.left_over else []
    if legend:
        notes.append(_legend(scene))
    overlay = Overlay(
        words=labels.words,
        wires=wires,
        parts=parts,
        arrows=_arrows(scene, along),
        notes=tuple(notes),
        heading=_heading(scene, t) if legend else "",
    )
    return _heading(scene, t), overlay


def _width(scene: CycleScene, amps: float) -> float:
    share = min(abs(amps) / scene.most, 1.0) if scene.most > 0.0 else 0.0
    return 0.0 if share < _SHARE else _THIN + (_THICK - _THIN) * share


def _volts(volts: float) -> str:
    if abs(volts) < 0.05:
        return "0 V"
    text = f"{volts:.0f} V" if abs(volts) >= 9.95 else f"{volts:.1f} V"
    return text.replace("-", "−")


def _heading(scene: CycleScene, t: float) -> str:
    supply = scene.solution.circuit.supply
    if supply.dc is not None:
        return "on the bench supply"
    angle = 360.0 * supply.frequency * t
    return f"at {angle:.0f}°, {1000.0 * t:.1f} ms"


def _legend(scene: CycleScene) -> str:
    against = "the minus of the supply" if scene.solution.direct else "neutral (N)"
    return (
        f"The thickest line carries {engineering(scene.most, 'A')} or more; thin and faint: under a hundredth of that. "
        f"Arrows: direction of the current. Volts are against {against}."
    )


def _arrows(scene: CycleScene, along: Mapping[str, Sequence[float]]) -> tuple[tuple[Point, Point], ...]:
    """An arrow on the longest straight run of each wire that carries something and is long enough."""
    found = []
    for node, flows in along.items():
        for wire, amps in zip(scene.drawing.points[node], flows, strict=True):
            if _width(scene, amps) <= 0.0:
                continue
            runs = [(abs(b[0] - a[0]) + abs(b[1] - a[1]), a, b) for a, b in pairwise(wire)]
            length, a, b = max(runs)
            if length < _ARROW:
                continue
            sign = 1.0 if amps > 0.0 else -1.0
            way = (sign * (b[0] - a[0]) / length, sign * (b[1] - a[1]) / length)
            found.append(((0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])), way))
    return tuple(found)


def _described(scene: CycleScene, t: float) -> str:
    """The instant in words: who carries what, and the volts of the nodes."""
    currents = scene.pins.at(t)
    carrying = []
    for e in scene.solution.circuit.elements:
        amps = max((abs(currents[e.ref, pin]) for pin in e.pins), default=0.0)
        if _width(scene, amps) > 0.0:
            carrying.append(f"{e.ref} {engineering(amps, 'A')}")
    volts = ", ".join(f"{node} {_volts(v)}" for node, v in voltages_at(scene.solution, t).items())
    flow = ", ".join(carrying) or "nothing"
    return f"{_heading(scene, t).capitalize()}: current flows through {flow}. Volts: {volts}."
