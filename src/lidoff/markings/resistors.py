"""Resistors marked with letters and digits: chips, letter code, EIA-96, current-sense forms, values written out.

Three digits are two significant ones and a power of ten [ohm], four are three and a power; R, K, M, G and L (milli)
stand for the decimal point (IEC 60062).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import OFF_SERIES, Tolerance, build, even, range_weight, series_weight, shown
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import CHIP_DIGITS, EIA_96, EIA_E24_PREFIX, RKM, RKM_RECALLED, Source
from lidoff.markings.tolerances import RESISTOR_LETTERS, tolerance_of
from lidoff.quantity import QuantityError, e_series, parse, percent, share

_SIZES: Final = ((0.1, 22e6), (0.0005, 1e9))
_SENSE_SIZES: Final = ((0.0005, 1.0), (0.0001, 10.0))
_LETTER_CODE: Final = re.compile(rf"(\d*)([RKMGLrkm])(\d*)([{RESISTOR_LETTERS}]?)")
_POWERS: Final = {"L": -3, "m": -3, "R": 0, "r": 0, "K": 3, "k": 3, "M": 6, "G": 9}
_MULTIPLIERS_96: Final = {
    "Z": -3,
    "Y": -2,
    "R": -2,
    "X": -1,
    "S": -1,
    "A": 0,
    "B": 1,
    "H": 1,
    "C": 2,
    "D": 3,
    "E": 4,
    "F": 5,
}
_MULTIPLIERS_24: Final = {"S": -2, "R": -1, "A": 0, "B": 1, "C": 2, "D": 3, "E": 4, "F": 5}
_ALSO_CURRENTS: Final = frozenset({"10", "12", "13", "15", "16", "20", "22", "27", "33", "47"})
_POWER_TEXT: Final = re.compile(r"(\d+(?:\.\d+)?|\d+/\d+)\s*W", re.IGNORECASE)


def decode_resistors(seen: Seen) -> list[Candidate]:
    """Every reading of letters and digits as a resistor."""
    return [
        *_digit_codes(seen),
        *_letter_codes(seen),
        *_sense_codes(seen),
        *_letter_e(seen),
        *_eia_96(seen),
        *_eia_prefix(seen),
        *_written_out(seen),
    ]


def _judged(
    value: float,
    score: float,
    source: Source,
    why: tuple[str, ...],
    tolerance: Tolerance | None = None,
    more: dict[str, object] | None = None,
    extra: str = "",
    sense: bool = False,
) -> Candidate:
    """A resistor with its series and size judged."""
    share_of = None if tolerance is None else tolerance.share(value)
    series, series_reason = series_weight(value, share_of, usual=96)
    if sense and series < 0.5 and float(f"{value:.1e}") == value:
        # Shunts are made in round milliohms (2, 5, 50 mΩ) beside the E series.
        series, series_reason = 0.8, "a round value such as shunts are made in"
    size, size_reason = range_weight(value, *(_SENSE_SIZES if sense else _SIZES))
    return build(
        "resistor",
        value,
        source=source,
        score=score * series * size,
        why=(*why, f"{shown(value, 'ohm')} is {series_reason}", size_reason),
        tolerance=tolerance,
        more=more,
        extra=extra,
        off_list=series == OFF_SERIES,
    )


def _digit_codes(seen: Seen) -> Iterator[Candidate]:
    code = seen.compact
    if re.fullmatch(r"0{1,4}", code):
        score = 0.9 if code != "00" else 0.5
        yield build(
            "resistor", 0.0, source=CHIP_DIGITS, score=score, why=("noughts mark a link of zero ohms",), text="0 Ω link"
        )
    elif re.fullmatch(r"[1-9]\d\d", code):
        why = ("three digits: two and a power of ten; 5 % is usual for them, not marked",)
        value = float(f"{code[:2]}e{code[2]}")
        if code[2] in "89":
            return
        yield _judged(value, 0.5, CHIP_DIGITS, why, even(0.05), {"tolerance_from": "usual"})
    elif re.fullmatch(r"[1-9]\d{3}", code) and code[3] not in "89":
        why = ("four digits: three and a power of ten; 1 % is usual for them, not marked",)
        value = float(f"{code[:3]}e{code[3]}")
        yield _judged(value, 0.7, CHIP_DIGITS, why, even(0.01), {"tolerance_from": "usual"})


def _letter_codes(seen: Seen) -> Iterator[Candidate]:
    match = _LETTER_CODE.fullmatch(seen.compact)
    if match is None or not (match[1] or match[3]):
        return
    whole, letter, part, tail = match[1], match[2], match[3], match[4]
    if letter in "Lm" or (letter == "M" and not whole):
        # The milliohm forms, and "M47" with nothing before it, are judged as current-sense codes or are rare.
        weight, source = 0.25, RKM_RECALLED
    else:
        weight, source = 0.9, RKM
    value = float(f"{whole or '0'}.{part or '0'}e{_POWERS[letter]}")
    if value == 0:
        yield build("resistor", 0.0, source=RKM, score=0.9, why=("a link of zero ohms",), text="0 Ω link")
        return
    if letter == "r":
        weight *= 0.7
    if not part and len(whole) >= 3 and letter in "KM" and not whole.endswith("0"):
        weight *= 0.3
    tolerance = tolerance_of(tail) if tail else None
    why = (f"letter code: {letter} stands for the decimal point", f"{tail} is {tolerance.text()}" if tolerance else "")
    yield _judged(value, weight, source, why, tolerance, sense=value < 1.0)


def _sense_codes(seen: Seen) -> Iterator[Candidate]:
    """Shunts whose M is milli: "5M00", "3M0" (common practice), against the megohms of the letter code."""
    match = re.fullmatch(r"(\d{1,2})M(\d{1,2})", seen.compact)
    if match:
        value = float(f"{match[1]}.{match[2]}e-3")
        if value:
            why = ("on a low, wide chip M can stand for milliohms (common practice)",)
            score = 0.35 if len(seen.compact) == 4 and len(match[2]) == 2 else 0.08
            yield _judged(value, score, RKM_RECALLED, why, sense=True)
    match = re.fullmatch(r"(\d+)(?:mR|mΩ|mOhm|MR)", seen.compact)
    if match and int(match[1]):
        yield _judged(float(f"{match[1]}e-3"), 0.9, RKM_RECALLED, ("written in milliohms",), sense=True)


def _letter_e(seen: Seen) -> Iterator[Candidate]:
    """E in place of R, as some prints and drawings have it: "10E", "4E7"."""
    match = re.fullmatch(r"(\d+)E(\d*)", seen.compact)
    value = float(f"{match[1]}.{match[2] or '0'}") if match else 0.0
    if value:
        yield _judged(value, 0.2, RKM_RECALLED, ("E in place of R for ohms (common practice)",))


def _eia_96(seen: Seen) -> Iterator[Candidate]:
    match = re.fullmatch(r"(\d\d)([A-FHRSXYZ])", seen.compact)
    if match is None or not 1 <= int(match[1]) <= 96:
        return
    index, letter = int(match[1]), match[2]
    value = float(f"{e_series(96)[index - 1]}e{_MULTIPLIERS_96[letter]}")
    why = (f"EIA-96: {match[1]} is {e_series(96)[index - 1]}, {letter} is ×10^{_MULTIPLIERS_96[letter]}",)
    # Written like a current, a voltage or a plain letter code, it is rarely an EIA-96 chip.
    like_others = letter == "R" or (letter in "AF" and match[1] in _ALSO_CURRENTS)
    score = 0.4 if like_others else 0.85
    yield _judged(value, score, EIA_96, why, even(0.01))


def _eia_prefix(seen: Seen) -> Iterator[Candidate]:
    """The letter-first code: 01 to 24 is 2 %, 25 to 48 is 5 %, 49 to 60 is 10 % (E12)."""
    match = re.fullmatch(r"([A-FRS])(\d\d)", seen.compact)
    if match is None or not 1 <= int(match[2]) <= 60:
        return
    index = int(match[2]) - 1
    members, start, share_of = ((24, 0, 0.02), (24, 24, 0.05), (12, 48, 0.10))[min(index // 24, 2)]
    digits = e_series(members)[index - start]
    value = float(f"{digits}e{_MULTIPLIERS_24[match[1]] + 1}")
    score = 0.05 if match[1] == "R" else 0.3
    why = (f"letter-first chip code: {match[2]} is {digits * 10} at {percent(share_of)}, {match[1]} the multiplier",)
    yield _judged(value, score, EIA_E24_PREFIX, why, even(share_of))


def _written_out(seen: Seen) -> Iterator[Candidate]:
    """Values with their unit, tolerance and power: "10 ohm 5W", "5W10RJ", "4.7kΩ 5% 1/4W"."""
    text = seen.text
    more: dict[str, object] = {}
    extra = ""
    power = _POWER_TEXT.search(text)
    if power:
        more["power"] = parse(f"{power[1]} W", "W")
        extra = shown(parse(f"{power[1]} W", "W"), "W")
        text = f"{text[: power.start()]} {text[power.end() :]}".strip()
    tolerance: Tolerance | None = None
    marked = re.search(r"±?\s*(\d+(?:\.\d+)?)\s*%", text)
    if marked:
        tolerance = even(share(f"{marked[1]} %"))
        text = f"{text[: marked.start()]} {text[marked.end() :]}".strip()
    text = text.strip(" ,;/±")
    if not text or not re.search(r"\d", text):
        return
    compact = text.replace(" ", "")
    letter = re.fullmatch(rf"(.*(?:Ω|ohms?|[RKMk]\d*))([{RESISTOR_LETTERS}])", compact, re.IGNORECASE)
    if letter and tolerance is None and letter[2].upper() in RESISTOR_LETTERS and _is_value(letter[1]):
        tolerance = tolerance_of(letter[2].upper())
        compact = letter[1]
    plain_letter_code = not power and not marked and _LETTER_CODE.fullmatch(seen.compact) is not None
    if plain_letter_code or re.fullmatch(r"\d+[eE]\d+", compact) or not _is_value(compact):
        return
    value = parse(compact, "ohm")
    if value < 1e-5 or (re.fullmatch(r"[\d.,]+", compact) and not power):
        return
    # A number with watts and no unit ("2W10") may as well be a type number.
    score = 0.3 if re.fullmatch(r"[\d.,]+", compact) else 0.95
    why = ("written out in ohms", f"with its power, {extra}" if extra else "")
    yield _judged(value, score, RKM, why, tolerance, more, extra, sense=value < 1.0)


def _is_value(text: str) -> bool:
    try:
        parse(text, "ohm")
    except QuantityError:
        return False
    return True
