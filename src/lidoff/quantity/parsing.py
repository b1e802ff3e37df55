"""From what people write to SI floats.

Accepted: IEC 60062 notation, in which the unit letter or prefix stands in place of the decimal point ("4k7", "R47");
the SI with a prefix ("4.7 µF"); bare numbers, which are in SI units. A decimal comma is accepted where it cannot be
meant as a thousands separator. Arithmetic is decimal, so that "4.7 uF" is exactly the float 4.7e-6.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from lidoff.quantity.errors import QuantityError
from lidoff.quantity.units import PREFIXES, UNITS, Unit

_LONGEST: Final = 60
_NUMBER: Final = re.compile(r"(?P<sign>[+-]?)\s*(?P<digits>\d[\d.,' ]*|\.\d+)(?P<exponent>[eE][+-]?\d{1,3}(?![\d.,]))?")
_POWER: Final = re.compile(r"(?<=\d)\s*[×·]\s*10([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})")  # as `engineering` writes it
_LOWERED: Final = str.maketrans("⁺⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "+-0123456789")
_MARKED: Final = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?P<mark>[^\W\d_])(?P<part>\d+)(?P<tail>\D*)")
_FRACTION: Final = re.compile(r"(?P<top>\d{1,3})\s*[/⁄]\s*(?P<bottom>[1-9]\d{0,2})\s*(?P<tail>\D*)")
_ABOUT: Final = re.compile(r"(?:about|approximately|approx\.?|around|roughly|circa|ca\.?|c\.|~|≈|≃)\s*", re.IGNORECASE)
_OF_READING: Final = re.compile(r"\s*(?:of\s+)?(?:reading|rdg\.?|the reading)$", re.IGNORECASE)
_DIGITS_TERM: Final = re.compile(r"(?P<count>\d+(?:\.\d+)?)\s*(?:digits?|dgts?|counts?|lsd|d)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ReadValue:
    """A value as read off a meter.

    `value` [SI unit]; `digit` is the weight of the last digit written [same unit]; `doubt` the half-width by which
    "about" makes that digit doubtful [same unit], 0 where it was not said; `about` whether it was said.
    """

    value: float
    doubt: float
    digit: float
    about: bool


@dataclass(frozen=True, slots=True)
class _Exact:
    """A value and the weight of its last digit, still decimal."""

    value: Decimal
    digit: Decimal


def parse(value: str | int | float, unit: str, what: str = "") -> float:
    """The SI value of what somebody wrote, in `unit` (a key of `UNITS`).

    `what` names the quantity in messages; left out, it is the unit's own ("power" for watts). Temperatures written
    in degrees Celsius become kelvins. Raises QuantityError for anything that is not one finite value of that unit.
    Source of the notation: IEC 60062, letter codes (RKM); SI brochure for prefixes.
    """
    return _float(_exact(value, _unit(unit), what).value, value)


def parse_reading(value: str | int | float, unit: str, what: str = "") -> ReadValue:
    """A value as read off a meter, with the weight of its last digit [same unit].

    "about 8 W" (or "~8 W", "ca. 8 W") makes the last digit doubtful by one either way: a rule of this program, for
    which there is no source. Raises QuantityError as `parse` does.
    """
    about = False
    written = value
    if isinstance(value, str):
        text = value.strip()
        match = _ABOUT.match(text)
        if match:
            about = True
            written = text[match.end() :]
    exact = _exact(written, _unit(unit), what)
    digit = _float(exact.digit, value)
    return ReadValue(value=_float(exact.value, value), doubt=digit if about else 0.0, digit=digit, about=about)


def share(value: str | int | float) -> float:
    """A share of one: "10 %" and 0.1 are both 0.1.

    Raises QuantityError for a negative share and for a bare number above one, which is nearly always a percentage
    that lost its sign.
    """
    written = value
    percent = False
    if isinstance(value, str):
        text = value.strip().removeprefix("±").removeprefix("+/-").strip()
        percent = "%" in text or "percent" in text or "‰" in text
        written = text
    result = _float(_exact(written, UNITS[""], "share").value, value)
    if result < 0:
        raise QuantityError(f"{_quoted(value)} is negative; a share such as 0.1 or 10 % is expected")
    if result > 1 and not percent:
        raise QuantityError(
            f'{_quoted(value)} as a share would be {result * 100:g} %; write "{result:g} %" if meant so'
        )
    return result


def parse_accuracy(
    value: str | int | float, unit: str, what: str = "", resolution: float | None = None
) -> tuple[float, float, bool]:
    """A meter's accuracy as (share of reading, floor [unit], normal).

    Written as terms joined by "+": "1 % + 0.2 W", "2 %", "0.02", "5 mA", "0.8 % + 3 digits". A percentage is a share
    of the reading, anything else a floor in the reading's unit; digits are counts of `resolution` [unit]. A final
    "normal" says that the limits are of a normal distribution at 95 %, not of a rectangular one.
    Raises QuantityError where a term cannot be read, is negative, or counts digits without a resolution.
    """
    if not isinstance(value, str):
        return 0.0, _not_negative(parse(value, unit, what), value), False
    text = _normal_form(value, value).removeprefix("±").removeprefix("+/-").strip(" ()")
    normal = False
    for word in ("normal", "(normal", "95 %", "k=2"):
        if text.lower().endswith(word):
            normal = True
            text = text[: -len(word)].rstrip(" ,;(")
            break
    total_share = 0.0
    floor = 0.0
    for piece in text.split("+"):
        term = _OF_READING.sub("", piece.strip(" ()±")).strip()
        counted = _DIGITS_TERM.fullmatch(term)
        if counted:
            if resolution is None:
                raise QuantityError(
                    f"{_quoted(value)} counts digits; give the meter's resolution beside it, or a value"
                )
            floor += float(counted["count"]) * resolution
        elif term.endswith("%"):
            total_share += _not_negative(share(term), value)
        elif term:
            floor += _not_negative(parse(term, unit, what) - _zero_of(term, unit), value)
        else:
            raise QuantityError(f'{_quoted(value)} is not an accuracy; write it as "1 % + {UNITS[unit].example}"')
    return total_share, floor, normal


def _zero_of(term: str, unit: str) -> float:
    """What the zero of a term's own scale is worth [unit]: "2 °C" as an accuracy is two degrees, not 275 kelvins."""
    tail = term.lstrip("0123456789.,+- ")
    matched = match_tail(tail, UNITS[unit])
    return float(matched[1]) if matched is not None else 0.0


