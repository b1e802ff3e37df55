"""Every design family, in the order in which they are tried and shown."""

from __future__ import annotations

from typing import Final

from lidoff.rework.families import (
    balance,
    change_alone,
    constant_current,
    discharge,
    dropper,
    input_filter,
    led_count,
    protection,
    rectified_thyristor,
    resistor_ballast,
    smoothing,
    snubber,
    stronger_part,
    timing,
)
from lidoff.rework.family import Family

FAMILIES: Final[tuple[Family, ...]] = (
    change_alone.FAMILY,
    dropper.FAMILY,
    resistor_ballast.FAMILY,
    smoothing.FAMILY,
    constant_current.FAMILY,
    snubber.FAMILY,
    timing.FAMILY,
    rectified_thyristor.FAMILY,
    input_filter.FAMILY,
    protection.FAMILY,
    discharge.FAMILY,
    stronger_part.FAMILY,
    led_count.FAMILY,
    balance.FAMILY,
)
"""All families."""


def family(id: str) -> Family:
    """The family of that id. Raises KeyError where there is none."""
    return next(one for one in FAMILIES if one.id == id)
