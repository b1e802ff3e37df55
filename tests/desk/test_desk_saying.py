"""Said sentences: what they make of a part, and what they say where they are not understood.

There is nothing outside to hold the grammar against; what is held against something outside is what the values mean:
the record that a sentence makes is read by the record room, and its values compared with what stands in the sentence
after IEC 60062:2016 (letter and digit code; from memory).
"""

from __future__ import annotations

import contextlib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.desk.saying import GRAMMAR, SayingError, said, swatches
from lidoff.kinds import KINDS
from lidoff.record import Part, read_text
from lidoff.record.edit import add_part

EMPTY = "lidoff = 1\n"


def read(sentence: str) -> Part:
    """The part that a sentence makes, as the record room reads it."""
    told = said(sentence)
    block = told.table.get("block")
    start = f'{EMPTY}\n[[block]]\nname = "{block}"\nrepeat = 2\nnodes = ["p", "q"]\n' if block else EMPTY
    item = read_text(add_part(start, told.table), "x")
    return item.parts[0]


@pytest.mark.parametrize(
    ("sentence", "kind", "values", "nodes"),
    [
        ("R1 4k7 from p to m", "resistor", {"value": 4700.0}, ["p", "m"]),
        ("R1 4.7 kohm from p to m", "resistor", {"value": 4700.0}, ["p", "m"]),
        ("R1 4,7k between p and m", "resistor", {"value": 4700.0}, ["p", "m"]),
        ("R1: 0R22 across p, m", "resistor", {"value": 0.22}, ["p", "m"]),
        ("r1 100 between L and N", "resistor", {"value": 100.0}, ["live", "neutral"]),
        ("C1 330n X2 across live and neutral", "capacitor", {"value": 330e-9}, ["live", "neutral"]),
        ("C2 10 uF 25V on p and m", "capacitor", {"value": 10e-6}, ["p", "m"]),
        ("L1 1m5 from a to b", "inductor", {"value": 1.5e-3}, ["a", "b"]),
        ("F1 2A slow from live to x", "fuse", {"rating": 2.0, "speed": "slow"}, ["live", "x"]),
        ("BR1 bridge on a, neutral gives p, m", "bridge", {}, ["a", "neutral", "p", "m"]),
        ("BR1 from a to neutral gives p and m", "bridge", {}, ["a", "neutral", "p", "m"]),
        ("BR1 ac1 a ac2 b plus p minus m", "bridge", {}, ["a", "b", "p", "m"]),
        ("LED1 led 2 in series from p to m", "led", {"series": 2.0}, ["p", "m"]),
        ("LED1 x6 3.05V from p to m", "led", {"series": 6.0, "forward_voltage": 3.05}, ["p", "m"]),
        ("LED2 series 12 parallel 2 from p to m", "led", {"series": 12.0, "parallel": 2.0}, ["p", "m"]),
        ("D1 from b to p", "diode", {}, ["b", "p"]),
        ("D1 anode b, cathode p", "diode", {}, ["b", "p"]),
        ("DZ1 12V from m to p", "zener", {"voltage": 12.0}, ["m", "p"]),
        ("VR1 500k log from a to b wiper w", "potentiometer", {"value": 5e5, "taper": "log"}, ["a", "w", "b"]),
        ("Q1 triac from x to neutral gate g", "triac", {}, ["neutral", "x", "g"]),
        ("Q2 npn transistor from c to e base b", "transistor", {"polarity": "npn"}, ["b", "c", "e"]),
        ("Q3 mosfet d x s m g q", "mosfet", {}, ["q", "x", "m"]),
        ("U1 regulator 20mA from p to q", "regulator", {"limit": 0.02}, ["p", "q"]),
        ("U2 converter 9W plus p minus m", "converter", {"power": 9.0}, ["p", "m"]),
        ("T1 ratio 5 on live, neutral gives a, b", "transformer", {"ratio": 5.0}, ["live", "neutral", "a", "b"]),
        ("L2 choke 10mH on live, neutral gives a, b", "choke", {"value": 0.01}, ["live", "a", "neutral", "b"]),
        ("S1 open from live to x", "switch", {"closed": False}, ["live", "x"]),
        ("LA1 60W 230V across live and neutral", "lamp", {"power": 60.0, "voltage": 230.0}, ["live", "neutral"]),
        ("RV1 275V across live and neutral", "varistor", {"voltage": 275.0}, ["live", "neutral"]),
        ("Q1 diac 32V from a to b", "diac", {"breakover": 32.0}, ["a", "b"]),
        ("the1 resistor 10R from a to b", "resistor", {"value": 10.0}, ["a", "b"]),
    ],
)
def test_a_sentence_makes_the_part_that_it_says(sentence: str, kind: str, values: dict[str, Any], nodes: list[str]):
    part = read(sentence)
    assert part.kind == kind
    assert {key: part.values[key] for key in values} == values
    assert [part.nodes[pin] for pin in KINDS[kind].pins if pin in part.nodes] == nodes


