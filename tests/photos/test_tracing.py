"""Boards traced with a person answering, against the copper they were drawn or published with.

The rendered boards are ours (tests/photos/boards): their pieces are counted on the drawn copper. The photographs and
scans are the open data's: satshakit boards by Daniele Ingrassia (CC BY-SA 4.0) with nets from the published artwork,
and DeepPCB's pairs of scans (MIT) with the published boxes. All twenty rendered boards stand in benchmarks/trace.py.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.photos import scans
from tests.photos.boards.paint import Shot, Shown, photograph
from tests.photos.boards.plan import Plan, raster, routed, tape
from tests.photos.mutated import mutated
from tests.photos.trial import Outcome, registered, tried

from lidoff.cli import main
from lidoff.photos.assisted import follow
from lidoff.photos.gate import buzzing_out
from lidoff.photos.pads import Pad
from lidoff.photos.picture import PhotoError
from lidoff.photos.tracing import trace_copper


@cache
def small(seed: int = 5) -> Plan:
    return routed(seed, width=24, height=18, grid=0.6, track=0.34, pads=20, nets=7, pad=1.4, drill=0.8, share_flat=0.3)


@cache
def shown(**how: object) -> Shown:
    return photograph(small(), Shot(name="test", seed=3, px_per_mm=20, **how))  # type: ignore[arg-type]


def outcome(photo: Shown) -> Outcome:
    return tried(photo.rgb, photo.pads, photo.pieces)


@pytest.mark.parametrize(
    "how",
    [
        {"base": "fr4", "metal": "copper"},
        {"base": "paper", "metal": "tin", "solder": True, "turn": 8.0},
        {"base": "paper", "metal": "tin", "lit_through": True},
        {"mask": "green", "metal": "tin", "letters": 0.8},
    ],
    ids=lambda how: "-".join(str(one) for one in how.values()),
)
def test_a_board_is_exact_at_twenty_pixels_a_millimetre_with_few_questions(how: dict[str, object]) -> None:
    result = outcome(shown(**how))
    assert result.refused is None
    assert result.wrong == 0
    assert result.complete
    assert result.asked <= 5


def test_flexible_tape_under_white_mask_is_exact() -> None:
    photo = photograph(
        tape(6, groups=2),
        Shot(name="tape", seed=6, px_per_mm=24, base="tape", mask="white", metal="tin", texture=0.02, turn=-4),
    )
    result = tried(photo.rgb, photo.pads, photo.pieces)
    assert (result.wrong, result.complete) == (0, True)
    assert result.asked <= 8


@pytest.mark.parametrize(
    "how",
    [
        {"glare": 2.5, "metal": "copper"},
        {"texture": 0.5, "metal": "copper", "base": "fr4-dark", "noise": 0.05},
        {"bodies": True, "metal": "tin", "mask": "green"},
    ],
    ids=("glare", "texture", "parts"),
)
def test_what_a_picture_does_not_bear_is_refused_or_asked_and_never_accepted_wrongly(how: dict[str, object]) -> None:
    result = outcome(shown(**how))
    assert result.wrong == 0


def test_a_small_board_that_bears_no_answer_is_asked_about_whole_in_less_than_buzzing_it_out() -> None:
    """White tape in strong glare: nothing is accepted, no pair of pieces is passed over, and so nothing is missing."""
    photo = photograph(
        tape(109, groups=2),
        Shot(name="glare", seed=9, px_per_mm=20, base="tape", mask="white", metal="gold", glare=0.3, ground="steel"),
    )
    traced = trace_copper(photo.rgb, [Pad(id=name, x=x, y=y) for name, (x, y) in photo.pads.items()])
    assert traced.refused is None
    assert "Every pair of pieces is asked about" in " ".join(traced.warnings)
    assert not any(one.status == "accepted" for one in traced.joins.joins)
    result = outcome(photo)
    assert result.complete
    assert result.asked < 0.6 * buzzing_out(result.pads, result.pieces)


def test_buzzing_out_is_counted_as_it_is_done() -> None:
    """Three pads on their own: 0 + 1 + 2 measurements. One piece of three pads: each of two held against it once."""
    assert buzzing_out(3, 3) == 3
    assert buzzing_out(3, 1) == 2


def test_a_picture_of_nothing_is_refused_with_a_reason_and_nothing_is_accepted() -> None:
    grey = np.random.default_rng(1).normal(128, 6, size=(300, 400, 3)).clip(0, 255).astype(np.uint8)
    pads = [Pad(id=f"P{n}", x=40.0 + 40 * (n % 8), y=60.0 + 90 * (n // 8)) for n in range(16)]
    traced = trace_copper(grey, pads)
    assert traced.refused is not None
    assert "follow the tracks one by one and measure" in traced.refused
    assert all(len(piece) == 1 for piece in traced.joins.pieces)


def test_a_pad_outside_the_photo_is_named() -> None:
    with pytest.raises(PhotoError, match=r"Pad P9 lies at \(700, 10\), outside the photo of 400 by 300 pixels"):
        trace_copper(np.zeros((300, 400, 3), np.uint8), [Pad(id="P1", x=1, y=1), Pad(id="P9", x=700, y=10)])
    with pytest.raises(PhotoError, match="At least two pads"):
        trace_copper(np.zeros((300, 400, 3), np.uint8), [Pad(id="P1", x=1, y=1)])


def test_the_drawn_copper_holds_what_the_plan_joins() -> None:
    """The generator's own truth: pads of one net are one piece of drawn copper, and no piece carries two nets."""
    from tests.photos.boards.plan import pieces

    plan = small()
    counted = pieces(plan, raster(plan, 24.0), 24.0)
    assert {name for piece in counted for name in piece} == set(plan.net_of)
    for piece in counted:
        assert len({plan.net_of[name] for name in piece}) == 1


