"""What a series choke and a capacitor across the mains take off a disturbance: a simple insertion estimate."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.figures.comparison import amount
from lidoff.figures.mains_network import nominal_impedance
from lidoff.figures.wave import Complexes, Floats

EXAMPLES: Final = ((100e-6, 0.0), (0.0, 100e-9), (100e-6, 100e-9), (1e-3, 100e-9))
"""Chokes [H] and X capacitors [F] that dimmers of the trade have (common practice, no source)."""

CAUTION: Final = (
    "A capacitor across the mains has to be of class X, a choke has to carry the full current without saturating, and "
    "more than 0.1 µF needs a resistor that discharges it after unplugging. With a triac the two ring: a damping "
    "resistor may be needed. Ideal parts are assumed; a real choke's own capacitance undoes it above about 1 MHz."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterEffect:
    """A choke [H] and an X capacitor [F], and what they take off [dB] at each frequency [Hz]; negative is worse.

    `remaining` [dB] is how far the worst place of an estimate then stands over its limit (negative: under), None where
    no estimate was given.
    """

    inductance: float
    capacitance: float
    frequency: tuple[float, ...]
    attenuation: tuple[float, ...]
    remaining: float | None = None

    @property
    def name(self) -> str:
        """The parts in words."""
        choke = f"a choke of {amount(self.inductance, 'H')}" if self.inductance else ""
        capacitor = f"an X capacitor of {amount(self.capacitance, 'F')}" if self.capacitance else ""
        return " with ".join(part for part in (choke, capacitor) if part)


def attenuation(frequency: Floats, load: float | Complexes, inductance: float, capacitance: float) -> Floats:
    """What a filter takes off the disturbance voltage on each line [dB] at `frequency` [Hz].

    What the item puts out drives current through its own impedance `load` [ohm], the choke `inductance` [H] and the two
    lines' artificial networks in a row; the capacitor `capacitance` [F] stands across the mains behind the choke.
    """
    w = 2.0 * np.pi * frequency
    lines = 2.0 * nominal_impedance(frequency)
    bare = 1.0 / (load + lines)
    # 1 + jwC Z divides the current between the capacitor and the lines.
    shunted = 1.0 + 1j * w * capacitance * lines
    filtered = 1.0 / (load + 1j * w * inductance + lines / shunted) / shunted
    return np.asarray(20.0 * np.log10(np.abs(bare / filtered)))


def effects(
    load: Callable[[Floats], Complexes],
    frequency: Sequence[float],
    over: Mapping[float, float],
    filters: Sequence[tuple[float, float]] = EXAMPLES,
) -> tuple[FilterEffect, ...]:
    """What each of some filters, pairs of choke [H] and capacitor [F], takes off at each `frequency` [Hz].

    `load` gives the item's impedance [ohm] by frequency, `over` how far an estimate stands over its limit [dB].
    """
    at, known = np.array(frequency, dtype=np.float64), np.array(sorted(over), dtype=np.float64)
    excess = np.array([over[f] for f in known.tolist()])

    def taken(where: Floats, inductance: float, capacitance: float) -> Floats:
        return attenuation(where, load(where), inductance, capacitance)

    return tuple(
        FilterEffect(
            inductance=inductance,
            capacitance=capacitance,
            frequency=tuple(at.tolist()),
            attenuation=tuple(taken(at, inductance, capacitance).tolist()),
            remaining=float((excess - taken(known, inductance, capacitance)).max()) if known.size else None,
        )
        for inductance, capacitance in filters
    )


def words(found: Sequence[FilterEffect], spots: Sequence[float], known_to: float) -> str:
    """What the smallest and the largest filter of both parts would change at the `spots` [Hz]; empty without any.

    `known_to` [Hz] is how far up an estimate reached that the filters were held against.
    """
    both = sorted((one for one in found if one.inductance and one.capacitance), key=lambda one: one.inductance)
    if not both:
        return ""
    told = " ".join(f"{_capital(one.name)} would {_taken_off(one, spots)}." for one in (both[0], both[-1]))
    rest = both[-1].remaining
    if rest is None:
        return told
    left = f"{abs(rest):.0f} dB {'over' if rest > 0.0 else 'under'} the limit at its worst place"
    return f"{told} The middle of the estimate would then lie {left} up to {amount(known_to, 'Hz')}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _taken_off(one: FilterEffect, spots: Sequence[float]) -> str:
    pairs = [(f, a) for f, a in zip(one.frequency, one.attenuation, strict=True) if f in spots]
    told = " and ".join(f"{abs(a):.0f} dB{'' if a >= 0.0 else ' more'} at {amount(f, 'Hz')}" for f, a in pairs)
    return f"take off about {told}" if all(a >= 0.0 for _, a in pairs) else f"change it by {told}"
