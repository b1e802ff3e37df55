"""Joins, answers and what follows from them: the state that questions are asked from."""

from __future__ import annotations

import time
from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.photos.joins import Answer, AnswerError, Candidate, Joins, propose, score_of
from lidoff.photos.picture import PhotoError
from lidoff.photos.questions import answered_from

PADS = ("P1", "P2", "P3", "P4", "P5")


def candidate(a: str, b: str, margin: float, judged: str) -> Candidate:
    return Candidate(a=a, b=b, margin=margin, weakest=(1.0, 2.0), view="lightness", judged=judged)  # type: ignore[arg-type]


def board() -> Joins:
    return propose(
        PADS,
        [
            candidate("P1", "P2", 1.2, "accept"),
            candidate("P2", "P3", 0.1, "ask"),
            candidate("P3", "P4", -0.3, "ask"),
            candidate("P1", "P3", -0.1, "ask"),
            candidate("P4", "P5", -1.0, "drop"),
        ],
    )


def test_only_what_is_accepted_makes_a_piece_before_any_answer() -> None:
    assert board().pieces == (("P1", "P2"), ("P3",), ("P4",), ("P5",))


def test_the_weakest_doubtful_join_is_asked_first() -> None:
    asked = board().question
    assert asked is not None
    assert {asked.a, asked.b} == {"P3", "P4"}


def test_a_join_that_would_follow_from_another_is_not_asked() -> None:
    """P1-P3 goes round P2-P3: one question settles both."""
    assert [{one.a, one.b} for one in board().doubtful] == [{"P3", "P4"}, {"P2", "P3"}]


def test_a_no_bars_the_pair_of_groups_and_not_only_the_pads() -> None:
    """P1 and P2 are one piece: what keeps P2 from P3 keeps P1 from it, so P1-P3 is not asked either."""
    told = board().answer("P2", "P3", joined=False)
    assert [{one.a, one.b} for one in told.doubtful] == [{"P3", "P4"}]
    assert not told.joined("P1", "P3")


def test_a_no_in_one_place_leaves_the_join_to_others_open() -> None:
    told = board().answer("P2", "P3", joined=False).answer("P3", "P4", joined=True)
    assert told.joined("P3", "P4")
    assert told.question is None


def test_a_meter_overrules_an_accepted_join() -> None:
    told = board().answer("P1", "P2", joined=False)
    assert not told.joined("P1", "P2")
    assert [one.status for one in told.joins if {one.a, one.b} == {"P1", "P2"}] == ["answered-no"]


def test_a_meter_joins_what_the_picture_dropped() -> None:
    assert board().answer("P4", "P5", joined=True).joined("P4", "P5")


def test_a_no_holds_against_a_chain_of_accepted_joins() -> None:
    """The weakest link of the chain gives way, not the answer."""
    chain = propose(
        PADS,
        [candidate("P1", "P2", 1.5, "accept"), candidate("P2", "P3", 0.9, "accept")],
        [Answer(a="P1", b="P3", joined=False)],
    )
    assert chain.joined("P1", "P2")
    assert not chain.joined("P2", "P3")


def test_answers_that_contradict_each_other_are_refused_by_name() -> None:
    told = board().answer("P1", "P2", joined=True).answer("P2", "P3", joined=True)
    with pytest.raises(AnswerError, match="P1 and P3 were answered as not joined, yet other answers join them"):
        told.answer("P1", "P3", joined=False)


def test_an_answer_may_be_given_anew_and_taken_back() -> None:
    told = board().answer("P2", "P3", joined=False).answer("P3", "P2", joined=True)
    assert told.joined("P1", "P3")
    assert len(told.answers) == 1
    assert told.take_back("P2", "P3") == board()


def test_an_unknown_pad_is_named() -> None:
    with pytest.raises(PhotoError, match="no pad P9"):
        board().answer("P1", "P9", joined=True)
    with pytest.raises(PhotoError, match="P1 is always joined to itself"):
        board().answer("P1", "P1", joined=True)


def test_the_score_is_one_half_at_the_threshold_and_rises() -> None:
    assert score_of(0.0) == 0.5
    assert score_of(-1.0) < score_of(0.5) < score_of(1.0) < 1.0


names = st.integers(0, 9)
passes = st.lists(st.tuples(names, names, st.floats(-2, 2), st.sampled_from(["accept", "ask", "drop"])), max_size=40)


