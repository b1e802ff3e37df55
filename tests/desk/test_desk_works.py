"""What is worked out in the background: once for each revision, and not for a record that is no longer there."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import anyio
import pytest

from lidoff.desk.item_desk import ItemDesk
from lidoff.desk.works import SupersededError, Works
from lidoff.record.edit import set_value


def test_two_readers_at_once_are_one_work(record: Path, in_loop):
    desk, works, calls = ItemDesk("x", record), Works(), []

    async def go() -> list[int]:
        found: list[int] = []

        async def ask() -> None:
            found.append(await works.get(desk, desk.now(), "name", lambda: calls.append(1) or len(calls)))  # type: ignore[func-returns-value]

        async with anyio.create_task_group() as tasks:
            tasks.start_soon(ask)
            tasks.start_soon(ask)
        await ask()
        return found

    assert in_loop(go) == [1, 1, 1]
    assert calls == [1]


def test_a_reader_of_an_older_record_is_told_so(record: Path, in_loop):
    desk, works, begun, go_on = ItemDesk("x", record), Works(), threading.Event(), threading.Event()

    def slow() -> str:
        begun.set()
        assert go_on.wait(10)
        return "old"

    async def go() -> list[Any]:
        found: list[Any] = []

        async def older() -> None:
            try:
                found.append(await works.get(desk, desk.now(), "name", slow))
            except SupersededError as error:
                found.append(str(error))

        async with anyio.create_task_group() as tasks:
            tasks.start_soon(older)
            await anyio.to_thread.run_sync(begun.wait)
            desk.edit(lambda text: set_value(text, "item.title", "new"), revision=None, what="x")
            threading.Timer(0.2, go_on.set).start()
            found.append(await works.get(desk, desk.now(), "name", lambda: "new"))
        return sorted(found)

    assert in_loop(go) == ["The record was changed meanwhile; this is being worked out anew.", "new"]


def test_what_goes_wrong_is_told_to_every_reader(record: Path, in_loop):
    desk, works = ItemDesk("x", record), Works()

    def wrong() -> None:
        raise ValueError("no")

    async def go() -> None:
        for _ in range(2):
            with pytest.raises(ValueError, match="no"):
                await works.get(desk, desk.now(), "name", wrong)

    in_loop(go)


def test_a_reading_is_judged_while_it_is_typed_and_nothing_is_saved(client: Any, record: Path):
    before = record.read_bytes()
    for value, verdict in (("0.35 W", "agrees"), ("3.8 W", "contradicts")):
        answer = client.ask("/items/night-light/readings/tried", {"which": 0, "value": value})
        assert answer.status_code == 200, answer.text
        assert answer.json()["verdict"] == verdict
        assert answer.json()["why"]
    answer = client.ask("/items/night-light/readings/tried", {"which": 0, "value": "3 A"})
    assert answer.status_code == 422
    assert "power is expected in watts" in answer.json()["sentence"]
    assert record.read_bytes() == before


def test_what_is_ready_is_given_and_nothing_is_begun_for_it(record: Path, in_loop):
    desk, works = ItemDesk("x", record), Works()

    def wrong() -> int:
        raise ValueError("no")

    async def go() -> list[Any]:
        now = desk.now()
        found = [works.ready(desk, now, "name")]
        await works.get(desk, now, "name", lambda: 7)
        with pytest.raises(ValueError, match="no"):
            await works.get(desk, now, "other", wrong)
        return [*found, works.ready(desk, now, "name"), works.ready(desk, now, "other")]

    assert in_loop(go) == [None, 7, None]
