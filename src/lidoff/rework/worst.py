"""Worst case: a figure at the corners of all tolerances and of the mains, and its 5-95 % range over random draws.

Every value that is not exact is moved to both ends of its range by itself. Where that moves a figure up, that end goes
into the corner of its most, where down into that of its least; both corners are then solved, with every end seen on the
way. Three refinements stand against values that matter only together: the mains' ends are each tried with both corners,
and some corners are drawn at random. What is said is the most and the least of all of these.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError
from lidoff.rework.goals import Goal
from lidoff.rework.measures import COSTLY, Run
from lidoff.studies.sampling import Drawn, changed, columns, drawn_of

RANDOM_CORNERS: Final = 12
DRAWS: Final = 60  # of the 5-95 % range, cheap figures only
FINENESS: Final = 4.0  # of the steps at the corners: costs some 0.1 % of a figure
_LEAST_MATTER: Final = 1e-3  # of a costly figure's size: what moves it less is left at its place in the corners


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """A goal's figure: at the values as they stand, least and most at the corners, and 5 % and 95 % of random draws.

    None where it could not be worked out; `at_least` and `at_most` say in words which values make the corner.
    """

    goal: Goal
    nominal: float | None
    low: float | None
    high: float | None
    p5: float | None = None
    p95: float | None = None
    at_low: str = ""
    at_high: str = ""

    @property
    def met(self) -> bool:
        """Whether the goal holds: at every corner, or, where it is implied, at the values as they stand."""
        if self.goal.implied:
            return self.goal.met(self.nominal, self.nominal)
        return self.goal.met(self.low, self.high)

    @property
    def met_at_values(self) -> bool:
        """Whether the goal holds at the values as they stand."""
        return self.goal.met(self.nominal, self.nominal)

    def as_json(self) -> dict[str, Any]:
        """The mapping that `rework --json` prints for a goal."""
        return {
            "goal": self.goal.text,
            "nominal": self.nominal,
            "low": self.low,
            "high": self.high,
            "p5": self.p5,
            "p95": self.p95,
            "at_low": self.at_low,
            "at_high": self.at_high,
            "met": self.met,
            "implied": self.goal.implied,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Worst:
    """The extents of all goals over the corners, how many circuits were solved for them and which were not."""

    extents: tuple[Extent, ...]
    solved: int
    unsolved: int
    drawn: tuple[str, ...]

    @property
    def met(self) -> bool:
        """Whether every goal holds and every corner was solved."""
        return self.unsolved == 0 and all(extent.met for extent in self.extents)


def worst_case(
    circuit: Circuit,
    goals: Sequence[Goal],
    full: float | None,
    before: Circuit | None = None,
    *,
    draws: int = DRAWS,
    random: int = RANDOM_CORNERS,
) -> Worst:
    """Every goal's figure over the corners of a circuit's tolerances and mains. `full` as in `Run`.

    `draws` is how many circuits are drawn for the 5-95 % range, `random` how many corners are drawn besides those that
    are likely to be the worst; both of figures that cost little.
    """
    drawn, _ = drawn_of(circuit)
    work = _Corners(circuit, drawn, full, before)
    cheap = [goal for goal in goals if goal.name not in COSTLY]
    dear = [goal for goal in goals if goal.name in COSTLY]
    found = {}
    if cheap:
        found.update(work.extents(cheap, random=random, draws=draws))
    for goal in dear:
        found.update(work.extents([goal], random=0, draws=0))
    return Worst(
        extents=tuple(found[goal] for goal in goals),
        solved=work.solved,
        unsolved=work.unsolved,
        drawn=tuple(one.sentence for one in drawn),
    )


class _Corners:
    def __init__(self, circuit: Circuit, drawn: tuple[Drawn, ...], full: float | None, before: Circuit | None) -> None:
        self.circuit = circuit
        self.drawn = drawn
        self.full = full
        self.before = before
        self.near = Run(circuit, full, before=before)
        self.solved = 0
        self.unsolved = 0

    def values(self, shares: Sequence[float]) -> dict[str, float]:
        """Values at the given shares of their ranges [0 to 1], by their names in the record."""
        raw = np.array(
            [[one.low + share * (one.high - one.low) for one, share in zip(self.drawn, shares, strict=True)]]
        )
        names, held = columns([one.name for one in self.drawn], raw)
        return dict(zip(names, held[0].tolist(), strict=True))

    def at(self, shares: Sequence[float], goals: Sequence[Goal], *, quick: bool) -> list[float | None]:
        """Each goal's figure with the values at those shares of their ranges."""
        try:
            circuit = changed(self.circuit, self.values(shares)) if self.drawn else self.circuit
        except CircuitError:
            self.unsolved += 1
            return [None] * len(goals)
        self.solved += 1
        run = Run(circuit, self.full, quick=quick, before=self.before, near=self.near, fineness=FINENESS)
        found = [run.value(goal) for goal in goals]
        if any(one is None for one in found):
            self.unsolved += 1
        return found

    def extents(self, goals: Sequence[Goal], *, random: int, draws: int) -> dict[Goal, Extent]:
        """The extent of each goal, all from the same circuits."""
        middle = [0.5] * len(self.drawn)
        quick = any(goal.name in COSTLY for goal in goals)
        nominal = [self.near.value(goal) for goal in goals]
        centre = self.at(middle, goals, quick=quick) if quick else nominal
        seen: list[tuple[list[float], list[float | None]]] = [(middle, nominal)]
        ends: list[tuple[list[float | None], list[float | None]]] = []
        for k in range(len(self.drawn)):
            pair = []
            for end in (0.0, 1.0):
                shares = [*middle[:k], end, *middle[k + 1 :]]
                pair.append(self.at(shares, goals, quick=quick))
                seen.append((shares, pair[-1]))
            ends.append((pair[0], pair[1]))
        corners: list[list[float]] = []
        for j in range(len(goals)):
            most = self._corner(j, ends, centre[j])
            corners += [most, [1.0 - share if share != 0.5 else 0.5 for share in most]]
            corners += self._with_mains(most)
        unique = list(dict.fromkeys(tuple(corner) for corner in corners))
        generator = np.random.default_rng(1)
        unique += [tuple(corner) for corner in generator.integers(0, 2, (random, len(self.drawn))).astype(float)]
        seen += [(list(corner), self.at(corner, goals, quick=quick)) for corner in unique]
        if quick:
            seen = self._in_full(goals, seen)
        spread = [self.at(row, goals, quick=quick) for row in generator.uniform(0.0, 1.0, (draws, len(self.drawn)))]
        return {goal: self._extent(goal, j, nominal[j], seen, spread) for j, goal in enumerate(goals)}

    def _in_full(
        self, goals: Sequence[Goal], seen: list[tuple[list[float], list[float | None]]]
    ) -> list[tuple[list[float], list[float | None]]]:
        """Of figures worked out roughly the nominal and the extreme ones only, these now worked out in full."""
        kept = seen[:1]
        for j in range(len(goals)):
            known = [(value, shares) for shares, found in seen if (value := found[j]) is not None]
            if len(known) < len(seen):
                return seen
            for pick in (min, max):
                shares = pick(known, key=lambda pair: pair[0])[1]
                kept.append((shares, self.at(shares, goals, quick=False)))
        return kept

    def _corner(
        self, j: int, ends: Sequence[tuple[list[float | None], list[float | None]]], centre: float | None
    ) -> list[float]:
        """The end of each value that moves a figure upwards."""
        corner = []
        size = abs(centre) if centre else 1.0
        for low, high in ends:
            a, b = low[j], high[j]
            if a is None or b is None or abs(a - b) < _LEAST_MATTER * size:
                corner.append(0.5)
            else:
                corner.append(1.0 if b >= a else 0.0)
        return corner

    def _with_mains(self, corner: Sequence[float]) -> list[list[float]]:
        """A corner and its opposite with the mains at the other end."""
        at = [k for k, one in enumerate(self.drawn) if one.name == "supply.voltage"]
        found = []
        for k in at:
            for base in (list(corner), [1.0 - share for share in corner]):
                other = list(base)
                other[k] = 1.0 - base[k]
                found.append(other)
        return found

    def _extent(
        self,
        goal: Goal,
        j: int,
        nominal: float | None,
        seen: Sequence[tuple[list[float], list[float | None]]],
        spread: Sequence[list[float | None]],
    ) -> Extent:
        known = [(found[j], shares) for shares, found in seen]
        if any(value is None for value, _ in known):
            return Extent(goal=goal, nominal=nominal, low=None, high=None)
        pairs = [(float(value), shares) for value, shares in known if value is not None]
        low, high = min(pairs, key=lambda p: p[0]), max(pairs, key=lambda p: p[0])
        drawn = [float(row[j]) for row in spread if row[j] is not None]  # type: ignore[arg-type]
        p5, p95 = (float(v) for v in np.quantile(drawn, (0.05, 0.95))) if drawn else (None, None)
        return Extent(
            goal=goal,
            nominal=nominal,
            low=low[0],
            high=high[0],
            p5=p5,
            p95=p95,
            at_low=self._words(low[1]),
            at_high=self._words(high[1]),
        )

    def _words(self, shares: Sequence[float]) -> str:
        """Which values stand at an end of their range."""
        high = [one.name for one, share in zip(self.drawn, shares, strict=True) if share == 1.0]
        low = [one.name for one, share in zip(self.drawn, shares, strict=True) if share == 0.0]
        told = [f"high: {', '.join(high)}"] if high else []
        return "; ".join([*told, *([f"low: {', '.join(low)}"] if low else [])])


def at_mains(circuit: Circuit) -> Mapping[str, Circuit]:
    """The circuit at the nominal, lowest and highest mains."""
    from lidoff.circuit import with_values

    volts, share = circuit.supply.voltage, circuit.supply.range
    return {
        "nominal": circuit,
        "low": with_values(circuit, {"supply.voltage": volts * (1.0 - share)}),
        "high": with_values(circuit, {"supply.voltage": volts * (1.0 + share)}),
    }
