"""The key figures of the invented items change only with a note that says why."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from tests.writeup.golden import HOW, changes_of, digest, kept

from lidoff.account import Account
from lidoff.demo import NAMES

pytestmark = pytest.mark.xdist_group("writeup")


def test_no_number_has_changed_without_a_note(accounts: Mapping[str, Account]) -> None:
    """To the digits that a write-up shows of each."""
    changed = changes_of(kept(), accounts)
    said = "\n".join(f"{item}: {one.sentence}" for item, changes in changed.items() for one in changes)
    assert not changed, f"numbers changed:\n{said}\n{HOW}"


def test_the_file_was_not_changed_by_hand() -> None:
    document = kept()
    assert document["notes"], "there is no note at all"
    assert digest(document) == document["notes"][-1]["digest"], f"the figures are not those of the last note; {HOW}"
    assert all(len(note["note"].split()) >= 3 for note in document["notes"])


def test_every_item_stands_in_it_with_what_matters() -> None:
    items = kept()["items"]
    assert tuple(items) == NAMES
    for name, figures in items.items():
        assert len(figures) >= 15, name
        assert any(key.endswith(": input.power") for key in figures), name
        assert any(key.endswith(": input.power_factor") for key in figures), name


def test_a_number_that_changes_is_named_with_old_and_new(accounts: Mapping[str, Account]) -> None:
    document = kept()
    name = next(key for key in document["items"]["globe-lamp"] if key.endswith(": input.power"))
    document["items"]["globe-lamp"][name]["value"] *= 1.1
    (change,) = changes_of(document, accounts)["globe-lamp"]
    assert change.name == name
    assert "→" in change.sentence
    assert digest(document) != document["notes"][-1]["digest"]
