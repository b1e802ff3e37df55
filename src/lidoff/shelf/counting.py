"""Counts over the collection: answers of the look list, findings, groups, part kinds, classes.

What nobody looked at is never counted as a no: the answers are counted among the items that were looked at, and it is
said how many were not.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from lidoff.hazards import QUESTIONS, RULES
from lidoff.kinds import KINDS
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import plain_words
from lidoff.shelf.phrases import SILENT
from lidoff.shelf.query import EVERYTHING, HasFinding, Query, Saw, group_words
from lidoff.shelf.search import find_in, number_of, numbers_in, rank
from lidoff.shelf.sentence import understand
from lidoff.shelf.store import reading
from lidoff.standards.risk import LEVELS

Tone = Literal["plain", "asked", "open"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One line of a count: how many items, and which (by number).

    `tone` is "asked" for what the question was about, "open" for what nobody looked at or decided.
    """

    label: str
    count: int
    items: tuple[int, ...] = ()
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """A count: `bars` with how many items each, out of `among` that could be counted, out of `of` that were asked for.

    `query` says which items were asked for. Where `shares` is true the bars without tone "open" add up to `among`; else
    an item may stand in several or none.
    """

    title: str
    bars: tuple[Bar, ...]
    among: int
    of: int
    query: Query
    sentence: str
    shares: bool = True

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            **self.query.as_json(),
            "title": self.title,
            "bars": [
                {"label": bar.label, "count": bar.count, "items": list(bar.items), "open": bar.tone == "open"}
                for bar in self.bars
            ],
            "among": self.among,
            "of": self.of,
            "sentence": self.sentence,
        }


_QUESTIONS: Final = {one.id: one for one in QUESTIONS}
_RULES: Final = {one.id: one for one in RULES}
_SUBJECTS: Final[Mapping[str, str]] = {
    "class": "class",
    "classes": "class",
    "protection class": "class",
    "region": "region",
    "regions": "region",
    "kind": "kind",
    "kinds": "kind",
    "group": "groups",
    "groups": "groups",
    "finding": "findings",
    "findings": "findings",
    "risk": "risk",
    "risks": "risk",
    "part": "parts",
    "parts": "parts",
    "part kinds": "parts",
}
SUBJECTS: Final = ("class", "region", "kind", "groups", "findings", "risk", "parts")
"""What can be counted beside the questions of the look list, the rules and whatever a sentence asks."""


def count(index: Path, what: str, among: Query = EVERYTHING) -> Count:
    """Counts what is asked: one of `SUBJECTS`, a question of the look list or a rule by id, or a sentence.

    In a sentence such as "how many plug fuses had no filler" the answer that is named is counted among all answers to
    that question; any other sentence counts the items that it describes. `among` narrows the items. Raises QueryError
    where nothing to be counted is named.
    """
    with reading(index) as connection:
        words = plain_words(what)
        id = words.replace(" ", "-")
        if words in _SUBJECTS:
            return _subject(connection, _SUBJECTS[words], among)
        if id in _QUESTIONS:
            return _question(connection, id, None, among)
        if id in _RULES:
            return _rule(connection, id, among)
        within = next((one for one in what.split() if one.casefold() in _QUESTIONS), None)
        if within is not None:
            rest = understand(" ".join(one for one in what.split() if one != within))
            return _question(connection, within.casefold(), None, among.and_(rest))
        asked = understand(what)
        saws = [one for one in asked.conditions if isinstance(one, Saw)]
        if saws:
            rest = Query(conditions=tuple(one for one in asked.conditions if one is not saws[0]))
            return _question(connection, saws[0].question, saws[0].answer, among.and_(rest))
        rules = [one for one in asked.conditions if isinstance(one, HasFinding) and one.rule and not one.without]
        if rules and len(asked.conditions) == 1:
            return _rule(connection, str(rules[0].rule), among)
        named = _named(words)
        if named is not None:
            return _question(connection, named, None, among)
        if not asked.conditions:
            raise QueryError(
                f"“{what}” names nothing to be counted; name a question of the look list, a rule, or one of "
                f"{', '.join(SUBJECTS)}."
            )
        return _meeting(connection, asked, among)


def _named(words: str) -> str | None:
    """The question whose id a sentence is made of, whatever the order and the plurals of its words."""
    told = {word.removesuffix("s") for word in words.split() if word not in SILENT}
    return next((id for id in _QUESTIONS if {word.removesuffix("s") for word in id.split("-")} == told), None)


