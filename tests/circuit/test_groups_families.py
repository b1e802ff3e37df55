"""Each family against its own examples and counter-examples, which are also its page in docs/groups.md."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.circuit import build
from lidoff.circuit.groups import FAMILIES, Example, Family, recognise
from lidoff.circuit.groups.page import page
from lidoff.record import read_text

CASES = [
    pytest.param(family, example, id=f"{family.title}: {example.about}")
    for family in FAMILIES
    for example in (*family.examples, *family.counter_examples)
]


@pytest.mark.parametrize(("family", "example"), CASES)
def test_a_family_finds_in_its_examples_what_they_say(family: Family, example: Example) -> None:
    """Exactly the groups named, each with all its parts; in a counter-example none but those named."""
    groups = recognise(build(read_text(example.record, "example.toml")))
    found = sorted((group.name, group.refs) for group in groups.best if group.name in family.names)
    assert found == sorted(example.finds)


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.title)
def test_every_family_shows_what_it_is_and_what_it_is_not(family: Family) -> None:
    """At least one example with a group in it, at least one counter-example, every name shown in some example."""
    assert family.counter_examples
    assert all(example.finds for example in family.examples)
    shown = {name for example in (*family.examples, *family.counter_examples) for name, _ in example.finds}
    assert set(family.names) == shown


def test_names_belong_to_one_family() -> None:
    names = [name for family in FAMILIES for name in family.names]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(("family", "example"), CASES)
def test_examples_leave_nothing_unsaid(family: Family, example: Example) -> None:
    """Every group of an example has a reason, words for all its parts, and figures in units that can be shown."""
    from lidoff.quantity import engineering

    groups = recognise(build(read_text(example.record, "example.toml")))
    for group in groups.groups:
        assert group.why.endswith(".")
        assert group.title[0].islower() or group.title.startswith("LED")
        assert set(group.roles) == set(group.refs)
        assert all(group.roles.values())
        assert all(remark.endswith(".") for remark in group.remarks)
        for value, unit in group.figures.values():
            assert engineering(value, unit)


def test_the_page_is_that_of_the_registry() -> None:
    """docs/groups.md is written by `python -m lidoff.circuit.groups.page > docs/groups.md`."""
    there = Path(__file__).resolve().parents[2] / "docs" / "groups.md"
    assert there.read_text(encoding="utf-8") == page()
