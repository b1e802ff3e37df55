"""Saving: at once, whole or not at all, with one sentence where it cannot be, and nothing lost by a kill."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from lidoff.demo import shipped
from lidoff.desk import history as history_module
from lidoff.desk.edits import changed
from lidoff.desk.item_desk import ItemDesk, StaleError
from lidoff.errors import LidoffError
from lidoff.record import read_text
from lidoff.record.edit import set_value


def desk_of(record: Path) -> ItemDesk:
    return ItemDesk("night-light", record)


def titled(words: str):
    return lambda text: set_value(text, "item.title", words)


# Two at once --------------------------------------------------------------------------------------------------------


def test_two_tabs_never_overwrite_each_other(record: Path):
    one, other = desk_of(record), desk_of(record)
    revision = one.now().revision
    assert other.now().revision == revision
    one.edit(titled("From one"), revision=revision, what="one")
    with pytest.raises(StaleError, match="Nothing was overwritten"):
        other.edit(titled("From the other"), revision=revision, what="other")
    assert read_text(record.read_text(encoding="utf-8"), record).title == "From one"


def test_an_editor_that_saves_meanwhile_is_not_overwritten(record: Path):
    desk = desk_of(record)
    revision = desk.now().revision
    record.write_text(record.read_text(encoding="utf-8") + "\n# by hand\n", encoding="utf-8")
    with pytest.raises(StaleError):
        desk.edit(titled("x"), revision=revision, what="x")
    assert record.read_text(encoding="utf-8").endswith("# by hand\n")
    # What was done by hand can be undone like everything else.
    desk.edit(titled("y"), revision=None, what="y")
    desk.undo()
    assert record.read_text(encoding="utf-8").endswith("# by hand\n")


def test_what_is_wrong_is_kept_and_said(client, record: Path):
    answer = client.edit("night-light", {"do": "set", "name": "R2.value", "value": "1Mx"})
    assert 'value = "1Mx"' in record.read_text(encoding="utf-8")
    assert any("R2.value" in one["message"] for one in answer["problems"])
    page = client.get("/items/night-light/parts").text
    assert "is not a unit of resistance" in page
    # Nothing is computed from it, and the page says why.
    assert "R2.value" in client.get("/items/night-light/readings/judged").text


def test_a_record_that_is_no_toml_any_more_is_shown_and_left_alone(client, record: Path):
    record.write_text("lidoff = 1\n[item\n", encoding="utf-8")
    page = client.get("/items/night-light/outside")
    assert page.status_code == 200
    assert "This record cannot be read" in page.text
    body = {"revision": client.revision("night-light"), "changes": [{"do": "set", "name": "item.title", "value": "x"}]}
    assert client.ask("/items/night-light/edit", body).status_code == 422
    assert record.read_text(encoding="utf-8") == "lidoff = 1\n[item\n"


def test_a_record_that_is_gone_is_one_sentence(client, record: Path):
    client.get("/items/night-light/outside")
    record.unlink()
    answer = client.get("/items/night-light/outside")
    assert answer.status_code in (404, 422)
    assert "Traceback" not in answer.text


# Changes of a text --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "written"),
    [
        ({"do": "set", "name": "item.rated.power", "value": "0.6 W"}, 'power = "0.6 W"'),
        ({"do": "set", "kind": "reading", "which": 0, "key": "value", "value": "0.4 W"}, 'value = "0.4 W"'),
        ({"do": "set", "kind": "state", "which": 0, "key": "supply.voltage", "value": "231 V"}, 'voltage = "231 V"'),
        ({"do": "set", "kind": "part", "which": 8, "key": "series", "value": "7"}, "series = 7"),
        ({"do": "set", "kind": "state", "which": 0, "key": "supply.measured", "value": "false"}, "measured = false"),
        ({"do": "add", "kind": "surface", "table": {"name": "pins", "node": "live"}}, 'name = "pins"'),
        ({"do": "answer", "about": "cord", "seen": "no cord"}, 'seen = "no cord"'),
        ({"do": "answer", "about": "marking", "seen": "none"}, 'about = "marking"\nseen = "none"'),
        ({"do": "say", "sentence": "R3 2k2 0.25W from p to m"}, 'value = "2k2"'),
        ({"do": "say", "sentence": "R1 120R"}, 'value = "120R"'),
    ],
)
def test_each_change_is_made_and_the_comments_stay(change: dict[str, object], written: str):
    before = shipped("night-light")
    after = changed(before, [change])
    assert written in after
    comments = [line for line in before.splitlines() if line.startswith("#")]
    assert [line for line in after.splitlines() if line.startswith("#")] == comments
    read_text(after, "x")


@pytest.mark.parametrize("value", ["", None, "  "])
def test_an_emptied_field_takes_the_key_out(value: object):
    text = changed(shipped("night-light"), [{"do": "set", "name": "item.use", "value": value}])
    assert read_text(text, "x").use is None
    assert changed(text, [{"do": "set", "name": "item.use", "value": value}]) == text


def test_a_said_part_keeps_what_was_known_of_it():
    text = changed(shipped("night-light"), [{"do": "say", "sentence": "C1 X1 from a to b"}])
    part = read_text(text, "x").part("C1")
    assert part is not None
    assert part.marking == "224K 275V~ X2"
    assert dict(part.rating) == {"voltage_ac": 275.0, "class": "X1"}


def test_an_answer_whose_words_are_all_taken_out_is_taken_out():
    text = changed(shipped("night-light"), [{"do": "answer", "about": "marking", "seen": ""}])
    assert "marking" not in {one.about for one in read_text(text, "x").sightings}


# No room, no right --------------------------------------------------------------------------------------------------


def test_a_full_disk_is_one_sentence_and_the_record_is_as_it_was(client, record: Path, monkeypatch: pytest.MonkeyPatch):
    client.edit("night-light", {"do": "set", "name": "item.title", "value": "Before"})
    before, revision = record.read_bytes(), client.revision("night-light")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(history_module.os, "fsync", full)
    body = {"revision": revision, "changes": [{"do": "set", "name": "item.title", "value": "After"}]}
    answer = client.ask("/items/night-light/edit", body)
    assert answer.status_code == 422
    assert "no space left on device" in answer.json()["sentence"]
    assert record.read_bytes() == before
    monkeypatch.undo()
    assert client.ask("/items/night-light/edit", body).status_code == 200
    assert read_text(record.read_text(encoding="utf-8"), record).title == "After"


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of its own with 256 kB, where this machine lets a test have one."""
    place = tmp_path / "small"
    place.mkdir()
    if os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(place)], check=False, capture_output=True
    )
    if made.returncode:
        pytest.skip("this machine mounts nothing")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def fill(place: Path) -> None:
    with (place / "filler").open("wb", buffering=0) as stream:
        try:
            while stream.write(b"x" * 4096):
                pass
        except OSError:
            pass


