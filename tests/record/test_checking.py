"""`check` says what is wrong, and what is missing in the order in which it matters."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from lidoff.record import CheckResult, check


@pytest.fixture
def checked(tmp_path: Path):
    def run(text: str) -> CheckResult:
        file = tmp_path / "item.toml"
        file.write_text("lidoff = 1\n" + text, encoding="utf-8")
        return check(file)

    return run


LAMP = """
[item]
class = "II"
region = "GB"
rated = { voltage = "230 V" }
[[part]]
ref = "R1"
kind = "resistor"
nodes = ["live", "neutral"]
[[meter]]
name = "plug-in meter"
kind = "power-meter"
[[state]]
name = "full"
[[state]]
name = "half"
[[reading]]
quantity = "power"
value = "8 W"
state = "full"
meter = "plug-in meter"
"""


def test_what_is_missing_stands_in_order_of_what_matters(checked) -> None:
    """First what keeps every verdict open, last what only rounds off the picture."""
    missing = checked(LAMP).missing
    starts = [
        "Nobody wrote down the mains voltage in the state full: without it power and current cannot be judged.",
        'R1 has no value and no marking that was read: measure it, or write "?" to infer it.',
        'The meter "plug-in meter" has no accuracy for power: it stands in its manual.',
        "No ratings are written for R1: its stress cannot be judged.",
        "Nobody looked at the plug, its fuse and its wiring.",
        "Nobody looked at the cord and its grip.",
        "No gaps and no touchable surfaces are written, so insulation cannot be judged.",
        "There are no photographs.",
    ]
    assert list(missing) == starts


@pytest.mark.parametrize(
    ("old", "new", "gone"),
    [
        ('name = "full"', 'name = "full"\nsupply = { voltage = "236 V", measured = true }', "mains voltage"),
        ('[[state]]\nname = "full"', '[supply]\nvoltage = 236\nmeasured = true\n[[state]]\nname = "full"', "mains"),
        ("[[meter]]", '[[reading]]\nquantity = "voltage"\nvalue = "236 V"\nstate = "full"\n[[meter]]', "mains voltage"),
        ('kind = "resistor"', 'kind = "resistor"\nvalue = "1k"', "R1 has no value"),
        ('kind = "resistor"', 'kind = "resistor"\nvalue = "?"', "R1 has no value"),
        ('kind = "resistor"', 'kind = "resistor"\nmarking = "brown black red"', "R1 has no value"),
        ('kind = "power-meter"', 'kind = "power-meter"\naccuracy = { power = "1 %" }', "no accuracy"),
        ('kind = "resistor"', 'kind = "resistor"\nrating = { power = "1 W" }', "No ratings"),
        ("[[meter]]", '[plug]\nfuse = "3 A"\n[[meter]]', "the plug"),
        ("[[meter]]", '[[sighting]]\nabout = "cord-grip"\nseen = "clamp"\n[[meter]]', "the cord"),
        ("[[meter]]", '[[surface]]\nname = "knob"\n[[meter]]', "insulation"),
    ],
)
def test_what_was_written_down_is_no_longer_missing(checked, old: str, new: str, gone: str) -> None:
    """Each sentence goes when what it asks for is there, and only then."""
    assert any(gone in sentence for sentence in checked(LAMP).missing)
    assert not any(gone in sentence for sentence in checked(LAMP.replace(old, new, 1)).missing)


def test_the_mains_of_another_state_does_not_count(checked) -> None:
    """The mains moves from hour to hour: what was read with the knob down says nothing of full."""
    reading = '[[reading]]\nquantity = "voltage"\nvalue = "236 V"\nstate = "half"\n[[meter]]'
    text = LAMP.replace("[[meter]]", reading, 1)
    assert checked(text).missing[0].startswith("Nobody wrote down the mains voltage in the state full:")


def test_a_marking_that_could_not_be_read_is_no_marking(checked) -> None:
    text = LAMP.replace('kind = "resistor"', 'kind = "resistor"\nmarking = "?"')
    assert any("R1 has no value and no marking" in sentence for sentence in checked(text).missing)


def test_readings_without_state_or_meter(checked) -> None:
    """Where there are several states a reading has to say in which it was taken."""
    text = LAMP.replace('state = "full"\nmeter = "plug-in meter"\n', "")
    missing = checked(text).missing
    assert "The readings of power do not say in which state they were taken." in missing
    assert "The readings of power do not say with which meter." in missing
    assert "Nobody wrote down the mains voltage: without it power and current cannot be judged." in missing


def test_a_record_of_nothing(checked) -> None:
    assert checked("").missing[0] == "No parts are written down, so the circuit cannot be worked out."
    assert not checked('[[recording]]\nfile = "a.csv"\n').missing[0].startswith("No parts")


STRING = """
[[block]]
name = "section"
repeat = 12
nodes = ["live", "neutral"]
{block}
[[part]]
ref = "LED1"
kind = "led"
block = "section"
series = {series}
parallel = 2
{part}
forward_voltage = "3 V"
nodes = {{ anode = "in", cathode = "out" }}
"""


@pytest.mark.parametrize(
    ("series", "part", "block", "sentence"),
    [
        (5, "count = 120", "", None),
        (5, "", "count = 120", None),
        (5, "count = 121", "", r"section/LED1.count: 121 were counted, but the record comes to 5 \(series\) × 2"),
        (
            5,
            "",
            "count = 12",
            r"section.count: 12 were counted, but the record comes to 5 \(series\) × 2 \(parallel\) ×",
        ),
        (5, "count = 240", "parallel = 2", None),
        (
            5,
            "count = 120",
            "parallel = 2",
            r"5 \(series\) × 2 \(parallel\) × 12 \(repeat\) × 2 \(parallel rows\) = 240",
        ),
        ('"?"', "count = 120", "", None),
        (
            1,
            "count = 25",
            "",
            r"LED1.count: 25 were counted, but the record comes to 2 \(parallel\) × 12 \(repeat\) = 24",
        ),
    ],
)
def test_a_counted_total(checked, series: object, part: str, block: str, sentence: str | None) -> None:
    """What was counted must be series × parallel × repeat; where one of them is unknown nothing can be said."""
    result = checked(STRING.format(series=series, part=part, block=block))
    assert result.ok
    found = [one for one in result.problems if "counted" in one.message]
    if sentence is None:
        assert found == []
    else:
        assert re.search(sentence, found[0].message), found[0].message
        assert found[0].line > 1


def test_a_count_of_one_part(checked) -> None:
    """A plain part counted twice is two parts."""
    text = '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\ncount = 2\nnodes = ["live", "neutral"]\n'
    assert "R1.count: 2 were counted, but there is 1" in checked(text).problems[0].message


def test_files_that_are_not_there(checked, tmp_path: Path) -> None:
    """A photograph that the record names is looked for in its folder."""
    text = '[[photo]]\nfile = "photos/a.jpg"\n[[sighting]]\nabout = "plug"\nphoto = "photos/b.jpg"\n'
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "b.jpg").write_bytes(b"")
    assert [(one.key, one.line) for one in checked(text).problems] == [("photo 1.file", 2)]


def test_json_has_the_promised_keys(checked) -> None:
    """{"ok", "problems": [{"line", "key", "message", "level"}], "missing"}, and nothing else."""
    document = checked('[[part]]\nref = "R2"\nkind = "resistor"\nvalue = "0R"\nvlaue = 1\n').as_json()
    assert document == json.loads(json.dumps(document))
    assert set(document) == {"ok", "problems", "missing"}
    assert document["ok"] is False
    error, warning = document["problems"]
    assert error == {
        "line": 5,
        "key": "R2.value",
        "message": 'R2.value: must be above 0 Ω, but "0R" is written',
        "level": "error",
    }
    assert (warning["line"], warning["key"], warning["level"]) == (6, "R2.vlaue", "warning")


LOOSE = """
[[block]]
name = "section"
repeat = 2
nodes = ["rail", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "rail"]
[[part]]
ref = "R2"
kind = "resistor"
value = "1k"
block = "section"
nodes = ["in", "{inner}"]
[[part]]
ref = "R3"
kind = "resistor"
value = "1k"
block = "section"
nodes = ["middle", "out"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "1n"
nodes = ["rail", "shell"]
{more}
"""
SHELL = '[[surface]]\nname = "shell"\nreached = "by hand"\nnode = "shell"\n'


def test_a_node_that_one_pin_joins_is_named(checked) -> None:
    """A slip of the pen in a node's name shows as a node that nothing else joins, in a block as outside."""
    result = checked(LOOSE.format(inner="midle", more=""))
    assert result.ok
    said = [(one.line, one.message) for one in result.problems]
    assert [line for line, _ in said] == [12, 18, 24]
    assert 'section/R2.nodes: no other part joins the node "midle"' in said[0][1]
    assert 'did you mean "middle"?' in said[0][1]
    assert 'C1.nodes: no other part joins the node "shell"' in said[2][1]


def test_a_misspelled_mains_node_is_known_for_what_it_is(checked) -> None:
    """Even where the slip leaves nothing at all at the mains' own node."""
    head = '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\n'
    (problem,) = checked(head + 'nodes = ["liev", "neutral"]\n').problems
    assert 'the node "liev"' in problem.message
    assert 'did you mean "live"?' in problem.message


def test_what_can_be_touched_may_hang_on_one_part(checked) -> None:
    """A capacitor between the mains and a touchable shell is joined on by the hand, not by a second part."""
    assert checked(LOOSE.format(inner="middle", more=SHELL)).problems == ()
