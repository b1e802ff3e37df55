"""Values for a plan: every choice solved, the best few held against their worst case.

A choice is rated by how far inside their bands the goals' figures lie, at the nominal mains first and then at both ends
of its range. A band wants its middle, a ceiling or floor a quarter to spare, and of choices that have that the first,
which is the cheapest, is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from lidoff.circuit import Circuit, build, with_values
from lidoff.errors import LidoffError
from lidoff.record import Item
from lidoff.record.model import Table, Value
from lidoff.rework.case import Case
from lidoff.rework.edits import reworked_item
from lidoff.rework.family import Plan
from lidoff.rework.goals import Goal
from lidoff.rework.measures import COSTLY, Run
from lidoff.rework.worst import Worst, at_mains, worst_case

SPARES: Final = (0.25, 0.5, 0.75)
"""Of a ceiling or floor, what is kept to spare before the worst case is worked out; more if that was too little."""
_SHORT_LIST: Final = 4
_PASSES: Final = 2
_DIM: Final = 0.05  # of the most light: what a knob should go down to (our choice)
_FOR_DIMMING: Final = 0.5
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
    item = reworked_item(case.base, plan.edits)
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
    work = _Axes(case, plan, circuit)
    costly = any(goal.name in COSTLY for goal in case.goals)
    best: Settled | None = None
    done: set[tuple[int, ...]] = set()
    # Where the worst case shows that what was kept to spare is not enough, more is kept to spare.
    for spare in SPARES[: 2 if costly else 3]:
        one = next((one for one in work.ranked(spare) if one.places not in done), None)
        if one is None:
            break
        done.add(one.places)
        held = Settled(
            plan=plan,
            choice=one.choice,
            circuit=one.circuit,
            worst=worst_case(one.circuit, case.goals, case.full, case.before, draws=0, random=0),
        )
        if best is None or held.distance < best.distance - 1e-9:
            best = held
        # Corners only widen what the mains does: one that fails there already shows how near it comes.
        if held.worst.met or not work.holds_at_the_ends(one):
            break
    return best if best is not None else "With none of the values tried was a settled cycle found."


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solved:
    """A choice: its place on each axis, its circuit, and each goal's figure at the nominal mains."""

    places: tuple[int, ...]
    choice: Mapping[str, Value]
    circuit: Circuit
    run: Run
    values: tuple[float | None, ...]


class _Axes:
    """The axes of a plan run through; every circuit is solved once."""

    def __init__(self, case: Case, plan: Plan, circuit: Circuit) -> None:
        self.case, self.plan, self.circuit = case, plan, circuit
        self.seen: dict[tuple[int, ...], _Solved | None] = {}
        self.at_ends: dict[tuple[int, ...], tuple[tuple[float | None, ...], ...]] = {}

    def ranked(self, spare: float) -> list[_Solved]:
        """Choices, best first, where `spare` [1] of a ceiling or floor is wanted: at the mains' ends too."""
        first = self._along(spare)[:_SHORT_LIST]
        return sorted(first, key=lambda one: self._order(one, spare, ends=True))

    def holds_at_the_ends(self, one: _Solved) -> bool:
        """Whether all goals hold at both ends of the mains."""
        pairs = [(goal, value) for end in self._ends(one) for goal, value in zip(self.case.goals, end, strict=True)]
        return all(goal.implied or goal.met(value, value) for goal, value in pairs)

    def _along(self, spare: float) -> list[_Solved]:
        """Each axis run through in turn, twice; everything that was solved, best first."""
        axes = self.plan.axes
        place = [len(axis) // 2 for axis in axes]
        for _ in range(_PASSES):
            before = list(place)
            for k, axis in enumerate(axes):
                tried = [self._at((*place[:k], option, *place[k + 1 :])) for option in range(len(axis))]
                good = [one for one in tried if one is not None]
                if good:
                    place = list(min(good, key=lambda one: self._order(one, spare)).places)
            if place == before:
                break
        found = [one for one in self.seen.values() if one is not None]
        return sorted(found, key=lambda one: self._order(one, spare))

    def _order(self, one: _Solved, spare: float, *, ends: bool = False) -> tuple[int, tuple[int, ...]]:
        short = [_short(self.case.goals, one.values, spare, one.run.floor)]
        if ends:
            short += [_short(self.case.goals, values, spare, None, nominal=False) for values in self._ends(one)]
        return round(max(short) / _STEP), one.places

    def _at(self, places: tuple[int, ...]) -> _Solved | None:
        """The choice at those places of the axes; None where it has no settled cycle."""
        if places not in self.seen:
            self.seen[places] = self._solved(places)
        return self.seen[places]

    def _solved(self, places: tuple[int, ...]) -> _Solved | None:
        choice: dict[str, Value] = {}
        for axis, option in zip(self.plan.axes, places, strict=True):
            choice |= axis[option]
        try:
            other = with_values(self.circuit, choice) if choice else self.circuit  # type: ignore[arg-type]
            run = Run(other, self.case.full, quick=True, before=self.case.before)
            run.solution  # noqa: B018  a choice without a cycle is none
        except LidoffError:
            return None
        values = tuple(run.value(goal) for goal in self.case.goals)
        return _Solved(places=places, choice=Table(choice), circuit=other, run=run, values=values)

    def _ends(self, one: _Solved) -> tuple[tuple[float | None, ...], ...]:
        """Each goal's figure at the lowest and at the highest mains; of implied ones that at the nominal mains."""
        if one.places not in self.at_ends:
            circuits = at_mains(one.circuit)
            found = []
            for end in ("low", "high"):
                run = Run(circuits[end], self.case.full, quick=True, before=self.case.before, near=one.run)
                pairs = zip(self.case.goals, one.values, strict=True)
                found.append(tuple(nominal if goal.implied else run.value(goal) for goal, nominal in pairs))
            self.at_ends[one.places] = tuple(found)
        return self.at_ends[one.places]


def _short(
    goals: Sequence[Goal],
    values: Sequence[float | None],
    spare: float,
    floor: float | None,
    *,
    nominal: bool = True,
) -> float:
    """What is missing to what is wanted [1], the goal that is worst off counting most.

    At the nominal mains a band wants its middle, elsewhere only to be kept to.
    """
    missing = []
    for goal, value in zip(goals, values, strict=True):
        band = goal.low is not None and goal.high is not None
        wanted = 0.0 if goal.implied else (1.0 if nominal else 0.0) if band else spare if nominal else 0.5 * spare
        missing.append(max(0.0, wanted - goal.slack(value)))
    # A knob without dead travel that no longer dims would be no knob: of such choices the one that goes lowest.
    bright = 0.0 if floor is None else max(0.0, floor - _DIM)
    return max(missing, default=0.0) + 0.1 * sum(missing) + _FOR_DIMMING * bright
