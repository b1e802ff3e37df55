"""Type numbers: what the registers' letters mean, and the ratings of a few generic types.

Nothing here is one maker's data: rows are registrations, or numbers that many makers sell, with the ratings all their
data sheets share.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import (
    DIAC_RATINGS,
    GENERIC,
    JEDEC,
    JEDEC_RATINGS,
    JEDEC_RATINGS_RECALLED,
    JIS_TYPES,
    PRO_ELECTRON,
    Source,
)

_NONE: Final[Mapping[str, float | str]] = MappingProxyType({})


class Letter(NamedTuple):
    """A letter or prefix of a register: the kind of part it can be (None where no kind of ours), and its meaning."""

    sign: str
    kind: str | None
    meaning: str
    source: Source


class TypeRow(NamedTuple):
    """A type with its ratings: voltage [V] and current [A] as the kind's value and rating, and what it is."""

    number: str
    kind: str
    voltage: float | None
    current: float | None
    what: str
    source: Source
    more: Mapping[str, float | str] = _NONE


PRO_ELECTRON_MATERIAL: Final[Mapping[str, Letter]] = MappingProxyType(
    {
        "A": Letter(sign="A", kind=None, meaning="germanium", source=PRO_ELECTRON),
        "B": Letter(sign="B", kind=None, meaning="silicon", source=PRO_ELECTRON),
        "C": Letter(sign="C", kind=None, meaning="gallium arsenide or like", source=PRO_ELECTRON),
    }
)
PRO_ELECTRON_FUNCTION: Final[Mapping[str, Letter]] = MappingProxyType(
    {
        sign: Letter(sign=sign, kind=kind, meaning=meaning, source=PRO_ELECTRON)
        for sign, kind, meaning in (
            ("A", "diode", "signal diode"),
            ("B", "diode", "variable-capacitance diode"),
            ("C", "transistor", "small-signal transistor"),
            ("D", "transistor", "power transistor"),
            ("E", "diode", "tunnel diode"),
            ("F", "transistor", "small-signal high-frequency transistor"),
            ("L", "transistor", "high-frequency power transistor"),
            ("N", "optocoupler", "optocoupler"),
            ("P", "diode", "light detector"),
            ("Q", "led", "light emitter"),
            ("R", "thyristor", "low-power control or switching device: thyristor, triac or diac"),
            ("S", "transistor", "low-power switching transistor, bipolar or MOSFET"),
            ("T", "triac", "power control or switching device: triac or thyristor"),
            ("U", "transistor", "power switching transistor, bipolar or MOSFET"),
            ("X", "diode", "multiplier diode"),
            ("Y", "diode", "rectifier diode"),
            ("Z", "zener", "zener or reference diode"),
        )
    }
)
JEDEC_PREFIX: Final[Mapping[str, Letter]] = MappingProxyType(
    {
        "1": Letter(sign="1N", kind="diode", meaning="one junction: a diode", source=JEDEC),
        "2": Letter(sign="2N", kind="transistor", meaning="two junctions: a transistor or thyristor", source=JEDEC),
        "3": Letter(sign="3N", kind="mosfet", meaning="three junctions or two gates", source=JEDEC),
        "4": Letter(sign="4N", kind="optocoupler", meaning="an optocoupler", source=JEDEC),
    }
)
JIS_PREFIX: Final[Mapping[str, Letter]] = MappingProxyType(
    {
        sign: Letter(sign=sign, kind=kind, meaning=meaning, source=JIS_TYPES)
        for sign, kind, meaning in (
            ("1S", "diode", "diode"),
            ("2SA", "transistor", "pnp high-frequency transistor"),
            ("2SB", "transistor", "pnp low-frequency transistor"),
            ("2SC", "transistor", "npn high-frequency transistor"),
            ("2SD", "transistor", "npn low-frequency transistor"),
            ("2SF", "thyristor", "thyristor"),
            ("2SJ", "mosfet", "p-channel field-effect transistor"),
            ("2SK", "mosfet", "n-channel field-effect transistor"),
            ("2SM", "triac", "triac"),
        )
    }
)


