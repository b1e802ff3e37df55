"""Percent flicker, flicker index and the frequency of a periodic light."""

from __future__ import annotations

from typing import Final

import numpy as np

from lidoff.figures.wave import Complexes, Floats
from lidoff.standards.light_limits import MODULATION

NOTICEABLE: Final = 0.01
"""A component over this share of the mean light is noticeable whatever its frequency (our choice)."""

SLOW: Final = MODULATION.number("border", "between the ranges")
"""Modulation below this frequency [Hz] is of the hazardous kind (IEEE Std 1789-2015, clause 8.1.1)."""

_NO_EFFECT: Final = MODULATION.number("no effect", "below 90 Hz") / 100.0


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
    slower = int(np.searchsorted(frequency, twice * (1.0 - 1e-9)))
    shares = np.abs(components[:slower])
    found = np.nonzero(shares > np.minimum(NOTICEABLE, _NO_EFFECT * frequency[:slower]))[0]
    return float(frequency[found[0]]) if found.size else twice


def slow_modulation(components: Complexes, frequency: Floats) -> float:
    """The largest component below 90 Hz, in percent of the mean light [%], of components relative to it [1].

    `frequency` [Hz] rises with the components. 0 where none is so slow.
    """
    slower = int(np.searchsorted(frequency, SLOW))
    return 100.0 * float(np.abs(components[:slower]).max(initial=0.0))
