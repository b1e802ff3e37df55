"""Required clearances and creepages: table rows, interpolation, reinforced insulation, altitude."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.standards import insulation
from lidoff.standards.distances import altitude_factor, rated_impulse, required_clearance, required_creepage
from lidoff.standards.product_distances import (
    ADAPTER_CLEARANCE,
    ADAPTER_OTHER,
    APPLIANCE_CLEARANCE,
    APPLIANCE_CREEPAGE,
    APPLIANCE_STRENGTH,
    IT_SECONDARY,
)


def test_mains_of_230_volts_in_category_two_is_2500_volts() -> None:
    """IEC 60664-1, Table F.1; IEC 60335-1, Table 15 repeats it."""
    assert rated_impulse(230.0).number == 2500.0
    assert rated_impulse(120.0).number == 1500.0
    assert rated_impulse(300.0, "III").number == 4000.0
    with pytest.raises(ValueError, match="above the last row"):
        rated_impulse(1600.0)


def test_clearance_of_mains_is_that_of_the_product_standards() -> None:
    """230 V, category II: 1.5 mm basic and 3.0 mm reinforced (IEC 60335-1, Table 16; IEC 62368-1, Table 14)."""
    impulse = rated_impulse(230.0).number
    basic = required_clearance(impulse)
    reinforced = required_clearance(impulse, kind="reinforced")
    assert basic.value == APPLIANCE_CLEARANCE.number(2500.0) == 1.5
    assert basic.value == ADAPTER_CLEARANCE.number("withstand 2500", "basic")
    assert reinforced.value == ADAPTER_CLEARANCE.number("withstand 2500", "reinforced") == 3.0
    assert basic.verified
    assert not reinforced.verified
    assert "next preferred step" in reinforced.how
    four = required_clearance(4000.0, kind="reinforced")
    assert four.value == ADAPTER_CLEARANCE.number("withstand 4000", "reinforced")


def test_clearance_between_rows_is_linear_and_reinforced_takes_160_percent() -> None:
    """2250 V lies midway between 1.0 mm and 1.5 mm; 2000 V reinforced is taken as 3200 V: 2.0 + 0.2 x 1.0 mm."""
    assert required_clearance(2250.0).value == pytest.approx(1.25)
    doubled = required_clearance(2000.0, kind="reinforced")
    assert doubled.value == pytest.approx(2.2)
    assert "160 %" in doubled.how


def test_clearance_in_dirt_and_at_height() -> None:
    """0.8 mm is the floor of pollution degree 3; 3000 m multiplies by 1.14 (Table A.2), between rows linearly."""
    assert required_clearance(500.0, pollution_degree=3).value == 0.8
    assert required_clearance(2500.0, altitude=3000.0).value == pytest.approx(1.71)
    assert altitude_factor(3500.0) == pytest.approx((1.14 + 1.29) / 2)
    for height in (2000, 3000, 4000, 5000):
        assert altitude_factor(float(height)) == ADAPTER_OTHER.number(f"altitude {height} m")
    with pytest.raises(ValueError, match="above the last row"):
        altitude_factor(30000.0)
    with pytest.raises(ValueError, match="pollution degrees 1 to 3"):
        required_clearance(2500.0, pollution_degree=4)
    with pytest.raises(ValueError, match="above the last row"):
        required_clearance(20000.0)


@pytest.mark.parametrize(
    ("degree", "group", "column"), [(2, "I", "2 I"), (2, "II", "2 II"), (2, "IIIa", "2 III"), (3, "IIIb", "3 III")]
)
def test_creepage_at_250_volts_is_that_of_the_appliance_standard(degree: int, group: str, column: str) -> None:
    """IEC 60335-1, Table 17, over 125 V to 250 V; IEC 62368-1, Table 17 has the same 2.5 mm and 4.0 mm."""
    found = required_creepage(250.0, degree, group)
    assert found.value == APPLIANCE_CREEPAGE.number("basic", column)
    assert found.verified


def test_creepage_of_adapters_and_twice_for_reinforced() -> None:
    assert required_creepage(250.0).value == ADAPTER_OTHER.number("creepage 250 V")
    assert required_creepage(400.0).value == ADAPTER_OTHER.number("creepage 400 V")
    reinforced = required_creepage(250.0, kind="reinforced")
    assert reinforced.value == APPLIANCE_CREEPAGE.number("reinforced", "2 III") == 5.0
    assert not reinforced.verified


def test_creepage_between_rows_on_printed_wiring_and_below_the_first_row() -> None:
    """225 V is midway between 2.0 mm and 2.5 mm; printed wiring at 250 V in degree 2: 1.0 mm; 5 V takes row 10 V."""
    assert required_creepage(225.0).value == pytest.approx(2.25)
    assert required_creepage(250.0, printed=True).value == 1.0
    assert required_creepage(5.0).value == 0.40
    assert required_creepage(250.0, pollution_degree=1).value == 0.56


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"material_group": "V"}, "material groups are"),
        ({"pollution_degree": 4}, "pollution degrees 1 to 3"),
        ({"printed": True, "pollution_degree": 3}, "no printed-wiring column"),
        ({"printed": True, "material_group": "IIIb"}, "no printed-wiring column"),
        ({"voltage": 1200.0}, "above the last row"),
    ],
)
def test_creepage_outside_the_table_is_refused(change: dict, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        required_creepage(**{"voltage": 230.0, **change})


@given(st.floats(330.0, 11000.0), st.floats(1.0, 1.09), st.sampled_from([1, 2, 3]))
def test_more_impulse_never_needs_less_air(impulse: float, factor: float, degree: int) -> None:
    assert required_clearance(impulse * factor, degree).value >= required_clearance(impulse, degree).value - 1e-12


@given(st.floats(5.0, 900.0), st.floats(1.0, 1.1), st.sampled_from(["I", "II", "IIIa"]))
def test_more_voltage_never_needs_less_creepage(voltage: float, factor: float, group: str) -> None:
    assert required_creepage(voltage * factor, 2, group).value >= required_creepage(voltage, 2, group).value - 1e-12


def test_functional_creepage_and_electric_strength_of_appliances() -> None:
    """IEC 60335-1, Tables 18 and 7, over 125 V to 250 V and over 150 V to 250 V."""
    columns = ("1", "2 I", "2 II", "2 III", "3 I", "3 II", "3 III")
    functional = [APPLIANCE_CREEPAGE.number("functional", column) for column in columns]
    assert functional == [0.42, 1.0, 1.4, 2.0, 2.5, 2.8, 3.2]
    strength = [
        APPLIANCE_STRENGTH.number("over 150 V to 250 V", kind) for kind in ("basic", "supplementary", "reinforced")
    ]
    assert strength == [1250, 1750, 3000]


def test_secondary_clearances_of_older_adapters() -> None:
    """IEC 60950-1, row up to 300 V rms: 2500 V transients 1.7/2.0/4.0 mm, with quality control 1.5/1.5/3.0 mm."""
    kinds = ("functional", "basic", "reinforced")
    assert [IT_SECONDARY.number("2500 V", kind) for kind in kinds] == [1.7, 2.0, 4.0]
    assert [IT_SECONDARY.number("2500 V, quality control", kind) for kind in kinds] == [1.5, 1.5, 3.0]
    assert [IT_SECONDARY.number("1500 V", kind) for kind in kinds] == [1.6, 1.9, 3.8]


def test_an_unknown_board_is_taken_as_group_three_a() -> None:
    assert insulation.MATERIAL_GROUPS.number("IIIa") == 175.0
    assert required_creepage(230.0).how.endswith("on group IIIa")
