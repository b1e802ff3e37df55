"""Temperatures that were read: degrees Celsius for people, kelvins in the document, differences in kelvins."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.readings.records import HEATER, item_of, reading

import lidoff
from lidoff.cli.run import main
from lidoff.readings import judge
from lidoff.readings.accuracy import error_of
from lidoff.record import Item

SHELL = '[[surface]]\nname = "shell"\nreached = "by hand"\nnode = "insulated"\n'
PROBE = '[[meter]]\nname = "probe"\nkind = "multimeter-true-rms"\naccuracy = { temperature = "1 % + 1 °C" }\n'
TWICE = tuple(
    reading("temperature", value, at="surface:shell", state=None, meter="probe") for value in ("186 °C", "120 °C")
)


def warm(tmp_path: Path, *more: str) -> Item:
    return item_of(tmp_path, SHELL, PROBE, *TWICE, *more, parts=HEATER, states="")


def test_what_was_read_is_told_in_degrees(tmp_path: Path) -> None:
    """A reading written in degrees is named in degrees by every sentence about it; kelvins are for the document."""
    item = warm(tmp_path)
    judgement = judge(item)
    (broken,) = judgement.contradictions
    assert "as 186 °C and 120 °C" in broken.what
    for one in judgement.readings:
        assert "temperature of 186 °C and temperature of 120 °C are both possible" in one.why
    told = json.dumps(lidoff.readings(item), ensure_ascii=False)
    assert '"measured": 459.15' in told
    assert not re.search(r"\d K\b", told), told


def test_the_command_prints_degrees_and_rises_in_kelvins(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rise is a difference, and 60 K of it are 60 °C of it: it keeps its unit (SI Brochure, 9th ed., 2.3.1)."""
    warm(tmp_path, reading("temperature_rise", "60 K", at="surface:shell", state=None))
    assert main(["readings", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "186 °C" in out
    assert "60.0 K" in out
    assert "459" not in out


@pytest.mark.parametrize(("value", "half"), [("186 °C", 2.86), ("-20 °C", 1.2), ("459.15 K", 2.86)])
def test_a_share_of_a_temperature_is_one_of_the_degrees_shown(tmp_path: Path, value: str, half: float) -> None:
    """A thermometer good to 1 % + 1 °C of reading shows degrees: ±2.86 K at 186 °C, not 1 % of 459 K."""
    item = item_of(tmp_path, PROBE, reading("temperature", value, state=None, meter="probe"), parts=HEATER, states="")
    assert error_of(item, item.readings[0]).half_width == pytest.approx(half)
