"""Discharge rules, touch current, body networks, earth: against the figures printed with them."""

from __future__ import annotations

import math

import pytest

from lidoff.standards import discharge, earth, touch


@pytest.mark.parametrize(("farad", "ohm"), [(0.1e-6, 4.2e6), (0.22e-6, 1.9e6), (0.47e-6, 0.90e6)])
def test_bleeder_of_a_plug_from_230_volts_and_ten_percent(farad: float, ohm: float) -> None:
    """IEC 60335-1, 22.5: 358 V peak down to 34 V in 1 s asks RC <= 0.425 s (computed from the rule)."""
    constant = discharge.bleed_time_constant(
        358.0,
        discharge.DISCHARGE.number("appliance", "voltage between pins"),
        discharge.DISCHARGE.number("appliance", "after"),
    )
    assert constant == pytest.approx(0.425, abs=5e-4)
    assert constant / farad == pytest.approx(ohm, rel=0.02)


def test_time_of_a_published_discharge() -> None:
    """0.33 uF with 1 Mohm from 325.27 V reaches 34 V at 0.7452 s."""
    assert 0.33 / discharge.bleed_time_constant(325.27, 34.0, 1.0) == pytest.approx(0.7452, abs=1e-4)


def test_a_discharge_upwards_is_refused() -> None:
    with pytest.raises(ValueError, match="no discharge runs from 34 V to 60 V"):
        discharge.bleed_time_constant(34.0, 60.0, 1.0)


@pytest.mark.parametrize(
    ("product", "quantity", "value"),
    [
        ("appliance", "voltage between pins", 34.0),
        ("appliance", "after", 1.0),
        ("appliance", "exempt up to", 0.1e-6),
        ("information technology", "time constant, pluggable type A", 1.0),
        ("information technology", "no test below, peak", 42.4),
        ("adapter", "after", 2.0),
        ("audio and video", "voltage, peak", 35.0),
        ("laboratory", "after", 5.0),
        ("laboratory", "charge", 45e-6),
        ("machine", "voltage", 60.0),
        ("machine", "after, exposed plug pins", 1.0),
        ("protective impedance", "direct current", 2e-3),
        ("protective impedance", "peak current", 0.7e-3),
        ("protective impedance", "energy, over 15 kV", 0.35),
        ("luminaire", "voltage", 34.0),
    ],
)
def test_discharge_rules(product: str, quantity: str, value: float) -> None:
    assert discharge.DISCHARGE.number(product, quantity) == value


def test_body_network_at_mains_frequency_is_2000_ohm() -> None:
    """IEC 60990, Figure 4: within 1 % of 2000 ohm at 50 Hz (the published short cut); 1990 ohm by the closed form."""
    impedance = touch.network_impedance("perception", 50.0)
    assert abs(impedance) == pytest.approx(1990.0, abs=3.0)
    assert abs(impedance) == pytest.approx(touch.BODY_NETWORKS.number("short cut", "resistance"), rel=0.01)


def test_body_network_at_high_frequency_is_the_inner_resistance() -> None:
    assert abs(touch.network_impedance("unweighted", 1e6)) == pytest.approx(500.0, rel=1e-3)
    assert touch.network_impedance("unweighted", 0.0) == 2000.0


def test_printed_limits_of_service_manuals_follow_from_the_network() -> None:
    """U2 = 0.35 V peak stands for 0.7 mA peak, U1 = 1.0 V direct for 2.0 mA (IEC 60065, Annex D)."""
    share = touch.indicated_share("perception", 50.0)
    assert abs(share) * 500.0 * touch.LEAKAGE.number("accessible part, peak") == pytest.approx(0.35, rel=0.01)
    assert 500.0 * touch.LEAKAGE.number("accessible part, direct") == pytest.approx(1.0)
    assert touch.indicated_share("unweighted", 1e4) == 1.0


