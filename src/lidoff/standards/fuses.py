"""How long a fuse carries or takes to open: time-current gates of BS 1362 and IEC 60127-2, breaking capacities."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from lidoff.standards.rows import Row, Seen, Source, Table

_BS: Final = Source(
    table="plug-fuse-times",
    document="BS 1362",
    edition="1973",
    clause="time-current zones",
    unit="s",
    seen="verified",
    witness="web",
    note="zones for 3 A and 13 A only; one reader of the standard says its curves are examples",
)
PLUG_FUSE_TIMES: Final = Table(
    id="plug-fuse-times",
    title="British plug fuse: least and most time to open by rating [A] and current [A]",
    keys=("rating [A]", "current [A]", "bound"),
    rows=(
        _BS.row(3.0, 9.0, "least", value=0.02),
        _BS.row(3.0, 9.0, "most", value=80.0),
        _BS.row(3.0, 20.0, "most", value=0.1),
        _BS.row(3.0, 30.0, "most", value=0.03),
        _BS.row(13.0, 30.0, "least", value=1.0),
        _BS.row(13.0, 30.0, "most", value=400.0),
        _BS.row(13.0, 50.0, "least", value=0.1),
        _BS.row(13.0, 50.0, "most", value=20.0),
        _BS.row(13.0, 100.0, "least", value=0.01),
        _BS.row(13.0, 100.0, "most", value=0.2),
    ),
)

_BSM: Final = Source(
    table="plug-fuse-carrying",
    document="BS 1362",
    edition="1973",
    clause="operating currents",
    unit="times rated",
    seen="verified",
    witness="web",
)
PLUG_FUSE_CARRYING: Final = Table(
    id="plug-fuse-carrying",
    title="British plug fuse: what it must carry and must open at, within 30 min",
    keys=("what",),
    rows=(
        _BSM.row("opens within 30 min", value=1.9, note="13 A: 24.7 A"),
        _BSM.row("carries for 30 min", value=1.6, seen="memory", note="13 A: 20.8 A"),
    ),
)

_T: Final = Source(
    table="miniature-fuse-times",
    document="IEC 60127-2",
    edition="2003+A2:2010",
    clause="standard sheet",
    unit="s",
    seen="verified",
    witness="copy",
)
_MULTIPLES: Final = (
    ("1.5", "least"),
    ("2.1", "most"),
    ("2.75", "least"),
    ("2.75", "most"),
    ("4", "least"),
    ("4", "most"),
    ("10", "least"),
    ("10", "most"),
)


def _sheet(name: str, clause: str, seen: Seen, lines: dict[str, tuple[float | None, ...]], note: str = "") -> list[Row]:
    return [
        _T.row(name, band, multiple, bound, value=value, clause=clause, seen=seen, note=note)
        for band, values in lines.items()
        for (multiple, bound), value in zip(_MULTIPLES, values, strict=True)
        if value is not None
    ]


MINIATURE_FUSE_TIMES: Final = Table(
    id="miniature-fuse-times",
    title="Miniature fuses: least and most time to open by sheet, rating band and multiple of the rated current",
    keys=("sheet", "rated current", "multiple", "bound"),
    rows=(
        *_sheet(
            "F H",
            "Standard sheet 1",
            "memory",
            {
                "50 mA to 3.15 A": (3600.0, 1800.0, 0.01, 2.0, 0.003, 0.3, None, 0.02),
                "4 A to 6.3 A": (3600.0, 1800.0, 0.01, 3.0, 0.003, 0.3, None, 0.02),
            },
        ),
        *_sheet(
            "F L",
            "Standard sheet 2",
            "memory",
            {
                "32 mA to 100 mA": (3600.0, 1800.0, 0.01, 0.5, 0.003, 0.1, None, 0.02),
                "125 mA to 6.3 A": (3600.0, 1800.0, 0.05, 2.0, 0.01, 0.3, None, 0.02),
            },
        ),
        *_sheet(
            "T L",
            "Standard sheet 3",
            "verified",
            {
                "32 mA to 100 mA": (3600.0, 120.0, 0.2, 10.0, 0.04, 3.0, 0.01, 0.3),
                "125 mA to 6.3 A": (3600.0, 120.0, 0.6, 10.0, 0.15, 3.0, 0.02, 0.3),
            },
            "as printed in a fuse maker's data sheet",
        ),
        *_sheet(
            "T H",
            "Standard sheet 5",
            "verified",
            {
                "1 A to 3.15 A": (3600.0, 1800.0, 0.75, 80.0, 0.095, 5.0, 0.01, 0.15),
                "4 A to 6.3 A": (3600.0, 1800.0, 0.75, 80.0, 0.15, 5.0, 0.02, 0.15),
            },
            "as printed in a fuse maker's data sheet; an older catalogue has 1 s and 0.1 s as first and last bounds",
        ),
    ),
)

_B: Final = Source(
    table="miniature-fuse-breaking",
    document="IEC 60127-2",
    edition="2003+A2:2010",
    clause="breaking capacity",
    unit="A",
    seen="verified",
    witness="web",
)
BREAKING: Final = Table(
    id="miniature-fuse-breaking",
    title="Miniature fuses: rated breaking capacity by letter, at 250 V",
    keys=("letter",),
    rows=(
        _B.row("L", value=35.0, note="or ten times the rated current, if that is more"),
        _B.row("E", value=150.0, seen="memory"),
        _B.row("H", value=1500.0),
    ),
)

TABLES: Final = (PLUG_FUSE_TIMES, PLUG_FUSE_CARRYING, MINIATURE_FUSE_TIMES, BREAKING)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningTime:
    """When a fuse opens at a steady current: least and most time [s], and the rows that say so.

    `least` 0 means nothing is promised; `most` None means it need not open.
    """

    least: float
    most: float | None
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gate:
    """A point of a time-current characteristic: at `current` [A] the time is at least, or at most, `time` [s]."""

    current: float
    time: float
    row: Row


def _between(gates: list[_Gate], current: float) -> tuple[float, tuple[Row, ...]]:
    """The time at a current within the span of the gates, on straight lines in a log-log plot."""
    upper = next(i for i, gate in enumerate(gates) if current <= gate.current)
    high = gates[upper]
    if upper == 0 or current == high.current:
        return high.time, (high.row,)
    low = gates[upper - 1]
    share = math.log(current / low.current) / math.log(high.current / low.current)
    return low.time * (high.time / low.time) ** share, (low.row, high.row)


def _opening(least: list[_Gate], most: list[_Gate], current: float) -> OpeningTime:
    least = sorted(least, key=lambda gate: gate.current)
    most = sorted(most, key=lambda gate: gate.current)
    # Below the first "carries" gate the fuse lasts at least as long as there; above the last nothing is promised.
    early, early_rows = _between(least, max(current, least[0].current)) if current <= least[-1].current else (0.0, ())
    # Below the first "opens" gate the fuse need not open; above the last it opens at least as fast as there.
    late, late_rows = _between(most, min(current, most[-1].current)) if current >= most[0].current else (None, ())
    return OpeningTime(least=early, most=late, rows=(*early_rows, *late_rows))


def plug_fuse_opening(rating: float, current: float) -> OpeningTime:
    """When a British plug fuse of `rating` [A] opens at a steady `current` [A rms].

    Gates of BS 1362 joined by straight lines in a log-log plot, the 30 min points included. Only 3 A and 13 A have
    published zones; other ratings take the 30 min points alone. Beyond the last gate that gate's time stands.
    """
    carries = PLUG_FUSE_CARRYING.row("carries for 30 min")
    opens = PLUG_FUSE_CARRYING.row("opens within 30 min")
    least = [_Gate(current=carries.number * rating, time=1800.0, row=carries)]
    most = [_Gate(current=opens.number * rating, time=1800.0, row=opens)]
    for row in PLUG_FUSE_TIMES.rows:
        if row.key[0] == rating:
            side = least if row.key[2] == "least" else most
            side.append(_Gate(current=float(row.key[1]), time=row.number, row=row))
    return _opening(least, most, current)


def miniature_fuse_opening(sheet: str, rating: float, current: float) -> OpeningTime:
    """When a miniature fuse of `sheet` ("F L", "F H", "T L" or "T H") and `rating` [A] opens at `current` [A rms].

    Gates of IEC 60127-2 joined by straight lines in a log-log plot. Raises ValueError where no band holds the rating.
    """
    bands = tuple(dict.fromkeys(str(row.key[1]) for row in MINIATURE_FUSE_TIMES.rows if row.key[0] == sheet))
    band = next((band for band in bands if _in_band(band, rating)), None)
    if band is None:
        known = ", ".join(bands) or "none"
        raise ValueError(f"no times for a {sheet!r} fuse of {rating:g} A; the bands known are {known}")
    sides: dict[str, list[_Gate]] = {"least": [], "most": []}
    for row in MINIATURE_FUSE_TIMES.rows:
        if row.key[:2] == (sheet, band):
            sides[str(row.key[3])].append(_Gate(current=float(row.key[2]) * rating, time=row.number, row=row))
    return _opening(sides["least"], sides["most"], current)


def _amperes(text: str) -> float:
    number, unit = text.split()
    return float(number) * (1e-3 if unit == "mA" else 1.0)


def _in_band(band: str, rating: float) -> bool:
    low, high = (_amperes(end) for end in band.split(" to "))
    return low * 0.999 <= rating <= high * 1.001
