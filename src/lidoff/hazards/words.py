"""Numbers in sentences."""

from __future__ import annotations

from typing import Final

from lidoff.quantity import engineering

_FAR: Final = 1e9  # from which a row of zeros tells nobody anything


def plain(value: float) -> str:
    """A number to two significant digits, without a power of ten up to a thousand million: "1.2", "42", "930"."""
    if value == 0.0:
        return "0"
    if abs(value) >= _FAR:
        return engineering(value, "", 2)
    return f"{value:.2g}" if abs(value) < 10.0 else f"{float(f'{value:.2g}'):.0f}"
