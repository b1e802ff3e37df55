"""The solver against closed forms, handbook tables and worked examples; the source stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.cycle.growing import part

from lidoff.circuit import Circuit, Mains
from lidoff.cycle import solve

IDEAL = {"forward_voltage": 0.02, "test_current": 1.0, "slope": 0.002}  # as good as no drop at all


def circuit(*elements, voltage=230.0, frequency=50.0, resistance=1e-6, **supply) -> Circuit:
    return Circuit(
        elements=elements,
        supply=Mains(voltage=voltage, frequency=frequency, resistance=resistance, **supply),
    )


def firing_angles(solution, ref) -> list[float]:
    """Electrical angles [deg] at which a latch fired in the settled cycle."""
    at = solution.built.latches.index(ref)
    frequency = solution.circuit.supply.frequency
    return [360.0 * frequency * row[0] for row in solution.run.stretches[0].flips if row[1] == at and row[2] == 0]


# Linear circuits ------------------------------------------------------------------------------------------------------


def test_resistor_on_the_mains():
    figures = solve(circuit(part("R1", "resistor", ["live", "neutral"], value=100.0))).figures()
    assert figures["input"]["power"] == pytest.approx(529.0, rel=1e-4)
    assert figures["input"]["power_factor"] == pytest.approx(1.0, abs=1e-6)
    assert figures["input"]["thd"] < 1e-3


def test_series_resistor_and_coil():
    """R 3, XL 4 on 230 V 50 Hz: 46 A, 6348 W, PF 0.6 (Bimbhra, Power Electronics, Ex 9.5 p.575)."""
    coil = part("L1", "inductor", ["a", "neutral"], value=4.0 / (2 * math.pi * 50.0))
    figures = solve(circuit(part("R1", "resistor", ["live", "a"], value=3.0), coil)).figures()
    assert figures["input"]["current_rms"] == pytest.approx(46.0, rel=1e-3)
    assert figures["input"]["power"] == pytest.approx(6348.0, rel=2e-3)
    assert figures["input"]["displacement_factor"] == pytest.approx(0.6, abs=1e-3)


def test_capacitor_takes_current_but_no_power():
    """I = V w C; a snubber's leakage through an open dimmer is this (common practice, no source)."""
    figures = solve(circuit(part("C1", "capacitor", ["live", "neutral"], value=47e-9), resistance=0.4)).figures()
    assert figures["input"]["current_rms"] == pytest.approx(230.0 * 2 * math.pi * 50.0 * 47e-9, rel=1e-3)
    assert abs(figures["input"]["power"]) < 1e-3


def test_harmonics_of_the_mains_keep_the_rms():
    """240 V rms with h3 30 % and h5 10 %: peaks 323.6, 97.1, 32.4 V (Bird, Electrical Circuit Theory, ch. 36 Ex 4)."""
    load = part("R1", "resistor", ["live", "neutral"], value=1000.0)
    solution = solve(circuit(load, voltage=240.0, shape={3: 0.30, 5: 0.10}))
    found = solution.input_figures()
    assert found["voltage_rms"] == pytest.approx(240.0, rel=1e-4)
    assert found["harmonics"][0]["current_rms"] * 1000.0 * math.sqrt(2) == pytest.approx(323.6, rel=1e-3)
    assert found["harmonics"][2]["current_rms"] * 1000.0 * math.sqrt(2) == pytest.approx(97.1, rel=1e-3)


def test_transformer_steps_down_and_reflects_its_load():
    """Turns ratio 20, secondary load 10 ohm: 400 times that on the primary (any text on transformers)."""
    transformer = part(
        "T1", "transformer", {"p1": "live", "p2": "neutral", "s1": "s", "s2": "r"}, ratio=20.0, magnetising=1e4,
        leakage=1e-6,
    )  # fmt: skip
    figures = solve(circuit(transformer, part("R1", "resistor", ["s", "r"], value=10.0))).figures()
    assert figures["parts"]["R1"]["voltage_rms"] == pytest.approx(11.5, rel=2e-3)
    assert figures["input"]["current_rms"] == pytest.approx(230.0 / 4000.0, rel=5e-3)


# Phase control --------------------------------------------------------------------------------------------------------


