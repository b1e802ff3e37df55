"""Tables of capacitor markings: voltage letters, dielectrics, chip letters, classes, film types."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import (
    CAP_CLASS_1,
    CAP_CLASS_2,
    CAP_EIA_198,
    CAP_FILM,
    CAP_FILM_CN,
    CAP_SAFETY,
    CAP_TANTALUM,
    CAP_VOLTAGE,
    CAP_VOLTAGE_RECALLED,
    Source,
)


class VoltageLetter(NamedTuple):
    """A letter of the two-character voltage code and its significand; the digit before it is the power of ten."""

    letter: str
    significand: float
    source: Source


class SafetyClass(NamedTuple):
    """A class of IEC 60384-14 with the peak impulse it is tested with, up to 1 µF [V]."""

    name: str
    impulse: float
    source: Source


class Step(NamedTuple):
    """One letter or digit of a dielectric code: low or high temperature [K], change of capacitance (shares)."""

    sign: str
    low: float
    high: float
    source: Source


_VOLTAGE_ROWS: Final = (
    VoltageLetter(letter="A", significand=1.0, source=CAP_VOLTAGE),
    VoltageLetter(letter="Q", significand=1.1, source=CAP_VOLTAGE),
    VoltageLetter(letter="B", significand=1.25, source=CAP_VOLTAGE),
    VoltageLetter(letter="T", significand=1.5, source=CAP_VOLTAGE),
    VoltageLetter(letter="C", significand=1.6, source=CAP_VOLTAGE),
    VoltageLetter(letter="Z", significand=1.8, source=CAP_VOLTAGE),
    VoltageLetter(letter="D", significand=2.0, source=CAP_VOLTAGE),
    VoltageLetter(letter="P", significand=2.2, source=CAP_VOLTAGE),
    VoltageLetter(letter="E", significand=2.5, source=CAP_VOLTAGE),
    VoltageLetter(letter="F", significand=3.15, source=CAP_VOLTAGE),
    VoltageLetter(letter="V", significand=3.5, source=CAP_VOLTAGE),
    VoltageLetter(letter="G", significand=4.0, source=CAP_VOLTAGE),
    VoltageLetter(letter="W", significand=4.5, source=CAP_VOLTAGE),
    VoltageLetter(letter="H", significand=5.0, source=CAP_VOLTAGE),
    VoltageLetter(letter="L", significand=5.5, source=CAP_VOLTAGE_RECALLED),
    VoltageLetter(letter="J", significand=6.3, source=CAP_VOLTAGE),
    VoltageLetter(letter="K", significand=8.0, source=CAP_VOLTAGE),
)
VOLTAGE_LETTERS: Final[Mapping[str, VoltageLetter]] = MappingProxyType({row.letter: row for row in _VOLTAGE_ROWS})

# One letter on tantalum and polymer chips [V]. EIA-535; A, C, E seen in examples, the rest from memory.
TANTALUM_VOLTS: Final[Mapping[str, float]] = MappingProxyType(
    {"G": 4.0, "J": 6.3, "A": 10.0, "C": 16.0, "D": 20.0, "E": 25.0, "V": 35.0, "T": 50.0}
)
TANTALUM_SOURCE: Final = CAP_TANTALUM

# EIA-198: letter to significand [pF]; capitals are E24.
_CHIP_CAPITALS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
_E24: Final = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)
CHIP_LETTERS: Final[Mapping[str, float]] = MappingProxyType(
    dict(zip(_CHIP_CAPITALS, _E24, strict=True))
    | {"a": 2.5, "b": 3.5, "d": 4.0, "e": 4.5, "f": 5.0, "m": 6.0, "n": 7.0, "t": 8.0, "y": 9.0}
)
CHIP_SOURCE: Final = CAP_EIA_198

SAFETY_CLASSES: Final[Mapping[str, SafetyClass]] = MappingProxyType(
    {
        row.name: row
        for row in (
            SafetyClass(name="X1", impulse=4000.0, source=CAP_SAFETY),
            SafetyClass(name="X2", impulse=2500.0, source=CAP_SAFETY),
            SafetyClass(name="Y1", impulse=8000.0, source=CAP_SAFETY),
            SafetyClass(name="Y2", impulse=5000.0, source=CAP_SAFETY),
            SafetyClass(name="Y4", impulse=2500.0, source=CAP_SAFETY),
        )
    }
)


def _kelvin(celsius: float) -> float:
    return round(celsius + 273.15, 2)


LOW_TEMPERATURE: Final[Mapping[str, Step]] = MappingProxyType(
    {
        sign: Step(sign=sign, low=_kelvin(celsius), high=_kelvin(celsius), source=CAP_CLASS_2)
        for sign, celsius in (("X", -55.0), ("Y", -30.0), ("Z", 10.0))
    }
)
HIGH_TEMPERATURE: Final[Mapping[str, Step]] = MappingProxyType(
    {
        sign: Step(sign=sign, low=_kelvin(celsius), high=_kelvin(celsius), source=CAP_CLASS_2)
        for sign, celsius in (
            ("2", 45.0),
            ("4", 65.0),
            ("5", 85.0),
            ("6", 105.0),
            ("7", 125.0),
            ("8", 150.0),
            ("9", 200.0),
        )
    }
)
CHANGE: Final[Mapping[str, Step]] = MappingProxyType(
    {
        sign: Step(sign=sign, low=-low, high=high, source=CAP_CLASS_2)
        for sign, low, high in (
            ("D", 0.033, 0.033),
            ("E", 0.047, 0.047),
            ("F", 0.075, 0.075),
            ("P", 0.10, 0.10),
            ("R", 0.15, 0.15),
            ("S", 0.22, 0.22),
            ("T", 0.33, 0.22),
            ("U", 0.56, 0.22),
            ("V", 0.82, 0.22),
        )
    }
)
# Class 1 codes met in practice: temperature coefficient [1/K] and its tolerance [1/K].
CLASS_1: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {"C0G": (0.0, 30e-6), "U2J": (-750e-6, 120e-6), "P2H": (-150e-6, 60e-6), "S2H": (-330e-6, 60e-6)}
)
CLASS_1_SOURCE: Final = CAP_CLASS_1
CLASS_1_NAMES: Final[Mapping[str, str]] = MappingProxyType({"COG": "C0G", "NP0": "C0G", "NPO": "C0G", "CH": "C0G"})


class Construction(NamedTuple):
    """Letters that tell what a film capacitor is made of."""

    letters: str
    name: str
    source: Source


CONSTRUCTIONS: Final[Mapping[str, Construction]] = MappingProxyType(
    {
        row.letters: row
        for row in (
            Construction(letters="MKP", name="metallised polypropylene film", source=CAP_FILM),
            Construction(letters="MKT", name="metallised polyester film", source=CAP_FILM),
            Construction(letters="MKS", name="metallised polyester film", source=CAP_FILM),
            Construction(letters="MKC", name="metallised polycarbonate film", source=CAP_FILM),
            Construction(letters="MKI", name="metallised polyphenylene sulphide film", source=CAP_FILM),
            Construction(letters="FKP", name="polypropylene film and foil", source=CAP_FILM),
            Construction(letters="FKC", name="polycarbonate film and foil", source=CAP_FILM),
            Construction(letters="KP", name="polypropylene film and foil", source=CAP_FILM),
            Construction(letters="KT", name="polyester film and foil", source=CAP_FILM),
            Construction(letters="MP", name="metallised paper", source=CAP_FILM),
            Construction(letters="MPX", name="metallised polypropylene, class X2 as a rule", source=CAP_FILM_CN),
            Construction(letters="CBB21", name="metallised polypropylene film", source=CAP_FILM_CN),
            Construction(letters="CBB22", name="metallised polypropylene film", source=CAP_FILM_CN),
            Construction(letters="CBB60", name="metallised polypropylene film, for motors", source=CAP_FILM_CN),
            Construction(letters="CBB61", name="metallised polypropylene film, for motors", source=CAP_FILM_CN),
            Construction(letters="CBB81", name="polypropylene film and foil", source=CAP_FILM_CN),
            Construction(letters="CL11", name="polyester film and foil", source=CAP_FILM_CN),
            Construction(letters="CL21", name="metallised polyester film", source=CAP_FILM_CN),
        )
    }
)

# Rated voltages that stand bare behind a tolerance letter ("104K 400") [V]. Common practice.
BARE_VOLTS: Final = frozenset(
    {
        16.0,
        25.0,
        35.0,
        50.0,
        63.0,
        100.0,
        160.0,
        200.0,
        250.0,
        275.0,
        300.0,
        310.0,
        400.0,
        450.0,
        500.0,
        630.0,
        1000.0,
        1250.0,
        1600.0,
        2000.0,
    }
)


def coded_volts(code: str) -> float | None:
    """The rated voltage [V] of a two-character code such as "2E" (250 V), or None."""
    if len(code) != 2 or not code[0].isdigit() or code[1] not in VOLTAGE_LETTERS or int(code[0]) > 3:
        return None
    return float(f"{VOLTAGE_LETTERS[code[1]].significand}e{code[0]}")
