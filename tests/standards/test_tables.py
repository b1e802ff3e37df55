"""Tables walked row by row against the outside copies in tests/reference/standards (its SOURCE names each)."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from lidoff.standards import conductors, emission, harmonic_limits, insulation, light_limits, risk, temperatures, touch
from lidoff.standards.product_distances import LUMINAIRE

FOLDER = Path(__file__).parent.parent / "reference" / "standards"


def lines(name: str) -> Iterator[dict[str, str]]:
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        yield from csv.DictReader(file)


def grid(name: str) -> list[tuple[str, str, float]]:
    """Each number of a reference file as (line, column, value)."""
    return [
        (next(iter(line.values())), column, float(line[column]))
        for line in lines(name)
        for column in list(line)[1:]
        if line[column] != "-"
    ]


@pytest.mark.parametrize(("line", "column", "value"), grid("impulse.csv"))
def test_rated_impulse_voltages(line: str, column: str, value: float) -> None:
    assert insulation.IMPULSE.number(float(line), column) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("clearance.csv"))
def test_clearances(line: str, column: str, value: float) -> None:
    assert insulation.CLEARANCE.number(round(float(line) * 1000.0), int(column)) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("creepage.csv"))
def test_creepage_distances(line: str, column: str, value: float) -> None:
    assert insulation.CREEPAGE.number(float(line), column) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("altitude.csv"))
def test_altitude_factors(line: str, column: str, value: float) -> None:
    assert insulation.ALTITUDE.number(float(line)) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("charged_capacitors.csv"))
def test_charged_capacitor_limits(line: str, column: str, value: float) -> None:
    assert touch.CHARGED_CAPACITORS.number(float(line), column) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("conductor_resistance.csv"))
def test_conductor_resistances(line: str, column: str, value: float) -> None:
    assert conductors.RESISTANCE.number(float(line), column) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("conductor_temperature.csv"))
def test_conductor_temperature_factors(line: str, column: str, value: float) -> None:
    """The table, and the formula that it follows to its own third decimal."""
    assert conductors.TEMPERATURE.number(float(line)) == value
    assert conductors.at_20_degrees(1.0, float(line)) == pytest.approx(value, abs=6e-4)


@pytest.mark.parametrize(("line", "column", "value"), grid("awg.csv"))
def test_awg_sizes(line: str, column: str, value: float) -> None:
    """The table; the diameter formula and copper's resistivity give it back within its three digits."""
    assert conductors.AWG.number(int(line), column) == value
    diameter = conductors.awg_diameter(int(line))
    area = 3.141592653589793 / 4.0 * diameter**2
    computed = {"diameter": diameter, "area": area, "resistance": 1000.0 / 58.0 / area}[column]
    assert computed == pytest.approx(value, rel=6e-3)


@pytest.mark.parametrize(("line", "column", "value"), grid("touch_temperatures.csv"))
def test_touch_temperatures(line: str, column: str, value: float) -> None:
    contact = {
        "held in use >= 1 min": "held 1 min and over",
        "held 10 s..1 min": "held 10 s to 1 min",
        "touched 1..10 s": "touched 1 s to 10 s",
        "< 1 s, not touched to operate": "under 1 s",
    }[line]
    assert temperatures.TOUCH.number(contact, column) == value


@pytest.mark.parametrize(("line", "column", "value"), grid("luminaire.csv"))
def test_luminaire_distances(line: str, column: str, value: float) -> None:
    quantity = line.replace("PTI >= 600", "PTI 600 and over").replace("PTI < 600", "PTI under 600")
    assert LUMINAIRE.number(quantity, float(column)) == value


def test_risk_matrix_cell_by_cell() -> None:
    """Delegated Regulation (EU) 2024/3173, Annex II, 3.6.2: a probability just above each bound."""
    letters = {"S": "serious", "H": "high", "M": "medium", "L": "low"}
    seen = 0
    for line in lines("risk_matrix.csv"):
        bound = line["above"]
        if bound.startswith("<"):
            probability = 0.5e-6
        elif bound.endswith("%"):
            probability = float(bound[:-1]) / 100.0 * 1.01
        else:
            probability = 1.0 / float(bound.split("/")[1].replace(" ", "")) * 1.01
        for severity in (1, 2, 3, 4):
            assert risk.risk_level(severity, probability) == letters[line[str(severity)]]
            seen += 1
    assert seen == 32


