"""Part kinds as data: pins, keys, units and defaults.

The table states what the record format promises about every kind; the laws themselves live in `cycle`.
A key whose default is `REQUIRED` must be given (or be `"?"`, or come from a marking) before the part can be solved.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final


class _Required:
    def __repr__(self) -> str:
        return "REQUIRED"


REQUIRED: Final = _Required()
Default = float | bool | str | None | _Required


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of a part kind.

    `unit` is the SI unit symbol ("ohm", "F", "H", "V", "A", "W", "s", "K", "S", "A/V2"), "" for a plain number,
    "bool" for a truth value or "word" for one of `choices`. `default` None means "may be left out, and then has no
    effect". `least` is the smallest value that makes sense; `least_open` forbids that value itself; `whole` asks for
    a whole number.
    """

    name: str
    unit: str
    default: Default = REQUIRED
    choices: tuple[str, ...] = ()
    least: float | None = 0.0
    least_open: bool = True
    most: float | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A part kind: its pins in order, the pins that may be absent, and its keys.

    `listed` is true where the record gives the nodes as a list of two; others give pin = node.
    `prefix` is the customary reference designator letter (IEC 81346 usage on schematics; common practice).
    """

    name: str
    pins: tuple[str, ...]
    keys: tuple[Key, ...]
    listed: bool = False
    optional_pins: frozenset[str] = frozenset()
    prefix: str = "U"
    title: str = ""

    def key(self, name: str) -> Key | None:
        """The key of that name, or None."""
        return next((key for key in self.keys if key.name == name), None)


def _positive(name: str, unit: str, default: Default = REQUIRED) -> Key:
    return Key(name=name, unit=unit, default=default)


def _not_negative(name: str, unit: str, default: Default = REQUIRED) -> Key:
    return Key(name=name, unit=unit, default=default, least_open=False)


def _any(name: str, unit: str, default: Default = REQUIRED) -> Key:
    return Key(name=name, unit=unit, default=default, least=None)


def _word(name: str, choices: tuple[str, ...], default: Default) -> Key:
    return Key(name=name, unit="word", default=default, choices=choices, least=None)


def _bool(name: str, default: bool) -> Key:
    return Key(name=name, unit="bool", default=default, least=None)


_TWO: Final = ("1", "2")
_DIODE_KEYS: Final = (
    _positive("forward_voltage", "V", 0.93),
    _positive("test_current", "A", 1.0),
    _positive("slope", "V", 0.050),
)
_LATCH_KEYS: Final = (
    _positive("gate_current", "A", 5e-3),
    _positive("holding_current", "A", 5e-3),
    _positive("latching_current", "A", None),
    _not_negative("on_voltage", "V", 1.0),
    _positive("on_resistance", "ohm", 50e-3),
    _positive("off_resistance", "ohm", 40e6),
    _not_negative("gate_voltage", "V", 0.8),
    _positive("gate_resistance", "ohm", 50.0),
    _positive("gate_shunt", "ohm", 10e3),
)
_FILAMENT_KEYS: Final = (_positive("power", "W"), _positive("voltage", "V"))

_ALL: Final = (
    Kind(name="resistor", title="resistor", prefix="R", pins=_TWO, listed=True, keys=(_positive("value", "ohm"),)),
    Kind(
        name="capacitor",
        title="capacitor",
        prefix="C",
        pins=_TWO,
        listed=True,
        keys=(_positive("value", "F"), _not_negative("esr", "ohm", 0.0)),
    ),
    Kind(
        name="inductor",
        title="inductor",
        prefix="L",
        pins=_TWO,
        listed=True,
        keys=(_positive("value", "H"), _not_negative("resistance", "ohm", 0.0)),
    ),
    Kind(
        name="potentiometer",
        title="potentiometer",
        prefix="VR",
        pins=("a", "wiper", "b"),
        optional_pins=frozenset({"a", "b"}),
        keys=(
            _positive("value", "ohm"),
            Key(name="position", unit="", default=0.5, least_open=False, most=1.0),
            _word("taper", ("linear", "log", "reverse-log"), "linear"),
            _word("clockwise", ("a", "b"), None),
        ),
    ),
    Kind(name="switch", title="switch", prefix="S", pins=_TWO, listed=True, keys=(_bool("closed", True),)),
    Kind(
        name="fuse",
        title="fuse",
        prefix="F",
        pins=_TWO,
        listed=True,
        keys=(
            _positive("rating", "A", None),
            _word("speed", ("very quick", "quick", "medium", "slow", "very slow"), None),
            _positive("resistance", "ohm", 0.1),
        ),
    ),
    Kind(name="diode", title="diode", prefix="D", pins=("anode", "cathode"), keys=_DIODE_KEYS),
    Kind(name="bridge", title="bridge rectifier", prefix="BR", pins=("ac1", "ac2", "plus", "minus"), keys=_DIODE_KEYS),
    Kind(
        name="led",
        title="LED string",
        prefix="LED",
        pins=("anode", "cathode"),
        keys=(
            Key(name="series", unit="", default=1.0, least=1.0, least_open=False, whole=True),
            Key(name="parallel", unit="", default=1.0, least=1.0, least_open=False, whole=True),
            _positive("forward_voltage", "V"),
            _positive("test_current", "A", 20e-3),
            _positive("slope", "V", 70e-3),
        ),
    ),
    Kind(
        name="zener",
        title="zener diode",
        prefix="DZ",
        pins=("anode", "cathode"),
        keys=(
            _positive("voltage", "V"),
            _positive("test_current", "A", 5e-3),
            _positive("slope_resistance", "ohm", 10.0),
            _positive("forward_voltage", "V", 0.93),
        ),
    ),
    Kind(
        name="varistor",
        title="varistor",
        prefix="RV",
        pins=_TWO,
        listed=True,
        keys=(_positive("voltage", "V"), Key(name="exponent", unit="", default=30.0, least=1.0, least_open=False)),
    ),
    Kind(name="triac", title="triac", prefix="Q", pins=("mt1", "mt2", "gate"), keys=_LATCH_KEYS),
    Kind(name="thyristor", title="thyristor", prefix="Q", pins=("anode", "cathode", "gate"), keys=_LATCH_KEYS),
    Kind(
        name="diac",
        title="diac",
        prefix="D",
        pins=_TWO,
        listed=True,
        keys=(
            _positive("breakover", "V", 32.0),
            _any("asymmetry", "V", 0.0),
            _not_negative("breakback", "V", 7.0),
            _positive("on_resistance", "ohm", 5.0),
            _positive("off_resistance", "ohm", 5e6),
            _positive("holding_current", "A", 1e-3),
        ),
    ),
    Kind(
        name="regulator",
        title="linear current regulator",
        prefix="U",
        pins=("input", "output"),
        keys=(_positive("limit", "A"), _positive("dropout", "V", 4.0)),
    ),
    Kind(
        name="converter",
        title="switch-mode converter",
        prefix="U",
        pins=("plus", "minus"),
        keys=(_positive("power", "W"), _not_negative("minimum_voltage", "V", 60.0)),
    ),
    Kind(
        name="thermistor",
        title="thermistor",
        prefix="RT",
        pins=_TWO,
        listed=True,
        keys=(
            _positive("cold", "ohm"),
            _positive("hot", "ohm", None),
            _positive("beta", "K", None),
            _bool("warm", True),
        ),
    ),
    Kind(
        name="lamp",
        title="filament lamp",
        prefix="LA",
        pins=_TWO,
        listed=True,
        keys=(*_FILAMENT_KEYS, Key(name="cold_ratio", unit="", default=0.1, most=1.0)),
    ),
    Kind(
        name="heater",
        title="heating element",
        prefix="EH",
        pins=_TWO,
        listed=True,
        keys=(*_FILAMENT_KEYS, Key(name="cold_ratio", unit="", default=0.95, most=1.0)),
    ),
    Kind(
        name="transistor",
        title="bipolar transistor",
        prefix="Q",
        pins=("base", "collector", "emitter"),
        keys=(
            _word("polarity", ("npn", "pnp"), "npn"),
            _positive("gain", "", 100.0),
            _positive("base_voltage", "V", 0.65),
            _positive("saturation", "V", 0.2),
        ),
    ),
    Kind(
        name="mosfet",
        title="MOSFET",
        prefix="Q",
        pins=("gate", "drain", "source"),
        keys=(
            _word("polarity", ("n", "p"), "n"),
            _positive("threshold", "V", 3.0),
            _positive("transconductance", "A/V2", 1.0),
            _positive("on_resistance", "ohm", 0.5),
            _bool("body_diode", True),
        ),
    ),
    Kind(
        name="transformer",
        title="transformer",
        prefix="T",
        pins=("p1", "p2", "s1", "s2"),
        keys=(
            _positive("ratio", ""),
            _positive("magnetising", "H", 10.0),
            _not_negative("leakage", "H", 1e-3),
            _not_negative("resistance_primary", "ohm", 0.0),
            _not_negative("resistance_secondary", "ohm", 0.0),
        ),
    ),
    Kind(
        name="choke",
        title="common-mode choke",
        prefix="L",
        pins=("a1", "a2", "b1", "b2"),
        keys=(
            _positive("value", "H"),
            Key(name="coupling", unit="", default=0.99, least_open=False, most=0.9999),
            _not_negative("resistance", "ohm", 0.0),
        ),
    ),
    Kind(
        name="indicator",
        title="neon indicator",
        prefix="NE",
        pins=_TWO,
        listed=True,
        keys=(
            _positive("strike", "V", 90.0),
            _positive("maintain", "V", 60.0),
            _not_negative("series", "ohm", 0.0),
        ),
    ),
    Kind(name="relay", title="relay", prefix="K", pins=_TWO, listed=True, keys=(_positive("resistance", "ohm"),)),
    Kind(
        name="motor",
        title="motor",
        prefix="M",
        pins=_TWO,
        listed=True,
        keys=(_positive("resistance", "ohm"), _not_negative("inductance", "H", 0.0)),
    ),
    Kind(name="thermostat", title="thermostat", prefix="S", pins=_TWO, listed=True, keys=(_bool("closed", True),)),
)

KINDS: Final[Mapping[str, Kind]] = MappingProxyType({kind.name: kind for kind in _ALL})

RATING_UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "power": "W",
        "voltage": "V",
        "voltage_ac": "V",
        "current": "A",
        "current_rms": "A",
        "i2t": "A2s",
        "temperature": "K",
    }
)
# What people call a kind, a key or a node elsewhere: never accepted, only used to name the word that was meant.
OTHER_KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "bjt": "transistor",
        "bridge_rectifier": "bridge",
        "bulb": "lamp",
        "cap": "capacitor",
        "coil": "inductor",
        "common_mode_choke": "choke",
        "element": "heater",
        "fet": "mosfet",
        "filament": "lamp",
        "glow_lamp": "indicator",
        "led_string": "led",
        "mov": "varistor",
        "neon": "indicator",
        "ntc": "thermistor",
        "pot": "potentiometer",
        "ptc": "thermistor",
        "rectifier": "bridge",
        "rheostat": "potentiometer",
        "scr": "thyristor",
        "trimmer": "potentiometer",
        "vdr": "varistor",
    }
)
OTHER_KEYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "capacitance": "value",
        "current": "test_current",
        "inductance": "value",
        "on": "closed",
        "resistance": "value",
        "vf": "forward_voltage",
        "voltage": "forward_voltage",
        "wattage": "power",
    }
)
OTHER_NODES: Final[Mapping[str, str]] = MappingProxyType(
    {"L": "live", "line": "live", "phase": "live", "hot": "live", "N": "neutral", "E": "earth", "PE": "earth"}
)
CAPACITOR_CLASSES: Final = ("X1", "X2", "Y1", "Y2")
MAINS_NODES: Final = ("live", "neutral", "earth")
