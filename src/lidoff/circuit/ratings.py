"""What a part is rated for: as the record has it, and where the record is silent as its marking tells.

A capacitor printed "334K 400V" is one of 400 V, a diode printed with a registered number is what that number stands
for. What somebody wrote down goes before the marking, quantity by quantity: who wrote `voltage_ac` has looked at the
volts, and no `voltage` is read into the part beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final, NamedTuple

from lidoff.kinds import CAPACITOR_CLASSES, RATING_UNITS
from lidoff.markings import MarkingError, decode
from lidoff.quantity import celsius, engineering
from lidoff.record import Part, Table
from lidoff.record.model import EMPTY

MARKED: Final = "from its marking"
"""Where such a rating comes from, in words."""

_AS_GOOD: Final = 0.8  # of the best reading's score: a reading as likely as that has a say in what the marking tells
_ROUNDING: Final = 0.01  # share by which a rating and a marking may differ and still be the same figure, rounded
_CLASS: Final = "class"
# Words of one quantity: one of them written down is enough to leave the marking's others out.
_SAME: Final[Mapping[str, str]] = Table({"voltage_ac": "voltage", "current_rms": "current"})
# A diac's printed current is a surge of microseconds, not what it carries all the time.
_NOT_A_RATING: Final = frozenset({("diac", "current")})


class Rated(NamedTuple):
    """Rating words with their values [SI, classes as words], and which of them only the marking tells."""

    rating: Mapping[str, float | str]
    marked: frozenset[str]


def rated(part: Part) -> Rated:
    """The ratings of a part: what is written, and what its marking tells of quantities nobody wrote a rating for."""
    told = marked_ratings(part.kind, part.marking) if part.marking else EMPTY
    written = {_quantity(word) for word in part.rating}
    more = {word: value for word, value in told.items() if _quantity(word) not in written}
    return Rated(Table({**part.rating, **more}) if more else part.rating, frozenset(more))


def disagreements(part: Part) -> Iterator[tuple[str, str]]:
    """Rating words whose written value is not the marking's, each with a sentence that says so."""
    told = marked_ratings(part.kind, part.marking) if part.marking else EMPTY
    for word, written in part.rating.items():
        printed = told.get(word)
        if printed is not None and not _same(written, printed):
            sentence = (
                f'{_shown(word, written)} is written, but its marking "{part.marking}" tells '
                f"{_shown(word, printed)}; what is written is used, look at the part again"
            )
            yield word, sentence


# A pure function of two short texts: thousands of circuits are built of one record while a rework is sought.
@lru_cache(maxsize=512)
def marked_ratings(kind: str, marking: str) -> Mapping[str, float | str]:
    """What a marking tells of a part's ratings [SI]; only what every likely reading of it says alike.

    Empty where the marking tells none, is overlong or belongs to no such kind.
    """
    try:
        candidates = [one for one in decode(marking, kind=kind).candidates if one.kind == kind]
    except MarkingError:
        return EMPTY
    likely = [one for one in candidates if one.score >= _AS_GOOD * candidates[0].score]
    found: dict[str, float | str] = {}
    for word in (*RATING_UNITS, _CLASS):
        values = {one.more[word] for one in likely if word in one.more}
        value = values.pop() if len(values) == 1 else None
        fits = value in CAPACITOR_CLASSES if word == _CLASS else isinstance(value, float | int)
        if value is not None and fits and (kind, word) not in _NOT_A_RATING:
            found[word] = value
    return Table(found) if found else EMPTY


def _quantity(word: str) -> str:
    return _SAME.get(word, word)


def _same(written: float | str, printed: float | str) -> bool:
    if isinstance(written, str) or isinstance(printed, str):
        return written == printed
    return abs(written - printed) <= _ROUNDING * max(abs(written), abs(printed))


def _shown(word: str, value: float | str) -> str:
    if isinstance(value, str):
        return f"class {value}"
    return celsius(value) if word == "temperature" else engineering(value, RATING_UNITS[word])
