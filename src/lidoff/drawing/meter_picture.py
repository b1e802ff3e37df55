"""What a power meter makes of a wave: voltage and current, and their product at every instant with its mean.

Two lanes over one mains cycle. Above stand voltage and current as in the picture of the cycle. Below stands their
product, the power at every instant: filled where energy flows in, hatched where it flows back. Two lines cross it: the
mean, which is the power; and rms volts times rms amperes, which the power factor holds it against.

Source of the definitions: IEEE Std 1459-2010, 3.1.2.1, 3.1.2.2 and 3.1.2.16 (instantaneous power, its mean, the product
of the rms values, power factor as their ratio), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from lidoff.drawing.curve import thinned
from lidoff.drawing.svg import document, element, fill, label, line, path, stroke, text_width
from lidoff.drawing.view import CycleView, Floats, view_of
from lidoff.quantity import engineering

if TYPE_CHECKING:
    from lidoff.cycle import Solution

_BACK: Final = 1e-3  # of the largest instantaneous power, from which a flow back counts


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What a sampling power meter works out of a wave: `at_instants` [W], one value for each point of the view.

    `power` is their mean [W], `voltage` [V] and `current` [A] are the rms values, `apparent` [VA] is their product,
    `factor` the power over that (None where nothing flows), `back` the share of the energy that flows back.
    """

    at_instants: Floats
    power: float
    voltage: float
    current: float
    apparent: float
    factor: float | None
    back: float


