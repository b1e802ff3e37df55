"""A reading against what its meter would show on the computed cycle, and why.

Agrees within twice the standard uncertainty of the two together, doubtful within three times, contradicts beyond; it
cannot be told where the computed value alone is uncertain by more than a fifth of itself, nor, of power and current, as
long as nobody read the mains voltage.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from lidoff.readings.accuracy import MeterError
from lidoff.readings.model import Verdict
from lidoff.readings.words import amount, as_read, digits_of, in_state, listed, name_of, place_of
from lidoff.record import Reading
from lidoff.record.model import EMPTY

AGREES: Final = 2.0
DOUBTFUL: Final = 3.0
TOO_VAGUE: Final = 0.2
"""Share of the computed value beyond which its own uncertainty leaves nothing to be said."""
_SMALL_LOAD: Final = 0.25  # standard uncertainty of the meter over the value, from which agreeing says little
SOLVER: Final = 0.001
"""Half-width of the solver's own error, share of the value."""
NEEDS_VOLTS: Final = frozenset(
    {"power", "current", "current_ac", "current_dc", "current_peak", "apparent_power", "reactive_power", "energy"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """What the meter of a reading would show [unit of the reading].

    `u` is the standard uncertainty without the meter's accuracy, made up of `shares` (name to standard uncertainty);
    `also` what a meter of the other coupling or a lifted leg would show, with the clause for it; `ends` what is shown
    with the mains at the lowest and highest of its range. `true` is the value itself. `between` is the least and the
    most that may come where chance decides (at switch-on), each with its standard uncertainty.
    """

    computed: float
    true: float
    u: float
    low95: float
    high95: float
    shares: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    note: str = ""
    also: tuple[tuple[float, str], ...] = ()
    ends: tuple[float, float] | None = None
    between: tuple[tuple[float, float], tuple[float, float]] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """A verdict with its sentence."""

    verdict: Verdict
    why: str


def rule(
    reading: Reading,
    error: MeterError,
    prediction: Prediction,
    *,
    state: str | None,
    mains: tuple[float, float] | None,
    fitting: tuple[float, float] | None = None,
) -> Ruling:
    """The verdict on one reading by the circuit.

    `mains` [V] is the range of a mains nobody read, None where it was; `fitting` the part of it with which the readings
    of the state go together, None where they do not tell.
    """
    unit = reading.unit
    if prediction.between is not None:
        return _by_chance(reading, error, prediction, prediction.between)
    vague = prediction.u > TOO_VAGUE * abs(prediction.computed)
    if mains is not None and reading.quantity in NEEDS_VOLTS:
        return Ruling(verdict="cannot-tell", why=_no_volts(reading, error, prediction, state, mains, fitting))
    if vague:
        most = max(prediction.shares, key=lambda name: prediction.shares[name], default="")
        share = prediction.u / abs(prediction.computed) if prediction.computed else math.inf
        size = f"{share:.0%} of it".replace("%", " %") if share < 10.0 else "more than the value itself"
        return Ruling(
            verdict="cannot-tell",
            why=(
                f"The computed {amount(prediction.computed, unit)} is itself uncertain by "
                f"{amount(prediction.u, unit, 2)} ({size}), mostly through {most or 'what is not known'}: "
                f"{as_read(reading.value, unit, reading.digit)} can be neither believed nor doubted until that is "
                f"narrowed." + (f" Note that {prediction.note}." if prediction.note else "")
            ),
        )
    apart, shown, how = _nearest(reading.value, prediction)
    u = math.hypot(prediction.u, error.sigma)
    times = apart / u if u > 0.0 else (0.0 if apart == 0.0 else math.inf)
    verdict: Verdict = "agrees" if times <= AGREES else "doubtful" if times <= DOUBTFUL else "contradicts"
    said = [_distance(reading, error, prediction, shown, how, apart, u, verdict)]
    if prediction.note:
        said.append(_explained(reading, prediction, verdict, how))
    if verdict == "agrees" and error.sigma > _SMALL_LOAD * abs(prediction.computed):
        said.append(
            f"That says little: at so small a value the meter's own ±{amount(error.half_width, reading.unit, 2)} is "
            f"most of what it shows."
        )
    return Ruling(verdict=verdict, why=" ".join(said))


def _by_chance(
    reading: Reading,
    error: MeterError,
    prediction: Prediction,
    between: tuple[tuple[float, float], tuple[float, float]],
) -> Ruling:
    """The verdict on a value that may be anything in a range: only what lies outside of it can contradict."""
    unit, value = reading.unit, reading.value
    (low, u_low), (high, u_high) = between
    story = f"{prediction.note[0].upper()}{prediction.note[1:]}."
    end, own = (low, u_low) if value < low else (high, u_high)
    if low <= value <= high:
        if prediction.u > TOO_VAGUE * abs(prediction.computed):
            return Ruling(
                verdict="cannot-tell",
                why=(
                    f"{story} {amount(value, unit)} is one of them and says no more: the largest of many switch-ons "
                    f"would."
                ),
            )
        return Ruling(verdict="agrees", why=f"{story} {amount(value, unit)} was read.")
    u = math.hypot(own, error.sigma)
    apart = abs(value - end)
    times = apart / u if u > 0.0 else math.inf
    side = "below the least" if value < low else "above the most"
    verdict: Verdict = "agrees" if times <= AGREES else "doubtful" if times <= DOUBTFUL else "contradicts"
    return Ruling(
        verdict=verdict,
        why=f"{story} {amount(value, unit)} was read, {amount(apart, unit, 2)} {side}, where u = {amount(u, unit, 2)}.",
    )


def _nearest(measured: float, prediction: Prediction) -> tuple[float, float, str]:
    """The smallest distance to what the meter may show, that value, and the clause for it."""
    best = (abs(measured - prediction.computed), prediction.computed, "")
    for value, clause in prediction.also:
        # Only where it makes the difference: the plain meaning goes first.
        if abs(measured - value) < 0.5 * best[0]:
            best = (abs(measured - value), value, clause)
    return best


def _distance(
    reading: Reading,
    error: MeterError,
    prediction: Prediction,
    shown: float,
    how: str,
    apart: float,
    u: float,
    verdict: Verdict,
) -> str:
    unit = reading.unit
    parts = {"the meter": error.sigma, **prediction.shares}
    named = sorted((value, name) for name, value in parts.items() if value > 0.1 * u)
    sources = (
        listed([f"{amount(value, unit, 2)} from {name}" for value, name in reversed(named)]) if named else "nothing"
    )
    where = f"; {how}" if how else ""
    digits = digits_of(reading.value, reading.digit)
    start = (
        f"{amount(reading.value, unit, digits)} was read and {amount(shown, unit, max(digits, 3))} computed{where}: "
    )
    if verdict == "agrees":
        return f"{start}{amount(apart, unit, 2)} apart, within 2u = {amount(2.0 * u, unit, 2)} (u: {sources})."
    if verdict == "doubtful":
        return (
            f"{start}{amount(apart, unit, 2)} apart, more than 2u = {amount(2.0 * u, unit, 2)} but within 3u (u: "
            f"{sources}): possible, but look again."
        )
    times = f"{apart / u:.0f} times u = {amount(u, unit, 2)}" if u > 0.0 else "though nothing in it is uncertain"
    return f"{start}{amount(apart, unit, 2)} apart, {times} (u: {sources}): one of the two is wrong."


def _explained(reading: Reading, prediction: Prediction, verdict: Verdict, how: str) -> str:
    unit = reading.unit
    off = abs(prediction.computed - prediction.true) > 0.02 * abs(prediction.true)
    if verdict == "agrees" and off and not how:
        return f"The meter explains why it does not show the true {amount(prediction.true, unit)}: {prediction.note}."
    return f"Note that {prediction.note}."


def _no_volts(
    reading: Reading,
    error: MeterError,
    prediction: Prediction,
    state: str | None,
    mains: tuple[float, float],
    fitting: tuple[float, float] | None,
) -> str:
    unit = reading.unit
    span = ""
    beyond = ""
    if prediction.ends is not None:
        low, high = sorted(prediction.ends)
        middle = prediction.computed
        change = ""
        if middle > 0.0:
            change = f" ({low / middle - 1.0:+.0%} to {high / middle - 1.0:+.0%})".replace("%", " %").replace("-", "−")
        span = (
            f" Between {mains[0]:.0f} V and {mains[1]:.0f} V the computed {name_of(reading.quantity)} runs from "
            f"{amount(low, unit)} to {amount(high, unit)}{change}, so {as_read(reading.value, unit, reading.digit)} "
            f"can be neither believed nor doubted."
        )
        slack = AGREES * math.hypot(error.sigma, prediction.shares.get("the parts", 0.0))
        if not low - slack <= reading.value <= high + slack:
            beyond = (
                f" {amount(reading.value, unit)} lies outside even of that: look at it again once the volts are known."
            )
    if fitting is not None and not beyond:
        beyond = f" The readings{in_state(state)} would go together at {fitting[0]:.0f} V to {fitting[1]:.0f} V."
    small = ""
    if error.sigma > _SMALL_LOAD * abs(prediction.computed):
        small = (
            f" Even then this one will say little: at so small a value the meter's own "
            f"±{amount(error.half_width, unit, 2)} is most of what it shows."
        )
    return f"Nobody read the mains voltage{in_state(state)}.{span}{beyond} Read the mains voltage first.{small}"


def unreachable(reading: Reading, reason: str) -> str:
    """The sentence for a reading that cannot be computed."""
    return f"The {name_of(reading.quantity)} {place_of(reading.at)} cannot be held against the circuit: {reason}."
