"""The look list: what a careful person looks at, in what order, with the answers that count.

First the outside and what a meter tells of the closed item, then the plug, then the opening. Each question says how to
look without danger and asks for a photograph before a step that destroys evidence. An answer is a `[[sighting]]`
whose `about` is the question's id and whose `seen` is one of its answers; anything else is kept as a note and answers
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from lidoff.circuit import Circuit
from lidoff.hazards.questions import QUESTIONS, Phase, Question, Setting
from lidoff.record import Item
from lidoff.record.model import Sighting

__all__ = [
    "Look",
    "Question",
    "answered",
    "look_list",
    "named",
    "not_looked_at",
    "notes",
    "question",
    "seen_words",
    "sighting_of",
]

_BY_ID: Final = {one.id: one for one in QUESTIONS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A question that applies to an item, with the answer it has so far (None: nobody looked)."""

    question: Question
    answer: str | None
    photo: str | None

    @property
    def phase(self) -> Phase:
        """When to look: "outside", "closed", "plug" or "open"."""
        return self.question.phase

    def as_json(self) -> dict[str, Any]:
        """A mapping for the desk and the write-up."""
        return {
            "id": self.question.id,
            "phase": self.question.phase,
            "ask": self.question.ask,
            "answers": list(self.question.answers),
            "how": self.question.how,
            "photo_first": self.question.photo_first,
            "answer": self.answer,
            "photo": self.photo,
        }


def look_list(item: Item, circuit: Circuit | None = None) -> tuple[Look, ...]:
    """The questions that apply to an item, in the order in which to look, with the answers there are."""
    setting = Setting.of(item, circuit, lambda id: answered(item, id))
    found = []
    for one in QUESTIONS:
        if one.applies(setting):
            sighting = sighting_of(item, one.id)
            found.append(
                Look(
                    question=one, answer=answered(item, one.id), photo=sighting.photo if sighting is not None else None
                )
            )
    return tuple(found)


def not_looked_at(item: Item, circuit: Circuit | None = None) -> tuple[str, ...]:
    """What nobody looked at, as sentences in the order of the look list."""
    return tuple(
        f"{look.question.what} ({look.question.id})" for look in look_list(item, circuit) if look.answer is None
    )


def seen_words(item: Item, circuit: Circuit | None = None) -> tuple[str, ...]:
    """What was looked at, with the answer."""
    return tuple(
        f"{look.question.what} ({look.question.id}): {look.answer}"
        for look in look_list(item, circuit)
        if look.answer is not None
    )


def notes(item: Item) -> tuple[str, ...]:
    """Sightings that answer no question: of another subject, or in other words than its answers."""
    found = []
    for one in item.sightings:
        if not one.seen:
            continue
        known = _BY_ID.get(named(one.about))
        if known is None:
            found.append(f"{one.about}: {one.seen} (no question of the look list; kept as a note)")
        elif _word(one.seen) not in [_word(answer) for answer in (*known.answers, *_NO_ANSWER)]:
            found.append(
                f"{one.about}: {one.seen} (kept as a note: the answers that count are {', '.join(known.answers)})"
            )
    return tuple(found)


def question(id: str) -> Question:
    """The question of that id. Raises KeyError, which names those there are."""
    found = _BY_ID.get(id)
    if found is None:
        raise KeyError(f"no question {id!r}; the questions are {', '.join(_BY_ID)}")
    return found


_NO_ANSWER: Final = ("not looked at", "cannot tell", "?")


def answered(item: Item, id: str) -> str | None:
    """The answer to a question in the look list's own words, None where it has none.

    The latest sighting that answers it counts; without one, what the rest of the record says.
    """
    asked = question(id)
    sighting = sighting_of(item, id)
    if sighting is not None:
        return next(answer for answer in asked.answers if _word(answer) == _word(sighting.seen))
    return asked.otherwise(item) if asked.otherwise is not None else None


def sighting_of(item: Item, id: str) -> Sighting | None:
    """The latest sighting that answers a question in one of its answers, None where there is none."""
    words = [_word(answer) for answer in question(id).answers]
    for one in reversed(item.sightings):
        if named(one.about) == id and _word(one.seen) in words:
            return one
    return None


def named(about: str) -> str:
    """The id of a question as people may write it: blanks and low lines for hyphens, any case."""
    return about.strip().lower().replace(" ", "-").replace("_", "-")


def _word(answer: str) -> str:
    return " ".join(answer.lower().replace("-", " ").split())