@pytest.mark.parametrize("mask", ["green", "blue"])
def test_a_followed_track_stays_on_its_copper_under_solder_mask(mask: str) -> None:
    """From beside one pad to beside the next along one covered track; the copper under each pixel is known."""
    plan = small()
    photo = shown(mask=mask, metal="tin", letters=0.0)
    followed_any = 0
    for net, _, points in plan.tracks:
        ends = [np.array(point) for point in (points[0], points[-1])]
        if np.hypot(*(ends[0] - ends[1])) < 4.0:
            continue
        copper = cv2.dilate((photo.copper == net + 1).astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        # Four cells of 0.6 mm along the track from either end: past the bare pad of 0.7 mm radius.
        start, end = (photo.at(points[at]) for at in (3, -4))
        followed = follow(photo.rgb, start, end)
        on = [copper[round(y), round(x)] for x, y in followed.points]
        assert np.mean(on) > 0.9
        assert followed.margin > -0.5
        assert followed.length >= 0.9 * np.hypot(start[0] - end[0], start[1] - end[1])
        followed_any += 1
    assert followed_any >= 3


def test_following_from_a_point_to_itself_is_refused() -> None:
    with pytest.raises(PhotoError, match="two points are one"):
        follow(np.zeros((30, 40, 3), np.uint8), (5, 5), (5.5, 5))
    with pytest.raises(PhotoError, match=r"outside of the photo of 40 by 30 pixels"):
        follow(np.zeros((30, 40, 3), np.uint8), (5, 5), (50, 5))


def test_the_command_prints_what_the_contract_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo = shown(base="fr4", metal="copper")
    picture, pads, answers = (tmp_path / name for name in ("board.jpg", "pads.json", "pieces.json"))
    picture.write_bytes(photo.jpeg)
    pads.write_text(json.dumps([{"id": name, "x": x, "y": y} for name, (x, y) in photo.pads.items()]))
    answers.write_text(json.dumps([sorted(piece) for piece in photo.pieces]))
    assert main(["trace", "--photo", str(picture), "--pads", str(pads), "--answers", str(answers), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told) >= {"pieces", "joins", "questions", "doubtful", "refused"}
    assert told["refused"] is None
    assert {frozenset(piece) for piece in told["pieces"]} == set(photo.pieces)
    assert told["doubtful"] == []
    for join in told["joins"]:
        assert set(join) >= {"a", "b", "score", "status", "weakest"}
        assert join["status"] in {"accepted", "doubtful", "answered-yes", "answered-no"}
        assert 0 <= join["score"] <= 1


def test_the_command_without_a_photo_or_an_item_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trace"]) == 2
    assert "Name an item, or a photo" in capsys.readouterr().err


def test_a_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "cv2", None)
    with pytest.raises(PhotoError, match=r"needs the extra photos: pip install lidoff\[photos\]"):
        trace_copper(np.zeros((30, 40, 3), np.uint8), [Pad(id="P1", x=1, y=1), Pad(id="P2", x=9, y=9)])


@pytest.mark.open_data
@pytest.mark.parametrize(("name", "most"), [("fc_bare", 0), ("grblns_bare", 30), ("grbls_bare", 60)])
def test_a_photographed_bare_board_is_complete_with_few_questions(open_data: Path, name: str, most: int) -> None:
    result = tried(*registered(open_data / "photos" / name))
    assert result.wrong == 0
    assert result.complete
    assert result.asked <= most


@pytest.mark.open_data
@pytest.mark.parametrize(("name", "seed"), [("fc_bare", 12), ("grblns_bare", 4), ("grbls_bare", 23)])
def test_a_photographed_board_taken_otherwise_is_complete_and_nothing_wrong_is_accepted(
    open_data: Path, name: str, seed: int
) -> None:
    rgb, pads, pieces = registered(open_data / "photos" / name)
    result = tried(*mutated(rgb, pads, pieces, seed + 991))
    assert result.refused is None
    assert result.wrong == 0
    assert result.complete
    assert result.asked <= max(6, 0.3 * buzzing_out(result.pads, result.pieces))


def test_without_answers_the_doubtful_joins_are_left_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A lit board and one half in doubt: what is not answered is part of no piece and counted as a question."""
    photo = shown(base="fr4", metal="copper")
    picture, pads = tmp_path / "board.jpg", tmp_path / "pads.json"
    picture.write_bytes(photo.jpeg)
    pads.write_text(json.dumps([{"id": name, "x": x, "y": y} for name, (x, y) in photo.pads.items()]))
    assert main(["trace", "--photo", str(picture), "--pads", str(pads), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["questions"] == len(told["doubtful"])
    assert {join["status"] for join in told["joins"]} <= {"accepted", "doubtful"}
    piece_of = {name: number for number, piece in enumerate(told["pieces"]) for name in piece}
    assert all(piece_of[a] != piece_of[b] for a, b in told["doubtful"])


def test_of_a_pad_on_no_copper_it_is_said_that_joined_to_nothing_was_not_measured() -> None:
    """A pad set where the copper is furthest: it is asked about, and named."""
    photo = shown(base="fr4", metal="copper")
    away = cv2.distanceTransform((photo.copper == 0).astype(np.uint8), cv2.DIST_L2, 5)
    places = np.array(list(photo.pads.values())).astype(int)
    (left, top), (right, bottom) = places.min(axis=0), places.max(axis=0)
    down, across = np.unravel_index(away[top:bottom, left:right].argmax(), (bottom - top, right - left))
    x, y = float(left + across), float(top + down)
    traced = trace_copper(
        photo.rgb, [*(Pad(id=name, x=px, y=py) for name, (px, py) in photo.pads.items()), Pad(id="STRAY", x=x, y=y)]
    )
    assert "STRAY" in traced.unsure
    assert any("STRAY" in {one.a, one.b} for one in traced.joins.doubtful)
    assert "STRAY lies on no copper" in traced.warnings[0]
    assert "NOT measured" in traced.warnings[0]


@pytest.mark.open_data
def test_a_populated_board_is_refused(open_data: Path) -> None:
    result = tried(*registered(open_data / "photos" / "fc_pop"))
    assert result.refused is not None
    assert "Parts, solder or shadow hide much of the copper" in result.refused
    assert (result.wrong, result.asked) == (0, 0)


@pytest.mark.open_data
def test_opens_and_shorts_are_found_in_pairs_of_scans(open_data: Path) -> None:
    """Recall by pair as in the data's own terms: shorts at least 0.97, opens at least 0.93; no pair told wrongly."""
    folder = open_data / "photos" / "scan_pairs"
    there = {scans.OPEN: 0, scans.SHORT: 0}
    hit = {scans.OPEN: 0, scans.SHORT: 0}
    boxes = [0, 0]
    for name in scans.names(folder):
        pair = scans.read(folder, name)
        seen = scans.found(pair)
        for kind in there:
            if any(box[4] == kind for box in pair.boxes):
                there[kind] += 1
                hit[kind] += kind in seen.kinds
            else:
                assert kind not in seen.kinds
        boxes[0] += len(seen.boxes)
        boxes[1] += sum(box[4] in there for box in pair.boxes)
    assert hit[scans.SHORT] / there[scans.SHORT] >= 0.97
    assert hit[scans.OPEN] / there[scans.OPEN] >= 0.93
    assert boxes[0] / boxes[1] >= 0.95
