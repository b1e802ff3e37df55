"""How it works: a plain account of a solved item in the order in which energy flows, and a script to read aloud.

    account = explain(circuit, recognise(circuit), solution, turned=turn(circuit, "VR1"))
    account.text                       # paragraphs, a group each
    for line in script(account): ...   # short sentences with the parts to point at

Each sentence is tied to a group and to the source of each of its numbers; a sentence with a number that has no source
cannot be built. What was not recognised is said at the end, and so is what the numbers do not know.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from lidoff.circuit import Circuit
from lidoff.circuit.groups import Group, Groups
from lidoff.circuit.groups.words import listed, many
from lidoff.cycle import Solution
from lidoff.studies.telling.case import Case, say
from lidoff.studies.telling.citing import Cited, Sentence
from lidoff.studies.telling.feed import supply
from lidoff.studies.telling.knobs import travel_of
from lidoff.studies.telling.registry import TELLERS
from lidoff.studies.turn import Turn
from lidoff.studies.vary import Variation

__all__ = ["Account", "Cited", "Line", "Paragraph", "Sentence", "explain", "script"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """The sentences about one group, in which others may play a part; `title` is the group's."""

    group: str
    title: str
    sentences: tuple[Sentence, ...]

    @property
    def text(self) -> str:
        """Its sentences one after the other."""
        return " ".join(sentence.text for sentence in self.sentences)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """How an item works, a paragraph a group, from the cord to the light. `unexplained` are the parts left over."""

    paragraphs: tuple[Paragraph, ...]
    unexplained: tuple[str, ...]

    @property
    def sentences(self) -> tuple[Sentence, ...]:
        """All sentences in order."""
        return tuple(sentence for paragraph in self.paragraphs for sentence in paragraph.sentences)

    @property
    def text(self) -> str:
        """The whole account as plain text."""
        return "\n\n".join(paragraph.text for paragraph in self.paragraphs)

    def as_json(self) -> dict[str, Any]:
        """A mapping with the numbers in SI units, each with its source."""
        return {
            "paragraphs": [
                {
                    "group": paragraph.group,
                    "title": paragraph.title,
                    "sentences": [sentence.as_json() for sentence in paragraph.sentences],
                }
                for paragraph in self.paragraphs
            ],
            "unexplained": list(self.unexplained),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One sentence of the script: read `text` aloud and point at `refs`. `group` and `figures` are its sources."""

    text: str
    refs: tuple[str, ...]
    group: str
    figures: Mapping[str, Cited]


def explain(
    circuit: Circuit,
    groups: Groups,
    solution: Solution,
    *,
    turned: Turn | Variation | Mapping[str, Any] | None = None,
) -> Account:
    """How the circuit works, with the numbers of its solution.

    `turned` is the knob of a dimmer from end to end, if that was worked out already (a `Turn`, a `Variation` of its
    position, or what either prints as JSON). Without it the travel is worked out here where the account needs it: on a
    dimmer whose timing capacitor charges through LEDs.
    """
    case = Case(circuit, groups, solution, None if turned is None else travel_of(turned))
    paragraphs = [Paragraph(group="supply", title="what feeds it", sentences=tuple(supply(case)))]
    for group in groups.best:
        told = tuple(TELLERS[group.name](case, group))
        told += tuple(_others(case, group, told))
        paragraphs.append(Paragraph(group=group.id, title=group.title, sentences=told))
    paragraphs.append(Paragraph(group="item", title="where it goes", sentences=tuple(_whole(case))))
    doubts = tuple(_doubts(case))
    if doubts:
        paragraphs.append(Paragraph(group="unexplained", title="what is not known", sentences=doubts))
    return Account(paragraphs=tuple(p for p in paragraphs if p.sentences), unexplained=groups.unexplained)


def script(account: Account) -> tuple[Line, ...]:
    """The account as short sentences to be read aloud, each with the parts to point at."""
    return tuple(
        Line(text=sentence.spoken, refs=sentence.refs, group=sentence.group, figures=sentence.figures)
        for sentence in account.sentences
    )


def _others(case: Case, group: Group, told: tuple[Sentence, ...]) -> Iterator[Sentence]:
    """The group's own parts that none of its sentences points at, each with its role and current."""
    pointed = {ref for sentence in told for ref in sentence.refs}
    for ref in group.own:
        if ref not in pointed:
            flow = case.part(ref, "current_rms")
            text = f"{ref} is the {group.roles[ref]}; {{flow}} flows through it."
            yield say(group.id, text, f"{ref}, the {group.roles[ref]}. {{flow}}.", (ref,), flow=flow)


def _whole(case: Case) -> Iterator[Sentence]:
    """Where most of the power ends, and what the light does."""
    whole = float(case.figures["input"]["power"])
    powers = {ref: max(power, 0.0) for ref, power in case.solution.powers.items()}
    largest = sorted(powers, key=lambda ref: -powers[ref])[:3]
    largest = [ref for ref in largest if whole > 0.0 and powers[ref] > 0.02 * whole]
    if largest:
        figures = {
            f"p{k}": Cited(
                value=powers[ref] / whole,
                unit="",
                source=f"figures: parts.{ref}.power over input.power",
                style="percent",
            )
            for k, ref in enumerate(largest)
        }
        where = listed(f"{{p{k}}} in {ref}" for k, ref in enumerate(largest))
        text = f"Of the power taken, most ends here: {where}."
        yield say("item", text, f"The power ends here. {where}.", tuple(largest), **figures)
    light = case.figures["light"]
    if light is not None and light.get("percent_flicker") is not None:
        depth = float(light["percent_flicker"]) / 100.0
        figures = {
            "depth": Cited(value=depth, unit="", source="figures: light.percent_flicker", style="percent"),
            "hertz": case.light("frequency", "Hz"),
        }
        text = (
            "The light flickers by {depth} at {hertz}." if depth > 1e-3 else "The light is steady: {depth} at {hertz}."
        )
        yield say("item", text, text, tuple(light["sources"]), **figures)


def _doubts(case: Case) -> Iterator[Sentence]:
    """What was not recognised, can be read in another way, is taken rather than known, or did not settle."""
    left = case.groups.unexplained
    if left:
        count = Cited(value=len(left), unit="", source="groups: unexplained", style="count")
        text = (
            f"Not recognised: {{count}} {many(len(left), 'part', 'parts')}, {listed(left)}. What they do is not in "
            f"this account, though their currents are in its numbers."
        )
        spoken = f"What {listed(left)} {many(len(left), 'does', 'do')}, we do not know. {{count}} left over."
        yield say("unexplained", text, spoken, left, count=count)
    for group in case.groups.groups:
        if group.rank > 1:
            rank = Cited(value=group.rank, unit="", source=f"groups: rank of {group.id}", style="count")
            text = f"{listed(group.own)} may also be read as something else: {group.title} (reading {{rank}})."
            spoken = f"{listed(group.own)} may also be read otherwise: {group.title}. Reading {{rank}}."
            yield say("unexplained", text, spoken, group.refs, rank=rank)
    for name in case.circuit.unknowns:
        owner, _, key = name.rpartition(".")
        element = case.circuit.element(owner)
        if element is None:
            continue
        taken = Cited(value=element.number(key), unit="", source=f"record: {name} (taken)")
        text = f"The {key} of {owner} is not known; {{taken}} in its own unit is taken here."
        yield say("unexplained", text, f"The {key} of {owner} is not known.", (owner,), taken=taken)
    if not case.solution.settled:
        cycles = Cited(value=case.solution.cycles, unit="", source="figures: cycles", style="count")
        text = "The cycle did not settle: the numbers are those of the last {cycles} worked out, and they wander."
        yield say("unexplained", text, "Beware. The cycle did not settle in {cycles}.", (), cycles=cycles)
    elif case.solution.cycles > 1:
        cycles = Cited(value=case.solution.cycles, unit="", source="figures: cycles", style="count")
        text = "It does not repeat from cycle to cycle but in a rhythm of {cycles}; the numbers are means over that."
        yield say("unexplained", text, "It runs in a rhythm of {cycles} cycles.", (), cycles=cycles)
