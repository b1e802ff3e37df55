"""The tracing page's own side: acts kept at once and undone, the copper read and followed, corners set anew.

What is read is a drawn board (tests/photos/scene.py): where its tracks lie is known from the drawing, not from the
program.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tests.photos import scene, walk

from lidoff.desk.shop import Shop
from lidoff.desk.tracing_bench import Bench, State, questions
from lidoff.desk.tracing_copper import Copper, path
from lidoff.desk.tracing_said import corners_of
from lidoff.desk.tracing_told import on_page, told
from lidoff.photos import kept
from lidoff.photos.joins import Candidate, propose
from lidoff.photos.kept import KeptBoard, KeptPad, KeptPhoto, Trace, TraceError

BOARD = walk.board()
CAMERA = scene.Camera(tilt=(6, -5, 2), away=80, size=(1000, 750))
RECORD = """# Found in a drawer
lidoff = 1

[item]
title = "A lamp"

[[part]]
ref = "R1"    # brown
kind = "resistor"
marking = "4k7"

[[part]]
ref = "R2"
kind = "resistor"
marking = "10k"

[[photo]]
file = "photos/copper.png"
side = "bottom"
shows = "copper"
"""


def record(place: Path, picture: Any) -> Path:
    """A record with that picture as its copper side."""
    folder = place / "lamp"
    (folder / "photos").mkdir(parents=True)
    Image.fromarray(picture).save(folder / "photos" / "copper.png")
    (folder / "item.toml").write_text(RECORD, encoding="utf-8")
    return folder


def bench_on(folder: Path) -> Bench:
    shop = Shop(folder.parent)
    desk = shop.item("lamp")
    assert desk is not None
    bench = Bench(desk, shop.confined)
    bench.opened()
    return bench


@pytest.fixture(scope="module")
def read_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Bench]:
    """A board photographed and read, with its width told."""
    folder = record(tmp_path_factory.mktemp("read"), scene.photographed(BOARD, CAMERA))
    bench = bench_on(folder)
    bench.act({"do": "width", "width": 62})
    for _ in range(9):
        if not bench.due():
            break
        bench.work()
    assert not bench.due()
    assert bench.trouble == ""
    return folder, bench


@pytest.fixture
def plain(tmp_path: Path) -> Bench:
    """Six pads on a trace whose photo is not there: nothing is read, everything else works."""
    folder = tmp_path / "lamp"
    folder.mkdir()
    (folder / "item.toml").write_text(RECORD, encoding="utf-8")
    pads = tuple(KeptPad(id=f"P00{n}", x=5.0 * n, y=10.0) for n in range(1, 7))
    kept.write(folder, Trace(board=KeptBoard(width=60, height=40), pads=pads))
    return bench_on(folder)


def nearest(bench: Bench, x: float, y: float) -> KeptPad:
    found = min(bench.state.trace.pads, key=lambda pad: np.hypot(pad.x - x, pad.y - y))
    assert np.hypot(found.x - x, found.y - y) < 0.5
    return found


def off_track(points: Any) -> float:
    """How far the points lie from the nearest drawn track's middle at most [mm]."""
    far = []
    for point in np.asarray(points):
        near = np.inf
        for line, _ in BOARD.tracks:
            for start, end in zip(np.array(line[:-1]), np.array(line[1:]), strict=True):
                along = np.clip(np.dot(point - start, end - start) / np.dot(end - start, end - start), 0, 1)
                near = min(near, float(np.linalg.norm(point - start - along * (end - start))))
        far.append(near)
    return max(far)


