"""What judging gives: findings with their evidence, what could not be decided, and what nobody looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from lidoff.figures.comparison import amount
from lidoff.record.model import EMPTY
from lidoff.standards import Row, document
from lidoff.standards.risk import LEVELS, Level

Confidence = Literal["seen", "worked out", "likely"]
CONFIDENCE: Final[Mapping[Confidence, str]] = {
    "seen": "Seen or measured on the item itself.",
    "worked out": "Worked out from values that were recorded or marked on the item.",
    "likely": "Rests on a rule of thumb or on a value that nobody recorded.",
}
Origin = Literal["published", "assumed", "chosen"]
# How far a step's probability may be off, up and down: a published or chosen one is taken as it stands.
FACTORS: Final[Mapping[Origin, float]] = {"published": 1.0, "assumed": 3.0, "chosen": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """Where a rule's yardstick stands: document, edition, clause, whether the text was read, and what it says.

    Raises UnknownDocumentError for a document that is not on the list, ValueError for an edition that it has not.
    """

    document: str
    edition: str
    clause: str
    verified: bool
    what: str = ""

    def __post_init__(self) -> None:
        """Refuse a source that nobody can look up."""
        known = document(self.document)
        if self.edition not in known.editions:
            raise ValueError(f"{self.document} has no edition {self.edition!r}, only {known.editions}")
        if not self.clause:
            raise ValueError(f"{self.document}: a basis names its clause")

    @classmethod
    def of(cls, row: Row, what: str = "") -> Basis:
        """The basis that a row of a published table is; without `what` it says the row's key, value and unit."""
        value = str(row.value) if row.unit == "text" else _amount(row)
        key = ", ".join(f"{one:g}" if isinstance(one, float | int) else one for one in row.key)
        return cls(
            document=row.document,
            edition=row.edition,
            clause=row.clause,
            verified=row.verified,
            what=what or f"{key}: {value}",
        )

    def as_json(self) -> dict[str, Any]:
        """The mapping in which findings print it."""
        return {
            "document": self.document,
            "edition": self.edition,
            "clause": self.clause,
            "verified": self.verified,
            "what": self.what,
        }

    @property
    def place(self) -> str:
        """Document, edition and clause."""
        edition = "" if self.edition in ("not stated", "-", "various") else f":{self.edition}"
        return f"{self.document}{edition}, {self.clause}"

    def __str__(self) -> str:
        return f"{self.place} ({'read' if self.verified else 'from memory'})"


def cited(basis: Iterable[Basis]) -> str:
    """Each place of a finding's basis once, and how far it was read."""
    places: dict[str, set[bool]] = {}
    for one in basis:
        places.setdefault(one.place, set()).add(one.verified)
    how = {(True,): "read", (False,): "from memory", (False, True): "read, in part from memory"}
    return "; ".join(f"{place} ({how[tuple(sorted(seen))]})" for place, seen in places.items())


def _amount(row: Row) -> str:
    """The value of a row with its unit, as people write it: "100 nF", "1 MΩ", "9.5 mm"."""
    if row.unit in ("V", "A", "F", "ohm", "H", "W", "Hz", "s"):
        return amount(row.number, row.unit)
    return f"{row.value:g} {row.unit}".removesuffix(" 1")


