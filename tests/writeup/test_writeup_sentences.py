"""Sentences that somebody on the bench tripped over: each says what it is about, and nothing that is not so."""

from __future__ import annotations

import re
from collections.abc import Mapping

import pytest
from tests.writeup.page_reading import words_of

pytestmark = pytest.mark.xdist_group("writeup")


@pytest.fixture(scope="module")
def words(pages: Mapping[str, str]) -> Mapping[str, str]:
    return {name: words_of(page) for name, page in pages.items()}


def test_what_to_measure_next_is_named_before_why(words: Mapping[str, str]) -> None:
    text = words["globe-lamp"]
    asked = text.split("To measure next:")[1][:200]
    assert asked.split()[0:4] == ["The", "mains", "voltage", "on"]
    assert "Take it together with the other readings" in asked


def test_a_value_that_the_readings_confirm_is_not_said_to_be_rather_itself(words: Mapping[str, str]) -> None:
    """The charger's mains: 242 V was taken and 242 V comes out."""
    text = words["lamp-charger"].split("If all of them are right,")[1][:120].replace("\N{NO-BREAK SPACE}", " ")
    assert re.search(r"“charging” is 242 V", text)
    assert "as taken." in text
    assert "rather" not in text


def test_what_a_converter_takes_is_not_called_its_heat(words: Mapping[str, str]) -> None:
    """It feeds the lamp's battery: energy that goes on does not stay (first law of thermodynamics)."""
    assert "of heat; no rating" not in words["lamp-charger"]
    assert "taken, not all of it as heat; no rating" in words["lamp-charger"]
