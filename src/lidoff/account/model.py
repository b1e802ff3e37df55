"""What an account holds: frozen results, so that whoever reads it needs no solver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from lidoff.circuit import Element, Mains
from lidoff.circuit.groups import Group, Groups
from lidoff.drawing import CycleView
from lidoff.figures import Camera, Comparison, Interference, Sentence
from lidoff.hazards import BenchCard, Findings
from lidoff.markings import Candidate, Decoded
from lidoff.readings import Inferred, Judgement
from lidoff.record import Item, Part
from lidoff.record.model import EMPTY
from lidoff.studies import Faults, Stress, SwitchOn, Turn, Unplugged
from lidoff.studies.explain import Account as Explanation

Origin = Literal["measured", "recorded", "marked", "computed", "inferred", "assumed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """A stage that was not run, or gave nothing, and why; `state` where it is about one state only."""

    stage: str
    why: str
    state: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """How far a computed figure may be off [unit of the figure], from `low` to `high`, and what does most of it.

    Every input that is not known exactly is moved to both ends of its own range, one at a time; what that does to the
    figure is added up as a root of squares, upwards and downwards apart. `share` is how much of the variance `most`,
    the input named, brings [1].
    """

    low: float
    high: float
    most: str = ""
    share: float = 0.0

    @property
    def half_width(self) -> float:
        """Half of it [unit of the figure]."""
        return 0.5 * (self.high - self.low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number with its unit, where it comes from, and how far it may be off (None where that was not worked out)."""

    value: float
    unit: str
    origin: Origin
    range: Range | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAccount:
    """A part with what its marking means and what it belongs to.

    `element` is the part as it was solved in the first state in which it plays a part, None where it was not solved.
    `origins` says for each of its keys where the value comes from. `stress` holds its rows of the state in which it is
    worst off, worst first, and `worst_state` names that state. `groups` are those it is in, its own first.
    """

    part: Part
    element: Element | None = None
    decoded: Decoded | None = None
    taken: Candidate | None = None
    origins: Mapping[str, Origin] = field(default_factory=lambda: EMPTY)
    groups: tuple[Group, ...] = ()
    stress: tuple[Stress, ...] = ()
    worst_state: str | None = None

    @property
    def worst(self) -> Stress | None:
        """The row in which it is nearest to its rating, or furthest over it."""
        return self.stress[0] if self.stress and self.stress[0].times is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class LightAndMains:
    """What the eye, the camera, the supply and the radio see of one state, beside what is published about it.

    `lit` says whether there is light of which flicker is worth a word, and flicker is held against nothing without;
    `loudest` says where along the knobs the radio hears most; empty where there is no knob, or nothing to hear.
    """

    light_words: tuple[Sentence, ...]
    input_words: tuple[Sentence, ...]
    warning: str | None
    light_bounds: tuple[Comparison, ...]
    input_limits: tuple[Comparison, ...]
    camera: Camera | None
    interference: Interference | None
    elsewhere: str
    corner_of_the_eye: str
    dimmed: bool
    lit: bool
    loudest: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StateAccount:
    """One state solved: the mapping of `figures --json`, its ranges by dotted name, the cycle for pictures, stresses.

    `view` is None on a bench supply. `inputs` names what was moved for the ranges. `page` is None where no mains cycle
    is there to judge.
    """

    name: str | None
    supply: Mains
    figures: Mapping[str, Any]
    ranges: Mapping[str, Range]
    inputs: tuple[str, ...]
    view: CycleView | None
    stress: tuple[Stress, ...]
    page: LightAndMains | None = None
    warnings: tuple[str, ...] = ()

    def figure(self, name: str, unit: str) -> Figure | None:
        """A computed figure by its dotted name ("input.power"), None where there is none."""
        value: Any = self.figures
        for key in name.split("."):
            value = value.get(key) if isinstance(value, Mapping) else None
        if not isinstance(value, int | float):
            return None
        return Figure(value=float(value), unit=unit, origin="computed", range=self.ranges.get(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """A knob turned through in one state, and where that state has it set [0 to 1].

    Where its timing charges through an LED string, `through` names the string and `plain_dead_travel` is what the dead
    travel [0 to 1] would be with all but one of its LEDs bridged: what the string alone makes of the knob.
    """

    ref: str
    state: str | None
    setting: float
    clockwise: str | None
    turn: Turn
    through: str | None = None
    plain_dead_travel: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawings:
    """The main state drawn, as SVG: its schematic, and six instants of its half-cycle in a wide and a narrow form.

    `instants` is None on a bench supply.
    """

    schematic: str
    instants: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Everything worked out about one item.

    `states` holds every state that could be solved, the main one first. `used` maps values that nobody wrote down to
    what the readings make of them, as taken in the figures. `switched_on`, `unplugged`, `explanation` and
    `faults` are about the main state; `findings` and `card`, the bench card, about that and what was seen.
    `missing` are sentences on what the record leaves open.
    """

    item: Item
    version: str
    fingerprint: str
    parts: tuple[PartAccount, ...] = ()
    judgement: Judgement | None = None
    used: Mapping[str, Inferred] = field(default_factory=lambda: EMPTY)
    states: tuple[StateAccount, ...] = ()
    knobs: tuple[Knob, ...] = ()
    groups: Groups | None = None
    switched_on: SwitchOn | None = None
    unplugged: Unplugged | None = None
    drawings: Drawings | None = None
    explanation: Explanation | None = None
    faults: Faults | None = None
    findings: Findings | None = None
    card: BenchCard | None = None
    skipped: tuple[Skipped, ...] = ()
    missing: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def main(self) -> StateAccount | None:
        """The state named first in the record, where it could be solved; else None."""
        first = self.item.states[0].name if self.item.states else None
        return next((state for state in self.states if state.name == first), None)

    def state(self, name: str | None) -> StateAccount | None:
        """The state of that name, or None."""
        return next((state for state in self.states if state.name == name), None)

    def part(self, ref: str) -> PartAccount | None:
        """The part of that name ("R1", "section/R1"), or None."""
        return next((one for one in self.parts if one.part.name == ref), None)