def _family(
    stem: str, first: int, volts: tuple[float, ...], current: float, what: str, source: Source
) -> tuple[TypeRow, ...]:
    """Numbers that run on by one with rising voltage."""
    return tuple(
        TypeRow(number=f"{stem}{first + step}", kind="diode", voltage=volt, current=current, what=what, source=source)
        for step, volt in enumerate(volts)
    )


def _lettered(stem: str, letters: str, current: float, what: str) -> tuple[TypeRow, ...]:
    """Chip rectifiers whose last letter is the voltage: A 50, B 100, D 200, G 400, J 600, K 800, M 1000 V."""
    volts = {"A": 50.0, "B": 100.0, "D": 200.0, "G": 400.0, "J": 600.0, "K": 800.0, "M": 1000.0}
    return tuple(
        TypeRow(number=stem + letter, kind="diode", voltage=volts[letter], current=current, what=what, source=GENERIC)
        for letter in letters
    )


def _bridges(numbers: Mapping[str, float], current: float, what: str = "bridge rectifier") -> tuple[TypeRow, ...]:
    return tuple(
        TypeRow(number=number, kind="bridge", voltage=volt, current=current, what=what, source=GENERIC)
        for number, volt in numbers.items()
    )


def _switch(
    kind: str, number: str, voltage: float | None, current: float, what: str, source: Source = GENERIC
) -> TypeRow:
    return TypeRow(number=number, kind=kind, voltage=voltage, current=current, what=what, source=source)


_SEVEN: Final = (50.0, 100.0, 200.0, 400.0, 600.0, 800.0, 1000.0)
_NINE: Final = (50.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 800.0, 1000.0)
_EIGHT: Final = (50.0, 100.0, 200.0, 300.0, 400.0, 600.0, 800.0, 1000.0)

