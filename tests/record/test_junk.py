"""Whatever stands where, reading ends in an item or in sentences, never in a traceback."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.record.strategies import items
from tests.record.test_reading import FULL
from tests.record.toml_texts import texts

from lidoff.record import Item, Problem, RecordError, examine
from lidoff.record.checking import missing
from lidoff.record.dump import dump
from lidoff.record.locate import locate
from lidoff.record.splice import remove_at
from lidoff.record.toml_text import key_text, value_text

JUNK: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**70), 2**70),
        st.floats(),
        st.sampled_from(
            [
                "",
                " ",
                "?",
                "4k7",
                "-1",
                "0R",
                "1e400 V",
                "\x7f",
                "R1",
                "live",
                "section",
                "5 %",
                "a/b",
                "é" * 99,
                "a\n\x1b[2Jb",
            ]
        ),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(["value", "power", "live", "R1", "", "h3", "a.b", "ref", "a\nb"]), inner, max_size=3
        ),
    ),
    max_leaves=6,
)
PATHS = sorted(locate(FULL).lines, key=repr)


def answered(text: str) -> None:
    """The text is read, or refused in sentences that each stand on one line and name a line of the text."""
    problems: tuple[Problem, ...]
    try:
        item, problems = examine(text, Path("item.toml"))
    except RecordError as error:
        problems = error.problems
    else:
        assert all("\n" not in sentence for sentence in missing(item))
        if not any(problem.level == "error" for problem in problems):
            dump(item)
    for problem in problems:
        assert problem.message
        assert 0 <= problem.line <= text.count("\n") + 1
        assert problem.message.isprintable()
        assert problem.key.isprintable()


@settings(max_examples=120)
@given(st.sampled_from(PATHS), JUNK)
def test_junk_in_the_place_of_any_value(path: tuple[str | int, ...], junk: Any) -> None:
    """Each key, element and table of a full record replaced by something that does not belong there."""
    data: Any = tomllib.loads(FULL)
    at = data
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = junk
    answered("".join(f"{key_text(key)} = {value_text(value)}\n" for key, value in data.items()))


@settings(max_examples=60)
@given(st.sampled_from([path for path in PATHS if path in locate(FULL).entries]))
def test_any_key_left_out(path: tuple[str | int, ...]) -> None:
    """Each key and element of a full record taken away."""
    answered(remove_at(FULL, path))


@settings(max_examples=40)
@given(texts())
def test_any_toml_at_all(pair: tuple[str, dict[str, Any]]) -> None:
    """TOML that has nothing to do with a record."""
    answered(pair[0])


@settings(max_examples=30)
@given(items(), st.data())
def test_a_record_cut_off_anywhere(item: Item, data: st.DataObject) -> None:
    """A record whose end was lost, as by a full disk."""
    text = dump(item)
    answered(text[: data.draw(st.integers(0, len(text)))])
