"""The telephone's way in: off until asked for, one code, one telephone, one record, and shut again."""

from __future__ import annotations

import socket
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.desk.conftest import Client
from tests.desk.test_desk_guard import picture

from lidoff.desk.item_desk import ItemDesk
from lidoff.desk.pages.photos import keep
from lidoff.desk.phone import Door, Phone, PhoneError, local_address, phone_app

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

HOST = "192.168.1.9:4444"


class Clock:
    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def door(clock: Clock) -> Door:
    return Door(HOST, clock)


@pytest.fixture
def phone(door: Door, record: Path) -> Iterator[Any]:
    app = phone_app(door, ItemDesk("night-light", record), keep)
    with TestClient(app, base_url=f"http://{HOST}") as client:
        client.headers["origin"] = f"http://{HOST}"
        yield client


def test_with_the_code_photographs_come_into_the_record(phone: Any, door: Door, record: Path):
    assert "code" in phone.get("/").text
    assert phone.post("/pair", content=door.code).status_code == 200
    assert "Take one" in phone.get("/").text
    assert phone.post("/photos?shows=label", content=picture()).status_code == 200
    assert 'shows = "label"' in record.read_text(encoding="utf-8")


def test_without_the_code_nothing_is_taken(phone: Any, record: Path):
    before = record.read_bytes()
    assert phone.post("/photos", content=picture()).status_code == 403
    assert record.read_bytes() == before


def test_five_wrong_codes_shut_it_for_good(phone: Any, door: Door):
    for _ in range(5):
        assert phone.post("/pair", content="no").status_code == 403
    assert phone.post("/pair", content=door.code).status_code == 403
    assert phone.get("/").status_code == 403


def test_the_code_serves_one_telephone(phone: Any, door: Door):
    assert phone.post("/pair", content=door.code).status_code == 200
    phone.cookies.clear()
    assert phone.post("/pair", content=door.code).status_code == 403
    assert phone.post("/photos", content=picture()).status_code == 403


def test_it_shuts_by_itself_when_it_is_not_used(phone: Any, door: Door, clock: Clock):
    assert phone.post("/pair", content=door.code).status_code == 200
    clock.now = 500.0
    assert phone.get("/").status_code == 200
    clock.now = 1000.0
    assert phone.get("/").status_code == 200
    clock.now = 1700.0
    assert phone.get("/").status_code == 403


@pytest.mark.parametrize("path", ["/items/night-light/overview", "/photo/x", "/items/x/edit", "/../item.toml"])
def test_it_gives_nothing_out(phone: Any, door: Door, path: str):
    phone.post("/pair", content=door.code)
    assert phone.get(path).status_code == 404


@pytest.mark.parametrize(
    "headers", [{"origin": "http://evil.example"}, {"host": "evil.example:4444"}, {"sec-fetch-site": "cross-site"}]
)
def test_other_pages_and_names_are_refused(phone: Any, door: Door, headers: dict[str, str]):
    assert phone.post("/pair", content=door.code, headers=headers).status_code == 403
    assert not door.paired


def test_what_is_no_photograph_is_one_sentence(phone: Any, door: Door):
    phone.post("/pair", content=door.code)
    answer = phone.post("/photos", content=b"<script>")
    assert answer.status_code == 422
    assert "/tmp" not in answer.json()["sentence"]


def test_it_is_off_until_asked_for_and_off_again(record: Path):
    phone = Phone(keep)
    assert phone.offer() is None
    phone.start(ItemDesk("night-light", record), "127.0.0.1")
    offer = phone.offer()
    assert offer is not None
    assert len(offer.code) == 6
    host, _, port = offer.address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port)), 5):
        pass
    phone.stop()
    assert phone.offer() is None
    with pytest.raises(OSError, match=r".*"), socket.create_connection((host, int(port)), 1):
        pass


def test_the_desk_itself_listens_on_this_machine_alone(client: Client):
    text = client.get("/items/night-light/phone").text
    assert "It is off until you ask for it" in text
    try:
        address = local_address()
    except PhoneError:
        pytest.skip("this machine is in no network")
    assert client.ask("/items/night-light/phone/on", {}).status_code == 200
    assert address in client.get("/items/night-light/phone").text
    assert client.get("/", headers={"host": f"{address}:8123"}).status_code == 403
    assert client.ask("/items/night-light/phone/off", {}).status_code == 200
    assert "It is off until you ask for it" in client.get("/items/night-light/phone").text
