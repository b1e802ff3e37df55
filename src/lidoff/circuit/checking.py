"""The check of a record by what a record alone cannot know: what the markings of its parts tell."""

from __future__ import annotations

import os
from collections.abc import Iterator

from lidoff.circuit.ratings import disagreements, rated
from lidoff.record import CheckResult, Item, Part, Problem
from lidoff.record import checking as record


def check(path: str | os.PathLike[str]) -> CheckResult:
    """Reads the record at `path` and says what is wrong or missing, markings looked at.

    Raises RecordError where there is nothing to check: no such file, not text, over 1 MB.
    """
    return record.check(path, has_rating=_has_rating, more=_ratings_against_markings)


def missing(item: Item) -> Iterator[str]:
    """What would have to be written down for more answers, first what matters most; markings are looked at."""
    return record.missing(item, has_rating=_has_rating)


def _has_rating(part: Part) -> bool:
    return bool(rated(part).rating)


def _ratings_against_markings(item: Item) -> Iterator[Problem]:
    for part in (*item.parts, *(part for state in item.states for part in state.add)):
        for word, sentence in disagreements(part):
            key = f"{part.name}.rating.{word}"
            yield Problem(line=part.line, key=key, message=f"{key}: {sentence}", level="warning", file=str(item.path))
