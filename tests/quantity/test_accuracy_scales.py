"""Accuracies in units whose written scale has a zero of its own."""

from __future__ import annotations

import pytest

from lidoff.quantity import parse_accuracy


@pytest.mark.parametrize(
    ("text", "expected"),
    [("2 °C", (0.0, 2.0, False)), ("1 % + 2 °C", (0.01, 2.0, False)), ("1.5 K", (0.0, 1.5, False))],
)
def test_degrees_of_an_accuracy_are_differences(text, expected):
    """A thermometer good to 2 °C is good to 2 K (SI Brochure, 9th ed., 2.3.1: a difference in °C is one in K)."""
    share, floor, normal = parse_accuracy(text, "K")
    assert (share, normal) == (expected[0], expected[2])
    assert floor == pytest.approx(expected[1])
