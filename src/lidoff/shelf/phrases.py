"""The words that a sentence to the shelf may be made of: comparisons, trade names, answers, words without meaning."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from lidoff.hazards import QUESTIONS, RULES
from lidoff.kinds import KINDS
from lidoff.shelf.asking import GROUPS
from lidoff.shelf.measures import BY_NAME, plain_words
from lidoff.shelf.query import Condition, HasFinding, HasGroup, HasPart, Is, Saw, Within
from lidoff.standards.risk import LEVELS

Phrase = tuple[str, ...]
Maker = Callable[[bool], Condition]
"""Makes the condition that a phrase stands for; the argument says whether it is to be without."""

COMPARING: Final[Mapping[Phrase, str]] = {
    tuple(words.split()): sign
    for sign, listed in (
        (">", "over, above, more than, greater than, higher than, exceeding, beyond, >"),
        (">=", "at least, no less than, not less than, not under, >=, ≥"),
        ("<", "under, below, less than, lower than, fewer than, <"),
        ("<=", "at most, up to, no more than, not more than, not over, <=, ≤"),
        ("~", "about, around, approximately, roughly, ~, ≈"),
        ("=", "exactly, equal to, ="),
        ("..", "between, from"),
    )
    for words in listed.split(", ")
}
"""Words that begin a comparison, and the sign that they stand for."""

# Which figure a unit alone means; percent and volts mean none.
BY_UNIT: Final[Mapping[str, str]] = {
    "W": "input.power",
    "VA": "input.apparent_power",
    "A": "input.current_rms",
    "Hz": "light.frequency",
}

FILLING: Final = frozenset(
    ["of", "is", "are", "was", "were", "at", "being", "that", "the", "a", "an", "its", "their", "on", "in", "to"]
)
"""What may stand between a figure and its comparison."""
NEGATING: Final = frozenset({"without", "no", "not", "lacking", "lack", "lacks"})
INTRODUCING: Final = frozenset({"with", "having", "has", "have", "had", "contain", "contains", "containing"})
ARTICLES: Final = frozenset({"a", "an", "any", "the", "one"})
_SILENT: Final = """
    a all an and any are as at be been by consume consumes consuming did do does draw drawing drawn draws every find
    for from give had has have having how i in is it item items its list look looked made many me most of on one
    part parts show take takes taking tell that the their them there these they things this those to use uses using
    was were what where which who whose will with
"""
SILENT: Final = frozenset(_SILENT.split())
"""Words that are passed over."""


def _answers() -> dict[Phrase, Maker]:
    bearers: dict[Phrase, list[tuple[str, str]]] = {}
    for question in QUESTIONS:
        for answer in question.answers:
            words = plain_words(answer)
            forms = [words]
            if words.startswith("no "):
                forms += [f"without {words[3:]}", f"without a {words[3:]}", f"without any {words[3:]}"]
            for form in forms:
                bearers.setdefault(tuple(form.split()), []).append((question.id, answer))
    return {
        phrase: _saw(*whose[0]) for phrase, whose in bearers.items() if len(whose) == 1 and len(phrase) > 1
    }  # a word that several questions share, or a single word, is looked for as a word


def _saw(question: str, answer: str) -> Maker:
    return lambda without: Saw(question=question, answer=answer, without=without)


def _finding(rule: str) -> Maker:
    return lambda without: HasFinding(rule=rule, without=without)


def _group(name: str) -> Maker:
    return lambda without: HasGroup(name=name, without=without)


def _part(kind: str) -> Maker:
    return lambda without: HasPart(kind=kind, title=KINDS[kind].title, without=without)


def _level(level: str) -> Maker:
    return lambda without: HasFinding(risk=level, without=without)


def _severity(number: int) -> Maker:
    return lambda without: HasFinding(severity=number, without=without)


def _protection(value: str) -> Maker:
    return lambda _: Is(field="class", value=value)


def _overloaded(without: bool) -> Condition:
    stress = BY_NAME["stress.times"]
    return Within(measure=stress, high=1.0, with_high=True) if without else Within(measure=stress, low=1.0)


def _always() -> dict[Phrase, Maker]:
    found: dict[Phrase, Maker] = _answers()
    for name in GROUPS:
        words = tuple(name.split("-"))
        if len(words) > 1 and words[0] != "no":  # "no snubber" asks for items without one
            found[words] = found[(*words[:-1], f"{words[-1]}s")] = _group(name)
    for rule in RULES:
        found[tuple(rule.id.split("-"))] = _finding(rule.id)
    for level in LEVELS:
        for tail in ("", " or more", " or worse", " or above", " or higher"):
            found[tuple(f"{level} risk{tail}".split())] = _level(level)
    for number in range(1, 5):
        for tail in ("", " or more", " or worse", " or above", " or higher"):
            found[tuple(f"severity {number}{tail}".split())] = _severity(number)
    for value in ("I", "II", "III"):
        found[("class", value.casefold())] = _protection(value)
    for saying in ("over its rating", "over their rating", "over their ratings", "over rating"):
        found[tuple(saying.split())] = _overloaded
    return found


def _introduced() -> dict[Phrase, Maker]:
    found: dict[Phrase, Maker] = {}
    for name, kind in KINDS.items():
        for words in (name, kind.title):
            split = tuple(plain_words(words).split())
            found.setdefault(split, _part(name))
            found.setdefault((*split[:-1], f"{split[-1]}s"), _part(name))
    for name in GROUPS:
        split = tuple(name.split("-"))
        found.setdefault(split, _group(name))
        found.setdefault((*split[:-1], f"{split[-1]}s"), _group(name))
    return found


ALWAYS: Final[Mapping[Phrase, Maker]] = _always()
"""Phrases that stand for a condition wherever they stand."""
INTRODUCED: Final[Mapping[Phrase, Maker]] = _introduced()
"""Phrases that do so behind "with", "without" and the like only: a lamp may be a title or a part."""