def _question(connection: sqlite3.Connection, id: str, answer: str | None, among: Query) -> Count:
    question = _QUESTIONS[id]
    chosen = set(numbers_in(connection, among))
    by: dict[str | None, list[int]] = {}
    for number, seen in connection.execute("SELECT item_id, answer FROM look WHERE question = ?", (id,)):
        if number in chosen:
            by.setdefault(seen, []).append(number)
    unseen = by.pop(None, [])
    looked = sum(map(len, by.values()))
    bars = [
        Bar(label=one, count=len(by.get(one, ())), items=tuple(sorted(by.get(one, ()))),
            tone="asked" if one == answer else "plain")
        for one in question.answers
    ]  # fmt: skip
    bars.append(Bar(label="not looked at", count=len(unseen), items=tuple(sorted(unseen)), tone="open"))
    return Count(
        title=question.what, bars=tuple(bars), among=looked, of=len(chosen), query=among,
        sentence=_looked_sentence(question.what, bars, answer, looked, len(unseen), len(chosen)),
    )  # fmt: skip


def _looked_sentence(what: str, bars: Sequence[Bar], answer: str | None, looked: int, unseen: int, chosen: int) -> str:
    if not looked:
        first = f"{what}: nobody looked at any."
    else:
        named = [bar for bar in bars if bar.label == answer] or [
            bar for bar in bars if bar.tone == "plain" and bar.count
        ]
        told = ", ".join(f"“{bar.label}” in {bar.count} of {looked}" for bar in named)
        first = f"{what}: {told} looked at."
    rest = chosen - looked - unseen
    more = f" {unseen} more {_was(unseen)} not looked at." if unseen else ""
    return f"{first}{more}" + (f" The question does not arise for {rest}." if rest else "")


def _was(number: int) -> str:
    return "was" if number == 1 else "were"


def _rule(connection: sqlite3.Connection, id: str, among: Query) -> Count:
    chosen = _judged(connection, among)
    by: dict[str, list[int]] = {"found": [], "undecided": []}
    for number, outcome in connection.execute(
        "SELECT item_id, max(outcome = 'found') FROM judged WHERE rule = ? GROUP BY item_id ORDER BY item_id", (id,)
    ):
        if number in chosen:
            by["found" if outcome else "undecided"].append(number)
    found, left = by["found"], by["undecided"]
    silent = sorted(chosen - set(found) - set(left))
    # The catalogue keeps silent both where a rule does not arise and where it found nothing: that is no "no".
    bars = (
        Bar(label="found", count=len(found), items=tuple(found), tone="asked"),
        Bar(label="undecided", count=len(left), items=tuple(left), tone="open"),
        Bar(label="the rule is silent", count=len(silent), items=tuple(silent), tone="open"),
    )
    title = _RULES[id].title
    sentence = f"{title}: found in {len(found)} of {len(chosen)} items judged."
    if left:
        sentence += f" In {len(left)} more it could not be decided."
    if silent:
        sentence += f" In {len(silent)} the rule is silent: it does not arise, or found nothing."
    return Count(title=title, bars=bars, among=len(chosen), of=len(chosen), query=among, sentence=sentence)


def _judged(connection: sqlite3.Connection, among: Query) -> set[int]:
    judged = {number for (number,) in connection.execute("SELECT id FROM item WHERE sentence <> ''")}
    return judged & set(numbers_in(connection, among))


def _meeting(connection: sqlite3.Connection, asked: Query, among: Query) -> Count:
    chosen = number_of(connection, among)
    found = find_in(connection, among.and_(asked), 0)
    numbers = tuple(numbers_in(connection, among.and_(asked)))
    rest = chosen - found.total - found.unknown
    bars = [
        Bar(label="fit", count=found.total, items=numbers, tone="asked"),
        Bar(label="do not", count=rest),
    ]
    if found.unknown:
        bars.append(Bar(label="figure not known", count=found.unknown, tone="open"))
    known = chosen - found.unknown
    sentence = f"{found.total} of {known} items."
    if found.unknown:
        sentence += f" Of {found.unknown} more a figure that was asked for is not known."
    title = asked.understood.removeprefix("Understood as: ").removesuffix(".")
    return Count(
        title=title[:1].upper() + title[1:], bars=tuple(bars), among=known, of=chosen, query=among.and_(asked),
        sentence=sentence,
    )  # fmt: skip