DIODES: Final = (
    *_family("1N", 4001, _SEVEN, 1.0, "rectifier diode", JEDEC_RATINGS),
    *_family("1N", 5400, _NINE, 3.0, "rectifier diode", JEDEC_RATINGS),
    *_family("1N", 5391, _NINE, 1.5, "rectifier diode", JEDEC_RATINGS_RECALLED),
    *_family("1N", 4933, (50.0, 100.0, 200.0, 400.0, 600.0), 1.0, "fast rectifier diode", JEDEC_RATINGS_RECALLED),
    *_family("1N", 5817, (20.0, 30.0, 40.0), 1.0, "Schottky rectifier diode", JEDEC_RATINGS_RECALLED),
    *_family("1N", 5820, (20.0, 30.0, 40.0), 3.0, "Schottky rectifier diode", JEDEC_RATINGS_RECALLED),
    TypeRow(
        number="1N4148", kind="diode", voltage=100.0, current=0.15, what="signal diode", source=JEDEC_RATINGS_RECALLED
    ),
    TypeRow(
        number="1N4448", kind="diode", voltage=100.0, current=0.15, what="signal diode", source=JEDEC_RATINGS_RECALLED
    ),
    TypeRow(
        number="1N914", kind="diode", voltage=100.0, current=0.15, what="signal diode", source=JEDEC_RATINGS_RECALLED
    ),
    *_family("UF", 4001, _SEVEN, 1.0, "ultrafast rectifier diode", GENERIC),
    *_family("FR", 101, _SEVEN, 1.0, "fast rectifier diode", GENERIC),
    *_family("FR", 151, _SEVEN, 1.5, "fast rectifier diode", GENERIC),
    *_family("FR", 201, _SEVEN, 2.0, "fast rectifier diode", GENERIC),
    *_family("FR", 301, _SEVEN, 3.0, "fast rectifier diode", GENERIC),
    *_family("HER", 101, _EIGHT, 1.0, "ultrafast rectifier diode", GENERIC),
    *_family("HER", 201, _EIGHT, 2.0, "ultrafast rectifier diode", GENERIC),
    *_family("HER", 301, _EIGHT, 3.0, "ultrafast rectifier diode", GENERIC),
    *_family("RL", 101, _SEVEN, 1.0, "rectifier diode", GENERIC),
    *_family("RL", 201, _SEVEN, 2.0, "rectifier diode", GENERIC),
    *_family("M", 1, _SEVEN, 1.0, "chip rectifier diode, body mark", GENERIC),
    *_lettered("S1", "ABDGJKM", 1.0, "chip rectifier diode"),
    *_lettered("S2", "ABDGJKM", 2.0, "chip rectifier diode"),
    *_lettered("S3", "ABDGJKM", 3.0, "chip rectifier diode"),
    *_lettered("RS1", "ABDGJKM", 1.0, "chip fast rectifier diode"),
    *_lettered("RS2", "ABDGJKM", 1.5, "chip fast rectifier diode"),
    *_lettered("US1", "ABDGJKM", 1.0, "chip ultrafast rectifier diode"),
    *_lettered("ES1", "ABDGJ", 1.0, "chip ultrafast rectifier diode"),
    *_lettered("ES2", "ABDGJ", 2.0, "chip ultrafast rectifier diode"),
    *(
        TypeRow(
            number=f"SS{amps}{tens}",
            kind="diode",
            voltage=tens * 10.0,
            current=float(amps),
            what="chip Schottky diode",
            source=GENERIC,
        )
        for amps in (1, 2, 3, 5)
        for tens in (2, 3, 4, 5, 6, 8, 10, 15, 20)
    ),
    TypeRow(number="6A05", kind="diode", voltage=50.0, current=6.0, what="rectifier diode", source=GENERIC),
    *(
        TypeRow(number=f"6A{n}", kind="diode", voltage=n * 100.0, current=6.0, what="rectifier diode", source=GENERIC)
        for n in (1, 2, 4, 6, 8, 10)
    ),
    TypeRow(number="10A10", kind="diode", voltage=1000.0, current=10.0, what="rectifier diode", source=GENERIC),
    TypeRow(number="BY127", kind="diode", voltage=1250.0, current=1.0, what="rectifier diode", source=PRO_ELECTRON),
    TypeRow(number="BY133", kind="diode", voltage=1300.0, current=1.0, what="rectifier diode", source=GENERIC),
    TypeRow(number="BAV21", kind="diode", voltage=250.0, current=0.2, what="signal diode", source=GENERIC),
    TypeRow(number="BAT85", kind="diode", voltage=30.0, current=0.2, what="Schottky signal diode", source=GENERIC),
)

BRIDGES: Final = (
    *_bridges({f"MB{n}S": n * 100.0 for n in (1, 2, 4, 6, 8, 10)}, 0.5),
    *_bridges({f"MB{n}F": n * 100.0 for n in (2, 4, 6, 8, 10)}, 0.5),
    *_bridges({f"MB{n}M": n * 100.0 for n in (2, 4, 6, 8, 10)}, 0.5),
    *_bridges({f"ABS{n}": n * 100.0 for n in (2, 4, 6, 8, 10)}, 1.0),
    *_bridges({f"DB10{n}": volt for n, volt in enumerate(_SEVEN, 1)}, 1.0),
    *_bridges({f"DB10{n}S": volt for n, volt in enumerate(_SEVEN, 1)}, 1.0),
    *_bridges({f"RB15{n}": volt for n, volt in enumerate(_SEVEN, 1)}, 1.5),
    *_bridges(
        {f"W{n}M": volt for n, volt in zip(("005", "01", "02", "04", "06", "08", "10"), _SEVEN, strict=True)}, 1.5
    ),
    *_bridges(
        {f"2W{n}": volt for n, volt in zip(("005", "01", "02", "04", "06", "08", "10"), _SEVEN, strict=True)}, 2.0
    ),
    *_bridges(
        {f"KBP2{n}": volt for n, volt in zip(("005", "01", "02", "04", "06", "08", "10"), _SEVEN, strict=True)}, 2.0
    ),
    *_bridges(
        {f"GBU4{n}": volt for n, volt in zip(("005", "01", "02", "04", "06", "08", "10"), _SEVEN, strict=True)}, 4.0
    ),
    *_bridges(
        {f"KBU8{n}": volt for n, volt in zip(("005", "01", "02", "04", "06", "08", "10"), _SEVEN, strict=True)}, 8.0
    ),
    *_bridges({"KBP307": 1000.0, "KBP310": 1000.0}, 3.0),
)

