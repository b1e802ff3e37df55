"""Figures to no more digits than their interval has at two figures: JCGM 100:2008 (GUM), 7.2.6."""

from __future__ import annotations

import pytest

from lidoff.account import Figure, Range
from lidoff.writeup.numbers import SOLVER, between, big, share, spread, to_digits, written


@pytest.mark.parametrize(
    ("value", "half", "unit", "text"),
    [
        (10.05762, 0.027, "ohm", "10.1 Ω"),  # GUM 7.2.6: 10.058 Ω with u = 27 mΩ; three figures are shown at most here
        (5.43, 2.0, "W", "5.4 W"),
        (5.43, 0.2, "W", "5.43 W"),
        (0.9178, 0.027, "", "0.918"),
        (99.97, 0.5, "%", "100 %"),
        (99.97, 3.0, "%", "100 %"),
        (0.104, 0.0005, "W", "104 mW"),
        (0.049, 0.012, "A", "49 mA"),
        (231.4, 23.0, "V", "231 V"),
        (231.4, 230.0, "V", "230 V"),
        (0.0, 1.0, "W", "0 W"),
        (-3.214, 0.11, "V", "-3.21 V"),
    ],
)
def test_digits_follow_the_interval(value: float, half: float, unit: str, text: str) -> None:
    assert to_digits(value, half, unit).replace("−", "-") == text


def test_a_figure_without_a_range_has_the_solvers_own() -> None:
    figure = Figure(value=5.43, unit="W", origin="computed")
    assert written(figure) == "5.43 W"
    assert spread(figure) == ""


def test_a_range_no_wider_than_the_solvers_error_is_not_shown() -> None:
    value = 5.0
    narrow = Range(low=value * (1 - 0.5 * SOLVER), high=value * (1 + 0.5 * SOLVER))
    assert spread(Figure(value=value, unit="W", origin="computed", range=narrow)) == ""


def test_both_ends_have_the_digits_of_their_half_and_one_unit() -> None:
    assert between(3.5196, 7.570, "W") == "3.5 to 7.6 W"
    assert between(0.0366, 0.0617, "A") == "37 to 62 mA"
    assert between(0.8859, 0.9404, "") == "0.886 to 0.940"


def test_ends_of_different_prefixes_keep_them() -> None:
    assert between(0.9, 1.1, "A") == "900 mA to 1.10 A"


def test_a_large_figure_has_its_unit_apart() -> None:
    found = big(Figure(value=5.4, unit="W", origin="computed", range=Range(low=3.5, high=7.6)), "power")
    assert found is not None
    assert (found.value, found.unit, found.origin, found.spread) == ("5.4", "W", "computed", "3.5 to 7.6 W")
    plain = big(Figure(value=0.918, unit="", origin="computed"), "power factor")
    assert plain is not None
    assert (plain.value, plain.unit) == ("0.918", "")
    assert big(None, "nothing") is None


def test_a_share_says_where_it_is_next_to_nothing() -> None:
    assert [share(value) for value in (0.0, 0.001, 0.756, 1.21)] == ["0 %", "under 1 %", "76 %", "121 %"]
