"""The invented records are written out, and nothing that somebody wrote is lost by it."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.demo import NAMES, DemoError, shipped, write_items


def test_every_record_is_written_as_shipped_into_a_folder_of_its_own(tmp_path: Path) -> None:
    placed = write_items(tmp_path / "new" / "demo")
    assert [one.how for one in placed] == ["written"] * 3
    assert [one.folder.name for one in placed] == list(NAMES)
    for one in placed:
        assert (one.folder / "item.toml").read_text(encoding="utf-8") == shipped(one.folder.name)


def test_a_second_time_leaves_them_alone(tmp_path: Path) -> None:
    write_items(tmp_path)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.toml")}
    assert [one.how for one in write_items(tmp_path)] == ["there"] * 3
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*.toml")} == before


def test_a_changed_record_is_left_as_it_is_and_said_so(tmp_path: Path) -> None:
    write_items(tmp_path)
    mine = tmp_path / NAMES[1] / "item.toml"
    mine.write_text("# mine\n", encoding="utf-8")
    placed = write_items(tmp_path)
    assert [one.how for one in placed] == ["there", "changed", "there"]
    assert mine.read_text(encoding="utf-8") == "# mine\n"


def test_something_else_of_that_name_is_named_and_left(tmp_path: Path) -> None:
    (tmp_path / NAMES[0]).write_text("a file", encoding="utf-8")
    with pytest.raises(DemoError, match="in the way"):
        write_items(tmp_path)
    assert (tmp_path / NAMES[0]).read_text(encoding="utf-8") == "a file"


def test_a_folder_where_the_record_should_be_is_named(tmp_path: Path) -> None:
    (tmp_path / NAMES[0] / "item.toml").mkdir(parents=True)
    with pytest.raises(DemoError, match=r"item\.toml is in the way"):
        write_items(tmp_path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(DemoError, match="cannot be written here: not a directory"):
        write_items(tmp_path / "file" / "demo")
