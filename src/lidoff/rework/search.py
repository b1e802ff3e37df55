"""Values for a plan: every choice solved, the best few held against their worst case.

A choice is rated by how far inside their bands the goals' figures lie, at the nominal mains first and then at both ends
of its range. A band wants its middle, a ceiling or floor a quarter to spare, and of choices that have that the first,
which is the cheapest, is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from lidoff.circuit import Circuit, build, with_values
from lidoff.errors import LidoffError
from lidoff.record import Item
from lidoff.record.model import Table, Value
from lidoff.rework.case import Case
from lidoff.rework.edits import read_reworked, reworked_text
from lidoff.rework.family import Plan
from lidoff.rework.goals import Goal
from lidoff.rework.measures import COSTLY, Run
from lidoff.rework.worst import Worst, at_mains, worst_case

SPARE: Final = 0.25  # of a ceiling or floor, that is wanted before the worst case is worked out
_SHORT_LIST: Final = 6
_PASSES: Final = 2
_DIM: Final = 0.05  # of the most light: what a knob should go down to (our choice)
_FOR_DIMMING: Final = 0.5
_HELD: Final = {False: 4, True: 3}  # how many are held against their worst case: figures that cost little, or much
_STEP: Final = 0.02  # differences in rating below which the cheaper choice is taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A plan with its values: the `choice` taken, the circuit it makes, and its worst case."""

    plan: Plan
    choice: Mapping[str, Value]
    circuit: Circuit
    worst: Worst

    @property
    def distance(self) -> float:
        """How far the worst goal is from being met [1]; 0 where all are."""
        return max(
            (_miss(extent.goal, extent.low, extent.high, extent.nominal) for extent in self.worst.extents), default=0.0
        )


def _miss(goal: Goal, low: float | None, high: float | None, nominal: float | None) -> float:
    if goal.implied:
        low = high = nominal
    return max(0.0, -min(goal.slack(low), goal.slack(high)))


def built(case: Case, plan: Plan) -> tuple[Item, Circuit]:
    """The record that a plan makes, with its starting values, and its circuit. Raises LidoffError where it is none."""
    text = reworked_text(case.text, case.base, plan.edits, "")
    item = read_reworked(text, case.path)
    return item, build(item, state=state_of(case, item))


def state_of(case: Case, item: Item) -> str | None:
    """The state in which a reworked item is judged: that of the case, where it is still there."""
    if case.state is not None and item.state(case.state) is not None:
        return case.state
    return item.states[0].name if item.states else None


def settle(case: Case, plan: Plan) -> Settled | str:
    """The best values for a plan, or the sentence that says why there are none."""
    try:
        _, circuit = built(case, plan)
    except LidoffError as error:
        return f"The circuit could not be made: {error}"
    rated = _rated(case, plan, circuit)
    if not rated:
        return "With none of the values tried was a settled cycle found."
    best: Settled | None = None
    costly = any(goal.name in COSTLY for goal in case.goals)
    # Corners only widen what the mains does: one that fails there already is worked out once, to say how near it comes.
    likely = [one for one in rated if one.met][: _HELD[costly]] or rated[:1]
    for one in likely:
        held = Settled(
            plan=plan,
            choice=one.choice,
            circuit=one.circuit,
            worst=worst_case(one.circuit, case.goals, case.full, case.before, draws=0),
        )
        if best is None or held.distance < best.distance - 1e-9:
            best = held
        if held.worst.met:
            break
    return best if best is not None else "No values could be held against their worst case."


def _rated(case: Case, plan: Plan, circuit: Circuit) -> list[_Rated]:
    """Choices with their circuits, best first: each axis run through, twice, then the best at the mains' ends."""
    work = _Axes(case, plan, circuit)
    first = work.run()
    second = []
    for one in first[:_SHORT_LIST]:
        ends = at_mains(one.circuit)
        goals = [goal for goal in case.goals if not goal.implied]
        runs = [Run(ends[end], case.full, quick=True, before=case.before, near=one.run) for end in ("low", "high")]
        worst = max([one.short, *(_short(run, goals) for run in runs)])
        met = all(goal.met(value, value) for run in runs for goal in goals for value in [run.value(goal)])
        second.append(replace(one, short=worst, met=met))
    return sorted(second, key=lambda one: one.order)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rated:
    """A choice: its place on each axis, its circuit, what is missing, and whether the goals hold at the mains' ends."""

    places: tuple[int, ...]
    choice: Mapping[str, Value]
    circuit: Circuit
    run: Run
    short: float
    met: bool = False

    @property
    def order(self) -> tuple[int, tuple[int, ...]]:
        return round(self.short / _STEP), self.places


class _Axes:
    """The axes of a plan run through."""

    def __init__(self, case: Case, plan: Plan, circuit: Circuit) -> None:
        self.case, self.plan, self.circuit = case, plan, circuit
        self.seen: dict[tuple[int, ...], _Rated | None] = {}

    def run(self) -> list[_Rated]:
        """Everything that was solved, best first."""
        axes = self.plan.axes
        place = [len(axis) // 2 for axis in axes]
        for _ in range(_PASSES):
            before = list(place)
            for k, axis in enumerate(axes):
                tried = [self.at((*place[:k], option, *place[k + 1 :])) for option in range(len(axis))]
                good = [one for one in tried if one is not None]
                if good:
                    place = list(min(good, key=lambda one: one.order).places)
            if place == before:
                break
        return sorted((one for one in self.seen.values() if one is not None), key=lambda one: one.order)

    def at(self, places: tuple[int, ...]) -> _Rated | None:
        """The choice at those places of the axes; None where it has no settled cycle."""
        if places not in self.seen:
            self.seen[places] = self._solved(places)
        return self.seen[places]

    def _solved(self, places: tuple[int, ...]) -> _Rated | None:
        choice: dict[str, Value] = {}
        for axis, option in zip(self.plan.axes, places, strict=True):
            choice |= axis[option]
        try:
            other = with_values(self.circuit, choice) if choice else self.circuit  # type: ignore[arg-type]
            run = Run(other, self.case.full, quick=True, before=self.case.before)
            run.solution  # noqa: B018  a choice without a cycle is none
        except LidoffError:
            return None
        return _Rated(places=places, choice=Table(choice), circuit=other, run=run, short=_short(run, self.case.goals))


def _short(run: Run, goals: Sequence[Goal]) -> float:
    """What is missing to what is wanted [1], the goal that is worst off counting most."""
    missing = []
    for goal in goals:
        wanted = 1.0 if goal.low is not None and goal.high is not None else SPARE
        if goal.implied:
            wanted = 0.0
        missing.append(max(0.0, wanted - goal.slack(run.value(goal))))
    # A knob without dead travel that no longer dims would be no knob: of such choices the one that goes lowest.
    bright = 0.0 if run.floor is None else max(0.0, run.floor - _DIM)
    return max(missing, default=0.0) + 0.1 * sum(missing) + _FOR_DIMMING * bright
