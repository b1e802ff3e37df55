"""Tables of cords: harmonised letters, usual sections, American types and gauges."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import AWG_TABLE, CORD_PRINT, HD_361, HD_361_RECALLED, IEC_60227, UL_CORDS, Source


class Letter(NamedTuple):
    """A letter group of a cord code and what it means."""

    sign: str
    meaning: str
    source: Source


class CordType(NamedTuple):
    """A cord type: rated voltage [V], how it is built, and the harmonised code it matches, if any."""

    sign: str
    voltage: float
    what: str
    harmonised: str
    source: Source


def _letters(source: Source, **meanings: str) -> dict[str, Letter]:
    return {sign: Letter(sign=sign, meaning=meaning, source=source) for sign, meaning in meanings.items()}


# Uo/U [V].
VOLTAGES: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {"01": (100.0, 100.0), "03": (300.0, 300.0), "05": (300.0, 500.0), "07": (450.0, 750.0)}
)
MATERIALS: Final[Mapping[str, Letter]] = MappingProxyType(
    _letters(
        HD_361,
        B="ethylene-propylene rubber, 90 °C",
        G="ethylene-vinyl acetate",
        J="glass-fibre braid",
        M="mineral",
        N="polychloroprene rubber",
        N2="polychloroprene rubber for welding",
        N4="chlorosulphonated or chlorinated polyethylene",
        N8="water-resistant polychloroprene rubber",
        Q="polyurethane",
        Q4="polyamide",
        R="rubber, 60 °C",
        S="silicone rubber",
        T="textile braid over the cores",
        T6="textile braid over each core",
        V="PVC",
        V2="PVC, 90 °C",
        V3="PVC for low temperatures",
        V4="cross-linked PVC",
        V5="oil-resistant PVC",
        Z="cross-linked polyolefin, low smoke",
        Z1="thermoplastic polyolefin, low smoke",
    )
)
FORMS: Final[Mapping[str, Letter]] = MappingProxyType(
    _letters(
        HD_361,
        H="flat, can be pulled apart",
        H2="flat, not to be pulled apart",
        H6="flat, three cores or more",
        H7="insulation of two layers",
        H8="coiled",
    )
)
SCREENS: Final[Mapping[str, Letter]] = MappingProxyType(
    _letters(HD_361, C="concentric copper conductor", C4="copper braid over the cores", D="strain-bearing cord")
)
CONDUCTORS: Final[Mapping[str, Letter]] = MappingProxyType(
    _letters(
        HD_361,
        F="fine strands for flexible cords (class 5)",
        H="very fine strands for flexible cords (class 6)",
        K="fine strands for fixed wiring (class 5)",
        R="stranded (class 2)",
        U="solid (class 1)",
        Y="tinsel",
    )
    | _letters(HD_361_RECALLED, D="fine strands for welding cords", E="very fine strands for welding cords")
)
SECTIONS: Final = (0.5, 0.75, 1.0, 1.25, 1.5, 2.5, 4.0, 6.0)
SECTION_SOURCE: Final = CORD_PRINT

IEC_TYPES: Final[Mapping[str, CordType]] = MappingProxyType(
    {
        row.sign: row
        for row in (
            CordType(
                sign="60227 IEC 41", voltage=300.0, what="flat tinsel cord", harmonised="H03VH-Y", source=IEC_60227
            ),
            CordType(
                sign="60227 IEC 42",
                voltage=300.0,
                what="flat cord of two cores",
                harmonised="H03VH-H",
                source=IEC_60227,
            ),
            CordType(sign="60227 IEC 52", voltage=300.0, what="light PVC cord", harmonised="H03VV-F", source=IEC_60227),
            CordType(
                sign="60227 IEC 53", voltage=500.0, what="ordinary PVC cord", harmonised="H05VV-F", source=IEC_60227
            ),
            CordType(
                sign="60227 IEC 56",
                voltage=300.0,
                what="light heat-resistant PVC cord",
                harmonised="H03V2V2-F",
                source=IEC_60227,
            ),
            CordType(
                sign="60227 IEC 57",
                voltage=500.0,
                what="ordinary heat-resistant PVC cord",
                harmonised="H05V2V2-F",
                source=IEC_60227,
            ),
            CordType(
                sign="60245 IEC 53", voltage=500.0, what="ordinary rubber cord", harmonised="H05RR-F", source=IEC_60227
            ),
            CordType(
                sign="60245 IEC 57",
                voltage=500.0,
                what="ordinary polychloroprene cord",
                harmonised="H05RN-F",
                source=IEC_60227,
            ),
            CordType(
                sign="60245 IEC 66",
                voltage=750.0,
                what="heavy polychloroprene cord",
                harmonised="H07RN-F",
                source=IEC_60227,
            ),
        )
    }
)

UL_TYPES: Final[Mapping[str, CordType]] = MappingProxyType(
    {
        sign: CordType(sign=sign, voltage=voltage, what=what, harmonised="", source=UL_CORDS)
        for sign, voltage, what in (
            ("SPT-1", 300.0, "parallel plastic cord, thin insulation"),
            ("SPT-2", 300.0, "parallel plastic cord, thicker insulation"),
            ("SPT-3", 300.0, "parallel plastic cord, thickest insulation"),
            ("SP-1", 300.0, "parallel rubber cord"),
            ("SP-2", 300.0, "parallel rubber cord, thicker insulation"),
            ("NISPT-1", 300.0, "parallel plastic cord without jacket over the pair"),
            ("NISPT-2", 300.0, "parallel plastic cord without jacket over the pair, thicker"),
            ("SVT", 300.0, "light plastic cord"),
            ("SVTO", 300.0, "light plastic cord, oil-resistant"),
            ("SJT", 300.0, "junior hard-service plastic cord"),
            ("SJTO", 300.0, "junior hard-service plastic cord, oil-resistant"),
            ("SJTW", 300.0, "junior hard-service plastic cord, for outdoors"),
            ("SJTOW", 300.0, "junior hard-service plastic cord, oil-resistant, for outdoors"),
            ("SJ", 300.0, "junior hard-service rubber cord"),
            ("SJO", 300.0, "junior hard-service rubber cord, oil-resistant"),
            ("SJOOW", 300.0, "junior hard-service rubber cord, oil-resistant, for outdoors"),
            ("ST", 600.0, "hard-service plastic cord"),
            ("STW", 600.0, "hard-service plastic cord, for outdoors"),
            ("SOOW", 600.0, "hard-service rubber cord, oil-resistant, for outdoors"),
            ("HPN", 300.0, "parallel heater cord"),
            ("TPT", 250.0, "parallel tinsel cord"),
        )
    }
)
AWG_SOURCE: Final = AWG_TABLE


def awg_area(gauge: int) -> float:
    """Cross-section of a solid conductor of that American gauge [mm²].

    Source: ASTM B258: the diameter is 0.127 mm × 92^((36 − gauge)/39); areas of 16 to 28 seen in a table.
    """
    diameter: float = 0.127 * 92.0 ** ((36 - gauge) / 39.0)
    return 0.7853981633974483 * diameter * diameter
