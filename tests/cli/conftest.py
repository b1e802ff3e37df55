from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from lidoff.cli import main


@dataclass(frozen=True)
class Outcome:
    """What one command did."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON, which it has to be altogether; no NaN or Infinity, which JSON does not have."""

        def refuse(word: str) -> None:
            raise AssertionError(f"{word} is not JSON")

        return json.loads(self.out, parse_constant=refuse)


@pytest.fixture
def lidoff_command(capsys: pytest.CaptureFixture[str]) -> Callable[..., Outcome]:
    """Runs `lidoff` with these arguments in this process."""

    def run(*arguments: str | Path) -> Outcome:
        capsys.readouterr()
        status = main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        return Outcome(status, said.out, said.err)

    return run


@pytest.fixture
def strip(reference: Path, tmp_path: Path) -> Path:
    """A record folder with the reference circuit of an LED strip on a bridge."""
    folder = tmp_path / "strip"
    folder.mkdir()
    (folder / "item.toml").write_text((reference / "cycle" / "strip.toml").read_text())
    return folder
