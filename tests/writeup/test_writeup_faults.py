"""The chapter on single faults: the picture, and a table in which no part crowds the others out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pytest

from lidoff.account import Account
from lidoff.writeup.blocks import Picture, Table, plain
from lidoff.writeup.chapters.faults import faults


@pytest.mark.parametrize("name", ["globe-lamp", "night-light", "lamp-charger"])
def test_table_has_the_worst_and_no_part_more_than_twice(name: str, accounts: Mapping[str, Account]) -> None:
    found = accounts[name].faults
    assert found is not None
    blocks = faults(accounts[name])
    table = next(block for block in blocks if isinstance(block, Table))
    first = [plain(row.cells[0]) for row in table.rows]
    count = Counter(words.partition(" ")[0] for words in first)
    assert max(count.values()) <= 2
    severities = [int(plain(row.cells[2])[0]) for row in table.rows]
    assert severities == sorted(severities, reverse=True)
    assert severities[0] == found.faults[0].severity
    left = len(found.faults) - len(table.rows)
    assert plain(table.caption).startswith(f"{left} more stand in report.json beside this page")
    # What the caption promises: nothing left out is worse than what is shown of its part, or than the last row.
    shown: dict[str, int] = {}
    for words, level in zip(first, severities, strict=True):
        shown.setdefault(words.partition(" ")[0].casefold(), level)
    for fault in found.faults:
        assert fault.severity <= max(shown.get(fault.part.casefold(), 0), severities[-1])


def test_the_picture_comes_before_the_table(accounts: Mapping[str, Account]) -> None:
    kinds = [type(block) for block in faults(accounts["globe-lamp"])]
    assert kinds.index(Picture) < kinds.index(Table)
    picture = next(block for block in faults(accounts["globe-lamp"]) if isinstance(block, Picture))
    assert "lidoff faults" in picture.wide
    assert 'viewBox="0 0 360' in picture.narrow
    assert plain(picture.caption).startswith("A row is a part, the worst one first.")
