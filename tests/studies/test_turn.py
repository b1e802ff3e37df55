"""A knob turned with the state carried along: hysteresis against the closed form of an ideal diac dimmer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from tests.studies.circuits import CHARGER, DIMMED_LAMP, DIMMED_STRIP, circuit_of, part

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit
from lidoff.cycle import Solution, solve
from lidoff.studies import StudyError, turn
from lidoff.studies.sweep import fires

PEAK = 230.0 * math.sqrt(2.0)
OMEGA = 2.0 * math.pi * 50.0
FARADS, BREAKOVER = 0.6e-6, 25.0


def ideal(
    track: str,
    position: float = 0.5,
    farads: float = FARADS,
    breakover: float = BREAKOVER,
    supply: str = "230 V, 50 Hz",
) -> Circuit:
    """A dimmer as textbooks have it: the diac empties the capacitor, gate and triac drop next to nothing.

    Capacitor and breakover of examples T1 below; a load of 1 ohm counts for nothing beside the timing resistor.
    """
    volts, hertz = supply.split(", ")
    keys: dict[str, Any] = {"gate_voltage": 0.0, "gate_resistance": 1.0, "gate_shunt": "10M", "gate_current": "1 mA"}
    return circuit_of(
        f'[supply]\nvoltage = "{volts}"\nfrequency = "{hertz}"\n'
        + part("VR1", "potentiometer", "a=load wiper=t", value=track, position=position)
        + part("C1", "capacitor", "t live", value=farads)
        + part("D1", "diac", "t g", breakover=breakover, breakback=breakover, off_resistance="1G")
        + part(
            "Q1", "triac", "mt1=live mt2=load gate=g", on_voltage=0.0, on_resistance="1m", off_resistance="1G", **keys
        )
        + part("R9", "resistor", "load neutral", value="1R")
    )


def reset_firing(ohms: float, farads: float = FARADS, breakover: float = BREAKOVER) -> float | None:
    """Firing angle [rad] of a capacitor that begins each half-cycle empty; None where it never reaches the diac."""

    def charge(t: float, v: list[float]) -> list[float]:
        return [(PEAK * math.sin(OMEGA * t) - v[0]) / (ohms * farads)]

    def reaches(_t: float, v: list[float]) -> float:
        return v[0] - breakover

    run = solve_ivp(charge, (0.0, 0.01), [0.0], events=reaches, rtol=1e-9, atol=1e-9, max_step=1e-4)
    return OMEGA * float(run.t_events[0][0]) if run.t_events[0].size else None


def phasor_firing(ohms: float) -> float | None:
    """First firing [rad] of a capacitor that was never emptied: its steady sine passes the diac's voltage."""
    reactance = 1.0 / (OMEGA * FARADS)
    peak = PEAK * reactance / math.hypot(ohms, reactance)
    if peak < BREAKOVER:
        return None
    return math.atan2(ohms, reactance) + math.asin(BREAKOVER / peak)


def test_the_two_answers_of_the_textbook_example() -> None:
    # Examples A.2 T1 (Gupta/Singhal, Power Electronics, Ex 2.27 p. 75, as recomputed): 25.37 and 92.60 degrees by
    # phasors; with the capacitor emptied each half-cycle 15.49 and 46.48 degrees.
    assert [math.degrees(phasor_firing(r) or 0.0) for r in (2e3, 20e3)] == pytest.approx([25.37, 92.59], abs=0.02)
    assert [math.degrees(reset_firing(r) or 0.0) for r in (2e3, 20e3)] == pytest.approx([15.49, 46.48], abs=0.02)


def firing(solution: Solution) -> float:
    """Firing angle of a settled dimmer [degrees]."""
    triac = list(solution.built.latches).index("Q1")
    flips = solution.run.stretches[-1].flips
    fired = [row[0] for row in flips if int(row[1]) == triac and int(row[2]) == 0]
    return 360.0 * solution.circuit.supply.frequency * float(fired[0]) % 180.0


