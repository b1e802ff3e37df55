"""Percent flicker, flicker index and the frequency of a periodic light."""

from __future__ import annotations

from typing import Final

import numpy as np

from lidoff.figures.wave import Complexes, Floats

NOTICEABLE: Final = 0.01
"""A component over this share of the mean light is noticeable whatever its frequency (our choice)."""

NO_EFFECT_SLOPE: Final = 0.0001
"""Share of modulation per hertz of the no-effect line below 90 Hz (IEEE Std 1789-2015, clause 8.1.1: 0.01 f in %)."""


def percent_flicker(largest: float, least: float) -> float | None:
    """100 (max - min)/(max + min) [%] of a light (IES Lighting Handbook); None where there is no light."""
    total = largest + least
    return 100.0 * (largest - least) / total if total > 0.0 else None


def flicker_index(light: Floats) -> float | None:
    """Area above the mean over total area [1] of uniform samples (IES Lighting Handbook); None where it is dark."""
    middle = float(light.mean())
    # The areas above and below the mean are equal, so half the mean absolute deviation is the area above.
    return float(np.abs(light - middle).mean()) / (2.0 * middle) if middle > 0.0 else None


def light_frequency(components: Complexes, frequency: Floats, mains_frequency: float) -> float:
    """The frequency of a light [Hz] whose components relative to the mean [1] stand at `frequency` [Hz].

    Twice `mains_frequency` [Hz], unless a slower component is noticeable: over 1 % of the mean light, or over the
    modulation that IEEE Std 1789-2015 gives as without observable effect below 90 Hz (0.01 f in %) where that is less.
    Then it is the slowest such component: mains frequency where half-cycles differ, less where cycles do.
    """
    twice = 2.0 * mains_frequency
    slower = frequency < twice * (1.0 - 1e-9)
    shares = np.abs(components[: slower.size][slower])
    lines = np.minimum(NOTICEABLE, NO_EFFECT_SLOPE * frequency[slower])
    found = np.nonzero(shares > lines)[0]
    return float(frequency[slower][found[0]]) if found.size else twice
