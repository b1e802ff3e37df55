"""What can be bought: preferred values, rated voltages, powers and currents, and what each size is good for.

E series: IEC 60063 (see `lidoff.quantity.series`). Rated voltages of electrolytics, powers of film resistors and their
limiting voltages, and fuse currents are the usual catalogue steps (fuses: IEC 60127-2 tables; others common practice,
no source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from lidoff.quantity import e_series

ELECTROLYTIC_VOLTS: Final = (10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 200.0, 250.0, 350.0, 400.0, 450.0)
FUSE_AMPERES: Final = (
    0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3,
)  # fmt: skip
# Power of an axial film resistor [W], its limiting voltage [V rms] and body length [mm].
RESISTORS: Final = (
    (0.25, 250.0, 6.5),
    (0.5, 350.0, 9.0),
    (1.0, 500.0, 12.0),
    (2.0, 500.0, 15.5),
    (3.0, 500.0, 17.5),
    (5.0, 700.0, 24.0),
    (7.0, 700.0, 35.0),
    (10.0, 700.0, 48.0),
)
ZENER_WATTS: Final = (0.5, 1.3, 2.0, 3.0, 5.0)
POTENTIOMETERS: Final = (1e3, 2.2e3, 4.7e3, 10e3, 22e3, 47e3, 100e3, 150e3, 220e3, 250e3, 470e3, 500e3, 1e6)
CHOKES: Final = (47e-6, 100e-6, 220e-6, 470e-6, 1e-3, 1.5e-3, 2.2e-3, 3.3e-3, 4.7e-3, 10e-3)
NTC_OHMS: Final = (2.5, 4.7, 5.0, 8.0, 10.0, 16.0, 20.0, 22.0, 33.0, 47.0, 50.0, 60.0, 80.0, 120.0, 220.0)
VARISTOR_MAINS: Final = (130.0, 150.0, 175.0, 230.0, 250.0, 275.0, 300.0, 320.0)
"""Rms mains voltages that varistors are sold for [V]; the voltage at 1 mA is 1.56 times that (makers' tables)."""


def members(series: int, low: float, high: float) -> tuple[float, ...]:
    """Every member of an E series from `low` to `high` [any unit], ascending."""
    if not 0.0 < low <= high:
        return ()
    digits = len(str(e_series(series)[0])) - 1
    first, last = math.floor(math.log10(low)) - 1, math.ceil(math.log10(high)) + 1
    values = [float(f"{m}e{power - digits}") for power in range(first, last + 1) for m in e_series(series)]
    return tuple(v for v in values if low * (1.0 - 1e-9) <= v <= high * (1.0 + 1e-9))


def around(value: float, series: int, count: int) -> tuple[float, ...]:
    """The `count` members of an E series nearest to `value` by ratio [any unit], ascending."""
    found = members(series, value / 30.0, value * 30.0)
    return tuple(sorted(sorted(found, key=lambda v: abs(math.log(v / value)))[:count]))


def up(value: float, steps: Sequence[float]) -> float | None:
    """The smallest step not below `value` [same unit]; None where there is none so large."""
    return next((step for step in sorted(steps) if step >= value * (1.0 - 1e-9)), None)


def next_member(value: float, series: int) -> float:
    """The member of an E series at or next above `value` [any unit]."""
    return next(v for v in members(series, value * 0.999999, value * 12.0))


def resistor_size(power: float, volts: float) -> tuple[float, float, float] | None:
    """The smallest film resistor that stands `power` [W] and `volts` [V rms]: its power, voltage and length [mm]."""
    return next((one for one in RESISTORS if one[0] >= power and one[1] >= volts), None)


def in_a_row(volts: float, power: float, most: int = 3) -> int:
    """How many equal film resistors in a row stand `volts` [V rms] and `power` [W] in all with the least power type.

    One, where one will do; common practice is two or more straight across a mains of 230 V.
    """
    for count in range(1, most + 1):
        if resistor_size(power / count, volts / count) is not None and volts / count <= 250.0:
            return count
    return most
