"""The tracing page's routes, in process: what is missing is said, what is asked wrongly changes nothing, and the trace
goes into the record through the record's own history.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lidoff.desk.pages import tracing
from lidoff.photos import kept
from lidoff.photos.kept import Continuity, KeptBoard, KeptJoin, KeptPad, Trace

RECORD = """# Found in a drawer
lidoff = 1

[item]
title = "A lamp"

[[part]]
ref = "R1"    # brown
kind = "resistor"
marking = "4k7"

[[part]]
ref = "R2"
kind = "resistor"
marking = "10k"
nodes = ["x", "m"]
"""
PHOTO = '\n[[photo]]\nfile = "{}"\nside = "bottom"\nshows = "copper"\n'


def write(record: Path, text: str) -> None:
    record.write_text(text, encoding="utf-8")


def traced(record: Path) -> None:
    """R1 and R2 in a row, as measured."""
    pins = [("R1", "1"), ("R1", "2"), ("R2", "1"), ("R2", "2")]
    pads = tuple(
        KeptPad(id=f"P00{n}", x=5.0 * n, y=4, part=part, pin=pin, node={0: "live", 3: "neutral"}.get(n))
        for n, (part, pin) in enumerate(pins)
    )
    joins = (KeptJoin(a="P001", b="P002", joined=True, evidence=Continuity(value="0.2 ohm")),)
    kept.write(record.parent, Trace(board=KeptBoard(width=60, height=40), pads=pads, joins=joins))


def test_without_a_photo_the_page_says_what_to_do(client, record: Path):
    write(record, RECORD)
    text = client.get("/items/night-light/tracing").text
    assert "No photo of the copper yet" in text
    assert "Drop the photo of the copper side here" in text
    assert 'id="tracing"' not in text


def test_without_the_extra_the_page_says_so_in_one_sentence(client, record: Path, monkeypatch: pytest.MonkeyPatch):
    write(record, RECORD)
    monkeypatch.setattr(tracing, "find_spec", lambda name: None)
    text = client.get("/items/night-light/tracing").text
    assert "pip install lidoff[photos]" in text
    assert 'id="tracing"' not in text


def test_a_photo_outside_of_the_record_is_no_photo(client, record: Path, tmp_path: Path):
    (tmp_path / "secret.png").write_bytes(b"not for the desk")
    write(record, RECORD + PHOTO.format("../../secret.png"))
    assert "No photo of the copper yet" in client.get("/items/night-light/tracing").text
    assert client.get("/items/night-light/tracing/state").json()["photos"] == []


def test_the_page_runs_nothing_that_stands_in_it(client, record: Path):
    from PIL import Image

    (record.parent / "copper.png").parent.mkdir(exist_ok=True)
    Image.new("RGB", (8, 8)).save(record.parent / "copper.png")
    write(record, RECORD.replace("A lamp", "<script>alert(1)</script>") + PHOTO.format("copper.png"))
    response = client.get("/items/night-light/tracing")
    assert 'id="tracing"' in response.text
    assert "<script>alert" not in response.text
    assert "style=" not in response.text
    assert "<style" not in response.text
    assert "unsafe" not in response.headers["content-security-policy"]


def test_an_act_is_answered_with_what_stands_then(client, record: Path):
    write(record, RECORD)
    traced(record)
    state = client.get("/items/night-light/tracing/state").json()
    assert [pad["title"] for pad in state["pads"]] == ["R1.1", "R1.2", "R2.1", "R2.2"]
    assert client.get(f"/items/night-light/tracing/state?seen={state['number']}").status_code == 204
    path = "/items/night-light/tracing/act"
    after = client.ask(path, {"do": "answer", "a": "P000", "b": "P003", "joined": False, "by": "user"}).json()
    assert after["number"] > state["number"]
    assert after["undo"] == "R1.1 and R2.2 not joined"
    assert [one["status"] for one in after["joins"]] == ["answered-yes", "answered-no"]
    refused = client.ask(path, {"do": "answer", "a": "P001", "b": "P002", "joined": "perhaps", "by": "user"})
    assert refused.status_code == 422
    assert refused.json()["sentence"].endswith(".")
    assert len(client.ask(path, {"do": "undo"}).json()["joins"]) == 1
    assert client.post(path, content=b"[1]", headers={"accept": "application/json"}).status_code == 422


def test_a_trace_that_cannot_be_read_is_said_and_left(client, record: Path):
    write(record, RECORD)
    (record.parent / "trace.json").write_text('{"lidoff_trace": 1, "pads": 7}', encoding="utf-8")
    response = client.get("/items/night-light/tracing/state", headers={"accept": "application/json"})
    assert response.status_code == 422
    assert "trace.json" in response.json()["sentence"]
    assert (record.parent / "trace.json").read_text(encoding="utf-8") == '{"lidoff_trace": 1, "pads": 7}'


@pytest.mark.parametrize("where", ["straight/0", "straight/7", "preview/0?corners=1,1,9,1,9,9,1,9"])
def test_pictures_that_are_not_there(client, record: Path, where: str):
    write(record, RECORD)
    traced(record)
    client.get("/items/night-light/tracing/state")
    assert client.get(f"/items/night-light/tracing/{where}").status_code == 404


@pytest.mark.parametrize("points", [None, [[1, 2]], [[1, 2], [3, "x"]], [[1, 2], [3, 1e9]], [[0, 0]] * 61])
def test_a_way_that_cannot_be_followed(client, record: Path, points: object):
    write(record, RECORD)
    traced(record)
    response = client.ask("/items/night-light/tracing/follow", {"points": points} if points is not None else {})
    assert response.status_code == 422


def test_taking_over_is_shown_made_and_undone(client, record: Path):
    write(record, RECORD)
    traced(record)
    client.get("/items/night-light/tracing/state")
    offer = client.get("/items/night-light/tracing/offer").json()
    assert [one["part"] for one in offer["changes"]] == ["R1"]
    assert offer["changes"][0]["pins"] == [
        {"pin": "1", "before": "", "after": "live"},
        {"pin": "2", "before": "", "after": "x"},
    ]
    assert any('R2.2 is typed at "m"' in one for one in offer["disagreements"])
    assert any(line.startswith("+nodes = ") for line in offer["lines"])
    assert record.read_text(encoding="utf-8") == RECORD  # shown, not made
    body = {"revision": client.revision("night-light"), "replace": False}
    path = "/items/night-light/tracing/take-over"
    stale = client.ask(path, {**body, "revision": "of another time"})
    assert stale.status_code == 409
    answer = client.ask(path, body)
    assert answer.status_code == 200, answer.text
    assert answer.json()["undo"] == "nodes from the trace"
    written = record.read_text(encoding="utf-8")
    assert 'nodes = ["live", "x"]' in written
    assert "# brown" in written
    assert 'nodes = ["x", "m"]' in written  # typed, and so left
    assert "says already" in client.ask(path, {**body, "revision": answer.json()["revision"]}).json()["sentence"]
    undone = client.ask("/items/night-light/undo", {"revision": answer.json()["revision"]})
    assert undone.status_code == 200
    assert record.read_text(encoding="utf-8") == RECORD
    replaced = client.ask(path, {"revision": undone.json()["revision"], "replace": True})
    assert replaced.status_code == 200
    assert 'nodes = ["x", "neutral"]' in record.read_text(encoding="utf-8")
    assert json.loads((record.parent / "trace.json").read_text(encoding="utf-8"))["joins"][0]["joined"] is True
