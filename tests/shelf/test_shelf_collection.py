"""Twenty invented items worked out for real: the shelf's answers against the solver and the records themselves."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from tests.shelf.inventing import invented

import lidoff
from lidoff.shelf import count, find, understand
from lidoff.shelf.indexing import add
from lidoff.shelf.store import reading
from lidoff.shelf.working import LEFT_OUT, quick_account, worked_out


def records(folder: Path) -> dict[str, dict[str, object]]:
    """Each record as plain TOML, by its title: no code of ours has read it."""
    found = [tomllib.loads(path.read_text()) for path in sorted(folder.glob("*/item.toml"))]
    return {str(one["item"]["title"]): one for one in found}


def test_which_strips_flicker_and_draw(invented_index: tuple[Path, Path]) -> None:
    """The answer to the sentence is that of solving every strip by itself."""
    index, folder = invented_index
    wanted = set()
    for path in sorted(folder.glob("*/item.toml")):
        item = lidoff.open(path)
        if "strip" not in item.title:
            continue
        figures = lidoff.solve(item).figures()
        if figures["input"]["power"] > 8.0 and figures["light"]["percent_flicker"] > 80.0:
            wanted.add(item.title)
    found = find(index, understand("which strips flicker over 80 % and draw over 8 W"), limit=None)
    assert {hit.title for hit in found.hits} == wanted
    assert len(wanted) >= 2


def test_how_many_plug_fuses_had_no_filler(invented_index: tuple[Path, Path]) -> None:
    """The answer is that of counting the sightings in the files."""
    index, folder = invented_index
    seen = [
        next((one["seen"] for one in record.get("sighting", []) if one["about"] == "plug-fuse-filler"), None)  # type: ignore[attr-defined]
        for record in records(folder).values()
        if record["plug"]["kind"] == "BS 1363"  # type: ignore[index]
    ]
    told = count(index, "how many plug fuses had no filler")
    bars = {bar.label: bar.count for bar in told.bars}
    assert bars == {
        "filler": seen.count("filler"),
        "no filler": seen.count("no filler"),
        "not looked at": seen.count(None),
    }
    assert told.of == 20
    assert f"in {seen.count('no filler')} of {len(seen) - seen.count(None)} looked at" in told.sentence


def test_every_invented_item_is_solved(invented_index: tuple[Path, Path]) -> None:
    found = find(invented_index[0], limit=None)
    assert [(hit.title, hit.status, hit.problem) for hit in found.hits if hit.status != "solved"] == []
    assert all(hit.sentence for hit in found.hits)
    assert {hit.title for hit in found.hits} == set(records(invented_index[1]))


def test_the_same_seed_gives_the_same_record() -> None:
    assert invented(7) == invented(7)
    assert len({invented(seed) for seed in range(50)}) == 50


@pytest.mark.parametrize("seed", [3, 4])
def test_the_quick_way_says_of_figures_what_the_whole_account_says(seed: int, tmp_path: Path) -> None:
    """Every value of these is written down, so the two ways come to the same; only the ranges are left out."""
    (tmp_path / "item.toml").write_text(invented(seed))
    item = lidoff.open(tmp_path)
    quick, full = worked_out(item, "quick"), worked_out(item, "full")
    named = {(one.state, one.name): one.value for one in full.figures}
    assert len(quick.figures) > 10
    for one in quick.figures:
        assert one.value == pytest.approx(named[one.state, one.name], rel=1e-6, abs=1e-9)
        assert one.low is None
    assert any(one.low is not None and one.low < one.value < one.high for one in full.figures)  # type: ignore[operator]
    assert {(one.ref, one.kind, one.shown) for one in quick.parts} == {
        (one.ref, one.kind, one.shown) for one in full.parts
    }
    assert quick.formed == full.formed
    assert quick.looks == full.looks
    found = {one.rule for one in quick.judged if one.outcome == "found"}
    assert found <= {one.rule for one in full.judged if one.outcome == "found"}
    assert quick.fingerprint == full.fingerprint


def test_the_quick_way_says_what_it_leaves_out(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(invented(3))
    account = quick_account(lidoff.open(tmp_path))
    assert account.skipped[0].why == LEFT_OUT
    assert "faults" not in {one.id for one in account.findings.findings}  # type: ignore[union-attr]
    assert "single-fault-overheats" in {one.id for one in account.findings.undecided}  # type: ignore[union-attr]


def test_a_demo_item_in_full(tmp_path: Path) -> None:
    """Through the whole account: knobs and faults are on the shelf, and ranges."""
    from lidoff.demo import items

    folder = Path(items.__file__).parent / "records"
    index = tmp_path / "shelf.sqlite"
    add(index, [folder / "globe-lamp"])
    assert find(index, understand("dead travel over 20 %")).hits[0].title.startswith("Globe lamp")
    assert find(index, understand("lamps with a triac and phase control, flicker over 90 %")).total == 1
    assert {hit.depth for hit in find(index).hits} == {"full"}
    with reading(index) as connection:
        undecided = {rule for (rule,) in connection.execute("SELECT rule FROM judged WHERE outcome = 'undecided'")}
        spans = connection.execute("SELECT low, high FROM span WHERE name = 'input.power'").fetchall()
    assert "single-fault-overheats" not in undecided  # the faults were worked through
    assert spans
    assert all(low < high for low, high in spans)
