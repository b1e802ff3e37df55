"""Readings of print become markings: confusions undone, lines joined, nothing taken. Needs no text reader."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.cli import main
from lidoff.markings import MarkingError
from lidoff.photos import Lettering, Proposed, lettering, markings_from


def seen(text: str, confidence: float = 0.95, rotation: int = 0, view: str = "plain", line: int = 0) -> Lettering:
    box = (0.3, 0.1 + 0.2 * line, 0.7, 0.25 + 0.2 * line)
    return Lettering(text=text, confidence=confidence, rotation=rotation, view=view, box=box)


def reads(proposed: Proposed) -> dict[str, str]:
    """Each print proposed, with what it supposes; the best proposal of each."""
    return {one.read: one.supposes for one in reversed(proposed.candidates)}


@pytest.mark.parametrize(
    ("print_", "marking", "supposes"),
    [
        ("1O4K", "104K", "0 for O"),
        ("I04K", "104K", "1 for I"),
        ("l04K", "104K", "1 for l"),
        ("10AK", None, None),  # 4 and A are not on the list, and nothing else makes sense of it
        ("4Z3J", "423J", "2 for Z"),
        ("27SV X2", "275V X2", "5 for S"),
        ("BTI34-6OO", None, None),  # three mistakes are too many to suppose
        ("BTI34-60O", "BT134-600", "1 for I, 0 for O"),
    ],
)
def test_usual_confusions_are_undone_and_named(print_: str, marking: str | None, supposes: str | None) -> None:
    found = reads(markings_from([seen(print_)]))
    if marking is None:
        assert not {"104K", "BT134-600"} & set(found)
    else:
        assert found[marking] == supposes


def test_what_was_read_stands_before_what_is_supposed() -> None:
    proposed = markings_from([seen("682")], kind="resistor")
    assert proposed.candidates[0].read == "682"
    assert proposed.candidates[0].supposes == ""
    later = [one for one in proposed.candidates if one.supposes]
    assert later
    assert all(one.score < proposed.candidates[0].score for one in later)


def test_both_ways_up_with_what_tells_them_apart() -> None:
    # IEC 60062, three digits: 106 is 10 with six noughts, 901 is 90 with one.
    proposed = markings_from([seen("106"), seen("106", view="equalised")], kind="resistor")
    values = {one.read: one.candidate.value for one in reversed(proposed.candidates)}
    assert values["106"] == pytest.approx(10e6)
    assert values["901"] == pytest.approx(900.0)
    assert reads(proposed)["901"] == "the other way up"
    proposed = markings_from([seen("689")], kind="resistor")
    assert "901" not in reads(proposed), "689 is the same either way up"


def test_lines_are_read_together_from_the_top() -> None:
    proposed = markings_from([seen("400V", line=1), seen("104K", line=0)])
    assert proposed.candidates[0].read == "104K 400V"
    assert proposed.candidates[0].candidate.text == "100 nF ±10 % 400 V"
    turned = [seen("400V", line=0, rotation=180), seen("104K", line=1, rotation=180)]
    assert markings_from(turned).candidates[0].read == "104K 400V"


def test_a_line_found_in_two_pieces_is_read_as_one() -> None:
    pieces = [
        Lettering(text="68", confidence=0.99, rotation=0, view="plain", box=(0.2, 0.4, 0.45, 0.6)),
        Lettering(text="1", confidence=0.99, rotation=0, view="plain", box=(0.5, 0.4, 0.6, 0.6)),
    ]
    values = {one.read: one.candidate.value for one in reversed(markings_from(pieces, kind="resistor").candidates)}
    assert values["681"] == pytest.approx(680.0)  # IEC 60062: 68 with one nought
    below = Lettering(text="1", confidence=0.99, rotation=0, view="plain", box=(0.2, 0.7, 0.3, 0.9))
    assert "681" not in reads(markings_from([pieces[0], below], kind="resistor"))


def test_two_views_that_agree_count_for_more_than_one() -> None:
    alone = markings_from([seen("104K")]).candidates[0]
    agreed = markings_from([seen("104K"), seen("104K", view="equalised")]).candidates[0]
    assert agreed.views == ("equalised", "plain")
    assert agreed.score > alone.score


def test_readings_that_differ_are_all_offered() -> None:
    proposed = markings_from([seen("473", 0.9), seen("475", 0.8, view="equalised")], kind="resistor")
    assert {"473", "475"} <= set(reads(proposed))
    assert proposed.as_json("r1.jpg")["settled"] is False
    assert any("473" in step and "lens" in step for step in proposed.would_settle)


def test_a_measurement_re_ranks() -> None:
    proposed = markings_from([seen("681")], measured="676 R")
    assert proposed.candidates[0].candidate.kind == "resistor"
    assert markings_from([seen("681")]).candidates[0].candidate.kind == "capacitor"


def test_print_is_never_taken_for_colours() -> None:
    assert all("bands" not in one.candidate.more for one in markings_from([seen("81")]).candidates)


def test_a_wrong_kind_is_refused_though_nothing_was_read() -> None:
    with pytest.raises(MarkingError, match="capacitor"):
        markings_from([], kind="capacitr")


def test_nothing_read_and_nothing_understood_say_what_to_do() -> None:
    assert markings_from([]).would_settle[0].startswith("No print was made out")
    proposed = markings_from([seen("QWXQ")])
    assert proposed.candidates == ()
    assert '"QWXQ"' in proposed.would_settle[0]


def test_much_print_is_bounded() -> None:
    many = [seen(f"{number:03d}O{number % 7}6B", 0.5 + number / 1000, line=number) for number in range(300)]
    assert len(markings_from(many).candidates) <= 30


def test_long_print_and_control_characters_do_no_harm() -> None:
    assert markings_from([seen("8" * 500), seen("\x00\x1b[31m104K"), seen("µ²½")]).would_settle


@pytest.fixture
def without_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    lettering._engine.cache_clear()
    monkeypatch.setattr(lettering, "find_spec", lambda name: None)


@pytest.mark.usefixtures("without_reader")
def test_without_the_extra_one_sentence_says_how_to_get_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["decode", "--photo", str(tmp_path / "c3.jpg")]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "pip install lidoff[text]" in said.err


def test_a_marking_and_a_photo_are_a_wrong_call(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["decode", "104K", "--photo", "c3.jpg"]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_a_wrong_kind_is_refused_before_the_photo_is_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["decode", "--photo", "missing.jpg", "--kind", "capacitr"]) == 1
    assert "capacitr" in capsys.readouterr().err
