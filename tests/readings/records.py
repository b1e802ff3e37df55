"""Records in an invented scenario, put together piece by piece for the tests of readings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import lidoff
from lidoff.record import Item

STRIP = """
[[part]]
ref = "R1"
kind = "resistor"
value = "1k5"
tolerance = "5 %"
nodes = ["x", "m"]
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" }
[[part]]
ref = "LED1"
kind = "led"
series = 72
forward_voltage = "2.9 V"
nodes = { anode = "p", cathode = "x" }
"""
HEATER = """
[[part]]
ref = "R1"
kind = "resistor"
value = "529R"
tolerance = "2 %"
nodes = ["live", "neutral"]
"""
CHARGER = """
[[part]]
ref = "R1"
kind = "resistor"
value = "10R"
nodes = ["live", "a"]
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" }
[[part]]
ref = "C1"
kind = "capacitor"
value = "4u7"
nodes = ["p", "m"]
[[part]]
ref = "U1"
kind = "converter"
power = "6 W"
nodes = { plus = "p", minus = "m" }
"""
HALF_WAVE = """
[[part]]
ref = "D1"
kind = "diode"
nodes = { anode = "live", cathode = "a" }
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["a", "neutral"]
"""
METERS = """
[[meter]]
name = "plug-in meter"
kind = "power-meter"
resolution = { power = "0.1 W" }
[meter.accuracy]
power = "1 % + 0.2 W"
current = "1 % + 1 mA"
power_factor = "0.02"
voltage = "1 %"
apparent_power = "1 %"
[[meter]]
name = "old meter"
kind = "multimeter-average"
accuracy = { current = "1 % + 0.1 mA", voltage = "1 %" }
[[meter]]
name = "hand meter"
kind = "multimeter-true-rms"
accuracy = { current = "1 %", voltage = "1 %", voltage_dc = "0.5 %", resistance = "1 %", capacitance = "4 %" }
[[meter]]
name = "clamp"
kind = "clamp"
accuracy = { current = "1 %" }
"""
MEASURED = '[[state]]\nname = "full"\nsupply = { voltage = "240 V", measured = true }\n'
UNREAD = '[[state]]\nname = "unread"\n'


def toml(value: Any) -> str:
    """A value as TOML."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml(one) for one in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else repr(value)


def reading(
    quantity: str, value: str, meter: str | None = "plug-in meter", state: str | None = "full", **more: Any
) -> str:
    """One [[reading]]."""
    held = {"quantity": quantity, "value": value, "meter": meter, "state": state, **more}
    rows = [f"{key} = {toml(entry)}" for key, entry in held.items() if entry is not None]
    return "\n".join(["[[reading]]", *rows, ""])


def item_of(folder: Path, *pieces: str, parts: str = STRIP, states: str = MEASURED + UNREAD, head: str = "") -> Item:
    """A record of those parts, states and readings, opened."""
    text = "\n".join(
        ["lidoff = 1", '[item]\ntitle = "Bench light"\nregion = "GB"', head, parts, states, METERS, *pieces]
    )
    file = folder / "item.toml"
    file.write_text(text, encoding="utf-8")
    return lidoff.open(file)
