"""Colours of bands: what each means, how people shorten it, and what it is mistaken for.

Source of the meanings: IEC 60062:2016, colour code. Which rows were seen quoted and which are from memory stands in
each row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import COLOUR_CODE, COLOUR_CODE_RECALLED, Source


class Colour(NamedTuple):
    """One colour: digit, power of ten as a multiplier, tolerance (share), temperature coefficient [1/K]."""

    name: str
    digit: int | None
    power: int | None
    tolerance: float | None
    coefficient: float | None
    source: Source


_ROWS: Final = (
    Colour(name="black", digit=0, power=0, tolerance=None, coefficient=250e-6, source=COLOUR_CODE),
    Colour(name="brown", digit=1, power=1, tolerance=0.01, coefficient=100e-6, source=COLOUR_CODE),
    Colour(name="red", digit=2, power=2, tolerance=0.02, coefficient=50e-6, source=COLOUR_CODE),
    Colour(name="orange", digit=3, power=3, tolerance=0.0005, coefficient=15e-6, source=COLOUR_CODE),
    Colour(name="yellow", digit=4, power=4, tolerance=0.0002, coefficient=25e-6, source=COLOUR_CODE),
    Colour(name="green", digit=5, power=5, tolerance=0.005, coefficient=20e-6, source=COLOUR_CODE),
    Colour(name="blue", digit=6, power=6, tolerance=0.0025, coefficient=10e-6, source=COLOUR_CODE_RECALLED),
    Colour(name="violet", digit=7, power=7, tolerance=0.001, coefficient=5e-6, source=COLOUR_CODE_RECALLED),
    # Grey stood for 0.05 % until the 2016 edition made it 0.01 %; the older meaning is the one met on the bench.
    Colour(name="grey", digit=8, power=8, tolerance=0.0005, coefficient=1e-6, source=COLOUR_CODE_RECALLED),
    Colour(name="white", digit=9, power=9, tolerance=None, coefficient=None, source=COLOUR_CODE),
    Colour(name="gold", digit=None, power=-1, tolerance=0.05, coefficient=None, source=COLOUR_CODE),
    Colour(name="silver", digit=None, power=-2, tolerance=0.10, coefficient=None, source=COLOUR_CODE),
    Colour(name="pink", digit=None, power=-3, tolerance=None, coefficient=None, source=COLOUR_CODE_RECALLED),
)
COLOURS: Final[Mapping[str, Colour]] = MappingProxyType({row.name: row for row in _ROWS})
DIGITS: Final = tuple(row.name for row in _ROWS if row.digit is not None)
"""Colours in the order of their digits."""

# Colours that faded paint and lamp light turn into one another. Common practice, no source.
CONFUSED: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "black": ("brown", "blue"),
        "brown": ("red", "orange", "black"),
        "red": ("brown", "orange"),
        "orange": ("red", "yellow", "brown"),
        "yellow": ("gold", "orange", "white"),
        "green": ("blue", "grey"),
        "blue": ("violet", "green", "black"),
        "violet": ("blue", "grey"),
        "grey": ("white", "silver", "violet", "green"),
        "white": ("grey", "yellow"),
        "gold": ("yellow", "brown"),
        "silver": ("grey",),
        "pink": ("red", "white"),
    }
)

# Two-letter codes of IEC 60757 (from memory), and what people write besides. Anything else is matched as the beginning
# of a colour's name, so that "bl" is black or blue and "gr" green or grey.
_SHORT: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "bk": ("black",),
        "blk": ("black",),
        "bn": ("brown",),
        "brn": ("brown",),
        "rd": ("red",),
        "og": ("orange",),
        "orn": ("orange",),
        "org": ("orange",),
        "yw": ("yellow",),
        "gn": ("green",),
        "grn": ("green",),
        "bu": ("blue",),
        "blu": ("blue",),
        "vt": ("violet",),
        "purple": ("violet",),
        "purp": ("violet",),
        "pu": ("violet",),
        "lilac": ("violet",),
        "gy": ("grey",),
        "gry": ("grey",),
        "gray": ("grey",),
        "wt": ("white",),
        "wht": ("white",),
        "gd": ("gold",),
        "gld": ("gold",),
        "golden": ("gold",),
        "sr": ("silver",),
        "slv": ("silver",),
        "sv": ("silver",),
        "pk": ("pink",),
    }
)
_UNKNOWN: Final = frozenset({"?", "worn", "unknown", "burnt", "scorched"})
_NO_BAND: Final = frozenset({"none", "nothing", "-"})
_FILLER: Final = frozenset({"band", "bands", "stripe", "stripes", "ring", "rings", "and", "then"})
_WIDE: Final = frozenset({"wide", "broad", "thick", "double"})
_GAP: Final = frozenset({"gap", "space", "_", "..", "..."})


class Band(NamedTuple):
    """One band: the colours it can be, and whether it is a wide one."""

    options: tuple[str, ...]
    wide: bool = False


class Bands(NamedTuple):
    """The bands in the order seen. `gap_before` is the index of the band that stands off from the others, if seen."""

    bands: tuple[Band, ...]
    gap_before: int | None = None

    def reversed(self) -> Bands:
        """The same part turned round."""
        gap = None if self.gap_before is None else len(self.bands) - self.gap_before
        return Bands(bands=self.bands[::-1], gap_before=gap)


def colours_of(word: str) -> tuple[str, ...]:
    """The colours a word can stand for, e.g. "br" brown, "gr" green or grey; () where it is no colour."""
    low = word.lower()
    if low in _UNKNOWN:
        return tuple(COLOURS)
    if low in _SHORT:
        return _SHORT[low]
    return tuple(name for name in COLOURS if low and name.startswith(low))


def read_bands(text: str) -> Bands | None:
    """The bands a text describes, or None where any word of it is not a colour.

    Alternatives are joined by "|" or "/": "brown|red"; "?" or "worn" is any colour; "wide", "gap" and "none" are
    understood; words are parted by blanks, commas or hyphens.
    """
    plain = re.sub(r"\s*([|/])\s*", r"\1", text.replace("(", " ").replace(")", " "))
    words = [word for word in re.split(r"[\s,;]+|(?<=[a-zA-Z?])-(?=[a-zA-Z?])", plain) if word]
    bands: list[Band] = []
    gap: int | None = None
    wide_next = False
    letters_only = all(len(word) == 1 for word in words)
    for place, word in enumerate(words):
        low = word.lower()
        if low in _FILLER:
            continue
        if low in _GAP:
            gap = len(bands)
        elif low in _WIDE:
            # "wide blue" as much as "blue (wide)": at the end of the words it looks back, elsewhere forward.
            if place == len(words) - 1 and bands:
                bands[-1] = Band(options=bands[-1].options, wide=True)
            else:
                wide_next = True
        elif low in _NO_BAND:
            if not bands:
                return None
        else:
            options: list[str] = []
            for alternative in re.split(r"[|/]", word):
                found = colours_of(alternative)
                if not found or (len(alternative) == 1 and alternative != "?" and not letters_only):
                    return None
                options += [colour for colour in found if colour not in options]
            bands.append(Band(options=tuple(options), wide=wide_next))
            wide_next = False
    if not bands or (letters_only and len(bands) < 3):
        return None
    return Bands(bands=tuple(bands), gap_before=gap if gap and gap < len(bands) else None)
