"""Fuses, plugs, cords, conductors and the risk method, against printed values and the published example."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.standards import conductors, fuses, measuring, plugs, risk, temperatures


@pytest.mark.parametrize(
    ("rating", "current", "least", "most"),
    [
        (3.0, 9.0, 0.02, 80.0),
        (3.0, 20.0, 0.0, 0.1),
        (3.0, 30.0, 0.0, 0.03),
        (13.0, 30.0, 1.0, 400.0),
        (13.0, 50.0, 0.1, 20.0),
        (13.0, 100.0, 0.01, 0.2),
        (13.0, 24.7, None, 1800.0),
        (13.0, 20.8, 1800.0, None),
    ],
)
def test_plug_fuse_at_the_printed_points(
    rating: float, current: float, least: float | None, most: float | None
) -> None:
    """BS 1362 zones, 1.9 x rated opens within 30 min (13 A: 24.7 A), 1.6 x carries (from memory)."""
    found = fuses.plug_fuse_opening(rating, current)
    if least is not None:
        assert found.least == pytest.approx(least)
    assert found.most == (None if most is None else pytest.approx(most))


def test_plug_fuse_between_points_is_a_straight_line_in_a_log_log_plot() -> None:
    """Geometric middle of 30 A and 50 A lies at the geometric middle of the times."""
    found = fuses.plug_fuse_opening(13.0, math.sqrt(30.0 * 50.0))
    assert found.most == pytest.approx(math.sqrt(400.0 * 20.0))
    assert found.least == pytest.approx(math.sqrt(1.0 * 0.1))
    assert len(found.rows) == 4


def test_a_rating_without_zones_has_the_half_hour_points_only() -> None:
    found = fuses.plug_fuse_opening(5.0, 50.0)
    assert found.most == 1800.0
    assert found.least == 0.0
    assert fuses.plug_fuse_opening(5.0, 6.0).most is None


@pytest.mark.parametrize(
    ("sheet", "rating", "multiple", "least", "most"),
    [
        ("T L", 2.0, 1.5, 3600.0, None),
        ("T L", 2.0, 2.1, None, 120.0),
        ("T L", 2.0, 2.75, 0.6, 10.0),
        ("T L", 2.0, 4.0, 0.15, 3.0),
        ("T L", 2.0, 10.0, 0.02, 0.3),
        ("T L", 0.063, 2.75, 0.2, 10.0),
        ("T H", 3.15, 4.0, 0.095, 5.0),
        ("T H", 5.0, 10.0, 0.02, 0.15),
        ("F L", 0.315, 2.75, 0.05, 2.0),
        ("F H", 1.0, 10.0, 0.0, 0.02),
    ],
)
def test_miniature_fuse_at_the_gates(
    sheet: str, rating: float, multiple: float, least: float | None, most: float | None
) -> None:
    """IEC 60127-2, sheets 3 and 5 as printed in makers' data sheets; sheets 1 and 2 from memory."""
    found = fuses.miniature_fuse_opening(sheet, rating, multiple * rating)
    if least is not None:
        assert found.least == pytest.approx(least)
    assert found.most == (None if most is None else pytest.approx(most))


def test_an_unknown_miniature_fuse_is_refused_with_its_bands() -> None:
    with pytest.raises(ValueError, match=r"no times for a 'T L' fuse of 20 A; the bands known are 32 mA to 100 mA"):
        fuses.miniature_fuse_opening("T L", 20.0, 50.0)
    with pytest.raises(ValueError, match="the bands known are none"):
        fuses.miniature_fuse_opening("Q", 1.0, 50.0)


@given(st.sampled_from(["T L", "T H", "F L", "F H"]), st.floats(1.0, 3.15), st.floats(1.0, 15.0), st.floats(1.0, 2.0))
def test_more_current_never_lets_a_fuse_last_longer(sheet: str, rating: float, times: float, factor: float) -> None:
    weak = fuses.miniature_fuse_opening(sheet, rating, times * rating)
    strong = fuses.miniature_fuse_opening(sheet, rating, times * rating * factor)
    assert strong.least <= weak.least * (1 + 1e-9)
    assert (strong.most or math.inf) <= (weak.most or math.inf) * (1 + 1e-9)
    for found in (weak, strong):
        assert found.least <= (found.most or math.inf)


