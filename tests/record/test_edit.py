"""Writing back keeps the user's comments and order, and never loses what somebody else wrote."""

from __future__ import annotations

import errno
import os
import stat
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.record.strategies import bare, items, numbers, parts

from lidoff.kinds import KINDS
from lidoff.record import Item, RecordError, Table, edit, read_text
from lidoff.record.dump import dump, part_table
from lidoff.record.toml_text import quantity_text

TEXT = """# the lamp from the attic
lidoff = 1

[item]
title = "Lamp" # for now

[[part]]
ref = "R2" # under the tape
kind = "resistor"
value = "390R" # in circuit
nodes = ["live", "a"]

# what glows
[[part]]
ref = "D1"
kind = "led"
block = "section"
forward_voltage = "3 V"
nodes = { anode = "in", cathode = "out" }

[[block]]
name = "section"
repeat = 12
nodes = ["a", "neutral"]

[[state]]
name = "full"
minutes_on = 20

[[reading]]
quantity = "power"
value = "8 W" # jumps
state = "full"
"""


def commented(draw: st.DrawFn | Any, text: str) -> str:
    """A record as a person leaves it: with notes above, between and behind the lines."""
    lines = []
    for number, line in enumerate(text.splitlines()):
        if draw(st.integers(0, 3)) == 0:
            lines.append(f"# note {number}")
        lines.append(f"{line}  # behind {number}" if line and draw(st.integers(0, 3)) == 0 else line)
    return "\n".join(lines) + "\n"


def notes(text: str) -> list[str]:
    return [
        part for line in text.splitlines() for part in [line.rpartition("# ")[2]] if "# note" in line or "# beh" in line
    ]


def test_a_value_is_changed_in_its_place() -> None:
    assert edit.set_value(TEXT, "R2.value", "470R") == TEXT.replace('"390R"', '"470R"')
    assert edit.set_value(TEXT, "item.title", "Attic") == TEXT.replace('"Lamp"', '"Attic"')
    assert edit.set_value(TEXT, "section.repeat", 10) == TEXT.replace("repeat = 12", "repeat = 10")
    for name in ("section/D1.nodes.anode", "D1.nodes.anode"):
        assert edit.set_value(TEXT, name, "x") == TEXT.replace('anode = "in"', 'anode = "x"')


def test_a_new_key_goes_to_the_end_of_its_table() -> None:
    changed = edit.set_value(TEXT, "R2.rating.power", "0.5 W")
    assert changed == TEXT.replace('["live", "a"]\n', '["live", "a"]\nrating = { power = "0.5 W" }\n', 1)
    assert edit.set_value(TEXT, "supply.voltage", "230 V").endswith('\n[supply]\nvoltage = "230 V"\n')


def test_a_key_is_taken_out_with_its_line() -> None:
    assert edit.remove_value(TEXT, "R2.value") == TEXT.replace('value = "390R" # in circuit\n', "")


def test_parts_are_added_and_taken_out() -> None:
    """A part added and taken out again leaves the text as it was."""
    table = {"ref": "C1", "kind": "capacitor", "value": "4u7", "nodes": ["a", "neutral"]}
    more = edit.add_part(TEXT, table)
    item = read_text(more, "item.toml")
    assert [part.name for part in item.parts] == ["R2", "section/D1", "C1"]
    assert edit.remove_part(more, "C1") == TEXT
    less = edit.remove_part(TEXT, "section/D1")
    assert "# what glows" in less
    assert 'ref = "D1"' not in less
    with pytest.raises(RecordError, match="there is a part R2 already"):
        edit.add_part(TEXT, {**table, "ref": "R2"})


def test_readings_and_states_by_number_and_name() -> None:
    assert edit.set_in_table(TEXT, "reading", 0, "value", "8.1 W") == TEXT.replace('"8 W"', '"8.1 W"')
    assert edit.set_in_table(TEXT, "state", "full", "minutes_on", None) == TEXT.replace("minutes_on = 20\n", "")
    changed = edit.set_in_table(TEXT, "state", "full", "set.R2.value", "1k")
    assert read_text(changed, "item.toml").states[0].set == {"R2": {"value": 1000.0}}
    more = edit.add_table(TEXT, "reading", {"quantity": "current", "value": "40 mA", "state": "full"})
    assert [one.value for one in read_text(more, "item.toml").readings] == [8.0, 0.04]
    assert edit.remove_table(more, "reading", 1) == TEXT


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda: edit.set_value(TEXT, "R3.value", 1), 'there is no part "R3" in this record; known: R2'),
        (lambda: edit.set_value(TEXT, "R2", 1), '"R2" has not the form REF.KEY'),
        (lambda: edit.remove_value(TEXT, "R2.tolerance"), "R2.tolerance: there is nothing of that name"),
        (lambda: edit.remove_part(TEXT, "Q1"), 'there is no part "Q1"'),
        (lambda: edit.set_in_table(TEXT, "reading", 4, "value", "1 W"), "there is no reading of number 4"),
        (
            lambda: edit.set_in_table(TEXT, "state", "ful", "note", "x"),
            'no state "ful" in this record; nearest known: full',
        ),
        (lambda: edit.set_value(TEXT, "R2.value", {1, 2}), "R2.value: a record cannot hold"),
        (lambda: edit.set_value("value = 4k7", "R2.value", 1), "is not TOML here"),
    ],
)
def test_what_cannot_be_changed_is_refused(change: Any, sentence: str) -> None:
    with pytest.raises(RecordError, match=sentence):
        change()


