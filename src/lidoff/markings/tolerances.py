"""Tolerance letters. Source: IEC 60062:2016; which rows were seen quoted stands in each row."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.building import Tolerance, even
from lidoff.markings.sources import TOLERANCE_LETTERS, TOLERANCE_LETTERS_RECALLED, Source


class Letter(NamedTuple):
    """A tolerance letter: shares below and above; `picofarads` is its width on capacitors under 10 pF [pF], or None."""

    letter: str
    low: float
    high: float
    picofarads: float | None
    source: Source


_ROWS: Final = (
    Letter(letter="B", low=0.001, high=0.001, picofarads=0.1, source=TOLERANCE_LETTERS),
    Letter(letter="C", low=0.0025, high=0.0025, picofarads=0.25, source=TOLERANCE_LETTERS),
    Letter(letter="D", low=0.005, high=0.005, picofarads=0.5, source=TOLERANCE_LETTERS),
    Letter(letter="F", low=0.01, high=0.01, picofarads=1.0, source=TOLERANCE_LETTERS),
    Letter(letter="G", low=0.02, high=0.02, picofarads=2.0, source=TOLERANCE_LETTERS),
    Letter(letter="H", low=0.03, high=0.03, picofarads=None, source=TOLERANCE_LETTERS),
    Letter(letter="J", low=0.05, high=0.05, picofarads=None, source=TOLERANCE_LETTERS),
    Letter(letter="K", low=0.10, high=0.10, picofarads=None, source=TOLERANCE_LETTERS),
    Letter(letter="M", low=0.20, high=0.20, picofarads=None, source=TOLERANCE_LETTERS),
    Letter(letter="N", low=0.30, high=0.30, picofarads=None, source=TOLERANCE_LETTERS_RECALLED),
    Letter(letter="P", low=0.0, high=1.0, picofarads=None, source=TOLERANCE_LETTERS),
    Letter(letter="Q", low=0.10, high=0.30, picofarads=None, source=TOLERANCE_LETTERS_RECALLED),
    Letter(letter="S", low=0.20, high=0.50, picofarads=None, source=TOLERANCE_LETTERS_RECALLED),
    Letter(letter="T", low=0.10, high=0.50, picofarads=None, source=TOLERANCE_LETTERS_RECALLED),
    Letter(letter="Z", low=0.20, high=0.80, picofarads=None, source=TOLERANCE_LETTERS),
)
LETTERS: Final[Mapping[str, Letter]] = MappingProxyType({row.letter: row for row in _ROWS})
RESISTOR_LETTERS: Final = "BCDFGJKM"
INDUCTOR_LETTERS: Final = "FGHJKMN"


def tolerance_of(letter: str, value: float | None = None) -> Tolerance:
    """The tolerance a letter stands for; `value` [F] is given for capacitors, whose letters B to G are absolute
    widths under 10 pF.
    """
    row = LETTERS[letter]
    if value is not None and value < 9.99e-12 and row.picofarads is not None:
        return Tolerance(low=0.0, high=0.0, absolute=row.picofarads * 1e-12)
    return Tolerance(low=row.low, high=row.high)


__all__ = ["INDUCTOR_LETTERS", "LETTERS", "RESISTOR_LETTERS", "Letter", "even", "tolerance_of"]
