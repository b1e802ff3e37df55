"""Peaks at switch-on, light against light, touch and leakage current, energy, ESR and inductance: closed forms."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.readings.records import CHARGER, HEATER, MEASURED, STRIP, UNREAD, item_of, reading

import lidoff
from lidoff.readings import Judged, judge
from lidoff.record import Item
from lidoff.standards.touch import network_impedance

EXACT = HEATER.replace('tolerance = "2 %"\n', "")
LAMP = """
[[part]]
ref = "LA1"
kind = "lamp"
power = "40 W"
voltage = "240 V"
nodes = ["live", "neutral"]
"""
YCAP = """
[[part]]
ref = "C1"
kind = "capacitor"
value = "2n2"
nodes = ["live", "{node}"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "neutral"]
"""
CASE = (
    YCAP.format(node="case") + '[[part]]\nref = "C2"\nkind = "capacitor"\nvalue = "2n2"\nnodes = ["neutral", "case"]\n'
)
LUX = '[[meter]]\nname = "lux meter"\nkind = "light-meter"\naccuracy = { illuminance = "3 %" }\n'


def first(item: Item) -> Judged:
    return judge(item).readings[0]


# Switching on -----------------------------------------------------------------------------------------------------


def test_a_plain_resistor_has_its_crest_at_any_instant(tmp_path: Path) -> None:
    """One and a half cycles always hold a crest: √2 V/R, whatever the instant (Ohm)."""
    true = math.sqrt(2.0) * 240.0 / 529.4
    one = first(item_of(tmp_path, reading("inrush_current", f"{true:.4f} A", "clamp"), parts=EXACT, states=MEASURED))
    assert one.verdict == "agrees"
    assert one.computed == pytest.approx(true, rel=0.002)


@pytest.mark.parametrize(
    ("shown", "verdict"), [("12 A", "cannot-tell"), ("31 A", "cannot-tell"), ("60 A", "contradicts")]
)
def test_a_capacitor_behind_a_bridge_takes_what_the_instant_gives(tmp_path: Path, shown: str, verdict: str) -> None:
    """The most is (√2 V − two diodes)/(10 ohm + 0.4 ohm of the mains), at the crest; the least far below."""
    most = (math.sqrt(2.0) * 240.0 - 2.0 * 1.1) / 10.4
    one = first(item_of(tmp_path, reading("inrush_current", shown, "clamp"), parts=CHARGER, states=MEASURED))
    assert one.verdict == verdict
    assert one.high95 is not None
    assert one.low95 is not None
    assert most * 0.97 <= one.high95 <= most * 1.10
    assert one.low95 < 0.6 * most
    assert "half of all instants" in one.why
    # 0.8 mH is as much against 4.7 uF as 13 ohm: worth a word, though no reading is called too high for it.
    assert "the mains' own coil, which nobody wrote, is not in it" in one.why
    if verdict == "contradicts":
        assert "above the most" in one.why


def test_a_filament_starts_cold(tmp_path: Path) -> None:
    """A tenth of the hot resistance (the law's default): the most is ten times the crest of the running lamp."""
    one = first(item_of(tmp_path, reading("inrush_current", "2.3 A", "clamp"), parts=LAMP, states=MEASURED))
    assert one.computed == pytest.approx(math.sqrt(2.0) * 240.0 / (0.1 * 240.0**2 / 40.0 + 0.4), rel=0.01)


def test_no_switch_on_from_a_bench_supply(tmp_path: Path) -> None:
    """Said, not computed."""
    states = '[[state]]\nname = "full"\nsupply = { dc = "24 V", limit = "1 A", nodes = ["live", "neutral"] }\n'
    one = first(item_of(tmp_path, reading("inrush_current", "1 A", "clamp"), parts=EXACT, states=states))
    assert one.verdict == "cannot-tell"
    assert "bench supply" in one.why


# Light ------------------------------------------------------------------------------------------------------------

TWO = MEASURED + MEASURED.replace("full", "low").replace("240", "220")


def test_light_of_two_states_by_one_meter(tmp_path: Path) -> None:
    """300 lx in one state: the other is held against the ratio of the mean LED currents, whatever the distance."""
    plain = item_of(tmp_path, parts=STRIP, states=TWO)
    light = {state: lidoff.solve(plain, state=state).figures()["light"]["mean_current"] for state in ("full", "low")}
    right = 300.0 * light["low"] / light["full"]
    verdicts = []
    for shown in (right, 0.5 * right):
        item = item_of(
            tmp_path,
            LUX,
            reading("illuminance", "300 lx", "lux meter", "full"),
            reading("illuminance", f"{shown:.1f} lx", "lux meter", "low"),
            parts=STRIP,
            states=TWO,
        )
        reference, other = judge(item).readings
        verdicts.append(other.verdict)
        assert other.computed == pytest.approx(right, rel=0.005)
        assert reference.verdict == "cannot-tell"
        assert "held against it" in reference.why
    assert verdicts == ["agrees", "contradicts"]


def test_light_of_one_state_or_two_meters_tells_nothing(tmp_path: Path) -> None:
    """Another meter, or another place, is no comparison."""
    item = item_of(
        tmp_path,
        LUX + LUX.replace("lux meter", "other meter"),
        reading("illuminance", "300 lx", "lux meter", "full"),
        reading("illuminance", "20 lx", "other meter", "low"),
        parts=STRIP,
        states=TWO,
    )
    assert {one.verdict for one in judge(item).readings} == {"cannot-tell"}
    assert all("another state" in one.why for one in judge(item).readings)


# Touch and leakage ------------------------------------------------------------------------------------------------


def test_touch_current_through_a_capacitor(tmp_path: Path) -> None:
    """Two capacitors halve the mains: (V/2) / |1/(jω 2C) + Z of the network of IEC 60990| (Thévenin)."""
    true = 120.0 / abs(1.0 / (2j * math.pi * 50.0 * 4.4e-9) + network_impedance("unweighted", 50.0))
    item = item_of(
        tmp_path, reading("touch_current", f"{true:.8f} A", None, at=["case", "earth"]), parts=CASE, states=MEASURED
    )
    one = first(item)
    assert one.computed == pytest.approx(true, rel=0.002)
    assert one.verdict == "agrees"


def test_touch_at_a_surface_is_at_its_node(tmp_path: Path) -> None:
    """A surface that the record joins to a node; one that is insulated cannot be told."""
    surfaces = (
        '[[surface]]\nname = "end cap"\nreached = "by hand"\nnode = "case"\n'
        '[[surface]]\nname = "globe"\nreached = "by hand"\nnode = "insulated"\n'
    )
    item = item_of(
        tmp_path,
        surfaces,
        reading("touch_current", "0.17 mA", None, at="surface:end cap"),
        reading("touch_current", "0.01 mA", None, at="surface:globe"),
        parts=CASE,
        states=MEASURED,
    )
    cap, globe = judge(item).readings
    assert cap.computed == pytest.approx(1.65e-4, rel=0.02)
    assert globe.verdict == "cannot-tell"
    assert "insulation" in globe.why


def test_leakage_into_the_protective_conductor(tmp_path: Path) -> None:
    """What the capacitors on earth pass: ω C V; without any part on earth it cannot be told."""
    true = 2.0 * math.pi * 50.0 * 2.2e-9 * 240.0
    one = first(
        item_of(
            tmp_path,
            reading("leakage_current", f"{true:.8f} A", None),
            parts=YCAP.format(node="earth"),
            states=MEASURED,
        )
    )
    assert one.computed == pytest.approx(true, rel=0.002)
    assert one.verdict == "agrees"
    none = first(item_of(tmp_path, reading("leakage_current", "0.1 mA", None), parts=STRIP, states=MEASURED))
    assert none.verdict == "cannot-tell"
    assert "joins earth" in none.why


# Energy, ESR, inductance ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("value", "verdict"), [("2.61 kWh", "agrees"), ("1.3 kWh", "contradicts")])
def test_energy_over_a_time(tmp_path: Path, value: str, verdict: str) -> None:
    """Watts times hours: V² R/(R + 0.4)² over a day."""
    one = first(item_of(tmp_path, reading("energy", value, None, over="24 h"), parts=EXACT, states=MEASURED))
    assert one.verdict == verdict
    assert one.computed == pytest.approx(240.0**2 / 529.4**2 * 529.0 * 24.0 * 3600.0, rel=0.001)


def test_energy_at_unread_volts_waits_for_them(tmp_path: Path) -> None:
    """Energy is power: it needs the volts too."""
    one = first(
        item_of(tmp_path, reading("energy", "2.6 kWh", None, "unread", over="24 h"), parts=EXACT, states=UNREAD)
    )
    assert one.verdict == "cannot-tell"
    assert "mains voltage" in one.why


ESR = """
[[part]]
ref = "C1"
kind = "capacitor"
value = "47u"
esr = "{esr}"
nodes = ["live", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
value = "10R"
nodes = ["live", "neutral"]
"""


def impedance(esr: float) -> complex:
    """47 µF with its esr beside 10 ohm at 100 kHz."""
    capacitor = esr + 1.0 / (2j * math.pi * 100e3 * 47e-6)
    return capacitor * 10.0 / (capacitor + 10.0)


def test_esr_in_circuit(tmp_path: Path) -> None:
    """The real part of the impedance at 100 kHz (complex arithmetic), what lies parallel included."""
    true = impedance(1.5).real
    item = item_of(
        tmp_path, reading("esr", f"{true:.4f} R", None, at="C1"), parts=ESR.format(esr="1R5"), states=MEASURED
    )
    one = first(item)
    assert one.computed == pytest.approx(true, rel=0.005)
    assert one.verdict == "agrees"


def test_esr_is_inferred(tmp_path: Path) -> None:
    """An esr nobody knows, from the meter in circuit; one that nobody wrote cannot be judged."""
    parts = ESR.replace('esr = "{esr}"', 'esr = "?"')
    item = item_of(
        tmp_path, reading("esr", f"{impedance(1.5).real:.4f} R", None, at="C1"), parts=parts, states=MEASURED
    )
    (one,) = judge(item).inferred
    assert one.key == "C1.esr"
    assert one.low95 <= 1.5 <= one.high95
    parts = ESR.replace('esr = "{esr}"\n', "")
    unwritten = first(item_of(tmp_path, reading("esr", "1 R", None, at="C1"), parts=parts, states=MEASURED))
    assert unwritten.verdict == "cannot-tell"
    assert "no esr" in unwritten.why


def test_inductance_of_a_coil(tmp_path: Path) -> None:
    """The imaginary part at 1 kHz over ω: 10 mH and 5 ohm beside 1 kohm (complex arithmetic)."""
    parts = """
[[part]]
ref = "L1"
kind = "inductor"
value = "10m"
resistance = "5R"
nodes = ["live", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "neutral"]
"""
    omega = 2.0 * math.pi * 1e3
    coil = 5.0 + 1j * omega * 10e-3
    true = (coil * 1e3 / (coil + 1e3)).imag / omega
    item = item_of(tmp_path, reading("inductance", f"{true:.6f} H", None, at="L1"), parts=parts, states=MEASURED)
    one = first(item)
    assert one.computed == pytest.approx(true, rel=0.005)
    assert one.verdict == "agrees"


def test_what_has_no_value_tells_nothing_of_the_unknowns(tmp_path: Path) -> None:
    """Peaks at switch-on, twice and different, neither contradict each other nor stop an inference."""
    parts = EXACT.replace('value = "529R"', 'value = "?"\nbetween = ["300R", "900R"]')
    power = reading("power", f"{240.0**2 / 529.4**2 * 529.0:.4f} W")
    surges = [reading("inrush_current", shown, "clamp") for shown in ("0.3 A", "0.6 A")]
    alone = judge(item_of(tmp_path, power, parts=parts, states=MEASURED))
    judgement = judge(item_of(tmp_path, power, *surges, parts=parts, states=MEASURED))
    assert judgement.inferred == alone.inferred
    assert judgement.inferred[0].low95 <= 529.0 <= judgement.inferred[0].high95
    assert judgement.contradictions == ()
    assert "whatever the instant" in judgement.readings[1].why
