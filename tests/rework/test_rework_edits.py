"""Edits to a record: what the user wrote stays, text and record as read make the same circuit, the place is found."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.circuit import build
from lidoff.circuit.groups import recognise
from lidoff.demo.items import shipped
from lidoff.record import Table, read_text
from lidoff.rework.edits import (
    Edits,
    NewPart,
    fresh,
    on_the_mains,
    reworked_item,
    reworked_text,
    without_readings,
    written,
)
from lidoff.rework.proof import alike
from lidoff.rework.site import gap_of, site_of

GLOBE = Path("globe-lamp") / "item.toml"
NIGHT = Path("night-light") / "item.toml"


def site(name, path):
    circuit = build(read_text(shipped(name), path))
    found = site_of(circuit, recognise(circuit))
    assert found is not None
    return found


def test_the_dimmer_stands_ahead_and_the_string_behind():
    found = site("globe-lamp", GLOBE)
    assert found.rectifier == ("BR1",)
    assert set(found.controls) == {"VR1", "R1", "C1", "D1", "Q1", "R2", "C2"}
    assert found.direct == ("LED1", "R3")
    assert found.ballasts == ("R3",)
    assert found.dimmed
    gap = gap_of(found, found.controls)
    assert (gap.line, gap.load) == ("live", "load")
    # With nothing taken out the wire at the rectifier's pin is cut.
    opened = gap_of(found, ())
    assert dict(opened.edits.moved) == {"BR1.ac1": "load_r"}
    assert opened.line == "load"


def test_four_diodes_are_a_rectifier_too():
    found = site("night-light", NIGHT)
    assert set(found.rectifier) == {"D1", "D2", "D3", "D4"}
    assert set(found.ac) == {"b", "neutral"}
    assert (found.plus, found.minus) == ("p", "m")
    assert found.stores == ("C2",)
    gap = gap_of(found, found.controls)
    assert (gap.line, gap.load) == ("live", "b")
    assert len(gap_of(found, ()).edits.moved) == 2  # both diodes at that pin


EDITS = Edits(
    removed=("VR1", "R1", "C1", "D1", "Q1", "R2", "C2"),
    set=Table({"R3.value": 4700.0, "LED1.series": 26.0}),
    moved=Table({"LED1.anode": "p_s"}),
    added=(
        NewPart(
            ref="R9",
            kind="resistor",
            role="ballast resistor",
            values=Table({"value": 1500.0}),
            nodes=Table({"1": "p", "2": "p_s"}),
            tolerance=0.01,
        ),
        NewPart(
            ref="C9",
            kind="capacitor",
            role="dropper capacitor",
            values=Table({"value": 220e-9}),
            nodes=Table({"1": "live", "2": "load"}),
            tolerance=0.1,
            rating=Table({"voltage_ac": 275.0, "class": "X2"}),
        ),
    ),
    texts=Table({"R3.tolerance": "1 %", "R3.rating": {"power": "3 W"}}),
)


def test_the_text_and_the_record_as_read_make_the_same_circuit():
    text = without_readings(shipped("globe-lamp"), read_text(shipped("globe-lamp"), GLOBE))
    item = read_text(text, GLOBE)
    first = build(read_text(reworked_text(text, item, EDITS, "a note"), GLOBE))
    second = build(reworked_item(item, EDITS))
    assert alike(first, second)
    assert first.element("R3").rating["power"] == second.element("R3").rating["power"] == 3.0
    assert first.element("LED1").number("series") == 26.0
    other = build(reworked_item(item, EDITS.with_values({"R9.value": 1600.0})))
    assert not alike(first, other)


def test_comments_sightings_and_verdict_stay_and_the_note_is_added():
    text = shipped("globe-lamp")
    item = read_text(text, GLOBE)
    done = reworked_text(without_readings(text, item), item, EDITS, "Reworked on paper.")
    again = read_text(done, GLOBE)
    assert "# Four rods side by side, 28 dots counted in each" in done
    assert again.sightings[0].note == item.sightings[0].note
    assert again.note == "Bought second hand, no papers. Lamp and dimmer were sold together. Reworked on paper."
    assert again.readings == ()
    assert again.states == ()  # each of them speaks of parts that are gone, or is a test rig
    assert again.part("R3").marking is None  # the print of the old part says nothing of the new one
    assert again.part("LED1").count is None


def test_the_mains_is_put_to_nominal_in_every_state():
    item = read_text(shipped("night-light"), NIGHT)
    done = read_text(on_the_mains(shipped("night-light"), item, 230.0, 50.0), NIGHT)
    circuit = build(done)
    assert circuit.supply.voltage == 230.0
    assert circuit.supply.range == pytest.approx(0.10)  # 1 % as measured would be too little to design for


def test_new_parts_are_numbered_above_all_there_are():
    taken = {"R1", "R7", "C2"}
    assert fresh("R", taken) == "R8"
    assert fresh("R", taken) == "R9"
    assert fresh("DZ", taken) == "DZ1"


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(4700.0, "ohm", "4k7"), (2.2e-7, "F", "220n"), (3.788e-3, "A", "3.788 mA"), (2.858, "V", "2.858 V")],
)
def test_values_are_written_as_people_write_them(value, unit, text):
    assert written(value, unit) == text
