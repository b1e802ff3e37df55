"""Inductors and chokes: three digits or letter code in microhenries, nanohenries with N, values written out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import OFF_SERIES, Tolerance, build, even, range_weight, series_weight, shown
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import INDUCTOR_DIGITS, RKM, Source
from lidoff.markings.tolerances import INDUCTOR_LETTERS, tolerance_of
from lidoff.quantity import share

_SIZES: Final = ((1e-9, 100e-3), (0.1e-9, 10.0))
_WRITTEN: Final = re.compile(
    r"(?:L\s*=\s*)?(\d*\.?\d+)\s*(n|u|m|N|U)?H\s*([FGHJKMN](?![A-Za-z]))?\s*(?:(\d*\.?\d+)\s*(m?)A)?", re.IGNORECASE
)


def decode_inductors(seen: Seen) -> list[Candidate]:
    """Every reading of letters and digits as an inductor."""
    return [*_codes(seen), *_written_out(seen)]


def _judged(
    value: float,
    score: float,
    source: Source,
    why: tuple[str, ...],
    tolerance: Tolerance | None = None,
    more: dict[str, object] | None = None,
    extra: str = "",
) -> Candidate:
    series, series_reason = series_weight(value, None)
    size, size_reason = range_weight(value, *_SIZES)
    return build(
        "inductor",
        value,
        source=source,
        score=score * series * size,
        why=(*why, f"{shown(value, 'H')} is {series_reason}", size_reason),
        tolerance=tolerance,
        more=more,
        extra=extra,
        off_list=series == OFF_SERIES,
    )


def _codes(seen: Seen) -> Iterator[Candidate]:
    code = seen.compact
    match = re.fullmatch(rf"([1-9]\d)(\d)([{INDUCTOR_LETTERS}])?", code)
    if match and match[2] not in "789":
        value = float(f"{match[1]}e{int(match[2]) - 6}")
        tolerance = tolerance_of(match[3]) if match[3] else None
        why = (f"three digits: {match[1]} ×10^{match[2]} µH", f"{match[3]} is {tolerance.text()}" if tolerance else "")
        yield _judged(value, 0.15, INDUCTOR_DIGITS, why, tolerance)
    match = re.fullmatch(rf"(\d{{0,3}})(R|N)(\d{{0,2}})([{INDUCTOR_LETTERS}])?", code)
    if match and (match[1] or match[3]) and match[1] != "0":
        power = -6 if match[2] == "R" else -9
        value = float(f"{match[1] or '0'}.{match[3] or '0'}e{power}")
        if value:
            tolerance = tolerance_of(match[4]) if match[4] else None
            unit = "microhenries" if match[2] == "R" else "nanohenries"
            yield _judged(value, 0.2 if match[2] == "R" else 0.06, INDUCTOR_DIGITS, (f"in {unit}",), tolerance)
    match = re.fullmatch(r"(\d+)([num])(\d*)([FGJKMN])?", code)
    if match:
        value = float(f"{match[1]}.{match[3] or '0'}e{ {'n': -9, 'u': -6, 'm': -3}[match[2]] }")
        if value:
            tolerance = tolerance_of(match[4]) if match[4] else None
            score = {"n": 0.05, "u": 0.2, "m": 0.4}[match[2]]
            yield _judged(value, score, RKM, (f"letter code: {match[2]} stands for the decimal point",), tolerance)


def _written_out(seen: Seen) -> Iterator[Candidate]:
    match = _WRITTEN.search(seen.text)
    if match is None or float(match[1]) == 0 or re.match(r"\s*z", seen.text[match.end() :], re.IGNORECASE):
        return
    power = {"n": -9, "u": -6, "m": -3, "": 0}[(match[2] or "").lower()]
    more: dict[str, object] = {}
    extra = ""
    if match[4]:
        current = float(f"{match[4]}e{-3 if match[5] else 0}")
        more["current"] = current
        extra = shown(current, "A")
    tolerance = tolerance_of(match[3].upper()) if match[3] else None
    marked = re.search(r"±?\s*(\d+(?:\.\d+)?)\s*%", seen.text)
    text = seen.text
    if marked and tolerance is None and marked.start() >= match.end():
        tolerance = even(share(f"{marked[1]} %"))
        text = f"{text[: marked.start()]} {text[marked.end() :]}"
    rest = f"{text[: match.start()]} {text[match.end() :]}".strip()
    # An H within a word, as in a breaking-capacity letter or a cord code, is not a henry.
    alone = re.fullmatch(r"[A-Za-z]*[\d.]*\s*", rest) is not None
    if match[2] is None and rest:
        return
    score = 0.95 if alone else 0.5
    why = ("written out in henries", f"not made out: {rest}" if rest else "")
    yield _judged(float(f"{match[1]}e{power}"), score, RKM, why, tolerance, more, extra)
