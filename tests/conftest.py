"""What all tests share: where things lie, and what is skipped where something outside the project is missing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent

# No deadline: the first example of a compiled function takes as long as its compilation, and CI's two cores are shared.
settings.register_profile("lidoff", deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("lidoff")

# What headless Chromium needs in a container, and what keeps it from calling home.
CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def _chromium() -> str | None:
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


def _open_data() -> Path | None:
    named = os.environ.get("LIDOFF_OPEN_DATA")
    return Path(named) if named else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    reasons = {
        "browser": None if _chromium() else "no Chromium on this machine",
        "open_data": None if _open_data() else "LIDOFF_OPEN_DATA is not set",
        "soak": None if os.environ.get("LIDOFF_SOAK") == "1" else "a long run; set LIDOFF_SOAK=1",
    }
    for item in items:
        for marker, reason in reasons.items():
            if reason and item.get_closest_marker(marker):
                item.add_marker(pytest.mark.skip(reason=reason))


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT


@pytest.fixture(scope="session")
def reference() -> Path:
    """tests/reference: values from outside the project, each with a SOURCE entry."""
    return ROOT / "tests" / "reference"


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder that holds `open-data/` and `photos/`; mark the test `open_data`."""
    folder = _open_data()
    if folder is None:
        pytest.skip("LIDOFF_OPEN_DATA is not set")
    assert folder.is_dir(), f"LIDOFF_OPEN_DATA names {folder}, which is not a folder"
    return folder


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Headless Chromium as a Playwright browser, one per worker; mark the test `browser`."""
    program = _chromium()
    if program is None:
        pytest.skip("no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, headless=True, args=list(CHROMIUM_FLAGS))
        yield chromium
        chromium.close()
