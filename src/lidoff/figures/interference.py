"""Conducted disturbance from the steps of a current: an estimate from 9 kHz to 30 MHz, as a band.

A step of height D has the spectral density D/(2 pi f). On each line it makes a voltage on the artificial mains
network, and a quasi-peak receiver shows a run of such steps as it shows a run of impulses of the same density. Below
300 kHz that is good to about 10 dB; above, the time that the switch takes for its step rules, which nobody measured.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np

from lidoff.figures.comparison import amount
from lidoff.figures.edges import Edge
from lidoff.figures.mains_filter import CAUTION, FilterEffect, effects, words
from lidoff.figures.mains_network import nominal_impedance
from lidoff.figures.receiver import impulse_to_reading
from lidoff.figures.wave import Complexes, Floats
from lidoff.standards import Row
from lidoff.standards.emission import conducted_limit

LOWEST: Final = 9e3
HIGHEST: Final = 30e6
KNOWN_TO: Final = 300e3
"""Above this frequency [Hz] the unknown rise time of the switch rules the estimate."""

SPREAD: Final = 10.0
"""Half-width of the estimate [dB] (our choice: network, layout and detector together)."""

SLOWEST_RISE: Final = 2e-6
"""The slowest rise taken for a triac's or thyristor's turn-on [s] (common practice, no source)."""

MEDIUM_WAVE: Final = 1e6
"""The frequency [Hz] that stands for the medium waves, which run from 526.5 kHz to 1606.5 kHz."""

SHOWN_AT: Final = 150e3
"""The frequency [Hz] at which the item's impedance is told as one figure: where the common limits begin."""

Seen = Callable[[Floats], tuple[Complexes, Complexes]]
"""An item as the mains sees it at a step: frequency [Hz] to the open voltage at its terminals per ampere of the step
that the solved wave shows [ohm], and the impedance between its terminals [ohm]."""

ASSUMPTIONS: Final = (
    "The current steps as computed; the wave between the steps adds nothing worth counting above 9 kHz.",
    "The step flows through both lines of a 50 Ω/50 µH + 5 Ω artificial mains network, a line's share to earth; "
    "what flows to earth through the item's own capacitance is left out.",
    "The quasi-peak reading is that of evenly repeated impulses; CISPR's impulse areas are from memory.",
    f"Below {KNOWN_TO / 1e3:.0f} kHz the estimate is good to about {SPREAD:.0f} dB either way; above, the rise time of "
    f"the switch rules: the band runs from a rise of {1e6 * SLOWEST_RISE:g} µs to an instant one.",
    "Where a rectifier begins to charge a capacitor the current is taken as a slope, which the network rounds off.",
    "Switch-mode stages and motors make their own disturbance, which is not in the computed wave.",
)


