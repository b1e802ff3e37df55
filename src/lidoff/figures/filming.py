"""What a camera makes of a periodic light: the modulation that an exposure leaves, and how it rolls over the frames.

An exposure of time T is a moving average of the light: each component shrinks by sinc(f T). A row of a rolling shutter,
or a frame of a global one, so sees the light's swing less what the exposure averages away.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from lidoff.figures import flicker
from lidoff.figures.wave import Floats

SHUTTERS: Final = tuple(1.0 / n for n in (25, 30, 50, 60, 100, 120, 125, 250, 500, 1000, 2000))
"""Exposure times common on cameras [s] (common practice, no source)."""

FRAME_RATES: Final = (24.0, 25.0, 30.0, 50.0, 60.0)
"""Frame rates common on cameras [1/s] (common practice, no source)."""

TOLD: Final = (1.0 / 50, 1.0 / 60)
"""Exposures of common video whose share is told when they neither hide nor show all of it [s] (our choice)."""

HIDDEN: Final = 0.02
"""A share of the modulation below this is taken as hidden (our choice)."""

SHOWN: Final = 0.95
"""A share of the modulation above this is taken as all of it (our choice)."""

STILL: Final = 0.05
"""A roll slower than this [Hz] looks as if it stood still (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """One exposure: time [s], percent flicker that it leaves [%], and that as a share of the light's own [1]."""

    shutter: float
    percent_flicker: float
    left: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Roll:
    """How brightness or bands roll at a frame rate [1/s]: `roll` times a second [Hz]; 0 stands still."""

    frame_rate: float
    roll: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """What cameras make of a light of `frequency` [Hz]: exposures and frame rates, and which hide or show it."""

    frequency: float
    exposures: tuple[Exposure, ...]
    rolls: tuple[Roll, ...]

    @property
    def hiding(self) -> tuple[float, ...]:
        """Exposure times [s] that leave next to nothing of the modulation."""
        return tuple(exposure.shutter for exposure in self.exposures if exposure.left < HIDDEN)

    @property
    def showing(self) -> tuple[float, ...]:
        """Exposure times [s] that leave nearly all of it."""
        return tuple(exposure.shutter for exposure in self.exposures if exposure.left > SHOWN)

    @property
    def line(self) -> str:
        """The camera in one line."""
        if all(exposure.percent_flicker < 1.0 for exposure in self.exposures):
            return "A camera sees a steady light at every common setting."
        hide, show = _times(self.hiding), _times(self.showing)
        parts = [
            f"an exposure of {hide} averages it away" if hide else "no common exposure averages it away",
            f"{show} shows all of it" if show else "none shows all of it",
        ]
        between = [
            exposure for exposure in self.exposures if exposure.shutter in TOLD and HIDDEN <= exposure.left < SHOWN
        ]
        if between:
            told = [f"{_times((one.shutter,))} leaves {100.0 * one.left:.0f} % of its swing" for one in between]
            parts.insert(1, " and ".join(told))
        still = [f"{roll.frame_rate:g}" for roll in self.rolls if roll.roll < STILL]
        moving = [f"{roll.roll:.3g} times a second at {roll.frame_rate:g}" for roll in self.rolls if roll.roll >= STILL]
        if moving:
            parts.append(f"it rolls {', '.join(moving[:3])} frames a second")
        if still:
            parts.append(f"it stands still at {_listed(still)}")
        return f"Filmed, the light beats at {self.frequency:g} Hz: {'; '.join(parts)}."


def exposed(light: Floats, mains_frequency: float, shutter: float, cycles: int = 1) -> Floats:
    """What an exposure of `shutter` [s] collects, as a mean light [unit of light], by where it is centred.

    `light` is uniform over `cycles` cycles of `mains_frequency` [Hz] and taken as periodic.
    """
    lines = np.fft.rfft(np.asarray(light, dtype=np.float64))
    frequency = np.arange(lines.size) * (mains_frequency / cycles)
    return np.fft.irfft(lines * np.sinc(frequency * shutter), light.size)


def modulation_left(light: Floats, mains_frequency: float, shutter: float, cycles: int = 1) -> Exposure:
    """What an exposure of `shutter` [s] leaves of the modulation of a periodic light, wherever it starts.

    `light` is uniform over `cycles` cycles of `mains_frequency` [Hz]. A steady light leaves nothing of nothing: 0.
    """
    own = flicker.percent_flicker(float(light.max()), max(0.0, float(light.min()))) or 0.0
    seen = exposed(light, mains_frequency, shutter, cycles)
    percent = flicker.percent_flicker(float(seen.max()), max(0.0, float(seen.min()))) or 0.0
    return Exposure(shutter=shutter, percent_flicker=percent, left=percent / own if own > 0.0 else 0.0)


def roll(frequency: float, frame_rate: float) -> float:
    """How often a second [Hz] the picture of a light of `frequency` [Hz] rolls at `frame_rate` [1/s].

    The distance to the nearest multiple of the frame rate: 100 Hz at 30 frames a second rolls ten times a second, at 25
    or 50 not at all.
    """
    return abs(frequency - round(frequency / frame_rate) * frame_rate)


def camera(light: Floats, frequency: float, mains_frequency: float, cycles: int = 1) -> Camera:
    """What cameras at common settings make of a periodic light whose own frequency is `frequency` [Hz].

    `light` is uniform over `cycles` cycles of `mains_frequency` [Hz].
    """
    return Camera(
        frequency=frequency,
        exposures=tuple(modulation_left(light, mains_frequency, shutter, cycles) for shutter in SHUTTERS),
        rolls=tuple(Roll(frame_rate=rate, roll=roll(frequency, rate)) for rate in FRAME_RATES),
    )


def _times(shutters: tuple[float, ...]) -> str:
    return _listed([f"{Fraction(shutter).limit_denominator(8000)}" for shutter in shutters]) + " s" if shutters else ""


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
