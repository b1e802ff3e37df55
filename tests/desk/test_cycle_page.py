"""The cycle page in process: its socket, what it says where nothing can be solved, and keeping what was tried."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.desk.records import STRIP

from lidoff.demo import shipped
from lidoff.record import open as open_record

HALF = """lidoff = 1
[item]
title = "Half a record"
[[part]]
ref = "R1"
kind = "resistor"
nodes = ["live", "a"]
[[part]]
ref = "LED1"
kind = "led"
forward_voltage = "3 V"
nodes = { anode = "a", cathode = "neutral" }
"""
EVIL = """lidoff = 1
[item]
title = "<script>alert(1)</script>"
[[part]]
ref = "R<b>1"
kind = "resistor"
value = "1k"
nodes = ["live", "<i>"]
[[part]]
ref = "R2"
kind = "resistor"
value = "1k"
nodes = ["<i>", "neutral"]
[[state]]
name = "<img src=x>"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Several items side by side."""
    bench = tmp_path / "bench"
    texts = {
        "globe-lamp": shipped("globe-lamp"),
        "night-light": shipped("night-light"),
        "half": HALF,
        "evil": EVIL,
        "empty": 'lidoff = 1\n[item]\ntitle = "Nothing yet"\n',
    }
    for name, text in texts.items():
        (bench / name).mkdir(parents=True)
        (bench / name / "item.toml").write_text(text, encoding="utf-8")
    return bench


@pytest.fixture
def lamp(client: Any) -> Iterator[Any]:
    """The globe lamp's socket, opened, its scene and first frame taken."""
    with client.socket("/items/globe-lamp/cycle/live") as socket:
        socket.send_json({"do": "open", "tag": 1, "state": None, "values": {}})
        socket.scene = socket.receive_json()["scene"]
        assert head(socket.receive_bytes())[0] == 1
        yield socket


def head(frame: bytes) -> tuple[int, ...]:
    return struct.unpack("<9i", frame[:36])


def power(scene: dict[str, Any], frame: bytes) -> float:
    at = [one["key"] for one in scene["figures"]].index("input.power")
    return float(struct.unpack_from("<f", frame, 36 + 4 * at)[0])


def keep(client: Any, key: str, state: str | None, values: dict[str, Any], **more: Any) -> Any:
    body = {"state": state, "values": values, "revision": client.revision(key), **more}
    return client.ask(f"/items/{key}/cycle/keep", body)


# The page -----------------------------------------------------------------------------------------------------------


def test_the_page_is_in_the_list_between_connections_and_readings(client: Any):
    text = client.get("/items/globe-lamp/cycle").text
    order = [text.index(f'href="/items/globe-lamp/{name}"') for name in ("connections", "cycle", "readings")]
    assert order == sorted(order)
    assert 'data-live="/items/globe-lamp/cycle/live"' in text
    assert "style=" not in text
    assert "<style" not in text
    assert "data-own-socket" in text


def test_an_item_without_parts_says_what_to_do(client: Any):
    text = client.get("/items/empty/cycle").text
    assert "No parts are written down yet." in text
    assert 'href="/items/empty/parts"' in text
    assert "data-live" not in text
    assert "data-own-socket" not in text


def test_half_a_record_says_what_is_missing(client: Any):
    with client.socket("/items/half/cycle/live") as socket:
        socket.send_json({"do": "open", "tag": 5, "state": None, "values": {}})
        told = socket.receive_json()
        assert told["tag"] == 5
        assert told["refused"].startswith("R1: value is not given")
        assert told["states"] == []
        assert any(one.startswith("R1 has no value") for one in told["missing"])
        # What is mended is heard of, and then it opens.
        client.edit("half", {"do": "set", "name": "R1.value", "value": "22k"})
        assert socket.receive_json()["changed"]["revision"] == client.revision("half")
        socket.send_json({"do": "open", "tag": 6, "state": None, "values": {}})
        assert socket.receive_json()["scene"]["parts"][0]["ref"] == "R1"
        assert head(socket.receive_bytes())[0] == 6