def test_a_drawn_board_is_read_and_its_joins_follow_the_tracks(read_once: tuple[Path, Bench]):
    _, bench = read_once
    ends = [("R1.2", "C1.1"), ("BR1.plus", "C2.1"), ("C2.2", "LED1.cathode"), ("R3.2", "LED1.anode")]
    for start, end in ends:
        assert bench.joins.joined(nearest(bench, *walk.PINS[start]).id, nearest(bench, *walk.PINS[end]).id)
    piece = {pin: node for node, pins in walk.NODES.items() for pin in pins}
    named = {nearest(bench, *place).id: piece[pin] for pin, place in walk.PINS.items()}
    for one in bench.joins.joins:
        if one.status == "accepted" and one.a in named and one.b in named:
            assert named[one.a] == named[one.b]
    # The tracks are 1.8 mm wide and the pads 2.8 mm: what lies on copper is at most 1.4 mm off the middle.
    lines = [line for line in bench.paths.values() if line]
    assert len(lines) >= 8
    assert max(off_track(line) for line in lines) < 1.4
    assert max(len(line) for line in lines) > 3  # round corners
    shown = told(bench)
    assert shown["board"]["width"] == pytest.approx(62, abs=0.5)
    assert json.loads((bench.desk.folder / "trace.json").read_text())["joins"]


def test_clicks_along_a_track_are_followed_on_copper(read_once: tuple[Path, Bench]):
    _, bench = read_once
    # From beside one pad to beside another, round the corner between them; straight on there is laminate.
    line = bench.followed([(6.0, 30.0), (40.0, 26.5)])
    assert len(line) > 2
    assert off_track(line) < 1.0
    assert line[0] == (6.0, 30.0)


def test_a_path_goes_round_by_copper_where_straight_on_there_is_none():
    picture = np.full((120, 160, 3), (60, 90, 60), np.uint8)
    picture[20:28, 20:140] = picture[90:98, 20:140] = picture[20:98, 132:140] = (200, 120, 80)
    line = np.array(path(Copper(rgb=picture, pose=np.eye(3)), [(24, 24), (24, 94)], clicked=True))
    assert line[:, 0].max() > 130
    assert len(line) < 12  # what lies on a straight line is left out


def test_corners_set_by_hand_leave_pads_where_they_stand_in_the_photo(read_once: tuple[Path, Bench], tmp_path: Path):
    folder = tmp_path / "lamp"
    shutil.copytree(read_once[0], folder)
    bench = bench_on(folder)
    bench.act({"do": "width", "width": 62})
    pad = nearest(bench, 20, 6)
    bench.act({"do": "name", "what": "pad", "which": pad.id, "pin": "R1.1"})
    before = np.linalg.inv(np.array(bench.state.trace.photos[0].pose)) @ [pad.x, pad.y, 1]
    true = scene.corners(BOARD, CAMERA)
    true[0] += (6, 5)
    bench.act({"do": "corners", "file": "photos/copper.png", "corners": true.tolist()})
    assert bench.due() == "photos"
    bench.work()
    assert bench.trouble == ""
    photo = bench.state.trace.photos[0]
    assert photo.corners_from == "user"
    moved = bench.state.trace.pad(pad.id)
    assert moved is not None
    assert moved.part == "R1"
    after = np.linalg.inv(np.array(photo.pose)) @ [moved.x, moved.y, 1]
    assert np.hypot(moved.x - pad.x, moved.y - pad.y) > 0.1
    assert after[:2] / after[2] == pytest.approx(before[:2] / before[2], abs=0.1)


def test_a_scale_told_later_leaves_every_pad_on_its_copper(read_once: tuple[Path, Bench], tmp_path: Path):
    """The board said to be 50 mm wide where it was taken for 62: all mm shrink, and each pad stays on its pixel."""
    folder = tmp_path / "lamp"
    shutil.copytree(read_once[0], folder)
    bench = bench_on(folder)
    before = bench.state.trace

    def in_photo(trace: Trace) -> Any:
        back = np.linalg.inv(np.array(trace.photos[0].pose))
        at = np.array([[pad.x, pad.y, 1] for pad in trace.pads]) @ back.T
        return at[:, :2] / at[:, 2:]

    bench.act({"do": "width", "width": 50})
    bench.work()
    assert bench.trouble == ""
    after = bench.state.trace
    assert after.board is not None
    assert after.board.width == pytest.approx(50)
    assert bench.state.refused is None
    far = np.linalg.norm(in_photo(after)[:, None] - in_photo(before)[None], axis=2).min(axis=1)
    assert np.median(far) < 3  # pixels, a quarter of a mm
    bench.act({"do": "undo"})
    assert (bench.state.trace, bench.due()) == (before, "copper")


