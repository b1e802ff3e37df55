"""Registered zener families: first number, voltages in order, and the tolerance letters of each family."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.sources import ZENER_CODE, ZENER_TABLE, ZENER_TABLE_RECALLED, Source


class ZenerRow(NamedTuple):
    """A registered number: voltage [V], power [W], test current [A] where known."""

    number: int
    voltage: float
    power: float
    test_current: float | None
    source: Source


class Series(NamedTuple):
    """A Pro Electron series that many makers sell: power [W] and whether it is a chip."""

    stem: str
    power: float
    what: str
    source: Source


_1W: Final = (
    3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1, 10.0, 11.0, 12.0, 13.0, 15.0, 16.0, 18.0, 20.0, 22.0,
    24.0, 27.0, 30.0, 33.0, 36.0, 39.0, 43.0, 47.0, 51.0, 56.0, 62.0, 68.0, 75.0, 82.0, 91.0, 100.0,
)  # fmt: skip
_1W_CURRENT: Final = (
    76.0, 69.0, 64.0, 58.0, 53.0, 49.0, 45.0, 41.0, 37.0, 34.0, 31.0, 28.0, 25.0, 23.0, 21.0, 19.0, 17.0, 15.5, 14.0,
    12.5, 11.5, 10.5, 9.5, 8.5, 7.5, 7.0, 6.5, 6.0, 5.5, 5.0, 4.5, 4.0, 3.7, 3.3, 3.0, 2.8, 2.5,
)  # fmt: skip
_HALF_W: Final = (
    2.4, 2.5, 2.7, 2.8, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.0, 6.2, 6.8, 7.5, 8.2, 8.7, 9.1, 10.0, 11.0, 12.0,
    13.0, 14.0, 15.0, 16.0, 17.0, 18.0, 19.0, 20.0, 22.0, 24.0, 25.0, 27.0, 28.0, 30.0, 33.0, 36.0, 39.0, 43.0, 47.0,
    51.0, 56.0, 60.0, 62.0, 68.0, 75.0, 82.0, 87.0, 91.0, 100.0, 110.0, 120.0, 130.0, 140.0, 150.0, 160.0, 170.0,
    180.0, 190.0, 200.0,
)  # fmt: skip
_746: Final = (3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1, 10.0, 12.0)
_957: Final = (
    6.8, 7.5, 8.2, 9.1, 10.0, 11.0, 12.0, 13.0, 15.0, 16.0, 18.0, 20.0, 22.0, 24.0, 27.0, 30.0, 33.0, 36.0, 39.0, 43.0,
    47.0, 51.0, 56.0, 62.0, 68.0, 75.0, 82.0, 91.0, 100.0, 110.0, 120.0, 130.0, 150.0, 160.0, 180.0, 200.0,
)  # fmt: skip
_5W: Final = (
    3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.0, 6.2, 6.8, 7.5, 8.2, 8.7, 9.1, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0,
    17.0, 18.0, 19.0, 20.0, 22.0, 24.0, 25.0, 27.0, 28.0, 30.0, 33.0, 36.0, 39.0, 43.0, 47.0, 51.0, 56.0, 60.0, 62.0,
    68.0, 75.0, 82.0, 87.0, 91.0, 100.0, 110.0, 120.0, 130.0, 140.0, 150.0, 160.0, 170.0, 180.0, 190.0, 200.0,
)  # fmt: skip


def _rows(
    first: int, voltages: tuple[float, ...], power: float, seen_to: int = 0, currents: tuple[float, ...] = ()
) -> tuple[ZenerRow, ...]:
    """Rows of one family; those up to the number `seen_to` were read in data sheets [mA for `currents`]."""
    return tuple(
        ZenerRow(
            number=first + step,
            voltage=voltage,
            power=power,
            test_current=currents[step] / 1000.0 if currents else None,
            source=ZENER_TABLE if first + step <= seen_to else ZENER_TABLE_RECALLED,
        )
        for step, voltage in enumerate(voltages)
    )


ROWS: Final = (
    *_rows(4728, _1W, 1.0, seen_to=4754, currents=_1W_CURRENT),
    *_rows(5221, _HALF_W, 0.5),
    *_rows(746, _746, 0.5),
    *_rows(957, _957, 0.5),
    *_rows(5333, _5W, 5.0),
)
ZENERS: Final[Mapping[int, ZenerRow]] = MappingProxyType({row.number: row for row in ROWS})

# Tolerance by suffix, by family: the first number of the family, then suffix to share. 1N4728 seen; rest from memory.
SUFFIXES: Final[Mapping[int, Mapping[str, float]]] = MappingProxyType(
    {
        746: {"": 0.10, "A": 0.05, "C": 0.02, "D": 0.01},
        957: {"": 0.20, "A": 0.10, "B": 0.05, "C": 0.02, "D": 0.01},
        4728: {"": 0.10, "A": 0.05, "C": 0.02, "D": 0.01},
        5221: {"": 0.20, "A": 0.10, "B": 0.05, "C": 0.02, "D": 0.01},
        5333: {"": 0.20, "A": 0.10, "B": 0.05, "C": 0.02, "D": 0.01},
    }
)

# Pro Electron: the letter before the voltage. E was read as 15 % in one text; older lists give 20 %.
CODE_LETTERS: Final[Mapping[str, float]] = MappingProxyType({"A": 0.01, "B": 0.02, "C": 0.05, "D": 0.10, "E": 0.15})
CODE_SOURCE: Final = ZENER_CODE

SERIES: Final[Mapping[str, Series]] = MappingProxyType(
    {
        row.stem: row
        for row in (
            Series(stem="BZX55", power=0.5, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZX79", power=0.5, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZX83", power=0.5, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZX85", power=1.3, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZV85", power=1.3, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZY88", power=0.4, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZV55", power=0.5, what="glass chip", source=ZENER_TABLE_RECALLED),
            Series(stem="BZX84", power=0.25, what="chip of three leads", source=ZENER_TABLE_RECALLED),
            Series(stem="BZT52", power=0.4, what="chip", source=ZENER_TABLE_RECALLED),
            Series(stem="BZT03", power=3.0, what="glass", source=ZENER_TABLE_RECALLED),
            Series(stem="BZG03", power=3.0, what="chip", source=ZENER_TABLE_RECALLED),
            Series(stem="BZX384", power=0.3, what="chip", source=ZENER_TABLE_RECALLED),
        )
    }
)


def family_of(number: int) -> int | None:
    """The first number of the registered family a number belongs to, or None."""
    if number not in ZENERS:
        return None
    return max(first for first in SUFFIXES if first <= number)