def test_perception_filter_has_its_corner_near_723_hertz() -> None:
    """1/(2 pi 10 kohm 22 nF) = 723 Hz: indicated current 3 dB down, but for the filter's own load of 5 %."""
    assert abs(touch.indicated_share("perception", 723.4)) == pytest.approx(math.sqrt(0.5), rel=0.05)


@pytest.mark.parametrize(
    ("level", "kind", "quantity", "value"),
    [
        ("ES1", "dc", "voltage", 60.0),
        ("ES1", "dc", "current", 2e-3),
        ("ES2", "dc", "voltage", 120.0),
        ("ES2", "dc", "current", 25e-3),
        ("ES1", "ac to 1 kHz", "voltage peak", 42.4),
        ("ES1", "ac to 1 kHz", "current peak", 0.707e-3),
        ("ES2", "ac to 1 kHz", "voltage rms", 50.0),
        ("ES2", "ac to 1 kHz", "current rms", 5e-3),
        ("ES1", "ac over 100 kHz", "voltage rms", 70.0),
        ("ES2", "ac over 100 kHz", "current rms", 100e-3),
    ],
)
def test_energy_source_limits(level: str, kind: str, quantity: str, value: float) -> None:
    """IEC 62368-1, Table 4."""
    assert touch.ENERGY_SOURCES.number(level, kind, quantity) == value


def test_current_limits_meet_at_the_band_borders() -> None:
    """IEC 62368-1, Table 4: 0.5 mA x f and 5 + 0.95 f (f in kHz) reach 50 mA and 100 mA at 100 kHz."""
    assert touch.es_current_limit(50.0) == 0.5e-3
    assert touch.es_current_limit(1e5) == pytest.approx(touch.es_current_limit(1.1e5))
    assert touch.es_current_limit(1e5, "ES2") == pytest.approx(touch.es_current_limit(1.1e5, "ES2"))


def test_charged_capacitor_limit_between_and_beyond_rows() -> None:
    """Midway between 170 nF (75 V) and 91 nF (100 V): 87.5 V; 1 uF takes the first row, 0.1 nF the last."""
    assert touch.capacitor_voltage_limit(130.5e-9) == pytest.approx(87.5)
    assert touch.capacitor_voltage_limit(1e-6) == 60.0
    assert touch.capacitor_voltage_limit(1e-6, "ES2") == 120.0
    assert touch.capacitor_voltage_limit(0.1e-9) == 25000.0
    assert touch.capacitor_voltage_limit(170e-9) == pytest.approx(75.0)


def test_leakage_limits_by_construction() -> None:
    """IEC 60335-1, 13.2 and 16.2."""
    for construction, value in (
        ("class II", 0.25e-3),
        ("class 0, 0I, III", 0.5e-3),
        ("class I portable", 0.75e-3),
        ("class I stationary motor-operated", 3.5e-3),
        ("class I stationary heating, at most", 5e-3),
    ):
        assert touch.LEAKAGE.number(construction) == value


def test_in_service_earth_of_long_cords() -> None:
    """DIN VDE 0701-0702: 0.3 ohm to 5 m, 0.1 ohm more per 7.5 m, 1.0 ohm at most."""
    assert earth.in_service_resistance_germany(3.0) == 0.3
    assert earth.in_service_resistance_germany(12.5) == pytest.approx(0.4)
    assert earth.in_service_resistance_germany(100.0) == 1.0


@pytest.mark.parametrize(
    ("test", "quantity", "value"),
    [
        ("routine test", "resistance", 0.1),
        ("routine test", "resistance with supply cord", 0.2),
        ("routine test", "least current", 10.0),
        ("bond test", "current", 25.0),
        ("type test", "no-load voltage", 12.0),
        ("in service, UK", "insulation, class II", 2e6),
        ("in service, Australia", "resistance", 1.0),
        ("LED tube", "insulation, cap to accessible parts", 4e6),
    ],
)
def test_earth_and_insulation(test: str, quantity: str, value: float) -> None:
    assert earth.EARTH.number(test, quantity) == value
