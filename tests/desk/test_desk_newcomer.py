"""What somebody new to the desk meets: where to begin, what is meant, how far the work is, what there is to mend."""

from __future__ import annotations

import threading
from pathlib import Path

import anyio
import pytest

from lidoff.account import STAGES
from lidoff.desk.columns import taken_as
from lidoff.desk.history import KEPT, MOST, History
from lidoff.desk.item_desk import ItemDesk
from lidoff.desk.shop import Shop
from lidoff.desk.works import Works
from lidoff.record import open as open_record

LONE = 'lidoff = 1\n\n[item]\ntitle = "Lone lamp"\n'


def test_an_empty_folder_says_what_to_do(client, folder: Path):
    (folder / "night-light" / "item.toml").unlink()
    page = client.get("/").text
    assert "Nothing lies here yet" in page
    assert "Isolate first" in page, "mains is spoken of before anything is opened"
    assert page.count("data-example=") == 3


def test_every_page_leads_on_to_the_next(client):
    here, seen = "overview", []
    while here:
        seen.append(here)
        page = client.get(f"/items/night-light/{here}").text
        onward = page.partition('class="next-page" href="/items/night-light/')[2].partition('"')[0]
        here = onward
    assert seen[0] == "overview"
    assert seen[-1] == "writeup"
    assert {"outside", "closed", "parts", "connections", "readings", "hazards"} < set(seen)


def test_what_is_worked_out_waits_for_what_is_wrong_and_names_no_path(client, folder: Path):
    table = {"quantity": "power", "value": "1 W", "at": "R99"}
    client.edit("night-light", {"do": "add", "kind": "reading", "table": table})
    judged = client.get("/items/night-light/readings/judged").text
    assert "This waits until the record is mended" in judged
    assert "R99" in judged
    assert str(folder) not in judged


@pytest.mark.parametrize(
    ("quantity", "value", "said"),
    [
        ("capacitance", "222", "Taken as 222 F."),
        ("voltage", "236.2", "Taken as 236.2 V."),
        ("capacitance", "222 nF", ""),
        ("power_factor", "0.9", ""),
        ("", "5", ""),
    ],
)
def test_a_number_without_a_unit_says_what_it_is_taken_as(quantity: str, value: str, said: str):
    assert taken_as(quantity, value) == said


def test_a_reading_without_a_unit_is_told_beside_its_field(client):
    table = {"quantity": "capacitance", "value": "222", "at": "C1"}
    client.edit("night-light", {"do": "add", "kind": "reading", "table": table})
    assert "Taken as 222 F." in client.get("/items/night-light/readings").text


def test_lone_records_lie_on_the_desk_and_keep_apart(client, folder: Path):
    for name in ("lamp", "fan"):
        (folder / f"{name}.toml").write_text(LONE, encoding="utf-8")
    (folder / "settings.toml").write_text('colour = "red"\n', encoding="utf-8")
    desks = {desk.key: desk for desk in Shop(folder).items()}
    assert set(desks) == {"night-light", "lamp", "fan"}
    assert desks["lamp"].made_in != desks["fan"].made_in
    client.edit("lamp", {"do": "set", "name": "item.title", "value": "Lamp"})
    assert 'title = "Lamp"' in (folder / "lamp.toml").read_text(encoding="utf-8")
    assert (folder / "fan.toml").read_text(encoding="utf-8") == LONE
    assert client.ask("/items/lamp/undo", {"revision": client.revision("lamp")}).status_code == 200
    assert (folder / "lamp.toml").read_text(encoding="utf-8") == LONE
    assert client.ask("/items/lamp/writeup/make/page", {}).status_code == 200
    assert (folder / "lamp-writeup" / "report.html").is_file()
    assert client.get("/items/lamp/writeup/file/report.html").status_code == 200
    assert client.get("/items/fan/writeup/file/report.html").status_code == 404


def test_a_recording_is_written_down_by_form(client, folder: Path):
    samples = folder / "night-light" / "recordings"
    samples.mkdir()
    (samples / "clamp.csv").write_text("t,CH1\n0,0\n", encoding="utf-8")
    assert "recordings/clamp.csv" in client.get("/items/night-light/readings").text
    table = {"file": "recordings/clamp.csv", "columns": {"time": "t", "current": "CH1"}, "state": "plugged in"}
    client.edit("night-light", {"do": "add", "kind": "recording", "table": table})
    recording = open_record(folder / "night-light").recordings[0]
    assert dict(recording.columns) == {"time": "t", "current": "CH1"}


def test_a_title_is_cut_between_words(tmp_path: Path):
    desk = Shop(tmp_path).start("Night light shaped like a moon, plugs straight into the socket")
    assert desk.folder.name == "night-light-shaped-like-a-moon-plugs"


def test_the_stage_of_a_work_is_told_while_it_is_waited_for(record: Path, in_loop):
    desk, works, begun, go_on = ItemDesk("x", record), Works(), threading.Event(), threading.Event()
    stages: list[str | None] = []

    def slow() -> str:
        works.teller(desk, desk.now(), "account")("cycle")
        begun.set()
        assert go_on.wait(10)
        return "done"

    async def go() -> None:
        async with anyio.create_task_group() as tasks:
            tasks.start_soon(works.get, desk, desk.now(), "account", slow)
            await anyio.to_thread.run_sync(begun.wait, 10)
            stages.append(works.stage(desk, desk.now(), "account"))
            go_on.set()
        stages.append(works.stage(desk, desk.now(), "account"))

    in_loop(go)
    assert stages == ["cycle", None]
    assert "cycle" in STAGES


def test_the_first_page_says_at_once_what_is_known(client):
    page = client.get("/items/night-light/overview").text
    assert "9 parts" in page
    assert "take every part of it as live" in page
    assert client.get("/items/night-light/progress").json() == {"done": True}


def test_the_oldest_states_are_let_go_of_and_the_newest_can_be_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("lidoff.desk.history.MOST", 30)
    monkeypatch.setattr("lidoff.desk.history.KEPT", 10)
    monkeypatch.setattr("lidoff.desk.history._YOUNG", -1.0)
    history = History(tmp_path)
    history.begin("0")
    for number in range(1, 75):
        history.stand_at(history.add(str(number), f"edit {number}"))
    again = History(tmp_path)
    assert 10 <= len(again.entries) <= 30
    assert {file.stem for file in again.folder.glob("*.toml")} == {one.hash for one in again.entries.values()}
    again.begin("74")
    for wanted in ("73", "72", "71"):
        entry = again.before()
        assert entry is not None
        assert again.text(entry) == wanted
        again.stand_at(entry)
    assert KEPT < MOST
