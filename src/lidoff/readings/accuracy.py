"""How far a reading may be off: the meter's accuracy, its resolution, and the doubt of "about"."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from lidoff.quantity import engineering
from lidoff.readings.uncertainty import rectangular
from lidoff.record import Accuracy, Item, Meter, Reading, Table

_NORMAL_95: Final = 1.96

# What is assumed where nobody wrote an accuracy: share of reading, and counts of the last digit written. Typical of
# what people have on the bench (common practice, no source).
_USUAL: Final[Mapping[str, tuple[float, float]]] = Table(
    {
        "voltage": (0.015, 1.0),
        "voltage_ac": (0.015, 1.0),
        "voltage_dc": (0.01, 1.0),
        "current": (0.02, 1.0),
        "current_ac": (0.02, 1.0),
        "current_dc": (0.015, 1.0),
        "current_peak": (0.03, 1.0),
        "voltage_peak": (0.03, 1.0),
        "power": (0.02, 1.0),
        "apparent_power": (0.02, 1.0),
        "power_factor": (0.01, 1.0),
        "frequency": (0.001, 1.0),
        "resistance": (0.01, 1.0),
        "capacitance": (0.04, 1.0),
        "diode_test": (0.02, 1.0),
    }
)
_ELSE: Final = (0.05, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterError:
    """The error of one reading [its unit].

    Equally likely anywhere within ±half_width (or normal with 95 % within it where `normal`); the display rounds to
    `step`; "about" adds ±doubt. `assumed` is the sentence that says what was taken where nothing was written.
    """

    measured: float
    half_width: float
    step: float = 0.0
    doubt: float = 0.0
    normal: bool = False
    assumed: str = ""

    @property
    def sigma(self) -> float:
        """Standard uncertainty [unit of the reading]: half-width over the root of three (JCGM 100, 4.3.7).

        An accuracy describes the figure shown, so it holds the rounding already, unless the display is coarser.
        """
        half = max(self.half_width, 0.5 * self.step)
        own = half / _NORMAL_95 if self.normal else rectangular(half)
        return math.hypot(own, rectangular(self.doubt))

    def top(self, slack: float = 0.0) -> float:
        """The largest log density of the reading [natural log of 1/unit]."""
        if self.normal:
            return -math.log(self.deviation(slack)) - 0.5 * math.log(2.0 * math.pi)
        return -math.log(2.0 * self.edges(slack)[0])

    def _soft(self, slack: float) -> float:
        return math.hypot(0.5 * self.step, self.doubt, slack)

    def deviation(self, slack: float) -> float:
        """Standard deviation of a normal error with `slack` [unit] of the computed value."""
        return max(math.hypot(self.half_width / _NORMAL_95, rectangular(self._soft(slack))), 1e-300)

    def edges(self, slack: float) -> tuple[float, float]:
        """Half-widths of the two rectangles [unit]: the limits, and what blurs them (display, doubt, `slack`).

        The wider of the two goes first.
        """
        soft = self._soft(slack)
        wide = max(self.half_width, soft, 1e-300)
        return wide, max(min(self.half_width, soft), 1e-3 * wide)


def error_of(item: Item, reading: Reading) -> MeterError:
    """The error of a reading, from the record's words on its meter, else from what is usual."""
    meter = item.meter(reading.meter) if reading.meter is not None else None
    accuracy = _accuracy(meter, reading.quantity)
    step = _step(meter, reading)
    size = _size(reading)
    if accuracy is not None:
        share, floor, normal, assumed = accuracy.share, accuracy.floor, accuracy.normal, ""
    else:
        share, counts = _USUAL.get(reading.quantity, _ELSE)
        floor, normal = counts * step, False
        if share * size + floor == 0.0:
            share = _ELSE[0]
        whose = f"the {meter.name}" if meter is not None else "a meter nobody named"
        half = share * size + floor
        assumed = (
            f"The accuracy of {whose} for {reading.quantity.replace('_', ' ')} is not written; "
            f"±{engineering(half, reading.unit, 2)} is assumed here."
        )
    return MeterError(
        measured=reading.value,
        half_width=share * size + floor,
        step=step if meter is not None and reading.quantity in meter.resolution else 0.0,
        doubt=reading.doubt,
        normal=normal,
        assumed=assumed,
    )


def _size(reading: Reading) -> float:
    """What a share of the reading is a share of [its unit]: for a temperature the degrees Celsius that were shown."""
    return abs(reading.value - 273.15 if reading.quantity == "temperature" else reading.value)


def _accuracy(meter: Meter | None, quantity: str) -> Accuracy | None:
    if meter is None:
        return None
    for name in (quantity, *_SAME.get(quantity, ())):
        if name in meter.accuracy:
            return meter.accuracy[name]
    return None


# A meter's accuracy for volts counts for volts ac too, where nothing closer is written.
_SAME: Final[Mapping[str, tuple[str, ...]]] = Table(
    {
        "voltage_ac": ("voltage",),
        "voltage": ("voltage_ac",),
        "current_ac": ("current",),
        "current": ("current_ac",),
    }
)


def _step(meter: Meter | None, reading: Reading) -> float:
    if meter is not None and reading.quantity in meter.resolution:
        return meter.resolution[reading.quantity]
    return reading.digit
