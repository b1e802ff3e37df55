"""Whether a fuse opens, and when: I2t for surges, the published time-current gates for steady currents.

Gates say least and most time; between them a fuse may do either. What melts it in a surge is I2t: the record's figure,
else the least that the gates of its standard allow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from lidoff.circuit.model import Element
from lidoff.standards.fuses import (
    BREAKING,
    MINIATURE_FUSE_TIMES,
    PLUG_FUSE_TIMES,
    OpeningTime,
    miniature_fuse_opening,
    plug_fuse_opening,
)

# Sheets of IEC 60127-2 by speed: the one that gives the least time, the one that gives the most.
_SHEETS: Final = {
    "very quick": ("F L", "F L"),
    "quick": ("F L", "F L"),
    "medium": ("F L", "T L"),
    "slow": ("T L", "T L"),
    "very slow": ("T L", "T L"),
}
_UNKNOWN_SPEED: Final = ("F L", "T L")
_LARGEST_IN_TABLE: Final = 6.3  # [A]
_SMALLEST_IN_TABLE: Final = 0.032


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuse:
    """A fuse as the studies see it: a part of the circuit, or the one in the plug.

    `rating` [A] is None where nobody knows it. `breaking` [A] is the prospective current it is rated to clear, None
    where its marking does not say. `i2t` [A2s] as recorded.
    """

    ref: str
    rating: float | None
    speed: str | None = None
    plug: bool = False
    i2t: float | None = None
    breaking: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """When a fuse opens at a steady rms current.

    `opens` is True where it must, False where it must not, None where it may; `least` and `most` [s] bound the time
    (None: no bound). `basis` names the document.
    """

    opens: bool | None
    least: float | None
    most: float | None
    basis: str


def fuse_of(element: Element, breaking: float | None = None) -> Fuse:
    """The fuse that a part of kind "fuse" is."""
    rating = element.values.get("rating")
    if rating is None:
        rating = element.rating.get("current")
    i2t = element.rating.get("i2t")
    speed = element.values.get("speed")
    return Fuse(
        ref=element.ref,
        rating=float(rating) if isinstance(rating, int | float) else None,
        speed=str(speed) if speed is not None else None,
        i2t=float(i2t) if isinstance(i2t, int | float) else None,
        breaking=breaking,
    )


def breaking_capacity(letter: str, rating: float) -> float:
    """Rated breaking capacity [A] of a miniature fuse by its letter ("L", "E", "H") and rated current [A].

    IEC 60127-2: low is 35 A or ten times the rated current. Raises KeyError for another letter.
    """
    capacity = BREAKING.number(letter)
    return max(capacity, 10.0 * rating) if letter == "L" else capacity


def melting_i2t(fuse: Fuse) -> tuple[float | None, bool, str]:
    """I2t [A2s] that certainly does not open the fuse, whether it is assumed, and where it comes from.

    As recorded, else the least that its standard's gates allow: the square of the gate's current times the least time.
    """
    if fuse.i2t is not None:
        return fuse.i2t, False, "as recorded"
    if fuse.rating is None:
        return None, False, "its rated current is not known"
    if fuse.plug:
        gates = [
            float(row.key[1]) ** 2 * row.number
            for row in PLUG_FUSE_TIMES.rows
            if row.key[0] == fuse.rating and row.key[2] == "least"
        ]
        return (min(gates), True, "least of the gates of BS 1362") if gates else (None, False, "BS 1362 has no gates")
    sheet = _SHEETS.get(fuse.speed or "", _UNKNOWN_SPEED)[0]
    multiples = [
        float(row.key[2]) ** 2 * row.number
        for row in MINIATURE_FUSE_TIMES.rows
        if row.key[0] == sheet and row.key[3] == "least" and float(row.key[2]) > 2.0 and _band_holds(row.key[1], fuse)
    ]
    value = min(multiples) * fuse.rating**2
    speed = "" if fuse.speed else ", taken as quick because its speed is not known"
    return value, True, f"least of the gates of IEC 60127-2 sheet {sheet}{speed}"


def opening(fuse: Fuse, current: float) -> Opening | None:
    """When the fuse opens at a steady `current` [A rms]; None where its rated current is not known."""
    if fuse.rating is None:
        return None
    if fuse.plug:
        return _opened(plug_fuse_opening(fuse.rating, current), "BS 1362")
    early, late = _SHEETS.get(fuse.speed or "", _UNKNOWN_SPEED)
    # Above the largest rating of the sheets the multiples are taken over: common practice, no source.
    scale = fuse.rating / min(max(fuse.rating, _SMALLEST_IN_TABLE), _LARGEST_IN_TABLE)
    least = _times(early, fuse.rating / scale, current / scale)
    most = _times(late, fuse.rating / scale, current / scale)
    sheets = early if early == late else f"{early} and {late}"
    beyond = "" if scale == 1.0 else ", taken beyond its largest rating"
    joined = OpeningTime(least=least.least, most=most.most, rows=(*least.rows, *most.rows))
    return _opened(joined, f"IEC 60127-2 sheet {sheets}{beyond}")


def _times(sheet: str, rating: float, current: float) -> OpeningTime:
    # The sheets' bands leave out a rating here and there (between 100 mA and 125 mA): the nearest band serves.
    try:
        return miniature_fuse_opening(sheet, rating, current)
    except ValueError:
        near = 0.1 if rating < 0.112 else 0.125
        return miniature_fuse_opening(sheet, near, current * near / rating)


def _band_holds(band: str | float, fuse: Fuse) -> bool:
    low, high = (float(a) * (1e-3 if unit == "mA" else 1.0) for a, unit in (e.split() for e in str(band).split(" to ")))
    assert fuse.rating is not None
    rating = min(max(fuse.rating, _SMALLEST_IN_TABLE), _LARGEST_IN_TABLE)
    return low * 0.8 <= rating <= high * 1.25


def _opened(times: OpeningTime, basis: str) -> Opening:
    if times.most is not None:
        return Opening(opens=True, least=times.least, most=times.most, basis=basis)
    # Nothing says that it must open; below the current that it carries for an hour it must not.
    carries = times.least >= 1800.0
    return Opening(opens=False if carries else None, least=times.least or None, most=None, basis=basis)
