"""`lidoff demo` and `lidoff report` as they are typed."""

from __future__ import annotations

import json
import os
import pty
from pathlib import Path

import pytest

from lidoff.cli import main
from lidoff.demo import NAMES, shipped

pytestmark = pytest.mark.xdist_group("writeup")
PLAIN = 'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]\n'


def test_demo_writes_reports_and_says_where_they_lie(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "demo"
    assert main(["demo", str(folder)]) == 0
    said = capsys.readouterr()
    for name in NAMES:
        page = folder / name / "report.html"
        assert page.is_file()
        assert str(page) in said.out.splitlines()
    assert "Working on Globe lamp" in said.err
    # A second time with one record changed: it is kept, said so, and reported on as it is.
    mine = folder / "night-light" / "item.toml"
    mine.write_text(shipped("night-light").replace("Night light", "My night light"), encoding="utf-8")
    assert main(["demo", str(folder), "--json"]) == 0
    said = capsys.readouterr()
    rows = {Path(row["record"]).name: row for row in json.loads(said.out)["items"]}
    assert [rows[name]["how"] for name in NAMES] == ["there", "changed", "there"]
    assert "is left as it is" in said.err
    assert mine.read_text(encoding="utf-8").count("My night light") == 1
    assert "My night light" in (folder / "night-light" / "report.html").read_text(encoding="utf-8")


def test_everything_is_published_where_it_is_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One item, and its film cut to a few frames: all three in full take a minute."""
    from lidoff.writeup import animation

    whole = animation.render_animation
    monkeypatch.setattr("lidoff.demo.items.NAMES", ("lamp-charger",))
    monkeypatch.setattr(animation, "render_animation", lambda account, kinds: whole(account, kinds, steps=4))
    assert main(["demo", str(tmp_path), "--everything"]) == 0
    capsys.readouterr()
    folder = tmp_path / "lamp-charger"
    for name in ("report.html", "report-short.html", "report.pdf", "report-short.pdf", "cycle.gif", "cycle.webp"):
        assert (folder / name).is_file(), name
    assert len(list((folder / "stills").glob("wide-*.png"))) == len(list((folder / "stills").glob("square-*.png"))) > 9


def test_report_stands_beside_the_record_and_its_path_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    assert capsys.readouterr().out.strip() == str(tmp_path / "report.html")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "figures.csv",
        "item.toml",
        "report.html",
        "report.json",
    ]


def test_report_of_a_lone_file_stands_beside_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "heater.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path / "heater.toml")]) == 0
    assert (tmp_path / "report.html").is_file()
    assert "<h1>heater</h1>" in (tmp_path / "report.html").read_text(encoding="utf-8")
    capsys.readouterr()


def test_report_goes_where_it_is_told_and_tells_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path), "-o", str(tmp_path / "out"), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["report"] == str(tmp_path / "out" / "report.html")
    assert all(Path(file).is_file() for file in document["files"])
    assert len(document["fingerprint"]) == 64
    assert document["warnings"] == []


def test_a_report_changed_by_hand_ends_with_one_sentence_and_status_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    page = tmp_path / "report.html"
    page.write_text(page.read_text(encoding="utf-8").replace("Nothing", "Something"), encoding="utf-8")
    changed = page.read_bytes()
    capsys.readouterr()
    assert main(["report", str(tmp_path)]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "has been changed since it was written and is left as it is" in said.err
    assert page.read_bytes() == changed


def test_a_record_that_cannot_be_read_leaves_no_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN.replace("1k", "minus one"), encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 1
    assert "R1.value" in capsys.readouterr().err
    assert not (tmp_path / "report.html").exists()


def test_a_warning_of_the_record_is_said_and_the_report_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "item.toml").write_text(PLAIN + 'valeu = "2k"\n', encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    assert "valeu" in capsys.readouterr().err


def test_stages_are_told_on_a_terminal_and_wiped_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    reader, writer = pty.openpty()
    with os.fdopen(writer, "w", encoding="utf-8", buffering=1) as terminal:
        monkeypatch.setattr("sys.stderr", terminal)
        assert main(["report", str(tmp_path)]) == 0
        monkeypatch.undo()
        said = os.read(reader, 100_000).decode()
    os.close(reader)
    assert "Now: the mains cycle of every state" in said
    assert said.endswith("\r\x1b[2K")