def test_nothing_of_a_record_becomes_markup(client: Any):
    text = client.get("/items/evil/cycle").text
    assert "<script>alert" not in text
    with client.socket("/items/evil/cycle/live") as socket:
        socket.send_json({"do": "open", "tag": 1, "state": None, "values": {}})
        told = socket.receive_json()
        picture = told.get("scene", {}).get("picture")
        if picture is not None:
            assert "<b>" not in picture["svg"]
            assert "<script" not in picture["svg"]
            assert "<i>" not in picture["svg"]
        else:
            assert "refused" in told


# The socket ---------------------------------------------------------------------------------------------------------


def test_a_knob_turned_gives_one_frame_a_question(lamp: Any):
    before = None
    for tag, position in enumerate((0.1, 0.2, 0.3), start=2):
        lamp.send_json({"do": "set", "tag": tag, "values": {"VR1.position": position}})
        frame = lamp.receive_bytes()
        assert head(frame)[:4] == (tag, 1, 0, 1)  # settled, not dc, carried along
        assert len(frame) < 150_000
        if before is not None:
            assert power(lamp.scene, frame) < before
        before = power(lamp.scene, frame)


def test_a_value_that_cannot_be_read_is_refused_and_the_next_one_answered(lamp: Any):
    lamp.send_json({"do": "set", "tag": 2, "values": {"R3.value": "two"}})
    told = lamp.receive_json()
    assert (told["tag"], told["at"]) == (2, "R3.value")
    assert told["refused"].startswith("R3.value: ")
    lamp.send_json({"do": "set", "tag": 3, "values": {"R3.value": "2k2"}})
    assert head(lamp.receive_bytes())[0] == 3


def test_states_are_opened_by_name_and_one_that_is_gone_is_the_first(lamp: Any):
    lamp.send_json({"do": "open", "tag": 2, "state": "rods on the bench supply", "values": {}})
    assert lamp.receive_json()["scene"]["direct"] is True
    assert head(lamp.receive_bytes())[2] == 1
    lamp.send_json({"do": "open", "tag": 3, "state": "no such state", "values": {}})
    assert lamp.receive_json()["scene"]["state"] == "knob full up"
    assert head(lamp.receive_bytes())[0] == 3


@pytest.mark.parametrize(
    "text",
    [
        "nonsense",
        "[]",
        '{"do": "erase", "tag": 1, "values": {}}',
        '{"do": "set", "tag": "1", "values": {}}',
        '{"do": "set", "tag": -1, "values": {}}',
        '{"do": "set", "tag": 99999999999, "values": {}}',
        '{"do": "set", "tag": 1, "values": []}',
        '{"do": "open", "tag": 1, "values": {}, "state": 3}',
        "[" * 100_000,
    ],
)
def test_what_is_no_message_of_the_page_ends_the_connection(lamp: Any, text: str):
    lamp.send_text(text)
    assert lamp.receive()["type"] == "websocket.close"


def test_a_question_before_anything_is_open_gets_no_answer(client: Any):
    with client.socket("/items/globe-lamp/cycle/live") as socket:
        socket.send_json({"do": "set", "tag": 1, "values": {}})
        socket.send_json({"do": "open", "tag": 2, "state": None, "values": {}})
        assert "scene" in socket.receive_json()
        assert head(socket.receive_bytes())[0] == 2


def test_the_socket_is_closed_to_other_sites(client: Any):
    from starlette.websockets import WebSocketDisconnect

    with (
        pytest.raises(WebSocketDisconnect),
        client.socket("/items/globe-lamp/cycle/live", headers={"origin": "http://elsewhere.example"}),
    ):
        pass


def test_changes_from_outside_are_told(lamp: Any, folder: Path):
    file = folder / "globe-lamp" / "item.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('value = "150k"', 'value = "100k"'), encoding="utf-8")
    told = lamp.receive_json()["changed"]
    assert told["outside"] is True
    lamp.send_json({"do": "open", "tag": 9, "state": None, "values": {}})
    assert lamp.receive_json()["scene"]["parts"][0]["words"] == "100k"