@given(found=passes, seed=st.randoms(use_true_random=False))
def test_answers_from_known_pieces_end_in_those_pieces_as_far_as_passes_lead(found, seed) -> None:  # type: ignore[no-untyped-def]
    """Whatever the margins, with only questions (nothing accepted unasked) the end holds no false join, and every true
    piece as far as the candidates connect it. The pieces are counted by networkx.
    """
    pads = [f"P{n}" for n in range(10)]
    piece_of = {pad: seed.randrange(4) for pad in pads}
    asked = [
        candidate(f"P{a}", f"P{b}", margin, "ask" if judged == "accept" else judged)
        for a, b, margin, judged in found
        if a != b
    ]
    truth = [frozenset(pad for pad in pads if piece_of[pad] == number) for number in range(4)]
    joins, _ = answered_from(propose(pads, asked), truth)
    graph = nx.Graph()
    graph.add_nodes_from(pads)
    graph.add_edges_from((one.a, one.b) for one in asked if one.judged == "ask" and piece_of[one.a] == piece_of[one.b])
    assert {frozenset(piece) for piece in joins.pieces} == {frozenset(part) for part in nx.connected_components(graph)}


@given(found=passes)
def test_pieces_are_those_of_the_accepted_joins(found) -> None:  # type: ignore[no-untyped-def]
    """Without an answer the pieces are the connected components of what is accepted, as networkx counts them."""
    pads = [f"P{n}" for n in range(10)]
    given_ = [candidate(f"P{a}", f"P{b}", margin, judged) for a, b, margin, judged in found if a != b]
    graph = nx.Graph()
    graph.add_nodes_from(pads)
    graph.add_edges_from((one.a, one.b) for one in given_ if one.judged == "accept")
    assert {frozenset(piece) for piece in propose(pads, given_).pieces} == {
        frozenset(part) for part in nx.connected_components(graph)
    }


def test_an_answer_takes_under_a_tenth_of_a_second_on_a_large_board() -> None:
    """300 pads with 4,000 candidates: far more than neighbours on a board have. By processor time, best of three."""
    pads = [f"P{n}" for n in range(300)]
    pairs = [pair for pair in combinations(range(300), 2) if (pair[0] * 7 + pair[1] * 13) % 11 == 0][:4000]
    judged = ("ask", "drop", "drop")
    given_ = [candidate(f"P{a}", f"P{b}", 1.0 - n / 2000, judged[(a + b) % 7 % 3]) for n, (a, b) in enumerate(pairs)]
    state = propose(pads, given_)
    took = []
    for _ in range(3):
        question = state.question
        assert question is not None
        start = time.process_time()
        state = state.answer(question.a, question.b, joined=False)
        took.append(time.process_time() - start)
    assert min(took) < 0.1


def test_what_is_left_to_ask_comes_last_and_likeliest_first() -> None:
    """Four pads in two pieces, no pair skipped: the likely joins come first, and one "no" stands for both pieces."""
    order = {("A", "B"): 0.4, ("C", "D"): 0.2, ("A", "C"): -0.1, ("B", "C"): -0.2, ("A", "D"): -0.3, ("B", "D"): -0.9}
    every = [
        Candidate(a=a, b=b, margin=margin, weakest=(0, 0), view="", judged="left") for (a, b), margin in order.items()
    ]
    joins = propose("ABCD", every)
    assert all(len(piece) == 1 for piece in joins.pieces)
    asked = []
    while (question := joins.question) is not None:
        asked.append((question.a, question.b))
        joins = joins.answer(*asked[-1], joined=asked[-1] in {("A", "B"), ("C", "D")})
    assert asked == [("A", "B"), ("C", "D"), ("A", "C")]
    assert joins.pieces == (("A", "B"), ("C", "D"))
    doubt = Candidate(a="C", b="D", margin=-0.6, weakest=(0, 0), view="", judged="ask")
    question = propose("ABCD", [*every[:1], doubt]).question
    assert question is not None
    assert (question.a, question.b) == ("C", "D")


def test_a_stray_pad_is_asked_about_last_and_only_while_nothing_is_joined_to_it() -> None:
    """S is in doubt with A and held against its nearest, B and C: "no" to A leads to B, "yes" ends it."""
    doubt = Candidate(a="A", b="S", margin=0.1, weakest=(0, 0), view="", judged="ask")
    near = [
        Candidate(a="S", b=other, margin=margin, weakest=(0, 0), view="", judged="stray")
        for other, margin in (("B", -0.1), ("C", -0.2))
    ]
    start = propose("ABCS", [*near, doubt])
    assert [(one.a, one.b) for one in start.doubtful] == [("A", "S")]
    assert start.answer("A", "S", joined=True).question is None
    after = start.answer("A", "S", joined=False)
    assert [(one.a, one.b) for one in after.doubtful] == [("S", "B")]
    assert after.answer("S", "B", joined=True).question is None
    assert [(one.a, one.b) for one in after.answer("S", "B", joined=False).doubtful] == [("S", "C")]
