"""What a rework comes to: designs that are offered, families that were turned down, and what to make of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lidoff.cycle import Solution
from lidoff.record.model import EMPTY
from lidoff.rework.choosing import Bought
from lidoff.rework.energy import Energy
from lidoff.rework.goals import Goal
from lidoff.rework.proof import Proof
from lidoff.rework.worst import Extent

RANKING = (
    "Ranked by: whether every goal holds at the worst case; the grave and serious single faults left; the finding of "
    "highest risk; the power it takes; what the parts cost."
)
"""The rule by which designs are put in order, as a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One way of reworking the item, proved.

    `record` is the reworked circuit as the text of an item.toml; `equations` the family's with this item's numbers in;
    `parts` the shopping list; `extents` each goal's figure, nominal and worst; `loss` [W] the power at the terminals;
    `cost` 1 to 3; `space` how much board the new parts take, in words. `before` and `after` are pictures' waves.
    """

    family: str
    title: str
    variant: str
    why: str
    record: str
    removed: tuple[str, ...]
    parts: tuple[Bought, ...]
    equations: tuple[str, ...]
    source: str
    limits: str
    extents: tuple[Extent, ...]
    proof: Proof
    energy: Energy
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    cost: int
    cost_words: str
    area: float
    space: str
    extras: Mapping[str, float] = field(default_factory=lambda: EMPTY)

    @property
    def meets_goal(self) -> bool:
        """Whether every goal holds at its worst case and nothing speaks against the design."""
        return self.proof.passed and self.proof.worst.met

    @property
    def loss(self) -> float:
        """Power at the terminals [W]."""
        return float(self.proof.figures["input"]["power"])

    @property
    def order(self) -> tuple[Any, ...]:
        """What designs are sorted by: see `RANKING`."""
        from lidoff.standards.risk import LEVELS

        grave, serious, _ = self.proof.severities
        level = self.proof.findings.level
        rank = LEVELS.index(level) if level is not None else -1
        return (not self.meets_goal, grave, serious, rank, round(self.loss, 2), self.cost, self.family)

    def as_json(self) -> dict[str, Any]:
        """The mapping that `rework --json` prints for a design."""
        grave, serious, lesser = self.proof.severities
        surge, pulled = self.proof.switched_on, self.proof.unplugged
        return {
            "family": self.family,
            "title": self.title,
            "variant": self.variant,
            "why": self.why,
            "record": self.record,
            "removed": list(self.removed),
            "parts": [part.as_json() for part in self.parts],
            "equations": list(self.equations),
            "source": self.source,
            "limits": self.limits,
            "computed": dict(self.proof.figures),
            "worst_case": {extent.goal.key: extent.as_json() for extent in self.extents},
            "corners_solved": self.proof.worst.solved,
            "meets_goal": self.meets_goal,
            "problems": list(self.proof.problems),
            "switch_on": None
            if surge is None
            else {"current_peak": surge.peak, "angle": surge.angle, "i2t": surge.i2t},
            "unplugged": None
            if pulled is None
            else {"pins_to_34": pulled.pins.to_34, "held": [one.as_json() for one in self.proof.held]},
            "faults": {
                "severity_4": grave,
                "severity_3": serious,
                "severity_2": lesser,
                "worst": [one.outcome for one in (self.proof.faults.faults[:3] if self.proof.faults else ())],
            },
            "findings": {
                "level": self.proof.findings.level,
                "appear": [{"id": f.id, "title": f.title, "risk": f.risk.level} for f in self.proof.appeared],
                "vanish": [{"id": f.id, "title": f.title, "risk": f.risk.level} for f in self.proof.vanished],
            },
            "energy": self.energy.as_json(),
            "cost": {"class": self.cost, "words": self.cost_words},
            "space": {"area": self.area, "words": self.space},
            "extras": dict(self.extras),
            "cautions": list(self.cautions),
            "bench": list(self.steps),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A family that is not offered: `why`, and the `nearest` it comes, by goal, where it was worked out."""

    family: str
    title: str
    why: str
    variant: str = ""
    nearest: tuple[Extent, ...] = ()
    distance: float | None = None

    def as_json(self) -> dict[str, Any]:
        """The mapping that `rework --json` prints for a family turned down."""
        return {
            "family": self.family,
            "title": self.title,
            "variant": self.variant,
            "why": self.why,
            "nearest": {extent.goal.key: extent.as_json() for extent in self.nearest},
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Rework:
    """Everything that came of a set of goals, best design first.

    `verdict` says in a sentence what to make of it; `replace` is true where it is "do not; replace it". `before` holds
    the figures of the item as found on its nominal mains, `as_found` each goal's
    figure there, `before_solution` its cycle, `full` its light at full
    [LEDs in series × A].
    """

    title: str
    state: str | None
    goals: tuple[Goal, ...]
    before: Mapping[str, Any]
    designs: tuple[Design, ...]
    rejected: tuple[Rejected, ...]
    verdict: str
    replace: bool
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    as_found: Mapping[str, float | None]
    before_solution: Solution
    full: float | None
    warnings: tuple[str, ...] = ()

    @property
    def offered(self) -> tuple[Design, ...]:
        """The designs that meet every goal at the worst case."""
        return tuple(design for design in self.designs if design.meets_goal)

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff rework --json` prints."""
        return {
            "goal": {goal.key: goal_json(goal) for goal in self.goals},
            "state": self.state,
            "before": dict(self.before),
            "as_found": dict(self.as_found),
            "designs": [design.as_json() for design in self.designs],
            "rejected": [one.as_json() for one in self.rejected],
            "ranking": RANKING,
            "verdict": self.verdict,
            "replace": self.replace,
            "cautions": list(self.cautions),
            "notes": list(self.notes),
            "warnings": list(self.warnings),
        }


def goal_json(goal: Goal) -> dict[str, Any]:
    """A goal as a mapping: its text, bounds and unit."""
    return {
        "text": goal.text,
        "words": goal.words,
        "low": goal.low,
        "high": goal.high,
        "unit": goal.unit,
        "subject": goal.subject,
        "implied": goal.implied,
    }
