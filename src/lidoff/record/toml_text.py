"""From values to TOML text: keys, strings, numbers, lists, inline tables, and values with their units."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from lidoff.quantity import UNITS, QuantityError, iec60062, parse, share
from lidoff.quantity.units import PREFIXES

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_ESCAPES: Final = {"\\": "\\\\", '"': '\\"', "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}
_CONTROL: Final = re.compile(r'[\x00-\x1f\x7f"\\]')
# Longer numbers are a computed value to the last bit; they stand better as bare SI numbers.
_LONGEST_NUMBER: Final = 12
_SHORT_CODE: Final = 4


def key_text(key: str) -> str:
    """A key, between quotes where it needs them."""
    return key if _BARE.fullmatch(key) else string_text(key)


def string_text(text: str) -> str:
    """A string between double quotes on one line."""
    return '"' + _CONTROL.sub(lambda match: _ESCAPES.get(match[0], f"\\u{ord(match[0]):04x}"), text) + '"'


def value_text(value: Any) -> str:
    """Any value that TOML can hold, on one line.

    Raises TypeError for a value that it cannot.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return string_text(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{key_text(str(key))} = {value_text(held)}" for key, held in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, Sequence) and not isinstance(value, bytes):
        return f"[{', '.join(value_text(one) for one in value)}]"
    raise TypeError(f"a record cannot hold {value!r}")


def quantity_text(value: float, unit: str, *, interval: bool = False) -> str | float:
    """`value` [unit] as people write it, where that reads back as exactly the same number; else the number itself.

    `interval` says that it is a width, for which degrees Celsius would be wrong.
    """
    for text in _spellings(value, unit, interval):
        try:
            if parse(text, unit) == value:
                return text
        except QuantityError:
            continue
    return value


def share_text(value: float) -> str | float:
    """A share as a percentage, where that reads back as exactly the same number; else the number itself."""
    text = f"{plain(Decimal(repr(value)) * 100)} %"
    try:
        return text if len(text) <= _LONGEST_NUMBER + 2 and share(text) == value else value
    except QuantityError:
        return value


def plain(number: Decimal) -> str:
    """A number without exponent and without trailing zeros."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _spellings(value: float, unit: str, interval: bool) -> list[str]:
    """Ways to write the value, best first."""
    number = Decimal(repr(value)).normalize()
    known = UNITS[unit]
    written = {"ohm": "R", "": ""}.get(unit, known.symbol)
    if len(number.as_tuple().digits) > _LONGEST_NUMBER:
        return []
    found = []
    if unit in ("ohm", "F", "H") and value >= 0 and len(number.as_tuple().digits) <= _SHORT_CODE:
        found.append(iec60062(value, unit))
    if unit == "K" and not interval:
        found.append(f"{plain(number - Decimal('273.15'))} °C")
    if unit == "kg/m":
        found.append(f"{plain(number * 1000)} g/m")
    powers = {0: "", **{PREFIXES[prefix]: prefix for prefix in known.steps.replace("μ", "u")}}
    fitting = [power for power in sorted(powers) if abs(number) >= Decimal(1).scaleb(power)]
    power = fitting[-1] if fitting and number else 0
    found.append(f"{plain(number.scaleb(-power))} {powers[power]}{written}".strip())
    found.append(f"{plain(number)} {written}".strip())
    return [text for text in found if len(text) <= _LONGEST_NUMBER + 6]
