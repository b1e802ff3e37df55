"""The words of said sentences: kinds as people call them, and the pins of each kind as people call them."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from lidoff.kinds import KINDS, OTHER_KINDS

# What is said for a kind, beside its own name and its title.
_MORE_KINDS: Final[Mapping[str, str]] = {
    **{word.replace("_", " "): kind for word, kind in OTHER_KINDS.items()},
    "res": "resistor",
    "electrolytic": "capacitor",
    "led string": "led",
    "leds": "led",
    "string": "led",
    "rectifier diode": "diode",
    "bridge rectifier": "bridge",
    "current regulator": "regulator",
    "smps": "converter",
    "switcher": "converter",
    "common mode choke": "choke",
    "dimmer": "potentiometer",
    "knob": "potentiometer",
}
KIND_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {**_MORE_KINDS, **{kind.title.lower(): kind.name for kind in KINDS.values()}, **{name: name for name in KINDS}}
)
"""What people call a kind, in small letters, and the kind."""

KIND_OF_PREFIX: Final[Mapping[str, str]] = MappingProxyType(
    {
        "R": "resistor",
        "C": "capacitor",
        "L": "inductor",
        "VR": "potentiometer",
        "POT": "potentiometer",
        "P": "potentiometer",
        "S": "switch",
        "SW": "switch",
        "F": "fuse",
        "FU": "fuse",
        "D": "diode",
        "BR": "bridge",
        "DB": "bridge",
        "BD": "bridge",
        "LED": "led",
        "DZ": "zener",
        "ZD": "zener",
        "Z": "zener",
        "RV": "varistor",
        "MOV": "varistor",
        "RT": "thermistor",
        "NTC": "thermistor",
        "LA": "lamp",
        "EH": "heater",
        "T": "transformer",
        "TR": "transformer",
        "NE": "indicator",
        "K": "relay",
        "M": "motor",
    }
)
"""What the letters of a name say of the kind (IEC 81346 usage and older habit; common practice). Q, U, TH and the like
stand for several kinds and say nothing."""

PIN_WORDS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "potentiometer": {"a": "a", "b": "b", "wiper": "wiper", "w": "wiper", "slider": "wiper"},
        "diode": {"anode": "anode", "a": "anode", "cathode": "cathode", "k": "cathode", "band": "cathode"},
        "zener": {"anode": "anode", "a": "anode", "cathode": "cathode", "k": "cathode", "band": "cathode"},
        "led": {"anode": "anode", "a": "anode", "+": "anode", "cathode": "cathode", "k": "cathode", "-": "cathode"},
        "bridge": {"ac1": "ac1", "ac2": "ac2", "plus": "plus", "+": "plus", "minus": "minus", "-": "minus"},
        "triac": {
            "mt1": "mt1",
            "t1": "mt1",
            "a1": "mt1",
            "mt2": "mt2",
            "t2": "mt2",
            "a2": "mt2",
            "gate": "gate",
            "g": "gate",
        },
        "thyristor": {
            "anode": "anode",
            "a": "anode",
            "cathode": "cathode",
            "k": "cathode",
            "gate": "gate",
            "g": "gate",
        },
        "regulator": {"input": "input", "in": "input", "output": "output", "out": "output"},
        "converter": {"plus": "plus", "+": "plus", "minus": "minus", "-": "minus"},
        "transistor": {
            "base": "base",
            "b": "base",
            "collector": "collector",
            "c": "collector",
            "emitter": "emitter",
            "e": "emitter",
        },
        "mosfet": {"gate": "gate", "g": "gate", "drain": "drain", "d": "drain", "source": "source", "s": "source"},
        "transformer": {"p1": "p1", "p2": "p2", "s1": "s1", "s2": "s2"},
        "choke": {"a1": "a1", "a2": "a2", "b1": "b1", "b2": "b2"},
    }
)
"""Kind to the words for its pins."""

TWO_ENDS: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "potentiometer": ("a", "b"),
        "diode": ("anode", "cathode"),
        "zener": ("anode", "cathode"),
        "led": ("anode", "cathode"),
        "triac": ("mt2", "mt1"),
        "thyristor": ("anode", "cathode"),
        "regulator": ("input", "output"),
        "converter": ("plus", "minus"),
        "transistor": ("collector", "emitter"),
        "mosfet": ("drain", "source"),
        "bridge": ("ac1", "ac2"),
        "transformer": ("p1", "p2"),
        "choke": ("a1", "b1"),
    }
)
"""Kind to the pins that "from … to …" or "across … and …" joins, in that order. Others are listed by two nodes."""

GIVES: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {"bridge": ("plus", "minus"), "transformer": ("s1", "s2"), "choke": ("a2", "b2")}
)
"""Kind to the pins that "gives …, …" joins."""
