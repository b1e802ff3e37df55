"""The part laws of the record format, a second time: whole arrays of currents and slopes, for the referee alone.

Nothing here is taken from the package's own solver. Corners are rounded by a quartic over `SPAN` = 20 mV (two
continuous derivatives, where the package uses a parabola): that is all the format allows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pair = tuple[Floats, Floats]

SPAN = 20e-3  # [V] over which a corner is rounded
LEAK = 1e-9  # [S] across each junction
THERMAL = 25.85e-3  # [V] kT/q at 300 K
ROOM = 293.0  # [K]
GLOW = {"lamp": 2700.0, "heater": 1100.0}  # [K] at the rated power; common practice, no source
_MOST = 1e4  # [A] from where an exponential goes on as a straight line, far above any current met


def rounded(x: Floats) -> Pair:
    """0 below -SPAN/2, x above it, a quartic between: value and slope."""
    s = np.clip(x / SPAN + 0.5, 0.0, 1.0)
    return np.where(s < 1.0, SPAN * s**3 * (1.0 - 0.5 * s), x), s * s * (3.0 - 2.0 * s)


def exponential(v: Floats, saturation: Floats, slope: Floats) -> Pair:
    """i = I_s (exp(v / slope) - 1) [A] and di/dv [S]."""
    u = v / slope
    top = np.log(_MOST / saturation)
    e = saturation * np.exp(np.minimum(u, top))
    return e * (1.0 + np.maximum(u - top, 0.0)) - saturation, e / slope


def knee(v: Floats, at: Floats, ohms: Floats, up: Floats, down: Floats) -> Pair:
    """A line of resistance `ohms` beyond +`at` where `up` is 1 and beyond -`at` where `down` is 1, nothing between."""
    plus, slope_plus = rounded(v - at)
    minus, slope_minus = rounded(-v - at)
    return (up * plus - down * minus) / ohms, (up * slope_plus + down * slope_minus) / ohms


def power(v: Floats, volts: Floats, amps: Floats, exponent: Floats) -> Pair:
    """i = amps (v / volts)^exponent, odd."""
    share = np.abs(v) / volts
    slope = exponent * amps / volts * share ** (exponent - 1.0)
    return np.sign(v) * amps * share**exponent, slope


def limiter(v: Floats, limit: Floats, dropout: Floats) -> Pair:
    """i = limit tanh(v / dropout) forwards, nothing backwards."""
    over, slope = rounded(v - 0.5 * SPAN)
    t = np.tanh(over / dropout)
    return limit * t, limit * (1.0 - t * t) / dropout * slope


def steady_power(v: Floats, watts: Floats, least: Floats) -> Pair:
    """i = P / v above `least`, nothing below, joined by a logistic of 2 V."""
    share = 1.0 / (1.0 + np.exp(-np.clip((v - least) / 2.0, -50.0, 50.0)))
    low = v < 1.0  # out of reach; keeps the quotient finite
    per = np.where(low, 2.0 - v, 1.0 / np.maximum(v, 1.0))
    slope = np.where(low, -1.0, -per * per)
    return watts * per * share, watts * share * (slope + per * (1.0 - share) / 2.0)


def square(v: Floats, k: Floats, threshold: Floats) -> Pair:
    """i = k/2 (v - threshold)^2 above the threshold (Shichman and Hodges 1968)."""
    over, slope = rounded(v - threshold)
    return 0.5 * k * over * over, k * over * slope


LAWS = (exponential, knee, power, limiter, steady_power, square)
COLUMNS = (2, 4, 3, 2, 2, 2)  # parameters of each


def filament_ohms(kind: str, *, watts: float, rated_watts: float, rated_volts: float, cold_ratio: float) -> float:
    """Resistance [ohm] of a filament at its mean power: radiation gives the temperature, a straight line the rest."""
    rated = GLOW[kind]
    kelvin = (ROOM**4 + max(watts, 0.0) / rated_watts * (rated**4 - ROOM**4)) ** 0.25
    rise = (kelvin - ROOM) / (rated - ROOM)
    return rated_volts**2 / rated_watts * (cold_ratio + (1.0 - cold_ratio) * rise)
