"""A walk on a drawn board, in short that of docs/photographs.md: two photos to a checked record, asked on one key."""

from __future__ import annotations

import io
import json
import shutil
import sys
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("cv2", reason="OpenCV is not installed: pip install lidoff[photos]")
pytest.importorskip("skimage", reason="scikit-image is not installed: pip install lidoff[photos]")

from tests.photos import walk

from lidoff.cli import main
from lidoff.photos import kept
from lidoff.record import open as open_record


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record with its photos taken in and looked at for the first time."""
    folder = tmp_path_factory.mktemp("walk")
    item, copper, parts = walk.write(folder)
    assert main(["photo", str(item), str(copper), "--side", "bottom", "--shows", "copper"]) == 0
    assert main(["photo", str(item), str(parts), "--side", "top", "--shows", "parts"]) == 0
    assert main(["trace", str(item), "--width", "62"]) == 0
    return item


@pytest.fixture
def item(begun: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "night-light"
    shutil.copytree(begun, copy)
    return copy


def words(item: Path) -> list[str]:
    """The pads named after the pins that lie there, and the two mains pads told."""
    pads = kept.read(item).pads

    def at(place: walk.Place) -> str:
        return min(pads, key=lambda pad: float(np.hypot(pad.x - place[0], pad.y - place[1]))).id

    names = ",".join(f"{at(place)}={pin}" for pin, place in walk.PINS.items())
    return ["--name", names, "--told", f"{at(walk.LIVE)}=live,{at(walk.NEUTRAL)}=neutral"]


def typed(item: Path) -> dict[frozenset[str], str]:
    """The pins that share a node, and its name."""
    pins: dict[str, set[str]] = {}
    for part in open_record(item).parts:
        for pin, node in part.nodes.items():
            pins.setdefault(node, set()).add(f"{part.name}.{pin}")
    return {frozenset(held): node for node, held in pins.items()}


def answer_as_a_meter(item: Path) -> str:
    """The keys of somebody who buzzes each question out."""
    node = {pin: name for name, pins in walk.NODES.items() for pin in pins}
    trace = kept.read(item)
    keys = ""
    for a, b in json.loads((item / "doubtful.json").read_text(encoding="utf-8")):
        ends = [trace.pad(name) for name in (a, b)]
        known = [node.get(f"{pad.part}.{pad.pin}", pad.node) for pad in ends if pad is not None]
        keys += "y" if known[0] == known[1] else "n"
    return keys


def test_the_first_look_finds_every_pad_and_lays_the_sides_over_each_other(begun: Path) -> None:
    trace = kept.read(begun)
    assert len(trace.pads) == len(walk.PINS) + 2
    for place in [*walk.PINS.values(), walk.LIVE, walk.NEUTRAL]:
        assert min(np.hypot(pad.x - place[0], pad.y - place[1]) for pad in trace.pads) < 0.2
    assert trace.board is not None
    assert trace.board.height == pytest.approx(36, rel=0.01)
    copper, parts = trace.photos
    assert parts.mirrored
    assert parts.residual is not None
    assert parts.residual < 0.05
    # A hole of the parts photo lands on itself.
    over = np.array([[62 - 14.0, 20.0, 1.0]]) @ walk.PARTS.to_photo(walk.board()).T
    landed = np.array(parts.pose) @ over[0]
    here = np.array(copper.pose) @ (walk.COPPER.to_photo(walk.board()) @ np.array([14.0, 20.0, 1.0]))
    assert np.hypot(*(landed[:2] / landed[2] - here[:2] / here[2])) < 0.1


def test_from_photos_to_a_checked_record(
    item: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["trace", str(item), *words(item), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert not document["written"]
    assert (item / "item.toml").read_text(encoding="utf-8").startswith(walk.RECORD)
    (item / "doubtful.json").write_text(json.dumps(document["doubtful"]), encoding="utf-8")

    monkeypatch.setattr("sys.stdin", io.StringIO(answer_as_a_meter(item) + "y"))
    assert main(["trace", str(item), "--ask"]) == 0
    assert "Written into item.toml." in capsys.readouterr().out
    expected = {frozenset(pins): name for name, pins in walk.NODES.items()}
    assert set(typed(item)) == set(expected)
    for pins, name in typed(item).items():
        if expected[pins] in ("live", "neutral", "p", "m"):
            assert name == expected[pins]
    text = (item / "item.toml").read_text(encoding="utf-8")
    assert "# across the big capacitor, I think" in text
    assert main(["check", str(item)]) == 0


def test_what_is_told_on_the_command_line_is_kept(item: Path) -> None:
    pads = kept.read(item).pads
    nearest = sorted(pads, key=lambda pad: np.hypot(pad.x - 26, pad.y - 6))
    pair = f"{nearest[0].id}={nearest[1].id}"
    assert main(["trace", str(item), "--apart", pair]) == 0
    (told,) = [one for one in kept.read(item).joins if one.evidence.kind != "picture"]
    assert not told.joined
    assert {told.a, told.b} == {nearest[0].id, nearest[1].id}
    # What was told survives another look at the pictures, and goes before what was told earlier.
    assert main(["trace", str(item), "--joined", pair]) == 0
    (told,) = [one for one in kept.read(item).joins if one.evidence.kind != "picture"]
    assert told.joined


def test_keys_mean_what_they_say(begun: Path) -> None:
    from lidoff.cli import trace_item
    from lidoff.photos.joins import Candidate, propose

    trace = kept.read(begun)
    a, b, c = (pad.id for pad in trace.pads[:3])
    candidates = [
        Candidate(a=one, b=other, margin=margin, weakest=(0, 0), view="flat", judged="ask")
        for one, other, margin in ((a, b, 0.2), (b, c, 0.1))
    ]
    trace = trace.model_copy(update={"joins": ()})
    joins = propose([a, b, c], candidates)

    def after(keys: str) -> list[tuple[frozenset[str], bool, str]]:
        saved: list[kept.Trace] = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("sys.stdin", io.StringIO(keys))
            done, _ = trace_item._asked(trace, joins, saved.append)
        assert not saved or saved[-1] == done
        return [(frozenset((one.a, one.b)), one.joined, one.evidence.kind) for one in done.joins]

    first, second = frozenset((b, c)), frozenset((a, b))  # the weakest is asked first
    assert after("yn") == [(first, True, "continuity"), (second, False, "continuity")]
    assert after("mym n") == [(first, True, "user"), (second, False, "continuity")]
    assert after("yu" + "n") == [(first, False, "continuity")]
    assert after("sy") == [(second, True, "continuity")]
    assert after("") == []
    assert after("q") == []


def test_a_record_without_a_copper_photo_is_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text("lidoff = 1\n", encoding="utf-8")
    assert main(["trace", str(tmp_path)]) == 1
    assert "no [[photo]] shows copper" in capsys.readouterr().err
    assert main(["trace", str(tmp_path), "--ask", "--json"]) == 2


def test_pads_may_come_from_a_file(item: Path, capsys: pytest.CaptureFixture[str]) -> None:
    camera, board = walk.COPPER, walk.board()
    pads = []
    for number, (pin, place) in enumerate(walk.PINS.items()):
        x, y, w = camera.to_photo(board) @ np.array([*place, 1.0])
        part, _, name = pin.partition(".")
        pads.append({"id": f"A{number}", "x": x / w, "y": y / w, "part": part, "pin": name})
    file = item / "pads.json"
    file.write_text(json.dumps(pads), encoding="utf-8")
    assert main(["trace", str(item), "--pads", str(file), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [pad["id"] for pad in document["pads"]] == [pad["id"] for pad in pads]
    assert document["pads"][2]["part"] == "C1"
    assert document["pads"][2]["x"] == pytest.approx(26.0, abs=0.1)


def test_without_opencv_it_names_the_extra(
    item: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "cv2", None)
    assert main(["trace", str(item)]) == 1
    assert "needs the extra photos: pip install lidoff[photos]" in capsys.readouterr().err.replace("\n", " ")
