"""Pieces of copper get sensible node names, and what contradicts what was typed is listed and never written over."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lidoff.photos.connections import changed_text, connections, shown
from lidoff.photos.kept import Continuity, KeptJoin, KeptPad, KeptWire, Picture, Trace, TraceError, Word
from lidoff.photos.naming import name_nodes, pieces_of
from lidoff.photos.telling import answered, named, told, wired, with_more, without
from lidoff.record import Item, read_text

RECORD = """lidoff = 1

[[part]]
ref = "R1"
kind = "resistor"       # the grey one
value = "100R"

[[part]]
ref = "BR1"
kind = "bridge"

[[part]]
ref = "C1"
kind = "capacitor"
value = "10u"
"""
PINS = ("R1.1", "R1.2", "BR1.ac1", "BR1.ac2", "BR1.plus", "BR1.minus", "C1.1", "C1.2")


def item(text: str = RECORD) -> Item:
    return read_text(text, Path("item.toml"))


def seen(a: str, b: str, margin: float = 0.5) -> KeptJoin:
    return KeptJoin(a=a, b=b, joined=True, evidence=Picture(view="flat", score=0.9, margin=margin))


def metered(a: str, b: str, joined: bool) -> KeptJoin:
    return KeptJoin(a=a, b=b, joined=joined, evidence=Continuity())


def trace(*joins: KeptJoin, wires: tuple[tuple[str, str], ...] = (), **nodes: str) -> Trace:
    pads = [
        KeptPad(id=pin, x=float(at), y=0, part=pin.split(".")[0], pin=pin.split(".")[1]) for at, pin in enumerate(PINS)
    ]
    pads += [KeptPad(id=name, x=20, y=float(at), node=node) for at, (name, node) in enumerate(nodes.items())]
    return Trace(pads=tuple(pads), joins=joins, wires=tuple(KeptWire(a=a, b=b) for a, b in wires))


WHOLE = (seen("L", "R1.1"), seen("R1.2", "BR1.ac1"), seen("N", "BR1.ac2"), seen("BR1.plus", "C1.1"),
         seen("BR1.minus", "C1.2"))  # fmt: skip


def test_mains_first_then_rails_then_numbers() -> None:
    found = connections(item(), trace(*WHOLE, L="live", N="neutral"))
    assert {one.part: dict(one.after) for one in found.changes} == {
        "R1": {"1": "live", "2": "n1"},
        "BR1": {"ac1": "n1", "ac2": "neutral", "plus": "p", "minus": "m"},
        "C1": {"1": "p", "2": "m"},
    }
    assert not found.disagreements
    assert not found.missing


def test_the_words_that_were_typed_are_used() -> None:
    typed = RECORD.replace('value = "10u"', 'value = "10u"\nnodes = ["rail", "low"]')
    found = connections(item(typed), trace(*WHOLE, L="live", N="neutral"))
    after = {one.part: dict(one.after) for one in found.changes}
    assert after["BR1"] == {"ac1": "n1", "ac2": "neutral", "plus": "rail", "minus": "low"}
    assert "C1" not in after
    assert not found.disagreements


def test_a_new_name_is_never_one_that_is_used_elsewhere() -> None:
    typed = RECORD + '\n[[part]]\nref = "R9"\nkind = "resistor"\nvalue = "1k"\nnodes = ["n1", "p"]\n'
    after = {
        one.part: dict(one.after) for one in connections(item(typed), trace(*WHOLE, L="live", N="neutral")).changes
    }
    assert after["R1"]["2"] == "n2"
    assert after["BR1"]["plus"] == "n3"


def test_what_disagrees_is_listed_and_left_alone() -> None:
    typed = RECORD.replace('value = "10u"', 'value = "10u"\nnodes = ["live", "m"]')
    found = connections(item(typed), trace(*WHOLE, L="live", N="neutral"))
    assert "C1" not in {one.part for one in found.changes}
    (sentence,) = found.disagreements
    assert sentence == 'C1.1 is typed at "live"; the trace has it at "p", with BR1.plus.'
    asked = connections(item(typed), trace(*WHOLE, L="live", N="neutral"), replace=True)
    assert {one.part: dict(one.after) for one in asked.changes}["C1"] == {"1": "p", "2": "m"}


def test_a_short_between_mains_is_said() -> None:
    said = name_nodes(trace(seen("L", "R1.1"), seen("R1.1", "N"), L="live", N="neutral"), item()).disagreements
    assert any("live and neutral are one piece of copper" in sentence for sentence in said)


def test_a_meter_overrules_the_picture() -> None:
    held = trace(seen("R1.1", "R1.2"), seen("R1.2", "C1.1", 0.9), metered("R1.1", "C1.1", joined=False))
    pieces = pieces_of(held)
    # The stronger join stands, the weaker one would join what was measured as apart.
    assert ("R1.2", "C1.1") in pieces.pieces
    assert ("R1.1",) in pieces.pieces
    assert not pieces.contradictions


def test_answers_that_contradict_each_other_are_said() -> None:
    held = trace(metered("R1.1", "R1.2", joined=True), metered("R1.2", "C1.1", joined=True),
                 metered("R1.1", "C1.1", joined=False))  # fmt: skip
    (sentence,) = pieces_of(held).contradictions
    assert "R1.1 and C1.1 were told to be apart" in sentence


def test_wires_join() -> None:
    assert ("R1.1", "C1.2") in pieces_of(trace(wires=(("R1.1", "C1.2"),))).pieces


def test_a_pin_without_copper_is_missing_and_its_part_left_open() -> None:
    found = connections(item(), trace(seen("L", "R1.1"), L="live"))
    assert not found.changes
    assert "R1.2 is joined to nothing yet." in found.missing


def test_the_change_keeps_every_other_character() -> None:
    record = item()
    found = connections(record, trace(*WHOLE, L="live", N="neutral"))
    after = changed_text(record, RECORD, found.changes)
    assert [line for line in after.splitlines() if not line.startswith("nodes")] == RECORD.splitlines()
    change = shown(RECORD, after, "item.toml")
    assert '+nodes = ["live", "n1"]' in change
    assert not [line for line in change.splitlines() if line.startswith("-") and not line.startswith("---")]
    again = connections(item(after), trace(*WHOLE, L="live", N="neutral"))
    assert not again.changes
    assert not again.disagreements


def test_what_is_said_in_words() -> None:
    held = trace(P1="", P2="")
    held = named(held, item(), ["P1=R1.1, P2=BR1.plus"])
    assert (held.pads[-1].part, held.pads[-1].pin) == ("BR1", "plus")
    assert told(held, ["P1=live"]).pads[-2].node == "live"
    held = answered(held, ["P1=P2"], joined=True, measured=True)
    held = answered(held, ["P2=P1"], joined=False, measured=False)
    (join,) = held.joins
    assert not join.joined
    assert isinstance(join.evidence, Word)
    assert wired(held, ["P1=C1.2"]).wires[0].b == "C1.2"


def test_pads_are_added_and_dropped_by_hand() -> None:
    held = trace(*WHOLE, L="live", N="neutral")
    less = without(held, ["L,R1.2"])
    assert {pad.id for pad in held.pads} - {pad.id for pad in less.pads} == {"L", "R1.2"}
    assert not [join for join in less.joins if {join.a, join.b} & {"L", "R1.2"}]
    more = with_more(less, ["P20=100,40"], np.diag([0.1, 0.1, 1.0]))
    assert (more.pads[-1].id, more.pads[-1].x, more.pads[-1].y, more.pads[-1].origin) == ("P20", 10.0, 4.0, "user")
    with pytest.raises(TraceError, match="already"):
        with_more(more, ["P20=1,1"], np.eye(3))
    with pytest.raises(TraceError, match="no place in a photo"):
        with_more(more, ["P21=1;1"], np.eye(3))


@pytest.mark.parametrize(
    ("said", "complaint"),
    [("P1", "not of the form"), ("P9=R1.1", "no pad P9"), ("P1=R7.1", 'no part "R7"'), ("P1=R1.3", "no pin 3")],
)
def test_what_is_said_wrongly_is_one_sentence(said: str, complaint: str) -> None:
    with pytest.raises(TraceError, match=complaint) as caught:
        named(trace(P1=""), item(), [said])
    assert str(caught.value).endswith(".")