_DIAC = "diac, breaks over between"
DIACS: Final = (
    TypeRow(
        number="DB3",
        kind="diac",
        voltage=32.0,
        current=2.0,
        what=f"{_DIAC} 28 and 36 V",
        source=DIAC_RATINGS,
        more=MappingProxyType({"least": 28.0, "most": 36.0, "asymmetry_most": 3.0, "breakback_least": 5.0}),
    ),
    TypeRow(
        number="DC34",
        kind="diac",
        voltage=34.0,
        current=2.0,
        what=f"{_DIAC} 30 and 38 V",
        source=DIAC_RATINGS,
        more=MappingProxyType({"least": 30.0, "most": 38.0, "asymmetry_most": 3.0, "breakback_least": 5.0}),
    ),
    TypeRow(
        number="DB4",
        kind="diac",
        voltage=40.0,
        current=2.0,
        what=f"{_DIAC} 35 and 45 V",
        source=DIAC_RATINGS,
        more=MappingProxyType({"least": 35.0, "most": 45.0, "asymmetry_most": 3.0, "breakback_least": 5.0}),
    ),
    TypeRow(
        number="BR100",
        kind="diac",
        voltage=32.0,
        current=2.0,
        what=f"{_DIAC} 28 and 36 V",
        source=GENERIC,
        more=MappingProxyType({"least": 28.0, "most": 36.0}),
    ),
    TypeRow(
        number="HT32",
        kind="diac",
        voltage=32.0,
        current=2.0,
        what=f"{_DIAC} 28 and 36 V",
        source=GENERIC,
        more=MappingProxyType({"least": 28.0, "most": 36.0}),
    ),
)

# Currents are rms on-state currents. Where the voltage follows the number ("-600") it is read from there.
SWITCHES: Final = (
    _switch("triac", "BT131", None, 1.0, "triac"),
    _switch("triac", "BT134", None, 4.0, "triac"),
    _switch("triac", "BT136", None, 4.0, "triac"),
    _switch("triac", "BT137", None, 8.0, "triac"),
    _switch("triac", "BT138", None, 12.0, "triac"),
    _switch("triac", "BT139", None, 16.0, "triac"),
    _switch("thyristor", "BT149", None, 0.8, "thyristor"),
    _switch("thyristor", "BT151", None, 12.0, "thyristor"),
    _switch("thyristor", "BT152", None, 20.0, "thyristor"),
    _switch("triac", "MAC97A4", 200.0, 0.6, "triac"),
    _switch("triac", "MAC97A6", 400.0, 0.6, "triac"),
    _switch("triac", "MAC97A8", 600.0, 0.6, "triac"),
    _switch("triac", "97A6", 400.0, 0.6, "triac"),
    _switch("triac", "97A8", 600.0, 0.6, "triac"),
    _switch("triac", "Z0607MA", 600.0, 0.8, "triac"),
    _switch("triac", "Z0103MA", 600.0, 1.0, "triac"),
    _switch("thyristor", "MCR100-6", 400.0, 0.8, "thyristor"),
    _switch("thyristor", "MCR100-8", 600.0, 0.8, "thyristor"),
    _switch("thyristor", "PCR406J", 400.0, 0.6, "thyristor"),
    _switch("thyristor", "C106D", 400.0, 4.0, "thyristor"),
    _switch("thyristor", "C106M", 600.0, 4.0, "thyristor"),
    _switch("thyristor", "2N5064", 200.0, 0.8, "thyristor", JEDEC_RATINGS_RECALLED),
)


def _transistor(number: str, polarity: str, voltage: float, current: float, source: Source = GENERIC) -> TypeRow:
    return TypeRow(
        number=number,
        kind="transistor",
        voltage=voltage,
        current=current,
        what=f"{polarity} transistor",
        source=source,
        more=MappingProxyType({"polarity": polarity}),
    )


