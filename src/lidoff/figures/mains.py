"""What the mains sees: the input figures of one settled cycle, solved or recorded."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from lidoff.figures import wave
from lidoff.figures.wave import ORDERS, Floats

NO_CURRENT: Final = 1e-9
"""Below this many amperes rms there is no current to speak of: ratios to it are null, not noise."""


def input_figures(
    *,
    current_rms: float,
    current_peak: float,
    power: float,
    voltage_rms: float,
    voltage_uniform: Floats,
    current_uniform: Floats,
    cycles: int = 1,
    current_mean: float,
) -> dict[str, Any]:
    """The input figures in the form that `figures --json` prints.

    current_rms, current_peak, current_mean [A], power [W] and voltage_rms [V] come from the caller's own, finer wave;
    voltage_uniform [V] and current_uniform [A] are uniform samples over `cycles` whole cycles, for the harmonics only.
    Ratios are None where there is no current. Harmonics run to order 40, or as far as the samples can tell.
    """
    # Plain floats: numpy's own would reach the printed JSON.
    current_rms, current_peak, power = float(current_rms), float(current_peak), float(power)
    apparent = float(voltage_rms) * current_rms
    flows = current_rms > NO_CURRENT
    orders = wave.resolvable_orders(current_uniform.size, cycles)
    hi = wave.harmonics(current_uniform, cycles, orders)
    hv = wave.harmonics(voltage_uniform, cycles, 1)
    size = np.abs(hi)
    has_fundamental = flows and float(size[1]) > NO_CURRENT
    share = (size * (100.0 / float(size[1]))).tolist() if has_fundamental else [None] * (orders + 1)
    amperes = (size * np.sqrt(0.5)).tolist()
    return {
        "current_rms": current_rms,
        "current_peak": current_peak,
        "crest_factor": wave.crest_factor(current_peak, current_rms) if flows else None,
        "power": power,
        "apparent_power": apparent,
        "power_factor": power / apparent if flows and apparent > 0.0 else None,
        "displacement_factor": wave.displacement_factor(hv, hi) if has_fundamental else None,
        "thd": wave.thd(hi) if has_fundamental else None,
        "harmonics": [
            {"order": order, "current_rms": amperes[order], "percent": share[order]} for order in range(1, orders + 1)
        ],
        "voltage_rms": float(voltage_rms),
        "current_mean": float(current_mean),
    }


def input_figures_uniform(voltage: Floats, current: Floats, cycles: int = 1) -> dict[str, Any]:
    """The input figures of a uniformly sampled wave, a recording for instance.

    voltage [V] and current [A] have the same length, whole cycles, end point left out. Plain means; the mean is kept.
    Raises ValueError where the lengths differ or the samples are too few for a fundamental.
    """
    v = np.asarray(voltage, dtype=np.float64)
    i = np.asarray(current, dtype=np.float64)
    if v.shape != i.shape or v.ndim != 1:
        raise ValueError(f"voltage has shape {v.shape} and current {i.shape}; give two arrays of one length")
    if wave.resolvable_orders(v.size, cycles) < 1:
        raise ValueError(f"{v.size} samples over {cycles} cycles are too few for figures; give at least 3 a cycle")
    return input_figures(
        current_rms=wave.rms(i),
        current_peak=wave.peak(i),
        power=float(np.dot(v, i) / v.size),
        voltage_rms=wave.rms(v),
        voltage_uniform=v,
        current_uniform=i,
        cycles=cycles,
        current_mean=wave.mean(i),
    )


def input_figures_direct(*, voltage: float, current: float) -> dict[str, Any]:
    """The input figures on a direct-current supply: what needs a cycle is None. voltage [V], current [A]."""
    return {
        "current_rms": abs(current),
        "current_peak": abs(current),
        "crest_factor": None,
        "power": voltage * current,
        "apparent_power": None,
        "power_factor": None,
        "displacement_factor": None,
        "thd": None,
        "harmonics": [],
        "voltage_rms": abs(voltage),
        "current_mean": current,
    }


__all__ = ["NO_CURRENT", "ORDERS", "input_figures", "input_figures_direct", "input_figures_uniform"]
