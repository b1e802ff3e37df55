"""Small functions with which the schemes build their candidates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from lidoff.markings.model import UNIT_OF_KIND, Candidate
from lidoff.markings.sources import Source
from lidoff.quantity import in_series, percent, with_interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """A tolerance as marked: shares below and above, or an absolute width.

    `low` and `high` are shares (0.1 = 10 %); `absolute` is a width in the unit of the part instead [F].
    """

    low: float
    high: float
    absolute: float = 0.0

    def share(self, value: float) -> float:
        """The wider side as a share of `value` [unit of the part]."""
        return self.absolute / value if self.absolute and value else max(self.low, self.high)

    def text(self) -> str:
        """For people: "±5 %", "+80/−20 %", "±0.5 pF"."""
        if self.absolute:
            return f"±{with_interval(self.absolute, 0.0, 'F')}"
        if self.low == self.high:
            return f"±{percent(self.high)}"
        return f"+{percent(self.high).removesuffix(' %')}/−{percent(self.low)}"


def even(share: float) -> Tolerance:
    """A tolerance of that share either way."""
    return Tolerance(low=share, high=share)


def shown(value: float, unit: str) -> str:
    """A marked value: as it stands, with its prefix."""
    return with_interval(value, 0.0, unit)


def build(
    kind: str,
    value: float | None,
    *,
    source: Source,
    score: float,
    why: Iterable[str],
    tolerance: Tolerance | None = None,
    extra: str = "",
    text: str | None = None,
    more: Mapping[str, Any] | None = None,
    off_list: bool = False,
) -> Candidate:
    """A candidate; `text` is made of value, tolerance and `extra` unless given.

    value [unit of the kind]; score between 0 and 1; `off_list` marks a value that is on no list of made values.
    """
    unit = UNIT_OF_KIND[kind]
    details = dict(more or {})
    if off_list:
        details["off_list"] = True
    if tolerance is not None and value is not None and tolerance.low != tolerance.high:
        details["tolerance_low"], details["tolerance_high"] = -tolerance.low, tolerance.high
    if text is None:
        parts = [shown(value, unit) if value is not None else "", tolerance.text() if tolerance else "", extra]
        text = " ".join(part for part in parts if part).replace(" ,", ",")
    return Candidate(
        kind=kind,
        value=value,
        unit=unit,
        tolerance=None if tolerance is None or value is None else tolerance.share(value),
        text=text,
        why="; ".join(reason for reason in why if reason),
        basis=source.document,
        more=MappingProxyType(details),
        score=score,
    )


# Tolerance to the coarsest series that parts of that tolerance are made in (IEC 60063, introduction; E6 20 %,
# E12 10 %, E24 5 %, E48 2 %, E96 1 %, E192 0.5 % and better).
_SERIES_OF_TOLERANCE = ((0.15, 6), (0.075, 12), (0.03, 24), (0.015, 48), (0.0075, 96), (0.0, 192))


def series_weight(value: float, tolerance: float | None, usual: int = 24) -> tuple[float, str]:
    """How plausible a value [any unit] is for its tolerance (share), and why.

    One where the value is in the series of its tolerance or in E24 for anything finer; less in a finer series; little
    where it is in no series at all. `usual` is the series expected where no tolerance is known.
    """
    member = in_series(value)
    common = 0.9 if member == 24 else 1.0
    if member is None:
        return OFF_SERIES, "in none of the E series, so hardly a made value"
    expected = usual
    if tolerance is not None:
        expected = next(series for least, series in _SERIES_OF_TOLERANCE if tolerance >= least)
    if member <= expected or (member <= 24 <= expected):
        # E12 values are met more often than the rest of E24.
        return common, f"in the E{member} series"
    if member <= 24:
        return 0.4, f"in E{member}, though parts of this tolerance are made in E{expected}"
    if expected >= 48:
        return 0.5, f"only in E{member}, finer than its tolerance needs"
    return 0.1, f"only in E{member}, though parts of this tolerance are made in E{expected}"


OFF_SERIES: Final = 0.04
"""The weight `series_weight` gives a value that is in no series."""


def range_weight(value: float, usual: tuple[float, float], possible: tuple[float, float]) -> tuple[float, str]:
    """How plausible the size of a value is: within the usual range, the possible one, or outside both."""
    if usual[0] <= value <= usual[1]:
        return 1.0, ""
    if possible[0] <= value <= possible[1]:
        return 0.3, "an uncommon size"
    return 0.02, "a size hardly made"
