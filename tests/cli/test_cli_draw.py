"""`lidoff draw`."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]


def test_writes_the_schematic(lidoff_command: Command, strip: Path, tmp_path: Path) -> None:
    """`-o FILE.svg` writes a picture with every part; `--json` says what it took."""
    file = tmp_path / "strip.svg"
    done = lidoff_command("draw", strip, "-o", file, "--json", "--nodes", "--figures")
    assert done.status == 0
    assert done.json["file"] == str(file)
    assert (done.json["parts"], done.json["crossings"]) == (3, 0)
    root = ET.fromstring(file.read_text())
    assert {g.attrib["data-ref"] for g in root.iter() if "data-ref" in g.attrib} == {"BR1", "LED1", "R1"}
    assert "viewBox" in root.attrib
    shown = {"".join(t.itertext()) for t in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"p", "x", "m", "4.29 W"} <= shown


@pytest.mark.parametrize("picture", ["waves", "dial", "instants"])
def test_draws_the_cycle(lidoff_command: Command, strip: Path, picture: str) -> None:
    """The cycle's pictures go to standard output where no file is named."""
    done = lidoff_command("draw", strip, "--picture", picture)
    assert done.status == 0
    assert ET.fromstring(done.out).tag.endswith("svg")


def test_writes_over_pictures_only(lidoff_command: Command, strip: Path) -> None:
    """A name that does not end in .svg is wrong usage, and the record stays as it was."""
    record = strip / "item.toml"
    before = record.read_text()
    done = lidoff_command("draw", strip, "-o", record)
    assert done.status == 2
    assert "does not end in .svg" in done.err
    assert record.read_text() == before


def test_a_place_that_cannot_be_written(lidoff_command: Command, strip: Path, tmp_path: Path) -> None:
    """A folder that is not there: one sentence, exit status 1, nothing left behind."""
    done = lidoff_command("draw", strip, "-o", tmp_path / "nowhere" / "a.svg")
    assert done.status == 1
    assert "cannot be written" in done.err
    assert list(tmp_path.glob("**/*.part")) == []


def test_hints_of_the_record(lidoff_command: Command, strip: Path, tmp_path: Path) -> None:
    """The record's [drawing] is followed, and what cannot be is warned about."""
    with (strip / "item.toml").open("a") as record:
        record.write("\n[drawing]\nnudge = { R7 = [1, 1] }\n")
    done = lidoff_command("draw", strip, "-o", tmp_path / "a.svg", "--json")
    assert done.status == 0
    assert any("drawing.nudge names R7" in warning for warning in done.json["warnings"])
