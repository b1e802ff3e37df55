"""What a reading that does not fit may be instead: another figure of the same wave, or a slipped digit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.cycle import Solution
from lidoff.readings import meters
from lidoff.readings.observe import true_value, wave_at
from lidoff.readings.words import amount, name_of
from lidoff.record import Reading

_NEAR: Final = 0.02  # share within which a figure counts as the same, beside twice the uncertainty
_SLIPS: Final = ((10.0, "ten times"), (0.1, "a tenth of"), (1e3, "a thousand times"), (1e-3, "a thousandth of"))


def likely(solution: Solution | None, reading: Reading, computed: float, u: float, sigma: float) -> str:
    """A sentence on what the reading fits instead of `computed`, "" where nothing does.

    u and sigma [unit] are the standard uncertainties of the computed value and of the reading.
    """
    best: tuple[float, str] | None = None
    for value, what in _candidates(solution, reading, computed):
        apart = abs(reading.value - value)
        own = u * abs(value / computed) if computed else u
        allowed = max(2.0 * math.hypot(own, sigma), _NEAR * abs(value))
        if apart <= allowed and abs(value - computed) > allowed and (best is None or apart < best[0]):
            best = (apart, what)
    return best[1] if best is not None else ""


def _candidates(solution: Solution | None, reading: Reading, computed: float) -> Iterator[tuple[float, str]]:
    if solution is not None:
        yield from _of_circuit(solution, reading)
    if computed > 0.0 and reading.quantity not in ("power_factor", "percent_flicker", "displacement_factor"):
        for factor, words in _SLIPS:
            yield (
                computed * factor,
                f"It is {words} the computed {amount(computed, reading.unit)}: look for a slipped "
                f"digit, range or prefix.",
            )


def _of_circuit(solution: Solution, reading: Reading) -> Iterator[tuple[float, str]]:
    quantity, at = reading.quantity, reading.at

    def figure(which: str) -> float | None:
        return true_value(solution, which, at)

    def named(value: float | None, what: str) -> Iterator[tuple[float, str]]:
        if value is not None and math.isfinite(value):
            yield value, f"It fits {what}, {amount(value, reading.unit)}, rather than the {name_of(quantity)}."

    base = quantity.partition("_")[0]
    if quantity == "power" and at == "input":
        apparent = figure("apparent_power")
        if apparent is not None:
            factor = figure("power_factor") or 0.0
            yield (
                apparent,
                f"It fits the volt-amperes, {amount(apparent, 'VA')}: watts are less by the power "
                f"factor of {factor:.2g}.",
            )
    elif quantity == "apparent_power":
        power = figure("power")
        if power is not None:
            yield power, f"It fits the watts, {amount(power, 'W')}, rather than the volt-amperes."
    elif quantity == "power_factor":
        yield from named(figure("displacement_factor"), "the displacement factor (that of the fundamental alone)")
    elif quantity == "displacement_factor":
        yield from named(figure("power_factor"), "the true power factor")
    elif base in ("voltage", "current") and quantity != "current_rms":
        wave = wave_at(solution, at, base)
        size = meters.rms(wave)
        ripple = float(wave.max() - wave.min())
        yield from named(meters.peak_hold(wave), "the peak") if not quantity.endswith("_peak") else ()
        yield from named(size, "the true rms of everything")
        yield from named(meters.ac_rms(wave), "the ac part alone (rms)") if not quantity.endswith("_ac") else ()
        yield from named(abs(float(wave.mean())), "the mean") if not quantity.endswith("_dc") else ()
        yield from named(meters.average_responding(wave), "what an averaging meter scaled for sines shows")
        yield from named(meters.peak_hold(wave) / math.sqrt(2.0), "the peak divided by 1.41, right for a sine only")
        yield from named(ripple, "the swing from least to most (peak to peak)")
        yield from named(
            ripple / (2.0 * math.sqrt(2.0)), "the peak-to-peak swing divided by 2.83, right for a sine only"
        )
        yield from named(-float(wave.mean()), "the mean with the leads swapped") if quantity.endswith("_dc") else ()
    elif quantity == "percent_flicker":
        light = solution.light_wave()
        high, low, mean = float(light.max()), float(light.min()), float(light.mean())
        if mean > 0.0:
            yield from named(100.0 * (high - low) / mean, "the swing over the mean")
            yield from named(100.0 * (high - low) / high, "the swing over the largest")
    elif quantity == "frequency":
        mains = figure("frequency")
        if mains is not None:
            yield from named(2.0 * mains, "twice the mains frequency, at which the light flickers")
            yield from named(mains, "the mains frequency")
    elif quantity == "angle":
        angle = figure("angle")
        if angle is not None:
            yield from named(180.0 - angle, "the conduction angle, counted from the firing to the next zero")
            yield from named(angle * math.pi / 180.0, "the angle in radians")
    elif quantity == "thd":
        share = figure("thd")
        if share is not None:
            yield from named(100.0 * share, "the distortion in percent, written as a plain number")
            yield from named(share / math.sqrt(1.0 + share * share), "the distortion referred to the whole rms")