@pytest.mark.parametrize(
    ("ohms", "farads", "breakover", "supply", "degrees"),
    [
        # Examples A.2 T1, column "capacitor reset to 0".
        (2e3, 0.6e-6, 25.0, "230 V, 50 Hz", 15.49),
        (20e3, 0.6e-6, 25.0, "230 V, 50 Hz", 46.48),
        # T3 (a thyristor maker's application note AN1003, Fig. 14: 3.3 kohm and 0.1 uF, diac of 32 V), knob at its end.
        (3.3e3, 0.1e-6, 32.0, "120 V, 60 Hz", 17.4),
        (3.3e3, 0.1e-6, 32.0, "240 V, 50 Hz", 10.3),
        # A.13 X2: 56 kohm, 0.3 uF, 30 V, published as 30 degrees by charging from a constant 325 V. It is 61.4.
        (56e3, 0.3e-6, 30.0, "230 V, 50 Hz", 61.4),
    ],
)
def test_the_settled_dimmer_fires_as_the_emptied_capacitor_does(
    ohms: float, farads: float, breakover: float, supply: str, degrees: float
) -> None:
    """The solver's diac leaves some volts on the capacitor (holding current, gate): up to a degree or so later."""
    start = solve(ideal(f"{2 * ohms:g} R", 0.05, farads, breakover, supply))
    here = start.run.stretches[-1].end
    for position in np.linspace(0.05, 0.5, 30):
        settled = solve(ideal(f"{2 * ohms:g} R", float(position), farads, breakover, supply), start=here)
        here = settled.run.stretches[-1].end
    assert firing(settled) == pytest.approx(degrees, abs=1.3)


def test_the_trap_of_a_constant_source_is_shown_by_our_own_figure() -> None:
    # A.13 X3: 47 k + 500 k and 0.1 uF were published for 90 degrees at 230 V, 32 V, by a constant source: RC would be
    # 48.3 ms against the true 30.5 ms.
    assert math.degrees(reset_firing(305e3, 0.1e-6, 32.0) or 0.0) == pytest.approx(90.0, abs=0.2)
    true = math.degrees(reset_firing(483e3, 0.1e-6, 32.0) or 0.0)
    assert true > 110.0
    assert firing(solve(ideal("966k", 0.5, 0.1e-6, 32.0))) == pytest.approx(true, abs=1.3)
    assert firing(solve(ideal("610k", 0.5, 0.1e-6, 32.0))) == pytest.approx(90.0, abs=1.3)


def test_snap_on_and_snap_off_are_where_the_two_closed_forms_end() -> None:
    """Coming on, the steady sine must reach the diac; going out, the emptied capacitor must no longer reach it."""
    track = 200e3
    study = turn(ideal(f"{track:g} R"), "VR1", 41)
    # Position runs from load (0 ohm) to the full track: the lamp goes out on the way up, comes on on the way down.
    on = brentq(lambda r: 1.0 / math.hypot(1.0, OMEGA * r * FARADS) - BREAKOVER / PEAK, 1e3, 1e6) / track
    low, high = 10e3, 200e3
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if reset_firing(middle) is not None else (low, middle)
    off = low / track
    assert study.power_on == pytest.approx(on, abs=0.01)
    assert study.power_off == pytest.approx(off, abs=0.02)
    assert off > on + 0.05  # the hysteresis itself
    assert study.snap_on is None  # no LED, so no light
    assert study.snap_off is None


def test_dimmed_lamp_comes_on_later_than_it_goes_out() -> None:
    study = turn(circuit_of(DIMMED_LAMP), "VR1", 41)
    assert study.power_on is not None
    assert study.power_off is not None
    assert study.power_off > study.power_on + 0.02
    assert study.dead_travel is None
    up = {s.value: s.power or 0.0 for s in study.up}
    down = {s.value: s.power or 0.0 for s in study.down}
    between = [p for p in up if study.power_on + 0.01 < p < study.power_off - 0.01]
    assert between
    assert all(up[p] > 3.0 * down[p] for p in between)
    # Where the hysteresis ends both ways give the same.
    assert all(up[p] == pytest.approx(down[p], rel=2e-3) for p in up if p < study.power_on - 0.02)


