"""Small words for sentences: lists of refs, counts, values and how many times too big."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Final

from lidoff.quantity import engineering, with_interval

_NUMBERS: Final = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
_POWERS: Final = {1: "ten", 2: "a hundred", 3: "a thousand", 4: "ten thousand", 5: "a hundred thousand", 6: "a million"}
_SHARES: Final = {
    1: "a little less than",
    2: "half of",
    3: "a third of",
    4: "a quarter of",
    5: "a fifth of",
    6: "a sixth of",
    7: "a seventh of",
    8: "an eighth of",
    9: "a ninth of",
}
_PARTS: Final = {1: "a tenth", 2: "a hundredth", 3: "a thousandth", 4: "a ten-thousandth"}


def ref_order(ref: str) -> tuple[tuple[int, int, str], ...]:
    """A sorting key by which R2 stands before R10."""
    pieces = re.split(r"(\d+)", ref)
    return tuple((0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces if piece)


def listed(words: Iterable[str]) -> str:
    """Words as a list in a sentence: "R1, R2 and R3"."""
    rows = list(words)
    if len(rows) < 2:
        return "".join(rows)
    return f"{', '.join(rows[:-1])} and {rows[-1]}"


def counted(count: int) -> str:
    """A count as a word up to twelve, as a figure beyond."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def marked(value: float, unit: str) -> str:
    """A part's value [unit] as one reads it off the part: "4.7 kΩ", "100 nF"."""
    return with_interval(value, 0.0, unit)


def computed(value: float, unit: str, digits: int = 2) -> str:
    """A figure [unit] that was worked out, to `digits` significant figures."""
    return engineering(value, unit, digits)


def times(ratio: float) -> str:
    """How a value compares with the usual one: "a thousand times", "a tenth of". The ratio must be above 0."""
    steps = round(math.log10(ratio))
    if steps >= 1 and steps in _POWERS:
        near = ratio / 10.0**steps
        if 0.6 < near < 1.7:
            return f"{_POWERS[steps]} times"
    if steps <= -1 and -steps in _PARTS and 0.6 < ratio / 10.0**steps < 1.7:
        return f"{_PARTS[-steps]} of"
    if ratio >= 1.0:
        return f"{float(f'{ratio:.1g}'):,.0f} times"
    share = round(1.0 / ratio)
    return _SHARES[share] if share in _SHARES else f"1/{float(f'{1.0 / ratio:.1g}'):.0f} of"


def many(count: int, one: str, more: str | None = None) -> str:
    """The word in the number that fits the count."""
    return one if count == 1 else (more or f"{one}s")