def test_a_disk_that_is_really_full_loses_nothing(small_disk: Path):
    record = small_disk / "item.toml"
    record.write_text(shipped("night-light"), encoding="utf-8")
    desk = desk_of(record)
    desk.edit(titled("Before"), revision=None, what="before")
    before = record.read_bytes()
    fill(small_disk)
    with pytest.raises(LidoffError, match="no space left"):
        desk.edit(titled("After, and a good deal longer than before " * 30), revision=None, what="after")
    assert record.read_bytes() == before
    (small_disk / "filler").unlink()
    desk.edit(titled("After"), revision=None, what="after")
    desk.undo()
    assert record.read_bytes() == before


def test_a_folder_that_is_read_only_loses_nothing(small_disk: Path):
    record = small_disk / "item.toml"
    record.write_text(shipped("night-light"), encoding="utf-8")
    desk = desk_of(record)
    before, revision = record.read_bytes(), desk.now().revision
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(LidoffError, match="read-only"):
        desk.edit(titled("After"), revision=revision, what="after")
    assert record.read_bytes() == before
    assert desk.now().revision == revision
    subprocess.run(["mount", "-o", "remount,rw", str(small_disk)], check=True)
    desk.edit(titled("After"), revision=revision, what="after")
    assert read_text(record.read_text(encoding="utf-8"), record).title == "After"


# Kills --------------------------------------------------------------------------------------------------------------

# Edits as the server makes them, one after the other, each told when it is saved.
_EDITING = """
import sys
from pathlib import Path
from lidoff.desk.item_desk import ItemDesk
from lidoff.record.edit import set_value
desk = ItemDesk("x", Path(sys.argv[1]))
number = int(sys.argv[2])
while True:
    number += 1
    desk.edit(lambda text: set_value(text, "item.title", f"edit {number}"), revision=None, what=f"edit {number}")
    print(number, flush=True)
"""


def killed(record: Path, start: int, wait: float) -> int:
    """Edits until it is killed after about `wait` [s] of editing; gives the last edit that was told to be saved."""
    command = [sys.executable, "-c", _EDITING, str(record), str(start)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as editing:
        assert editing.stdout is not None
        first = editing.stdout.readline()
        assert first, "the editing program did not begin"
        time.sleep(wait)
        editing.send_signal(signal.SIGKILL)
        lines = [first, *editing.stdout.readlines()]
    return int(next(line for line in reversed(lines) if line.endswith("\n")))


def kills(record: Path, count: int) -> None:
    """Kills that many times; nothing that was told to be saved is lost, and no text is ever half one."""
    chance = random.Random(20240611)
    comments = [line for line in record.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    last = 0
    for _ in range(count):
        last = killed(record, last, chance.uniform(0.0, 0.03))
        text = record.read_text(encoding="utf-8")
        number = int(read_text(text, record).title.removeprefix("edit "))
        # The edit in hand at the kill may be saved without having been told.
        assert last <= number <= last + 1
        assert [line for line in text.splitlines() if line.startswith("#")] == comments
        desk = desk_of(record)
        if number > 1:
            assert read_text(desk.undo().text, record).title == f"edit {number - 1}"
            assert desk.redo().text == text
        last = number


def test_a_kill_during_saving_loses_nothing(record: Path):
    kills(record, 8)


@pytest.mark.soak
def test_two_hundred_kills_during_saving_lose_nothing(record: Path):
    kills(record, 200)
