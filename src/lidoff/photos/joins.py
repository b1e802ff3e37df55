"""Joins between pads: what the picture proposes, what was answered, and the pieces of copper that follow.

A candidate is a pass between two pads with what speaks for and against it. Far above the threshold it is accepted, far
below dropped; what lies between is asked, weakest first. A meter's answer overrules the picture: "joined" joins the two
groups, "not joined" bars the pair of groups, so that a leak in one place spreads no further. Every answer gives a new
frozen state; nothing is changed in place.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from lidoff.photos.picture import PhotoError

Status = Literal["accepted", "doubtful", "answered-yes", "answered-no"]
Judged = Literal["accept", "ask", "left", "stray", "drop"]


class AnswerError(PhotoError):
    """An answer that contradicts an earlier one; the text names both."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A join the picture could mean, between the pads `a` and `b`.

    `margin` [1] is the weakest point's, `weakest` where that is [pixels of the photo], `view` the view it was read in,
    `judged` what follows from it and `why` the reason where it is asked; `left` is asked when nothing else is open, and
    `stray` after that, as long as nothing is joined to `a`.
    """

    a: str
    b: str
    margin: float
    weakest: tuple[float, float]
    view: str
    judged: Judged
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Whether `a` and `b` are joined, and who says so."""

    a: str
    b: str
    joined: bool
    by: str = "continuity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """A join as it stands: score 0–1 (0.5 is the threshold), and its evidence."""

    a: str
    b: str
    score: float
    status: Status
    weakest: tuple[float, float] | None
    view: str
    margin: float | None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joins:
    """The joins of one board and what follows from the answers given so far.

    `pieces` are the groups of pads that are joined, in the pads' order, a pad on its own among them. `doubtful` are the
    questions that are open, weakest first; then what is left to ask, likeliest first. Made by
    `propose`, carried on by `answer` and `take_back`.
    """

    pads: tuple[str, ...]
    candidates: tuple[Candidate, ...]
    answers: tuple[Answer, ...] = ()
    joins: tuple[Join, ...] = ()
    pieces: tuple[tuple[str, ...], ...] = ()
    doubtful: tuple[Join, ...] = ()
    _group: Mapping[str, int] = field(default_factory=dict, repr=False)

    @property
    def question(self) -> Join | None:
        """The next join to ask about; None when nothing is open."""
        return self.doubtful[0] if self.doubtful else None

    def joined(self, a: str, b: str) -> bool:
        """Whether both pads are in one piece as things stand."""
        return self._group[a] == self._group[b]

    def answer(self, a: str, b: str, *, joined: bool, by: str = "continuity") -> Joins:
        """The state after one more answer. Raises AnswerError where earlier answers say the opposite, PhotoError where
        a pad is not known.
        """
        for name in (a, b):
            if name not in self._group:
                raise PhotoError(f"There is no pad {name} on this board.")
        if a == b:
            raise PhotoError(f"Pad {a} is always joined to itself; name two pads.")
        same = [one for one in self.answers if {one.a, one.b} != {a, b}]
        return _settled(replace(self, answers=(*same, Answer(a=a, b=b, joined=joined, by=by))))

    def take_back(self, a: str, b: str) -> Joins:
        """The state without the answer about that pair."""
        left = tuple(one for one in self.answers if {one.a, one.b} != {a, b})
        return _settled(replace(self, answers=left))


def propose(pads: Iterable[str], candidates: Iterable[Candidate], answers: Iterable[Answer] = ()) -> Joins:
    """The joins of a board before, or after some, questions."""
    ordered = sorted(candidates, key=lambda one: (-one.margin, one.a, one.b))
    return _settled(Joins(pads=tuple(pads), candidates=tuple(ordered), answers=tuple(answers)))


_STEEP: Final = 2.0


def score_of(margin: float) -> float:
    """The margin [1] as a score 0–1 with the threshold at one half: a logistic curve, an ordering and no
    probability.
    """
    from math import exp

    return 1.0 / (1.0 + exp(-_STEEP * margin))


class _Groups:
    """Pads in groups, and the pairs of groups that must not meet."""

    def __init__(self, pads: Iterable[str]) -> None:
        self.of: dict[str, int] = {}
        self.members: dict[int, list[str]] = {}
        for number, pad in enumerate(pads):
            self.of[pad] = number
            self.members[number] = [pad]
        self.barred: dict[int, set[int]] = {number: set() for number in self.members}

    def together(self, a: str, b: str) -> bool:
        return self.of[a] == self.of[b]

    def kept_apart(self, a: str, b: str) -> bool:
        return self.of[b] in self.barred[self.of[a]]

    def join(self, a: str, b: str) -> None:
        into, gone = self.of[a], self.of[b]
        if len(self.members[into]) < len(self.members[gone]):
            into, gone = gone, into
        for pad in self.members[gone]:
            self.of[pad] = into
        self.members[into] += self.members.pop(gone)
        for other in self.barred.pop(gone):
            self.barred[other].discard(gone)
            self.barred[other].add(into)
            self.barred[into].add(other)

    def bar(self, a: str, b: str) -> None:
        self.barred[self.of[a]].add(self.of[b])
        self.barred[self.of[b]].add(self.of[a])

    def copy(self) -> _Groups:
        twin = _Groups(())
        twin.of = dict(self.of)
        twin.members = {number: list(pads) for number, pads in self.members.items()}
        twin.barred = {number: set(others) for number, others in self.barred.items()}
        return twin


def _settled(state: Joins) -> Joins:
    """The state with joins, pieces and questions worked out anew: answers first, then what is accepted from the
    strongest down, then the doubtful ones that would still change something.
    """
    groups = _Groups(state.pads)
    by_pair = {frozenset((one.a, one.b)): one for one in state.candidates}
    joins: list[Join] = []
    for one in state.answers:
        if one.joined:
            groups.join(one.a, one.b) if not groups.together(one.a, one.b) else None
            joins.append(_answered(one, by_pair.get(frozenset((one.a, one.b)))))
    for one in state.answers:
        if not one.joined:
            if groups.together(one.a, one.b):
                raise AnswerError(
                    f"{one.a} and {one.b} were answered as not joined, yet other answers join them; measure them again."
                )
            groups.bar(one.a, one.b)
            joins.append(_answered(one, by_pair.get(frozenset((one.a, one.b)))))
    for candidate in state.candidates:
        if candidate.judged != "accept" or groups.together(candidate.a, candidate.b):
            continue
        if groups.kept_apart(candidate.a, candidate.b):
            continue
        groups.join(candidate.a, candidate.b)
        joins.append(_proposed(candidate, "accepted"))
    # Of the doubtful ones only those are asked that a tree of the strongest needs: the rest would follow from "yes".
    # After a "no" the next best takes its place.
    # What is left to ask comes last, likeliest first: so that pieces grow, and one "no" stands for all their pads.
    supposed = groups.copy()
    doubtful = _open(state, supposed, "ask")[::-1] + _open(state, supposed, "left") + _open(state, supposed, "stray")
    pieces: dict[int, list[str]] = {}
    for pad in state.pads:
        pieces.setdefault(groups.of[pad], []).append(pad)
    return replace(
        state,
        joins=(*joins, *doubtful),
        pieces=tuple(tuple(piece) for piece in pieces.values()),
        doubtful=tuple(doubtful),
        _group=groups.of,
    )


def _open(state: Joins, supposed: _Groups, judged: Judged) -> list[Join]:
    """The questions of one kind that a tree needs, strongest first; `supposed` grows by them."""
    found: list[Join] = []
    for candidate in state.candidates:
        if candidate.judged != judged or supposed.together(candidate.a, candidate.b):
            continue
        if supposed.kept_apart(candidate.a, candidate.b):
            continue
        if judged == "stray" and len(supposed.members[supposed.of[candidate.a]]) > 1:
            continue
        supposed.join(candidate.a, candidate.b)
        found.append(_proposed(candidate, "doubtful"))
    return found


def _answered(answer: Answer, candidate: Candidate | None) -> Join:
    return Join(
        a=answer.a,
        b=answer.b,
        score=1.0 if answer.joined else 0.0,
        status="answered-yes" if answer.joined else "answered-no",
        weakest=candidate.weakest if candidate else None,
        view=candidate.view if candidate else "",
        margin=candidate.margin if candidate else None,
        why=answer.by,
    )


def _proposed(candidate: Candidate, status: Status) -> Join:
    return Join(
        a=candidate.a,
        b=candidate.b,
        score=score_of(candidate.margin),
        status=status,
        weakest=candidate.weakest,
        view=candidate.view,
        margin=candidate.margin,
        why=candidate.why,
    )
