"""All families, in the order in which energy flows through an item."""

from __future__ import annotations

from typing import Final

from lidoff.circuit.groups.families import (
    clamp,
    converter,
    current_source,
    discharge,
    doubler,
    dropper,
    entry,
    heat_setting,
    indicator,
    interference,
    led_string,
    load,
    phase_control,
    rectifier,
    smoothing,
    snubber,
    switching,
    transformer,
    valley_fill,
)
from lidoff.circuit.groups.model import Family

FAMILIES: Final[tuple[Family, ...]] = tuple(
    sorted(
        (
            module.FAMILY
            for module in (
                clamp,
                converter,
                current_source,
                discharge,
                doubler,
                dropper,
                entry,
                heat_setting,
                indicator,
                interference,
                led_string,
                load,
                phase_control,
                rectifier,
                smoothing,
                snubber,
                switching,
                transformer,
                valley_fill,
            )
        ),
        key=lambda family: family.stage,
    )
)
