"""A new record asks nothing, explains itself, and is never written over another."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lidoff.record import RecordError, check, examine, new, open
from lidoff.record.reading import TABLES
from lidoff.record.starting import template


def test_a_new_record_reads_without_a_word(tmp_path: Path) -> None:
    file = new(tmp_path / "shed" / "Lamp from the attic")
    assert file == tmp_path / "shed" / "Lamp from the attic" / "item.toml"
    item = open(file)
    assert (item.warnings, item.title, item.parts) == ((), "Lamp from the attic", ())
    assert sorted(one.name for one in file.parent.iterdir()) == ["item.toml", "photos", "recordings"]
    assert check(file.parent).ok


def test_a_title_may_be_given(tmp_path: Path) -> None:
    """Whatever stands in a title, the file is legal."""
    title = 'A "bright" idea\\'
    assert open(new(tmp_path / "x", title=title)).title == title


def test_a_folder_with_photographs_is_taken_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"picture")
    new(tmp_path)
    assert (tmp_path / "photos" / "a.jpg").read_bytes() == b"picture"


def test_a_record_is_never_written_over(tmp_path: Path) -> None:
    file = new(tmp_path)
    file.write_text("lidoff = 1\n# an evening's work\n", encoding="utf-8")
    with pytest.raises(RecordError, match=r"item\.toml: there is a record here already, and it was left as it is"):
        new(tmp_path)
    assert file.read_text(encoding="utf-8") == "lidoff = 1\n# an evening's work\n"


def test_what_is_not_a_folder_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "lamp"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(RecordError, match="is a file; name a folder for the new record"):
        new(file)
    with pytest.raises(RecordError, match=r"a record cannot be started here: |something else of this name"):
        new(file / "below")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "photos").write_text("mine", encoding="utf-8")
    with pytest.raises(RecordError, match="photos: there is something else of this name here"):
        new(tmp_path / "other")
    assert file.read_text(encoding="utf-8") == "mine"


def test_every_example_in_the_template_is_right() -> None:
    """With all its notes taken as patterns, the template is a record without a problem, and shows every table."""
    lines = [re.sub(r"^# (?=\[|\w+ = )", "", line) for line in template("x").splitlines()]
    text = "\n".join(lines)
    # The notes give the class as unknown; nothing else in the template is.
    item, problems = examine(text, Path("item.toml"))
    assert problems == ()
    tables = {name for name in TABLES if re.search(rf"^\[+{name}\]|^{name} =", text, re.MULTILINE)}
    assert set(TABLES) - tables == {"block", "drawing"}
    assert [part.ref for part in item.parts] == ["S1", "R1", "BR1", "LED1"]
    assert len(item.readings) == len(item.recordings) == len(item.gaps) == 1


def test_the_template_says_to_be_careful() -> None:
    """Before anything is opened, the newcomer reads what keeps people alive; and it never says "safe"."""
    text = template()
    assert "unplug" in text
    assert "licensed" in text
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