def dimmed(position: float, *, voltage=230.0, frequency=50.0, load=880.0, snubber=False, track=330e3):
    elements = [
        part("VR1", "potentiometer", {"a": "load", "wiper": "w"}, value=track, position=position),
        part("R1", "resistor", ["w", "t"], value=4.7e3),
        part("C1", "capacitor", ["t", "live"], value=100e-9),
        part("D1", "diac", ["t", "g"]),
        part("Q1", "triac", {"mt1": "live", "mt2": "load", "gate": "g"}, on_voltage=0.0, on_resistance=1e-3),
        part("R9", "resistor", ["load", "neutral"], value=load),
    ]
    return circuit(*elements, voltage=voltage, frequency=frequency)


@pytest.mark.parametrize("position", [0.05, 0.2, 0.35, 0.5])
def test_phase_controlled_resistor(position):
    """V = Vs sqrt(1 - a/pi + sin(2a)/(2 pi)), Bimbhra, Power Electronics, Ex 9.2 (P1: 230 V, 45 deg: 219.304 V)."""
    solution = solve(dimmed(position))
    first, second = (math.radians(angle) for angle in firing_angles(solution, "Q1"))
    assert second - first == pytest.approx(math.pi, abs=2e-3)
    expected = 230.0 * math.sqrt(1.0 - first / math.pi + math.sin(2.0 * first) / (2.0 * math.pi))
    figures = solution.figures()
    assert figures["parts"]["R9"]["voltage_rms"] == pytest.approx(expected, rel=3e-3)
    assert figures["input"]["power_factor"] == pytest.approx(expected / 230.0, rel=4e-3)


def test_the_table_value_of_phase_control():
    """P1 of the same example by bisecting the knob to 45 deg: 219.304 V, power factor 0.9535."""
    low, high = 0.0, 0.4
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if firing_angles(solve(dimmed(middle)), "Q1")[0] < 45.0 else (low, middle)
    figures = solve(dimmed(low)).figures()
    assert figures["parts"]["R9"]["voltage_rms"] == pytest.approx(219.304, rel=2e-3)
    assert figures["input"]["power_factor"] == pytest.approx(0.9535, rel=2e-3)


def timing(resistance: float, capacitance: float, breakover: float, *, voltage=230.0, frequency=50.0, back=None):
    """An RC chain straight across the mains with a diac that discharges it fully, or not at all."""
    return circuit(
        part("R1", "resistor", ["live", "t"], value=resistance),
        part("C1", "capacitor", ["t", "neutral"], value=capacitance),
        part("D1", "diac", ["t", "neutral"], breakover=breakover, breakback=breakover if back is None else back,
             on_resistance=1.0, off_resistance=1e9),
        voltage=voltage, frequency=frequency,
    )  # fmt: skip


@pytest.mark.parametrize(("resistance", "settled"), [(2e3, 15.49), (20e3, 46.48)])
def test_diac_timing_settled(resistance, settled):
    """T1: 230 V 50 Hz, 0.6 uF, 25 V; discharged to nothing each half-cycle it fires at 15.49 / 46.48 deg.

    Own exact integration of the first-order equation from 0 V at the zero crossing (scipy). The published phasor answer
    (25.37 / 92.60 deg, Gupta and Singhal, Power Electronics, Ex 2.27 p.75) is the capacitor that is never emptied.
    """
    from scipy.integrate import solve_ivp
    from scipy.optimize import brentq

    peak, w, tau = 230.0 * math.sqrt(2.0), 2 * math.pi * 50.0, resistance * 0.6e-6

    def volts(t):
        return solve_ivp(
            lambda s, v: (peak * math.sin(w * s) - v) / tau, (0.0, t), [0.0], rtol=1e-9, atol=1e-9
        ).y[0, -1]  # fmt: skip

    expected = math.degrees(w * brentq(lambda t: volts(t) - 25.0, 1e-5, 5e-3, xtol=1e-8))
    assert expected == pytest.approx(settled, abs=0.01)
    # The first firing from rest is this one: the capacitor starts empty at a rising zero crossing.
    solution = solve(timing(resistance, 0.6e-6, 25.0))
    from lidoff.cycle import transient

    _, stretch = transient(solution.circuit, duration=0.005)
    fired = [math.degrees(w * row[0]) for row in stretch.flips if row[2] == 0]
    assert fired[0] == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(("resistance", "phasor"), [(2e3, (25.37, 215.23)), (20e3, (92.60, 58.97))])
