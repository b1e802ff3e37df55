"""The light figures of one settled cycle, in the form that `figures --json` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from lidoff.figures import flicker, pst, stroboscopic
from lidoff.figures.wave import Floats

DARK: Final = 1e-9
"""Mean light below this (LEDs in series times amperes) counts as dark: ratios to it are null, not noise."""


def light_figures(
    *,
    light_uniform: Floats,
    mains_frequency: float,
    cycles: int,
    light_mean: float,
    light_max: float,
    light_min: float,
    mean_current: float,
    sources: Sequence[str],
    with_pst: bool = True,
) -> dict[str, Any] | None:
    """The light figures; None where there is no source, and ratios None where the source is dark.

    light_mean, light_max, light_min [any one unit of light] come from the caller's own, finer wave; light_uniform
    [same unit] is uniform over `cycles` cycles of mains_frequency [Hz]. mean_current [A] is handed through.
    `slow_modulation` is the largest component below 90 Hz in percent of the mean light. `svm` is that of the threshold
    fit of IEC TR 63158 (see `stroboscopic`), None where the samples do not reach 2 kHz. `pst_lm` (see `pst`) is left
    None without `with_pst`, which saves half the time in a long run.
    """
    if not sources:
        return None
    figures: dict[str, Any] = {
        "sources": list(sources),
        "frequency": None,
        "slow_modulation": None,
        "percent_flicker": None,
        "flicker_index": None,
        "svm": None,
        "pst_lm": None,
        "mean_current": float(mean_current),
    }
    light = np.asarray(light_uniform, dtype=np.float64)
    if light_mean <= DARK or float(light.mean()) <= DARK:
        return figures
    components, frequency = stroboscopic.relative_components(light, mains_frequency, cycles)
    figures["frequency"] = flicker.light_frequency(components, frequency, mains_frequency)
    figures["slow_modulation"] = flicker.slow_modulation(components, frequency)
    # A reverse leak makes a hair of negative "light"; light itself is never below nothing.
    figures["percent_flicker"] = flicker.percent_flicker(float(light_max), max(float(light_min), 0.0))
    figures["flicker_index"] = flicker.flicker_index(light)
    if with_pst:
        figures["pst_lm"] = pst.pst_of_components(components, mains_frequency / cycles)
    if stroboscopic.reaches(light, mains_frequency, cycles):
        reach = int(np.searchsorted(frequency, stroboscopic.HIGHEST + 1e-6))
        figures["svm"] = stroboscopic.svm_of_components(np.abs(components[:reach]), frequency[:reach])
    return figures