def match_tail(tail: str, unit: Unit) -> tuple[Decimal, Decimal] | None:
    """Factor and addition that `tail` (prefix and unit, as written behind a number) stands for, or None."""
    compact = tail.replace(" ", "").rstrip(".")
    folded = compact.casefold()
    if folded in unit.offset:
        return unit.offset[folded]
    if not compact or compact in unit.written:
        return Decimal(1), Decimal(0)
    if folded in unit.whole:
        return unit.whole[folded], Decimal(0)
    for name in unit.written:
        # Long names are read in any case; one or two letters only as written, because there case carries meaning.
        fits = compact.endswith(name) if len(name) < 3 else folded.endswith(name.casefold())
        prefix = compact[: len(compact) - len(name)]
        if fits and name and (not prefix or prefix in _prefixes(unit)):
            return (Decimal(1).scaleb(PREFIXES[prefix]) if prefix else Decimal(1)), Decimal(0)
    if unit.bare_prefix and compact in _prefixes(unit):
        return Decimal(1).scaleb(PREFIXES[compact]), Decimal(0)
    return None


def _prefixes(unit: Unit) -> tuple[str, ...]:
    return tuple(unit.prefixes)


def _unit(symbol: str) -> Unit:
    unit = UNITS.get(symbol)
    if unit is None:
        raise QuantityError(f'"{symbol}" is not a unit this program knows; known are {", ".join(filter(None, UNITS))}')
    return unit


def _exact(value: str | int | float, unit: Unit, what: str) -> _Exact:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise QuantityError(f"{_quoted(value)} is not a value; {_expected(unit, what)}")
    if not isinstance(value, str):
        if not math.isfinite(value):
            raise QuantityError(f"{value} is not a finite number; {_expected(unit, what)}")
        number = Decimal(value) if isinstance(value, int) else Decimal(repr(float(value)))
        return _Exact(number, _last_digit(number))
    text = _normal_form(value, value)
    if not text:
        raise QuantityError(f"the value is empty; {_expected(unit, what)}")
    return _marked(text, unit) or _fraction(text, unit) or _plain(text, value, unit, what)


def _marked(text: str, unit: Unit) -> _Exact | None:
    """IEC 60062: a letter in place of the decimal point ("4k7", "R47", "3V3"), or None where it is not that."""
    match = _MARKED.fullmatch(text)
    if match is None:
        return None
    mark = match["mark"]
    if mark in unit.marks:
        power = 0
    elif unit.bare_prefix and mark in unit.prefixes:
        power = PREFIXES[mark]
    else:
        return None
    tail = match["tail"].strip()
    if tail and tail not in unit.written:
        return None
    number = Decimal(f"{match['sign']}{match['whole'] or '0'}.{match['part']}")
    return _Exact(number.scaleb(power), _last_digit(number).scaleb(power))


