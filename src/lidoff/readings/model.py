"""What the judging of readings gives: frozen results, and the mapping that `readings --json` prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from lidoff.record import Reading, Recording
from lidoff.record.model import EMPTY

Verdict = Literal["agrees", "doubtful", "contradicts", "cannot-tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One reading with its verdict.

    `sigma` is the standard uncertainty of the reading, `u` that of the computed value without the meter, all in the
    reading's unit. `computed` is what the meter would show, `true` the value itself: they differ where the meter's
    kind makes them. None where nothing can be computed.
    """

    reading: Reading
    state: str | None
    sigma: float
    computed: float | None = None
    true: float | None = None
    low95: float | None = None
    high95: float | None = None
    u: float | None = None
    verdict: Verdict = "cannot-tell"
    why: str = ""

    def as_json(self) -> dict[str, Any]:
        """One entry of `readings`."""
        at = self.reading.at
        return {
            "quantity": self.reading.quantity,
            "state": self.state,
            "at": list(at) if isinstance(at, tuple) else at,
            "meter": self.reading.meter,
            "measured": self.reading.value,
            "unit": self.reading.unit,
            "sigma": self.sigma,
            "computed": self.computed,
            "computed_low95": self.low95,
            "computed_high95": self.high95,
            "computed_u": self.u,
            "true": self.true,
            "verdict": self.verdict,
            "why": self.why,
            "line": self.reading.line,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """Readings that cannot all be right, found without any circuit. `readings` are places in the record's list."""

    id: str
    readings: tuple[int, ...]
    state: str | None
    what: str

    def as_json(self) -> dict[str, Any]:
        """One entry of `contradictions`."""
        return {"id": self.id, "readings": list(self.readings), "state": self.state, "what": self.what}


@dataclass(frozen=True, slots=True, kw_only=True)
class Inferred:
    """A value that nobody wrote down, as the readings have it [SI unit of its key].

    `state` is set where the value belongs to one state. `open_low` and `open_high` say that the readings set no bound
    on that side: the interval then ends at the range that was searched, `searched`. `modes` lists the separate values
    that explain the readings, best first, where there are several. `correlation` maps other keys to coefficients.
    """

    key: str
    state: str | None
    median: float
    low95: float
    high95: float
    unit: str
    searched: tuple[float, float]
    open_low: bool = False
    open_high: bool = False
    touched: bool = True
    modes: tuple[tuple[float, float], ...] = ()
    correlation: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """One entry of `inferred`."""
        return {
            "key": self.key,
            "state": self.state,
            "median": self.median,
            "low95": self.low95,
            "high95": self.high95,
            "unit": self.unit,
            "searched": list(self.searched),
            "open_low": self.open_low,
            "open_high": self.open_high,
            "modes": [{"value": value, "share": share} for value, share in self.modes],
            "correlation": dict(self.correlation),
            "note": self.note,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """The joint density of two unknowns on a grid: `density[j][i]` belongs to x[i], y[j]; its largest value is 1."""

    keys: tuple[str, str]
    units: tuple[str, str]
    x: tuple[float, ...]
    y: tuple[float, ...]
    density: tuple[tuple[float, ...], ...]
    logarithmic: tuple[bool, bool] = (False, False)

    def as_json(self) -> dict[str, Any]:
        """The entry `joint`."""
        return {
            "keys": list(self.keys),
            "units": list(self.units),
            "x": list(self.x),
            "y": list(self.y),
            "density": [list(row) for row in self.density],
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A measurement worth taking next. `gain` is the share of the open uncertainty that it is expected to remove."""

    quantity: str
    at: str | tuple[str, str]
    state: str | None
    gain: float
    why: str
    caution: str
    how: str = ""

    def as_json(self) -> dict[str, Any]:
        """One entry of `next`."""
        return {
            "quantity": self.quantity,
            "at": list(self.at) if isinstance(self.at, tuple) else self.at,
            "state": self.state,
            "gain": self.gain,
            "why": self.why,
            "how": self.how,
            "caution": self.caution,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What kind of load a recorded wave looks like, with the certainty of that [0 to 1]."""

    kind: str
    certainty: float

    def as_json(self) -> dict[str, Any]:
        """One entry of `looks_like`."""
        return {"kind": self.kind, "certainty": self.certainty}


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """The figures of a recording after what the probe did to it was undone, and what was done."""

    figures: Mapping[str, Any]
    what: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The entry `corrected`."""
        return {"figures": {"input": dict(self.figures)}, "what": list(self.what)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """A recorded cycle over the computed one, both beginning at the mains' rising zero; [s], [V], [A].

    `residual` is the rms of recorded less computed current over the rms of the recorded one [1].
    """

    time: tuple[float, ...]
    recorded_current: tuple[float, ...] | None
    computed_current: tuple[float, ...]
    recorded_voltage: tuple[float, ...] | None
    computed_voltage: tuple[float, ...]
    residual: float | None
    why: str

    def as_json(self) -> dict[str, Any]:
        """The entry `overlay`."""
        return {
            "time": list(self.time),
            "recorded_current": None if self.recorded_current is None else list(self.recorded_current),
            "computed_current": list(self.computed_current),
            "recorded_voltage": None if self.recorded_voltage is None else list(self.recorded_voltage),
            "computed_voltage": list(self.computed_voltage),
            "residual": self.residual,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What a recording tells. `figures` describe it as given, None where there is no cycle to take them over."""

    recording: Recording
    figures: Mapping[str, Any] | None = None
    frequency: float | None = None
    cycles: int = 0
    looks_like: tuple[Look, ...] = ()
    problems: tuple[str, ...] = ()
    corrected: Corrected | None = None
    overlay: Overlay | None = None
    cycle: Mapping[str, tuple[float, ...]] = field(default_factory=lambda: EMPTY)

    def as_json(self) -> dict[str, Any]:
        """One entry of `recordings`."""
        return {
            "file": self.recording.file,
            "state": self.recording.state,
            "figures": None if self.figures is None else {"input": dict(self.figures)},
            "frequency": self.frequency,
            "cycles": self.cycles,
            "looks_like": [look.as_json() for look in self.looks_like],
            "problems": list(self.problems),
            "corrected": None if self.corrected is None else self.corrected.as_json(),
            "overlay": None if self.overlay is None else self.overlay.as_json(),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """All that the readings of an item tell."""

    readings: tuple[Judged, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()
    inferred: tuple[Inferred, ...] = ()
    narrowed: tuple[Inferred, ...] = ()
    joint: Joint | None = None
    suspect: int | None = None
    next: tuple[Proposal, ...] = ()
    recordings: tuple[Recorded, ...] = ()
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff readings --json` prints."""
        return {
            "readings": [one.as_json() for one in self.readings],
            "contradictions": [one.as_json() for one in self.contradictions],
            "inferred": [one.as_json() for one in self.inferred],
            "narrowed": [one.as_json() for one in self.narrowed],
            "joint": None if self.joint is None else self.joint.as_json(),
            "suspect": self.suspect,
            "next": [one.as_json() for one in self.next],
            "recordings": [one.as_json() for one in self.recordings],
            "warnings": list(self.warnings),
        }
