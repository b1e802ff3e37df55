"""Off but glowing: what leaks through an open switch, and how bright that looks."""

from __future__ import annotations

import pytest
from tests.studies.circuits import CHARGER, DIMMED_STRIP, circuit_of, part, string

from lidoff.studies import Glow, glow
from lidoff.studies.glow import STRAY, lightness


def way(found: tuple[Glow, ...], name: str) -> Glow:
    return next(g for g in found if g.way == name)


def switched(across: str = "") -> str:
    return part("S1", "switch", "live a") + across + string("a", "neutral")


def test_lightness_is_that_of_the_standard() -> None:
    # CIE 15, CIE 1976 lightness: Y/Yn = 0.18419 gives L* = 50; 1 gives 100; (6/29)^3 gives 8; straight below.
    assert lightness(0.18418651851244416) == pytest.approx(0.5, abs=1e-6)
    assert lightness(1.0) == pytest.approx(1.0)
    assert lightness((6 / 29) ** 3) == pytest.approx(0.08, abs=1e-4)
    assert lightness(1e-3) == pytest.approx(0.009033, rel=1e-3)
    assert lightness(0.0) == 0.0


def test_an_open_switch_alone_leaves_the_string_dark() -> None:
    found = way(glow(circuit_of(switched())), "S1 open")
    # 100 Mohm and 325 V: at most 3 uA, and the string needs its voltage first.
    assert found.share < 1e-4
    assert found.mean_current < 3.3e-6


def test_a_snubber_across_the_switch_makes_it_glow() -> None:
    snubber = part("C1", "capacitor", "live s", value="100n") + part("R1", "resistor", "s a", value="100R")
    found = way(glow(circuit_of(switched(snubber))), "S1 open")
    # Charge balance: each half-cycle the capacitor brings 2 C (peak - string) through the string; the string of 60 LEDs
    # at 2.9 V takes 174 V at 5 mA, and some 10 V less at these currents.
    expected = 4.0 * 50.0 * 100e-9 * (325.27 - 165.0)
    assert found.mean_current == pytest.approx(expected, rel=0.05)
    assert found.glows
    assert 0.01 < found.share < 0.2
    assert found.lightness > found.share
    assert "mA" in found.sentence


def test_an_indicator_across_the_switch_makes_it_glow_faintly() -> None:
    neon = part("NE1", "indicator", "live a", series="150k")
    # With its 150 kohm: (325 - 60 - string) / 150 kohm at the crest, a fraction of a milliampere.
    text = part("S1", "switch", "live a") + neon + string("a", "neutral", series=30)
    found = way(glow(circuit_of(text)), "S1 open")
    assert 1e-5 < found.mean_current < 1e-3
    assert found.glows


def test_cable_behind_the_switch_adds_a_little() -> None:
    found = glow(circuit_of(part("S1", "switch", "live a") + string("a", "neutral", series=30)))
    wired = way(found, "S1 open, five metres of cable behind it")
    assert wired.stray == STRAY
    assert wired.mean_current == pytest.approx(4.0 * 50.0 * STRAY * (325.27 - 75.0), rel=0.15)
    assert wired.share > way(found, "S1 open").share


def test_a_dimmer_turned_down_leaks_through_its_timing_network() -> None:
    (found,) = glow(circuit_of(DIMMED_STRIP))
    assert found.way == "VR1 turned down"
    assert found.changes["VR1.position"] == 1.0
    assert 0.02 < found.share < 0.08


def test_brightest_first_and_nothing_without_leds() -> None:
    shares = [g.share for g in glow(circuit_of(switched()))]
    assert shares == sorted(shares, reverse=True)
    assert glow(circuit_of(CHARGER)) == ()


def test_json() -> None:
    document = glow(circuit_of(switched()))[0].as_json()
    assert set(document) >= {"way", "changes", "share", "lightness", "glows", "sentence"}
    assert document["changes"] == {"S1.closed": False}
