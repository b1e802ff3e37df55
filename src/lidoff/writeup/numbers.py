"""Figures as a write-up shows them: to no more digits than their interval has at two significant figures."""

from __future__ import annotations

import math
from typing import Final

from lidoff.account import Figure, Range
from lidoff.quantity import engineering, with_interval
from lidoff.writeup.blocks import BigFigure, Number

SOLVER: Final = 0.005
"""What the solver itself may be off by, as a share of the figure: its stated aim against a finer reference."""


def half_width(value: float, found: Range | None) -> float:
    """Half of the interval that a figure is shown by [its unit]: never less than the solver's own error."""
    own = SOLVER * abs(value)
    return own if found is None else max(found.half_width, own)


def written(figure: Figure) -> str:
    """The figure with its unit, to the digits that its interval bears and three at most: "5.4 W"."""
    return to_digits(figure.value, half_width(figure.value, figure.range), figure.unit)


def to_digits(value: float, half: float, unit: str) -> str:
    """A value with its unit, to the digits that its interval of ±`half` bears at two figures, and three at most."""
    if value == 0.0:
        return engineering(0.0, unit)
    # Three figures of the value, rounded first as 99.97 has its third figure where 100 has it.
    least = 10.0 ** (math.floor(math.log10(abs(float(f"{value:.3g}")))) - 1)
    return with_interval(value, max(half, least), unit, show_interval=False)


def number(figure: Figure | None) -> Number:
    """The figure as a run of text that knows its origin; a dash where there is none."""
    if figure is None:
        return Number(text="–", origin="")
    return Number(text=written(figure), origin=figure.origin, spread=spread(figure))


def spread(figure: Figure) -> str:
    """From where to where the figure may lie, "3.5 to 7.6 W"; nothing where only the solver's own error is left."""
    if figure.range is None or figure.range.half_width <= SOLVER * abs(figure.value):
        return ""
    return between(figure.range.low, figure.range.high, figure.unit)


def between(low: float, high: float, unit: str) -> str:
    """A span [unit] with both ends to the digits that its own half bears."""
    half = 0.5 * abs(high - low)
    ends = [
        with_interval(end, half, unit, show_interval=False) if half > 0.0 else engineering(end, unit)
        for end in (low, high)
    ]
    first, second = (end.rpartition(" ") for end in ends)
    if first[0] and first[2] == second[2]:
        return f"{first[0]} to {second[0]} {second[2]}"
    return f"{ends[0]} to {ends[1]}"


def big(figure: Figure | None, caption: str) -> BigFigure | None:
    """The figure as one that stands large, None where there is none."""
    if figure is None or not math.isfinite(figure.value):
        return None
    text = written(figure)
    value, _, unit = text.rpartition(" ") if figure.unit and " " in text else (text, "", "")
    return BigFigure(value=value, unit=unit, caption=caption, origin=figure.origin, spread=spread(figure))


def share(value: float) -> str:
    """A share as whole percent: 0.756 is "76 %"; "under 1 %" where there is that little."""
    if 0.0 < value < 0.005:
        return "under 1 %"
    return f"{100.0 * value:.0f} %"
