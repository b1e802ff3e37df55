"""A figure beside a published limit: which side it lies on, by how much, and how far the limit reaches.

Nothing here passes or fails anything. A comparison says on which side of a line one computed or recorded wave lies, in
which document the line stands, and why the line may not be meant for this wave at all.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final, Literal

from lidoff.quantity import engineering
from lidoff.standards import Row

Origin = Literal["computed", "recorded"]
_FAR: Final = 1e9  # from which a row of zeros tells nobody anything


def number(value: float) -> str:
    """A figure at three significant digits, without a power of ten where it can be helped."""
    if abs(value) < 1e-6:
        return "0"
    if abs(value) < 1e-3:
        return f"{value:.6f}".rstrip("0")
    text = f"{value:.3g}"
    if "e" not in text:
        return text
    return f"{value:.0f}" if abs(value) < _FAR else engineering(value, "")


def amount(value: float, unit: str) -> str:
    """A round value with its unit and prefix, without zeros that say nothing: "150 kHz", "1 mH"."""
    figure, _, rest = engineering(value, unit, 3).partition(" ")
    return f"{figure.rstrip('0').rstrip('.') if '.' in figure else figure} {rest}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of a comparison: `name` with its `value` and `limit` in `unit`.

    `ignored` says that the measuring rules leave it out of account (harmonics too small to count).
    """

    name: str
    value: float
    limit: float
    unit: str
    ignored: bool = False

    @property
    def share(self) -> float:
        """Value over limit [1]."""
        return self.value / self.limit

    def __str__(self) -> str:
        """Name, value and limit as a clause of a sentence."""
        if self.unit == "A":
            return f"{self.name} is {amount(self.value, 'A')} against {amount(self.limit, 'A')}"
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.name} is {number(self.value)}{unit} against {number(self.limit)}{unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A figure, or a set of them, beside a published limit.

    `kind` is "ceiling" or "floor". `applies` is False where the limit is not meant for this item or state, and `scope`
    says why, a sentence each. Without items there is no limit to lie under or over. `worst` is the item that lies
    closest to its limit, or furthest beyond it; ignored ones do not count.
    """

    id: str
    title: str
    basis: Row
    items: tuple[Item, ...]
    kind: Literal["ceiling", "floor"] = "ceiling"
    origin: Origin = "computed"
    applies: bool = True
    scope: tuple[str, ...] = ()
    all_verified: bool = True
    worst: Item | None = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Look for the worst line once: every sentence and figure below asks for it."""
        counted = [item for item in self.items if not item.ignored]
        pick = max if self.kind == "ceiling" else min
        object.__setattr__(self, "worst", pick(counted, key=lambda item: item.share) if counted else None)

    @property
    def margin(self) -> float | None:
        """Share of the limit that is left [1]; negative beyond it."""
        if self.worst is None:
            return None
        return 1.0 - self.worst.share if self.kind == "ceiling" else self.worst.share - 1.0

    @property
    def lies(self) -> Literal["under", "over"] | None:
        """The side of the limit on which the wave lies; on the line counts as the good side."""
        margin = self.margin
        if margin is None:
            return None
        return "under" if (margin >= 0.0) == (self.kind == "ceiling") else "over"

    @property
    def beyond(self) -> bool | None:
        """Whether the wave lies on the wrong side of the limit; None where there is none."""
        margin = self.margin
        return None if margin is None else margin < 0.0

    @property
    def verified(self) -> bool:
        """Whether every limit compared with was read in a source rather than remembered."""
        return self.basis.verified and self.all_verified

    @property
    def wording(self) -> str:
        """The comparison as a sentence."""
        if self.worst is None:
            if self.items:
                return f"Every harmonic of the {self.origin} wave is too small to count here."
            return "There is no limit here for the wave to lie under or over."
        line = "limit" if self.kind == "ceiling" else "floor"
        crossed = (
            [item for item in self.items if not item.ignored and item.share > 1.0] if self.kind == "ceiling" else []
        )
        more = f" ({len(crossed)} of its lines are crossed)" if len(crossed) > 1 else ""
        lead = "" if self.applies else "For comparison only: "
        the = "the" if lead else "The"
        return f"{lead}{the} {self.origin} wave lies {self.lies} the {line}: {self.worst}{more}."

    def as_dict(self) -> dict[str, Any]:
        """The comparison in the form in which the figures print it."""
        worst = self.worst
        return {
            "id": self.id,
            "title": self.title,
            "document": self.basis.document,
            "edition": self.basis.edition,
            "clause": self.basis.clause,
            "verified": self.verified,
            "quantity": worst.name if worst else None,
            "value": worst.value if worst else None,
            "limit": worst.limit if worst else None,
            "unit": worst.unit if worst else None,
            "margin": self.margin,
            "lies": self.lies,
            "beyond": self.beyond,
            "applies": self.applies,
            "wording": self.wording,
            "scope": list(self.scope),
            "items": [
                {
                    "name": item.name,
                    "value": item.value,
                    "limit": item.limit,
                    "unit": item.unit,
                    "ignored": item.ignored,
                }
                for item in self.items
            ],
        }
