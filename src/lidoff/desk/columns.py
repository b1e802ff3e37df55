"""The columns in which tables of a record are filled in: their keys, what they are called, what may be chosen."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from lidoff.quantity import UNIT_OF_QUANTITY, UNITS
from lidoff.record.measured import METER_KINDS

Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: the `key` it fills (dotted where it lies deeper), its label, and what may be chosen, if anything.

    `list` is the id of the page's list of suggestions; `as_` says how the text is taken ("list", "place"); `width` is
    a class of desk.css; a column that is `later` is filled in once the row is there.
    """

    key: str
    label: str
    options: Options = ()
    list: str = ""
    as_: str = ""
    width: str = ""
    placeholder: str = ""
    later: bool = False


def plain(words: Iterable[str]) -> Options:
    """Options that are called as they are."""
    return tuple((word, word) for word in words)


CLASSES: Final = (
    ("I", "I – earthed metal"),
    ("II", "II – double insulated"),
    ("III", "III – fed with extra-low voltage"),
)
REGIONS: Final = (("GB", "United Kingdom"), ("EU", "Europe"), ("US", "United States"))
KINDS_OF_ITEM: Final = plain(("luminaire", "appliance", "adapter", "dimmer", "other"))
NOTE: Final = Column(key="note", label="Note", width="wide")
SURFACES: Final = (
    Column(key="name", label="Which surface", placeholder="shade"),
    Column(key="reached", label="Reached", options=plain(("by hand", "test finger", "with a tool"))),
    Column(key="node", label="Joined to", list="nodes", placeholder="insulated"),
    NOTE,
)
WIRES: Final = (
    Column(key="ref", label="Name", width="short", placeholder="W1"),
    Column(key="print", label="Printed on it", placeholder="2x0.5mm2"),
    Column(key="length", label="Length", width="short", placeholder="1.4 m"),
    Column(key="core", label="Core", options=plain(("copper", "copper-clad aluminium"))),
    Column(key="resistance.value", label="Resistance of one core", placeholder="0.11 R", later=True),
    Column(key="strands", label="Strands", width="short", placeholder="16"),
    Column(key="strand_diameter", label="Strand", width="short", placeholder="0.2 mm"),
    Column(key="mass", label="Mass of a bare core", placeholder="4.5 g/m"),
    NOTE,
)
GAPS: Final = (
    Column(key="between", label="Between", as_="place", list="nodes", placeholder="live and surface:shade"),
    Column(key="clearance", label="Through air", width="short", placeholder="2.4 mm"),
    Column(key="creepage", label="Along the surface", width="short", placeholder="3.1 mm"),
    Column(key="insulation", label="Insulation", options=plain(("functional", "basic", "supplementary", "reinforced"))),
    NOTE,
)
_COMMON: Final = (
    "power",
    "current",
    "voltage",
    "power_factor",
    "apparent_power",
    "voltage_dc",
    "current_dc",
    "voltage_ac",
    "percent_flicker",
    "resistance",
    "capacitance",
    "diode_test",
    "temperature",
    "frequency",
)
UNPOWERED: Final = frozenset({"resistance", "capacitance", "inductance", "diode_test", "insulation_resistance"})
"""Quantities that are read with the plug out."""
QUANTITIES: Final = tuple(
    (name, name.replace("_", " "))
    for name in (*(one for one in _COMMON if one in UNIT_OF_QUANTITY), *sorted(set(UNIT_OF_QUANTITY) - set(_COMMON)))
)
METERS: Final = (
    Column(key="name", label="Name", placeholder="plug-in meter"),
    Column(key="kind", label="What it is", options=plain(METER_KINDS)),
)
STATES: Final = (
    Column(key="name", label="State", placeholder="full"),
    Column(key="supply.voltage", label="Mains measured then", width="short", placeholder="236 V"),
    Column(key="minutes_on", label="Minutes on", width="short", placeholder="20"),
    NOTE,
)


RECORDINGS: Final = (
    Column(key="file", label="File", list="samples", placeholder="recordings/clamp.csv"),
    Column(key="columns.time", label="Column of time", width="short", placeholder="t"),
    Column(key="columns.voltage", label="of volts", width="short", placeholder="CH1"),
    Column(key="columns.current", label="of amperes", width="short", placeholder="CH2"),
)
_BARE: Final = re.compile(r"[-+]?\d+(?:[.,]\d+)?")


def taken_as(quantity: object, value: object) -> str:
    """What a number without a unit is taken as, "" where a value has one or needs none."""
    unit = UNIT_OF_QUANTITY.get(str(quantity), "")
    if unit in ("", "%") or unit not in UNITS or not _BARE.fullmatch(str(value).strip()):
        return ""
    return f"Taken as {str(value).strip()} {UNITS[unit].shown}."


def recordings(meters: Iterable[str], states: Iterable[str]) -> tuple[Column, ...]:
    """The columns of recordings, with the item's own meters and states to choose from."""
    return (
        *RECORDINGS,
        Column(key="meter", label="Meter", options=plain(meters)),
        Column(key="state", label="State", options=plain(states)),
    )


def readings(meters: Iterable[str], states: Iterable[str], powered: bool) -> tuple[Column, ...]:
    """The columns of readings, with the item's own meters and states to choose from."""
    quantities = tuple(pair for pair in QUANTITIES if (pair[0] not in UNPOWERED) == powered)
    return (
        Column(key="quantity", label="Quantity", options=quantities),
        Column(key="value", label="Shown", width="short", placeholder="8.1 W" if powered else "1.2 M"),
        Column(key="at", label="Where", width="short", as_="place", list="places", placeholder="input"),
        Column(key="meter", label="Meter", options=plain(meters)),
        Column(key="state", label="State", options=plain(states)),
        NOTE,
    )
