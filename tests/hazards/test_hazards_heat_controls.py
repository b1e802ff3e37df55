"""What stops the heat when a thermostat sticks: by circuit, by answer, and against the faults that were worked out."""

from __future__ import annotations

import re

import pytest

from lidoff.account.hazards import facts_of
from lidoff.hazards import QUESTIONS, Finding, Undecided, look_list, rule
from lidoff.hazards.pages import pages
from lidoff.record import Item, read_text

HEATER = '{ ref = "H1", kind = "heater", power = "400 W", voltage = "230 V", nodes = ["h", "neutral"] }'
FIRST = '{ ref = "TH1", kind = "thermostat", nodes = ["live", "a"] }'
SECOND = '{ ref = "TH2", kind = "thermostat", nodes = ["a", "h"] }'
WIRE = '{ ref = "R1", kind = "resistor", value = "0R1", nodes = ["a", "h"] }'


def heated(*parts: str, sighting: str = "") -> Item:
    seen = f'sighting = [{{ about = "heat-limit", seen = "{sighting}" }}]\n' if sighting else ""
    return read_text(f"lidoff = 1\n{seen}part = [{', '.join((FIRST, *parts, HEATER))}]\n", "case.toml")


def judged(item: Item) -> tuple[list[Finding], list[Undecided]]:
    return rule("thermostat-unbacked").judge(facts_of(item))


@pytest.mark.parametrize(
    "second",
    [
        SECOND,
        '{ ref = "F1", kind = "fuse", marking = "TF 152°C 10A 250V", nodes = ["a", "h"] }',
        '{ ref = "F1", kind = "fuse", rating = { current = "10 A", temperature = "152 °C" }, nodes = ["a", "h"] }',
    ],
)
def test_a_second_control_in_line_is_enough(second: str) -> None:
    """A thermal link is told by the temperature that is printed on it (IEC 60691 marking: Tf, from memory)."""
    assert judged(heated(second)) == ([], [])


@pytest.mark.parametrize(
    "second",
    [
        WIRE,
        # A fuse opens with current, not with heat.
        '{ ref = "F1", kind = "fuse", rating = "10 A", nodes = ["a", "h"] }',
        # Another contact beside the first one keeps the heater on: only a way that opens both is a control.
        f'{WIRE}, {{ ref = "TH2", kind = "thermostat", nodes = ["live", "x"] }}, '
        '{ ref = "L1", kind = "lamp", power = "5 W", voltage = "230 V", nodes = ["x", "neutral"] }',
        # A pilot lamp over the contact does not feed the heater.
        f'{WIRE}, {{ ref = "N1", kind = "indicator", series = "150k", nodes = ["live", "a"] }}',
    ],
)
def test_a_thermostat_alone_is_a_question(second: str) -> None:
    found, undecided = judged(heated(second))
    assert found == []
    (one,) = undecided
    assert "nothing opens with heat before H1 once TH1 sticks" in one.needs[0]
    assert one.about == ("TH1", "H1")


def test_two_contacts_side_by_side_are_no_two_in_line() -> None:
    """Either of them keeps the heater on when it sticks."""
    beside = '{ ref = "TH2", kind = "thermostat", nodes = ["live", "a"] }'
    found, (one,) = judged(heated(beside, WIRE))
    assert found == []
    assert "before H1 once TH1 or TH2 sticks" in one.needs[0]
    assert judged(heated(beside, SECOND.replace("TH2", "TH3")))[1] == []


def test_a_heater_that_no_thermostat_governs_is_not_asked_about() -> None:
    """One fed past its thermostat, and one with a thermal link alone, which opens for good and does not stick."""
    link = '{ ref = "F1", kind = "fuse", marking = "TF 152°C 10A 250V", nodes = ["live", "h"] }'
    assert judged(read_text(f"lidoff = 1\npart = [{link}, {HEATER}]\n", "case.toml")) == ([], [])
    assert judged(heated('{ ref = "R1", kind = "resistor", value = "0R1", nodes = ["live", "h"] }')) == ([], [])


def test_answers_decide() -> None:
    """What was seen goes before what was traced; a contact that sticks already is likelier to hurt."""
    assert judged(heated(WIRE, sighting="second one there")) == ([], [])
    assert judged(heated(WIRE, sighting="limits itself")) == ([], [])
    (alone,), undecided = judged(heated(WIRE, sighting="thermostat alone"))
    (stuck,), _ = judged(heated(WIRE, sighting="stuck or bridged"))
    assert undecided == []
    assert alone.risk.severity == stuck.risk.severity == 3
    # The step that it sticks in its life has happened.
    assert stuck.risk.probability == pytest.approx(alone.risk.probability / alone.risk.steps[0].probability)
    # The fault study says the same of the same contact, and how it ends.
    assert any("TH1 welded, so that nothing limits the temperature" in reason for reason in alone.because)
    found, undecided = judged(heated(WIRE, sighting="cannot tell"))
    assert (found, len(undecided)) == ([], 1)


def test_asked_only_where_something_heats() -> None:
    assert "heat-limit" in {look.question.id for look in look_list(heated(WIRE))}
    lamp = read_text(
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]', "i"
    )
    assert "heat-limit" not in {look.question.id for look in look_list(lamp)}
    assert judged(lamp) == ([], [])


def test_questions_are_for_people_and_tables_for_those_who_write_the_file() -> None:
    """No key of the record in what a person reads; the page on the look list names the table."""
    for question in QUESTIONS:
        assert not re.search(r"\[\[|\]\]|`", f"{question.ask} {question.how} {question.what}"), question.id
    assert {question.table for question in QUESTIONS if question.table} == {"surface", "gap", "wire"}
    assert "In the record: `[[surface]]`." in pages()["look-list.md"]


def test_the_page_on_touch_current_lists_its_limits() -> None:
    """IEC 60335-1, 13.2: 0.25 mA for class II, 0.75 mA for portable class I; IEC 62368-1, Table 4: 0.5 mA (ES1)."""
    page = pages()["touch-current-too-high.md"]
    for limit in ("class II 0.25 mA rms", "portable item of class I 0.75 mA rms", "adapter 0.5 mA rms", "0.7 mA peak"):
        assert limit in page
