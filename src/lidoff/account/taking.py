"""The stages of an account, in order. A stage that cannot be run says why and the others go on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from lidoff import __version__
from lidoff.account.fingerprint import fingerprint
from lidoff.account.hazards import facts_of
from lidoff.account.model import Account, Drawings, Knob, Skipped, StateAccount
from lidoff.account.page import light_and_mains, loudest
from lidoff.account.parts import account_parts
from lidoff.account.ranges import Moved, numbers_of, placed, ranges
from lidoff.circuit import Circuit, Element, build, with_values
from lidoff.circuit.checking import missing
from lidoff.circuit.groups import recognise
from lidoff.cycle import Solution, solve
from lidoff.drawing import schematic_svg, six_instants_svg, view_of
from lidoff.errors import LidoffError
from lidoff.hazards import bench_card
from lidoff.hazards import judge as judge_hazards
from lidoff.quantity import engineering
from lidoff.readings import Inferred, Judgement, judge
from lidoff.readings.inputs import inputs_of
from lidoff.record import Item, Table
from lidoff.record.fields import frozen
from lidoff.studies import faults, stress, switch_on, turn, unplug, vary
from lidoff.studies.explain import explain

STAGES: Final[Mapping[str, str]] = Table(
    {
        "readings": "every reading judged, and what they tell of what nobody wrote down",
        "cycle": "the mains cycle of every state",
        "groups": "what the parts form",
        "drawing": "the schematic, and what flows in it",
        "knobs": "every knob turned up and down again",
        "explanation": "how it works",
        "switching": "switched on and unplugged at the worst instant",
        "faults": "parts failed one at a time",
        "hazards": "what could hurt, by the rules of the catalogue",
        "page": "light, mains quality and radio disturbance",
        "parts": "markings, groups and stresses of the parts",
    }
)
"""Name of each stage and what it does, in the order in which they are run."""

# A state that gives less than this share of the most light along the knob counts as dimmed (our choice).
_FULL: Final = 0.9

_WORTH_WRITING: Final = 0.01  # of the power of the hottest part
_IN_THE_WAY: Final = "in the charging path"  # the role of what a timing capacitor charges through

Progress = Callable[[str], None]


def take(item: Item, progress: Progress | None = None) -> Account:
    """The account of an item; `progress` is called with the name of each stage as it begins.

    Raises nothing for a record that is incomplete: what could not be worked out stands in `skipped`.
    """
    work = _Work(item)
    stages: Mapping[str, Callable[[], None]] = {
        "readings": work.readings,
        "cycle": work.cycle,
        "groups": work.groups,
        "drawing": work.drawing,
        "knobs": work.knobs,
        "explanation": work.explanation,
        "switching": work.switching,
        "faults": work.faults,
        "hazards": work.hazards,
        "page": work.page,
        "parts": work.parts,
    }
    for name in STAGES:
        if progress is not None:
            progress(name)
        stages[name]()
    return work.account


def solved(account: Account, state: StateAccount) -> Solution:
    """A state of the account solved once more, as it was taken: for pictures that need more than the account keeps."""
    *_, circuit = _circuits(account.item, account.judgement, state.name)
    return solve(circuit)


def _circuits(
    item: Item, judgement: Judgement | None, name: str | None
) -> tuple[Circuit, dict[str, Inferred], tuple[Moved, ...], Circuit]:
    """A circuit as recorded, what the readings tell of it, what is moved for its ranges, and the circuit as solved."""
    raw = build(item, state=name)
    inferred = _inferred_here(judgement, raw)
    moved = _moved(item, raw, inferred)
    # Built again rather than only moved, so that nothing warns of values that the readings have told.
    circuit = placed(build(item, state=name, changes={k: v.median for k, v in inferred.items()}), moved)
    return raw, inferred, moved, circuit


class _Work:
    """An account while it is being taken, with the solutions that later stages need and the account does not keep."""

    def __init__(self, item: Item) -> None:
        self.item = item
        self.account = Account(
            item=item,
            version=__version__,
            fingerprint=fingerprint(item),
            missing=tuple(missing(item)),
            warnings=tuple(str(problem) for problem in item.warnings),
        )
        self.circuits: dict[str | None, Circuit] = {}
        self.solutions: dict[str | None, Solution] = {}

    def skip(self, stage: str, why: str, state: str | None = None) -> None:
        """Notes that a stage gave nothing, as a sentence."""
        sentence = why if why.endswith((".", "!", "?")) else f"{why}."
        self.account = replace(
            self.account, skipped=(*self.account.skipped, Skipped(stage=stage, why=sentence, state=state))
        )

    @property
    def first(self) -> StateAccount | None:
        """The main state, or the first that could be solved where the main one could not."""
        return self.account.main or (self.account.states[0] if self.account.states else None)

    @property
    def names(self) -> list[str | None]:
        """The states, the main one first; None for the record as it stands, where there are none."""
        return [state.name for state in self.item.states] or [None]

    # Readings -------------------------------------------------------------------------------------------------------

    def readings(self) -> None:
        if not self.item.readings and not self.item.recordings:
            return  # `missing` says so
        self.account = replace(self.account, judgement=judge(self.item))

    # The mains cycle ------------------------------------------------------------------------------------------------

    def cycle(self) -> None:
        if not self.item.parts and not any(state.add for state in self.item.states):
            self.skip("cycle", "No parts are written down, so there is no circuit to work out")
            return
        solved = []
        for name in self.names:
            try:
                state = self._solved(name)
            except LidoffError as error:
                self.skip("cycle", str(error), name)
                continue
            solved.append(state)
        self.account = replace(self.account, states=tuple(solved))

    def _solved(self, name: str | None) -> StateAccount:
        raw, inferred, moved, circuit = _circuits(self.item, self.account.judgement, name)
        if inferred:
            self.account = replace(self.account, used=Table({**self.account.used, **inferred}))
        solution = solve(circuit)
        self.circuits[name], self.solutions[name] = circuit, solution
        found, failed = ranges(raw, moved, numbers_of(solution))
        figures = solution.figures()
        return StateAccount(
            name=name,
            supply=circuit.supply,
            figures=frozen(figures),
            ranges=found,
            inputs=tuple(one.input.name for one in moved),
            view=None if solution.direct else view_of(solution),
            stress=stress(solution),
            warnings=(*figures["warnings"], *failed),
        )

    # Groups ---------------------------------------------------------------------------------------------------------

    def groups(self) -> None:
        if self.first is not None:
            self.account = replace(self.account, groups=recognise(self.circuits[self.first.name]))

    # The schematic --------------------------------------------------------------------------------------------------

    def drawing(self) -> None:
        main = self.first
        if main is None:
            return
        circuit, solution, hints = self.circuits[main.name], self.solutions[main.name], self.item.drawing
        groups = self.account.groups.best if self.account.groups is not None else ()
        try:
            drawn = schematic_svg(circuit, figures=powers_shown(main), groups=groups, hints=hints)
            instants = None
            if main.view is not None:
                wide, narrow = (six_instants_svg(circuit, solution, hints=hints, narrow=form) for form in (False, True))
                instants = (wide, narrow)
        except LidoffError as error:
            self.skip("drawing", f"The schematic was not drawn: {error}", main.name)
            return
        self.account = replace(self.account, drawings=Drawings(schematic=drawn, instants=instants))

    # Knobs ----------------------------------------------------------------------------------------------------------

    def knobs(self) -> None:
        main = self.first
        if main is None:
            return
        circuit = self.circuits[main.name]
        found = []
        for element in circuit.elements:
            if element.kind != "potentiometer" or main.view is None:
                continue
            try:
                turned = turn(circuit, element.ref)
            except LidoffError as error:
                self.skip("knobs", f"{element.ref} was not turned: {error}", main.name)
                continue
            clockwise = element.values.get("clockwise")
            through, plain = self._without_string(circuit, element.ref)
            found.append(
                Knob(
                    ref=element.ref,
                    state=main.name,
                    setting=element.number("position"),
                    clockwise=clockwise if isinstance(clockwise, str) else None,
                    turn=turned,
                    through=through,
                    plain_dead_travel=plain,
                )
            )
        self.account = replace(self.account, knobs=tuple(found))

    def _without_string(self, circuit: Circuit, ref: str) -> tuple[str | None, float | None]:
        """The LED string through which a knob's timing charges, and the dead travel with one LED left of it."""
        groups = self.account.groups
        if groups is None:
            return None, None
        timing = next((group for group in groups.best if ref in group.own), None)
        for name in timing.having(_IN_THE_WAY) if timing is not None else ():
            element = circuit.element(name)
            if element is None or element.kind != "led":
                continue
            try:
                plain = vary(with_values(circuit, {f"{name}.series": 1.0}), f"{ref}.position", 0.0, 1.0)
            except LidoffError:
                return name, None
            return name, plain.dead_travel
        return None, None

    # How it works ---------------------------------------------------------------------------------------------------

    def explanation(self) -> None:
        main, groups = self.first, self.account.groups
        if main is None or groups is None or main.view is None:
            return
        turned = self.account.knobs[0].turn if self.account.knobs else None
        try:
            told = explain(self.circuits[main.name], groups, self.solutions[main.name], turned=turned)
        except LidoffError as error:
            self.skip("explanation", f"How it works was not told: {error}", main.name)
            return
        self.account = replace(self.account, explanation=told)

    # Switching on and off -------------------------------------------------------------------------------------------

    def switching(self) -> None:
        main = self.first
        if main is None or main.view is None:
            return
        circuit = self.circuits[main.name]
        try:
            self.account = replace(self.account, switched_on=switch_on(circuit))
        except LidoffError as error:
            self.skip("switching", f"Switching on was not followed: {error}", main.name)
        try:
            self.account = replace(self.account, unplugged=unplug(circuit, self.solutions[main.name]))
        except LidoffError as error:
            self.skip("switching", f"Pulling the plug was not followed: {error}", main.name)

    # Faults ---------------------------------------------------------------------------------------------------------

    def faults(self) -> None:
        main = self.first
        if main is None or main.view is None:
            return
        try:
            self.account = replace(self.account, faults=faults(self.circuits[main.name], self.item))
        except LidoffError as error:
            self.skip("faults", f"Faults were not worked through: {error}", main.name)

    # Hazards --------------------------------------------------------------------------------------------------------

    def hazards(self) -> None:
        account, main = self.account, self.first
        solved, known = None, {}
        if main is not None and main.view is not None:
            solved = self.solutions[main.name]
            results = {
                "stress": main.stress,
                "unplugged": account.unplugged,
                "switched_on": account.switched_on,
                "faults": None if account.faults is None else tuple(one.as_json() for one in account.faults.faults),
            }
            known = {name: result for name, result in results.items() if result is not None}
        facts = facts_of(self.item, solved=solved, known=known)
        self.account = replace(account, findings=judge_hazards(facts), card=bench_card(facts))

    # Light and mains ------------------------------------------------------------------------------------------------

    def page(self) -> None:
        states = []
        for state in self.account.states:
            solution = self.solutions[state.name]
            if state.view is None:
                states.append(state)
                continue
            page = light_and_mains(self.item, solution, solution.figures(), dimmed=self._dimmed(state))
            knobs = [one.ref for one in self.account.knobs if one.state == state.name]
            if knobs and page.interference is not None:
                page = replace(page, loudest=loudest(self.circuits[state.name], knobs, page.interference))
            states.append(replace(state, page=page))
        self.account = replace(self.account, states=tuple(states))

    def _dimmed(self, state: StateAccount) -> bool:
        light = state.figures["light"]
        stops = [stop.brightness or 0.0 for knob in self.account.knobs for stop in knob.turn.up]
        if light is None or not stops:
            return False
        return float(light["mean_current"]) < _FULL * max(stops)

    # Parts ----------------------------------------------------------------------------------------------------------

    def parts(self) -> None:
        elements: dict[str, Element] = {}
        for circuit in self.circuits.values():
            for element in circuit.elements:
                elements.setdefault(element.ref, element)
        account = self.account
        found = account_parts(self.item, elements, account.states, account.groups, account.used)
        self.account = replace(account, parts=found)