def test_diac_timing_before_the_first_firing(resistance, phasor):
    """T1 by the phasor method: Vc peak and angle at which 25 V is passed, the capacitor never emptied."""
    angle, volts = phasor
    solution = solve(timing(resistance, 0.6e-6, 1e4))
    wave = solution.voltage("t", "neutral")
    # The book's "215.23 V" and "58.97 V" are rms over sqrt 2 away from the peak: it works with rms volts throughout.
    assert np.sqrt(np.mean(wave**2)) == pytest.approx(volts, rel=3e-3)
    degrees = np.degrees(2 * math.pi * 50.0 * solution.time)
    after = np.flatnonzero((wave[:-1] < 25.0) & (wave[1:] >= 25.0))
    assert degrees[after[0]] == pytest.approx(angle, abs=0.4)


def test_steady_source_arithmetic_is_wrong():
    """X2: 56 k, 0.3 uF, 30 V at 230 V 50 Hz "solved" as if 325 V stood there all the time gives 1.68 ms, 30 deg.

    With the sine the first firing is at 61.4 deg (own, reset each half-cycle); the trap is that the wrong sum looks
    right (emergingtechs.org, AC power control using triac).
    """
    from lidoff.cycle import transient

    _, stretch = transient(timing(56e3, 0.3e-6, 30.0), duration=0.01)
    fired = [math.degrees(2 * math.pi * 50.0 * row[0]) for row in stretch.flips if row[2] == 0]
    assert fired[0] == pytest.approx(61.4, abs=0.2)


def test_breakover_with_the_gate_in_the_way():
    """T4: 32 V + 1 V for an ideal gate (Malvino, Electronic Principles, Ex 15-9); a gate with its 10 k shunt passes the
    diac's leak, so the capacitor stands near 32.1 V at firing.
    """
    solution = solve(dimmed(0.3))
    fired = solution.run.stretches[0].flips
    at = solution.built.latches.index("D1")
    instant = next(row[0] for row in fired if row[1] == at and row[2] == 0)
    point = np.searchsorted(solution.waves.time, instant * (1.0 - 1e-12))
    volts = abs(
        solution.waves.x[point, solution.built.index["t"]] - solution.waves.x[point, solution.built.index["live"]]
    )
    assert volts == pytest.approx(32.1, abs=0.15)


# Rectifiers -----------------------------------------------------------------------------------------------------------


def test_half_wave_mean():
    """Mean of a half-wave rectified sine: Vp / pi; a direct current flows in the mains."""
    figures = solve(
        circuit(part("D1", "diode", {"anode": "live", "cathode": "p"}, **IDEAL),
                part("R1", "resistor", ["p", "neutral"], value=1000.0))
    ).figures()  # fmt: skip
    peak = 230.0 * math.sqrt(2.0)
    assert figures["parts"]["R1"]["voltage_mean"] == pytest.approx(peak / math.pi, rel=1e-3)
    assert figures["parts"]["R1"]["voltage_rms"] == pytest.approx(peak / 2.0, rel=1e-3)
    assert figures["input"]["current_mean"] == pytest.approx(peak / math.pi / 1000.0, rel=1e-3)
    assert figures["input"]["power_factor"] == pytest.approx(math.sqrt(0.5), rel=1e-3)


def test_full_wave_mean():
    figures = solve(
        circuit(part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"}, **IDEAL),
                part("R1", "resistor", ["p", "m"], value=1000.0))
    ).figures()  # fmt: skip
    assert figures["parts"]["R1"]["voltage_mean"] == pytest.approx(2 * 230.0 * math.sqrt(2.0) / math.pi, rel=1e-3)


# Bridge with capacitor and source resistance, ideal diodes; rs = source R / load R. Own closed-form solution of
# conduction and discharge (no scan of the published curves of O. H. Schade, Proc. IRE 31 (1943) 341 was readable).
SCHADE = [
    # wCR, rs %, Vdc/Vp, ripple rms/Vdc, Ipk/Idc, Irms/Idc, PF
    (1, 0.1, 0.6780, 0.3667, 2.084, 1.325, 0.822),
    (1, 5, 0.6460, 0.3654, 2.083, 1.315, 0.848),
    (3, 0.1, 0.7798, 0.1951, 3.927, 1.713, 0.670),
    (3, 5, 0.7393, 0.1893, 3.336, 1.613, 0.756),
    (10, 0.1, 0.8972, 0.0728, 7.401, 2.292, 0.560),
    (10, 5, 0.8167, 0.0638, 3.948, 1.771, 0.757),
    (30, 0.1, 0.9571, 0.0267, 11.27, 2.894, 0.472),
    (30, 5, 0.8303, 0.0215, 4.023, 1.791, 0.761),
    (100, 0.1, 0.9815, 0.0083, 13.69, 3.290, 0.427),
    (100, 5, 0.8320, 0.0065, 4.032, 1.794, 0.762),
]


