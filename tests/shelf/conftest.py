from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from tests.shelf.filling import filled
from tests.shelf.inventing import collection

from lidoff.record import Item
from lidoff.shelf.entry import Depth, Entry


def digest(path: Path) -> str:
    """What a file holds, as one short text."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


class Worker:
    """Stands in for the accounts: an entry with the title alone, and a note of which records were worked out."""

    def __init__(self) -> None:
        self.done: list[str] = []

    def __call__(self, item: Item, depth: Depth) -> Entry:
        from lidoff.account import fingerprint

        self.done.append(item.folder.name)
        return Entry(
            status="solved", depth=depth, fingerprint=fingerprint(item), title=item.title, sentence="Judged.",
            words={"title": item.title},
        )  # fmt: skip


@pytest.fixture
def worker() -> Worker:
    return Worker()


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A folder with four invented records."""
    return collection(tmp_path / "records", range(4))


@pytest.fixture
def index(tmp_path: Path) -> Path:
    """Where an index may be made."""
    return tmp_path / "shelf" / "shelf.sqlite"


@pytest.fixture(scope="session")
def drawn_index(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An index of 150 drawn entries. To be read only."""
    return filled(tmp_path_factory.mktemp("drawn") / "shelf.sqlite", 150)


@pytest.fixture(scope="session")
def invented_index(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The index of twenty invented items, worked out the quick way, and the folder they lie in. To be read only."""
    from lidoff.shelf import add

    base = tmp_path_factory.mktemp("invented")
    folder = collection(base / "records", range(20))
    index = base / "shelf" / "shelf.sqlite"
    add(index, [folder], depth="quick")
    return index, folder