def _subject(connection: sqlite3.Connection, subject: str, among: Query) -> Count:
    chosen = set(numbers_in(connection, among))
    if subject in ("class", "region", "kind"):
        return _heads(connection, subject, chosen, among)
    if subject == "risk":
        return _risks(connection, chosen, among)
    title, select, words, known = _TABLES[subject]
    counted = chosen & {number for (number,) in connection.execute(known)}
    by: dict[str, set[int]] = {}
    for number, name in connection.execute(select):
        if number in counted:
            by.setdefault(name, set()).add(number)
    bars = tuple(
        Bar(label=words(name), count=len(numbers), items=tuple(sorted(numbers)))
        for name, numbers in sorted(by.items(), key=lambda one: (-len(one[1]), one[0]))
    )
    return Count(
        title=title, bars=bars, among=len(counted), of=len(chosen), query=among, shares=False,
        sentence=_several(title, bars, len(counted), len(chosen)),
    )  # fmt: skip


_TABLES: Final[Mapping[str, tuple[str, str, Callable[[str], str], str]]] = {
    "groups": (
        "What the parts form",
        "SELECT item_id, name FROM formed",
        group_words,
        "SELECT id FROM item WHERE status = 'solved'",
    ),
    "findings": (
        "Findings",
        "SELECT item_id, rule FROM judged WHERE outcome = 'found'",
        lambda name: _RULES[name].title if name in _RULES else name,
        "SELECT id FROM item WHERE sentence <> ''",
    ),
    "parts": (
        "Part kinds",
        "SELECT item_id, kind FROM part",
        lambda name: KINDS[name].title if name in KINDS else name,
        "SELECT DISTINCT item_id FROM part",
    ),
}


def _several(title: str, bars: Sequence[Bar], counted: int, chosen: int) -> str:
    told = f"{title}: most often {bars[0].label}, in {bars[0].count} of {counted} items." if bars else f"{title}: none."
    rest = chosen - counted
    return told + (f" {rest} more could not be looked into." if rest else "")


def _heads(connection: sqlite3.Connection, column: str, chosen: Iterable[int], among: Query) -> Count:
    wanted = set(chosen)
    by: dict[str, list[int]] = {}
    for number, value in connection.execute(f"SELECT id, {column} FROM item ORDER BY id"):
        if number in wanted:
            by.setdefault("" if value == "?" else value, []).append(number)
    unknown = by.pop("", [])
    bars = [
        Bar(label=value, count=len(numbers), items=tuple(numbers))
        for value, numbers in sorted(by.items(), key=lambda one: (-len(one[1]), one[0]))
    ]
    if unknown:
        bars.append(Bar(label="not said", count=len(unknown), items=tuple(unknown), tone="open"))
    known = len(wanted) - len(unknown)
    title = "Protection class" if column == "class" else column.capitalize()
    told = ", ".join(f"“{bar.label}” in {bar.count}" for bar in bars if bar.tone != "open")
    sentence = f"{title}: {told or 'said in none'} of {known}."
    if unknown:
        sentence += f" {len(unknown)} more do not say."
    return Count(title=title, bars=tuple(bars), among=known, of=len(wanted), query=among, sentence=sentence)


def _risks(connection: sqlite3.Connection, chosen: set[int], among: Query) -> Count:
    judged = chosen & {number for (number,) in connection.execute("SELECT id FROM item WHERE sentence <> ''")}
    worst = dict.fromkeys(judged, "")
    for number, level in connection.execute("SELECT item_id, risk FROM judged WHERE outcome = 'found'"):
        if number in worst and (not worst[number] or rank(level) > rank(worst[number])):
            worst[number] = level
    bars = []
    for level in (*reversed(LEVELS), ""):
        items = tuple(sorted(number for number, has in worst.items() if has == level))
        bars.append(Bar(label=f"{level} risk" if level else "no rule found anything", count=len(items), items=items))
    left = tuple(sorted(chosen - judged))
    if left:
        bars.append(Bar(label="not judged", count=len(left), items=left, tone="open"))
    told = ", ".join(f"{bar.count} at {bar.label}" for bar in bars[: len(LEVELS)] if bar.count) or "none"
    sentence = f"Highest risk found: {told}, of {len(judged)} judged. What was not looked at may hide more."
    return Count(
        title="Highest risk found", bars=tuple(bars), among=len(judged), of=len(chosen), query=among, sentence=sentence
    )