@pytest.mark.parametrize("row", SCHADE, ids=lambda row: f"{row[0]}-{row[1]}")
def test_capacitor_input_rectifier(row):
    wcr, share, mean, ripple, peak, effective, factor = row
    load, volts = 1000.0, 1000.0
    capacitance = wcr / (2 * math.pi * 50.0 * load)
    solution = solve(
        circuit(
            part("RS", "resistor", ["live", "a"], value=share / 100.0 * load),
            part("BR1", "bridge", {"ac1": "a", "ac2": "neutral", "plus": "p", "minus": "m"}, **IDEAL),
            part("C1", "capacitor", ["p", "m"], value=capacitance),
            part("R1", "resistor", ["p", "m"], value=load),
            voltage=volts,
        )
    )
    figures = solution.figures()
    out, given = figures["parts"]["R1"], figures["input"]
    direct = out["voltage_mean"] / load
    assert out["voltage_mean"] / (volts * math.sqrt(2.0)) == pytest.approx(mean, rel=0.005)
    alternating = math.sqrt(out["voltage_rms"] ** 2 - out["voltage_mean"] ** 2)
    assert alternating / out["voltage_mean"] == pytest.approx(ripple, rel=0.01)
    assert given["current_peak"] / direct == pytest.approx(peak, rel=0.01)
    assert given["current_rms"] / direct == pytest.approx(effective, rel=0.005)
    # The table's power factor counts the source resistance as part of the load, as the terminals here do.
    assert given["power_factor"] == pytest.approx(factor, abs=0.005)


def test_surge_resistor_example():
    """R1: half-wave, Vp 100, 60 Hz, R 10 k, C 83.3 uF: ripple 1.918 V, conduction 11.4 deg, 622 mA peak.

    Exact values by own closed form; the book's approximation says 2 V, 0.2 rad, 638 mA (Sedra and Smith,
    Microelectronic Circuits, Ex 3.9 p.181), 3 to 5 % off.
    """
    solution = solve(
        circuit(part("D1", "diode", {"anode": "live", "cathode": "p"}, **IDEAL),
                part("C1", "capacitor", ["p", "neutral"], value=83.3e-6),
                part("R1", "resistor", ["p", "neutral"], value=10e3),
                voltage=100.0 / math.sqrt(2.0), frequency=60.0, resistance=1e-3)
    )  # fmt: skip
    wave = solution.voltage("p", "neutral")
    assert wave.max() - wave.min() == pytest.approx(1.918, rel=0.01)
    assert solution.figures()["input"]["current_peak"] == pytest.approx(0.622, rel=0.02)


# Capacitor droppers ---------------------------------------------------------------------------------------------------

# pandatron.net/led-light-bulb: measured mA at 230 V 50 Hz, by capacitor [nF] and string voltage [V]; the mains is not
# stated on the page. The two cells marked do not follow from the charge balance and must stand out.
DROPPER = {
    1000: {3.5: 64, 35: 57, 70: 47, 105: 42, 165: 32, 230: 20},
    680: {3.5: 44, 35: 39, 70: 34, 105: 29, 165: 22, 230: 17},
    470: {3.5: 30, 35: 27, 70: 24, 105: 20, 165: 15},
    330: {3.5: 21, 35: 19, 70: 17, 105: 14},
    220: {3.5: 14, 35: 13, 70: 11},
}
ODD = {(1000, 70), (680, 230)}
CELLS = [(nano, volts, current) for nano, row in DROPPER.items() for volts, current in row.items()]


