"""JSON has no numbers but finite ones, and none of the types of numeric libraries."""

from __future__ import annotations

import json
from types import MappingProxyType

import numpy as np
import pytest

from lidoff.cli.show import amount, number, percent, plain, share_of
from lidoff.figures.comparison import number as figure
from lidoff.hazards.words import plain as hazard


def test_numbers_that_are_not_finite_become_null() -> None:
    assert plain({"a": float("nan"), "b": [float("inf"), -float("inf"), 1.5]}) == {"a": None, "b": [None, None, 1.5]}


def test_numeric_types_become_plain_ones() -> None:
    document = MappingProxyType(
        {"a": np.float64(1.5), "b": np.array([1.0, np.nan]), "c": np.int64(3), "d": (True, None)}
    )
    assert json.dumps(plain(document)) == '{"a": 1.5, "b": [1.0, null], "c": 3, "d": [true, null]}'


def test_what_has_no_form_in_json_is_an_error() -> None:
    with pytest.raises(TypeError, match="object has no form in JSON"):
        plain({"a": object()})


def test_a_missing_figure_is_a_dash() -> None:
    assert amount(None, "W") == "–"
    assert amount(float("nan"), "W") == "–"
    assert amount(0.0535, "A") == "53.5 mA"


@pytest.mark.parametrize(
    ("shown", "text"),
    [
        (percent(3.05e-05), "under 0.001 %"),
        (percent(0.0), "0 %"),
        (percent(0.133), "0.133 %"),
        (percent(1234.0), "1230 %"),
        (number(4321.0), "4320"),
        (number(0.713), "0.713"),
        (share_of(4.4e-6), "under 0.001 %"),
        (share_of(0.961), "96 %"),
        (amount(0.000195e-9, "W"), "0.195 pW"),
        (amount(505e-6, "VA"), "505 µVA"),
    ],
)
def test_figures_for_people_have_no_powers_of_ten(shown: str, text: str) -> None:
    assert shown == text


def test_absurd_figures_end() -> None:
    """Never a row of zeros."""
    assert number(1e300) == "1.00 × 10³⁰⁰"
    assert number(123456.0) == "123000"
    assert hazard(1e300) == "1.0 × 10³⁰⁰"
    assert figure(1e300) == "1.00 × 10³⁰⁰"
    assert figure(12345.0) == "12345"
