"""The job: the item as it was found, what it is to reach, and everything the families need to know of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lidoff.circuit import Circuit, build, with_values
from lidoff.circuit.groups import Groups, recognise
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.hazards import Finding, Findings
from lidoff.record import NOMINAL_MAINS, Item, Table, dump, read_text
from lidoff.record.edit import set_value
from lidoff.record.model import EMPTY
from lidoff.rework.edits import on_the_mains, without_readings, written
from lidoff.rework.errors import ReworkError
from lidoff.rework.goals import Goal
from lidoff.rework.site import Site, site_of
from lidoff.studies import Faults, faults

Judge = Callable[[Item, Solution | None, Mapping[str, Any]], Findings]
"""How an item is judged for hazards: the item, its solved main state and the studies done, to findings."""

_OTHER_MAINS: Final = (230.0, 50.0)
REACHED: Final = ("live-surface", "opening-reaches-live", "enclosure-broken", "opens-without-tool")
"""Findings that say that a hand reaches what is live."""
IMPLIED_LIGHT: Final = (0.8, 1.2)
"""Light as a share of full that a rework without a goal for it has to keep, on the nominal mains (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """An item and the goals set for it.

    `item` is the record as found. `text` is its text with the mains put to nominal, what readings say of unknown values
    written in and the readings themselves left out; `base` is that text read. `before` is the circuit as found on its
    own nominal mains, `circuit` the one that the rework starts from (another where the goals change mains or length),
    with its `groups` and `site`. `full` is the light at full [LEDs in series × A], None without light; `goals` are
    the figures asked for, `changes` what the goals change. `knobs` maps each knob's position to its bright end.
    `findings` are those on the item as found. `known` holds what readings say of unknown values: median, low, high.
    """

    item: Item
    path: Path
    text: str
    base: Item
    state: str | None
    before: Circuit
    circuit: Circuit
    groups: Groups
    site: Site | None
    full: float | None
    goals: tuple[Goal, ...]
    changes: tuple[Goal, ...]
    knobs: Mapping[str, float]
    findings: Findings
    known: Mapping[str, tuple[float, float, float]]
    before_solution: Solution
    before_faults: Faults | None
    judge: Judge
    notes: tuple[str, ...] = ()

    def goal(self, name: str) -> Goal | None:
        """The goal of that name, or None."""
        return next((goal for goal in self.goals if goal.name == name), None)

    def asked(self, *names: str) -> bool:
        """Whether any of those goals was given, not implied."""
        return any(goal.name in names and not goal.implied for goal in (*self.goals, *self.changes))

    @property
    def open_to_touch(self) -> Finding | None:
        """The finding that says live parts can be reached at high or serious risk: nothing may be reworked then."""
        found = self.findings.findings
        return next((f for f in found if f.id in REACHED and f.risk.level in ("high", "serious")), None)

    def other_part(self, refs: Iterable[str]) -> str | None:
        """The part that the only goal is about, a stress, where it is none of `refs`; else None."""
        given = [goal for goal in self.goals if not goal.implied]
        ref = (given[0].subject or "").split(".")[0] if len(given) == 1 and given[0].name == "stress" else None
        return ref if ref is not None and ref != "all" and ref not in set(refs) else None

    @property
    def refs(self) -> set[str]:
        """Every reference designator in use, to be added to."""
        return {part.ref for part in self.base.parts}

    @property
    def crest(self) -> float:
        """Crest of the nominal mains [V]."""
        return math.sqrt(2.0) * self.circuit.supply.voltage

    @property
    def highest(self) -> float:
        """Crest of the mains at the upper end of its range [V]."""
        return self.crest * (1.0 + self.circuit.supply.range)

    @property
    def light_band(self) -> tuple[float, float]:
        """The band that the light is to lie in [share of full]."""
        goal = self.goal("light")
        low = goal.low if goal is not None and goal.low is not None else None
        high = goal.high if goal is not None and goal.high is not None else None
        if low is None and high is None:
            return IMPLIED_LIGHT
        if low is None:
            return 0.8 * (high or 0.0), high or 0.0
        return low, high if high is not None else 1.25 * low

    @property
    def light_share(self) -> float:
        """The share of full light that is aimed at [1]: the middle of the band."""
        return 0.5 * sum(self.light_band)


def case_of(
    item: Item, goals: Sequence[Goal], judge: Judge, *, text: str | None = None, state: str | None = None
) -> Case:
    """The case of an item.

    `text` is its record's text (read from its file, or written anew, where it is not given). Raises ReworkError where
    the goals cannot be set for this item, CircuitError where it cannot be solved as found.
    """
    if text is None:
        text = item.path.read_text(encoding="utf-8") if item.path.is_file() else dump(item)
    chosen = _main_state(item, state)
    voltage, frequency = _nominal(item)
    notes: list[str] = []
    known = _known(item, chosen, notes)
    before_text = _with_known(on_the_mains(without_readings(text, item), item, voltage, frequency), known)
    before = _built(before_text, item.path, chosen)
    changes = tuple(goal for goal in goals if goal.is_change)
    base_text = _changed(before_text, read_text(before_text, item.path), before, changes)
    base = read_text(base_text, item.path)
    circuit = _built(base_text, item.path, chosen)
    solution = solve(before)
    failed = _failed(before, item)
    knobs, full = _full(before)
    if full is not None and (length := next((g for g in changes if g.name == "length"), None)) is not None:
        full *= _length_ratio(before, circuit, length)
    asked = [goal for goal in goals if not goal.is_change]
    _check(asked, full, before)
    groups = recognise(circuit)
    return Case(
        item=item,
        path=item.path,
        text=base_text,
        base=base,
        state=chosen,
        before=before,
        circuit=circuit,
        groups=groups,
        site=site_of(circuit, groups),
        full=full,
        goals=(*asked, *_implied(asked, changes, full)),
        changes=changes,
        knobs=knobs,
        findings=judge(item, solution, _told(failed)),
        known=known,
        before_solution=solution,
        before_faults=failed,
        judge=judge,
        notes=tuple(notes),
    )


def _failed(circuit: Circuit, item: Item) -> Faults | None:
    try:
        return faults(circuit, item)
    except LidoffError:
        return None


def _told(failed: Faults | None) -> Mapping[str, Any]:
    """The faults as the hazard rules take them."""
    return EMPTY if failed is None else Table({"faults": tuple(one.as_json() for one in failed.faults)})


def _main_state(item: Item, state: str | None) -> str | None:
    if state is not None:
        return state
    problem = ""
    names: list[str | None] = [one.name for one in item.states]
    for name in names or [None]:
        try:
            if build(item, state=name).supply.dc is None:
                return name
        except LidoffError as error:
            problem = problem or str(error)
    raise ReworkError(f"No state on the mains can be solved, so nothing can be reworked. {problem}".strip())


def _nominal(item: Item) -> tuple[float, float]:
    """The nominal mains of the item [V rms, Hz]: as recorded and not measured, else that of its region or label."""
    region = NOMINAL_MAINS.get(item.region or "", None)
    rated = item.rated.get("voltage") or item.rated.get("voltage_low")
    supply = item.supply
    volts = supply.voltage if isinstance(supply.voltage, float | int) and not supply.measured else None
    hertz = supply.frequency if isinstance(supply.frequency, float | int) else None
    if volts is None:
        volts = region[0] if region is not None else (120.0 if rated and rated < 150.0 else _OTHER_MAINS[0])
    if hertz is None:
        hertz = item.rated.get("frequency") or (region[1] if region is not None else 60.0 if volts < 150.0 else 50.0)
    return float(volts), float(hertz)


def _known(item: Item, state: str | None, notes: list[str]) -> dict[str, tuple[float, float, float]]:
    """What the readings say of values nobody wrote down: median, low and high, by name."""
    circuit = build(item, state=state)
    if not circuit.unknowns or not item.readings:
        return {}
    from lidoff.readings import judge as judge_readings

    found = {}
    for one in judge_readings(item).inferred:
        usable = one.touched and one.state in (None, state) and math.isfinite(one.median) and one.low95 < one.high95
        if one.key in circuit.unknowns and usable and not one.key.startswith("supply."):
            found[one.key] = (one.median, one.low95, one.high95)
            notes.append(
                f"{one.key} is what the readings of the item as found make of it: {one.median:.4g} {one.unit}, "
                f"{one.low95:.4g} to {one.high95:.4g}."
            )
    return found


def _with_known(text: str, known: Mapping[str, tuple[float, float, float]]) -> str:
    """The text with the searched range of each unknown narrowed to what the readings say of it."""
    for name, (_, low, high) in known.items():
        owner, _, key = name.rpartition(".")
        unit = _unit_of(key)
        bounds = [written(low, unit), written(high, unit)] if unit else [low, high]
        try:
            text = set_value(text, f"{owner}.between", bounds)
        except LidoffError:
            continue
    return text


_UNITS: Final = {"forward_voltage": "V", "power": "W", "limit": "A", "slope": "V", "breakover": "V", "voltage": "V"}


def _unit_of(key: str) -> str:
    return _UNITS.get(key, "")


def _built(text: str, path: Path, state: str | None) -> Circuit:
    return build(read_text(text, path), state=state)


def _changed(text: str, item: Item, circuit: Circuit, changes: Sequence[Goal]) -> str:
    for goal in changes:
        if goal.name == "mains" and goal.low is not None and goal.high is not None:
            text = on_the_mains(text, item, goal.low, goal.high)
        if goal.name == "length" and goal.low is not None:
            name, key = _block(circuit, goal)
            text = set_value(text, f"{name}.{key}", int(goal.low))
    return text


def _block(circuit: Circuit, goal: Goal) -> tuple[str, str]:
    """The block that a length is about, and which of its numbers: side by side where it is so, else in a row."""
    blocks = list(dict.fromkeys(e.block for e in circuit.elements if e.block))
    name = goal.subject or (blocks[0] if len(blocks) == 1 else None)
    if name is None or name not in blocks:
        known = ", ".join(str(one) for one in blocks) or "none"
        raise ReworkError(f"length={goal.value}: name the block whose sections are counted; the record has: {known}")
    member = next(e for e in circuit.elements if e.block == name)
    return name, "parallel" if member.parallel > 1.0 or member.series <= 1.0 else "repeat"


def _length_ratio(before: Circuit, after: Circuit, goal: Goal) -> float:
    name, key = _block(before, goal)
    word = "parallel" if key == "parallel" else "series"
    old, new = (next(float(getattr(e, word)) for e in c.elements if e.block == name) for c in (before, after))
    return new / old


def _full(circuit: Circuit) -> tuple[Mapping[str, float], float | None]:
    """Each knob's bright end, and the light with all of them there and every switch closed; None for no light."""
    closed = {f"{e.ref}.closed": True for e in circuit.elements if e.kind in ("switch", "thermostat")}
    circuit = with_values(circuit, closed) if closed else circuit
    knobs: dict[str, float] = {}
    for element in circuit.elements:
        if element.kind == "potentiometer":
            name = f"{element.ref}.position"
            levels = [_light(with_values(circuit, {**knobs, name: end})) for end in (0.0, 1.0)]
            knobs[name] = 0.0 if levels[0] >= levels[1] else 1.0
    light = _light(with_values(circuit, knobs) if knobs else circuit)
    return Table(knobs), light if light > 0.0 else None


def _light(circuit: Circuit) -> float:
    try:
        solution = solve(circuit)
    except LidoffError:
        return 0.0
    return light_of(solution)


def light_of(solution: Solution) -> float:
    """Mean light of a solution [LEDs in series × A]."""
    return float(solution.waves.weight @ solution.light)


_OF_LIGHT: Final = ("light", "percent_flicker", "svm", "ieee_1789", "glow_off")


def _check(goals: Sequence[Goal], full: float | None, circuit: Circuit) -> None:
    for goal in goals:
        if goal.name in _OF_LIGHT and full is None:
            raise ReworkError(f"{goal.text}: the item gives no light as it is recorded; this goal is about light")
        if goal.name == "dead_travel" and full is None:
            raise ReworkError(
                f"{goal.text}: dead travel is told by the current of LEDs, and the record has none that light"
            )
        if goal.name == "dead_travel" and not any(e.kind == "potentiometer" for e in circuit.elements):
            raise ReworkError(f"{goal.text}: the record has no potentiometer that could be turned")
        if goal.name == "stress":
            ref = (goal.subject or "").split(".")[0]
            if ref != "all" and circuit.element(ref) is None:
                known = ", ".join(e.ref for e in circuit.elements)
                raise ReworkError(f"{goal.text}: this state has no part {ref}; it has {known}")


def _implied(asked: Sequence[Goal], changes: Sequence[Goal], full: float | None) -> tuple[Goal, ...]:
    """The goals that go without saying: the light stays about what it was; after a change all parts stand it."""
    found = []
    names = {goal.name for goal in asked}
    if full is not None and "light" not in names:
        low, high = IMPLIED_LIGHT
        found.append(
            Goal(name="light", value=f"{100 * low:g}–{100 * high:g} %", low=low, high=high, unit="%", implied=True)
        )
    if changes and "stress" not in names:
        found.append(Goal(name="stress", value="all 100 %", high=1.0, unit="%", subject="all", implied=True))
    return tuple(found)