def test_up_then_down_with_as_many_points_each_way() -> None:
    study = turn(circuit_of(DIMMED_STRIP), "VR1", 11)
    assert [s.value for s in study.up] == pytest.approx(list(np.linspace(0.0, 1.0, 11)))
    assert [s.value for s in study.down] == pytest.approx(list(np.linspace(1.0, 0.0, 11)))
    document = study.as_json()
    assert set(document) >= {"ref", "up", "down", "dead_travel", "floor", "snap_on", "snap_off"}
    assert document["up"][0]["light"]["percent_flicker"] is not None
    # Record format: the share of the points, both ways counted.
    light = [s.brightness or 0.0 for s in (*study.up, *study.down)]
    limit = min(light) + 0.05 * (max(light) - min(light))
    assert study.dead_travel == pytest.approx(sum(value <= limit for value in light) / 22)
    assert study.snap_on is not None
    assert study.snap_off is not None
    assert study.power_on is None


def test_a_plain_series_knob_has_no_hysteresis() -> None:
    text = part("VR1", "potentiometer", "a=live wiper=b", value="20k") + part(
        "BR1", "bridge", "ac1=b ac2=neutral plus=p minus=m"
    )
    text += part("LED1", "led", "anode=p cathode=x", series=60, forward_voltage="2.9 V")
    study = turn(circuit_of(text + part("R3", "resistor", "x m", value="1k5")), "VR1", 11)
    for going, coming in zip(study.up, reversed(study.down), strict=True):
        assert going.brightness == pytest.approx(coming.brightness, rel=1e-3)
    assert study.floor is not None
    assert study.floor > 0.05
    assert study.snap_on is None  # it never goes out
    assert study.snap_off is None


def test_a_coarse_turn_finds_the_same_snap() -> None:
    """A knob jerked from place to place would wake the dimmer early; it is turned through the places between."""
    circuit = circuit_of(DIMMED_LAMP)
    fine, coarse = turn(circuit, "VR1", 41), turn(circuit, "VR1", 11)
    assert coarse.power_on == pytest.approx(fine.power_on or 0.0, abs=0.015)
    assert coarse.power_off == pytest.approx(fine.power_off or 0.0, abs=0.015)


@pytest.mark.parametrize(
    ("text", "ref", "points", "sentence"),
    [
        (CHARGER, "R1", 5, "it is a resistor; this state has no potentiometer"),
        (DIMMED_LAMP, "VR2", 5, "no such part in this state; what turns here is VR1"),
        (DIMMED_LAMP, "VR1", 1, "take at least 2"),
    ],
)
def test_what_cannot_be_turned_is_said(text: str, ref: str, points: int, sentence: str) -> None:
    with pytest.raises(StudyError, match=sentence):
        turn(circuit_of(text), ref, points)


def test_at_half_travel_of_a_carried_state_the_figures_equal_those_from_rest_where_there_is_no_hysteresis() -> None:
    circuit = circuit_of(DIMMED_STRIP)
    study = turn(circuit, "VR1", 11)
    rest = solve(with_values(circuit, {"VR1.position": 0.1})).light_figures()
    assert rest is not None
    assert study.up[1].brightness == pytest.approx(rest["mean_current"], rel=2e-3)


def test_a_thyristor_that_stays_on_counts_as_firing() -> None:
    """On smoothed direct current it latches once and stays: no firing to be seen in the cycle, and yet it is on."""
    text = (
        part("BR1", "bridge", "ac1=live ac2=neutral plus=p minus=m")
        + part("C1", "capacitor", "p m", value="100u")
        + part("R9", "resistor", "p a", value="3k3")
        + part("Q1", "thyristor", "anode=a cathode=m gate=g")
        + part("R2", "resistor", "p g", value="OHMS")
    )
    on, off = (solve(circuit_of(text.replace("OHMS", ohms))) for ohms in ("10k", "1M"))
    assert fires(on) is True
    assert fires(off) is False
    assert on.powers["R9"] > 100.0 * off.powers["R9"]
    assert fires(solve(circuit_of(CHARGER))) is None
