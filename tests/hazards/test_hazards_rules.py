"""Every rule against its own three cases, and the catalogue's promises."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from lidoff.hazards import PHASES, QUESTIONS, RETIRED, RULES, NoSuchRuleError, Rule, cited, rule
from lidoff.hazards.pages import pages
from lidoff.standards import UnknownDocumentError, document

ROOT = Path(__file__).resolve().parents[2]
CODES = ROOT / "tests" / "reference" / "hazards" / "codes.csv"
ISSUED = list(csv.DictReader(CODES.read_text(encoding="utf-8").splitlines()))

each_rule = pytest.mark.parametrize("one", RULES, ids=[r.id for r in RULES])


@each_rule
def test_bad_case_fires(one: Rule) -> None:
    """The bad case gives findings of this rule that say what is wrong, with evidence, and nothing undecided."""
    findings, undecided = one.judge(one.bad.facts())
    assert findings
    assert not undecided
    assert all(found.id == one.id and found.evidence and found.basis for found in findings)
    said = " ".join(sentence for found in findings for sentence in found.because)
    assert [words for words in one.bad.says if words not in said] == []
    assert one.bad.says, "a bad case names words of its finding"


@each_rule
def test_good_case_is_silent(one: Rule) -> None:
    """The good case gives neither a finding nor a question."""
    assert one.judge(one.good.facts()) == ([], [])


@each_rule
def test_undecided_case_asks(one: Rule) -> None:
    """The undecided case gives no finding and says what it needs."""
    findings, undecided = one.judge(one.undecided.facts())
    assert not findings
    assert undecided
    said = " ".join(need for left in undecided for need in left.needs)
    assert one.undecided.says
    assert [words for words in one.undecided.says if words not in said] == []


@each_rule
def test_cases_are_clean_records(one: Rule) -> None:
    """No case leans on a record that is warned about."""
    for case in (one.bad, one.good, one.undecided):
        assert [str(problem) for problem in case.facts().item.warnings] == []


@each_rule
def test_good_case_upsets_no_other_rule(one: Rule) -> None:
    """What is good by one rule is not found bad by another, beside rules that the case says nothing about."""
    facts = one.good.facts()
    fired = [other.id for other in RULES if other.judge(facts)[0]]
    assert fired == []


@each_rule
def test_every_basis_is_a_known_document(one: Rule) -> None:
    """Each yardstick names a document on the list, an edition of it and a clause."""
    assert one.basis
    for basis in one.basis:
        assert basis.edition in document(basis.document).editions
        assert basis.clause


@each_rule
def test_words_never_promise(one: Rule) -> None:
    """No text of a rule calls anything safe, and each says something under every heading."""
    texts = (one.title, one.looks_at, one.why, one.limits, one.settles, one.action, one.caution)
    assert all(text.strip() for text in texts)
    assert not [text for text in texts if re.search(r"\bsafe(ly|ty)?\b", text, re.IGNORECASE)]


def test_codes_and_ids_are_those_ever_issued() -> None:
    """Every code and id ever given out is in the committed list, in force or withdrawn, still paired as it was."""
    known = {(one.code, one.id) for one in RULES} | {(gone.code, gone.id) for gone in RETIRED}
    assert {(row["code"], row["id"]) for row in ISSUED} == known
    assert len({row["code"] for row in ISSUED}) == len({row["id"] for row in ISSUED}) == len(ISSUED)


def test_unknown_rule_is_named() -> None:
    """Asking for a rule that is not there names those that are like it."""
    assert rule("P02").id == "fuse-without-filler"
    with pytest.raises(NoSuchRuleError, match="no rule 'cord-grip'; did you mean cord-grip-missing"):
        rule("cord-grip")


def test_pages_are_those_committed() -> None:
    """docs/hazards is what the catalogue writes."""
    folder = ROOT / "docs" / "hazards"
    made = pages()
    assert {path.name for path in folder.glob("*.md")} == set(made)
    stale = [name for name, text in made.items() if (folder / name).read_text(encoding="utf-8") != text]
    assert stale == [], "run python -m lidoff.hazards.pages docs/hazards"


def test_basis_refuses_unknown_document() -> None:
    """A yardstick that nobody can look up cannot be written."""
    from lidoff.hazards.model import memory

    with pytest.raises(UnknownDocumentError, match="no document 'My notes'"):
        memory("My notes", "page 3")


def test_questions_are_whole() -> None:
    """Each question has an id of its own, a phase, answers and a way to look; those inside warn of charge first."""
    assert len({one.id for one in QUESTIONS}) == len(QUESTIONS)
    order = list(PHASES)
    places = [order.index(one.phase) for one in QUESTIONS]
    assert places == sorted(places)
    for one in QUESTIONS:
        assert one.answers
        assert one.how
        assert one.ask.endswith("?")
        if one.phase == "open":
            assert one.how.startswith("Unplugged, and every capacitor")


@each_rule
def test_each_place_of_a_basis_is_cited_once(one: Rule) -> None:
    """A place of which one figure was read and another remembered is one place."""
    said = cited(one.basis)
    assert [said.count(f"{place} (") for place in {basis.place for basis in one.basis}] == [1] * len(
        {basis.place for basis in one.basis}
    )


def test_a_plug_fuse_cites_its_standard_once() -> None:
    assert cited(rule("fuse-without-filler").basis).count("BS 1362") == 1
    assert "read, in part from memory" in cited(rule("fuse-without-filler").basis)
