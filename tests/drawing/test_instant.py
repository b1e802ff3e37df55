"""The cycle on the schematic: currents in pins and wires, volts at nodes, and how they show."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from tests.drawing.circuits import all_circuits, circuit
from tests.drawing.svg_reading import all_of, parsed, size_of

import lidoff
from lidoff.circuit import Circuit, Mains, build
from lidoff.cycle import Solution, solve
from lidoff.drawing import DrawingError, instant_svg, schematic, six_instants_svg
from lidoff.drawing.flows import MAINS, PinCurrents, voltages_at, wire_currents

REFERENCE = Path(__file__).resolve().parents[1] / "reference" / "cycle"
PEAK = 230.0 * math.sqrt(2.0)


def _reference(name: str) -> tuple[Circuit, Solution]:
    found = build(lidoff.open(REFERENCE / f"{name}.toml"))
    return found, solve(found)


def _divider() -> tuple[Circuit, Solution]:
    found = circuit("R1 resistor value=1k live a\nR2 resistor value=3k a neutral", supply=Mains(resistance=0.0))
    return found, solve(found)


def test_ohms_law_at_an_instant() -> None:
    """On a divider of 1 kΩ and 3 kΩ: i = v / 4 kΩ in every pin and wire, three quarters of v at the tap (Ohm's law)."""
    drawn, solution = _divider()
    t = 0.003
    volts = PEAK * math.sin(2.0 * math.pi * 50.0 * t)
    amps = volts / 4000.0
    pins = PinCurrents(solution).at(t)
    assert pins["R1", "1"] == pytest.approx(amps, rel=1e-3)
    assert pins["R1", "2"] == pytest.approx(-amps, rel=1e-3)
    assert pins[MAINS, "live"] == pytest.approx(-amps, rel=1e-3)
    assert voltages_at(solution, t)["a"] == pytest.approx(0.75 * volts, rel=1e-3)
    drawing = schematic(drawn)
    for wires in wire_currents(drawing, pins).values():
        assert [abs(flow) for flow in wires] == pytest.approx([amps] * len(wires), rel=1e-3)


@pytest.mark.parametrize("name", ["strip", "dropper", "dimmer_lamp", "bulk_charger", "regulator_lamp"])
def test_currents_add_up_at_every_node(name: str) -> None:
    """Kirchhoff's current law: what the pins of an inner node take adds up to nothing; the terminals give the input."""
    drawn, solution = _reference(name)
    waves = PinCurrents(solution).waves
    largest = max(float(np.abs(wave).max()) for wave in waves.values())
    for node in drawn.nodes:
        if node in ("live", "neutral"):
            continue
        total = sum(waves[e.ref, pin] for e in drawn.elements for pin, at in e.pins.items() if at == node)
        assert float(np.abs(total).max()) < 2e-3 * largest, node
    _, current = solution.input_waves()
    for t in (0.0021, 0.0052, 0.0131):
        at = PinCurrents(solution).at(t)
        expected = float(np.interp(t, solution.time, current))
        assert -at[MAINS, "live"] == pytest.approx(expected, abs=2e-3 * largest)
        assert at[MAINS, "neutral"] == pytest.approx(expected, abs=2e-3 * largest)


@pytest.mark.parametrize("name", ["strip", "dropper", "dimmer_lamp"])
def test_wires_carry_what_their_pins_take(name: str) -> None:
    """At every pin the wire that ends there carries that pin's current; at every branch point in equals out."""
    drawn, solution = _reference(name)
    drawing = schematic(drawn)
    pins = PinCurrents(solution).at(0.0052)
    largest = max(abs(amps) for amps in pins.values())
    along = wire_currents(drawing, pins)
    elements = {e.ref: e for e in drawn.elements}
    taken = {
        (node, drawing.cell(stand.pin(name_))): pins[stand.ref, name_]
        for stand in drawing.placement.stands
        for name_, node in elements[stand.ref].pins.items()
    }
    taken |= {(pin.node, drawing.cell(pin.at)): pins[MAINS, pin.node] for pin in drawing.placement.mains}
    for node, wires in drawing.wiring.wires.items():
        balance: dict[tuple[int, int], float] = {}
        for wire, amps in zip(wires, along[node], strict=True):
            balance[wire[0]] = balance.get(wire[0], 0.0) - amps
            balance[wire[-1]] = balance.get(wire[-1], 0.0) + amps
        for cell, amps in balance.items():
            assert amps == pytest.approx(taken.get((node, cell), 0.0), abs=3e-3 * largest)


def _width(svg: str, node: str) -> list[float]:
    return [float(w) for w in re.findall(rf'data-node="{node}"[^>]*stroke-width="([\d.]+)"', svg)]


def test_the_way_of_the_current_is_thick() -> None:
    """On the strip at the peak of the mains all wires are thick; at the zero crossing all are thin and faint."""
    drawn, solution = _reference("strip")
    peak, zero = (instant_svg(drawn, solution, t) for t in (0.005, 0.0))
    for node in ("p", "x", "m"):
        assert min(_width(peak, node)) > 5.0
        assert max(_width(zero, node)) == 1.0
    assert 'opacity="0.45"' not in peak
    assert zero.count('opacity="0.45"') == len(drawn.elements)


def test_volts_stand_at_the_nodes() -> None:
    """The divider's tap bears three quarters of the peak, 244 V of 325 V."""
    drawn, solution = _divider()
    shown = {"".join(t.itertext()) for t in all_of(parsed(instant_svg(drawn, solution, 0.005)), "text")}
    assert {"325 V", "244 V", "at 90°, 5.0 ms"} <= shown


def test_arrows_turn_with_the_mains() -> None:
    """Half a period later every arrow of an ac wire points the other way."""
    drawn, solution = _divider()
    tips = []
    for t in (0.005, 0.015):
        svg = instant_svg(drawn, solution, t)
        arrows = [p.attrib["d"] for p in all_of(parsed(svg), "path") if p.attrib.get("class") == "f-current"]
        tips.append([tuple(map(float, re.findall(r"-?[\d.]+", d)[:2])) for d in arrows])
    assert len(tips[0]) == len(tips[1]) > 0
    assert all(a != b for a, b in zip(*tips, strict=True))


@pytest.mark.parametrize("narrow", [False, True])
def test_six_instants_share_one_scale(narrow: bool) -> None:
    """The strip shows six instants with their angles, a legend once, and fits its page."""
    drawn, solution = _reference("dropper")
    root = parsed(six_instants_svg(drawn, solution, narrow=narrow))
    assert len(list(root.iter("{http://www.w3.org/2000/svg}svg"))) == 7
    shown = ["".join(t.itertext()) for t in all_of(root, "text")]
    assert [text for text in shown if text.startswith("at ")] == [
        f"at {angle}°, {angle / 18:.1f} ms" for angle in (15, 45, 75, 105, 135, 165)
    ]
    assert sum("The thickest line carries" in text for text in shown) == 1
    assert size_of(root)[0] == (360.0 if narrow else 1000.0)


def test_a_bench_supply_has_one_instant() -> None:
    """On dc the picture stands still, and volts are against the supply's minus."""
    drawn = all_circuits()["string on a bench supply"]
    svg = instant_svg(drawn, solve(drawn), 0.0)
    assert "on the bench supply" in svg
    assert "against the minus of the supply" in svg


def test_foreign_solution_is_refused() -> None:
    """A solution of another state is not drawn onto this one."""
    drawn, _ = _divider()
    _, other = _reference("strip")
    with pytest.raises(DrawingError, match="not of this circuit"):
        instant_svg(drawn, other, 0.0)
