"""`lidoff readings`."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.readings.records import STRIP, UNREAD, item_of, reading

import lidoff
from lidoff.cli.run import main


def test_text_says_the_verdicts_and_what_next(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """For people: each reading with its verdict and why, then what to measure next with its caution."""
    item_of(tmp_path, reading("power", "9.7 W"), reading("power", "20 W", state="unread"))
    assert main(["readings", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "agrees" in out
    assert "cannot-tell" in out
    assert "What to measure next" in out
    assert "Caution:" in out
    assert "safe" not in out.lower()


def test_json_is_one_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--json` prints one document with the contract's keys and nothing else."""
    item_of(tmp_path, reading("power", "9.7 W"), "[supply2]\n")
    assert main(["readings", str(tmp_path), "--json"]) == 0
    captured = capsys.readouterr()
    document = json.loads(captured.out)
    assert document["readings"][0]["verdict"] == "agrees"
    assert document["readings"][0]["unit"] == "W"
    assert any("supply2" in warning for warning in document["warnings"])


def test_a_record_without_readings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing written down: said, with the first thing to measure."""
    item_of(tmp_path, states=UNREAD)
    assert main(["readings", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "No readings" in out
    assert "voltage" in out


def test_no_such_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No file: one sentence, exit status 1."""
    assert main(["readings", str(tmp_path / "gone")]) == 1
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_recordings_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A recording is told with its figures, or with what is wrong with it."""
    item_of(tmp_path, '[[recording]]\nfile = "gone.csv"\n', parts="", states="")
    assert main(["readings", str(tmp_path)]) == 0
    assert "no such file" in capsys.readouterr().out


def test_narrowed_values_are_told_in_their_own_unit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Mains that nobody read are narrowed by a power reading there: told in volts, about where the power was made."""
    parts = STRIP.replace('forward_voltage = "2.9 V"', 'forward_voltage = "?"\nbetween = ["2.5 V", "3.3 V"]')
    power = lidoff.solve(item_of(tmp_path), state="unread").figures()["input"]["power"]
    item_of(
        tmp_path,
        reading("voltage_dc", "208.9 V", "hand meter", "full", at=["p", "m"]),
        reading("power", f"{power:.3f} W", state="unread"),
        parts=parts,
    )
    assert main(["readings", str(tmp_path)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    said = re.search(r"supply\.voltage in 'unread' is narrowed: ([\d.]+) V to ([\d.]+) V, where 230 V is", out)
    assert said is not None, out
    assert 207.0 < float(said[1]) < 230.0 < float(said[2]) < 253.0
    assert "times what is recorded" not in out