# Keeping ------------------------------------------------------------------------------------------------------------


def test_a_value_that_is_kept_is_written_and_can_be_undone(client: Any, folder: Path):
    file = folder / "globe-lamp" / "item.toml"
    before = file.read_text(encoding="utf-8")
    answer = keep(client, "globe-lamp", "knob full up", {"R3.value": "1k2"})
    assert answer.status_code == 200, answer.text
    assert answer.json()["undo"] == "kept: R3.value 1k2"
    item = open_record(file)
    assert item.part("R3").values["value"] == 1200.0
    assert "# The lamp: everything sits on a round board" in file.read_text(encoding="utf-8").replace("--- ", "")
    undone = client.ask("/items/globe-lamp/undo", {"revision": answer.json()["revision"]})
    assert undone.status_code == 200
    assert file.read_text(encoding="utf-8") == before


def test_bounds_go_with_the_question_mark_they_stand_beside(client: Any, folder: Path):
    assert keep(client, "globe-lamp", None, {"LED1.forward_voltage": "2.9 V"}).status_code == 200
    item = open_record(folder / "globe-lamp" / "item.toml")
    assert item.part("LED1").values["forward_voltage"] == 2.9
    assert not item.warnings
    assert "between" not in (folder / "globe-lamp" / "item.toml").read_text(encoding="utf-8")


def test_a_value_that_the_state_sets_is_kept_in_the_state(client: Any, folder: Path):
    assert keep(client, "globe-lamp", "knob a quarter up", {"VR1.position": 0.7}).status_code == 200
    item = open_record(folder / "globe-lamp" / "item.toml")
    assert item.state("knob a quarter up").set["VR1"]["position"] == 0.7
    assert item.state("knob full up").set["VR1"]["position"] == 0.0
    assert "position" not in item.part("VR1").values or item.part("VR1").values["position"] != 0.7


def test_a_setting_is_kept_as_a_state_of_its_own(client: Any, folder: Path):
    values = {"VR1.position": 0.42, "supply.voltage": 117}
    answer = keep(client, "globe-lamp", "knob full up", values, name="two o'clock")
    assert answer.status_code == 200, answer.text
    state = open_record(folder / "globe-lamp" / "item.toml").state("two o'clock")
    assert state.set["VR1"]["position"] == 0.42
    assert state.supply.voltage == 117.0
    again = keep(client, "globe-lamp", "knob full up", values, name="two o'clock")
    assert again.status_code == 422
    assert "there is a state “two o'clock” already" in again.json()["sentence"]
    assert keep(client, "globe-lamp", None, values, name="  ").status_code == 422


@pytest.mark.parametrize(
    "body",
    [
        {"state": None, "values": [], "revision": "x"},
        {"state": 3, "values": {}, "revision": "x"},
        {"state": None, "values": {"R3.value": "1k"}},
        {"state": None, "values": {"R3.value": "1k"}, "revision": "x", "name": 3},
    ],
)
def test_what_is_no_request_of_the_page_is_refused(client: Any, body: dict[str, Any]):
    answer = client.ask("/items/globe-lamp/cycle/keep", body)
    assert answer.status_code == 422
    assert answer.json()["sentence"]


def test_keeping_on_an_old_page_overwrites_nothing(client: Any, folder: Path):
    file = folder / "globe-lamp" / "item.toml"
    old = client.revision("globe-lamp")
    client.edit("globe-lamp", {"do": "set", "name": "item.title", "value": "Other"})
    body = {"state": None, "values": {"R3.value": "9k1"}, "revision": old}
    assert client.ask("/items/globe-lamp/cycle/keep", body).status_code == 409
    assert "9k1" not in file.read_text(encoding="utf-8")


def test_the_volts_of_a_bench_supply_are_kept_in_its_state(client: Any, folder: Path):
    state = "rods on the bench supply"
    assert keep(client, "globe-lamp", state, {"supply.dc": "90 V"}).status_code == 200
    item = open_record(folder / "globe-lamp" / "item.toml")
    assert item.state(state).supply.dc == 90.0
    assert item.supply.dc is None


