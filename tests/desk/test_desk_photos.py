"""Photographs that wait in a watched folder, and what a write-up and a rework make of the record."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from tests.desk.conftest import Client

from lidoff.record import read_text


@pytest.fixture
def card(tmp_path: Path) -> Path:
    place = tmp_path / "card"
    (place / "DCIM" / "100").mkdir(parents=True)
    Image.new("RGB", (60, 40), "red").save(place / "DCIM" / "100" / "IMG_0001.JPG")
    Image.new("RGB", (60, 40), "blue").save(place / "two.png")
    (place / "notes.txt").write_text("no picture", encoding="utf-8")
    (place / ".hidden.jpg").write_bytes(b"x")
    return place


@pytest.fixture
def watching(folder: Path, card: Path) -> Iterator[Client]:
    with Client(folder, photos=card) as client:
        client.let_in()
        yield client


def ids(text: str) -> list[str]:
    return [part.partition('"')[0] for part in text.split('data-take="')[1:]]


def test_what_waits_is_shown_and_taken_in_once(watching: Client, record: Path, card: Path):
    text = watching.get("/items/night-light/waiting").text
    assert "IMG_0001.JPG" in text
    assert "two.png" in text
    assert "notes.txt" not in text
    assert "hidden" not in text
    assert len(ids(text)) == 2
    for id in ids(text):
        assert watching.get(f"/waiting/{id}").headers["content-type"] == "image/jpeg"
        answer = watching.ask("/items/night-light/waiting/take", {"id": id, "shows": "copper"})
        assert answer.status_code == 200, answer.text
    item = read_text(record.read_text(encoding="utf-8"), record)
    shipped = ("photos/copper.jpg", "photos/parts.jpg")
    assert {(one.file, one.shows) for one in item.photos if one.file not in shipped} == {
        ("photos/img-0001.jpg", "copper"),
        ("photos/two.png", "copper"),
    }
    assert ids(watching.get("/items/night-light/waiting").text) == []
    assert len(list(card.rglob("*.*"))) == 4


@pytest.mark.parametrize("id", ["", "../x", "0" * 16, "/etc/passwd", "IMG_0001.JPG"])
def test_nothing_but_what_waits_is_given_out(watching: Client, id: str):
    assert watching.get(f"/waiting/{id}").status_code in (403, 404)
    assert watching.ask("/items/night-light/waiting/take", {"id": id}).status_code == 404


def test_a_link_out_of_the_watched_folder_is_not_offered(watching: Client, card: Path, tmp_path: Path):
    Image.new("RGB", (60, 40)).save(tmp_path / "private.jpg")
    (card / "link.jpg").symlink_to(tmp_path / "private.jpg")
    (card / "linked").symlink_to(tmp_path)
    text = watching.get("/items/night-light/waiting").text
    assert "link.jpg" not in text
    assert "private" not in text


def test_without_a_watched_folder_there_is_nothing(client: Client):
    assert client.get("/items/night-light/waiting").status_code == 404
    assert "Waiting to be taken in" not in client.get("/items/night-light/opening").text


def test_a_rework_is_said_and_turned_down_where_live_parts_can_be_reached(client: Client):
    page = client.get("/items/night-light/rework", params={"goal": "percent_flicker=10 %"})
    assert "Percent flicker at most 10 %" in page.text
    assert "percent_flicker" not in page.text.partition('id="goals"')[2].replace("goal=percent_flicker", "").replace(
        'data-less="percent_flicker=10 %"', ""
    ), "names for people stand on the page"
    wrong = client.get("/items/night-light/rework", params={"goal": "light=nonsense"}).text
    assert 'class="problem"' in wrong
    text = client.get("/items/night-light/rework/worked", params={"goal": "percent_flicker=10 %"}).text
    assert "replace it" in text
    assert "turned down" in text
    text = client.get("/items/night-light/rework/worked", params={"goal": "nonsense"}).text
    assert "has not the form name=value" in text


def test_a_write_up_is_made_and_known_to_be_older_after_an_edit(client: Client):
    assert client.ask("/items/night-light/writeup/make/page", {}).status_code == 200
    page = client.get("/items/night-light/writeup").text
    assert "Open report.html" in page
    assert "made before the last change" not in page
    assert "Night light" in client.get("/items/night-light/writeup/file/report.html").text
    client.edit("night-light", {"do": "set", "name": "R1.value", "value": "120R"})
    assert "made before the last change" in client.get("/items/night-light/writeup").text