def test_every_act_is_kept_with_what_it_rests_on_and_undone(plain: Bench):
    def joins() -> list[Any]:
        found: list[Any] = json.loads((plain.desk.folder / "trace.json").read_text())["joins"]
        return found

    plain.act({"do": "answer", "a": "P001", "b": "P002", "joined": True, "by": "continuity"})
    assert joins()[0]["evidence"]["kind"] == "continuity"
    plain.act({"do": "answer", "a": "P003", "b": "P002", "joined": False, "by": "user", "note": "a gap"})
    assert joins()[1]["evidence"] == {"kind": "user", "note": "a gap"}
    assert plain.joins.joined("P001", "P002")
    plain.act({"do": "wire", "a": "P004", "b": "P005", "note": "blue"})
    plain.act({"do": "add", "what": "pad", "x": 3, "y": 4, "pin": "R1.2"})
    plain.act({"do": "add", "what": "hole", "x": 30, "y": 4, "diameter": 3})
    plain.act({"do": "add", "what": "body", "x": 30, "y": 4, "width": 6, "height": 3, "part": "R2"})
    plain.act({"do": "move", "what": "pad", "which": "P006", "x": 31, "y": 11})
    plain.act({"do": "name", "what": "pad", "which": "P006", "pin": "R2.1", "node": "live"})
    trace = kept.read(plain.desk.folder)
    assert (len(trace.pads), len(trace.holes), len(trace.bodies), len(trace.wires)) == (7, 1, 1, 1)
    assert trace.pads[-1].part == "R1"
    assert trace.bodies[0].part == "R2"
    plain.act({"do": "remove", "what": "pad", "which": "P002"})
    assert joins() == []  # what was said of a pad goes with it
    done = []
    while plain.back:
        done.append(plain.back)
        plain.act({"do": "undo"})
    assert len(done) == 9
    assert done[0] == "pad P002 taken out"
    again = kept.read(plain.desk.folder)
    assert (again.joins, again.wires, again.holes, again.bodies, len(again.pads)) == ((), (), (), (), 6)
    with pytest.raises(TraceError, match="nothing to undo"):
        plain.act({"do": "undo"})
    while plain.forth:
        plain.act({"do": "redo"})
    assert kept.read(plain.desk.folder).model_dump() == trace.model_dump() | {
        "joins": (),
        "pads": tuple(pad.model_dump() for pad in trace.pads if pad.id != "P002"),
    }
    with pytest.raises(TraceError, match="nothing to do again"):
        plain.act({"do": "redo"})


