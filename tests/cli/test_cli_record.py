"""`lidoff new` and `lidoff check`, and what bad input does to every command that reads a record."""

from __future__ import annotations

from pathlib import Path

import pytest


def test_a_new_record_checks_well(lidoff_command, tmp_path: Path) -> None:
    done = lidoff_command("new", tmp_path / "lamp")
    assert (done.status, done.err) == (0, "")
    assert (tmp_path / "lamp" / "item.toml").is_file()
    assert str(tmp_path / "lamp") in done.out.replace("\n", "")
    checked = lidoff_command("check", tmp_path / "lamp", "--json")
    assert checked.status == 0
    assert checked.json["ok"] is True
    assert checked.json["problems"] == []
    assert checked.json["missing"], "a new record says what to look at first"


def test_new_leaves_a_record_alone(lidoff_command, strip: Path) -> None:
    before = (strip / "item.toml").read_bytes()
    done = lidoff_command("new", strip)
    assert done.status == 1
    assert len(done.err.splitlines()) == 1
    assert (strip / "item.toml").read_bytes() == before


def test_check_says_that_a_record_reads_well(lidoff_command, strip: Path) -> None:
    done = lidoff_command("check", strip)
    assert (done.status, done.err) == (0, "")
    assert "reads well" in done.out


def test_a_typo_is_warned_about_and_it_goes_on(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(file.read_text().replace('value = "1k5"', 'valeu = "1k5"\nvalue = "1k5"'))
    done = lidoff_command("check", strip, "--json")
    assert done.status == 0
    (problem,) = done.json["problems"]
    assert problem["level"] == "warning"
    assert "valeu" in problem["message"]
    solved = lidoff_command("figures", strip, "--json")
    assert solved.status == 0
    assert solved.err.startswith("warning: ")
    assert len(solved.json["warnings"]) == 1
    assert "valeu" in solved.json["warnings"][0]


def test_check_names_file_line_and_key(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(file.read_text().replace('value = "1k5"', 'value = "1k5 V"'))
    line = file.read_text().splitlines().index('value = "1k5 V"') + 1
    done = lidoff_command("check", strip, "--json")
    assert done.status == 1
    assert done.json["ok"] is False
    (problem,) = done.json["problems"]
    assert (problem["line"], problem["level"]) == (line, "error")
    assert problem["key"].endswith(".value")
    assert f"item.toml:{line}: R1.value" in done.err
    assert "1k5 V" in lidoff_command("check", strip).out


BAD = {
    "no file": lambda path: None,
    "a folder without a record": lambda path: path.mkdir(),
    "binary": lambda path: path.write_bytes(bytes(range(256)) * 20),
    "10 MB": lambda path: path.write_text("# filler\n" * 1_200_000),
    "not TOML": lambda path: path.write_text("lidoff = 1\n[[part\n"),
    "nan": lambda path: path.write_text('lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = nan\n'),
    "no ohms": lambda path: path.write_text('lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = 0\n'),
    "less than no farads": lambda path: path.write_text(
        'lidoff = 1\n[[part]]\nref = "C1"\nkind = "capacitor"\nvalue = -1e-6\n'
    ),
}


@pytest.mark.parametrize("command", ["figures", "check"])
@pytest.mark.parametrize("bad", BAD)
def test_bad_input_is_one_sentence_and_status_1(lidoff_command, tmp_path: Path, bad: str, command: str) -> None:
    path = tmp_path / "item.toml"
    BAD[bad](path)
    before = path.read_bytes() if path.is_file() else None
    done = lidoff_command(command, path)
    assert done.status == 1
    assert len(done.err.splitlines()) == 1, done.err
    assert "item.toml" in done.err
    assert "Traceback" not in done.err
    assert (path.read_bytes() if path.is_file() else None) == before