def test_breaking_capacities_and_cords() -> None:
    """IEC 60127-2: L 35 A, H 1500 A; BS 1363-1, Table 2, and the UK code of practice for cords."""
    assert (fuses.BREAKING.number("L"), fuses.BREAKING.number("H")) == (35.0, 1500.0)
    for area, rating in ((0.5, 3.0), (0.75, 6.0), (1.0, 10.0), (1.25, 13.0), (1.5, 15.0), (2.5, 20.0)):
        assert plugs.CORDS.number(area, "rating") == rating
    assert plugs.CORDS.number(0.5, "largest fuse") == 3.0
    assert plugs.CORDS.number(0.75, "largest fuse") == 13.0
    assert plugs.CORDS.number(0.75, "fuse of practice") == 5.0
    assert plugs.RULE_OF_THUMB.number("3 A up to") == 700.0


def test_plug_dimensions_and_colours() -> None:
    """BS 1362: 25.4 x 6.3 mm, 3 A red, 13 A brown; BS 1363: pins 6.4 x 4.0 mm, 22.2 mm apart, 9.5 mm to the edge."""
    assert plugs.PLUG_FUSE.number("length") == 25.4
    assert plugs.PLUG_FUSE.row("colour 3 A").value == "red"
    assert plugs.PLUG_FUSE.row("colour 13 A").value == "brown"
    assert plugs.PLUGS.number("BS 1363", "line to neutral centres") == 22.2
    assert plugs.PLUGS.number("BS 1363", "least distance of pin to edge") == 9.5
    assert plugs.COLOURS.row("EU, GB", "line").value == "brown"
    assert plugs.COLOURS.row("US", "neutral").value == "white"


def test_copper_clad_aluminium_on_the_bench() -> None:
    """A "1.0 mm2" core of it reads about 27 ohm/km against 19.5 at most for copper; 1.55 to 1.59 times copper."""
    for metal, low, high in (("copper-clad aluminium 10 %", 1.58, 1.60), ("copper-clad aluminium 15 %", 1.54, 1.56)):
        clad = conductors.METALS.number(metal, "resistivity")
        copper = conductors.METALS.number("copper", "resistivity")
        assert low < clad / copper < high
        conductivity = conductors.METALS.number(metal, "least conductivity")
        assert clad == pytest.approx(copper * 100.0 / conductivity, rel=1e-3)
        assert 26.5 < 1000.0 * clad < 27.5
    assert conductors.RESISTANCE.number(1.0, "5/6 plain") == 19.5
    assert conductors.core_mass(1.0, "copper") == 8.9


def test_copper_clad_aluminium_by_awg_size() -> None:
    """ASTM B566 resistances per 1000 ft imply conductivities over the least ones, and the two grades in their ratio."""
    grades = ("10 %", "15 %")
    least = {
        grade: conductors.METALS.number(f"copper-clad aluminium {grade}", "least conductivity") for grade in grades
    }
    for size in (16, 18, 20):
        area = math.pi / 4.0 * conductors.awg_diameter(size) ** 2
        copper = conductors.METALS.number("copper", "resistivity") * 304.8 / area
        printed = {grade: conductors.AWG_COPPER_CLAD.number(size, grade) for grade in grades}
        for grade in grades:
            assert 100.0 * copper / printed[grade] > least[grade]
        assert printed["10 %"] / printed["15 %"] == pytest.approx(least["15 %"] / least["10 %"], rel=0.01)


