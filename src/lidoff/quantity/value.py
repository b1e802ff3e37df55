"""A value that knows where it comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

from lidoff.quantity.errors import QuantityError
from lidoff.quantity.showing import with_interval

Origin = Literal["measured", "marked", "derived", "computed", "inferred", "assumed"]
ORIGINS: Final[tuple[str, ...]] = get_args(Origin)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A value [unit] with the interval it lies in, `low` to `high` [unit], and where it comes from.

    Raises QuantityError where the three are not finite, not in order, or the origin is not one of `ORIGINS`.
    """

    value: float
    unit: str
    low: float
    high: float
    origin: Origin

    def __post_init__(self) -> None:
        if self.origin not in ORIGINS:
            raise QuantityError(f'"{self.origin}" is not an origin; expected is one of {", ".join(ORIGINS)}')
        if not all(math.isfinite(number) for number in (self.low, self.value, self.high)):
            raise QuantityError(f"{self.low}, {self.value}, {self.high} {self.unit} are not all finite")
        if not self.low <= self.value <= self.high:
            raise QuantityError(f"{self.value:g} {self.unit} does not lie between {self.low:g} and {self.high:g}")

    @property
    def half_width(self) -> float:
        """Half of the interval [unit]."""
        return (self.high - self.low) / 2.0

    def __str__(self) -> str:
        return with_interval(self.value, self.half_width, self.unit)
