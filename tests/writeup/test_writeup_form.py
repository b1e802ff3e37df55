"""The short and the full form, what a record puts first or leaves out, and the user's own paragraphs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from tests.writeup.page_reading import read_page, words_of

from lidoff.account import Account
from lidoff.demo import NAMES
from lidoff.record import OwnParagraph, Telling
from lidoff.record import telling as vocabulary
from lidoff.writeup import BRIEF, CHAPTERS, compose, render
from lidoff.writeup.blocks import Emphasis, Heading, Paragraph, plain
from lidoff.writeup.own import stressed

pytestmark = pytest.mark.xdist_group("writeup")


def told(account: Account, **telling: object) -> Account:
    """The account with what its record says of the write-up exchanged."""
    return replace(account, item=replace(account.item, writeup=Telling(**telling)))  # type: ignore[arg-type]


def heads(account: Account) -> list[str]:
    blocks = compose(account).blocks
    return [block.id for block in blocks if isinstance(block, Heading) and block.level == 1]


def test_the_chapters_are_those_that_a_record_can_name() -> None:
    assert tuple(CHAPTERS) == vocabulary.CHAPTERS
    assert set(BRIEF) <= set(CHAPTERS)
    assert set(vocabulary.ALWAYS) <= set(BRIEF)


@pytest.mark.parametrize("name", NAMES)
def test_the_short_form_has_the_answers_and_the_cautions_in_a_third_of_the_words(
    name: str, accounts: Mapping[str, Account], pages: Mapping[str, str]
) -> None:
    short = words_of(render(compose(accounts[name], form="short")))
    for needed in (
        "What is it?",
        "What happens in one mains cycle?",
        "Which reading to doubt?",
        "What could hurt?",
        "Isolate.",
        "What was not looked at",
        f"lidoff report {name}",
        accounts[name].fingerprint,
        "This is the short form",
    ):
        assert needed in short, needed
    assert 3 * len(short.split()) < len(words_of(pages[name]).split()) * 1.6
    assert "This is the short form" not in words_of(pages[name])


def test_the_short_form_says_how_much_it_leaves_out(accounts: Mapping[str, Account]) -> None:
    text = words_of(render(compose(accounts["globe-lamp"], form="short")))
    assert "more in the full form" in text
    assert "Three more agree with what was computed." in text


def test_the_record_says_which_form_and_the_caller_may_say_otherwise(accounts: Mapping[str, Account]) -> None:
    account = told(accounts["night-light"], form="short")
    assert compose(account).form == "short"
    assert compose(account, form="full").form == "full"
    assert compose(accounts["night-light"]).form == "full"


def test_what_the_record_orders_comes_first_and_what_it_leaves_out_is_gone(accounts: Mapping[str, Account]) -> None:
    account = told(accounts["night-light"], order=("readings", "summary"), leave_out=("faults", "parts"))
    found = heads(account)
    assert found[:3] == ["readings", "summary", "how"]
    assert not {"faults", "parts"} & set(found)
    assert found[-3:] == ["cautions", "not-looked-at", "again"]


def test_contents_are_there_although_the_summary_is_not_first(accounts: Mapping[str, Account]) -> None:
    page = render(compose(told(accounts["night-light"], order=("readings",))))
    navs = read_page(page).named("nav")
    assert len(navs) == 1
    assert 'href="#summary"' in page


def test_a_chapter_put_in_the_order_stands_in_the_short_form_too(accounts: Mapping[str, Account]) -> None:
    assert "faults" not in heads(told(accounts["night-light"], form="short"))
    assert "faults" in heads(told(accounts["night-light"], form="short", order=("summary", "faults")))


def test_own_paragraphs_stand_behind_their_chapters(accounts: Mapping[str, Account]) -> None:
    paragraphs = (
        OwnParagraph(after="start", text="First of all."),
        OwnParagraph(after="cycle", text="One.\n\nTwo."),
        OwnParagraph(after="faults", text="Where faults would be."),
    )
    document = compose(told(accounts["night-light"], paragraphs=paragraphs, leave_out=("faults",)))
    blocks = document.blocks
    own = [
        (k, plain(block.text))
        for k, block in enumerate(blocks)
        if isinstance(block, Paragraph) and block.style == "own"
    ]
    assert [text for _, text in own] == ["First of all.", "One.", "Two.", "Where faults would be."]
    assert own[0][0] == 0
    places = {block.id: k for k, block in enumerate(blocks) if isinstance(block, Heading)}
    assert places["cycle"] < own[1][0] < own[2][0] < places["readings"]
    assert places["switching"] < own[3][0] < places["seen"]
    text = words_of(render(document))
    assert "are the words of whoever opened the item" in text


def test_own_paragraphs_are_plain_text_with_stress() -> None:
    assert stressed("It was *never* used.") == ("It was ", Emphasis(text="never"), " used.")
    for written in ("5 * 3 * 2", "a*b*c", "** bold **", "* a point", "<b>no</b> {{ x }}", "*", "**"):
        assert plain(stressed(written)) == written, written
        assert not any(isinstance(run, Emphasis) for run in stressed(written)), written
    assert plain(stressed("line\nends   are blanks")) == "line ends are blanks"


def test_own_paragraphs_are_escaped_in_the_page(accounts: Mapping[str, Account]) -> None:
    hostile = "<script>alert(1)</script> *<img src=x>* {{ 7*7 }} </div>"
    page = render(compose(told(accounts["night-light"], paragraphs=(OwnParagraph(after="start", text=hostile),))))
    seen = read_page(page)
    assert not seen.named("script")
    assert not seen.named("img")
    assert "<script>alert(1)</script> <img src=x> {{ 7*7 }} </div>" in " ".join(seen.text.split())


def test_the_power_factor_that_nobody_believes_is_shown_to_be_right(accounts: Mapping[str, Account]) -> None:
    """Power over rms volts times rms amperes, from the figures of the same state: IEEE Std 1459-2010 (from memory)."""
    account = accounts["globe-lamp"]
    document = compose(account)
    at = next(k for k, b in enumerate(document.blocks) if isinstance(b, Heading) and b.id == "power-factor")
    told_words = " ".join(plain(b.text) for b in document.blocks[at : at + 4] if isinstance(b, Paragraph))
    assert account.main is not None
    figures = account.main.figures["input"]
    assert figures["power"] / figures["apparent_power"] == pytest.approx(figures["power_factor"], rel=1e-3)
    assert "the owner says this cannot be" in told_words
    assert "the meter showed 0.92." in told_words
    assert "neither late nor early" in told_words
    assert "No energy to speak of flows back." in told_words
