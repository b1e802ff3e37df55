"""Units as data: what each is called, how people write it, and which prefixes make sense with it.

Prefixes and symbols follow the SI (BIPM brochure, 9th edition, tables 2, 4 and 7; from memory). What people write
beside that ("KΩ", "mfd", "VAC", "ohms") is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Final

PREFIXES: Final[Mapping[str, int]] = MappingProxyType(
    {"p": -12, "n": -9, "μ": -6, "u": -6, "m": -3, "c": -2, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12}
)
"""Prefix to power of ten. Milli and mega differ by case alone; a capital K can only mean kilo."""

_NONE: Final[Mapping[str, Decimal]] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit.

    `symbol` is the key by which the program names it, `shown` what people see, `quantity` what is measured in it and
    `plural` its name in a sentence. `written` are the spellings that take a prefix of `prefixes`; `whole` are
    spellings that stand for a fixed factor. `offset` are spellings that also need an addition [K], for temperatures.
    `bare_prefix` allows a prefix to stand for prefix and unit ("4k7", "330n"), `marks` are letters that may stand in
    place of the decimal point for a factor of one, `steps` the prefixes used when a value is shown.
    """

    symbol: str
    shown: str
    quantity: str
    plural: str
    example: str
    written: tuple[str, ...]
    prefixes: str = ""
    bare_prefix: bool = False
    marks: str = ""
    whole: Mapping[str, Decimal] = field(default_factory=lambda: _NONE)
    offset: Mapping[str, tuple[Decimal, Decimal]] = field(
        default_factory=lambda: MappingProxyType[str, tuple[Decimal, Decimal]]({})
    )
    steps: str = ""


def _whole(**factors: str) -> Mapping[str, Decimal]:
    return MappingProxyType({name: Decimal(factor) for name, factor in factors.items()})


def _whole_of(pairs: Mapping[str, str]) -> Mapping[str, Decimal]:
    return _whole(**pairs)


_ALTERNATING: Final = ("ac", "dc", "rms", "~", "⎓", "=")


def _volts_or_amps(symbol: str, *names: str) -> tuple[str, ...]:
    """The symbol alone, and with what people add for the kind of current."""
    return (symbol, symbol.lower(), *names, *(symbol + tail for tail in _ALTERNATING))


