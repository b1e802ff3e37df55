"""Preferred numbers of parts: the E series of IEC 60063.

E3 to E24 are lists, because several of their members (27, 30, 33, 36, 39, 43, 47, 82) do not follow the rounding of
the geometric series; E48 to E192 do follow it, with one exception, 920 in E192 (the formula gives 919).
Source: IEC 60063:2015, tables 1 and 2. E12 and E96 up to 392 seen in quoted tables; the rest, and the exception,
from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from lidoff.quantity.errors import QuantityError

_E24: Final = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)


def _rounded(count: int) -> tuple[int, ...]:
    exact = (100.0 * 10.0 ** (step / count) for step in range(count))
    return tuple(920 if (count == 192 and round(value) == 919) else round(value) for value in exact)


E_SERIES: Final[Mapping[int, tuple[int, ...]]] = MappingProxyType(
    {
        3: _E24[::8],
        6: _E24[::4],
        12: _E24[::2],
        24: _E24,
        48: _rounded(48),
        96: _rounded(96),
        192: _rounded(192),
    }
)
"""Series number to its significands over one decade: two digits up to E24, three digits from E48 on."""


def e_series(number: int) -> tuple[int, ...]:
    """The significands of series E`number` [none], ascending. Raises QuantityError for a series that does not exist."""
    if number not in E_SERIES:
        raise QuantityError(f"E{number} is not a series of IEC 60063; there are E3, E6, E12, E24, E48, E96 and E192")
    return E_SERIES[number]


def nearest(value: float, number: int) -> float:
    """The member of series E`number` nearest by ratio to `value` [any unit, above 0]; same unit.

    Raises QuantityError where the value is not positive and finite or the series does not exist.
    """
    members = e_series(number)
    if not (value > 0 and math.isfinite(value)):
        raise QuantityError(f"{value:g} has no nearest preferred value; a positive value is expected")
    digits = len(str(members[0])) - 1
    decade = math.floor(math.log10(value))
    candidates = [
        float(f"{member}e{power - digits}") for power in (decade - 1, decade, decade + 1) for member in members
    ]
    return min(candidates, key=lambda member: abs(math.log(member / value)))


def in_series(value: float) -> int | None:
    """The coarsest E series that `value` [any unit] is a member of, as its number, or None.

    A member is meant within a millionth, so that sums of floats still count.
    """
    if not (value > 0 and math.isfinite(value)):
        return None
    for number in E_SERIES:
        if abs(nearest(value, number) / value - 1.0) < 1e-6:
            return number
    return None
