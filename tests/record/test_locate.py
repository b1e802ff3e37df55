"""The locator names the line of every table and key, and the bounds of every value."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from tests.record.toml_texts import texts

from lidoff.record.locate import DEEPEST, locate, too_deep

# The nine forms below follow the examples of TOML 1.0.0 (toml.io/en/v1.0.0; from memory), values made up.
FORMS = '''# a comment
title = "x" # why
"quoted key".'literal' = 1
[a]
b.c = { d = 1, "e f".g = [1, { h = 2 }] }
[[part]]
ref = "R1"   # [[part]] in a comment
rating.power = 1
[part.nodes]
plus = "p"
[[part]]
note = """
first [[part]]
second \\""" # not a comment
"""
list = [
  "a",  # first ] element
  """b
]""", [
    'c' ],
]
[[part.leg]]
n = 1979-05-27 07:32:00
[[part.leg]]
n = 1979-05-27
'''


def paths(data: Any, base: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Every path of parsed TOML data: keys of tables and indices of arrays."""
    if isinstance(data, dict):
        steps: list[tuple[str | int, Any]] = list(data.items())
    elif isinstance(data, list):
        steps = list(enumerate(data))
    else:
        return set()
    found = {(*base, step) for step, _ in steps}
    return found.union(*(paths(value, (*base, step)) for step, value in steps)) if steps else found


def held(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def test_every_form_has_its_line() -> None:
    """Dotted keys, inline tables, arrays of tables, long strings and arrays are each found where they stand."""
    lines = locate(FORMS).lines
    expected = {
        ("title",): 2,
        ("quoted key",): 3,
        ("quoted key", "literal"): 3,
        ("a",): 4,
        ("a", "b"): 5,
        ("a", "b", "c", "d"): 5,
        ("a", "b", "c", "e f", "g", 1, "h"): 5,
        ("part",): 6,
        ("part", 0): 6,
        ("part", 0, "ref"): 7,
        ("part", 0, "rating", "power"): 8,
        ("part", 0, "nodes"): 9,
        ("part", 0, "nodes", "plus"): 10,
        ("part", 1): 11,
        ("part", 1, "note"): 12,
        ("part", 1, "list"): 16,
        ("part", 1, "list", 0): 17,
        ("part", 1, "list", 1): 18,
        ("part", 1, "list", 2): 19,
        ("part", 1, "list", 2, 0): 20,
        ("part", 1, "leg", 0): 22,
        ("part", 1, "leg", 1, "n"): 25,
    }
    assert expected == {path: lines[path] for path in expected}


def test_unknown_path_has_the_line_of_the_table_around_it() -> None:
    """A key that was left out is reported at its table."""
    places = locate(FORMS)
    assert places.line(("part", 1, "value")) == 11
    assert places.line(("supply", "voltage")) == 1


@settings(max_examples=100)
@given(texts())
def test_same_keys_as_the_standard_parser(pair: tuple[str, dict[str, Any]]) -> None:
    """The standard library's parser and the locator see the same keys, and each value's text is that value."""
    text, data = pair
    parsed = tomllib.loads(text)
    assert parsed == data
    places = locate(text)
    assert paths(parsed) == set(places.lines)
    for path, entry in places.entries.items():
        assert tomllib.loads("x = " + text[entry.value : entry.end])["x"] == held(parsed, path)
        assert entry.line == places.lines[path] == text.count("\n", 0, entry.start) + 1
    for section in places.sections[1:]:
        assert text[section.start] == "["
        assert text[section.end - 1] == "]"
        assert section.line == places.lines[section.path] == text.count("\n", 0, section.start) + 1


def test_reference_records(reference: Path) -> None:
    """The locator sees the same keys as the parser in every record among the reference files."""
    files = sorted(reference.glob("cycle/*.toml"))
    assert len(files) == 5
    for file in files:
        text = file.read_text(encoding="utf-8")
        assert paths(tomllib.loads(text)) == set(locate(text).lines)


def test_a_key_of_too_many_steps_is_found_before_parsing() -> None:
    """A dotted key of a hundred thousand steps, which would take the parser hours, is found at once."""
    assert too_deep("a = 1\n" + "a." * (DEEPEST - 1) + "b = 1") is None
    assert too_deep("a = 1\n" + "a." * 100_000 + "b = 1") == 2
    assert too_deep("[" + "a . " * 100_000 + "b]") == 1
    assert too_deep("x = { " + '"a".' * 100_000 + "b = 1 }") == 1


@pytest.mark.parametrize("text", ["= 1", "a = ", "[a", "a = [1 2]", "a = {b = 1 c = 2}", "a b = 1"])
def test_text_that_is_not_toml_is_refused(text: str) -> None:
    """Where the text is not TOML, the locator says so with the line, and does not run on."""
    with pytest.raises(ValueError, match=r"^line 1: "):
        locate(text)
