"""Random legal circuits: each settles with its energy balanced, or says that it did not; none hangs, none crashes.

The fixed-seed tenth of the 2,000 that `make soak` runs.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.cycle.growing import grown, part, renamed, swapped

from lidoff.circuit import Circuit, CircuitError, Mains
from lidoff.cycle import solve
from lidoff.record import Table

SEEDS = range(200)
SETTLES = 0.94  # share that settles; nearly all of the rest are dimmers that fire on some half-cycles only


ONE_WORKER = pytest.mark.xdist_group("grown circuits")  # so that they are solved once


@pytest.fixture(scope="module")
def share():
    """All seeds, solved or refused."""
    found = {}
    for seed in SEEDS:
        try:
            found[seed] = solve(grown(seed))
        except CircuitError as error:
            found[seed] = error
    return found


@ONE_WORKER
def test_settled_means_balanced(share):
    for seed, solution in share.items():
        if not isinstance(solution, CircuitError) and solution.settled:
            assert abs(solution.balance) <= 5e-3, seed


@ONE_WORKER
def test_what_is_not_settled_is_said(share):
    for seed, solution in share.items():
        if isinstance(solution, CircuitError):
            assert str(solution), seed
        elif not solution.settled:
            assert solution.warnings, seed
            assert solution.figures()["settled"] is False


@ONE_WORKER
def test_none_is_refused(share):
    assert [seed for seed, solution in share.items() if isinstance(solution, CircuitError)] == []


@ONE_WORKER
def test_nearly_all_settle(share):
    settled = sum(not isinstance(s, CircuitError) and s.settled for s in share.values())
    assert settled >= SETTLES * len(share)


@ONE_WORKER
def test_figures_are_finite(share):
    for seed, solution in share.items():
        if isinstance(solution, CircuitError):
            continue
        figures = solution.figures()
        for ref, values in figures["parts"].items():
            assert all(math.isfinite(value) for value in values.values()), (seed, ref)
        assert figures["input"]["power"] > -1e-3, seed
        assert figures["cycles"] == len(solution.run.stretches)
        if figures["cycles"] > 1:
            low, high = figures["range"]["input.power"]
            assert low <= figures["input"]["power"] * (1 + 1e-6) + 1e-9
            assert high >= figures["input"]["power"] * (1 - 1e-6) - 1e-9


def steady(seed: int) -> bool:
    """Circuits whose settled state does not hang on the half-cycle in which the plug went in."""
    return not any(e.kind in ("diac", "triac", "thyristor", "indicator") for e in grown(seed).elements)


STEADY = [seed for seed in range(60) if steady(seed)][:24]


@pytest.mark.parametrize("seed", STEADY)
def test_node_names_and_part_order_do_not_matter(seed):
    circuit = grown(seed)
    one, two = solve(circuit).figures(), solve(renamed(circuit, "other ")).figures()
    if not (one["settled"] and two["settled"]):
        pytest.skip("this one does not settle")
    assert two["input"]["power"] == pytest.approx(one["input"]["power"], rel=2e-3, abs=1e-4)
    assert two["input"]["current_rms"] == pytest.approx(one["input"]["current_rms"], rel=2e-3, abs=1e-7)


@pytest.mark.parametrize("seed", STEADY)
def test_the_plug_the_other_way_up_mirrors_the_cycle(seed):
    circuit = grown(seed)
    one, two = solve(circuit), solve(swapped(circuit))
    if not (one.settled and two.settled):
        pytest.skip("this one does not settle")
    first, second = one.figures()["input"], two.figures()["input"]
    for key in ("power", "current_rms", "current_peak"):
        assert second[key] == pytest.approx(first[key], rel=6e-3, abs=1e-4), key
    # A half-wave load draws its direct current the other way.
    assert second["current_mean"] == pytest.approx(-first["current_mean"], abs=6e-3 * first["current_rms"] + 1e-6)


# Folding --------------------------------------------------------------------------------------------------------------


def ladder(sections: int, rows: int, *, folded: bool) -> Circuit:
    """A bridge and `rows` rows of `sections` sections, each a few LEDs with a resistor and a capacitor across both."""
    elements = [part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"})]
    if folded:
        elements += [
            part(
                "s/LED1", "led", {"anode": "p", "cathode": "s/x"}, series=sections, parallel=rows, forward_voltage=40.0
            ),
            part("s/R1", "resistor", ["s/x", "m"], series=sections, parallel=rows, value=330.0),
            part("s/C1", "capacitor", ["p", "m"], series=sections, parallel=rows, value=2.2e-6),
        ]
        # `part` gives the string's own count in values; here each section holds one LED of 40 V.
        elements = [replace(e, values=Table({**e.values, "series": 1.0, "parallel": 1.0})) if e.kind == "led" else e
                    for e in elements]  # fmt: skip
    else:
        for row in range(rows):
            nodes = ["p", *[f"r{row}n{k}" for k in range(1, sections)], "m"]
            for k in range(sections):
                top, inner, low = nodes[k], f"r{row}x{k}", nodes[k + 1]
                elements += [
                    part(f"LED{row}{k}", "led", {"anode": top, "cathode": inner}, forward_voltage=40.0),
                    part(f"R{row}{k}", "resistor", [inner, low], value=330.0),
                    part(f"C{row}{k}", "capacitor", [top, low], value=2.2e-6),
                ]
    return Circuit(elements=tuple(elements), supply=Mains())


@pytest.mark.parametrize(("sections", "rows"), [(5, 1), (3, 2), (6, 3)])
def test_a_folded_block_is_the_block_written_out(sections, rows):
    one, two = solve(ladder(sections, rows, folded=True)), solve(ladder(sections, rows, folded=False))
    first, second = one.figures(), two.figures()
    for key in ("power", "current_rms", "power_factor"):
        assert first["input"][key] == pytest.approx(second["input"][key], rel=2e-3), key
    member, other = first["parts"]["s/R1"], second["parts"]["R00"]
    assert member["voltage_rms"] == pytest.approx(other["voltage_rms"], rel=3e-3)
    assert member["current_rms"] == pytest.approx(other["current_rms"], rel=3e-3)
    total = sum(p["power"] for ref, p in second["parts"].items() if ref.startswith("R"))
    assert member["power"] == pytest.approx(total, rel=3e-3)
    assert first["light"]["mean_current"] == pytest.approx(second["light"]["mean_current"], rel=3e-3)
    assert np.mean(one.light_wave()) == pytest.approx(np.mean(two.light_wave()), rel=3e-3)


def test_two_halves_side_by_side_are_one_whole():
    one = (
        part("C1", "capacitor", ["live", "a"], value=1e-6),
        part("R1", "resistor", ["a", "neutral"], value=500.0),
    )
    two = (
        part("C1", "capacitor", ["live", "a"], value=0.5e-6),
        part("C2", "capacitor", ["live", "a"], value=0.5e-6),
        part("R1", "resistor", ["a", "neutral"], value=1000.0),
        part("R2", "resistor", ["a", "neutral"], value=1000.0),
    )
    whole = solve(Circuit(elements=one, supply=Mains()))
    halves = solve(Circuit(elements=two, supply=Mains()))
    assert halves.figures()["input"]["power"] == pytest.approx(whole.figures()["input"]["power"], rel=1e-4)


# Absurd input: solved if physics allows, else refused with a sentence -------------------------------------------------


@pytest.mark.parametrize(
    "elements",
    [
        [part("D1", "diac", ["live", "neutral"])],
        [part("Q1", "triac", {"mt1": "neutral", "mt2": "live", "gate": "live"})],
        [part("C1", "capacitor", ["live", "neutral"], value=1e3)],
        [part("L1", "inductor", ["live", "neutral"], value=1e10)],
        [part("R1", "resistor", ["live", "neutral"], value=1e-12)],
        [part("RV1", "varistor", ["live", "neutral"], voltage=10.0)],
        [part("DZ1", "zener", {"anode": "neutral", "cathode": "live"}, voltage=5.1)],
        [part("D1", "diode", {"anode": "live", "cathode": "neutral"})],
        [part("T1", "transformer", {"p1": "live", "p2": "neutral", "s1": "a", "s2": "b"}, ratio=10.0)],
        [part("U1", "converter", {"plus": "live", "minus": "neutral"}, power=5.0)],
        [part("L1", "inductor", ["live", "a"], value=1e-3),
         part("BR1", "bridge", {"ac1": "a", "ac2": "neutral", "plus": "p", "minus": "m"}),
         part("L2", "inductor", ["p", "m"], value=10.0)],
        [part("NE1", "indicator", ["live", "neutral"])],
    ],
    ids=lambda elements: "-".join(e.kind for e in elements),
)  # fmt: skip
def test_absurd_circuits_are_solved_or_refused(elements):
    try:
        solution = solve(Circuit(elements=tuple(elements), supply=Mains()))
    except CircuitError:
        return
    figures = solution.figures()
    if figures["settled"]:
        assert abs(solution.balance) <= 5e-3
    else:
        assert figures["warnings"]


def test_no_mains_is_said():
    with pytest.raises(CircuitError, match="mains voltage is zero"):
        solve(Circuit(elements=(part("R1", "resistor", ["live", "neutral"], value=1.0),), supply=Mains(voltage=0.0)))


def test_a_string_on_half_its_mains_hardly_lights():
    """A 230 V strip on 115 V: the string's voltage is hardly passed (the trade's commonest wrong plug)."""
    elements = (
        part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"}),
        part("LED1", "led", {"anode": "p", "cathode": "x"}, series=72.0, forward_voltage=3.0),
        part("R1", "resistor", ["x", "m"], value=1500.0),
    )
    full = solve(Circuit(elements=elements, supply=Mains(voltage=230.0))).figures()["light"]["mean_current"]
    half = solve(Circuit(elements=elements, supply=Mains(voltage=115.0))).figures()["light"]["mean_current"]
    assert half < 0.01 * full