def memory(id: str, clause: str, what: str = "") -> Basis:
    """A basis that is remembered, of the document's first edition on the list."""
    return Basis(document=id, edition=document(id).edition, clause=clause, verified=False, what=what)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of an injury scenario: what happens, how probable it is once the step before has [1], and who says so.

    `factor` [1] is how far the probability may be off, up and down.
    """

    what: str
    probability: float
    origin: Origin = "assumed"

    @property
    def factor(self) -> float:
        """How far the probability may be off [1], up and down."""
        return 1.0 if self.probability in (0.0, 1.0) else FACTORS[self.origin]

    def as_json(self) -> dict[str, Any]:
        """The mapping in which findings print it."""
        return {"what": self.what, "probability": self.probability, "from": self.origin}


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """A scenario rated: its steps, their product [1], severity 1 to 4 and level.

    `low` and `high` are the levels where the product is divided and multiplied by `factor` [1].
    """

    steps: tuple[Step, ...]
    severity: int
    probability: float
    level: Level
    low: Level
    high: Level
    factor: float

    @property
    def flips(self) -> bool:
        """Whether the level changes within the uncertainty of the steps."""
        return self.low != self.high

    @property
    def words(self) -> str:
        """The level as a sentence, with what it may become."""
        if not self.flips:
            return (
                f"{self.level.capitalize()} risk; it stays so if the probability is off by a factor {self.factor:.2g}."
            )
        return (
            f"{self.level.capitalize()} risk; between {self.low} and {self.high} if the probability is off by a factor "
            f"{self.factor:.2g}."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A judged hazard: severity and probability in `risk`, how sure in `confidence`, on what in `evidence`.

    `because` says what was found on this item; `why` why such a thing matters. Raises ValueError without evidence,
    reason or basis.
    """

    code: str
    id: str
    title: str
    risk: Risk
    confidence: Confidence
    evidence: tuple[str, ...]
    because: tuple[str, ...]
    basis: tuple[Basis, ...]
    why: str
    settles: str
    action: str
    caution: str
    about: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a finding that stands on nothing."""
        for name in ("evidence", "because", "basis"):
            if not getattr(self, name) or not all(str(one).strip() for one in getattr(self, name)):
                raise ValueError(f"the finding {self.id!r} has no {name}")

    def as_json(self) -> dict[str, Any]:
        """The mapping that `hazards --json` prints."""
        return {
            "code": self.code,
            "id": self.id,
            "title": self.title,
            "about": list(self.about),
            "severity": self.risk.severity,
            "steps": [step.as_json() for step in self.risk.steps],
            "probability": self.risk.probability,
            "risk": self.risk.level,
            "risk_low": self.risk.low,
            "risk_high": self.risk.high,
            "flips": self.risk.flips,
            "factor": self.risk.factor,
            "risk_words": self.risk.words,
            "confidence": self.confidence,
            "confidence_words": CONFIDENCE[self.confidence],
            "evidence": list(self.evidence),
            "because": list(self.because),
            "why": self.why,
            "basis": [one.as_json() for one in self.basis],
            "would_settle": self.settles,
            "action": self.action,
            "caution": self.caution,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Undecided:
    """A rule that applies and could not be decided, and what it needs."""

    code: str
    id: str
    title: str
    needs: tuple[str, ...]
    about: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `hazards --json` prints."""
        return {
            "code": self.code,
            "id": self.id,
            "title": self.title,
            "about": list(self.about),
            "needs": list(self.needs),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """Everything judged of an item: findings worst first, open questions, what was not looked at, cautions.

    `looked_at` are the questions of the look list that have an answer, with it; `not_looked_at` those without.
    `silent` are the ids of the rules that neither found anything nor lacked anything. `catalogue` is the version of the
    rules. `skipped` says what was not worked out. `verdict` is the practitioner's own.
    """

    findings: tuple[Finding, ...]
    undecided: tuple[Undecided, ...]
    looked_at: tuple[str, ...]
    not_looked_at: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = ()
    silent: tuple[str, ...] = ()
    skipped: tuple[str, ...] = ()
    catalogue: str = ""
    verdict: Mapping[str, Any] = field(default_factory=lambda: EMPTY)

    @property
    def level(self) -> Level | None:
        """The item's level, the highest of its findings' (Annex II of (EU) 2024/3173); None without findings."""
        return max((one.risk.level for one in self.findings), key=LEVELS.index, default=None)

    @property
    def sentence(self) -> str:
        """What came of it in one sentence, which never calls the item good."""
        fired = "no rule" if not self.findings else f"{len(self.findings)} finding{'s' * (len(self.findings) != 1)}"
        level = f", the highest at {self.level} risk" if self.level else " found anything"
        return (
            f"Catalogue {self.catalogue}: {fired}{level}; {len(self.undecided)} undecided; "
            f"{len(self.not_looked_at)} things not looked at."
        )

    def finding(self, id: str) -> tuple[Finding, ...]:
        """The findings of one rule."""
        return tuple(one for one in self.findings if one.id == id)

    def as_json(self) -> dict[str, Any]:
        """The mapping that `hazards --json` prints."""
        return {
            "catalogue": self.catalogue,
            "sentence": self.sentence,
            "risk": self.level,
            "findings": [one.as_json() for one in self.findings],
            "undecided": [one.as_json() for one in self.undecided],
            "looked_at": list(self.looked_at),
            "not_looked_at": list(self.not_looked_at),
            "notes": list(self.notes),
            "silent": list(self.silent),
            "skipped": list(self.skipped),
            "cautions": list(self.cautions),
            "verdict": dict(self.verdict) or None,
        }
