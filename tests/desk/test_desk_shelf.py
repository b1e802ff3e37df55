"""The shelf's page: asked in sentences, counted with what was not looked at apart, kept in step with the folder."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.desk.conftest import Client

from lidoff.demo import NAMES, shipped
from lidoff.desk.pages.shelf import shares
from lidoff.shelf import EVERYTHING, Bar, Count, add, find, folders_path, index_path, read_places, understand


@pytest.fixture
def index(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "shelf.sqlite"


@pytest.fixture
def shelf(folder: Path, index: Path) -> Iterator[Client]:
    """A desk on a folder with all three invented items, and a shelf of its own that is not there yet."""
    for name in NAMES:
        (folder / name).mkdir(exist_ok=True)
        (folder / name / "item.toml").write_text(shipped(name), encoding="utf-8")
    with Client(folder, shelf=index) as client:
        client.let_in()
        yield client


def finished(client: Client) -> dict[str, Any]:
    """What a run says at its end."""
    for _ in range(600):
        told: dict[str, Any] = client.get("/shelf/progress").json()
        if not told["running"]:
            return told
        time.sleep(0.05)
    raise AssertionError("the run never ended")


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Records are worked out the quick way: what is tested here is the page, not the account."""
    from lidoff.desk import shelving
    from lidoff.shelf.working import worked_out

    monkeypatch.setattr(shelving, "worked_out", lambda item, depth: worked_out(item, "quick"))


def test_the_first_page_leads_to_the_shelf_and_an_empty_one_says_what_to_do(shelf: Client, index: Path):
    assert 'href="/shelf"' in shelf.get("/").text
    page = shelf.get("/shelf").text
    assert "3 records of this folder are not on the shelf yet" in page
    assert 'id="begin"' in page
    assert not index.exists(), "looking makes nothing"
    assert 'id="question"' not in page, "there is nothing to ask yet"


def test_without_any_record_it_leads_back(tmp_path: Path, index: Path):
    (tmp_path / "bare").mkdir()
    with Client(tmp_path / "bare", shelf=index) as client:
        client.let_in()
        page = client.get("/shelf").text
    assert "No record lies in the opened folder yet" in page
    assert 'id="begin"' not in page


def test_only_the_opened_folder_is_worked_out_and_the_command_line_finds_it(
    shelf: Client, folder: Path, index: Path, at_once: None
):
    other = folder.parent / "elsewhere" / "lamp"
    other.mkdir(parents=True)
    (other / "item.toml").write_text(shipped("night-light"), encoding="utf-8")
    assert shelf.ask("/shelf/begin", {}).json()["running"]
    assert finished(shelf)["ended"] == "Records: 3 put on the shelf."
    assert read_places(folders_path(index)) == (folder,)
    assert {hit.path for hit in find(index_path(index.parent, {})).hits} == {
        folder / name / "item.toml" for name in NAMES
    }
    page = shelf.get("/shelf").text
    assert "All 3 records of this folder stand on the shelf as they are now." in page
    assert 'href="/items/night-light"' in page


def test_what_is_out_of_date_is_named_and_worked_out_alone(shelf: Client, folder: Path, index: Path, at_once: None):
    shelf.ask("/shelf/begin", {})
    finished(shelf)
    shelf.edit("night-light", {"do": "set", "name": "item.title", "value": "Another light"})
    page = shelf.get("/shelf").text
    assert "1 entry is out of date" in page
    assert "Changed since: 1" in page
    assert "Another light" not in page.partition("<table")[2], "the entry tells what the record said then"
    shelf.ask("/shelf/begin", {})
    assert finished(shelf)["ended"] == "Records: 1 renewed, 2 unchanged."
    assert "Another light" in shelf.get("/shelf").text


def test_items_of_other_folders_are_found_without_a_link_and_left_as_they_are(
    shelf: Client, folder: Path, index: Path, at_once: None
):
    other = folder.parent / "elsewhere" / "lamp"
    other.mkdir(parents=True)
    (other / "item.toml").write_text(shipped("night-light").replace("title = ", 'title = "Foreign" # ', 1))
    add(index, [other], depth="quick")
    before = find(index, understand("Foreign")).hits[0]
    (other / "item.toml").write_text(shipped("globe-lamp"), encoding="utf-8")
    shelf.ask("/shelf/begin", {})
    finished(shelf)
    assert find(index, understand("Foreign")).hits[0].title == before.title, "nobody worked it out from here"
    page = shelf.get("/shelf?ask=Foreign").text
    assert "Not in the opened folder" in page
    assert "1 of 4 items." in page


def test_a_question_is_said_back_and_counts_tell_apart_who_looked(shelf: Client, index: Path, at_once: None):
    shelf.ask("/shelf/begin", {})
    finished(shelf)
    page = shelf.get("/shelf", params={"ask": "which lamps over 1 W"}).text
    assert "Understood as: the word “lamps”; power over 1 W" in page
    assert "Passed over: which." in page
    page = shelf.get("/shelf", params={"ask": "over 80 %"}).text
    assert 'class="problem"' in page
    assert 'value="over 80 %"' in page, "what was typed stays"
    page = shelf.get("/shelf", params={"count": "plug-fuse-filler"}).text
    assert "not looked at" in page
    assert "<svg" in page
    assert "<style" not in page
    assert "style=" not in page, "the page's policy forbids styles in the markup"


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", '" onfocus="x', "%", "\x00", "a" * 5000, "'; DROP TABLE"]
)
def test_no_question_is_taken_as_markup_or_breaks_the_page(shelf: Client, at_once: None, text: str):
    shelf.ask("/shelf/begin", {})
    finished(shelf)
    answer = shelf.get("/shelf", params={"ask": text, "count": text[:40]})
    assert answer.status_code == 200
    assert "<script>alert" not in answer.text
    assert '" onfocus="' not in answer.text