def test_conducted_limits_at_the_ends_of_each_band() -> None:
    for line in lines("conducted_limits.csv"):
        low, high = (float(edge) * 1e6 for edge in line["MHz"].split("-"))
        for detector in ("quasi-peak", "average"):
            start, *rest = line[detector].split(" -> ")
            for frequency, value in ((low * 1.0001, start), (high * 0.9999, rest[0] if rest else start)):
                found = emission.conducted_limit(frequency, "residential", detector)
                assert found is not None
                assert found[0] == pytest.approx(float(value), abs=2e-3)


def test_conducted_limit_of_lighting_below_150_khz_and_at_borders() -> None:
    """CISPR 15 (from memory): 110 dBuV at 9 kHz, 90 to 80 between 50 and 150 kHz; the lower limit at a border."""
    for frequency, value in ((9e3, 110.0), (49e3, 110.0), (50e3, 90.0), (150e3, 66.0), (5e6, 56.0), (30e6, 60.0)):
        found = emission.conducted_limit(frequency)
        assert found is not None
        assert found[0] == pytest.approx(value)
    middle = emission.conducted_limit((50e3 * 150e3) ** 0.5)
    assert middle is not None
    assert middle[0] == pytest.approx(85.0)
    assert emission.conducted_limit(8e3) is None
    assert emission.conducted_limit(100e3, "residential") is None


def test_harmonics_class_a() -> None:
    """Every row, the two formulas expanded: 0.23 x 8/n for even 8 to 40, 0.15 x 15/n for odd 15 to 39."""
    seen = set()
    for line in lines("harmonics_class_a.csv"):
        orders = line["order"]
        if ".." in orders:
            first, last = (int(n) for n in orders.split(".."))
            factor, times = line["limit_A"].split(" x ")
            for n in range(first, last + 1, 2):
                expected = float(factor) * float(times.split("/")[0]) / n
                assert harmonic_limits.CLASS_A.number(n) == pytest.approx(expected)
                seen.add(n)
        else:
            assert harmonic_limits.CLASS_A.number(int(orders)) == float(line["limit_A"])
            seen.add(int(orders))
    assert seen == set(range(2, 41))


def test_harmonics_class_c_above_25_watts() -> None:
    for line in lines("harmonics_class_c.csv"):
        order, limit = line["order"], line["limit_percent"]
        if order == "3":
            assert limit.startswith("30 x lambda")
            assert harmonic_limits.CLASS_C.number(3, "30 lambda") == 30.0
        elif order == "11..39":
            assert all(harmonic_limits.CLASS_C.number(n, "fixed") == float(limit) for n in range(11, 40, 2))
        else:
            assert harmonic_limits.CLASS_C.number(int(order), "fixed") == float(limit)


def test_harmonics_class_d_per_watt_and_capped() -> None:
    for line in lines("harmonics_class_d.csv"):
        if line["order"].startswith("13"):
            for n in range(13, 40, 2):
                assert harmonic_limits.CLASS_D.number(n, "per watt") == pytest.approx(3.85 / n)
                assert harmonic_limits.CLASS_D.number(n, "cap") == harmonic_limits.CLASS_A.number(n)
            continue
        n = int(line["order"])
        assert harmonic_limits.CLASS_D.number(n, "per watt") == float(line["mA_per_W"])
        assert harmonic_limits.CLASS_D.number(n, "cap") == float(line["cap_A"])
        limit = harmonic_limits.class_d_limit(n, 100.0)
        assert limit is not None
        assert limit[0] == pytest.approx(0.1 * float(line["mA_per_W"]))
    assert harmonic_limits.class_d_limit(2, 100.0) is None
    big = harmonic_limits.class_d_limit(3, 700.0)
    assert big is not None
    assert big[0] == 2.30


def test_modulation_lines_of_ieee_1789() -> None:
    rows = list(lines("ieee_1789.csv"))
    for line, practice in ((rows[0], "low risk"), (rows[1], "no effect")):
        for column, ours in (("below 90 Hz", "below 90 Hz"), ("90 Hz to knee", "90 Hz and above")):
            assert light_limits.MODULATION.number(practice, ours) == float(line[column].split("<")[1].split("f")[0])
        knee = float(line["above knee"].split("above")[1].split("Hz")[0])
        assert light_limits.MODULATION.number(practice, "no limit above") == knee
    assert light_limits.MODULATION.number("seizure prevention", "below 90 Hz") == float(
        rows[2]["below 90 Hz"].split("<")[1].split("%")[0]
    )