def powers_shown(state: StateAccount) -> dict[str, str]:
    """What is written beside the parts of a schematic: the power of each that turns a share of the whole into heat."""
    powers = {ref: float(figures["power"]) for ref, figures in state.figures["parts"].items()}
    least = _WORTH_WRITING * max(powers.values(), default=0.0)
    return {ref: engineering(power, "W", 2) for ref, power in powers.items() if power >= least and power > 0.0}


def _inferred_here(judgement: Judgement | None, circuit: Circuit) -> dict[str, Inferred]:
    """What the readings make of the values that nobody wrote down and that play a part in this circuit."""
    if judgement is None:
        return {}
    return {
        one.key: one
        for one in judgement.inferred
        if one.key in circuit.unknowns
        and one.touched
        and one.state in (None, circuit.state)
        and math.isfinite(one.median)
    }


def _moved(item: Item, circuit: Circuit, inferred: Mapping[str, Inferred]) -> tuple[Moved, ...]:
    """Everything that is not known exactly in this circuit, with where it stands and the ends of its range."""
    found = []
    for one in inputs_of(item, [circuit]):
        if not one.touches(circuit):
            continue
        told = inferred.get(one.name)
        if told is None:
            found.append(Moved(input=one, at=0.0, low=-1.0, high=1.0))
        else:
            at, low, high = (one.coordinate(value) for value in (told.median, told.low95, told.high95))
            found.append(Moved(input=one, at=at, low=low, high=high))
    return tuple(found)