def test_a_run_can_be_stopped_and_goes_on_later(shelf: Client, index: Path, monkeypatch: pytest.MonkeyPatch):
    from lidoff.desk import shelving
    from lidoff.shelf.working import worked_out

    def slowly(item: Any, depth: Any) -> Any:
        shelf.app.state.shelving.stop()
        return worked_out(item, "quick")

    monkeypatch.setattr(shelving, "worked_out", slowly)
    shelf.ask("/shelf/begin", {})
    assert finished(shelf)["ended"].startswith("Stopped before the end; what was done stands.")
    assert find(index).total == 1
    page = shelf.get("/shelf").text
    assert "2 records of this folder are not on the shelf yet" in page


def test_a_page_of_an_item_is_answered_while_the_shelf_is_at_it(shelf: Client, monkeypatch: pytest.MonkeyPatch):
    from threading import Event

    from lidoff.desk import shelving
    from lidoff.shelf.working import worked_out

    begun, go_on = Event(), Event()

    def held(item: Any, depth: Any) -> Any:
        begun.set()
        assert go_on.wait(20)
        return worked_out(item, "quick")

    monkeypatch.setattr(shelving, "worked_out", held)
    shelf.ask("/shelf/begin", {})
    assert begun.wait(10)
    assert shelf.get("/items/night-light/parts").status_code == 200
    told = shelf.get("/shelf/progress").json()
    assert (told["running"], told["total"]) == (True, 3)
    assert shelf.ask("/shelf/begin", {}).json()["running"], "a second press begins nothing anew"
    assert 'id="stop"' in shelf.get("/shelf").text
    go_on.set()
    assert "3 put on the shelf" in finished(shelf)["ended"]


def test_a_shelf_of_another_program_is_said_and_left(shelf: Client, index: Path):
    index.parent.mkdir(parents=True)
    index.write_bytes(b"not an index at all")
    page = shelf.get("/shelf").text
    assert "this is not the index of a shelf" in page
    shelf.ask("/shelf/begin", {})
    assert "this is not the index of a shelf" in finished(shelf)["trouble"]
    assert index.read_bytes() == b"not an index at all"


def test_a_shelf_is_not_begun_from_another_page(shelf: Client, index: Path):
    answer = shelf.post("/shelf/begin", json={}, headers={"origin": "http://elsewhere.example"})
    assert answer.status_code == 403
    assert not shelf.get("/shelf/progress").json()["running"]
    assert not index.exists()


def test_lone_records_and_a_single_record_go_on_the_shelf(tmp_path: Path, index: Path, at_once: None):
    place = tmp_path / "lone"
    place.mkdir()
    (place / "lamp.toml").write_text('lidoff = 1\n\n[item]\ntitle = "Lone lamp"\n', encoding="utf-8")
    with Client(place, shelf=index) as client:
        client.let_in()
        client.ask("/shelf/begin", {})
        finished(client)
        assert 'href="/items/lamp">Lone lamp</a>' in client.get("/shelf").text
    (place / "one").mkdir()
    (place / "one" / "item.toml").write_text(shipped("night-light"), encoding="utf-8")
    with Client(place / "one", shelf=index) as client:
        client.let_in()
        assert "1 record of this folder is not on the shelf yet" in client.get("/shelf").text
        client.ask("/shelf/begin", {})
        finished(client)
        assert "The record of this folder stands on the shelf as it is now." in client.get("/shelf").text


def test_the_shares_of_a_count_tell_apart_who_looked():
    def made(among: int, of: int, **left: int) -> Count:
        bars = [Bar(label="no filler", count=1, tone="asked"), Bar(label="filler", count=8)]
        bars += [Bar(label=label.replace("_", " "), count=number, tone="open") for label, number in left.items()]
        return Count(title="", bars=tuple(bars), among=among, of=of, query=EVERYTHING, sentence="")

    assert shares(made(9, 24, not_looked_at=3)) == (
        (24, "items asked about"), (9, "looked at"), (3, "not looked at"),
        (12, "for which the question does not arise"),
    )  # fmt: skip
    assert shares(made(9, 9, not_looked_at=0)) == (), "the picture says all"
    # Of a rule everything that was judged is counted, what it leaves open included.
    assert shares(made(9, 9, undecided=2, the_rule_is_silent=6))[1:] == (
        (9, "that can be counted"), (2, "undecided"), (6, "the rule is silent"),
    )  # fmt: skip
    assert shares(made(9, 11))[1:] == ((9, "that can be counted"), (2, "that could not be looked into"))


def test_desk_and_command_line_choose_the_same_shelf(folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    from lidoff.cli.shelf_options import place_of
    from lidoff.desk import create_app

    for given in (None, tmp_path / "other", folder / "mine.sqlite"):
        for named in ("", str(tmp_path / "named")):
            monkeypatch.setenv("LIDOFF_SHELF", named)
            assert create_app(folder, token="x", shelf=given).state.shelving.index == place_of(given)