def test_the_published_example_of_the_folding_chair() -> None:
    """2010/15/EU, section 6.1: 1 x 1/50 x 1/10 x 1 = 1/500, severity 1, band above 1/1000: low."""
    steps = [row.number for row in risk.EXAMPLE.rows[:4]]
    probability = risk.overall_probability(steps)
    assert probability == pytest.approx(1 / 500)
    assert risk.risk_level(int(risk.EXAMPLE.number("severity")), probability) == "low"
    assert risk.EXAMPLE.row("level").value == "low"
    assert risk.risk_row(1, probability).key == (1e-3, 1)


def test_a_probability_on_a_border_belongs_to_the_band_below() -> None:
    """The matrix says "above": exactly 1/100 is not above 1/100, also when it comes as 1/10 x 1/10."""
    assert risk.risk_row(3, 0.01).key == (1e-3, 3)
    assert risk.risk_row(3, risk.overall_probability([0.1, 0.1])).key == (1e-3, 3)
    assert risk.risk_row(3, 0.0101).key == (1e-2, 3)


@pytest.mark.parametrize(
    ("probability", "name"),
    [
        (0.5, "very frequent"),
        (0.1, "frequent"),
        (0.02, "common"),
        (1e-3, "occasional"),
        (5e-4, "unlikely"),
        (1e-5, "unusual"),
        (1e-6, "rare"),
        (1e-8, "extremely rare"),
    ],
)
def test_names_of_probabilities(probability: float, name: str) -> None:
    """(EU) 2024/3173, Annex II, 3.4.4."""
    assert risk.probability_name(probability) == name


def test_a_level_that_flips_within_its_uncertainty_says_so() -> None:
    """Severity 4 at 2/1 000 000 is medium; a factor of 10 either way reaches low and high."""
    spread = risk.risk_level_range(4, 2e-6, 10.0)
    assert (spread.low, spread.level, spread.high) == ("low", "medium", "high")
    assert spread.flips
    assert not risk.risk_level_range(4, 0.3, 2.0).flips


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: risk.risk_level(5, 0.1), "severity runs from 1 to 4"),
        (lambda: risk.risk_level(1, 1.1), "lies between 0 and 1"),
        (lambda: risk.overall_probability([]), "one to 5 steps"),
        (lambda: risk.overall_probability([0.5] * 6), "one to 5 steps"),
        (lambda: risk.overall_probability([1.5]), "lies between 0 and 1"),
        (lambda: risk.risk_level_range(1, 0.1, 0.5), "at least 1"),
    ],
)
def test_impossible_risks_are_refused(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()


@given(st.integers(1, 3), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_harm_or_more_chance_never_lowers_the_level(severity: int, a: float, b: float) -> None:
    low, high = sorted((a, b))
    rank = risk.LEVELS.index
    assert rank(risk.risk_level(severity, low)) <= rank(risk.risk_level(severity, high))
    assert rank(risk.risk_level(severity, low)) <= rank(risk.risk_level(severity + 1, low))


def test_the_items_level_is_the_highest() -> None:
    assert risk.highest(["low", "high", "medium"]) == "high"
    assert risk.highest([]) is None


def test_electrolytic_life_doubles_per_ten_degrees() -> None:
    """2000 h at 105 degC are 16 000 h at 75 degC (makers' rule)."""
    assert temperatures.electrolytic_life(2000.0, 105.0, 75.0) == pytest.approx(16000.0)


def test_temperature_rises_of_handles() -> None:
    """IEC 60335-1, Table 3 (read in the national adoption of 1994)."""
    materials = ("metal", "porcelain", "moulded, rubber, wood")
    assert [temperatures.RISES.number("handle held continuously", m) for m in materials] == [30, 40, 50]
    assert [temperatures.RISES.number("handle held briefly", m) for m in materials] == [35, 45, 60]


def test_uncertainty_divisors() -> None:
    """GUM 4.3: a rectangular limit a gives a/sqrt(3); a digital step 0.29 of itself = 1/sqrt(12)."""
    assert measuring.UNCERTAINTY.number("rectangular limit divided by") == pytest.approx(math.sqrt(3.0))
    assert measuring.UNCERTAINTY.number("digital step times") == pytest.approx(1.0 / math.sqrt(12.0), abs=2e-3)
