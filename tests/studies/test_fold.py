"""One member broken out of a folded block: electrically the same, and the fault acts on that member alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.studies.circuits import STRIP, circuit_of, part

from lidoff.circuit.model import Circuit
from lidoff.cycle import solve
from lidoff.record import Table
from lidoff.studies import StudyError
from lidoff.studies.fold import break_out


def sections(repeat: int, parallel: int) -> Circuit:
    return circuit_of(
        f'[[block]]\nname = "section"\nrepeat = {repeat}\nparallel = {parallel}\nnodes = ["p", "m"]\n'
        + part("BR1", "bridge", "ac1=live ac2=neutral plus=p minus=m")
        + part("LED1", "led", "anode=in cathode=x", series=6, forward_voltage="3 V", block="section")
        + part("R1", "resistor", "x out", value="120R", block="section")
    )


@pytest.mark.parametrize(("repeat", "parallel"), [(12, 1), (12, 3), (1, 4), (1, 1), (2, 2)])
def test_breaking_out_changes_nothing(repeat: int, parallel: int) -> None:
    # A single section of six LEDs cannot stand the mains: its resistor is made to.
    circuit = sections(repeat, parallel)
    if repeat < 10:
        ohms = replace(circuit.elements[-1], values=Table({"value": 5e3}))
        circuit = replace(circuit, elements=(*circuit.elements[:-1], ohms))
    folded, broken = solve(circuit), solve(break_out(circuit, "section").circuit)
    assert broken.input_figures()["power"] == pytest.approx(folded.input_figures()["power"], rel=1e-4)
    light, own = folded.light_figures(), broken.light_figures()
    assert light is not None
    assert own is not None
    assert float(broken.waves.weight @ broken.light) == pytest.approx(
        float(folded.waves.weight @ folded.light), rel=1e-4
    )
    one = folded.part_figures("section/R1")
    single = broken.part_figures("section/R1")
    assert single["voltage_rms"] == pytest.approx(one["voltage_rms"], rel=1e-3)
    assert single["current_rms"] == pytest.approx(one["current_rms"], rel=1e-3)
    assert single["power"] == pytest.approx(one["power"] / (repeat * parallel), rel=1e-3)


def test_what_is_left_keeps_the_members_names() -> None:
    broken = break_out(sections(12, 3), "section")
    assert broken.others == {
        "section/LED1~row": "section/LED1",
        "section/LED1~rows": "section/LED1",
        "section/R1~row": "section/R1",
        "section/R1~rows": "section/R1",
    }
    member = broken.circuit.element("section/R1")
    assert member is not None
    assert (member.series, member.parallel) == (1.0, 1.0)
    row, rows = (broken.circuit.element(f"section/R1~{word}") for word in ("row", "rows"))
    assert row is not None
    assert rows is not None
    assert (row.series, row.parallel, rows.series, rows.parallel) == (11.0, 1.0, 12.0, 2.0)
    assert broken.second == "m"


def test_a_fault_of_one_member_leaves_the_other_rows_alone() -> None:
    """Twelve sections in a row, two rows, one section shorted: Ohm's law row by row."""
    text = '[[block]]\nname = "s"\nrepeat = 12\nparallel = 2\nnodes = ["live", "neutral"]\n' + part(
        "R1", "resistor", "in out", value="100R", block="s"
    )
    broken = break_out(circuit_of(text), "s").circuit
    shorted = replace(
        broken,
        elements=tuple(replace(e, values=Table({"value": 1e-3})) if e.ref == "s/R1" else e for e in broken.elements),
    )
    solution = solve(shorted)
    volts = solution.input_figures()["voltage_rms"]
    assert solution.part_figures("s/R1~row")["current_rms"] == pytest.approx(volts / 1100.0, rel=1e-3)
    assert solution.part_figures("s/R1~rows")["current_rms"] == pytest.approx(volts / 1200.0, rel=1e-3)


def test_a_block_that_is_not_there_is_said() -> None:
    with pytest.raises(StudyError, match="no block 'section' in this state; the blocks are: none"):
        break_out(circuit_of(STRIP), "section")
    one_ended = circuit_of(
        '[[block]]\nname = "s"\nrepeat = 2\nnodes = ["live", "neutral"]\n'
        + part("R1", "resistor", "in y", value="100R", block="s")
        + part("R2", "resistor", "y out", value="100R", block="s")
        + part("R3", "resistor", "live neutral", value="100R")
    )
    aliased = replace(one_ended, elements=tuple(e for e in one_ended.elements if e.ref != "s/R2"))
    with pytest.raises(StudyError, match="does not stand between two nodes"):
        break_out(aliased, "s")
