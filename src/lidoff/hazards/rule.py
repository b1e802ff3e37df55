"""The form of a rule: an unchanging code, a readable id, fixed headings, a check, and three cases that show it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from lidoff.circuit import build
from lidoff.circuit.groups import recognise
from lidoff.hazards.facts import Facts
from lidoff.hazards.look import named
from lidoff.hazards.look import question as question_of
from lidoff.hazards.model import Basis, Confidence, Finding, Step, Undecided
from lidoff.hazards.risk import rate, with_chosen
from lidoff.record import read_text
from lidoff.record.model import EMPTY

_NAMED: Final = 4  # joins named in one question


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """A rule that fires: what was found, on what evidence, how sure.

    `basis` adds the rows that were looked up to the rule's own; `severity` and `steps` replace the rule's.
    `from_circuit` says that it rests on how the parts are joined: where a join is known from a picture alone it is no
    finding, and the rule is undecided.
    """

    because: tuple[str, ...]
    evidence: tuple[str, ...]
    confidence: Confidence = "seen"
    about: tuple[str, ...] = ()
    basis: tuple[Basis, ...] = ()
    severity: int | None = None
    steps: tuple[Step, ...] = ()
    from_circuit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Open:
    """A rule that applies and cannot be decided: what it needs."""

    needs: tuple[str, ...]
    about: tuple[str, ...] = ()


Outcome = Hit | Open


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A small record that shows a rule: `record` is the inside of an item.toml, `worked_out` fields of `Facts`.

    `says` are words that the finding's reasons, or the needs, must hold.
    """

    about: str
    record: str
    says: tuple[str, ...] = ()
    worked_out: Mapping[str, Any] = field(default_factory=lambda: EMPTY)

    @property
    def text(self) -> str:
        """The whole record as the text of an item.toml."""
        return f"lidoff = 1\n{self.record.strip()}\n"

    def facts(self) -> Facts:
        """The case as the rule sees it: the record read, its circuit built where it has parts, results as given."""
        item = read_text(self.text, "case.toml")
        circuit = build(item) if item.parts else None
        groups = recognise(circuit) if circuit is not None else None
        return Facts(item=item, circuit=circuit, groups=groups, **self.worked_out)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the catalogue.

    `looks_at`, `why`, `limits`, `settles`, `action`, `caution` are its page's headings and what its findings say;
    `basis` its published yardsticks; `steps` and `severity` (1 to 4) its injury scenario; `since` the catalogue version
    it came with. `check` gives nothing where the rule does not apply or finds nothing.
    """

    code: str
    id: str
    title: str
    looks_at: str
    why: str
    basis: tuple[Basis, ...]
    limits: str
    settles: str
    action: str
    caution: str
    severity: int
    steps: tuple[Step, ...]
    check: Callable[[Facts], Iterable[Outcome]]
    bad: Case
    good: Case
    undecided: Case
    since: str = "1"

    def judge(self, facts: Facts) -> tuple[list[Finding], list[Undecided]]:
        """The rule put to an item: its findings, and what it could not decide."""
        findings: list[Finding] = []
        undecided: list[Undecided] = []
        for made in self.check(facts):
            outcome = _proven(made, facts)
            if isinstance(outcome, Open):
                undecided.append(
                    Undecided(code=self.code, id=self.id, title=self.title, needs=outcome.needs, about=outcome.about)
                )
                continue
            steps = with_chosen(outcome.steps or self.steps, self.id, facts.chosen)
            findings.append(
                Finding(
                    code=self.code,
                    id=self.id,
                    title=self.title,
                    risk=rate(steps, outcome.severity or self.severity),
                    confidence=outcome.confidence,
                    evidence=outcome.evidence,
                    because=outcome.because,
                    basis=tuple(dict.fromkeys((*self.basis, *outcome.basis))),
                    why=self.why,
                    settles=self.settles,
                    action=self.action,
                    caution=self.caution,
                    about=outcome.about,
                )
            )
        return findings, undecided


def _proven(outcome: Outcome, facts: Facts) -> Outcome:
    """A finding that hangs on joins known from a picture alone becomes a question for the continuity meter."""
    if isinstance(outcome, Open) or not outcome.from_circuit:
        return outcome
    joins = facts.unproven(outcome.about)
    if not joins:
        return outcome
    named = ", ".join(str(join) for join in joins[:_NAMED])
    more = f" and {len(joins) - _NAMED} more" if len(joins) > _NAMED else ""
    return Open(
        needs=(
            f"Continuity, unplugged and discharged, of what is known from a picture alone: {named}{more}. If the "
            f"picture is right: {outcome.because[0]}",
        ),
        about=outcome.about,
    )


def step(what: str, probability: float) -> Step:
    """A step whose probability [1] is our assumption."""
    return Step(what=what, probability=probability)


def from_sighting(facts: Facts, question: str) -> tuple[str, ...]:
    """The evidence that an answer to a question of the look list is."""
    sighting = facts.sighting(question)
    if sighting is None:
        return (f"The record answers {question}: {facts.answer(question)}.",)
    words = f"Sighting {question}: {sighting.seen}"
    if sighting.note:
        words += f" ({sighting.note})"
    if sighting.photo:
        words += f"; photo {sighting.photo}"
    return (words,)


def sighted(question: str, answers: Mapping[str, str], needs: str = "") -> Callable[[Facts], Iterable[Outcome]]:
    """A check that fires on some answers to a question of the look list: `answers` maps each to its reason.

    With `needs`, an item to which the question was put without a usable answer is undecided; without, silence.
    """

    def check(facts: Facts) -> Iterable[Outcome]:
        answer = facts.answer(question)
        if answer is not None and answer in answers:
            yield Hit(because=(answers[answer],), evidence=from_sighting(facts, question))
        elif answer is None and needs and asked_in_vain(facts, question):
            yield Open(needs=(f"{needs} The answers that count: {', '.join(question_of(question).answers)}.",))

    return check


def asked_in_vain(facts: Facts, question: str) -> bool:
    """Whether somebody wrote a sighting about a question that is none of its answers."""
    return any(named(one.about) == question for one in facts.item.sightings)
