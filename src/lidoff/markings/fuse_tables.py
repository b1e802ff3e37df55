"""Tables of fuses: speeds, breaking capacities, rated currents, plug fuses."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import (
    FUSE_BANDS,
    FUSE_BREAKING,
    FUSE_PLUG,
    FUSE_RATINGS_RECALLED,
    FUSE_TEXT,
    FUSE_UL,
    Source,
)


class Speed(NamedTuple):
    """A time-current characteristic: its letter, our name for it, and the colour of its wide band."""

    letter: str
    name: str
    colour: str
    source: Source


class Breaking(NamedTuple):
    """A breaking capacity letter: its least value [A], or a multiple of the rated current if that is more."""

    letter: str
    name: str
    current: float
    multiple: float
    source: Source


class Rated(NamedTuple):
    """A rated current on a list [A]."""

    current: float
    series: str
    source: Source


class PlugFuse(NamedTuple):
    """A plug fuse: rated current [A], the colour of its print, and whether it is one of the two preferred ratings."""

    current: float
    colour: str
    preferred: bool
    source: Source


SPEEDS: Final[Mapping[str, Speed]] = MappingProxyType(
    {
        row.letter: row
        for row in (
            Speed(letter="FF", name="very quick", colour="black", source=FUSE_BANDS),
            Speed(letter="F", name="quick", colour="red", source=FUSE_BANDS),
            Speed(letter="M", name="medium", colour="yellow", source=FUSE_BANDS),
            Speed(letter="T", name="slow", colour="blue", source=FUSE_BANDS),
            Speed(letter="TT", name="very slow", colour="grey", source=FUSE_BANDS),
        )
    }
)
SPEED_OF_COLOUR: Final[Mapping[str, str]] = MappingProxyType({row.colour: row.letter for row in SPEEDS.values()})

BREAKING: Final[Mapping[str, Breaking]] = MappingProxyType(
    {
        row.letter: row
        for row in (
            Breaking(letter="L", name="low", current=35.0, multiple=10.0, source=FUSE_BREAKING),
            Breaking(letter="E", name="enhanced", current=150.0, multiple=0.0, source=FUSE_BREAKING),
            Breaking(letter="H", name="high", current=1500.0, multiple=0.0, source=FUSE_BREAKING),
        )
    }
)

_R10_SEEN: Final = (0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0)
_R10_RECALLED: Final = (0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25)
_R20_SEEN: Final = (0.355, 0.45, 0.56, 0.71, 0.9, 1.12, 1.4, 1.8)
_R20_RECALLED: Final = (2.24, 2.8, 3.55, 4.5, 5.6, 7.1, 9.0, 0.224, 0.28)
_UL: Final = (0.75, 1.5, 3.0, 3.5, 7.0, 12.0, 13.0, 15.0, 16.0, 20.0)

RATED: Final = (
    *(Rated(current=current, series="R10", source=FUSE_BANDS) for current in _R10_SEEN),
    *(Rated(current=current, series="R10", source=FUSE_RATINGS_RECALLED) for current in _R10_RECALLED),
    *(Rated(current=current, series="R20", source=FUSE_TEXT) for current in _R20_SEEN),
    *(Rated(current=current, series="R20", source=FUSE_RATINGS_RECALLED) for current in _R20_RECALLED),
    *(Rated(current=current, series="usual outside IEC 60127", source=FUSE_UL) for current in _UL),
)

PLUG_FUSES: Final = (
    PlugFuse(current=1.0, colour="black", preferred=False, source=FUSE_PLUG),
    PlugFuse(current=2.0, colour="black", preferred=False, source=FUSE_PLUG),
    PlugFuse(current=3.0, colour="red", preferred=True, source=FUSE_PLUG),
    PlugFuse(current=5.0, colour="black", preferred=False, source=FUSE_PLUG),
    PlugFuse(current=7.0, colour="black", preferred=False, source=FUSE_PLUG),
    PlugFuse(current=10.0, colour="black", preferred=False, source=FUSE_PLUG),
    PlugFuse(current=13.0, colour="brown", preferred=True, source=FUSE_PLUG),
)


def series_of(current: float) -> str | None:
    """The list a rated current [A] stands on: "R10", "R20", "usual outside IEC 60127", or None."""
    return next((row.series for row in RATED if abs(row.current - current) < 1e-6 * current), None)


def banded_current(number: int, power: int) -> tuple[float, bool]:
    """The rated current [A] that two digits and a multiplier in milliamperes stand for, and whether it is listed.

    Bands carry the first two digits of the rated current only: 31 with a multiplier of ten is 315 mA.
    Source: IEC 60127-1, Annex A, note 2.
    """
    bare = float(f"{number}e{power - 3}")
    for row in RATED:
        if row.series != "usual outside IEC 60127" and int(float(f"{row.current / 10.0 ** (power - 3):.6f}")) == number:
            return row.current, True
    return bare, False
