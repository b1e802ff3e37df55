"""From SI floats to what people read.

What no prefix brings near to one is written with a power of ten, a multiple of three: "1.00 × 10³⁰⁰ Ω".

No figure is shown to more digits than its interval has at two significant figures (`with_interval`).
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from lidoff.quantity.errors import QuantityError
from lidoff.quantity.units import PREFIXES, UNITS, Unit

_LETTERS: Final = {
    "ohm": (("R", 0), ("k", 3), ("M", 6), ("G", 9), ("T", 12)),
    "F": (("p", -12), ("n", -9), ("u", -6), ("m", -3), ("F", 0)),
    "H": (("n", -9), ("u", -6), ("m", -3), ("H", 0)),
    "V": (("V", 0), ("k", 3)),
}
_EXACT_DIGITS: Final = 12
_FAR: Final = Decimal("1e9")  # times the largest prefix, or that part of the smallest, from which the power is written
_RAISED: Final = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_ICE: Final = Decimal("273.15")  # 0 degC [K] (SI Brochure, 9th ed., 2.3.1)


def engineering(value: float, unit: str, digits: int = 3) -> str:
    """`value` [unit] to `digits` significant figures with the SI prefix that suits: "4.70 kΩ", "53.5 mA".

    Raises QuantityError for an unknown unit or a value that is not finite.
    """
    known = _checked(unit, value)
    if value == 0:
        return _joined("0", "", known)
    rounded = _significant(value, digits)
    prefix, power = _step(rounded, known)
    scaled = rounded.scaleb(-power)
    return _joined(_fixed(scaled, digits - 1 - scaled.adjusted()), prefix, known)


def percent(fraction: float, digits: int = 2) -> str:
    """A share [none] as a percentage to `digits` significant figures, without trailing zeros: 0.05 is "5 %"."""
    if not math.isfinite(fraction):
        raise QuantityError(f"{fraction} is not a finite share")
    number = _significant(fraction * 100.0, digits) if fraction else Decimal(0)
    prefix, power = _step(number, UNITS[""])
    return _joined(_trimmed(number.scaleb(-power)), prefix, UNITS[""]) + " %"


def celsius(kelvin: float, digits: int = 3) -> str:
    """A temperature [K] in degrees Celsius to `digits` significant figures, tenths at the finest: 358.15 is "85 °C".

    Only for temperatures: a difference of two stays in kelvins, as no zero of a scale belongs to it (SI Brochure,
    9th ed., 2.3.1). Raises QuantityError for a temperature that is not finite.
    """
    if not math.isfinite(kelvin):
        raise QuantityError(f"{kelvin} is not a finite temperature")
    degrees = Decimal(repr(float(kelvin))) - _ICE
    if abs(degrees) >= _FAR:
        return f"{engineering(kelvin, '', digits)} °C"
    places = min(max(digits - 1 - degrees.adjusted(), 0), 1) if degrees else 0
    return f"{_trimmed(Decimal(_fixed(degrees, places)))} °C"


def iec60062(value: float, unit: str) -> str:
    """`value` in letter code: 4700 ohm is "4k7", 0.47 ohm "R47", 3.3e-7 F "330n".

    unit is "ohm", "F", "H" or "V". What no letter brings near to one is the bare number, "1e+30".
    Reading the text again with `parse` gives the same value to 12 figures.
    Raises QuantityError for another unit and for a value that is negative or not finite.
    Source: IEC 60062:2016, letter codes for values (RKM). The small k, and V and H as marks, are common practice.
    """
    if unit not in _LETTERS:
        raise QuantityError(f'there is no letter code for the unit "{unit}"; there is one for {", ".join(_LETTERS)}')
    if not math.isfinite(value) or value < 0:
        raise QuantityError(f"{value} has no letter code; a finite value from 0 up is expected")
    letters = _LETTERS[unit]
    if value == 0:
        return "0" + ("R" if unit == "ohm" else unit)
    number = _significant(value, _EXACT_DIGITS)
    if number >= _FAR.scaleb(letters[-1][1]):
        return f"{value:.{_EXACT_DIGITS}g}"
    letter, power = letters[0]
    for candidate, exponent in letters:
        if number >= Decimal(1).scaleb(exponent):
            letter, power = candidate, exponent
    whole, _, part = _trimmed(number.scaleb(-power)).partition(".")
    return f"{'' if whole == '0' else whole}{letter}{part}"


def with_interval(value: float, half_width: float, unit: str, *, show_interval: bool = True) -> str:
    """`value` ± `half_width` [both unit] with the interval at two significant figures: "11.42 ± 0.16 W".

    The value ends where the interval ends; with `show_interval` false only the value is shown, to the same digits.
    A half-width of 0 shows the value as it stands, to six figures at most.
    Raises QuantityError for a negative half-width, an unknown unit or numbers that are not finite.
    Source of the habit: JCGM 100:2008 (GUM), 7.2.6.
    """
    known = _checked(unit, value)
    if not math.isfinite(half_width) or half_width < 0:
        raise QuantityError(f"{half_width} is not the half-width of an interval; a finite number from 0 up is expected")
    if half_width == 0:
        exact = _significant(value, 6) if value else Decimal(0)
        prefix, power = _step(exact, known)
        return _joined(_trimmed(exact.scaleb(-power)), prefix, known)
    width = _significant(half_width, 2)
    prefix, power = _step(max(abs(_significant(value, 15)) if value else width, width), known)
    width = width.scaleb(-power)
    places = 1 - width.adjusted()
    shown = _fixed(Decimal(repr(float(value))).scaleb(-power), places)
    if not show_interval:
        return _joined(shown, prefix, known)
    both = f"{shown} ± {_fixed(width, places)}"
    return _joined(f"({both})" if prefix.startswith("×") else both, prefix, known)


def _checked(unit: str, value: float) -> Unit:
    if unit not in UNITS:
        raise QuantityError(f'"{unit}" is not a unit this program knows')
    if not math.isfinite(value):
        raise QuantityError(f"{value} is not a finite value")
    return UNITS[unit]


def _significant(value: float, digits: int) -> Decimal:
    """`value` rounded to that many significant figures, carried over where it rolls up (999.9 to 1.00e3)."""
    number = Decimal(repr(float(value)))
    if not number:
        return Decimal(0)
    return number.quantize(Decimal(1).scaleb(number.adjusted() - digits + 1), rounding=ROUND_HALF_EVEN)


def _step(number: Decimal, unit: Unit) -> tuple[str, int]:
    """Prefix and power of ten that bring the number to 1 … 999, as far as the unit has them."""
    if not number:
        return "", 0
    size = abs(number)
    powers = [PREFIXES[prefix] for prefix in unit.steps] or [0]
    if not Decimal(1).scaleb(min(0, *powers)) / _FAR <= size < Decimal(1).scaleb(max(0, *powers)) * _FAR:
        power = number.adjusted() // 3 * 3
        return f"× 10{str(power).translate(_RAISED)} ", power
    if not unit.steps:
        return "", 0
    powers = sorted({0, *(PREFIXES[prefix] for prefix in unit.steps)})
    names = {PREFIXES[prefix]: prefix for prefix in unit.steps}
    fitting = [power for power in powers if size >= Decimal(1).scaleb(power)]
    power = fitting[-1] if fitting else powers[0]
    return ("", 0) if power == 0 else (names[power].replace("μ", "µ"), power)


def _fixed(number: Decimal, places: int) -> str:
    """With that many decimals; a negative count rounds before the point and fills with zeros."""
    if places >= 0:
        text = f"{number:.{places}f}"
    else:
        text = f"{number.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN):f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def _trimmed(number: Decimal) -> str:
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _joined(number: str, prefix: str, unit: Unit) -> str:
    if unit.symbol == "deg":
        return f"{number} {prefix}".rstrip() + "°"
    return f"{number} {prefix}{unit.shown}".rstrip()
