"""`[writeup]`: what goes into a write-up, in which order, with the user's own words between."""

from __future__ import annotations

import pytest

from lidoff.record import OwnParagraph, RecordError, Telling, edit, read_text
from lidoff.record.telling import ALWAYS, CHAPTERS


def test_a_record_without_the_table_says_nothing() -> None:
    assert read_text("lidoff = 1", "item.toml").writeup == Telling()


def test_order_what_is_left_out_form_and_own_paragraphs_are_read() -> None:
    text = """lidoff = 1
[writeup]
order = ["readings", "summary"]
leave_out = ["faults"]
form = "short"
[[writeup.paragraph]]
after = "cycle"
text = "It hummed.\\n\\nThen it *stopped*."
[[writeup.paragraph]]
text = "Found in a box."
"""
    item = read_text(text, "item.toml")
    assert item.warnings == ()
    assert item.writeup == Telling(
        order=("readings", "summary"),
        leave_out=("faults",),
        form="short",
        paragraphs=(
            OwnParagraph(after="cycle", text="It hummed.\n\nThen it *stopped*.", line=6),
            OwnParagraph(after="start", text="Found in a box.", line=9),
        ),
    )


def test_paragraphs_need_no_table_before_them() -> None:
    item = read_text('lidoff = 1\n[[writeup.paragraph]]\nafter = "summary"\ntext = "So."\n', "item.toml")
    assert [one.text for one in item.writeup.paragraphs] == ["So."]
    assert item.warnings == ()


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ('order = ["cycel"]', 'item.toml:3: writeup.order: there is no chapter "cycel"; nearest known: "cycle"'),
        ('order = ["hazards"]', 'writeup.order: there is no chapter "hazards"; nearest known: "findings"'),
        ('order = "cycle"', 'writeup.order: must be a list; write order = ["cycle"]'),
        ('leave_out = ["cautions"]', 'leave_out: "cautions" stands in every write-up and cannot be left out'),
        ('form = "long"', 'writeup.form: "long" is not known here; known: short, full'),
        (
            '[[writeup.paragraph]]\nafter = "knob"\ntext = "x"',
            'after: there is no chapter "knob"; nearest known: "knobs"',
        ),
        ('[[writeup.paragraph]]\nafter = "cycle"', "writeup.paragraph 1.text: is missing"),
        ("[[writeup.paragraph]]\ntext = 3", "writeup.paragraph 1.text: 3 is not text"),
        ('paragraph = "x"', "writeup.paragraph"),
    ],
)
def test_what_is_wrong_is_named_with_its_line(written: str, message: str) -> None:
    with pytest.raises(RecordError) as caught:
        read_text(f"lidoff = 1\n[writeup]\n{written}\n", "item.toml")
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ('order = ["cycle", "cycle"]', 'names "cycle" twice; the first counts'),
        ('order = ["cycle"]\nleave_out = ["cycle"]', '"cycle" stands in order too; it is left out'),
        (
            'leave_out = ["cycle"]\n[[writeup.paragraph]]\nafter = "cycle"\ntext = "x"',
            "stands where that chapter would",
        ),
        ('orders = ["cycle"]', 'is not a key of the write-up, and is kept but not used; nearest known: "order"'),
    ],
)
def test_what_is_doubtful_is_a_warning(written: str, message: str) -> None:
    item = read_text(f"lidoff = 1\n[writeup]\n{written}\n", "item.toml")
    assert any(message in str(problem) for problem in item.warnings), item.warnings


def test_the_form_is_set_by_the_program_with_the_comments_kept() -> None:
    text = 'lidoff = 1\n[writeup]\n# the owner reads on a phone\nform = "full"\n'
    assert edit.set_value(text, "writeup.form", "short") == text.replace("full", "short")


def test_what_always_stands_is_a_chapter() -> None:
    assert set(ALWAYS) <= set(CHAPTERS)
