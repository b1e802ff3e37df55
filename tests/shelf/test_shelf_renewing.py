"""One folder of a shelf brought into step, and what is told beforehand of what has to be worked out."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tests.shelf.conftest import Worker, digest
from tests.shelf.inventing import collection

from lidoff.shelf import Behind, ShelfError, add, behind, find, folders_path, read_places, renew


def test_a_folder_is_put_on_the_list_once_and_others_are_left(
    index: Path, records: Path, worker: Worker, tmp_path: Path
) -> None:
    others = collection(tmp_path / "others", range(5, 7))
    add(index, [others], work=worker)
    changed = others / "item-005" / "item.toml"
    changed.write_text(changed.read_text().replace('frequency = "50 Hz"', 'frequency = "60 Hz"'))
    worker.done.clear()
    assert len(renew(index, [records], work=worker).added) == 4
    assert "item-005" not in worker.done
    assert read_places(folders_path(index)) == (others, records)
    assert len(renew(index, [records], work=worker).kept) == 4
    assert len(renew(index, [records / "item-001"], work=worker).kept) == 1
    assert read_places(folders_path(index)) == (others, records), "a folder within one that is listed needs no line"
    assert find(index).total == 6


def test_what_is_behind_is_what_a_run_works_out(index: Path, records: Path, worker: Worker) -> None:
    assert behind(index, [records]) == Behind(new=tuple(sorted(records.glob("*/item.toml"))))
    assert not index.exists(), "telling makes nothing"
    renew(index, [records], work=worker)
    assert behind(index, [records]) == Behind(kept=4)
    files = sorted(records.glob("*/item.toml"))
    files[0].write_text(f"# a thought\n{files[0].read_text()}")
    files[1].write_text(files[1].read_text().replace('frequency = "50 Hz"', 'frequency = "60 Hz"'))
    files[2].write_text("lidoff = 1\n[item\n")
    shutil.rmtree(files[3].parent)
    before = digest(index)
    told = behind(index, [records])
    assert told == Behind(changed=(files[1], files[2]), gone=(files[3],), kept=1)
    assert digest(index) == before
    report = renew(index, [records], work=worker)
    assert (report.renewed, report.gone, tuple(report.unreadable)) == ((files[1],), (files[3],), (files[2],))
    # What cannot be read stands as that, and is no work until somebody mends it.
    assert behind(index, [records]) == Behind(gone=(files[3],), kept=3)
    files[2].write_text(files[1].read_text().replace('title = "', 'title = "Mended '))
    assert behind(index, [records]).mended == (files[2],)
    assert renew(index, [records], work=worker).renewed == (files[2],)


def test_entries_of_another_version_are_told(
    index: Path, records: Path, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    from lidoff.shelf import indexing, standing

    renew(index, [records], work=worker)
    for module in (indexing, standing):
        monkeypatch.setattr(module, "made_with", lambda: "a later one")
    told = behind(index, [records])
    assert (len(told.older), told.to_do) == (4, 4)
    renew(index, [records], work=worker)
    assert behind(index, [records]).to_do == 0


def test_a_quick_entry_stays_quick(index: Path, records: Path, worker: Worker) -> None:
    add(index, [records], depth="quick", work=worker)
    assert behind(index, [records]).to_do == 0
    assert len(renew(index, [records], work=worker).kept) == 4
    assert {hit.depth for hit in find(index).hits} == {"quick"}


def test_a_folder_without_a_record_makes_no_shelf(index: Path, tmp_path: Path, worker: Worker) -> None:
    (tmp_path / "bare").mkdir()
    with pytest.raises(ShelfError, match="no record lies here"):
        renew(index, [tmp_path / "bare"], work=worker)
    assert not index.exists()
    assert not folders_path(index).exists()
