"""The referee itself: its laws at the points that the record format names, its Jacobian, circuits with closed forms.

Sources: the table of part kinds of the record format (each law's own wording); alternating-current circuits by phasors
(any handbook of electrical engineering, from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.cycle.growing import part
from tests.referee import laws
from tests.referee.circuits import TRADE, circuit
from tests.referee.ida import Start, _System, referee
from tests.referee.network import Network, RefereeError


def at(law: object, v: float, *par: float) -> float:
    current, _ = law(np.array([v]), *(np.array([p]) for p in par))  # type: ignore[operator]
    return float(current[0])


def test_a_diode_has_its_forward_voltage_at_its_test_current() -> None:
    saturation = 1.0 * math.exp(-0.93 / 0.05)
    assert at(laws.exponential, 0.93, saturation, 0.05) == pytest.approx(1.0, rel=1e-7)
    assert at(laws.exponential, 0.93 + 0.05, saturation, 0.05) == pytest.approx(math.e, rel=1e-7)
    assert at(laws.exponential, -5.0, saturation, 0.05) == pytest.approx(-saturation)


def test_a_zener_passes_its_test_current_within_20_mV_of_its_line() -> None:
    foot = 24.0 - 5e-3 * 10.0
    for v in (24.0, 24.5, 30.0):
        assert at(laws.knee, -v, foot, 10.0, 0.0, 1.0) == pytest.approx(-(v - foot) / 10.0, abs=20e-3 / 10.0)
    assert at(laws.knee, -23.9, foot, 10.0, 0.0, 1.0) == 0.0
    assert at(laws.knee, 24.5, foot, 10.0, 0.0, 1.0) == 0.0


def test_a_varistor_passes_a_milliampere_at_its_voltage() -> None:
    assert at(laws.power, 430.0, 430.0, 1e-3, 30.0) == pytest.approx(1e-3)
    assert at(laws.power, -473.0, 430.0, 1e-3, 30.0) == pytest.approx(-1e-3 * 1.1**30)


def test_a_regulator_passes_96_percent_at_twice_its_dropout_and_blocks() -> None:
    assert at(laws.limiter, 8.0, 25e-3, 4.0) / 25e-3 == pytest.approx(0.964, abs=5e-4)
    assert at(laws.limiter, -8.0, 25e-3, 4.0) == 0.0


def test_a_converter_takes_its_power_at_any_voltage() -> None:
    for v in (100.0, 325.0):
        assert v * at(laws.steady_power, v, 6.0, 60.0) == pytest.approx(6.0, rel=1e-8)
    assert at(laws.steady_power, 60.0, 6.0, 60.0) == pytest.approx(0.5 * 6.0 / 60.0)
    assert at(laws.steady_power, 30.0, 6.0, 60.0) == pytest.approx(0.0, abs=1e-6)


def test_corners_are_rounded_over_20_mV() -> None:
    x = np.array([-0.0101, 0.0, 0.0101])
    y, slope = laws.rounded(x)
    assert y[0] == 0.0
    assert y[2] == x[2]
    assert 0.0 < y[1] < 2e-3
    assert slope[1] == pytest.approx(0.5)


def test_a_lamp_has_its_rated_resistance_at_its_rated_power() -> None:
    ohms = laws.filament_ohms("lamp", watts=60.0, rated_watts=60.0, rated_volts=230.0, cold_ratio=0.1)
    assert ohms == pytest.approx(230.0**2 / 60.0)
    cold = laws.filament_ohms("lamp", watts=0.0, rated_watts=60.0, rated_volts=230.0, cold_ratio=0.1)
    assert cold == pytest.approx(0.1 * 230.0**2 / 60.0)


@pytest.mark.parametrize("name", ["transistor_string", "dimmed_strip", "mosfet_string", "charger_on_bent_mains"])
def test_the_jacobian_is_the_slope_of_the_residual(name: str) -> None:
    net = Network(TRADE[name]())
    for latch in net.latches:
        latch.on = True
    net.switch()
    system = _System(net, parts=True)
    rng = np.random.default_rng(1)
    y, yp, cj, t = rng.normal(0.0, 0.4, system.whole), rng.normal(0.0, 1.0, system.whole), 300.0, 0.003
    size = system.whole
    jacobian, up, down = np.zeros((size, size)), np.zeros(size), np.zeros(size)
    system.jacobian(t, y, yp, up, cj, jacobian)
    for k in range(size):
        step = np.zeros(size)
        step[k] = 1e-6
        system.residual(t, y + step, yp + cj * step, up)
        system.residual(t, y - step, yp - cj * step, down)
        # A difference over 2e-6 V sees slopes to about its square; exponentials of 50 mV set the scale.
        np.testing.assert_allclose(jacobian[:, k], (up - down) / 2e-6, rtol=1e-6, atol=1e-7 * np.abs(up).max() + 1e-7)


def test_a_coil_and_a_resistor_follow_the_phasors() -> None:
    ohms, henries = 100.0, 0.3
    told = referee(
        circuit(part("L1", "inductor", ["live", "neutral"], value=henries, resistance=ohms), resistance=0.4),
        cycles=4,
    )
    impedance = complex(ohms + 0.4, 2.0 * math.pi * 50.0 * henries)
    current = 230.0 / abs(impedance)
    assert told.current_rms == pytest.approx(current, rel=1e-6)
    assert told.power == pytest.approx(current**2 * ohms, rel=1e-6)
    # At the terminals, after the 0.4 ohm of the mains.
    assert told.power_factor == pytest.approx(ohms / abs(impedance - 0.4), rel=1e-6)
    assert told.thd < 1e-4
    assert told.parts["L1"]["power"] == pytest.approx(told.power, rel=1e-6)
    assert abs(told.balance) < 1e-5


def test_a_capacitor_and_a_resistor_follow_the_phasors() -> None:
    told = referee(
        circuit(
            part("R1", "resistor", ["live", "a"], value=1000.0),
            part("C1", "capacitor", ["a", "neutral"], value=1e-6, esr=50.0),
        ),
        cycles=3,
    )
    reactance = 1.0 / (2.0 * math.pi * 50.0 * 1e-6)
    current = 230.0 / math.hypot(1050.4, reactance)
    assert told.current_rms == pytest.approx(current, rel=1e-6)
    assert told.displacement_factor == pytest.approx(1050.0 / math.hypot(1050.0, reactance), rel=1e-5)
    assert told.parts["C1"]["power"] == pytest.approx(50.0 * current**2, rel=1e-5)


def test_a_transformer_turns_a_load_by_the_square_of_its_ratio() -> None:
    told = referee(
        circuit(
            part("T1", "transformer", {"p1": "live", "p2": "neutral", "s1": "s", "s2": "t"}, ratio=10.0,
                 magnetising=500.0, leakage=1e-3),
            part("R1", "resistor", ["s", "t"], value=5.0),
        ),
        cycles=2,
    )  # fmt: skip
    load = 10.0**2 * 5.0
    assert told.power == pytest.approx(230.0**2 / (load + 0.4) ** 2 * load, rel=1e-4)
    assert told.parts["R1"]["voltage_rms"] == pytest.approx(23.0 * load / (load + 0.4), rel=1e-4)


def test_half_a_sine_is_rectified_by_one_diode() -> None:
    # An almost ideal diode: mean V_peak/pi, power half of the full wave's, power factor 1/sqrt 2.
    told = referee(
        circuit(
            part("D1", "diode", {"anode": "live", "cathode": "a"}, forward_voltage=0.03, slope=1e-3),
            part("R1", "resistor", ["a", "neutral"], value=1000.0),
            resistance=0.01,
        ),
        cycles=1,
    )
    peak = 230.0 * math.sqrt(2.0)
    drop = 0.03 + 1e-3 * math.log(0.25)  # at the 0.25 A or so that flow
    assert told.parts["R1"]["voltage_mean"] == pytest.approx(peak / math.pi - 0.5 * drop, rel=5e-5)
    assert told.power == pytest.approx(230.0**2 / 1000.0 / 2.0, rel=2e-4)
    assert told.power_factor == pytest.approx(math.sqrt(0.5), rel=2e-4)


def test_harmonics_of_the_mains_keep_its_rms() -> None:
    told = referee(
        circuit(part("R1", "resistor", ["live", "neutral"], value=100.0), resistance=1e-6, shape={3: 0.05, 5: 0.02}),
        cycles=1,
    )
    assert told.current_rms == pytest.approx(2.3, rel=1e-6)
    assert told.thd == pytest.approx(math.hypot(0.05, 0.02), rel=1e-4)


def test_a_diac_and_a_resistor_fire_where_the_capacitor_has_charged() -> None:
    # One capacitor through one resistor from rest at the zero crossing, at the contract's breakover of 32 V: the
    # charge follows V_peak (w tau (exp(-t/tau) - cos wt) + sin wt) / (1 + (w tau)^2), solved here by bisection.
    ohms, farads = 150e3, 100e-9
    told = referee(
        circuit(
            part("R1", "resistor", ["live", "t"], value=ohms),
            part("C1", "capacitor", ["t", "neutral"], value=farads),
            part("D1", "diac", ["t", "g"], off_resistance=1e12),
            part("R2", "resistor", ["g", "neutral"], value=100.0),
        ),
        cycles=1,
    )
    omega, tau = 2.0 * math.pi * 50.0, (ohms + 0.4) * farads

    def charge(t: float) -> float:
        a = omega * tau
        wave = math.sin(omega * t) + a * (math.exp(-t / tau) - math.cos(omega * t))
        return 230.0 * math.sqrt(2.0) * wave / (1.0 + a * a) - 32.0

    low, high = 0.0, 5e-3
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if charge(middle) > 0.0 else (middle, high)
    fired = next(t for t, ref, what in told.flips if (ref, what) == ("D1", "fires"))
    assert fired == pytest.approx(low, abs=1e-7)


def test_what_is_not_judged_is_refused() -> None:
    with pytest.raises(RefereeError, match="bench supply"):
        Network(circuit(part("R1", "resistor", ["live", "neutral"], value=1.0), dc=12.0, nodes=("live", "neutral")))
    with pytest.raises(RefereeError, match="LA1"):
        Network(circuit(part("LA1", "lamp", ["live", "neutral"], power=60.0, voltage=230.0)))


def test_a_start_is_taken_over() -> None:
    c = circuit(
        part("R1", "resistor", ["live", "a"], value=1e6), part("C1", "capacitor", ["a", "neutral"], value=1e-3)
    )  # fmt: skip
    told = referee(c, cycles=1, start=Start(states={"C1": [100.0]}))
    assert told.parts["C1"]["voltage_mean"] == pytest.approx(100.0, rel=1e-3)
