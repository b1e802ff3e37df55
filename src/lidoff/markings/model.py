"""What decoding gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final

from lidoff.errors import LidoffError

_EMPTY: Final[Mapping[str, Any]] = MappingProxyType({})

UNIT_OF_KIND: Final[Mapping[str, str]] = MappingProxyType(
    {
        "resistor": "ohm",
        "potentiometer": "ohm",
        "link": "ohm",
        "capacitor": "F",
        "inductor": "H",
        "choke": "H",
        "fuse": "A",
        "varistor": "V",
        "thermistor": "ohm",
        "diode": "V",
        "bridge": "V",
        "zener": "V",
        "cord": "mm2",
        "enclosure": "",
        "diac": "V",
        "triac": "V",
        "thyristor": "V",
        "transistor": "V",
        "mosfet": "V",
        "optocoupler": "",
        "led": "",
        "symbol": "",
        "date": "",
        "switch": "A",
    }
)
"""Kind to the unit of its value: resistance [ohm], capacitance [F], inductance [H], rated current of a fuse or of
contacts [A], varistor voltage at 1 mA [V], thermistor resistance at 25 °C [ohm], repetitive reverse or off-state
voltage of diodes, bridges, triacs and thyristors [V], breakover voltage of a diac [V], zener voltage [V], largest
collector or drain voltage [V], cross-section of one core [mm²], the digits of an IP code [plain number]."""


class MarkingError(LidoffError, ValueError):
    """A question that cannot be put: no marking, a kind that does not exist, a unit that tells nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One thing a marking can mean.

    `value` [unit of the kind, see `UNIT_OF_KIND`] is None where the marking gives none; `tolerance` is a share (the
    wider side where it is lopsided), None where it is neither marked nor implied. `text` is for people, `why` says
    what speaks for and against it, `basis` names the document, `more` holds what else the marking tells (SI units;
    temperatures in kelvins). `score` orders candidates, 1 being as good as a marking gets.
    """

    kind: str
    value: float | None
    unit: str
    tolerance: float | None
    text: str
    why: str
    basis: str
    more: Mapping[str, Any] = field(default_factory=lambda: _EMPTY)
    score: float = 0.0

    def as_json(self) -> dict[str, Any]:
        """The candidate as `decode --json` prints it."""
        return {
            "kind": self.kind,
            "value": self.value,
            "unit": self.unit,
            "tolerance": self.tolerance,
            "text": self.text,
            "why": self.why,
            "basis": self.basis,
            "more": {key: list(value) if isinstance(value, tuple) else value for key, value in self.more.items()},
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Decoded:
    """A marking with everything it can mean, best first.

    `marking` is as given and `seen` what was made out in it (each band with its possible colours, or the words).
    `settled` says whether the first candidate may be taken as it stands; where it may not, `would_settle` says what
    to look at or measure.
    """

    marking: str
    seen: tuple[tuple[str, ...], ...]
    candidates: tuple[Candidate, ...]
    settled: bool
    would_settle: tuple[str, ...] = ()

    @property
    def taken(self) -> Candidate | None:
        """The candidate to take: the first one, if the marking settles it; else None."""
        return self.candidates[0] if self.settled and self.candidates else None

    def as_json(self) -> dict[str, Any]:
        """The mapping that `decode --json` prints."""
        return {
            "marking": self.marking,
            "candidates": [candidate.as_json() for candidate in self.candidates],
            "settled": self.settled,
            "would_settle": list(self.would_settle),
        }