def product_of(view: CycleView) -> Product:
    """The product of voltage and current of a view, and what follows from it."""
    at_instants = view.voltage * view.current
    voltage, current = (float(np.sqrt(np.mean(wave**2))) for wave in (view.voltage, view.current))
    power, apparent = float(at_instants.mean()), voltage * current
    forth = float(np.maximum(at_instants, 0.0).sum())
    back = float(np.maximum(-at_instants, 0.0).sum())
    return Product(
        at_instants=at_instants,
        power=power,
        voltage=voltage,
        current=current,
        apparent=apparent,
        factor=power / apparent if apparent > 0.0 else None,
        back=back / (forth + back) if forth + back > 0.0 else 0.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms [SVG units]."""

    width: float
    left: float
    right: float
    size: float
    waves: float  # height of the lane of voltage and current
    product: float
    apparent: str  # what the upper line is called

    @property
    def x1(self) -> float:
        return self.width - self.right

    def x(self, share: float) -> float:
        return self.left + share * (self.x1 - self.left)


_WIDE: Final = _Page(
    width=960.0, left=92.0, right=132.0, size=15.0, waves=150.0, product=190.0, apparent="rms V × rms A"
)
_NARROW: Final = _Page(width=360.0, left=52.0, right=84.0, size=12.0, waves=110.0, product=150.0, apparent="V × A, rms")


def meter_svg(
    source: Solution | CycleView,
    *,
    written: tuple[str, str] | None = None,
    narrow: bool = False,
    paper: bool = False,
) -> str:
    """What a power meter makes of one cycle, as SVG.

    `written` is how the power and the product of the rms values are written, to the digits that they bear; without it
    three figures stand. Raises DrawingError on a bench supply of dc.
    """
    view = view_of(source, most_cycles=1)
    product = product_of(view)
    page = _NARROW if narrow else _WIDE
    top = 2.2 * page.size
    between = top + page.waves + 2.6 * page.size
    bottom = between + page.product
    words = written or (engineering(product.power, "W", 3), engineering(product.apparent, "VA", 3))
    body = [
        *_keys(page),
        *_waves(view, page, top),
        *_product(view, product, page, between, words),
        *_axis(view, page, bottom),
    ]
    return document(
        page.width,
        bottom + 3.4 * page.size,
        body,
        name="meter",
        title="What a power meter makes of this wave",
        description=_described(product),
        paper=paper,
    )


def _keys(page: _Page) -> list[str]:
    y, mark = 1.1 * page.size, 1.6 * page.size
    second = page.left + mark + 1.4 * page.size + text_width("mains voltage", page.size)
    return [
        line(page.left, y - 0.35 * page.size, page.left + mark, y - 0.35 * page.size, stroke_width=1.2),
        label(page.left + mark + 0.4 * page.size, y, "mains voltage", page.size),
        line(second, y - 0.35 * page.size, second + mark, y - 0.35 * page.size, **_thick()),
        label(second + mark + 0.4 * page.size, y, "input current", page.size),
    ]


def _thick() -> dict[str, object]:
    return {**stroke("current"), "stroke_width": 2.6}


def _round(view: CycleView, wave: Floats) -> tuple[Floats, Floats]:
    """Shares of the cycle and the wave over them, the first point again at the end."""
    return np.append(view.angle, view.span) / view.span, np.append(wave, wave[0] if view.rhythm == 1 else wave[-1])


def _waves(view: CycleView, page: _Page, top: float) -> list[str]:
    middle, half = top + 0.5 * page.waves, 0.5 * page.waves - 4.0
    body = [line(page.left, middle, page.x1, middle, stroke_opacity=0.5)]
    for wave, peak, look in (
        (view.voltage, view.voltage_peak, {"stroke": "currentColor", "stroke_width": 1.2}),
        (view.current, view.current_peak, _thick()),
    ):
        share, closed = _round(view, wave)
        x = page.left + share * (page.x1 - page.left)
        curve = thinned(x, middle - closed / (peak or 1.0) * half, 0.25)
        body.append(element("path", d=path(curve), fill="none", stroke_linejoin="round", **look))
    body.append(
        label(page.left - 8.0, top + 0.8 * page.size, engineering(view.voltage_peak, "V", 3), page.size, anchor="end")
    )
    body.append(label(page.x1 + 8.0, top + 0.8 * page.size, engineering(view.current_peak, "A", 3), page.size))
    body.append(label(page.left - 8.0, middle + 0.35 * page.size, "0", page.size, anchor="end"))
    return body


def _product(view: CycleView, product: Product, page: _Page, top: float, written: tuple[str, str]) -> list[str]:
    share, power = _round(view, product.at_instants)
    most, least = max(float(power.max()), product.apparent, 1e-12), min(float(power.min()), 0.0)
    room = page.product - 4.0
    zero = top + 4.0 + room * most / (most - least)

    def y(value: float) -> float:
        return float(zero - value / (most - least) * room)

    x = page.left + share * (page.x1 - page.left)
    body = [label(page.left, top - 0.7 * page.size, "voltage times current, at every instant", page.size)]
    for part, opacity, dash in ((np.maximum(power, 0.0), 0.32, None), (np.minimum(power, 0.0), 0.12, "3 3")):
        if float(np.abs(part).max()) <= _BACK * most:
            continue
        curve = thinned(x, zero - part / (most - least) * room, 0.25)
        area = [(page.left, zero), *curve, (page.x1, zero)]
        body.append(element("path", d=path(area, closed=True), fill_opacity=opacity, **fill("power")))
        body.append(
            element("path", d=path(curve), fill="none", stroke_width=1.4, stroke_dasharray=dash, **stroke("power"))
        )
    body.append(line(page.left, zero, page.x1, zero, stroke_opacity=0.6))
    body.append(label(page.left - 8.0, zero + 0.35 * page.size, "0", page.size, anchor="end"))
    body.append(line(page.left, y(product.power), page.x1, y(product.power), stroke_width=2.0))
    body.append(line(page.left, y(product.apparent), page.x1, y(product.apparent), stroke_dasharray="7 5"))
    # Where the two lines lie close, or low, their words stand apart: the larger figure above, the smaller below.
    lowest = top + page.product - 1.4 * page.size
    mean_at = min(max(y(product.power), y(product.apparent) + 1.25 * page.size), lowest)
    apparent_at = min(y(product.apparent), mean_at - 2.5 * page.size)
    for at, figure, words in (
        (apparent_at, written[1], page.apparent),
        (mean_at, written[0], "mean power"),
    ):
        body.append(label(page.x1 + 8.0, at + 0.1 * page.size, figure, page.size, weight="bold"))
        body.append(label(page.x1 + 8.0, at + 1.2 * page.size, words, page.size))
    return body


def _axis(view: CycleView, page: _Page, bottom: float) -> list[str]:
    milliseconds = 1000.0 / (view.frequency * 360.0)
    body = []
    for k in range(5):
        x = page.x(k / 4)
        body.append(line(x, bottom, x, bottom + 5.0, stroke_opacity=0.6))
        body.append(label(x, bottom + 1.4 * page.size, f"{90 * k}°", page.size, anchor="middle"))
        time = f"{90 * k * milliseconds:.3g}" + (" ms" if k == 4 else "")
        body.append(label(x, bottom + 2.6 * page.size, time, page.size, anchor="middle", opacity=0.75))
    return body


def _described(product: Product) -> str:
    """The picture in words, for those who hear it instead of seeing it."""
    found = (
        f"Voltage times current at every instant, over one mains cycle. Its mean is {engineering(product.power, 'W')}; "
        f"{engineering(product.voltage, 'V')} rms times {engineering(product.current, 'A')} rms make "
        f"{engineering(product.apparent, 'VA')}."
    )
    if product.factor is not None:
        found += f" The one over the other is the power factor, {product.factor:.3g}."
    return found


__all__ = ["Product", "meter_svg", "product_of"]