@settings(max_examples=40)
@given(items(), st.data())
def test_changing_a_value_changes_the_item_and_keeps_every_note(item: Item, data: st.DataObject) -> None:
    """Record to text, a value of a part changed, text to record: that value is changed, all else is as it was."""
    assume(item.parts)
    part = data.draw(st.sampled_from(item.parts))
    keys = [key for key in KINDS[part.kind].keys if key.unit not in ("bool", "word") and key.name != "rating"]
    assume(keys)
    key = data.draw(st.sampled_from(keys))
    number = data.draw(numbers(key))
    text = commented(data.draw, dump(item))
    changed = edit.set_value(text, f"{part.name}.{key.name}", quantity_text(number, key.unit))
    if isinstance(part.values.get(key.name), type(None) | float):
        expected = replace(part, values=Table({**part.values, key.name: number}))
        parts_now = tuple(expected if one is part else one for one in item.parts)
        assert bare(read_text(changed, "item.toml")) == bare(replace(item, parts=parts_now))
    assert notes(changed) == notes(text)


@settings(max_examples=25)
@given(items(), st.data())
def test_adding_and_removing_a_part_keeps_every_note(item: Item, data: st.DataObject) -> None:
    """A part more, and then a part less: the item follows, and the notes outside of the part stay."""
    item = replace(item, states=(), readings=())
    text = commented(data.draw, dump(item))
    part = data.draw(parts("NEW1"))
    more = edit.add_part(text, part)
    assert bare(read_text(more, "item.toml")) == bare(replace(item, parts=(*item.parts, part)))
    assert notes(more) == notes(text)
    assert edit.add_part(text, part_table(part)) == more
    less = edit.remove_part(more, "NEW1")
    assert bare(read_text(less, "item.toml")) == bare(item)
    assert notes(less) == notes(text)


def test_saving_takes_the_place_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_text(TEXT, encoding="utf-8")
    file.chmod(0o640)
    source = edit.load(tmp_path)
    again = edit.save(source, edit.set_value(source.text, "R2.value", "470R"))
    assert file.read_text(encoding="utf-8") == again.text == TEXT.replace("390R", "470R")
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    edit.save(again, TEXT)
    assert file.read_text(encoding="utf-8") == TEXT
    assert [one.name for one in tmp_path.iterdir()] == ["item.toml"]


def test_line_ends_and_byte_order_mark_are_kept(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_bytes(("\ufeff" + TEXT.replace("\n", "\r\n")).encode())
    source = edit.load(file)
    edit.save(source, edit.set_value(source.text, "R2.tolerance", "5 %"))
    expected = TEXT.replace('["live", "a"]\n', '["live", "a"]\ntolerance = "5 %"\n', 1)
    assert file.read_bytes() == ("\ufeff" + expected.replace("\n", "\r\n")).encode()


def test_a_file_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_text(TEXT, encoding="utf-8")
    source = edit.load(file)
    file.write_text(TEXT + "# from my editor\n", encoding="utf-8")
    with pytest.raises(RecordError, match="was changed by someone else since it was read; read it again first"):
        edit.save(source, edit.set_value(source.text, "R2.value", "1k"))
    assert file.read_text(encoding="utf-8") == TEXT + "# from my editor\n"
    file.unlink()
    with pytest.raises(RecordError, match="could not be saved, for it can no longer be read"):
        edit.save(source, TEXT)
    assert list(tmp_path.iterdir()) == []


def test_a_file_changed_while_it_is_being_saved_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the first look and the last step an editor may save; its text is the one that stays."""
    file = tmp_path / "item.toml"
    file.write_text(TEXT, encoding="utf-8")
    source = edit.load(file)
    monkeypatch.setattr(os, "fsync", lambda _handle: file.write_text(TEXT + "# from my editor\n", encoding="utf-8"))
    with pytest.raises(RecordError, match="was changed by someone else"):
        edit.save(source, TEXT + "# from the desk\n")
    assert file.read_text(encoding="utf-8") == TEXT + "# from my editor\n"
    assert [one.name for one in tmp_path.iterdir()] == ["item.toml"]


def test_what_is_not_a_record_is_not_saved(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    file.write_text(TEXT, encoding="utf-8")
    source = edit.load(file)
    for text, sentence in [("value = 4k7\n", "is not TOML here"), ("", "is empty"), ("#" + "x" * 10**6, "larger than")]:
        with pytest.raises(RecordError, match=sentence):
            edit.save(source, text)
    assert file.read_text(encoding="utf-8") == TEXT


def test_a_full_disk_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the text cannot be written out, the file stays and nothing is left lying about."""
    file = tmp_path / "item.toml"
    file.write_text(TEXT, encoding="utf-8")
    source = edit.load(file)

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RecordError, match="could not be saved: no space left on device; the file is as it was"):
        edit.save(source, TEXT + "# more\n")
    assert file.read_text(encoding="utf-8") == TEXT
    assert [one.name for one in tmp_path.iterdir()] == ["item.toml"]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_text(TEXT, encoding="utf-8")
    link = tmp_path / "item.toml"
    link.symlink_to(real)
    edit.save(edit.load(link), TEXT + "# more\n")
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == TEXT + "# more\n"
