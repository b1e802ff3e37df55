"""What goes into the write-up, in which order, and the user's own words, chosen on the page."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.desk.edits import EditError, changed
from lidoff.desk.telling import told
from lidoff.record import open as open_record
from lidoff.record.source import parse_toml
from lidoff.record.telling import ALWAYS, CHAPTERS

BARE = 'lidoff = 1\n\n[item]\ntitle = "x"  # kept\n'


def _add(text: str, words: str, after: str = "cycle") -> str:
    return changed(text, [{"do": "add", "kind": "writeup.paragraph", "table": {"text": words, "after": after}}])


def _order(text: str) -> list[str]:
    return [one.name for one in told(parse_toml(text, ""))]


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize(
    "start", [BARE, BARE + '[writeup]\nleave_out = ["faults"]\n', BARE + '[writeup]\nparagraph = [{ text = "0" }]\n']
)
def test_paragraphs_are_added_changed_and_taken_out(start: str, ends: str, tmp_path: Path):
    before = len(parse_toml(start, "").get("writeup", {}).get("paragraph", []))
    text = _add(_add(start.replace("\n", ends), "one\n\ntwo"), "three", "start")
    kind = {"kind": "writeup.paragraph"}
    text = changed(text, [{"do": "set", **kind, "which": before + 1, "key": "text", "value": "four"}])
    text = changed(text, [{"do": "set", "name": "writeup.order", "value": ["cycle", "how"]}])
    (tmp_path / "item.toml").write_text(text, encoding="utf-8", newline="")
    paragraphs = open_record(tmp_path).writeup.paragraphs
    assert [(one.after, one.text) for one in paragraphs[before:]] == [("cycle", "one\n\ntwo"), ("start", "four")]
    assert open_record(tmp_path).writeup.order == ("cycle", "how")
    assert "# kept" in text
    assert text.count("\r\n") == (text.count("\n") if ends == "\r\n" else 0)
    for _ in range(before + 2):
        text = changed(text, [{"do": "remove", **kind, "which": 0}])
    assert not parse_toml(text, "")["writeup"].get("paragraph")
    assert _add(text, "again").count("again") == 1


def test_every_chapter_can_be_moved_and_those_that_may_be_left_out(tmp_path: Path):
    assert _order(BARE) == list(CHAPTERS)
    second = told(parse_toml(BARE, ""))[1]
    text = changed(BARE, [{"do": "set", "name": "writeup.order", "value": list(second.up or ())}])
    assert _order(text)[:3] == ["how", "summary", "cycle"]
    first, last = told(parse_toml(text, ""))[0], told(parse_toml(text, ""))[-1]
    assert first.up is None
    assert last.down is None
    assert {one.name for one in told({}) if one.always} == set(ALWAYS)
    text = changed(text, [{"do": "set", "name": "writeup.leave_out", "value": list(first.turned)}])
    assert [one.name for one in told(parse_toml(text, "")) if not one.inside] == ["how"]
    again = told(parse_toml(text, ""))[0].turned
    assert again == ()
    text = changed(text, [{"do": "set", "name": "writeup.leave_out", "value": list(again)}])
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    assert open_record(tmp_path).writeup.leave_out == ()


def test_a_paragraph_that_is_gone_or_empty_is_refused():
    with pytest.raises(EditError, match="no longer there"):
        changed(BARE, [{"do": "remove", "kind": "writeup.paragraph", "which": 0}])
    with pytest.raises(EditError, match="Write the paragraph first"):
        changed(BARE, [{"do": "add", "kind": "writeup.paragraph", "table": {"after": "cycle", "text": "  "}}])


def test_what_is_chosen_stands_on_the_page(client, folder: Path):
    client.edit("night-light", {"do": "set", "name": "writeup.leave_out", "value": ["faults"]})
    client.edit("night-light", {"do": "add", "kind": "writeup.paragraph", "table": {"text": "<b>Mine</b>"}})
    page = client.get("/items/night-light/writeup").text
    assert 'data-row="chapter-faults" class="out"' in page
    assert "&lt;b&gt;Mine&lt;/b&gt;" in page
    assert "<b>Mine" not in page


def test_a_place_is_found_whatever_its_letters():
    text = BARE + '[[part]]\nref = "C1"\nkind = "capacitor"\n'
    table = {"quantity": "capacitance", "value": "222 nF", "at": "c1"}
    text = changed(text, [{"do": "add", "kind": "reading", "table": table}])
    assert parse_toml(text, "")["reading"][0]["at"] == "C1"
    text = changed(text, [{"do": "set", "kind": "reading", "which": 0, "key": "at", "value": "c9"}])
    assert parse_toml(text, "")["reading"][0]["at"] == "c9", "what is not known is kept as typed"
