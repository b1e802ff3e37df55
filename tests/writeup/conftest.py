"""The accounts of the invented items and of a hostile record, taken once for all tests of a worker."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

import lidoff
from lidoff.account import Account, take
from lidoff.demo import NAMES, write_items
from lidoff.writeup import compose, render


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("writeups")
    write_items(folder)
    return folder


@pytest.fixture(scope="session")
def accounts(demo_folder: Path) -> Mapping[str, Account]:
    return {name: take(lidoff.open(demo_folder / name)) for name in NAMES}


@pytest.fixture(scope="session")
def pages(accounts: Mapping[str, Account]) -> Mapping[str, str]:
    return {name: render(compose(account)) for name, account in accounts.items()}
