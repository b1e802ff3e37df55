"""One rework of the demo's globe lamp, and one of its night light, for all who look at them."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.account.rework import judge
from lidoff.demo.items import shipped
from lidoff.record import read_text
from lidoff.rework import design


@pytest.fixture(scope="session")
def reworked():
    """A function from a demo item's name and goals to its rework, each worked out once."""
    done = {}

    def work(name, *goals):
        if (name, goals) not in done:
            text = shipped(name)
            done[name, goals] = design(read_text(text, Path(name) / "item.toml"), list(goals), judge, text=text)
        return done[name, goals]

    return work
