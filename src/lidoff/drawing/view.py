"""What the pictures of a cycle need, as frozen arrays: taken from a solution once, or written by hand in a test.

Angles are in degrees of the mains, 0 at the rising zero crossing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from lidoff.drawing.svg import DrawingError

if TYPE_CHECKING:
    from lidoff.circuit import Element
    from lidoff.cycle import Solution

Floats = NDArray[np.float64]

# Kinds whose conduction comes and goes, in the order in which they are listed, with the role of their colour.
SWITCHING: Final = {
    "triac": "switch",
    "thyristor": "switch",
    "bridge": "rectifier",
    "diode": "rectifier",
    "led": "light",
    "indicator": "light",
    "zener": "rectifier",
}
_SHARE: Final = 0.02  # of its own peak, above which a part counts as conducting
_NOTHING: Final = 10e-6  # [A] below which nothing worth the name flows
_GAP: Final = 1.0  # [degrees] a pause shorter than this is none
_SAME: Final = 1.5  # [degrees] spans no farther apart than this are the same
MOST_CYCLES: Final = 4  # of a rhythm, more would not be readable


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conduction:
    """When a part conducts: spans [degrees] over the record, none where it never does.

    `ref` names several parts of one kind where they conduct together ("D1, D4"), `count` how many.
    """

    ref: str
    kind: str
    spans: tuple[tuple[float, float], ...]
    count: int = 1

    @property
    def role(self) -> str:
        """The colour it is drawn in."""
        return SWITCHING[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CycleView:
    """Mains voltage [V], input current [A] and light (share of its peak) over the angle [degrees], end point left out.

    `light` is None where there is no source of light, all zero where it stays dark. `cycles` is the number of mains
    cycles shown, `rhythm` that after which everything repeats; `mean_light` is a share of the peak.
    """

    angle: Floats
    voltage: Floats
    current: Floats
    light: Floats | None
    parts: tuple[Conduction, ...]
    frequency: float
    cycles: int = 1
    rhythm: int = 1
    title: str = ""
    mean_light: float = 0.0

    @property
    def span(self) -> float:
        """Angle shown [degrees]."""
        return 360.0 * self.cycles

    @property
    def voltage_peak(self) -> float:
        """Largest magnitude of the mains voltage [V]."""
        return float(np.abs(self.voltage).max())

    @property
    def current_peak(self) -> float:
        """Largest magnitude of the input current [A]."""
        return float(np.abs(self.current).max())


def view_of(source: Solution | CycleView, *, most_cycles: int = MOST_CYCLES) -> CycleView:
    """The view of a solution, at most `most_cycles` of it; a view is given back as it is, cut to that length.

    Raises DrawingError on a bench supply of dc, where there is no cycle.
    """
    if isinstance(source, CycleView):
        for wave in (source.voltage, source.current, source.light):
            if wave is not None and not np.isfinite(wave).all():
                raise DrawingError("A wave with a value that is not finite cannot be drawn; solve the circuit again")
        return _cut(source, most_cycles)
    if source.direct:
        raise DrawingError("On a bench supply of dc there is no cycle to draw; choose a state that runs on the mains")
    voltage, current = source.input_waves()
    light = source.light_wave() if source.led_parts else None
    shown = None
    if light is not None:
        peak = float(light.max())
        shown = np.maximum(light / peak, 0.0) if peak > _NOTHING else np.zeros_like(light)
    angle = source.time * (360.0 * source.circuit.supply.frequency)
    state = source.circuit.state
    view = CycleView(
        angle=angle,
        voltage=voltage,
        current=current,
        light=shown,
        parts=together(conductions(source)),
        frequency=source.circuit.supply.frequency,
        cycles=source.cycles,
        rhythm=source.cycles,
        title=f"{source.circuit.title}{f', {state}' if state else ''}",
        mean_light=float(shown.mean()) if shown is not None else 0.0,
    )
    return view_of(view, most_cycles=most_cycles)


def conductions(solution: Solution) -> list[Conduction]:
    """When each part that switches conducts over the record, in the order of `SWITCHING`."""
    angle = solution.time * (360.0 * solution.circuit.supply.frequency)
    return [_conduction(solution, element, angle) for element in _switching(solution.circuit.elements)]


def _cut(view: CycleView, most: int) -> CycleView:
    if view.cycles <= most:
        return view
    kept = view.angle.shape[0] * most // view.cycles
    end = 360.0 * most
    return CycleView(
        angle=view.angle[:kept],
        voltage=view.voltage[:kept],
        current=view.current[:kept],
        light=None if view.light is None else view.light[:kept],
        parts=tuple(replace(p, spans=tuple((a, min(b, end)) for a, b in p.spans if a < end)) for p in view.parts),
        frequency=view.frequency,
        cycles=most,
        rhythm=view.rhythm,
        title=view.title,
        mean_light=view.mean_light,
    )


def _switching(elements: Sequence[Element]) -> list[Element]:
    order = list(SWITCHING)
    return sorted((e for e in elements if e.kind in SWITCHING), key=lambda e: order.index(e.kind))


def _conduction(solution: Solution, element: Element, angle: Floats) -> Conduction:
    """From the current: a latch conducts while its holding current flows, anything else above 2 % of its peak."""
    current = np.abs(solution.current(element.ref))
    threshold = max(_SHARE * float(current.max()), _NOTHING)
    if element.kind in ("triac", "thyristor"):
        threshold = max(threshold, element.number("holding_current"))
    return Conduction(ref=element.ref, kind=element.kind, spans=spans_above(current, threshold, angle))


def together(parts: Sequence[Conduction]) -> tuple[Conduction, ...]:
    """Parts of one kind that conduct at the same times (within 1.5 degrees) as one."""
    found: list[Conduction] = []
    for part in parts:
        alike = next((k for k, other in enumerate(found) if _alike(part, other)), None)
        if alike is None:
            found.append(part)
        else:
            first = found[alike]
            found[alike] = replace(first, ref=f"{first.ref}, {part.ref}", count=first.count + part.count)
    return tuple(found)


def _alike(one: Conduction, other: Conduction) -> bool:
    if one.kind != other.kind or len(one.spans) != len(other.spans):
        return False
    pairs = zip(one.spans, other.spans, strict=True)
    return all(abs(a - c) <= _SAME and abs(b - d) <= _SAME for (a, b), (c, d) in pairs)


def spans_above(wave: Floats, threshold: float, angle: Floats) -> tuple[tuple[float, float], ...]:
    """The spans [degrees] in which the wave is at or above the threshold, pauses under a degree bridged."""
    on = wave >= threshold
    end = float(angle[-1] + angle[1] - angle[0])
    if on.all():
        return ((0.0, end),)
    edges = np.flatnonzero(np.diff(on.astype(np.int8)))
    marks = [float(0.5 * (angle[k] + angle[k + 1])) for k in edges]
    if on[0]:
        marks.insert(0, 0.0)
    if on[-1]:
        marks.append(end)
    spans: list[tuple[float, float]] = []
    for start, stop in zip(marks[::2], marks[1::2], strict=True):
        if spans and start - spans[-1][1] < _GAP:
            spans[-1] = (spans[-1][0], stop)
        else:
            spans.append((start, stop))
    return tuple(spans)


def joined_round(spans: Sequence[tuple[float, float]], whole: float) -> list[tuple[float, float]]:
    """The spans with one that runs over the end of the cycle in one piece (its end then above `whole`)."""
    found = list(spans)
    if len(found) > 1 and found[0][0] <= 0.0 and found[-1][1] >= whole:
        first = found.pop(0)
        found[-1] = (found[-1][0], whole + first[1])
    return found


def described(view: CycleView) -> str:
    """The picture in words, for those who hear it instead of seeing it."""
    from lidoff.quantity import engineering

    at = float(view.angle[int(np.abs(view.current).argmax())])
    sentences = [
        f"Mains of {view.frequency:g} Hz with a peak of {engineering(view.voltage_peak, 'V')}.",
        f"The input current peaks at {engineering(view.current_peak, 'A')}, {at:.0f} degrees after the zero crossing."
        if view.current_peak > 0.0
        else "No input current flows.",
    ]
    for part in view.parts:
        name = " and ".join(part.ref.rsplit(", ", 1))
        if not part.spans:
            sentences.append(f"{name} {'does' if part.count == 1 else 'do'} not conduct.")
            continue
        spans = " and ".join(f"{a:.0f} to {b:.0f}" for a, b in joined_round(part.spans, view.span)[:6])
        more = " and so on" if len(part.spans) > 6 else ""
        sentences.append(f"{name} {'conducts' if part.count == 1 else 'conduct'} from {spans} degrees{more}.")
    if view.light is not None:
        if float(view.light.max()) <= 0.0:
            sentences.append("There is no light.")
        else:
            sentences.append(
                f"The light is between {100.0 * float(view.light.min()):.0f} % and 100 % of its peak, "
                f"{100.0 * view.mean_light:.0f} % on average."
            )
    if view.rhythm > 1:
        sentences.append(f"It repeats after {view.rhythm} cycles, of which {view.cycles} are shown.")
    return " ".join(sentences)
