"""The design equations of the families, each with its source and where it ends. Units in brackets, SI throughout."""

from __future__ import annotations

import math
from itertools import pairwise


def dropper_current(farads: float, crest: float, load: float, frequency: float) -> float:
    """Mean current [A] of a capacitor dropper ahead of a bridge.

    I = 4 f C (U − U_L): in each half-cycle the capacitor is charged over from −(U − U_L) to U − U_L (charge balance, so
    exact for a steady load and no series resistance). `crest` U of the mains [V], `load` U_L behind the bridge with its
    two diode drops [V].
    """
    return 4.0 * frequency * farads * max(crest - load, 0.0)


def dropper_capacitor(current: float, crest: float, load: float, frequency: float) -> float:
    """Capacitance [F] of a dropper for a mean `current` [A]: C = I / (4 f (U − U_L)). Infinite where U_L reaches U."""
    return current / (4.0 * frequency * (crest - load)) if crest > load else math.inf


def half_wave_dropper_current(farads: float, crest: float, load: float, frequency: float) -> float:
    """Mean current [A] of a dropper into one diode, another leading back: I = f C (2 U − U_L) (charge balance)."""
    return frequency * farads * max(2.0 * crest - load, 0.0)


def bleeder(farads: float, start: float, end: float, seconds: float) -> float:
    """Largest resistance [ohm] that brings `farads` [F] from `start` to `end` [V] in time [s]: R = t / (C ln(U0/U))."""
    return seconds / (farads * math.log(start / end))


def smoothing_for_current_ripple(share: float, modulation: float, resistance: float, frequency: float) -> float:
    """Capacitance [F] across a load of `resistance` [ohm] that leaves `share` [1] of percent flicker at `frequency`.

    The source is a current with a ripple of `modulation` (2/3 for |sin|: its second-harmonic term over its mean); first
    order: m / sqrt(1 + (2 π f R C)²). A load of LEDs is R + n·U_T/I.
    """
    if share >= modulation:
        return 0.0
    return math.sqrt((modulation / share) ** 2 - 1.0) / (2.0 * math.pi * frequency * resistance)


def smoothing_for_ripple(current: float, ripple: float, frequency: float) -> float:
    """Capacitance [F] for a ripple [V peak to peak] at a load `current` [A]: C = I / (f ΔU), f that of the charging.

    Taken as if the capacitor fed the load for the whole period: some 10 % to 30 % more than is needed (Sedra and Smith,
    Microelectronic Circuits, section on the peak rectifier; examples in the tests).
    """
    return current / (frequency * ripple)


def ballast(crest: float, load: float, current: float, ripple: float = 0.0) -> float:
    """Resistance [ohm] between a smoothed supply of that `crest` [V] and a string: R = (U − ΔU/2 − U_L) / I."""
    return (crest - 0.5 * ripple - load) / current


def surge_resistor(volts: float, current: float) -> float:
    """Resistance [ohm] that keeps the peak at switch-on to `current` [A]: R = U / I, the capacitor empty."""
    return volts / current


def sense_resistor(reference: float, current: float) -> float:
    """Resistance [ohm] over which a linear current source keeps its `reference` [V]: R = U_ref / I."""
    return reference / current


def snubber(volts: float, henries: float, slope: float, damping: float) -> tuple[float, float]:
    """Capacitance [F] and resistance [ohm] that keep dv/dt at a triac to `slope` [V/s].

    C = (0.564 U / (dv/dt))² / (2 L), R = 2 ζ sqrt(L / C): `volts` the voltage switched off [V], `henries` that of the
    circuit [H] (textbook rule as in Gupta and Singhal, Power Electronics, example 2.37; for ζ about 0.65).
    """
    farads = (0.564 * volts / slope) ** 2 / (2.0 * henries)
    return farads, 2.0 * damping * math.sqrt(henries / farads)


def leak(farads: float, volts: float, frequency: float) -> float:
    """Current [A rms] that a snubber lets past an open switch: I = 2 π f C U."""
    return 2.0 * math.pi * frequency * farads * volts


def firing_angle(ohms: float, farads: float, breakover: float, volts: float, frequency: float) -> float | None:
    """Angle [deg] at which an RC network first reaches a diac's breakover, its capacitor empty at the zero crossing.

    u' = (U sin ωt − u) / RC, u(0) = 0, in closed form; None where it never gets there within the half-cycle.
    """
    w, tau, crest = 2.0 * math.pi * frequency, ohms * farads, math.sqrt(2.0) * volts
    a = w * tau
    scale = crest / (1.0 + a * a)

    def held(t: float) -> float:
        return scale * (math.sin(w * t) - a * math.cos(w * t) + a * math.exp(-t / tau))

    steps = 720
    times = [k * 0.5 / frequency / steps for k in range(steps + 1)]
    passed = next((pair for pair in pairwise(times) if held(pair[1]) >= breakover), None)
    if passed is None:
        return None
    low, high = passed
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if held(middle) < breakover else (low, middle)
    return math.degrees(w * high)


def filter_corner(henries: float, farads: float) -> float:
    """Corner frequency [Hz] of a choke and a capacitor: f = 1 / (2 π sqrt(L C)); 40 dB a decade above it."""
    return 1.0 / (2.0 * math.pi * math.sqrt(henries * farads))


def string_voltage(series: float, forward: float, slope: float, current: float, test_current: float) -> float:
    """Voltage [V] of LEDs in a row at a current [A] per LED: n (U_f + slope · ln(I / I_test)), the LED's law."""
    return series * (forward + slope * math.log(max(current, 1e-9) / test_current))


def conduction(share: float) -> float:
    """Angle [deg] of a half-cycle over which a string conducts that drops `share` [1] of the crest: 180° − 2 asin r."""
    return 180.0 - 2.0 * math.degrees(math.asin(min(share, 1.0)))


def imbalance(spread: float, drop: float) -> float:
    """How much more than the mean [1] a string carries that drops `spread` [V] less, `drop` [V] over its own resistor.

    ΔI/I = ΔU / (I R): stiff strings, so too much where the LEDs' own slope is not small beside the resistor.
    """
    return spread / drop
