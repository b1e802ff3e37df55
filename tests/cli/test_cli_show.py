"""JSON has no numbers but finite ones, and none of the types of numeric libraries."""

from __future__ import annotations

import json
from types import MappingProxyType

import numpy as np
import pytest

from lidoff.cli.show import amount, plain


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
