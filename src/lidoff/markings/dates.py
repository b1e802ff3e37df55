"""Date codes: year and week, year and month, and the letters of IEC 60062."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import DATE_ISO, DATE_LETTERS, DATE_PRACTICE

# IEC 60062, 20-year cycle, from memory: A is 1990 and 2010; I, O, Q, Y and Z are not used, nor G.
YEAR_LETTERS: Final = "ABCDEFHJKLMNPRSTUVWX"
MONTH_SIGNS: Final = "123456789OND"
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_LATEST: Final = 2035


def decode_dates(seen: Seen) -> list[Candidate]:
    """Every reading of a text as a date of making."""
    return [*_digits(seen), *_letters(seen), *_written(seen)]


def _dated(year: int, part: str, number: int, score: float, why: str, source: object = DATE_PRACTICE) -> Candidate:
    text = f"{_MONTHS[number - 1]} {year}" if part == "month" else f"week {number} of {year}"
    return build(
        "date",
        None,
        source=source,  # type: ignore[arg-type]
        score=score,
        why=(why,),
        text=text,
        more={"year": year, part: number},
    )


def _digits(seen: Seen) -> Iterator[Candidate]:
    match = re.fullmatch(r"(?:W)?(\d\d)[W/]?(\d\d)", seen.upper)
    if match is None:
        return
    first, second = int(match[1]), int(match[2])
    plain = seen.upper.isdigit()
    for year, week, why in ((first, second, "year, then week"), (second, first, "week, then year")):
        full = 2000 + year if year <= _LATEST - 2000 else 1900 + year
        if 1 <= week <= 53 and (full >= 1975):
            later = why.startswith("week")
            if later and plain and 1 <= second <= 53 and first <= _LATEST - 2000:
                score = 0.05
            else:
                score = 0.12 if plain else 0.7
            yield _dated(full, "week", week, score, why)


def _letters(seen: Seen) -> Iterator[Candidate]:
    match = re.fullmatch(rf"([{YEAR_LETTERS}])([{MONTH_SIGNS}])", seen.compact)
    if match is None:
        return
    offset = YEAR_LETTERS.index(match[1])
    month = MONTH_SIGNS.index(match[2]) + 1
    years = [year for year in (1990 + offset, 2010 + offset) if year <= _LATEST]
    for year in years:
        score = 0.2 if year >= 2010 or len(years) == 1 else 0.12
        why = f"{match[1]} is {' or '.join(str(one) for one in years)}, {match[2]} is {_MONTHS[month - 1]}"
        yield _dated(year, "month", month, score, why, DATE_LETTERS)


def _written(seen: Seen) -> Iterator[Candidate]:
    match = re.fullmatch(r"(19[7-9]\d|20[0-3]\d)-?W(\d\d)", seen.upper)
    if match and 1 <= int(match[2]) <= 53:
        yield _dated(int(match[1]), "week", int(match[2]), 0.95, "year and week written out", DATE_ISO)
    match = re.fullmatch(r"(19[7-9]\d|20[0-3]\d)[-/.](\d{1,2})", seen.upper) or None
    if match and 1 <= int(match[2]) <= 12:
        yield _dated(int(match[1]), "month", int(match[2]), 0.9, "year and month written out", DATE_ISO)
    match = re.fullmatch(r"(\d{1,2})[-/.](19[7-9]\d|20[0-3]\d)", seen.upper)
    if match and 1 <= int(match[1]) <= 12:
        yield _dated(int(match[2]), "month", int(match[1]), 0.9, "month and year written out", DATE_ISO)
