"""The shelf as the desk uses it: the index that the command line uses too, and bringing it into step with the folder.

Only what lies in the opened folder is put on the shelf or worked out from here. What else is on it, from other folders,
is found, and left as it is.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import anyio
from anyio import from_thread
from starlette.requests import HTTPConnection

from lidoff.desk.shop import Shop
from lidoff.desk.works import Works
from lidoff.errors import LidoffError
from lidoff.record import Item
from lidoff.record.source import FILE_NAME
from lidoff.shelf import Behind, Depth, Entry, Report, Step, behind, renew
from lidoff.shelf.working import worked_out

_NOTHING_YET: Final = "Looking for records …"


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the shelf is: `done` of `total` records, the one that is being worked out, or how it ended."""

    running: bool = False
    done: int = 0
    total: int = 0
    doing: str = ""
    ended: str = ""
    trouble: str = ""


class Shelving:
    """One shelf and one opened folder. Its runs go one at a time, in the background, and may be stopped."""

    def __init__(self, index: Path, shop: Shop, works: Works) -> None:
        self.index = index
        self.progress = Progress()
        self._shop, self._works = shop, works
        self._task: asyncio.Task[None] | None = None
        self._stopping = False

    @property
    def home(self) -> Path:
        """The opened folder, as it was named."""
        return self._shop.named

    def places(self) -> list[Path]:
        """What of the opened folder is put on the shelf: the folder as it was named, and lone records in it."""
        lone = [desk.file for desk in self._shop.items() if desk.file.name != FILE_NAME]
        folders = any(desk.file.name == FILE_NAME for desk in self._shop.items())
        return [*([self.home] if folders or not lone else []), *(self._as_named(file) for file in lone)]

    def behind(self) -> Behind:
        """Which records of the opened folder are not on the shelf as they are now. Raises ShelfError."""
        return behind(self.index, self.places())

    def keys(self) -> dict[Path, str]:
        """The key of each item of the opened folder by its file, links followed, as the shelf may know it by either."""
        return {desk.file.resolve(): desk.key for desk in self._shop.items()}

    def begin(self) -> None:
        """Begins to bring the shelf into step, unless that is going on already. To be called in the event loop."""
        if self._task is not None and not self._task.done():
            return
        self._stopping = False
        self.progress = Progress(running=True, doing=_NOTHING_YET)
        self._task = asyncio.create_task(self._run())

    def stop(self) -> None:
        """Stops after the record that is being worked out; what was done stands."""
        self._stopping = True

    async def end(self) -> None:
        """Stops, and waits until nothing is being written any more."""
        self.stop()
        if self._task is not None:
            await asyncio.wait([self._task])

    async def _run(self) -> None:
        try:
            report = await anyio.to_thread.run_sync(self._renewed)
        except LidoffError as error:
            self.progress = Progress(trouble=str(error))
        except Exception:
            self.progress = Progress(trouble="The shelf could not be brought into step; what was done stands.")
            raise
        else:
            self.progress = Progress(ended=report.sentence, trouble=" ".join(report.problems))

    def _renewed(self) -> Report:
        return renew(self.index, self.places(), watch=self._watch, work=self._work)

    def _watch(self, step: Step) -> bool:
        name = step.path.parent.name if step.path.name == FILE_NAME else step.path.stem
        self.progress = Progress(running=True, done=step.done, total=step.total, doing=name)
        return not self._stopping

    def _work(self, item: Item, depth: Depth) -> Entry:
        """Works one record out in its turn, so that whoever waits for a page of an item does not wait for all."""
        return from_thread.run(self._works.alone, worked_out, item, depth)

    def _as_named(self, file: Path) -> Path:
        return self.home / file.relative_to(self._shop.folder)


def shelving_of(connection: HTTPConnection) -> Shelving:
    """The shelf of the desk that is asked."""
    shelving: Shelving = connection.app.state.shelving
    return shelving
