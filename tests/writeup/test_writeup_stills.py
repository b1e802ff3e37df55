"""Stills and the moving cycle: their sizes, their grounds, what they hold, and that the film closes."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from PIL import Image

import lidoff
from lidoff.account import Account
from lidoff.writeup import Comparison, render_animation, render_stills
from lidoff.writeup.animation import STEPS, AnimationError, frames_of
from lidoff.writeup.reworked import comparison_of
from lidoff.writeup.stills import SHAPES

pytestmark = pytest.mark.xdist_group("writeup")


@pytest.fixture(scope="module")
def pictures(accounts: Mapping[str, Account]) -> Mapping[str, bytes]:
    return render_stills(accounts["globe-lamp"])


def opened(content: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(content))
    image.load()
    return image


def test_every_still_is_there_in_both_forms_at_its_size(pictures: Mapping[str, bytes]) -> None:
    for shape, size in SHAPES.items():
        names = [re.sub(r"^\w+?-\d\d-|\.png$", "", name) for name in pictures if name.startswith(shape)]
        assert names == [
            "title",
            "cycle",
            "dial",
            "schematic",
            *(f"instant-{angle:03d}" for angle in (15, 45, 75, 105, 135, 165)),
            "knob-1",
            "readings",
            "findings",
        ]
        for name, content in pictures.items():
            if name.startswith(shape):
                assert opened(content).size == size, name


def test_every_still_has_ink_inside_and_a_clean_edge(pictures: Mapping[str, bytes]) -> None:
    for name, content in pictures.items():
        grey = np.asarray(opened(content).convert("L"), dtype=float)
        assert (grey < 128.0).mean() > 0.004, name
        edge = np.concatenate([grey[:20].ravel(), grey[-20:].ravel(), grey[:, :20].ravel(), grey[:, -20:].ravel()])
        assert edge.min() > 230.0, name


def test_the_type_is_large(pictures: Mapping[str, bytes]) -> None:
    """The headline's letters are at least a fortieth of the picture's height: common practice for slides, no source."""
    for shape, (_, height) in SHAPES.items():
        grey = np.asarray(opened(pictures[f"{shape}-04-schematic.png"]).convert("L"))
        rows = (grey[: height // 4] < 100).any(axis=1)
        edges = np.flatnonzero(np.diff(rows.astype(int)))
        tallest = max(b - a for a, b in zip(edges[::2], edges[1::2], strict=False))
        assert tallest >= height / 40, shape


def test_on_a_transparent_ground_only_the_drawing_is_there(accounts: Mapping[str, Account]) -> None:
    found = render_stills(accounts["lamp-charger"], ground="transparent")
    image = opened(found["wide-02-cycle.png"])
    assert image.mode == "RGBA"
    alpha = np.asarray(image)[:, :, 3]
    assert alpha[0, 0] == 0
    assert 0.01 < (alpha > 0).mean() < 0.5


def test_the_same_account_gives_the_same_stills_and_a_name_never_leads_elsewhere(
    accounts: Mapping[str, Account], pictures: Mapping[str, bytes]
) -> None:
    account = accounts["globe-lamp"]
    knob = replace(account.knobs[0], ref="../../VR1")
    found = render_stills(replace(account, knobs=(knob,)))
    assert found.keys() == pictures.keys()
    assert all(re.fullmatch(r"[a-z0-9-]+\.png", name, flags=re.IGNORECASE) for name in found)
    assert found["wide-02-cycle.png"] == pictures["wide-02-cycle.png"]


def test_before_and_after_has_a_still_where_there_is_a_picture(accounts: Mapping[str, Account]) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><rect width="40" height="20"/></svg>'
    empty = replace(accounts["night-light"], states=(), drawings=None, knobs=(), judgement=None, findings=None)
    found = render_stills(empty, comparison=Comparison(wide=svg, narrow=svg, headline="From 86 % to 3 %"))
    assert [name for name in found if name.startswith("wide")] == ["wide-01-title.png", "wide-02-before-after.png"]
    grey = np.asarray(opened(found["wide-02-before-after.png"]).convert("L"))
    assert (grey < 30).mean() > 0.3


def test_a_rework_gives_its_best_design_before_and_after(tmp_path: Path) -> None:
    """From the parts of a rework that the picture needs; P falls as the resistor in the row grows."""
    text = """lidoff = 1
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "x"]
[[part]]
ref = "LED1"
kind = "led"
series = 60
forward_voltage = "2.9 V"
nodes = { anode = "x", cathode = "neutral" }
"""
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    item = lidoff.open(tmp_path)
    before, after = (lidoff.solve(item, changes={"R1.value": ohms}) for ohms in (1000.0, 4000.0))
    proof = SimpleNamespace(solution=after, figures=after.figures())
    design = SimpleNamespace(title="More resistance", proof=proof)
    found: Any = SimpleNamespace(
        offered=(design,), before=before.figures(), before_solution=before, full=None, title="x"
    )
    comparison = comparison_of(found)
    assert comparison is not None
    assert comparison.headline == "More resistance: before and after"
    assert comparison.words.startswith("power ")
    assert comparison.words.endswith("flicker 100 % → 100 %")
    assert comparison.wide != comparison.narrow
    found.offered = ()
    assert comparison_of(found) is None


def test_the_last_frame_runs_into_the_first(accounts: Mapping[str, Account]) -> None:
    """Round the end the picture changes no more than it does anywhere else between two frames."""
    frames = [np.asarray(frame.resize((320, 180)), dtype=float) for frame in frames_of(accounts["night-light"], 12)]
    assert len(frames) == 12
    steps = [np.abs(a - b).mean() for a, b in zip(frames, [*frames[1:], frames[0]], strict=True)]
    assert min(steps) > 0.0
    assert steps[-1] <= max(steps[:-1])


def test_the_moving_cycle_loops_without_end_and_stays_small(accounts: Mapping[str, Account]) -> None:
    found = render_animation(accounts["lamp-charger"], ("gif", "webp"), steps=10)
    for name, content in found.items():
        image = Image.open(io.BytesIO(content))
        assert image.size == (1280, 720)
        assert image.n_frames == 10, name  # type: ignore[attr-defined]
        assert image.info["loop"] == 0
        assert len(content) < 60_000 * 10, name
    assert 60 <= STEPS <= 200
    assert render_animation(replace(accounts["lamp-charger"], states=()), ("gif",)) == {}


def test_a_film_is_made_where_the_library_is_there(
    accounts: Mapping[str, Account], monkeypatch: pytest.MonkeyPatch
) -> None:
    av = pytest.importorskip("av")
    content = render_animation(accounts["lamp-charger"], ("webm",), steps=5)["cycle.webm"]
    with av.open(io.BytesIO(content)) as film:
        stream = film.streams.video[0]
        assert stream.codec_context.name == "vp9"
        assert (stream.width, stream.height) == (1280, 720)
        assert sum(1 for _ in film.decode(stream)) == 5
    monkeypatch.setitem(__import__("sys").modules, "av", None)
    with pytest.raises(AnimationError, match=r"needs PyAV.*lidoff\[video\]"):
        render_animation(accounts["lamp-charger"], ("webm",), steps=5)