def test_ratings_tolerance_class_count_and_note_are_told_apart():
    part = read("C1 330n 10% X2 275V~ count 2 from a to b note: the flat box, brown")
    assert dict(part.rating) == {"class": "X2", "voltage_ac": 275.0}
    assert (part.tolerance, part.count, part.note) == (0.1, 2, "the flat box, brown")
    part = read("R1 4k7 5 % 0.5 W 350V from a to b")
    assert dict(part.rating) == {"power": 0.5, "voltage": 350.0}


@pytest.mark.parametrize(
    ("sentence", "marking"),
    [
        ("R1 brown black brown gold from live to a", "brown black brown gold"),
        ("R1 or|br bk re gold from live to a", "or|br bk re gold"),
        ("R1 from live to a br bk gn gd", "br bk gn gd"),
        ("D1 1N4007 from b to p", "1N4007"),
        ('C1 marked "104K 250~" from a to b', "104K 250~"),
        ("C1 “224K X2” from a to b", "224K X2"),
        ("C1 marking 104 from a to b", "104"),
        ("Q1 triac BT131 from x to neutral gate g", "BT131"),
    ],
)
def test_a_marking_is_kept_as_it_was_seen(sentence: str, marking: str):
    assert read(sentence).marking == marking


def test_colour_bands_are_shown_as_they_were_said():
    assert swatches("or|br bk re gold") == (("orange", "brown"), ("black",), ("red",), ("gold",))
    assert swatches("1N4007") == ()


def test_what_is_there_is_changed_and_its_kind_and_pins_are_known():
    there = {"Q1": Part(ref="Q1", kind="triac", nodes={"mt1": "m", "mt2": "x", "gate": "g"})}
    told = said("Q1 gate h", there)
    assert dict(told.table["nodes"]) == {"mt1": "m", "mt2": "x", "gate": "h"}
    assert said("Q1 BT134", there).table == {"ref": "Q1", "kind": "triac", "marking": "BT134"}


@pytest.mark.parametrize(
    ("sentence", "says"),
    [
        ("", "Say a part"),
        ("hello", "begins with the part's name"),
        ("4k7 from p to m", "begins with the part's name"),
        ("Q1 from a to b", "say which"),
        ("R1 4k7 from p", "is missing|are expected"),
        ("R1 4k7 from p to", "A node is missing"),
        ("BR1 bridge on a, neutral", "has also the pins plus, minus"),
        ("C1 330n acros live and neutral", 'Understood: C1, capacitor, 330 nF. Not understood: "acros"'),
        ("C1 330n acros live and neutral", 'Was "across" meant?'),
        ("R1 4k7 blue-ish from p to m", "Not understood"),
        ("R1 " + "x" * 600, "Say a part"),
    ],
)
def test_what_is_not_understood_is_said_with_what_was(sentence: str, says: str):
    with pytest.raises(SayingError, match=says.replace("?", r"\?").replace(r"|", "|")):
        said(sentence)


def test_every_sentence_that_the_page_shows_is_understood_and_read():
    for sentence, _ in GRAMMAR:
        assert read(sentence).nodes, sentence


@pytest.mark.parametrize("sentence", ["R2 1M 0.25W a b", "D4 1N4007 m to neutral"])
def test_nodes_without_a_joining_word_are_asked_for_as_they_are_said(sentence: str):
    *_, first, last = sentence.replace(" to ", " ").split()
    with pytest.raises(SayingError, match=f"say: from {first} to {last}"):
        said(sentence)


def test_a_drop_may_be_said_as_each():
    assert (
        said("LED1 6 leds in series, 3.05 V each, 20 mA from p to m").table
        == said("LED1 6 leds in series 3.05V 20mA from p to m").table
    )


@given(st.text(max_size=60))
def test_any_text_is_understood_or_refused_in_one_sentence(text: str):
    with contextlib.suppress(SayingError):
        said(text)
    try:
        said(f"R1 {text}")
    except SayingError as error:
        sentence = str(error)
    else:
        sentence = "understood"
    assert sentence.strip()
    assert "\n" not in sentence


@given(
    st.sampled_from(["R", "C"]),
    st.integers(1, 99),
    st.integers(1, 999),
    st.sampled_from(["", "k", "M"]),
    st.text("abcdefgh", min_size=1, max_size=3),
    st.text("pqrstuvw", min_size=1, max_size=3),
)
def test_value_and_nodes_come_back_as_they_were_said(
    letter: str, number: int, value: int, prefix: str, one: str, other: str
):
    unit = {"R": f"{value}{prefix or 'R'}", "C": f"{value}n"}[letter]
    told = said(f"{letter}{number} {unit} from {one} to {other}")
    assert told.table["value"] == unit
    assert told.table["nodes"] == [one, other]
