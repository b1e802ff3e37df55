"""How far a figure may be off: against closed forms, where one input at a time is moved to the ends of its range.

Power of a resistor on the mains is V²/R. With the mains within ±10 % it lies between 0.81 and 1.21 of its middle, with
R within ±5 % between 1/1.05 and 1/0.95; the root of squares of both is JCGM 100:2008, equation (10), taken to the ends.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

import lidoff
from lidoff.account import Account, Range, take

HEATER = """
lidoff = 1
[item]
title = "Plain heater"
[supply]
voltage = "230 V"
resistance = 0
{supply}
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
{tolerance}
nodes = ["live", "neutral"]
"""


def account_of(tmp_path: Path, text: str) -> Account:
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    return take(lidoff.open(tmp_path))


def power_range(account: Account) -> tuple[float, Range]:
    main = account.main
    assert main is not None
    figure = main.figure("input.power", "W")
    assert figure is not None
    assert figure.range is not None
    return figure.value, figure.range


def test_the_range_of_the_mains_alone_is_that_of_its_square(tmp_path: Path) -> None:
    value, found = power_range(account_of(tmp_path, HEATER.format(supply="", tolerance="")))
    assert value == pytest.approx(52.9, rel=1e-3)
    # The shape of the mains, 1 % of third and of fifth harmonic, adds 2e-4 in the root of squares: nothing.
    assert found.low / value == pytest.approx(0.81, abs=2e-3)
    assert found.high / value == pytest.approx(1.21, abs=2e-3)
    assert found.most == "supply.voltage"
    assert found.share == pytest.approx(1.0, abs=1e-3)


def test_a_tolerance_adds_as_a_root_of_squares(tmp_path: Path) -> None:
    value, found = power_range(account_of(tmp_path, HEATER.format(supply="", tolerance='tolerance = "5 %"')))
    assert found.high / value - 1.0 == pytest.approx(math.hypot(0.21, 1 / 0.95 - 1), abs=2e-3)
    assert 1.0 - found.low / value == pytest.approx(math.hypot(0.19, 1 - 1 / 1.05), abs=2e-3)
    assert 0.85 < found.share < 0.99


def test_a_measured_mains_leaves_one_percent_of_voltage(tmp_path: Path) -> None:
    value, found = power_range(account_of(tmp_path, HEATER.format(supply="measured = true", tolerance="")))
    assert found.half_width / value == pytest.approx(0.02, abs=1e-3)


def test_a_value_that_nobody_wrote_is_moved_between_its_bounds(tmp_path: Path) -> None:
    text = HEATER.format(supply="measured = true\nrange = 0", tolerance='between = ["900 R", "1100 R"]')
    value, found = power_range(account_of(tmp_path, text.replace('value = "1k"', 'value = "?"')))
    assert found.low == pytest.approx(52900 / 1100, rel=2e-3)
    assert found.high == pytest.approx(52900 / 900, rel=2e-3)
    assert found.most == "R1.value"
    assert found.low < value < found.high


def test_a_stress_has_a_range_of_its_own(tmp_path: Path) -> None:
    account = account_of(tmp_path, HEATER.format(supply="", tolerance=""))
    main = account.main
    assert main is not None
    found = main.ranges["stress.R1.power.mean power"]
    assert found.high / found.low == pytest.approx(1.21 / 0.81, abs=5e-3)


def test_a_figure_that_is_not_there_is_none(tmp_path: Path) -> None:
    main = account_of(tmp_path, HEATER.format(supply="", tolerance="")).main
    assert main is not None
    assert main.figure("light.percent_flicker", "%") is None
    assert main.figure("no.such", "W") is None
