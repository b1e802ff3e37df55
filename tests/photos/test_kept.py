"""What was traced comes back as it was; a file that does not fit is one sentence naming the place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lidoff.photos.kept import (
    NAME,
    Continuity,
    KeptBoard,
    KeptBody,
    KeptHole,
    KeptJoin,
    KeptPad,
    KeptPhoto,
    KeptWire,
    Picture,
    Trace,
    TraceError,
    Word,
    read,
    write,
)

FULL = Trace(
    board=KeptBoard(width=50, height=20, scale_from="width as given", outline=((0, 0), (50, 0), (50, 20))),
    photos=(
        KeptPhoto(
            file="photos/copper.jpg",
            corners=((0, 0), (9, 0), (9, 9), (0, 9)),
            pose=((1, 0, 0), (0, 1, 0), (0, 0, 1)),
            residual=0.04,
        ),
    ),
    holes=(KeptHole(x=1, y=2, diameter=0.8),),
    pads=(
        KeptPad(id="R1.1", x=1, y=2, part="R1", pin="1"),
        KeptPad(id="P2", x=3, y=4, node="live"),
        KeptPad(id="P3", x=5, y=4),
    ),
    bodies=(KeptBody(x=1, y=1, width=6, height=2, part="R1"),),
    joins=(
        KeptJoin(a="R1.1", b="P2", joined=True, evidence=Picture(view="flat", score=0.9, margin=0.3, weakest=(2, 3))),
        KeptJoin(a="R1.1", b="P3", joined=False, evidence=Continuity(value="OL")),
        KeptJoin(a="P2", b="P3", joined=True, evidence=Word(note="seen from the side")),
    ),
    wires=(KeptWire(a="P2", b="P3", note="bridge under the choke"),),
)


def test_what_was_written_is_read_again(tmp_path: Path) -> None:
    assert read(tmp_path) == Trace()
    write(tmp_path, FULL)
    assert read(tmp_path) == FULL
    assert [one.name for one in tmp_path.iterdir()] == [NAME]


BROKEN = {
    "not JSON": ("{", "line 1"),
    "deep": ("[" * 100_000, "not JSON"),
    "newer": ('{"lidoff_trace": 2}', "newer Lidoff"),
    "unknown key": ('{"lidoff_trace": 1, "hols": []}', "hols"),
    "a word for a number": ('{"lidoff_trace": 1, "holes": [{"x": "a", "y": 1, "diameter": 1}]}', "holes.0.x"),
    "not finite": ('{"lidoff_trace": 1, "holes": [{"x": 1e999, "y": 1, "diameter": 1}]}', "holes.0.x"),
    "a hole of no size": ('{"lidoff_trace": 1, "holes": [{"x": 1, "y": 1, "diameter": 0}]}', "holes.0.diameter"),
    "a pad twice": (
        '{"lidoff_trace": 1, "pads": [{"id": "A", "x": 1, "y": 1}, {"id": "A", "x": 1, "y": 1}]}',
        "two pads are named A",
    ),
    "a join to nowhere": (
        '{"lidoff_trace": 1, "joins": [{"a": "A", "b": "B", "joined": true, "evidence": {"kind": "user"}}]}',
        "names the pad A, which is not there",
    ),
    "no such evidence": (
        '{"lidoff_trace": 1, "joins": [{"a": "A", "b": "B", "joined": true, "evidence": {"kind": "guess"}}]}',
        "joins.0.evidence",
    ),
    "a list": ("[]", "mend it"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_file_that_does_not_fit_is_one_sentence(name: str, tmp_path: Path) -> None:
    text, says = BROKEN[name]
    (tmp_path / NAME).write_text(text, encoding="utf-8")
    with pytest.raises(TraceError) as caught:
        read(tmp_path)
    sentence = str(caught.value)
    assert says in sentence
    assert str(tmp_path / NAME) in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")


def test_a_failed_writing_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path, FULL)
    before = (tmp_path / NAME).read_bytes()

    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", fails)
    with pytest.raises(TraceError, match="No space left"):
        write(tmp_path, Trace())
    assert (tmp_path / NAME).read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == [NAME]


def test_the_file_says_its_version(tmp_path: Path) -> None:
    write(tmp_path, FULL)
    assert json.loads((tmp_path / NAME).read_text(encoding="utf-8"))["lidoff_trace"] == 1
