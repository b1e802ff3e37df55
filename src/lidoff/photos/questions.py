"""Answering the open questions one after another, as a person with a continuity meter would."""

from __future__ import annotations

from collections.abc import Iterable

from lidoff.photos.joins import Joins


def answered_from(joins: Joins, pieces: Iterable[frozenset[str]]) -> tuple[Joins, int]:
    """The state after every question was answered from the known `pieces`, and how many were asked.

    A pad that is in none of the pieces is a piece of its own.
    """
    piece_of = {pad: number for number, piece in enumerate(pieces) for pad in piece}
    asked = 0
    while (question := joins.question) is not None:
        a, b = piece_of.get(question.a), piece_of.get(question.b)
        joins = joins.answer(question.a, question.b, joined=a is not None and a == b)
        asked += 1
    return joins, asked
