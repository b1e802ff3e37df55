"""docs/tutorial.md as it is typed: every command of its first part runs in a folder where the demo's records lie."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from lidoff.cli import main
from lidoff.demo import write_items

pytestmark = pytest.mark.xdist_group("writeup")


def test_every_command_of_the_tutorial_runs_as_it_stands(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (root / "docs" / "tutorial.md").read_text(encoding="utf-8").partition("\n## Another item")[0]
    commands = re.findall(r"^lidoff .*|(?<=`)lidoff [^`]*(?=`)", text, re.MULTILINE)
    assert len(commands) >= 10
    write_items(tmp_path / "demo")
    monkeypatch.chdir(tmp_path)
    said: dict[str, str] = {}
    for command in commands:
        assert main(shlex.split(command)[1:]) == 0, command
        said[command] = capsys.readouterr().out
    assert Path("my-lamp/item.toml").is_file()
    assert Path("demo/globe-lamp/report.html").is_file()
    # What the text claims of what they show: a dead knob over three fifths, a power factor that is right.
    assert "Over 61 % of the turn" in said["lidoff turn demo/globe-lamp VR1"]
    assert "power factor at the input: agrees" in said["lidoff readings demo/globe-lamp"]
    assert said['lidoff decode "red black red" --measured "0.1 R"'].startswith("2 A")