def test_displacement_factor_floor_steps() -> None:
    """Regulation (EU) 2019/2020, Annex II, Table 4: none to 5 W, 0.5 to 10 W, 0.7 to 25 W, 0.9 above."""
    expected = {line["power"]: line["floor"] for line in lines("displacement_floor.csv")}
    at = {"<= 5 W": 5.0, "> 5..10 W": 10.0, "> 10..25 W": 25.0, "> 25 W": 25.1}
    for band, power in at.items():
        text = expected[band]
        wanted = None if text == "none" else float(text.split()[1])
        assert light_limits.displacement_floor(power) == wanted


def test_least_efficiency_of_led_gear() -> None:
    """P^0.81/(1.09 P^0.81 + 2.10): 10 W by hand: 10^0.81 = 6.4565; 6.4565/9.1376 = 0.7066."""
    assert light_limits.least_gear_efficiency(10.0) == pytest.approx(0.7066, abs=1e-4)


def test_class_c_routes_between_5_and_25_watts() -> None:
    """IEC 61000-3-2:2018+A1, class C (read in GB 17625.1-2022, 7.4.2): routes 2 and 3, and class B's factor."""
    two = harmonic_limits.CLASS_C_ROUTE_2
    expected = {"3": 86, "5": 61, "reached by": 60, "peak by": 65, "not below before": 90, "threshold": 5}
    assert {row.key[0]: row.number for row in two.rows} == expected
    three = {row.key[0]: row.number for row in harmonic_limits.CLASS_C_ROUTE_3.rows}
    assert three == {"thd": 70, "2": 5, "3": 35, "5": 25, "7": 30, "9": 20, "11": 20}
    assert harmonic_limits.CLASS_B_FACTOR.number == 1.5


def test_where_the_harmonic_limits_apply() -> None:
    """No lighting limit below 5 W, table above 25 W, class D 75 W to 600 W, 220 V, 5 mA or 0.6 %, 150 % smoothed."""
    scope = {row.key[0]: row.number for row in harmonic_limits.SCOPE.rows}
    assert scope == {
        "no lighting limit below": 5,
        "class C table above": 25,
        "class D from": 75,
        "class D to": 600,
        "least voltage": 220,
        "ignored below": 0.005,
        "ignored below share": 0.6,
        "smoothed single values": 150,
    }


def test_flickermeter_coefficients() -> None:
    """Reference implementation of IEC TR 61547-1 by the method's authors."""
    meter = light_limits.FLICKERMETER
    powers = ("s^4", "s^3", "s^2", "s^1", "s^0")
    assert [meter.number("eye numerator", p) for p in powers] == [0.041661, 44.758, 2715.6, 29839, 0]
    assert [meter.number("eye denominator", p) for p in powers] == [1, 196.32, 11781, 534820, 3505380]
    assert meter.number("smoothing", "scale") == 1.101603155420234e6
    weights = [meter.number("weight", p) for p in ("P0.1", "P1s", "P3s", "P10s", "P50s")]
    assert weights == [0.0314, 0.0525, 0.0657, 0.28, 0.08]
    assert sum(weights) == pytest.approx(0.5096)


def test_eu_requirements_on_light_sources() -> None:
    """(EU) 2019/2020, Annex II, Table 4, as amended by (EU) 2021/341; the 2019 text's own SVM beside it."""
    eu = light_limits.EU_LIGHT_SOURCES
    assert eu.number("PstLM", "2021-09-01") == 1.0
    assert eu.number("SVM", "2021-09-01") == 0.9
    assert eu.number("SVM", "2024-09-01") == 0.4
    assert eu.row("SVM", "2019 text").edition == "2019"
    assert eu.number("standby power", "2021-09-01") == 0.5


def test_conducted_limits_of_other_premises() -> None:
    """79/66 dBuV to 500 kHz, 73/60 above (class A, read in a Russian national limit)."""
    for frequency, quasi_peak, average in ((200e3, 79.0, 66.0), (1e6, 73.0, 60.0), (20e6, 73.0, 60.0)):
        for detector, value in (("quasi-peak", quasi_peak), ("average", average)):
            found = emission.conducted_limit(frequency, "other premises", detector)
            assert found is not None
            assert found[0] == pytest.approx(value)


def test_severities_and_probability_names_of_the_risk_method() -> None:
    """(EU) 2024/3173, Annex II, 3.3.3 and 3.4.4: four severities, eight names from 50 % down by tens."""
    assert [row.key[0] for row in risk.SEVERITY.rows] == [1, 2, 3, 4]
    values = [row.number for row in risk.PROBABILITY.rows]
    assert values == [0.5, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 0.0]
    names = ["very frequent", "frequent", "common", "occasional", "unlikely", "unusual", "rare", "extremely rare"]
    assert [row.key[0] for row in risk.PROBABILITY.rows] == names
