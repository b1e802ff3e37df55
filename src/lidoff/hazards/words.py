"""Numbers in sentences."""

from __future__ import annotations


def plain(value: float) -> str:
    """A number to two significant digits, without a power of ten: "1.2", "42", "930"."""
    if value == 0.0:
        return "0"
    return f"{value:.2g}" if abs(value) < 10.0 else f"{float(f'{value:.2g}'):.0f}"
