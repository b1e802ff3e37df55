"""A picture of what two unknowns may be together: their joint density as shades, with the borders of 50 % and 95 %."""

from __future__ import annotations

import math
from typing import Final
from xml.sax.saxutils import escape

import numpy as np

from lidoff.quantity import engineering
from lidoff.readings.model import Joint

_WIDTH, _HEIGHT = 420.0, 340.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 34.0, 34.0, 52.0
_FONT: Final = "Helvetica, Arial, 'DejaVu Sans', sans-serif"
_SHADE: Final = "var(--lidoff-current, #0072b2)"  # Okabe and Ito's blue, as the drawings have it
_SHARES: Final = (0.95, 0.5)


def joint_svg(joint: Joint) -> str:
    """The joint density as a self-contained `<svg>`: text as text, viewBox set, colours of the page around it.

    The darker region holds the likelier half, the lighter one 95 %. Axes are logarithmic where the search was.
    """
    density = np.array(joint.density)
    levels = _levels(density)
    x, y = _edges(joint.x, joint.logarithmic[0]), _edges(joint.y, joint.logarithmic[1])
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" '
        f'font-family="{_FONT}" font-size="12" fill="currentColor">',
        f"<title>{escape(_title(joint))}</title>",
        f'<text x="{_LEFT:g}" y="20">{escape(joint.keys[0])} against {escape(joint.keys[1])}: 50 % and 95 %</text>',
    ]
    for level, shade in zip(levels, (0.22, 0.6), strict=True):
        pieces += _cells(density >= level, x, y, shade)
    pieces += _frame(joint, x, y)
    pieces.append("</svg>")
    return "\n".join(pieces)


def _title(joint: Joint) -> str:
    return f"What {joint.keys[0]} and {joint.keys[1]} may be together; the darker half is the likelier"


def _levels(density: np.ndarray) -> list[float]:
    """The densities above which 95 % and 50 % of the mass lie."""
    falling = np.sort(density.ravel())[::-1]
    share = np.cumsum(falling) / falling.sum()
    return [float(falling[min(int(np.searchsorted(share, wanted)), falling.size - 1)]) for wanted in _SHARES]


def _edges(middles: tuple[float, ...], logarithmic: bool) -> np.ndarray:
    """The borders of the cells about their middles."""
    values = np.log(middles) if logarithmic else np.array(middles)
    half = 0.5 * (values[1] - values[0]) if values.size > 1 else 0.5
    edges = np.concatenate([values - half, [values[-1] + half]])
    return np.exp(edges) if logarithmic else edges


def _across(value: float, edges: np.ndarray, logarithmic: bool) -> float:
    low, high = float(edges[0]), float(edges[-1])
    if logarithmic:
        return math.log(value / low) / math.log(high / low)
    return (value - low) / (high - low)


def _cells(inside: np.ndarray, x: np.ndarray, y: np.ndarray, shade: float) -> list[str]:
    """Runs of neighbouring cells of a row as one rectangle each."""
    columns, rows = x.size - 1, y.size - 1
    width, height = (_WIDTH - _LEFT - _RIGHT) / columns, (_HEIGHT - _TOP - _BOTTOM) / rows
    found = []
    for row in range(rows):
        start = None
        for column in range(columns + 1):
            here = column < columns and bool(inside[row, column])
            if here and start is None:
                start = column
            elif not here and start is not None:
                found.append(
                    f'<rect x="{_LEFT + start * width:.2f}" y="{_HEIGHT - _BOTTOM - (row + 1) * height:.2f}" '
                    f'width="{(column - start) * width:.2f}" height="{height + 0.2:.2f}" fill="{_SHADE}" '
                    f'fill-opacity="{shade}"/>'
                )
                start = None
    return found


def _frame(joint: Joint, x: np.ndarray, y: np.ndarray) -> list[str]:
    """The axes with their ends and middles written."""
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    pieces = [
        f'<path d="M{_LEFT:g} {_TOP:g}V{bottom:g}H{right:g}" fill="none" stroke="currentColor"/>',
        f'<text x="{0.5 * (_LEFT + right):g}" y="{_HEIGHT - 10:g}" text-anchor="middle">{escape(joint.keys[0])}</text>',
        f'<text x="14" y="{0.5 * (_TOP + bottom):g}" text-anchor="middle" '
        f'transform="rotate(-90 14 {0.5 * (_TOP + bottom):g})">{escape(joint.keys[1])}</text>',
    ]
    for value in _marks(x, joint.logarithmic[0]):
        place = _LEFT + _across(value, x, joint.logarithmic[0]) * (right - _LEFT)
        text = escape(engineering(value, joint.units[0], 3))
        pieces.append(f'<path d="M{place:.1f} {bottom:g}v5" stroke="currentColor"/>')
        pieces.append(f'<text x="{place:.1f}" y="{bottom + 18:g}" text-anchor="middle">{text}</text>')
    for value in _marks(y, joint.logarithmic[1]):
        place = bottom - _across(value, y, joint.logarithmic[1]) * (bottom - _TOP)
        text = escape(engineering(value, joint.units[1], 3))
        pieces.append(f'<path d="M{_LEFT:g} {place:.1f}h-5" stroke="currentColor"/>')
        pieces.append(f'<text x="{_LEFT - 8:g}" y="{place + 4:.1f}" text-anchor="end">{text}</text>')
    return pieces


def _marks(edges: np.ndarray, logarithmic: bool) -> list[float]:
    """Three or four round values along an axis."""
    low, high = float(edges[0]), float(edges[-1])
    if logarithmic and high > 8.0 * low:
        decades = [10.0**k for k in range(math.ceil(math.log10(low)), math.floor(math.log10(high)) + 1)]
        stride = max(1, math.ceil(len(decades) / 4))
        if len(decades) >= 2:
            return decades[::stride]
    rough = (high - low) / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(factor * power for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= rough)
    first = math.ceil(low / step)
    return [k * step for k in range(first, math.floor(high / step) + 1)] or [0.5 * (low + high)]
