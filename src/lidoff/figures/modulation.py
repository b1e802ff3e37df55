"""The lines that IEEE Std 1789-2015 draws for the modulation of light, at any frequency."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from lidoff.standards import Row
from lidoff.standards.light_limits import MODULATION

Practice = Literal["low risk", "no effect"]


def row_of(practice: Practice, frequency: float) -> Row:
    """The row of the practice that holds at `frequency` [Hz]."""
    slow = frequency < MODULATION.number("border", "between the ranges")
    return MODULATION.row(practice, "below 90 Hz" if slow else "90 Hz and above")


# Every solved light asks for the same few dozen frequencies again.
@lru_cache(maxsize=1024)
def most_modulation(practice: Practice, frequency: float) -> float | None:
    """The most percent flicker [%] that the practice has at `frequency` [Hz]; None where it sets no limit.

    IEEE Std 1789-2015, clause 8.1.1: 0.025 f and 0.08 f (low risk), 0.01 f and 0.0333 f (no observable effect), the
    first of each below 90 Hz; no limit above 1250 Hz and 3000 Hz. Never over 100 %, which is all there is.
    """
    if frequency > MODULATION.number(practice, "no limit above"):
        return None
    return min(100.0, row_of(practice, frequency).number * frequency)
