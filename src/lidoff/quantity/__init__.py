"""Values with units as people write them, and as they are shown again.

Everything inside the program is a plain float in SI units; this room stands at the border. It reads what is written
on paper or in a record (`parse`, `parse_reading`, `parse_accuracy`, `share`), writes values for people
(`engineering`, `iec60062`, `with_interval`, `celsius`), and knows the preferred numbers of IEC 60063.
"""

from lidoff.quantity.errors import QuantityError
from lidoff.quantity.parsing import ReadValue, parse, parse_accuracy, parse_reading, share
from lidoff.quantity.series import E_SERIES, e_series, in_series, nearest
from lidoff.quantity.showing import celsius, engineering, iec60062, percent, with_interval
from lidoff.quantity.units import UNIT_OF_QUANTITY, UNITS, Unit
from lidoff.quantity.value import ORIGINS, Origin, Quantity

__all__ = [
    "E_SERIES",
    "ORIGINS",
    "UNITS",
    "UNIT_OF_QUANTITY",
    "Origin",
    "Quantity",
    "QuantityError",
    "ReadValue",
    "Unit",
    "celsius",
    "e_series",
    "engineering",
    "iec60062",
    "in_series",
    "nearest",
    "parse",
    "parse_accuracy",
    "parse_reading",
    "percent",
    "share",
    "with_interval",
]