def _fraction(text: str, unit: Unit) -> _Exact | None:
    """The form "1/4 W", as resistor ratings are spoken of; exact, so its last digit weighs nothing."""
    match = _FRACTION.fullmatch(text) if unit.symbol in ("W", "m") else None
    found = match_tail(match["tail"], unit) if match else None
    if match is None or found is None:
        return None
    return _Exact(Decimal(match["top"]) / Decimal(match["bottom"]) * found[0], Decimal(0))


def _plain(text: str, value: str, unit: Unit, what: str) -> _Exact:
    """A number, then what unit and prefix it is in."""
    match = _NUMBER.match(text)
    if match is None:
        raise QuantityError(f"{_quoted(value)} is not a {_name(unit, what)}; {_expected(unit, what)}")
    number = Decimal(match["sign"] + _plain_digits(match["digits"], value) + (match["exponent"] or ""))
    tail = text[match.end() :].strip()
    found = match_tail(tail, unit)
    if found is None:
        raise QuantityError(_wrong_tail(tail, value, unit, what))
    factor, addition = found
    return _Exact(number * factor + addition, _last_digit(number) * factor)


def _plain_digits(digits: str, value: str) -> str:
    """Digits with a dot for the decimal point and no separators; refuses what can be read in two ways."""
    text = digits.strip()
    grouped = re.fullmatch(r"(\d{1,3})(?:([' ])\d{3})(?:\2\d{3})*(?:[.,]\d+)?", text)
    if grouped:
        text = text.replace(grouped[2], "")
    if re.fullmatch(r"\d*(?:\.\d*)?", text) and text != ".":
        return text
    if re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+\.\d+", text):
        return text.replace(",", "")
    if re.fullmatch(r"[1-9]\d{0,2}(?:\.\d{3})+,\d+", text):
        return text.replace(".", "").replace(",", ".")
    if re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+", text):
        if text.count(",") == 1:
            raise QuantityError(
                f"{_quoted(value)} can be read as {text.replace(',', '.')} or as {text.replace(',', '')}; "
                "write it without the comma"
            )
        return text.replace(",", "")
    if re.fullmatch(r"\d+,\d+", text):
        return text.replace(",", ".")
    raise QuantityError(f"{_quoted(value)} does not hold one number; write it with digits and one decimal point")


def _wrong_tail(tail: str, value: str, unit: Unit, what: str) -> str:
    """The sentence for a number whose unit or prefix does not fit."""
    for other in UNITS.values():
        if other is not unit and other.symbol and match_tail(tail, other) is not None:
            return f"{_quoted(value)} is in {other.plural}; {_expected(unit, what)}"
    if unit.bare_prefix and any(tail == "M" + name for name in unit.written):
        return f"{_quoted(value)} has the prefix M, which is mega (milli is m, micro u); {_expected(unit, what)}"
    if "%" in tail or "±" in tail:
        return f"{_quoted(value)} holds a tolerance; write that in its own key and the value alone here"
    return f'"{tail}" in {_quoted(value)} is not a unit of {_name(unit, what)}; {_expected(unit, what)}'


def _name(unit: Unit, what: str) -> str:
    return what or unit.quantity


def _expected(unit: Unit, what: str) -> str:
    if not unit.symbol:
        return f"{_name(unit, what)} is expected, such as {unit.example}"
    return f"{_name(unit, what)} is expected in {unit.plural} ({unit.shown}), such as {unit.example}"


def _normal_form(text: str, value: object) -> str:
    """One spelling for each sign: full-width digits, ohm and micro signs, minus signs, no-break spaces."""
    if len(text) > _LONGEST:
        raise QuantityError(f"{_quoted(value)} is too long for one value; at most {_LONGEST} characters are read")
    text = _POWER.sub(lambda found: f"e{found[1].translate(_LOWERED)}", text)
    folded = unicodedata.normalize("NFKC", text.replace("²", "2").replace("℧", "?"))
    folded = folded.replace("\N{MINUS SIGN}", "-").replace("\N{EN DASH}", "-")
    return re.sub(r"\s+", " ", folded).strip()


def _last_digit(number: Decimal) -> Decimal:
    exponent = number.as_tuple().exponent
    return Decimal(1).scaleb(exponent) if isinstance(exponent, int) else Decimal(0)


def _float(number: Decimal, value: object) -> float:
    result = float(number)
    if not math.isfinite(result):
        raise QuantityError(f"{_quoted(value)} is too large to be a value")
    return result


def _not_negative(number: float, value: object) -> float:
    if number < 0:
        raise QuantityError(f"{_quoted(value)} is negative; an accuracy is a width and cannot be")
    return number


def _quoted(value: object) -> str:
    text = str(value)
    return f'"{text[:_LONGEST]}…"' if len(text) > _LONGEST else (f'"{text}"' if isinstance(value, str) else text)
