"""Phase control of a resistor: the closed form and the published table, firing angle by firing angle."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq
from tests.studies.circuits import circuit_of, part

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit
from lidoff.cycle import Point, Solution, solve

GATE = {"gate_voltage": 0.0, "gate_resistance": 1.0, "gate_shunt": "10M", "gate_current": "1 mA", "on_voltage": 0.0}


def control(load: str, device: str, supply: str = "230 V", frequency: str = "50 Hz") -> Circuit:
    """A phase control without losses: `device` is "triac", or "thyristor" with a plain diode the other way round."""
    text = f'[supply]\nvoltage = "{supply}"\nfrequency = "{frequency}"\nresistance = "1u"\n'
    text += part("VR1", "potentiometer", "a=load wiper=t", value="1M", position=0.02)
    text += part("C1", "capacitor", "t live", value="0.1u")
    text += part("D1", "diac", "t g", breakover="25 V", breakback="25 V", off_resistance="1G")
    if device == "triac":
        text += part("Q1", "triac", "mt1=live mt2=load gate=g", on_resistance="1m", off_resistance="1G", **GATE)
    else:
        text += part(
            "Q1", "thyristor", "anode=load cathode=live gate=g", on_resistance="1m", off_resistance="1G", **GATE
        )
        text += part("D2", "diode", "anode=live cathode=load", forward_voltage="0.1 V", slope="5 mV")
    return circuit_of(text + part("R9", "resistor", "load neutral", value=load))


def angle(solution: Solution) -> float:
    """Firing angle of the controlled half-cycle [degrees]."""
    latch = list(solution.built.latches).index("Q1")
    fired = [row[0] for row in solution.run.stretches[-1].flips if int(row[1]) == latch and int(row[2]) == 0]
    frequency = solution.circuit.supply.frequency
    return 360.0 * frequency * float(fired[0]) % 180.0


def fired_at(circuit: Circuit, degrees: float) -> Solution:
    """The circuit with its knob where it fires at that angle, turned there slowly so that it does not go out."""

    def at(position: float, start: Point | None) -> Solution:
        return solve(with_values(circuit, {"VR1.position": position}), start=start)

    low, solution = 0.01, at(0.01, None)
    while True:
        here = solution.run.stretches[-1].end
        solution = at(1.04 * low, here)
        if angle(solution) > degrees:
            break
        low *= 1.04
    return at(brentq(lambda p: angle(at(p, here)) - degrees, low, 1.04 * low, xtol=1e-6), here)


def rms_factor(degrees: float) -> float:
    a = math.radians(degrees)
    return math.sqrt(1.0 - a / math.pi + math.sin(2.0 * a) / (2.0 * math.pi))


@pytest.mark.parametrize(
    ("row", "supply", "frequency", "load", "degrees", "volts", "factor"),
    [
        # Bimbhra, Power Electronics, Ex 9.2 p. 560, as recomputed: 219.304 V, PF 0.9535.
        ("P1", "230 V", "50 Hz", "20R", 45.0, 219.3041, 0.9535),
        # Jagannathan, Introduction to Power Electronics, Ex 4.1 p. 158, as recomputed: 101.70 V, PF 0.442.
        ("P2", "230 V", "50 Hz", "5R", 120.0, 101.6957, 0.4422),
        # Same, Ex 4.4 p. 160: 219.30 V.
        ("P4", "230 V", "50 Hz", "30R", 45.0, 219.3041, 0.9535),
        # A text-book problem: 120 V 60 Hz, 10 ohm, 90 degrees: 84.85 V, PF 0.707.
        ("P6", "120 V", "60 Hz", "10R", 90.0, 84.8528, 0.7071),
        # Jacob, Power Electronics, Ex 8.8 p. 427: 120 V, 60 degrees: 107.63 V.
        ("P7", "120 V", "60 Hz", "50R", 60.0, 107.63, 0.8969),
    ],
)
def test_published_rows(
    row: str, supply: str, frequency: str, load: str, degrees: float, volts: float, factor: float
) -> None:
    solution = fired_at(control(load, "triac", supply, frequency), degrees)
    assert solution.part_figures("R9")["voltage_rms"] == pytest.approx(volts, rel=3e-3), row
    assert solution.input_figures()["power_factor"] == pytest.approx(factor, rel=3e-3), row


@pytest.mark.parametrize("degrees", [30.0, 60.0, 90.0, 120.0, 150.0])
def test_closed_form_along_the_knob(degrees: float) -> None:
    # Vrms = Vs sqrt(1 - a/pi + sin(2a)/(2 pi)), with a the firing angle.
    solution = fired_at(control("100R", "triac"), degrees)
    assert solution.part_figures("R9")["voltage_rms"] == pytest.approx(230.0 * rms_factor(degrees), rel=3e-3)


@pytest.mark.parametrize(("conduction", "share"), [(150.0, 0.9712), (30.0, 0.0288)])
def test_share_of_full_power(conduction: float, share: float) -> None:
    # A thyristor maker's application note (AN1003, beside its Fig. 3 and 4): 150 degrees give 97 %, 30 degrees 3 %.
    solution = fired_at(control("100R", "triac"), 180.0 - conduction)
    assert solution.powers["R9"] / (230.0**2 / 100.0) == pytest.approx(share, rel=0.01)


def test_one_half_cycle_controlled_gives_direct_current() -> None:
    # Bimbhra, Ex 9.1 p. 560, as recomputed: 230 V, 20 ohm, 45 degrees: 224.716 V, PF 0.9770, mean current 0.7581 A
    # towards the uncontrolled side.
    solution = fired_at(control("20R", "thyristor"), 45.0)
    given = solution.input_figures()
    assert solution.part_figures("R9")["voltage_rms"] == pytest.approx(224.716, rel=3e-3)
    assert given["power_factor"] == pytest.approx(0.9770, rel=3e-3)
    assert abs(given["current_mean"]) == pytest.approx(0.7581, rel=0.02)
