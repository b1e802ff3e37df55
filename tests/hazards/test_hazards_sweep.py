"""Odd records, swept: what each of them is to be found for, and that nothing else is ever found."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

import lidoff
from lidoff.account.hazards import hazards_of
from lidoff.errors import LidoffError
from lidoff.record import read_text

CASES = tomllib.loads((Path(__file__).parent / "odd_records.toml").read_text(encoding="utf-8"))["case"]


def test_there_are_enough_of_them() -> None:
    assert len({case["name"] for case in CASES}) >= 24


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_each_odd_record_is_found_for_what_it_is_and_no_more(case: dict[str, Any]) -> None:
    found = hazards_of(read_text(f"lidoff = 1\n{case['record']}", Path("case.toml")))
    assert {one.id for one in found.findings} == set(case["expected"])
    printed = json.dumps(found.as_json(), allow_nan=False, default=dict)
    for word in ("is safe", "are safe", "passed", "complies"):
        assert word not in printed


DEMO = Path(lidoff.__file__).parent / "demo" / "records"


@pytest.mark.parametrize("name", ["globe-lamp", "lamp-charger", "night-light"])
def test_a_demo_item_with_any_part_taken_out_is_still_judged(name: str) -> None:
    """Each part left out of the first state in turn: an answer every time, and its sightings stay what they were."""
    item = lidoff.open(DEMO / name)
    seen = {one.id for one in hazards_of(item).findings if one.confidence == "seen"}
    text = (DEMO / name / "item.toml").read_text(encoding="utf-8")
    blocks = text.split("\n[[part]]\n")
    for k in range(1, len(blocks)):
        rest = blocks[k].find("\n\n[")
        kept = "\n[[part]]\n".join(blocks[:k]) + (blocks[k][rest:] if rest >= 0 else "")
        kept += "".join("\n[[part]]\n" + block for block in blocks[k + 1 :])
        try:
            half = read_text(kept, Path("case.toml"))
        except LidoffError:
            continue  # a reading or a state names the part: the record says so itself
        assert seen <= {one.id for one in hazards_of(half).findings} | {"marking-missing"}