@pytest.mark.parametrize(
    ("act", "says"),
    [
        ({"do": "answer", "a": "P001", "b": "P001", "joined": True, "by": "user"}, "choose two"),
        ({"do": "answer", "a": "P001", "b": "P999", "joined": True, "by": "user"}, "no longer there"),
        ({"do": "answer", "a": "P001", "b": "P002", "joined": "yes", "by": "user"}, "does not know"),
        ({"do": "add", "what": "pad", "x": float("nan"), "y": 0}, "number of mm"),
        ({"do": "add", "what": "hole", "x": 1, "y": 1, "diameter": -1}, "cannot be kept"),
        ({"do": "name", "what": "pad", "which": "P001", "pin": "R9.1"}, 'no part "R9"'),
        ({"do": "name", "what": "pad", "which": "P001", "pin": "R1.gate"}, "no pin gate"),
        ({"do": "remove", "what": "wire", "which": 0}, "no longer there"),
        ({"do": "corners", "file": "../elsewhere.jpg", "corners": [[0, 0]] * 4}, "not in this record"),
        ({"do": "width", "width": 0}, "1 to 1000"),
        ({"do": "run"}, "does not know"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_changes_nothing(plain: Bench, act: dict[str, Any], says: str):
    before = (plain.desk.folder / "trace.json").read_bytes()
    with pytest.raises(TraceError, match=says):
        plain.act(act)
    assert (plain.desk.folder / "trace.json").read_bytes() == before
    assert plain.back is None


def test_an_answer_against_earlier_ones_is_refused(plain: Bench):
    for a, b in (("P001", "P002"), ("P002", "P003")):
        plain.act({"do": "answer", "a": a, "b": b, "joined": True, "by": "continuity"})
    before = (plain.desk.folder / "trace.json").read_bytes()
    with pytest.raises(ValueError, match="measure them again"):
        plain.act({"do": "answer", "a": "P001", "b": "P003", "joined": False, "by": "continuity"})
    assert (plain.desk.folder / "trace.json").read_bytes() == before


def test_a_trace_changed_elsewhere_is_taken_as_it_is(plain: Bench):
    trace = plain.state.trace
    time.sleep(0.01)
    kept.write(plain.desk.folder, trace.model_copy(update={"pads": trace.pads[:3]}))
    plain.act({"do": "answer", "a": "P001", "b": "P002", "joined": True, "by": "user"})
    assert [pad.id for pad in kept.read(plain.desk.folder).pads] == ["P001", "P002", "P003"]


def test_the_ways_back_and_forth_outlive_the_desk(plain: Bench):
    plain.act({"do": "answer", "a": "P001", "b": "P002", "joined": True, "by": "continuity"})
    plain.act({"do": "wire", "a": "P004", "b": "P005"})
    plain.act({"do": "move", "what": "pad", "which": "P006", "x": 31, "y": 11})
    plain.act({"do": "undo"})
    again = bench_on(plain.desk.folder)
    assert (again.back, again.forth) == ("wire from P004 to P005", "pad moved")
    again.act({"do": "redo"})
    assert again.state.trace.pads[-1].x == 31
    for _ in range(3):
        again.act({"do": "undo"})
    assert (again.state.trace.joins, again.state.trace.wires, again.back) == ((), (), None)
    # An act after undoing hides nothing for good, and what was made elsewhere is undone like the rest.
    again.act({"do": "answer", "a": "P001", "b": "P003", "joined": False, "by": "user"})
    time.sleep(0.01)
    kept.write(again.desk.folder, again.state.trace.model_copy(update={"pads": again.state.trace.pads[:3]}))
    third = bench_on(again.desk.folder)
    assert third.back == "changed outside the desk"
    third.act({"do": "undo"})
    assert (len(third.state.trace.pads), third.back) == (6, "P001 and P003 not joined")


def test_what_the_picture_says_needs_no_undoing(plain: Bench):
    plain.act({"do": "answer", "a": "P001", "b": "P002", "joined": True, "by": "continuity"})
    many(plain, 60)
    assert len(plain.state.trace.joins) > 20
    again = bench_on(plain.desk.folder)
    assert again.back == "P001 and P002 joined"
    again.act({"do": "undo"})
    assert (len(again.state.trace.pads), again.back) == (6, None)
    again.act({"do": "redo"})
    assert len(again.state.trace.joins) > 20


KILLED = """
import sys
from pathlib import Path
from lidoff.desk.shop import Shop
from lidoff.desk.tracing_bench import Bench
shop = Shop(Path(sys.argv[1]))
bench = Bench(shop.item("lamp"), shop.confined)
bench.opened()
for number in range(10_000):
    bench.act({"do": "move", "what": "pad", "which": "P001", "x": number, "y": 1})
    print(number, flush=True)
"""


def test_a_desk_killed_while_it_saves_loses_no_answered_act(plain: Bench):
    folder = plain.desk.folder
    for kill in range(6):
        done = subprocess.Popen(
            [sys.executable, "-c", KILLED, str(folder.parent)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert done.stdout is not None
        assert done.stderr is not None
        with done.stdout, done.stderr:
            for _ in range(3 + kill):
                done.stdout.readline()
            time.sleep(0.0017 * kill)  # somewhere in the next saves
            done.kill()
            told = done.stdout.read().split()
            assert done.stderr.read() == ""
        done.wait()
        last = int(told[-1]) if told else 2 + kill
        bench = bench_on(folder)
        # What was answered is there; what was being saved may be.
        assert bench.state.trace.pads[0].x in (last, last + 1)
        before = bench.state.trace.pads[0].x
        assert bench.back == "pad moved"
        bench.act({"do": "undo"})
        assert bench.state.trace.pads[0].x in (before - 1, before)
        bench.act({"do": "redo"})
        assert bench.state.trace.pads[0].x == before
        while bench.back:
            bench.act({"do": "undo"})
        assert bench.state.trace.pads[0].x == 5.0


def test_corners_that_cross_are_refused():
    assert corners_of([[0, 0], [10, 0], [10, 10], [0, 10]])[2] == (10.0, 10.0)
    for wrong in (
        [[0, 0], [10, 10], [10, 0], [0, 10]],
        [[0, 0], [0, 10], [10, 10], [10, 0]],
        [[0, 0]] * 4,
        "none",
        None,
    ):
        with pytest.raises(TraceError):
            corners_of(wrong)


def many(bench: Bench, count: int) -> None:
    """A bench with `count` pads in a comb of candidates, a third of them doubtful, as if read just now."""
    pads = tuple(KeptPad(id=f"P{n:03d}", x=n % 20 * 3.0, y=n // 20 * 3.0) for n in range(count))
    near = [(n, n + step) for n in range(count) for step in (1, 20, 21) if n + step < count]
    candidates = tuple(
        Candidate(
            a=pads[a].id,
            b=pads[b].id,
            margin=1.5 - 0.5 * ((a + b) % 5),
            weakest=(float(a), float(b)),
            view="made up",
            judged=("accept", "ask", "ask", "drop", "drop")[(a + b) % 5],  # type: ignore[arg-type]
        )
        for a, b in near
    )
    photo = KeptPhoto(
        file="photos/copper.png", corners=((0, 0), (9, 0), (9, 9), (0, 9)), pose=((1, 0, 0), (0, 1, 0), (0, 0, 1))
    )
    trace = Trace(board=KeptBoard(width=60, height=60), photos=(photo,), pads=pads)
    bench._keep(State(trace=trace, candidates=candidates, read_copper="now", read_photos="now"))
    assert bench.joins == propose([pad.id for pad in pads], candidates)


def test_an_answer_takes_less_than_a_tenth_of_a_second_on_a_large_board(plain: Bench):
    """Aimed at: an answer shown within 100 ms; here the desk's own share of it, with 350 pads."""
    many(plain, 350)
    times, asked = [], len(questions(plain))
    assert asked > 20
    for number in range(20):
        question = questions(plain)[0]
        start = time.process_time()
        plain.act({"do": "answer", "a": question.a, "b": question.b, "joined": number % 3 == 0, "by": "continuity"})
        told(plain)
        times.append(time.process_time() - start)
    assert sorted(times)[10] < 0.1


def test_what_a_wire_settles_is_not_asked(plain: Bench):
    many(plain, 60)
    question = questions(plain)[0]
    plain.act({"do": "wire", "a": question.a, "b": question.b})
    assert (question.a, question.b) not in [(one.a, one.b) for one in questions(plain)]


def test_moving_a_pad_takes_back_what_the_picture_said_of_it(plain: Bench):
    many(plain, 60)
    join = next(one for one in plain.joins.joins if one.status == "accepted")
    plain.act({"do": "move", "what": "pad", "which": join.a, "x": 40, "y": 41})
    assert all(join.a not in (one.a, one.b) for one in plain.joins.joins)
    plain.act({"do": "undo"})
    assert any((one.a, one.b) == (join.a, join.b) for one in plain.joins.joins)


def test_remarks_name_what_the_page_has():
    remark = (
        "c.jpg: nothing gives its scale, so the board is taken as 100 mm wide; say --width, --length, or photograph it "
        "on the sheet (lidoff sheet)."
    )
    assert "--" not in on_page(remark)
    assert "Corners" in on_page(remark)
