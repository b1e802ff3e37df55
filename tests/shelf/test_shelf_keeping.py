"""The index in step with the folders: what is worked out again and what is not, and what becomes of what goes away."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.shelf.conftest import Worker, digest
from tests.shelf.inventing import collection, invented

from lidoff.account import fingerprint
from lidoff.record import open as open_record
from lidoff.shelf import ShelfError, Step, add, find, folders_path, forget, index_path, read_places, rebuild, understand
from lidoff.shelf.places import survey, write_places


def test_unchanged_records_are_not_worked_out_again(index: Path, records: Path, worker: Worker) -> None:
    first = add(index, [records], work=worker)
    assert len(first.added) == len(worker.done) == 4
    again = rebuild(index, work=worker)
    assert len(again.kept) == 4
    assert len(worker.done) == 4


def test_a_changed_value_is_worked_out_again_and_a_comment_is_not(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    file = records / "item-003" / "item.toml"
    file.write_text(f"# a thought\n{file.read_text()}")
    assert len(rebuild(index, work=worker).kept) == 4
    assert len(worker.done) == 4
    file.write_text(file.read_text().replace('frequency = "50 Hz"', 'frequency = "60 Hz"'))
    assert rebuild(index, work=worker).renewed == (file,)
    assert worker.done[4:] == ["item-003"]
    numbers = {hit.title: hit.number for hit in find(index).hits}
    assert sorted(numbers.values()) == [1, 2, 3, 4]  # a record keeps its number


def test_a_changed_recording_counts_as_a_change(index: Path, records: Path, worker: Worker) -> None:
    folder = records / "item-000"
    (folder / "recordings").mkdir()
    sampled = folder / "recordings" / "clamp.csv"
    sampled.write_text("t,i\n0,0\n0.001,1\n")
    text = (folder / "item.toml").read_text()
    (folder / "item.toml").write_text(
        f'{text}\n[[recording]]\nfile = "recordings/clamp.csv"\ncolumns = {{ time = "t", current = "i" }}\n'
    )
    add(index, [records], work=worker)
    assert len(rebuild(index, work=worker).kept) == 4
    sampled.write_text("t,i\n0,0\n0.001,2\n")
    assert len(rebuild(index, work=worker).renewed) == 1


def test_new_records_are_found_and_other_folders_passed_over(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    collection(records / "later", range(7, 9))
    (records / ".hidden").mkdir()
    shutil.copy(records / "item-000" / "item.toml", records / ".hidden" / "item.toml")
    inside = records / "item-000" / "rework"
    inside.mkdir()
    shutil.copy(records / "item-000" / "item.toml", inside / "item.toml")
    (records / "loop").symlink_to(records, target_is_directory=True)
    assert {path.parent.name for path in rebuild(index, work=worker).added} == {"item-007", "item-008"}


def test_a_lone_record_and_one_twice(index: Path, records: Path, worker: Worker) -> None:
    lone = records.parent / "bench.toml"
    lone.write_text(invented(9))
    assert add(index, [lone, records, lone, records / "item-001"], work=worker).added == (
        lone,
        *(records / f"item-00{place}" / "item.toml" for place in range(4)),
    )
    assert find(index).total == 5


def test_what_is_no_record_is_refused_before_anything_is_made(index: Path, tmp_path: Path, worker: Worker) -> None:
    (tmp_path / "bare").mkdir()
    for place, said in ((tmp_path / "nothing", "no such file or folder"), (tmp_path / "bare", "no record lies here")):
        with pytest.raises(ShelfError, match=said):
            add(index, [place], work=worker)
    assert not index.parent.exists()


def test_a_moved_record_is_known_again(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    before = {hit.title: hit.number for hit in find(index).hits}
    new = records / "mended" / "lamp"
    new.parent.mkdir()
    (records / "item-002").rename(new)
    report = rebuild(index, work=worker)
    assert report.moved == {new / "item.toml": records / "item-002" / "item.toml"}
    assert report.gone == ()
    assert len(worker.done) == 4
    found = find(index)
    assert {hit.title: hit.number for hit in found.hits} == before
    assert all(hit.there for hit in found.hits)


def test_a_deleted_record_is_kept_and_said(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    shutil.rmtree(records / "item-002")
    gone = [hit for hit in find(index).hits if not hit.there]
    assert [hit.path.parent.name for hit in gone] == ["item-002"]  # said at once, before the next look
    report = rebuild(index, work=worker)
    assert report.gone == (records / "item-002" / "item.toml",)
    assert "1 no longer where they were" in report.sentence
    assert find(index).total == 4
    collection(records / "back", range(2, 3))
    assert rebuild(index, work=worker).moved
    assert all(hit.there for hit in find(index).hits)


def test_a_whole_folder_gone_is_said_and_nothing_is_lost(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    away = records.with_name("unplugged stick")
    records.rename(away)
    report = rebuild(index, work=worker)
    assert len(report.gone) == 4
    assert any("is not there any more" in one for one in report.problems)
    away.rename(records)
    assert len(rebuild(index, work=worker).kept) == 4
    assert len(worker.done) == 4


def test_a_record_that_cannot_be_read_is_on_the_shelf_all_the_same(index: Path, records: Path, worker: Worker) -> None:
    file = records / "item-001" / "item.toml"
    whole = file.read_text()
    file.write_text("lidoff = 1\n[item\n")
    report = add(index, [records], work=worker)
    assert len(report.added) == 3
    assert "is not TOML" in report.unreadable[file]
    hit = next(hit for hit in find(index).hits if hit.status == "unreadable")
    assert (hit.title, hit.path) == ("item-001", file)
    file.write_text(whole)
    assert rebuild(index, work=worker).renewed == (file,)
    # Broken again later: what was known of it stays, and that it is from before is said.
    file.write_text("lidoff = 1\n[item\n")
    assert file in rebuild(index, work=worker).unreadable
    hit = next(hit for hit in find(index).hits if hit.status == "unreadable")
    assert hit.title.endswith("no. 1")
    assert "is not TOML" in hit.problem


def test_a_record_that_cannot_be_solved_is_found_by_what_is_known(index: Path, tmp_path: Path) -> None:
    folder = tmp_path / "half"
    folder.mkdir()
    (folder / "item.toml").write_text(
        'lidoff = 1\n[item]\ntitle = "Half a heater"\nclass = "I"\n[[part]]\nref = "R1"\nkind = "resistor"\n'
        'marking = "brown black red gold"\nnodes = ["live", "a"]\n'
        '[[sighting]]\nabout = "earth-bond"\nseen = "left off"\n'
    )
    report = add(index, [folder], depth="quick")
    assert report.unsolved
    for asked in ("heater", "class I", "with a resistor of 1k", "earth-left-off"):
        assert find(index, understand(asked)).total == 1, asked
    # What was not worked out is not counted as meeting, or as not meeting, a figure.
    found = find(index, understand("heater over 1 W"))
    assert (found.total, found.unknown) == (0, 1)


def test_stopping_keeps_what_was_done_and_goes_on_later(index: Path, records: Path, worker: Worker) -> None:
    seen: list[Step] = []

    def watch(step: Step) -> bool:
        seen.append(step)
        return step.done < 2

    report = add(index, [records], work=worker, watch=watch)
    assert (len(report.added), report.stopped) == (2, True)
    assert [(one.done, one.total) for one in seen] == [(0, 4), (1, 4), (2, 4)]
    assert find(index).total == 2
    assert len(rebuild(index, work=worker).added) == 2
    assert len(worker.done) == 4


def test_a_failure_midway_keeps_what_was_done(index: Path, records: Path, worker: Worker) -> None:
    def fail(item: object, depth: object) -> object:
        if len(worker.done) == 2:
            raise KeyboardInterrupt
        return worker(item, depth)  # type: ignore[arg-type]

    with pytest.raises(KeyboardInterrupt):
        add(index, [records], work=fail)  # type: ignore[arg-type]
    assert find(index).total == 2


def test_the_index_can_be_thrown_away(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], work=worker)
    before = [(hit.title, hit.path) for hit in find(index).hits]
    for file in index.parent.glob("shelf.sqlite*"):
        file.unlink()
    assert len(rebuild(index, work=worker).added) == 4
    assert [(hit.title, hit.path) for hit in find(index).hits] == before


def test_deeper_is_done_again_and_shallower_is_not(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], depth="quick", work=worker)
    assert len(rebuild(index, work=worker).kept) == 4
    assert len(rebuild(index, depth="full", work=worker).renewed) == 4
    assert len(rebuild(index, depth="quick", work=worker).kept) == 4
    assert {hit.depth for hit in find(index).hits} == {"full"}


def test_entries_of_another_program_version_are_made_anew(
    index: Path, records: Path, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    from lidoff.shelf import indexing

    add(index, [records], work=worker)
    monkeypatch.setattr(indexing, "made_with", lambda: "a later one")
    assert len(rebuild(index, work=worker).renewed) == 4
    assert len(rebuild(index, work=worker).kept) == 4


def test_forgetting_leaves_the_folder(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records, records / "item-001"], work=worker)
    before = digest(records / "item-001" / "item.toml")
    assert forget(index, records / "item-001") == ()  # it lies in another folder of the shelf as well
    with pytest.raises(ShelfError, match="belongs to a larger folder"):
        forget(index, records / "item-001")
    with pytest.raises(ShelfError, match="nothing on this shelf lies there"):
        forget(index, records.parent / "elsewhere")
    assert len(forget(index, records.parent)) == 4
    assert find(index).total == 0
    assert find(index, understand("lamp or strip or charger or light")).total == 0
    assert read_places(folders_path(index)) == ()
    assert digest(records / "item-001" / "item.toml") == before


# The list of folders --------------------------------------------------------------------------------------------------


def test_the_users_own_lines_stay(tmp_path: Path) -> None:
    file = tmp_path / "shelf.folders.txt"
    file.write_text("# from the market\n/a\n\n# from the shed\n/b\n")
    write_places(file, add=[Path("/c"), Path("/a")])
    write_places(file, drop=[Path("/b")])
    assert file.read_text() == "# from the market\n/a\n\n# from the shed\n/c\n"
    assert read_places(file) == (Path("/a"), Path("/c"))


_NAMES = st.text(st.characters(exclude_characters="/\0", exclude_categories=["Cs"]), min_size=1, max_size=20)


@given(names=st.lists(_NAMES, max_size=6), dropped=st.sets(st.integers(0, 5)))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_listed_folders_are_read_back(tmp_path: Path, names: list[str], dropped: set[int]) -> None:
    file = tmp_path / f"{os.urandom(8).hex()}.txt"
    places = list(dict.fromkeys(Path("/") / name for name in names if name not in (".", "..")))
    try:
        write_places(file, add=places)
    except ShelfError as refused:
        assert "cannot be listed" in str(refused)  # noqa: PT017 - a name with a line break in it
        assert not file.exists()
        return
    assert read_places(file) == tuple(places)
    gone = [place for number, place in enumerate(places) if number in dropped]
    write_places(file, drop=gone)
    assert read_places(file) == tuple(place for place in places if place not in gone)


@pytest.mark.skipif(os.name != "posix", reason="names that are no text exist on POSIX only")
def test_a_folder_name_that_is_no_text_is_said(tmp_path: Path) -> None:
    folder = tmp_path / os.fsdecode(b"l\xe4mp")
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("this file system takes text only")
    (folder / "item.toml").write_text(invented(1))
    found = survey(tmp_path)
    assert found.records == ()
    assert "not text in UTF-8" in found.problems[0]


# Where a shelf lives --------------------------------------------------------------------------------------------------


def test_where_a_shelf_lives(tmp_path: Path) -> None:
    home = tmp_path / "home"
    default = index_path(None, {}, home)
    assert default.is_relative_to(home)
    assert default.name == "shelf.sqlite"
    named = {"LIDOFF_SHELF": str(tmp_path / "named")}
    assert index_path(None, named, home) == tmp_path / "named" / "shelf.sqlite"
    assert index_path(tmp_path / "given", named, home) == tmp_path / "given" / "shelf.sqlite"
    assert index_path(tmp_path / "mine.sqlite", named, home) == tmp_path / "mine.sqlite"
    assert folders_path(tmp_path / "mine.sqlite") == tmp_path / "mine.folders.txt"
    (tmp_path / "odd.db").mkdir()
    assert index_path(tmp_path / "odd.db", {}, home) == tmp_path / "odd.db" / "shelf.sqlite"


@pytest.mark.skipif(os.name != "posix" or os.uname().sysname == "Darwin", reason="the desktop specification's folders")
def test_the_data_folder_follows_the_specification(tmp_path: Path) -> None:
    """XDG Base Directory Specification 0.8: absolute paths count, relative ones are to be ignored."""
    data = tmp_path / "data"
    assert index_path(None, {"XDG_DATA_HOME": str(data)}, tmp_path) == data / "lidoff" / "shelf.sqlite"
    plain = tmp_path / ".local" / "share" / "lidoff" / "shelf.sqlite"
    assert index_path(None, {"XDG_DATA_HOME": "relative/one"}, tmp_path) == plain
    assert index_path(None, {}, tmp_path) == plain


def test_a_fingerprint_is_that_of_the_account(index: Path, records: Path, worker: Worker) -> None:
    from lidoff.shelf.store import reading

    add(index, [records], work=worker)
    with reading(index) as connection:
        rows = connection.execute("SELECT path, fingerprint FROM item").fetchall()
    assert rows
    assert all(mark == fingerprint(open_record(path)) for path, mark in rows)