def test_a_member_of_a_block_is_shown_as_one_of_many_and_kept_by_its_name(client: Any, folder: Path):
    (folder / "strip").mkdir()
    file = folder / "strip" / "item.toml"
    file.write_text(STRIP, encoding="utf-8")
    with client.socket("/items/strip/cycle/live") as socket:
        socket.send_json({"do": "open", "tag": 1, "state": None, "values": {}})
        scene = socket.receive_json()["scene"]
        parts = {one["ref"]: one for one in scene["parts"]}
        assert parts["section/R1"]["block"] == "section"
        socket.receive_bytes()
        socket.send_json({"do": "set", "tag": 2, "values": {"section/R1.value": "220R"}})
        assert head(socket.receive_bytes())[:2] == (2, 1)
    assert keep(client, "strip", None, {"section/R1.value": "220R"}).status_code == 200
    assert open_record(file).part("section/R1").values["value"] == 220.0


def test_how_often_a_block_is_there_is_kept_as_a_whole_number(client: Any, folder: Path):
    (folder / "strip").mkdir()
    file = folder / "strip" / "item.toml"
    state = '[[state]]\nname = "cut short"\nset = { section = { repeat = 8 } }\n'
    file.write_text(STRIP.replace("repeat = 12", 'repeat = "?"\nbetween = [10, 14]') + state, encoding="utf-8")
    with client.socket("/items/strip/cycle/live") as socket:
        socket.send_json({"do": "open", "tag": 1, "state": "cut short", "values": {}})
        (block,) = socket.receive_json()["scene"]["blocks"]
    assert block["parts"] == ["section/R1", "section/LED1"]
    assert [(one["name"], one["text"]) for one in block["tries"]] == [
        ("section.repeat", "8"),
        ("section.parallel", "1"),
    ]
    assert keep(client, "strip", "cut short", {"section.repeat": "9"}).status_code == 200
    assert open_record(file).state("cut short").set["section"]["repeat"] == 9
    assert keep(client, "strip", "cut short", {"section.parallel": "2.0"}).status_code == 200
    assert open_record(file).block("section").parallel == 2
    file.write_text(file.read_text(encoding="utf-8").partition("[[state]]")[0], encoding="utf-8")
    assert keep(client, "strip", None, {"section.repeat": "11"}).status_code == 200
    block = open_record(file).block("section")
    assert (block.repeat, block.parallel) == (11, 2)
    assert "between" not in file.read_text(encoding="utf-8")


def test_a_part_that_a_state_adds_is_not_kept_elsewhere(client: Any, folder: Path):
    file = folder / "globe-lamp" / "item.toml"
    added = (
        '\n[[state]]\nname = "with C9"\nadd = [{ ref = "C9", kind = "capacitor", value = "4u7", nodes = ["p", "m"] }]\n'
    )
    file.write_text(file.read_text(encoding="utf-8") + added, encoding="utf-8")
    answer = keep(client, "globe-lamp", "with C9", {"C9.value": "10u"})
    assert answer.status_code == 422
    assert "is added by the state “with C9” alone" in answer.json()["sentence"]


def test_once_the_account_is_worked_out_unknown_values_stand_where_the_readings_have_them(client: Any):
    """The lamp's rods are 2.88 V each in truth (src/lidoff/demo); the middle of what was looked for is 2.839 V."""

    def drop() -> dict[str, Any]:
        with client.socket("/items/globe-lamp/cycle/live") as socket:
            socket.send_json({"do": "open", "tag": 1, "state": None, "values": {}})
            scene = socket.receive_json()["scene"]
            socket.receive_bytes()
        return next(one for part in scene["parts"] for one in part["tries"] if one["name"] == "LED1.forward_voltage")

    assert drop()["origin"] == "not known, the middle is taken"
    assert client.get("/items/globe-lamp/overview/worked").status_code == 200
    told = drop()
    assert told["origin"] == "inferred from the readings"
    assert float(told["text"].split()[0]) == pytest.approx(2.88, abs=0.02)
