"""What is written beside a part: its reference designator, its value in letter code, and how many there are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from lidoff.quantity import iec60062, with_interval

if TYPE_CHECKING:
    from lidoff.circuit import Circuit, Element

# Letters for the speed of a fuse: IEC 60127-1, marking of fuse-links (from memory).
_SPEEDS: Final[Mapping[str, str]] = MappingProxyType(
    {"very quick": "FF", "quick": "F", "medium": "M", "slow": "T", "very slow": "TT"}
)


def short_ref(ref: str) -> str:
    """The designator without the name of its block."""
    return ref.rpartition("/")[2]


def value_text(element: Element) -> str:
    """The value as it is written on a schematic: "4k7", "330n", "T1.6A"; "?" where it is to be found, "" for none."""
    if element.kind in _WORDS:
        key, words = _WORDS[element.kind]
        if key in element.unknown:
            return "?"
        return words(element) if key in element.values else ""
    return ""


def _coded(key: str, unit: str) -> tuple[str, Callable[[Element], str]]:
    def words(element: Element) -> str:
        value = element.number(key)
        return iec60062(float(f"{value:.4g}"), unit) if value >= 0.0 else ""

    return key, words


def _farads(element: Element) -> str:
    """Large electrolytics are written in microfarads, as they are marked: 1000u, not 1m."""
    value = float(f"{element.number('value'):.4g}")
    return f"{1e6 * value:.6g}u" if 1e-3 <= value < 0.1 else iec60062(value, "F")


def _amount(key: str, unit: str) -> tuple[str, Callable[[Element], str]]:
    return key, lambda element: with_interval(float(f"{element.number(key):.3g}"), 0.0, unit)


def _fuse(element: Element) -> str:
    letter = _SPEEDS.get(str(element.values.get("speed", "")), "")
    return letter + with_interval(element.number("rating"), 0.0, "A").replace(" ", "")


def _leds(element: Element) -> str:
    series, parallel = element.number("series"), element.number("parallel")
    if series == parallel == 1.0:
        return ""
    return f"{series:g} × {parallel:g} LEDs" if parallel > 1.0 else f"{series:g} LEDs"


def _ratio(element: Element) -> str:
    return f"{element.number('ratio'):.3g} : 1"


_WORDS: Final[Mapping[str, tuple[str, Callable[[Element], str]]]] = MappingProxyType(
    {
        "resistor": _coded("value", "ohm"),
        "capacitor": ("value", _farads),
        "inductor": _coded("value", "H"),
        "choke": _coded("value", "H"),
        "potentiometer": _coded("value", "ohm"),
        "fuse": ("rating", _fuse),
        "led": ("series", _leds),
        "zener": _coded("voltage", "V"),
        "varistor": _coded("voltage", "V"),
        "diac": _amount("breakover", "V"),
        "regulator": _amount("limit", "A"),
        "converter": _amount("power", "W"),
        "thermistor": _coded("cold", "ohm"),
        "lamp": _amount("power", "W"),
        "heater": _amount("power", "W"),
        "transformer": ("ratio", _ratio),
        "relay": _coded("resistance", "ohm"),
    }
)


def supply_text(circuit: Circuit) -> tuple[str, str]:
    """What feeds the circuit, in two short lines."""
    supply = circuit.supply
    if supply.dc is not None:
        limit = f"up to {with_interval(supply.limit, 0.0, 'A')}" if supply.limit is not None else ""
        return f"{with_interval(float(f'{supply.dc:.4g}'), 0.0, 'V')} dc", limit
    return with_interval(float(f"{supply.voltage:.4g}"), 0.0, "V"), f"{supply.frequency:g} Hz"