HELD_AGAINST: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lighting": "Held against the quasi-peak limits for lighting: from 150 kHz those of class B for homes (read in "
        "47 CFR 18.307(b)), below that CISPR 15's, from memory. Whose law asks for them was not looked at.",
        "residential": "Held against the quasi-peak limits of class B for homes, which begin at 150 kHz (read in "
        "47 CFR 18.307(b)). Whose law asks for them was not looked at.",
        "other premises": "Held against the quasi-peak limits of class A, for other places than homes.",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """The estimate at one frequency [Hz]: low and high end, and the limit [dBuV, quasi-peak]."""

    frequency: float
    low: float
    high: float
    limit: float
    basis: Row

    @property
    def middle(self) -> float:
        """Middle of the band [dBuV]."""
        return 0.5 * (self.low + self.high)

    @property
    def lies(self) -> str:
        """Where the band lies about the limit: "over", "under" or "across" it."""
        return "over" if self.low > self.limit else "under" if self.high < self.limit else "across"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interference:
    """An estimate of conducted disturbance. `step` [A] is the largest step, `repetition` [Hz] how often such come.

    `levels` is empty where the current has no steps. `load` [ohm] is the size of the item's impedance between its
    mains terminals at 150 kHz just after the step, None where it is not known: the step is then taken as given.
    """

    step: float
    repetition: float
    load: float | None
    levels: tuple[Level, ...]
    filters: tuple[FilterEffect, ...]
    words: str
    medium_wave: str
    assumptions: tuple[str, ...] = ASSUMPTIONS
    filter_caution: str = CAUTION

    @property
    def worst(self) -> Level | None:
        """Where the middle of the band stands highest about the limit, as far up as the estimate is known."""
        known = [level for level in self.levels if level.frequency <= KNOWN_TO]
        return max(known, key=lambda level: level.middle - level.limit, default=None)

    @property
    def filter_words(self) -> str:
        """What a choke and an X capacitor would change, in a sentence or two; empty where that is not known."""
        return words(self.filters, (SHOWN_AT, MEDIUM_WAVE), KNOWN_TO)

    def as_dict(self) -> dict[str, Any]:
        """The estimate as plain lists and mappings."""
        return {
            "step": self.step,
            "repetition": self.repetition,
            "load": self.load,
            "words": self.words,
            "medium_wave": self.medium_wave,
            "filter_words": self.filter_words,
            "worst_frequency": None if self.worst is None else self.worst.frequency,
            "levels": [
                {"frequency": x.frequency, "low": x.low, "high": x.high, "limit": x.limit, "lies": x.lies}
                for x in self.levels
            ],
            "filters": [
                {
                    "inductance": x.inductance,
                    "capacitance": x.capacitance,
                    "frequency": list(x.frequency),
                    "attenuation": list(x.attenuation),
                    "remaining": x.remaining,
                }
                for x in self.filters
            ],
            "filter_caution": self.filter_caution,
            "assumptions": list(self.assumptions),
        }


def step_level(
    frequency: Floats, step: float, repetition: float, rise: float = 0.0, load: float | Seen | None = None
) -> Floats:
    """Quasi-peak level on one line [dBuV] at `frequency` [Hz] of steps of `step` [A], `repetition` times a second [Hz].

    The step takes `rise` [s]: its spectrum falls off above 1/(pi rise). `load` [ohm], or what the mains sees of the
    item, is what the step stands behind; the network's own impedance then takes its share of it, else the current is
    taken as given.
    """
    impedance = nominal_impedance(frequency)
    density = abs(step) / (2.0 * np.pi * frequency)
    if rise > 0.0:
        density = density * np.minimum(1.0, 1.0 / (np.pi * frequency * rise))
    if load is not None:
        behind, inside = (load, load) if isinstance(load, float | int) else load(frequency)
        density = density * np.abs(behind / (inside + 2.0 * impedance))
    volts = np.abs(impedance) * density * impulse_to_reading(frequency, repetition)
    return np.asarray(20.0 * np.log10(volts / 1e-6))


def estimate(
    edges: Sequence[Edge],
    mains_frequency: float,
    cycles: int = 1,
    *,
    load: float | Seen | None = None,
    limit: str = "lighting",
    more: Sequence[str] = (),
) -> Interference:
    """The conducted disturbance of a current whose steps over `cycles` cycles of `mains_frequency` [Hz] are `edges`.

    `load` is what the steps stand behind: a plain resistance [ohm], or what the mains sees of the item by frequency;
    `limit` is the set of limits: "lighting", "residential" or "other premises", and `more` are assumptions of the
    caller's own. Steps smaller than half the largest do not count as repetitions of it.
    """
    largest = max((abs(edge.step) for edge in edges), default=0.0)
    if largest == 0.0:
        return Interference(
            step=0.0,
            repetition=0.0,
            load=None,
            levels=(),
            filters=(),
            words="The computed current has no steps, so the mains cycle itself makes next to no radio disturbance. "
            "A switch-mode stage would, and is not in the computed wave.",
            medium_wave="Nothing to hear on the medium waves from the mains cycle itself.",
        )
    many = sum(abs(edge.step) >= 0.5 * largest for edge in edges)
    repetition = many * mains_frequency / cycles
    lowest = LOWEST if limit == "lighting" else 150e3
    frequency = np.unique(
        np.concatenate((np.geomspace(lowest, HIGHEST, 71), (150e3, KNOWN_TO, 500e3, MEDIUM_WAVE, 5e6)))
    )
    instant = step_level(frequency, largest, repetition, 0.0, load)
    slow = step_level(frequency, largest, repetition, SLOWEST_RISE, load)
    levels = []
    for f, high, low in zip(frequency.tolist(), instant.tolist(), slow.tolist(), strict=True):
        found = conducted_limit(f, limit)
        if found is not None:
            bottom = high if f <= KNOWN_TO else low
            levels.append(Level(frequency=f, low=bottom - SPREAD, high=high + SPREAD, limit=found[0], basis=found[1]))
    spots = tuple(f for f in (50e3, 150e3, KNOWN_TO, MEDIUM_WAVE) if f >= lowest)
    inside = None if load is None else _inside(load)
    known = [level for level in levels if level.frequency <= KNOWN_TO]
    over = {level.frequency: level.middle - level.limit for level in known}
    return Interference(
        step=largest,
        repetition=repetition,
        load=float(np.abs(inside(np.array([SHOWN_AT]))[0])) if inside is not None else None,
        levels=tuple(levels),
        filters=effects(inside, spots, over) if inside is not None else (),
        words=_words(levels),
        medium_wave=_medium_wave(levels),
        assumptions=(*ASSUMPTIONS, HELD_AGAINST[limit], *more),
    )


def _inside(load: float | Seen) -> Callable[[Floats], Complexes]:
    """The impedance between the item's terminals [ohm] by frequency [Hz]."""
    if callable(load):
        return lambda frequency: load(frequency)[1]
    return lambda frequency: np.full(frequency.shape, load, dtype=np.complex128)


def _words(levels: Sequence[Level]) -> str:
    known = [level for level in levels if level.frequency <= KNOWN_TO]
    worst = max(known, key=lambda level: level.middle - level.limit)
    excess = worst.middle - worst.limit
    lead = {
        "over": "The steps of the computed current lie over the limit of conducted disturbance",
        "under": "The steps of the computed current lie under the limit of conducted disturbance",
        "across": "The estimate for the steps of the computed current runs across the limit of conducted disturbance",
    }[worst.lies]
    side = "over" if excess > 0.0 else "under"
    return (
        f"{lead}: {abs(excess):.0f} dB {side} it at {amount(worst.frequency, 'Hz')}, give or take {SPREAD:.0f} dB, "
        f"which is the worst place up to {amount(KNOWN_TO, 'Hz')}."
    )


def _medium_wave(levels: Sequence[Level]) -> str:
    level = min(levels, key=lambda level: abs(level.frequency - MEDIUM_WAVE))
    heard = {
        "over": "A medium-wave radio on the same wiring will very likely buzz, and may be unusable near the lead",
        "across": "A medium-wave radio on the same wiring is likely to buzz when it stands near the lead",
        "under": "A medium-wave radio is unlikely to be disturbed unless it stands right beside the lead",
    }[level.lies]
    return (
        f"{heard} (at {amount(level.frequency, 'Hz')} between {_signed(level.low - level.limit)} and "
        f"{_signed(level.high - level.limit)} dB about the limit; how loud it is hangs on how fast the switch closes)."
    )


def _signed(decibels: float) -> str:
    return f"{decibels:+.0f}".replace("-", "−")
