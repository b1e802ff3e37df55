"""Ratings that only the marking tells: they count, their source is said, and what somebody wrote goes before them."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.circuit import Element, build, check, missing
from lidoff.circuit.ratings import marked_ratings
from lidoff.record import Item, read_text
from lidoff.record import check as check_as_written


def item_with(keys: str, kind: str = "capacitor") -> Item:
    nodes = "{ anode = 'live', cathode = 'neutral' }" if kind == "diode" else "['live', 'neutral']"
    text = f'lidoff = 1\n[[part]]\nref = "X1"\nkind = "{kind}"\nnodes = {nodes}\n{keys}\n'
    return read_text(text, "item.toml")


def built(keys: str, kind: str = "capacitor") -> Element:
    (element,) = build(item_with(keys, kind)).elements
    return element


@pytest.mark.parametrize(
    ("kind", "marking", "tells"),
    [
        # IEC 60384-14 and EIA-198 habit: volts with the sign for alternating current, class as printed (from memory).
        ("capacitor", "334K 400V", {"voltage": 400.0}),
        ("capacitor", "104 250V~ X2", {"voltage_ac": 250.0, "class": "X2"}),
        ("capacitor", "222M Y1 250V~", {"voltage_ac": 250.0, "class": "Y1"}),
        ("capacitor", "X2 275V~", {"voltage_ac": 275.0, "class": "X2"}),
        ("capacitor", "2A104J", {"voltage": 100.0}),  # EIA-198-1: 2A is 100 V
        ("capacitor", "4u7 400V 105°C", {"voltage": 400.0, "temperature": 378.15}),
        # JEDEC registrations (from memory): 1N4001 … 1N4007 are of 50 … 1000 V, 1 A; 1N4742 is of 12 V, 1 W.
        ("diode", "1N4001", {"voltage": 50.0, "current": 1.0}),
        ("diode", "1N4004", {"voltage": 400.0, "current": 1.0}),
        ("diode", "1N4007", {"voltage": 1000.0, "current": 1.0}),
        ("zener", "1N4742A", {"power": 1.0}),
        ("resistor", "100R 2W", {"power": 2.0}),
        ("fuse", "T2AL250V", {"voltage": 250.0}),
        ("switch", "6A 250V~", {"voltage": 250.0, "current": 6.0}),
        # A diac's 2 A are those of a surge of microseconds.
        ("diac", "DB3", {}),
        ("resistor", "brown green red gold", {}),
        ("lamp", "40W 230V", {}),
        ("capacitor", "4u7 400V " * 20, {}),
        ("capacitor", "", {}),
    ],
)
def test_what_a_marking_tells_of_ratings(kind: str, marking: str, tells: dict[str, float | str]) -> None:
    assert marked_ratings(kind, marking) == tells


def test_a_marked_rating_counts_and_its_words_are_named() -> None:
    element = built('value = "330n"\nmarking = "334K 400V"')
    assert element.rating == {"voltage": 400.0}
    assert element.marked_ratings == {"voltage"}


def test_what_is_written_goes_before_the_marking_quantity_by_quantity() -> None:
    element = built('marking = "104 250V~ X2"\nrating = { voltage_ac = "275 V", temperature = "100 °C" }')
    assert element.rating == {"voltage_ac": 275.0, "temperature": 373.15, "class": "X2"}
    assert element.marked_ratings == {"class"}
    # Volts were written down: the marking's alternating volts are the same quantity and add nothing.
    element = built('marking = "104 250V~ X2"\nrating = { voltage = "250 V" }')
    assert element.rating == {"voltage": 250.0, "class": "X2"}


@pytest.mark.parametrize(
    "keys", ['value = "1u"', 'value = "1u"\nmarking = "?!"', f'value = "1u"\nmarking = "{"x" * 200}"']
)
def test_without_a_readable_marking_nothing_is_added(keys: str) -> None:
    element = built(keys)
    assert element.rating == {}
    assert element.marked_ratings == frozenset()


def test_check_counts_what_the_marking_tells(tmp_path: Path) -> None:
    """A part whose marking tells its rating is not named among those without; one without both is."""
    text = 'lidoff = 1\n' + "".join(
        f'[[part]]\nref = "{ref}"\nkind = "capacitor"\nvalue = "330n"\nnodes = ["live", "neutral"]\n{marking}\n'
        for ref, marking in (("C1", 'marking = "334K 400V"'), ("C2", ""), ("C3", 'marking = "334"'))
    )  # fmt: skip
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    said = [one for one in check(tmp_path).missing if "No ratings" in one]
    assert said == ["No ratings are written for C2 and C3: their stress cannot be judged."]
    assert said[0] in missing(read_text(text, "item.toml"))
    # The record's own room cannot read markings, and says what is written and no more.
    assert any("for C1, C2 and C3" in one for one in check_as_written(tmp_path).missing)


@pytest.mark.parametrize(
    ("keys", "kind", "said"),
    [
        ('marking = "334K 400V"\nrating = { voltage = "630 V" }', "capacitor", "630 V is written"),
        ('marking = "104 250V~ X2"\nrating = { class = "Y2" }', "capacitor", "class Y2 is written"),
        ('marking = "4u7 400V 105°C"\nrating = { temperature = "85 °C" }', "capacitor", "85 °C is written"),
        ('marking = "1N4004"\nrating = { voltage = "1 kV" }', "diode", "1.00 kV is written"),
        ('marking = "334K 400V"\nrating = { voltage = "400 V" }', "capacitor", None),
        ('marking = "4u7 400V 105°C"\nrating = { temperature = "378 K" }', "capacitor", None),  # rounded, not another
        ('marking = "334K 400V"\nrating = { temperature = "85 °C" }', "capacitor", None),
    ],
)
def test_a_written_rating_that_is_not_the_printed_one_is_said(
    tmp_path: Path, keys: str, kind: str, said: str | None
) -> None:
    """As a warning of `check` with the part's line, and of the circuit that is then computed."""
    item = item_with(keys, kind)
    warned = [one for one in build(item).warnings if ".rating." in one]
    text = f'lidoff = 1\n[[part]]\nref = "X1"\nkind = "{kind}"\n{keys}\n'
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    result = check(tmp_path)
    problems = [one for one in result.problems if ".rating." in one.key]
    assert len(warned) == len(problems) == (said is not None)
    if said is not None:
        assert said in warned[0]
        assert "its marking" in warned[0]
        assert warned[0] == f"{problems[0].message}."
        assert (problems[0].level, problems[0].line) == ("warning", 2)
