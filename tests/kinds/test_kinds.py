"""The table of part kinds is whole: every key has a unit that can be read and a default that is one of its values."""

from __future__ import annotations

import pytest

from lidoff.kinds import (
    CAPACITOR_CLASSES,
    KINDS,
    MAINS_NODES,
    OTHER_KEYS,
    OTHER_KINDS,
    OTHER_NODES,
    RATING_UNITS,
    REQUIRED,
    Key,
    Kind,
)
from lidoff.quantity import UNITS

EVERY_KEY = [pytest.param(kind, key, id=f"{kind.name}.{key.name}") for kind in KINDS.values() for key in kind.keys]

# The promise of the record format: pins, and the defaults of its table of laws, in SI units.
PINS = {
    "resistor": "1 2",
    "capacitor": "1 2",
    "inductor": "1 2",
    "potentiometer": "a wiper b",
    "switch": "1 2",
    "fuse": "1 2",
    "diode": "anode cathode",
    "bridge": "ac1 ac2 plus minus",
    "led": "anode cathode",
    "zener": "anode cathode",
    "varistor": "1 2",
    "triac": "mt1 mt2 gate",
    "thyristor": "anode cathode gate",
    "diac": "1 2",
    "regulator": "input output",
    "converter": "plus minus",
    "thermistor": "1 2",
    "lamp": "1 2",
    "heater": "1 2",
    "transistor": "base collector emitter",
    "mosfet": "gate drain source",
    "transformer": "p1 p2 s1 s2",
    "choke": "a1 a2 b1 b2",
    "indicator": "1 2",
}
DEFAULTS = {
    "capacitor": {"esr": 0.0},
    "inductor": {"resistance": 0.0},
    "potentiometer": {"position": 0.5, "taper": "linear"},
    "switch": {"closed": True},
    "fuse": {"resistance": 0.1},
    "diode": {"forward_voltage": 0.93, "test_current": 1.0, "slope": 0.05},
    "bridge": {"forward_voltage": 0.93, "test_current": 1.0, "slope": 0.05},
    "led": {"series": 1.0, "parallel": 1.0, "test_current": 0.02, "slope": 0.07},
    "zener": {"test_current": 0.005, "slope_resistance": 10.0},
    "varistor": {"exponent": 30.0},
    "triac": {
        "gate_current": 0.005,
        "holding_current": 0.005,
        "latching_current": None,
        "on_voltage": 1.0,
        "on_resistance": 0.05,
        "off_resistance": 40e6,
        "gate_voltage": 0.8,
        "gate_resistance": 50.0,
        "gate_shunt": 10e3,
    },
    "diac": {
        "breakover": 32.0,
        "asymmetry": 0.0,
        "breakback": 7.0,
        "on_resistance": 5.0,
        "off_resistance": 5e6,
        "holding_current": 0.001,
    },
    "regulator": {"dropout": 4.0},
    "converter": {"minimum_voltage": 60.0},
    "thermistor": {"warm": True},
    "lamp": {"cold_ratio": 0.1},
    "heater": {"cold_ratio": 0.95},
    "transistor": {"polarity": "npn", "gain": 100.0, "base_voltage": 0.65, "saturation": 0.2},
    "mosfet": {"threshold": 3.0},
    "choke": {"coupling": 0.99},
    "indicator": {"strike": 90.0, "maintain": 60.0},
}
DEFAULTS["thyristor"] = DEFAULTS["triac"]
NEEDED = {
    "resistor": {"value"},
    "capacitor": {"value"},
    "inductor": {"value"},
    "potentiometer": {"value"},
    "led": {"forward_voltage"},
    "zener": {"voltage"},
    "varistor": {"voltage"},
    "regulator": {"limit"},
    "converter": {"power"},
    "lamp": {"power", "voltage"},
    "heater": {"power", "voltage"},
}


@pytest.mark.parametrize("name", PINS)
def test_pins_and_defaults_are_those_of_the_format(name: str) -> None:
    kind = KINDS[name]
    assert kind.pins == tuple(PINS[name].split())
    found = {key.name: key.default for key in kind.keys}
    for key, default in DEFAULTS.get(name, {}).items():
        assert found[key] == default
    assert NEEDED.get(name, set()) <= {key for key, default in found.items() if default is REQUIRED}


@pytest.mark.parametrize(("kind", "key"), EVERY_KEY)
def test_every_key_can_be_read(kind: Kind, key: Key) -> None:
    """Its unit is known, its default lies within its bounds, and it does not clash with a key of every part."""
    assert key.unit in UNITS or key.unit in ("bool", "word")
    assert (key.unit == "word") == bool(key.choices)
    if key.unit == "word":
        assert key.default is None or key.default in key.choices
    elif key.unit == "bool":
        assert isinstance(key.default, bool)
    elif isinstance(key.default, float):
        assert key.least is None or key.default > key.least or (key.default == key.least and not key.least_open)
        assert key.most is None or key.default <= key.most
    else:
        assert key.default is None or key.default is REQUIRED
    common = {"ref", "kind", "marking", "tolerance", "rating", "nodes", "block", "count", "note", "between"}
    # The rated current of a fuse is the one key that shares its name, and the reading of ratings knows it.
    assert key.name not in common or (kind.name, key.name) == ("fuse", "rating")


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_every_kind_is_whole(kind: Kind) -> None:
    """Pins are told apart, those that may be absent exist, two-pin lists have two, and it can be named to people."""
    assert len(set(kind.pins)) == len(kind.pins) >= 2
    assert kind.optional_pins < set(kind.pins)
    assert not kind.listed or kind.pins == ("1", "2")
    assert kind.listed or kind.pins != ("1", "2")
    assert kind.title
    assert kind.prefix.isalpha()
    assert len({key.name for key in kind.keys}) == len(kind.keys)
    assert all(kind.key(key.name) is key for key in kind.keys)
    assert kind.key("no such key") is None


def test_other_names_lead_to_known_ones_and_are_none_themselves() -> None:
    """What is only suggested is never accepted, and what it suggests exists."""
    assert set(OTHER_KINDS.values()) <= set(KINDS)
    assert not set(OTHER_KINDS) & set(KINDS)
    assert set(OTHER_NODES.values()) <= set(MAINS_NODES)
    keys = {key.name for kind in KINDS.values() for key in kind.keys}
    assert set(OTHER_KEYS.values()) <= keys


def test_ratings_have_units() -> None:
    assert set(RATING_UNITS.values()) <= set(UNITS)
    assert set(RATING_UNITS) == {"power", "voltage", "voltage_ac", "current", "current_rms", "i2t", "temperature"}
    assert CAPACITOR_CLASSES == ("X1", "X2", "Y1", "Y2")


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        KINDS["resistor"] = KINDS["lamp"]  # type: ignore[index]