@pytest.mark.parametrize(("nano", "volts", "current"), CELLS)
def test_dropper_table(nano, volts, current):
    """Published table against the solver: within 2 mA, except the two cells that are off by 3.8 and 4.2 mA."""
    figures = solve(
        circuit(
            part("R1", "resistor", ["live", "a"], value=100.0),
            part("C1", "capacitor", ["a", "b"], value=nano * 1e-9),
            part("BR1", "bridge", {"ac1": "b", "ac2": "neutral", "plus": "p", "minus": "m"}, forward_voltage=0.7,
                 test_current=0.02),
            part("C2", "capacitor", ["p", "m"], value=470e-6),
            part("LED1", "led", {"anode": "p", "cathode": "m"}, forward_voltage=volts, slope=1e-2),
        )
    ).figures()  # fmt: skip
    found = 1e3 * figures["light"]["mean_current"]
    if (nano, volts) in ODD:
        assert abs(found - current) > 3.0
    else:
        assert found == pytest.approx(current, abs=2.0)
    charge = 4e3 * 50.0 * nano * 1e-9 * (230.0 * math.sqrt(2.0) - volts - 1.4)
    assert found == pytest.approx(charge, rel=0.02, abs=0.3)


def test_half_wave_dropper():
    """D2: LED with inverse diode behind 0.68 uF at 120 V 60 Hz: 13.85 mA mean (Malvino, Ex 5-15 p.170)."""
    figures = solve(
        circuit(part("C1", "capacitor", ["live", "a"], value=0.68e-6),
                part("LED1", "led", {"anode": "a", "cathode": "neutral"}, forward_voltage=0.05, slope=2e-3),
                part("D1", "diode", {"anode": "neutral", "cathode": "a"}, **IDEAL),
                voltage=120.0, frequency=60.0)
    ).figures()  # fmt: skip
    assert 1e3 * figures["light"]["mean_current"] == pytest.approx(13.85, rel=0.01)


# LED strings ----------------------------------------------------------------------------------------------------------

# String voltage over mains peak; resistor-fed PF and flicker index; constant-current PF, THD and flicker index; own
# closed forms for a rectified sine without capacitor (light proportional to current).
STRINGS = [
    (0.3, 0.9808, 0.3233, 0.9566, 0.3045, 0.1940),
    (0.5, 0.9400, 0.4184, 0.9549, 0.3108, 0.3333),
    (0.6, 0.9067, 0.4750, 0.9374, 0.3714, 0.4097),
    (0.7, 0.8598, 0.5407, 0.9035, 0.4742, 0.4936),
    (0.8, 0.7913, 0.6204, 0.8440, 0.6355, 0.5903),
    (0.9, 0.6772, 0.7273, 0.7324, 0.9297, 0.7129),
]


def string(share: float, *, regulated: bool):
    volts = share * 1000.0 * math.sqrt(2.0)
    inner = (
        part("U1", "regulator", {"input": "x", "output": "m"}, limit=0.05, dropout=0.05)
        if regulated
        else part("R1", "resistor", ["x", "m"], value=5e3)
    )
    return circuit(
        part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"}, **IDEAL),
        part("LED1", "led", {"anode": "p", "cathode": "x"}, forward_voltage=volts, slope=0.05),
        inner,
        voltage=1000.0,
    )


@pytest.mark.parametrize("row", STRINGS, ids=lambda row: str(row[0]))
def test_resistor_fed_string(row):
    share, factor, index, *_ = row
    figures = solve(string(share, regulated=False)).figures()
    assert figures["input"]["power_factor"] == pytest.approx(factor, abs=0.003)
    assert figures["light"]["flicker_index"] == pytest.approx(index, abs=0.003)
    assert figures["light"]["percent_flicker"] == pytest.approx(100.0, abs=0.01)
    assert figures["light"]["frequency"] == pytest.approx(100.0)


@pytest.mark.parametrize("row", STRINGS, ids=lambda row: str(row[0]))
def test_constant_current_string(row):
    share, _, _, factor, distortion, index = row
    figures = solve(string(share, regulated=True)).figures()
    assert figures["input"]["power_factor"] == pytest.approx(factor, abs=0.003)
    # The table counts all orders; the figure those up to 40, n-th harmonic of a block of current: cos(n a) / n.
    start = math.asin(share)
    block = [math.cos(n * start) / n for n in range(1, 40001, 2)]
    assert math.hypot(*block[1:]) / block[0] == pytest.approx(distortion, abs=2e-3)
    assert figures["input"]["thd"] == pytest.approx(math.hypot(*block[1:20]) / block[0], abs=3e-3)
    assert figures["light"]["flicker_index"] == pytest.approx(index, abs=0.003)


# Filaments ------------------------------------------------------------------------------------------------------------


