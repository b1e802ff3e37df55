"""The night light's photographs: its board is that of its record, and the walk of docs/tutorial.md leads back to it."""

from __future__ import annotations

import io
import re
import shlex
import subprocess
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tools import demo_board

import lidoff
from lidoff.cli import main
from lidoff.demo import shipped, write_items
from lidoff.photos import kept
from lidoff.record import Item, check, read_text

WALK = "## Another item: its connections from two photographs"
MOST_BYTES = 400_000


def joined(item: Item) -> dict[frozenset[str], str]:
    """The pins that share a node, and its name."""
    pins: dict[str, set[str]] = defaultdict(set)
    for part in item.parts:
        for pin, node in part.nodes.items():
            pins[node].add(f"{part.name}.{pin}")
    return {frozenset(held): node for node, held in pins.items()}


def test_the_copper_of_the_drawn_board_is_that_of_the_record() -> None:
    """No tracing in this: what lies on one track of the plan has one node, and every lead of the record has a place."""
    mains = {"live", "neutral"}
    expected = joined(read_text(shipped("night-light"), Path("item.toml")))
    pieces = demo_board.joined()
    assert {frozenset(piece - mains) for piece in pieces} == set(expected)
    for piece in pieces:
        assert expected[frozenset(piece - mains)] in (piece & mains or {"a", "b", "p", "m"})


def test_tracks_of_different_nodes_keep_apart() -> None:
    """At least 0.8 mm of laminate between any two pieces, pads and all: what looks apart on the photo is apart."""

    def points(track: tuple[demo_board.Place, ...]) -> Any:
        lines = [np.linspace(a, b, 60) for a, b in pairwise(track)]
        return np.concatenate(lines)

    def piece_of(track: tuple[demo_board.Place, ...]) -> int:
        ends = {name for name, at in {**demo_board.PINS, **demo_board.WIRES}.items() if at in track}
        return next(number for number, piece in enumerate(demo_board.joined()) if ends & piece)

    for one, other in combinations(demo_board.TRACKS, 2):
        if piece_of(one) != piece_of(other):
            apart = np.linalg.norm(points(one)[:, None] - points(other)[None], axis=2).min()
            assert apart - demo_board.PAD > 0.8


def test_the_demo_puts_the_photographs_beside_the_record(tmp_path: Path) -> None:
    write_items(tmp_path)
    folder = tmp_path / "night-light"
    item = lidoff.open(folder)
    assert [(one.file, one.side, one.shows) for one in item.photos] == [
        ("photos/copper.jpg", "bottom", "copper"),
        ("photos/parts.jpg", "top", "parts"),
    ]
    for one in item.photos:
        assert (folder / one.file).stat().st_size < MOST_BYTES
        with Image.open(folder / one.file) as picture:
            assert picture.size == (1400, 1050)
    result = check(item.path)
    assert result.problems == ()
    assert not any("photograph" in sentence for sentence in result.missing)


def test_a_photograph_of_the_users_own_is_never_written_over(tmp_path: Path) -> None:
    write_items(tmp_path)
    mine = tmp_path / "night-light" / "photos" / "copper.jpg"
    mine.write_bytes(b"mine")
    other = mine.with_name("parts.jpg")
    other.unlink()
    assert [one.how for one in write_items(tmp_path)] == ["there"] * 3
    assert mine.read_bytes() == b"mine"
    assert other.is_file()
    # Beside a record that is somebody's own nothing is put.
    record = tmp_path / "night-light" / "item.toml"
    record.write_text("# mine\n", encoding="utf-8")
    other.unlink()
    assert [one.how for one in write_items(tmp_path)] == ["there", "changed", "there"]
    assert not other.exists()


# The walk -----------------------------------------------------------------------------------------------------------


def blocks(text: str) -> Iterator[tuple[str, str]]:
    """The fenced blocks of the walk: "" for what is typed, "text" for what comes of it."""
    chapter = text.partition(WALK)[2].partition("\n## ")[0]
    yield from re.findall(r"^```(\w*)\n(.*?)^```$", chapter, re.MULTILINE | re.DOTALL)


def stands_in(shown: str, said: str) -> None:
    """Every line shown stands in what was said, one after another; "…" stands for lines left out."""
    lines = [line.rstrip() for line in said.splitlines()]
    at = 0
    for line in shown.splitlines():
        if line == "…":
            continue
        assert line.rstrip() in lines[at:], line
        at = lines.index(line.rstrip(), at) + 1


@pytest.mark.xdist_group("photos")
def test_the_walk_of_the_tutorial_leads_back_to_the_record(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each command as it stands in docs/tutorial.md, and what it prints as it stands there."""
    pytest.importorskip("cv2", reason="OpenCV is not installed: pip install lidoff[photos]")
    pytest.importorskip("skimage", reason="scikit-image is not installed: pip install lidoff[photos]")
    write_items(tmp_path / "demo")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "96")
    said, shown = "", 0
    for kind, block in blocks((root / "docs" / "tutorial.md").read_text(encoding="utf-8")):
        if kind == "text":
            stands_in(block, said)
            shown += 1
            continue
        said = ""
        for line in block.replace("\\\n", " ").splitlines():
            if line.startswith("lidoff "):
                monkeypatch.setattr("sys.stdin", io.StringIO("yyy"))
                assert main(shlex.split(line)[1:]) == 0, line
                both = capsys.readouterr()
                said += both.err + both.out
            else:
                subprocess.run(["/bin/sh", "-c", line], check=True, cwd=tmp_path, capture_output=True)
    assert shown == 4
    traced, typed = lidoff.open("walk/night-light"), lidoff.open("demo/night-light")
    assert joined(traced) == joined(typed)
    assert [part.nodes for part in traced.parts] == [part.nodes for part in typed.parts]
    assert lidoff.solve(traced).figures() == lidoff.solve(typed).figures()
    # Comments and order are kept: nothing but the place of the line differs.
    ours, theirs = (Path(one, "night-light/item.toml").read_text(encoding="utf-8") for one in ("walk", "demo"))
    assert sorted(ours.splitlines()) == sorted(theirs.splitlines())
    # Both photos lie over each other, by holes and not by the outline alone.
    trace = kept.read(Path("walk/night-light"))
    residual = trace.photos[1].residual
    assert residual is not None
    assert residual < 0.1
    answers = [one for one in trace.joins if one.evidence.kind == "continuity"]
    assert len(answers) == 2