def _mosfet(number: str, voltage: float, current: float, source: Source = GENERIC) -> TypeRow:
    return TypeRow(
        number=number,
        kind="mosfet",
        voltage=voltage,
        current=current,
        what="n-channel MOSFET",
        source=source,
        more=MappingProxyType({"polarity": "n"}),
    )


TRANSISTORS: Final = (
    _transistor("BC546", "npn", 65.0, 0.1),
    _transistor("BC547", "npn", 45.0, 0.1),
    _transistor("BC548", "npn", 30.0, 0.1),
    _transistor("BC556", "pnp", 65.0, 0.1),
    _transistor("BC557", "pnp", 45.0, 0.1),
    _transistor("BC558", "pnp", 30.0, 0.1),
    _transistor("BC337", "npn", 45.0, 0.8),
    _transistor("BC327", "pnp", 45.0, 0.8),
    _transistor("BC847", "npn", 45.0, 0.1),
    _transistor("BC857", "pnp", 45.0, 0.1),
    _transistor("BD139", "npn", 80.0, 1.5),
    _transistor("BD140", "pnp", 80.0, 1.5),
    _transistor("2N3904", "npn", 40.0, 0.2, JEDEC_RATINGS_RECALLED),
    _transistor("2N3906", "pnp", 40.0, 0.2, JEDEC_RATINGS_RECALLED),
    _transistor("2N2222A", "npn", 40.0, 0.8, JEDEC_RATINGS_RECALLED),
    _transistor("2N2907A", "pnp", 60.0, 0.6, JEDEC_RATINGS_RECALLED),
    _transistor("2N5551", "npn", 160.0, 0.6, JEDEC_RATINGS_RECALLED),
    _transistor("2N5401", "pnp", 150.0, 0.6, JEDEC_RATINGS_RECALLED),
    _transistor("2N3055", "npn", 60.0, 15.0, JEDEC_RATINGS_RECALLED),
    _transistor("S8050", "npn", 25.0, 0.5),
    _transistor("S8550", "pnp", 25.0, 0.5),
    _transistor("SS8050", "npn", 25.0, 1.5),
    _transistor("SS8550", "pnp", 25.0, 1.5),
    _transistor("MPSA42", "npn", 300.0, 0.5),
    _transistor("MPSA92", "pnp", 300.0, 0.5),
    _transistor("13001", "npn", 400.0, 0.2),
    _transistor("13003", "npn", 400.0, 1.5),
    _transistor("13005", "npn", 400.0, 4.0),
    _transistor("13007", "npn", 400.0, 8.0),
    _transistor("13009", "npn", 400.0, 12.0),
    _mosfet("2N7000", 60.0, 0.2, JEDEC_RATINGS_RECALLED),
    _mosfet("2N7002", 60.0, 0.115, JEDEC_RATINGS_RECALLED),
    _mosfet("BS170", 60.0, 0.5),
)

OPTOCOUPLERS: Final = tuple(
    TypeRow(number=number, kind="optocoupler", voltage=None, current=None, what=what, source=GENERIC)
    for number, what in (
        ("PC817", "optocoupler with a transistor"),
        ("EL817", "optocoupler with a transistor"),
        ("LTV817", "optocoupler with a transistor"),
        ("817", "optocoupler with a transistor"),
        ("MOC3021", "optocoupler with a triac driver, any phase, 400 V"),
        ("MOC3023", "optocoupler with a triac driver, any phase, 400 V"),
        ("MOC3041", "optocoupler with a triac driver, at zero crossings, 400 V"),
        ("MOC3063", "optocoupler with a triac driver, at zero crossings, 600 V"),
    )
)

TYPES: Final[Mapping[str, TypeRow]] = MappingProxyType(
    {row.number: row for row in (*DIODES, *BRIDGES, *DIACS, *SWITCHES, *TRANSISTORS, *OPTOCOUPLERS)}
)
"""Every type with ratings, by number."""
