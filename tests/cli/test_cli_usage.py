"""Exit statuses, help pages and where things are printed: the contract of the command line."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import lidoff
import lidoff.cli
from lidoff.cli.commands import COMMANDS


@pytest.mark.parametrize(
    "words",
    [
        ["nonsense"],
        ["--nonsense"],
        ["decode"],
        ["decode", "--kind"],
        ["figures"],
        ["figures", "x", "--nonsense"],
        ["figures", "x", "y"],
        ["check"],
        ["new"],
    ],
    ids=" ".join,
)
def test_wrong_usage_is_status_2_and_one_sentence(lidoff_command, words: list[str]) -> None:
    done = lidoff_command(*words)
    assert (done.status, done.out) == (2, "")
    assert len(done.err.splitlines()) == 1
    assert "--help" in done.err


def test_a_command_that_is_not_there_is_answered_with_the_nearest(lidoff_command) -> None:
    done = lidoff_command("figurs", "x")
    assert done.status == 2
    assert done.err == 'Unknown command "figurs". Did you mean "figures"?; see: lidoff --help\n'


def test_the_overview_lists_every_command_with_its_line(lidoff_command) -> None:
    for words in ([], ["--help"], ["-h"]):
        done = lidoff_command(*words)
        assert (done.status, done.err) == (0, "")
        shown = {line.split()[0]: line.split()[1:] for line in done.out.splitlines() if line.strip()}
        for name in COMMANDS:
            assert shown.get(name), f"{name} has no line"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_a_help_page(lidoff_command, name: str) -> None:
    done = lidoff_command(name, "--help")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(f"Usage: lidoff {name}")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_each_of_its_options(name: str) -> None:
    """A parameter without words in the help page is of no help."""
    from lidoff.cli.run import build

    command = build()[name]
    inner = [one for one in command if not one.startswith("-")]
    for each in [command[one] for one in inner] or [command]:
        for argument in each.assemble_argument_collection():
            if not argument.children:  # a group of options is explained option by option
                assert argument.parameter.help, f"{name} {each.name}: {argument.name}"


def test_the_version(lidoff_command) -> None:
    assert lidoff_command("--version").out.strip() == lidoff.__version__


def test_as_a_module_and_in_a_plain_locale() -> None:
    """Signs outside ASCII are written whatever the locale."""
    environ = {key: value for key, value in os.environ.items() if not key.startswith(("LC_", "LANG", "PYTHONIO"))}
    done = subprocess.run(
        [sys.executable, "-m", "lidoff", "decode", "104K"],
        env=environ | {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        capture_output=True,
        check=True,
    )
    assert "100 nF" in done.stdout.decode("utf-8")


def test_a_reader_that_goes_away_is_no_error_message() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as closed:
        done = subprocess.run(
            [sys.executable, "-m", "lidoff", "decode", "104K", "--json"],
            stdout=closed,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.stderr == b""


def test_a_file_that_cannot_be_written_is_named(lidoff_command, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    done = lidoff_command("new", tmp_path / "taken")
    assert done.status == 1
    assert len(done.err.splitlines()) == 1
    assert "taken" in done.err
    assert (tmp_path / "taken").read_text() == "mine"


def test_an_interrupt_while_things_are_loaded_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """130 is 128 + SIGINT (2), as shells give it (POSIX.1-2017, XCU 2.8.2)."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("lidoff.cli.run._speak_utf8", interrupted)
    assert lidoff.cli.main(["check", "."]) == 130
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", "")


def test_a_mistake_deep_inside_names_the_file(lidoff_command, tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text("lidoff = 1\n", encoding="utf-8")
    for named in (tmp_path, tmp_path / "item.toml"):
        done = lidoff_command("figures", str(named))
        assert done.status == 1
        assert done.err.startswith(f"{tmp_path / 'item.toml'}: There are no parts in this state")
        assert len(done.err.splitlines()) == 1
    (tmp_path / "item.toml").write_text(
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["a", "b"]\n', encoding="utf-8"
    )
    done = lidoff_command("figures", str(tmp_path))
    assert f"{tmp_path / 'item.toml'}: No part is joined to the mains' node 'live'" in done.err
    done = lidoff_command("rework", str(tmp_path), "--goal", "light=8")
    assert done.err.startswith("light=8: ")
    assert "800 %" in done.err


def test_pads_that_are_no_json_are_said_to_be_none(lidoff_command, tmp_path: Path) -> None:
    pads = tmp_path / "pads.json"
    pads.write_text("P001 at 10, 20", encoding="utf-8")
    done = lidoff_command("trace", "--photo", str(tmp_path / "board.png"), "--pads", str(pads))
    assert (done.status, done.out) == (1, "")
    assert done.err == f"{pads}, line 1: this is no JSON; write the file as lidoff trace --help shows.\n"