_ALL: Final = (
    Unit(
        symbol="ohm",
        shown="Ω",
        quantity="resistance",
        plural="ohms",
        example="4k7, 470R or 4.7 kΩ",
        written=("ohm", "ohms", "Ω", "ω", "R", "r"),
        prefixes="nμumkKMGT",
        bare_prefix=True,
        marks="RrΩ",
        steps="μmkMGT",
    ),
    Unit(
        symbol="F",
        shown="F",
        quantity="capacitance",
        plural="farads",
        example="330n, 2u2 or 4.7 uF",
        written=("F", "f", "farad", "farads"),
        prefixes="pnμum",
        bare_prefix=True,
        marks="F",
        whole=_whole(mfd="1e-6", mmfd="1e-12", ufd="1e-6", pfd="1e-12"),
        # Microfarads go on into the thousands, as the trade writes them; millifarads are read but not shown.
        steps="pnμ",
    ),
    Unit(
        symbol="H",
        shown="H",
        quantity="inductance",
        plural="henries",
        example="4m7, 330u or 4.7 mH",
        written=("H", "h", "henry", "henries"),
        prefixes="pnμum",
        bare_prefix=True,
        marks="H",
        steps="pnμm",
    ),
    Unit(
        symbol="V",
        shown="V",
        quantity="voltage",
        plural="volts",
        example="230 V, 3V3 or 1.2 kV",
        written=_volts_or_amps("V", "volt", "volts"),
        prefixes="nμumkKM",
        bare_prefix=True,
        marks="V",
        steps="nμmkM",
    ),
    Unit(
        symbol="A",
        shown="A",
        quantity="current",
        plural="amperes",
        example="20 mA or 3.15 A",
        written=_volts_or_amps("A", "amp", "amps", "ampere", "amperes"),
        prefixes="pnμumkK",
        bare_prefix=True,
        marks="A",
        steps="pnμmk",
    ),
    Unit(
        symbol="W",
        shown="W",
        quantity="power",
        plural="watts",
        example="8.1 W or 0.25 W",
        written=("W", "w", "watt", "watts"),
        prefixes="pnμumkKMG",
        bare_prefix=True,
        marks="W",
        steps="pnμmkMG",
    ),
    Unit(
        symbol="VA",
        shown="VA",
        quantity="apparent power",
        plural="volt-amperes",
        example="12.3 VA",
        written=("VA", "va"),
        prefixes="μumkKM",
        steps="μmkM",
    ),
    Unit(
        symbol="var",
        shown="var",
        quantity="reactive power",
        plural="vars",
        example="5 var",
        written=("var",),
        prefixes="mkKM",
        steps="mkM",
    ),
    Unit(
        symbol="J",
        shown="J",
        quantity="energy",
        plural="joules",
        example="0.05 J or 1.2 kWh",
        written=("J", "joule", "joules", "Ws"),
        prefixes="nμumkKMG",
        whole=_whole(wh="3600", kwh="3.6e6", mwh="3.6"),
        steps="nμmkMG",
    ),
    Unit(
        symbol="Hz",
        shown="Hz",
        quantity="frequency",
        plural="hertz",
        example="50 Hz or 65 kHz",
        written=("Hz", "hz", "HZ", "hertz"),
        prefixes="mkKMG",
        bare_prefix=True,
        steps="mkMG",
    ),
    Unit(
        symbol="s",
        shown="s",
        quantity="time",
        plural="seconds",
        example="10 ms or 5 min",
        written=("s", "sec", "second", "seconds"),
        prefixes="pnμum",
        whole=_whole(min="60", minute="60", minutes="60", h="3600", hour="3600", hours="3600"),
        steps="pnμm",
    ),
    Unit(
        symbol="K",
        shown="K",
        quantity="temperature",
        plural="kelvins",
        example="85 °C or 358 K",
        written=("K", "kelvin", "kelvins"),
        offset=MappingProxyType(
            {
                **{name: (Decimal(1), Decimal("273.15")) for name in ("°c", "c", "degc", "celsius", "deg")},
                "°f": (Decimal(5) / Decimal(9), Decimal("459.67") * Decimal(5) / Decimal(9)),
            }
        ),
    ),
    Unit(
        symbol="A2s",
        shown="A²s",
        quantity="let-through I²t",
        plural="ampere-squared seconds",
        example="0.2 A2s",
        written=("A2s", "A^2s", "a2s", "A2·s"),
        prefixes="mkK",
    ),
    Unit(
        symbol="m",
        shown="m",
        quantity="length",
        plural="metres",
        example="2.4 mm or 1.4 m",
        written=("m", "metre", "metres", "meter", "meters"),
        prefixes="nμumckK",
        whole=_whole_of({"in": "0.0254", "inch": "0.0254", "inches": "0.0254", "ft": "0.3048", "feet": "0.3048"}),
        steps="nμmk",
    ),
    Unit(
        symbol="m2",
        shown="m²",
        quantity="area",
        plural="square metres",
        example="0.5 mm2",
        written=("m2", "m^2"),
        whole=_whole_of({"mm2": "1e-6", "mm^2": "1e-6", "sqmm": "1e-6", "cm2": "1e-4", "cm^2": "1e-4"}),
    ),
    Unit(
        symbol="mm2",
        shown="mm²",
        quantity="cross-section",
        plural="square millimetres",
        example="0.75 mm2",
        written=("mm2", "mm^2", "sqmm", "sq.mm"),
    ),
    Unit(
        symbol="kg",
        shown="kg",
        quantity="mass",
        plural="kilograms",
        example="0.3 kg or 250 g",
        written=("kg",),
        whole=_whole_of({"g": "1e-3", "mg": "1e-6", "gram": "1e-3", "grams": "1e-3"}),
    ),
    Unit(
        symbol="kg/m",
        shown="kg/m",
        quantity="mass per length",
        plural="kilograms per metre",
        example="2.4 g/m",
        written=("kg/m",),
        whole=_whole_of({"g/m": "1e-3", "kg/km": "1e-3", "g/km": "1e-6", "mg/mm": "1e-3", "mg/m": "1e-6"}),
    ),
    Unit(
        symbol="ohm/m",
        shown="Ω/m",
        quantity="resistance per length",
        plural="ohms per metre",
        example="39 ohm/km",
        written=("ohm/m", "Ω/m"),
        prefixes="μumkK",
        whole=_whole_of({"ohm/km": "1e-3", "ω/km": "1e-3"}),
        steps="μmk",
    ),
    Unit(
        symbol="K/W",
        shown="K/W",
        quantity="thermal resistance",
        plural="kelvins per watt",
        example="40 K/W",
        written=("K/W", "°C/W", "C/W"),
    ),
    Unit(
        symbol="S",
        shown="S",
        quantity="conductance",
        plural="siemens",
        example="2 mS",
        written=("S", "siemens"),
        prefixes="pnμumk",
        steps="pnμmk",
    ),
    Unit(
        symbol="A/V2",
        shown="A/V²",
        quantity="transconductance factor",
        plural="amperes per volt squared",
        example="0.5 A/V2",
        written=("A/V2", "A/V^2"),
        prefixes="μum",
        steps="μm",
    ),
    Unit(
        symbol="A/V",
        shown="A/V",
        quantity="probe scale",
        plural="amperes per volt",
        example="10 A/V",
        written=("A/V",),
        prefixes="μumk",
        whole=_whole_of({"a/mv": "1000", "ma/mv": "1"}),
        steps="μmk",
    ),
    Unit(
        symbol="V/V",
        shown="V/V",
        quantity="probe scale",
        plural="volts per volt",
        example="100 V/V",
        written=("V/V", "x", "×"),
        prefixes="mk",
    ),
    Unit(
        symbol="lx",
        shown="lx",
        quantity="illuminance",
        plural="lux",
        example="350 lx",
        written=("lx", "lux"),
        prefixes="mkK",
        steps="mk",
    ),
    Unit(
        symbol="lm",
        shown="lm",
        quantity="luminous flux",
        plural="lumens",
        example="470 lm",
        written=("lm", "lumen", "lumens"),
        prefixes="mkK",
        steps="mk",
    ),
    Unit(
        symbol="deg",
        shown="°",
        quantity="angle",
        plural="degrees",
        example="65 deg",
        written=("deg", "°", "degree", "degrees"),
    ),
    Unit(symbol="%", shown="%", quantity="percentage", plural="percent", example="36 %", written=("%", "percent")),
    Unit(
        symbol="",
        shown="",
        quantity="plain number",
        plural="plain numbers",
        example="0.9 or 8 %",
        written=("",),
        whole=_whole_of({"%": "0.01", "percent": "0.01", "‰": "0.001"}),
    ),
)

