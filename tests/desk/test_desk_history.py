"""The history of a record: every saved state is kept, undone and done again, through kills and torn files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lidoff.desk.history import FOLDER, History, HistoryError, text_hash


def kept(folder: Path, *texts: str) -> History:
    """A history in which one text after the other was saved."""
    history = History(folder)
    history.begin(texts[0])
    for text in texts[1:]:
        history.stand_at(history.add(text, text))
    return history


def test_undoing_and_doing_again_walks_through_every_state(tmp_path: Path):
    history = kept(tmp_path, "a", "b", "c")
    seen = []
    while (entry := history.before()) is not None:
        history.stand_at(entry)
        seen.append(history.text(entry))
    assert seen == ["b", "a"]
    while (entry := history.after()) is not None:
        history.stand_at(entry)
        seen.append(history.text(entry))
    assert seen == ["b", "a", "b", "c"]


def test_an_edit_after_undoing_hides_nothing_for_good(tmp_path: Path):
    history = kept(tmp_path, "a", "b")
    entry = history.before()
    assert entry is not None
    history.stand_at(entry)
    history.stand_at(history.add("other", "another way"))
    again = History(tmp_path)
    assert {again.text(entry) for entry in again.entries.values()} == {"a", "b", "other"}
    first = again.before()
    assert first is not None
    assert again.text(first) == "a"


def test_it_is_the_same_after_it_is_read_again(tmp_path: Path):
    history = kept(tmp_path, "a", "b", "c")
    again = History(tmp_path)
    assert again.entries == history.entries
    assert again.at == history.at


def test_a_text_from_elsewhere_is_added_and_can_be_undone(tmp_path: Path):
    kept(tmp_path, "a", "b")
    again = History(tmp_path)
    again.begin("from an editor")
    before = again.before()
    assert before is not None
    assert again.text(before) == "b"


def test_a_kill_between_the_record_and_the_place_is_made_good(tmp_path: Path):
    history = kept(tmp_path, "a")
    history.add("b", "b")  # and the record was saved, and then the program was killed
    again = History(tmp_path)
    again.begin("b")
    before = again.before()
    assert before is not None
    assert again.text(before) == "a"


def test_a_kill_before_the_record_was_saved_leaves_the_edit_to_be_done_again(tmp_path: Path):
    history = kept(tmp_path, "a")
    history.add("typed and not saved", "typed")
    again = History(tmp_path)
    again.begin("a")
    after = again.after()
    assert after is not None
    assert again.text(after) == "typed and not saved"


@pytest.mark.parametrize("torn", ['{"number": 9, "pa', "", "[]", "null", '{"number": "x"}', "\x00\xff"])
def test_a_torn_line_is_passed_over_and_the_next_one_is_whole(tmp_path: Path, torn: str):
    kept(tmp_path, "a", "b")
    log = tmp_path / FOLDER / "log.jsonl"
    with log.open("a", encoding="utf-8") as stream:
        stream.write("\n" + torn)
    again = History(tmp_path)
    again.begin("b")
    again.stand_at(again.add("c", "c"))
    last = History(tmp_path)
    assert [last.text(last.entries[number]) for number in sorted(last.entries)] == ["a", "b", "c"]


def test_a_hash_that_leads_elsewhere_is_no_entry(tmp_path: Path):
    kept(tmp_path, "a")
    log = tmp_path / FOLDER / "log.jsonl"
    evil = {"number": 2, "parent": 1, "time": 1.0, "what": "x", "hash": "../../../etc/passwd"}
    log.write_text(log.read_text(encoding="utf-8") + "\n" + json.dumps(evil), encoding="utf-8")
    assert list(History(tmp_path).entries) == [1]


def test_a_kept_text_that_was_changed_is_refused(tmp_path: Path):
    history = kept(tmp_path, "a", "b")
    (tmp_path / FOLDER / f"{text_hash('a')}.toml").write_text("not a", encoding="utf-8")
    entry = history.before()
    assert entry is not None
    with pytest.raises(HistoryError, match="has been changed since"):
        history.text(entry)


def test_line_ends_are_kept_as_they_are(tmp_path: Path):
    history = kept(tmp_path, "a = 1\r\nb = 2\r\n", "c")
    entry = history.before()
    assert entry is not None
    assert history.text(entry) == "a = 1\r\nb = 2\r\n"


def test_two_programs_that_save_in_turn_keep_all_states(tmp_path: Path):
    one = kept(tmp_path, "a")
    other = History(tmp_path)
    for history, text, before in ((one, "b", "a"), (other, "c", "b"), (one, "d", "c"), (other, "e", "d")):
        history.begin(before)
        history.stand_at(history.add(text, text))
    last = History(tmp_path)
    assert [last.text(last.entries[number]) for number in sorted(last.entries)] == ["a", "b", "c", "d", "e"]
    assert [last.entries[number].parent for number in sorted(last.entries)] == [0, 1, 2, 3, 4]