def test_lamp_at_its_rated_voltage_takes_its_rated_power():
    figures = solve(circuit(part("LA1", "lamp", ["live", "neutral"], power=40.0, voltage=230.0))).figures()
    assert figures["parts"]["LA1"]["power"] == pytest.approx(40.0, rel=2e-3)


def test_two_lamps_in_series_take_more_than_a_quarter_each():
    """Cooler filaments have less resistance: two equal lamps in series take well over half of one lamp's power.

    Bench experience: about 0.6 to 0.75 for two 230 V lamps in series on 230 V (common practice, no source), since
    the power goes with about the 1.5th to 1.6th power of the voltage, not the square.
    """
    figures = solve(
        circuit(part("LA1", "lamp", ["live", "a"], power=40.0, voltage=230.0),
                part("LA2", "lamp", ["a", "neutral"], power=40.0, voltage=230.0))
    ).figures()  # fmt: skip
    assert 20.0 < figures["input"]["power"] < 30.0
    assert figures["parts"]["LA1"]["power"] == pytest.approx(figures["parts"]["LA2"]["power"], rel=1e-3)


# A bench supply -------------------------------------------------------------------------------------------------------


def test_bench_supply_gives_an_operating_point():
    bench = Mains(dc=24.0, limit=0.005, nodes=("p", "m"))
    elements = (
        part("LED1", "led", {"anode": "p", "cathode": "x"}, series=7.0, forward_voltage=2.9),
        part("R1", "resistor", ["x", "m"], value=470.0),
    )
    figures = solve(Circuit(elements=elements, supply=bench)).figures()
    current = figures["parts"]["R1"]["current_mean"]
    # 24 V less seven LEDs at a few mA leaves some 4 to 5 V on 470 ohm, more than 5 mA: the limit rules.
    assert current == pytest.approx(0.005, rel=0.01)
    assert figures["input"]["power_factor"] is None
    assert figures["input"]["thd"] is None
    assert figures["light"]["percent_flicker"] is None
    assert figures["supply"]["dc"] == 24.0


def test_bench_supply_below_its_limit():
    bench = Mains(dc=12.0, limit=1.0, resistance=0.0, nodes=("p", "m"))
    figures = solve(
        Circuit(elements=(part("R1", "resistor", ["p", "m"], value=120.0),), supply=bench)
    ).figures()  # fmt: skip
    assert figures["parts"]["R1"]["current_mean"] == pytest.approx(0.1, rel=1e-3)
    assert figures["input"]["power"] == pytest.approx(1.2, rel=2e-3)


@pytest.mark.parametrize("volts", [0.3, 3.0])
def test_bench_supply_that_wakes_nothing_gives_an_answer_too(volts):
    # Below the string's knee only the leaks of 1 nS and the tie of the floating side carry anything.
    bench = Mains(dc=volts, limit=0.005, nodes=("live", "m"))
    elements = (
        part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"}),
        part("LED1", "led", {"anode": "p", "cathode": "m"}, series=24.0, forward_voltage=2.9),
    )
    figures = solve(Circuit(elements=elements, supply=bench)).figures()
    assert 0.0 <= figures["input"]["current_rms"] < 1e-6
    assert figures["parts"]["LED1"]["voltage_peak"] <= volts


def test_a_converter_between_the_diodes_of_a_valley_fill_is_followed():
    # Between the mains' pulse and the capacitors' turn the load has nothing beside it to hold its voltage: the diodes
    # jump into conduction. Half the peak is where the capacitors take over (K. Kit Sum, PCIM 1998: from memory).
    elements = (
        part("BR1", "bridge", {"ac1": "live", "ac2": "neutral", "plus": "p", "minus": "m"}),
        part("C1", "capacitor", ["p", "x"], value=22e-6),
        part("D1", "diode", {"anode": "x", "cathode": "y"}),
        part("C2", "capacitor", ["y", "m"], value=22e-6),
        part("D2", "diode", {"anode": "m", "cathode": "x"}),
        part("D3", "diode", {"anode": "y", "cathode": "p"}),
        part("U1", "converter", {"plus": "p", "minus": "m"}, power=6.0, minimum_voltage=60.0),
    )
    solution = solve(circuit(*elements, resistance=0.4))
    figures = solution.figures()
    assert figures["settled"]
    assert figures["parts"]["U1"]["power"] == pytest.approx(6.0, rel=0.01)
    rail = solution.voltage("p", "m")
    half = math.sqrt(2.0) * 230.0 / 2.0
    assert 0.85 * half < rail.min() < half