UNITS: Final[Mapping[str, Unit]] = MappingProxyType({unit.symbol: unit for unit in _ALL})
"""Every unit the program knows, by symbol."""

UNIT_OF_QUANTITY: Final[Mapping[str, str]] = MappingProxyType(
    {
        "power": "W",
        "apparent_power": "VA",
        "reactive_power": "var",
        "power_factor": "",
        "displacement_factor": "",
        "energy": "J",
        "current": "A",
        "current_dc": "A",
        "current_ac": "A",
        "current_peak": "A",
        "inrush_current": "A",
        "leakage_current": "A",
        "touch_current": "A",
        "voltage": "V",
        "voltage_dc": "V",
        "voltage_ac": "V",
        "voltage_peak": "V",
        "diode_test": "V",
        "frequency": "Hz",
        "resistance": "ohm",
        "insulation_resistance": "ohm",
        "earth_resistance": "ohm",
        "capacitance": "F",
        "inductance": "H",
        "esr": "ohm",
        "crest_factor": "",
        "thd": "",
        "percent_flicker": "%",
        "flicker_index": "",
        "svm": "",
        "illuminance": "lx",
        "luminous_flux": "lm",
        "temperature": "K",
        "temperature_rise": "K",
        "time": "s",
        "angle": "deg",
        "length": "m",
        "mass": "kg",
    }
)
"""Reading quantity to the unit it is kept in. Percent flicker is kept in percent, 0 to 100, as everybody quotes it."""
