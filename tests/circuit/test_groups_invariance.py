"""What must not change what parts form: names of nodes, order of parts, which way round they were written, the plug."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.circuit.group_strategies import circuits, grown, permuted, plug_turned, renamed, told, turned

import lidoff
from lidoff.circuit import Circuit, build
from lidoff.circuit.groups import recognise

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
RECORDS = sorted([*(REFERENCE / "groups").glob("*.toml"), *(REFERENCE / "cycle").glob("*.toml")])
RECORDS = [path for path in RECORDS if path.name != "expected.toml"]


def all_told(circuit: Circuit) -> list[object]:
    return told(recognise(circuit))


@given(st.one_of(circuits(), grown()), st.integers(0, 2**32 - 1))
@settings(max_examples=120)
def test_any_heap_of_parts_reads_the_same_however_it_is_written(circuit: Circuit, seed: int) -> None:
    """Renaming nodes, permuting parts and turning unpolarised parts round change nothing at all."""
    expected = all_told(circuit)
    assert all_told(renamed(circuit, seed)) == expected
    assert all_told(permuted(circuit, seed)) == expected
    assert all_told(turned(circuit, seed)) == expected


@given(st.one_of(circuits(), grown()))
@settings(max_examples=80)
def test_the_other_way_up_only_live_and_neutral_change_places_in_the_words(circuit: Circuit) -> None:
    """With the plug turned the groups are the same, and their sentences name the other pole."""
    assert told(recognise(plug_turned(circuit)), swapped=True) == all_told(circuit)


@given(st.one_of(circuits(), grown()))
@settings(max_examples=80)
def test_every_part_has_a_place_or_is_listed(circuit: Circuit) -> None:
    """A part is some group's own or unexplained, never both; it is the own part of at most one best reading."""
    groups = recognise(circuit)
    known = {ref for group in groups.groups for ref in group.own}
    assert known | set(groups.unexplained) == {element.ref for element in circuit.elements}
    assert not known & set(groups.unexplained)
    owned = [ref for group in groups.best for ref in group.own]
    assert len(owned) == len(set(owned))
    assert len({group.id for group in groups.groups}) == len(groups.groups)


@pytest.mark.parametrize("path", RECORDS, ids=lambda path: path.stem)
def test_a_record_reads_the_same_however_it_is_written(path: Path) -> None:
    """The same, on circuits that somebody would build."""
    circuit = build(lidoff.open(path))
    expected = all_told(circuit)
    for seed in range(6):
        changed = turned(permuted(renamed(circuit, seed), seed + 1), seed + 2)
        assert all_told(changed) == expected
        assert told(recognise(plug_turned(changed)), swapped=True) == expected
