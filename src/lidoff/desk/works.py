"""What takes long: worked out in threads, once for each revision of a record, and remembered."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable
from functools import partial
from typing import Any, Final, ParamSpec, TypeVar

import anyio

from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.errors import LidoffError

P = ParamSpec("P")
T = TypeVar("T")
_KEPT: Final = 48


class SupersededError(LidoffError):
    """The record was changed while something was worked out from what it was."""

    def __init__(self) -> None:
        super().__init__("The record was changed meanwhile; this is being worked out anew.")


class Works:
    """Answers remembered by item, revision and name. Asked twice at once for the same, it works once.

    One work runs at a time, so that a slow one leaves the machine's other core to the page in hand.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str, str], asyncio.Task[Any]] = OrderedDict()
        self._stages: dict[tuple[str, str, str], str] = {}
        self._one = anyio.CapacityLimiter(1)

    async def get(self, desk: ItemDesk, snapshot: Snapshot, name: str, work: Callable[[], T]) -> T:
        """What `work` gives, from a thread; raises what it raises, every time it is asked for."""
        key = (desk.key, snapshot.revision, name)
        task = self._kept.get(key)
        if task is None:
            self._drop_older(desk, snapshot, name)
            task = asyncio.create_task(self._run(work))
            # Every reader is told what went wrong; that nobody is left to be told is no error of its own.
            task.add_done_callback(lambda done: done.cancelled() or done.exception())
            task.add_done_callback(lambda _: self._stages.pop(key, None) and None)
            self._kept[key] = task
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        try:
            # A reader that goes away does not stop it for the others.
            answer: T = await asyncio.shield(task)
        except asyncio.CancelledError:
            here = asyncio.current_task()
            if task.cancelled() and here is not None and not here.cancelling():
                raise SupersededError from None
            raise
        return answer

    def ready(self, desk: ItemDesk, snapshot: Snapshot, name: str) -> Any | None:
        """What was worked out under that name, None where it is not there (yet) or went wrong; nothing is begun."""
        task = self._kept.get((desk.key, snapshot.revision, name))
        sound = task is not None and task.done() and not task.cancelled() and task.exception() is None
        return task.result() if task is not None and sound else None

    def teller(self, desk: ItemDesk, snapshot: Snapshot, name: str) -> Callable[[str], None]:
        """To be called by a work with the name of each of its stages as it begins."""
        key = (desk.key, snapshot.revision, name)

        def tell(stage: str) -> None:
            self._stages[key] = stage

        return tell

    def stage(self, desk: ItemDesk, snapshot: Snapshot, name: str) -> str | None:
        """The stage that a work is at; "" where it waits for its turn, None where it is done or was not asked for."""
        key = (desk.key, snapshot.revision, name)
        task = self._kept.get(key)
        return self._stages.get(key, "") if task is not None and not task.done() else None

    def _drop_older(self, desk: ItemDesk, snapshot: Snapshot, name: str) -> None:
        """Work for a text that is no longer there is not begun."""
        for key, task in list(self._kept.items()):
            if key[0] == desk.key and key[2] == name and key[1] != snapshot.revision and not task.done():
                task.cancel()
                del self._kept[key]

    async def alone(self, work: Callable[P, T], *args: P.args, **words: P.kwargs) -> T:
        """What `work` gives, from a thread, in its turn among the works; nothing is remembered of it."""
        return await self._run(partial(work, *args, **words))

    async def _run(self, work: Callable[[], T]) -> T:
        return await anyio.to_thread.run_sync(work, limiter=self._one)
