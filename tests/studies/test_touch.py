"""A hand on a node: Ohm's law, the networks of IEC 60990, and the classes of IEC 62368-1 Table 4."""

from __future__ import annotations

import math

import pytest
from tests.studies.circuits import CHARGER, STRIP, circuit_of, part

from lidoff.cycle import solve
from lidoff.studies import StudyError, touch
from lidoff.studies.touch import Body

OMEGA = 2.0 * math.pi * 50.0
LOAD = part("R1", "resistor", "live neutral", value="10k")


def behind(*parts: str) -> str:
    """A node "metal" that hangs on live by something, and on nothing else of note."""
    return LOAD + "".join(parts) + part("C9", "capacitor", "metal neutral", value="1p")


def test_live_itself_kills() -> None:
    felt = touch(circuit_of(LOAD), "live")
    # 230 V on 2 kohm beside the source's 0.4 ohm and the 1 ohm of earth: 115 mA.
    assert felt.current_rms == pytest.approx(0.115, rel=2e-3)
    assert felt.voltage_rms == pytest.approx(230.0, rel=1e-3)
    assert felt.voltage_peak == pytest.approx(325.27, rel=1e-3)
    assert felt.level == "ES3"
    assert touch(circuit_of(LOAD), "neutral").level == "ES1"


@pytest.mark.parametrize(
    ("ohms", "level"),
    # IEC 62368-1 Table 4, alternating current to 1 kHz: ES1 to 0.5 mA rms, ES2 to 5 mA (the copy's ES2 from memory).
    [(470e3, "ES1"), (450e3, "ES2"), (48e3, "ES2"), (42e3, "ES3")],
)
def test_classes_by_current(ohms: float, level: str) -> None:
    felt = touch(circuit_of(behind(part("R2", "resistor", "live metal", value=ohms))), "metal")
    assert felt.current_rms == pytest.approx(230.0 / (ohms + 2000.0), rel=3e-3)
    assert felt.level == level


def test_direct_current_has_its_own_limits() -> None:
    # Table 4: direct current 2 mA for ES1. A rectifier and 200 kohm: 325 V / 202 kohm is 1.61 mA, nearly smooth.
    text = (
        part("D1", "diode", "anode=live cathode=p")
        + part("C1", "capacitor", "p neutral", value="100u")
        + part("R1", "resistor", "p metal", value="200k")
        + part("C2", "capacitor", "metal neutral", value="1n")
    )
    felt = touch(circuit_of(text), "metal")
    assert felt.current_mean == pytest.approx(324.5 / 202e3, rel=5e-3)
    assert felt.level == "ES1"


def test_a_y_capacitor_leaks_as_its_reactance_allows() -> None:
    # I = V w C for 4.7 nF at 230 V 50 Hz: 0.34 mA (the body's 2 kohm counts for nothing beside 677 kohm).
    felt = touch(circuit_of(behind(part("C1", "capacitor", "live metal", value="4n7"))), "metal")
    assert felt.current_rms == pytest.approx(230.0 * OMEGA * 4.7e-9, rel=5e-3)
    assert felt.level == "ES1"


@pytest.mark.parametrize("body", ["unweighted", "perception"])
def test_the_networks_pass_fifty_hertz_as_two_kilohms(body: Body) -> None:
    # Examples A.12 L1 (as printed in two service manuals): 1990 ohm at 50 Hz, beside 100 kohm.
    circuit = circuit_of(behind(part("R2", "resistor", "live metal", value="100k")))
    plain, network = touch(circuit, "metal"), touch(circuit, "metal", body)
    assert network.body == body
    assert network.current_rms == pytest.approx(230.0 / 101_990.0, rel=5e-3)
    assert network.current_rms == pytest.approx(plain.current_rms, rel=5e-3)


def test_the_weighted_network_takes_less_account_of_harmonics() -> None:
    # R1 and C1 of the network are a low-pass of 723 Hz: a current full of harmonics counts for less.
    text = part("C1", "capacitor", "live metal", value="10n") + LOAD
    chopped = (
        part("VR1", "potentiometer", "a=load wiper=t", value="220k", position=0.4)
        + part("C5", "capacitor", "t live", value="100n")
        + part("D1", "diac", "t g")
        + part("Q1", "triac", "mt1=live mt2=load gate=g")
        + part("R8", "resistor", "load neutral", value="500R")
        + part("C6", "capacitor", "load metal", value="10n")
        + part("R9", "resistor", "metal neutral", value="1M")
    )
    circuit = circuit_of(text.replace("live metal", "live far").replace("live neutral", "far neutral") + chopped)
    assert touch(circuit, "metal", "perception").current_rms < 0.9 * touch(circuit, "metal", "unweighted").current_rms


def test_a_solution_at_hand_is_used() -> None:
    circuit = circuit_of(STRIP)
    assert touch(circuit, "p", solution=solve(circuit)) == touch(circuit, "p")
    # The rectified side is joined to live or neutral through a diode: it kills as live does.
    assert touch(circuit, "p").level == "ES3"


def test_what_cannot_be_touched_is_said() -> None:
    with pytest.raises(StudyError, match="no node 'q' in this state; the nodes are"):
        touch(circuit_of(STRIP), "q")
    text = CHARGER + (
        '[[state]]\nname = "bench"\nremove = ["BR1", "R1"]\nsupply = { dc = "300 V", nodes = ["p", "m"] }\n'
    )
    with pytest.raises(StudyError, match="bench supply"):
        touch(circuit_of(text, "bench"), "p")


def test_json() -> None:
    document = touch(circuit_of(LOAD), "live").as_json()
    assert document["class"] == "ES3"
    assert set(document) >= {"node", "body", "voltage_rms", "current_rms", "current_peak", "current_mean"}
