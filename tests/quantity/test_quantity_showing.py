"""Values as people see them, and the preferred numbers."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.quantity import (
    E_SERIES,
    Quantity,
    QuantityError,
    celsius,
    e_series,
    engineering,
    iec60062,
    in_series,
    nearest,
    parse,
    percent,
    with_interval,
)


@pytest.mark.parametrize(
    ("value", "unit", "digits", "expected"),
    [
        (4700.0, "ohm", 3, "4.70 kΩ"),
        (0.0535, "A", 3, "53.5 mA"),
        (11.42, "W", 3, "11.4 W"),
        (999.96, "ohm", 3, "1.00 kΩ"),
        (999.4, "ohm", 3, "999 Ω"),
        (-12.0, "V", 3, "-12.0 V"),
        (0.0, "V", 3, "0 V"),
        (4.7e-6, "F", 2, "4.7 µF"),
        (0.1, "ohm", 3, "100 mΩ"),
        (1e-13, "F", 2, "0.10 pF"),
        (0.928, "", 3, "0.928"),
        (12345.0, "", 3, "12300"),
        (358.15, "K", 3, "358 K"),
        (36.0, "%", 2, "36 %"),
        (0.0024, "m", 2, "2.4 mm"),
        (65.0, "deg", 2, "65°"),
        (1e15, "ohm", 3, "1000 TΩ"),
        (1e300, "ohm", 3, "1.00 × 10³⁰⁰ Ω"),
        (-2.5e40, "V", 3, "-25.0 × 10³⁹ V"),
        (3e-300, "F", 2, "3.0 × 10⁻³⁰⁰ F"),
        (1e22, "", 2, "10 × 10²¹"),
    ],
)
def test_engineering(value: float, unit: str, digits: int, expected: str) -> None:
    """Significant figures are kept and the prefix suits."""
    assert engineering(value, unit, digits) == expected


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (4700.0, "ohm", "4k7"),
        (470.0, "ohm", "470R"),
        (0.47, "ohm", "R47"),
        (0.005, "ohm", "R005"),
        (4.7e6, "ohm", "4M7"),
        (330e-9, "F", "330n"),
        (2.2e-6, "F", "2u2"),
        (0.33e-12, "F", "p33"),
        (4.7e-3, "H", "4m7"),
        (5.1, "V", "5V1"),
        (0.0, "ohm", "0R"),
        (1e15, "ohm", "1000T"),
        (1e300, "ohm", "1e+300"),
    ],
)
def test_letter_codes(value: float, unit: str, expected: str) -> None:
    """IEC 60062 letter codes."""
    assert iec60062(value, unit) == expected


@pytest.mark.parametrize(
    ("value", "half_width", "unit", "expected"),
    [
        (11.4237, 0.1634, "W", "11.42 ± 0.16 W"),
        (4700.0, 47.0, "ohm", "4.700 ± 0.047 kΩ"),
        (999.0, 120.0, "V", "1000 ± 120 V"),
        (230.0, 0.996, "V", "230.0 ± 1.0 V"),
        (0.02, 0.5, "W", "20 ± 500 mW"),
        (0.0, 0.25, "A", "0 ± 250 mA"),
        (8.1, 0.0, "W", "8.1 W"),
        (-3.0, 0.11, "V", "-3.00 ± 0.11 V"),
        (-0.001, 0.25, "V", "0 ± 250 mV"),
    ],
)
def test_no_more_digits_than_the_interval(value: float, half_width: float, unit: str, expected: str) -> None:
    """JCGM 100:2008, 7.2.6: two significant figures of uncertainty, and the value no finer."""
    assert with_interval(value, half_width, unit) == expected


def test_gum_example_of_a_nominal_mass() -> None:
    """JCGM 100:2008, 7.2.2: m = (100,021 47 ± 0,000 79) g, there with the expanded uncertainty of two figures."""
    assert with_interval(0.10002147, 0.00000079, "kg") == "0.10002147 ± 0.00000079 kg"


@settings(deadline=None)
@given(
    value=st.floats(-1e6, 1e6),
    half_width=st.floats(1e-9, 1e6),
    unit=st.sampled_from(["ohm", "F", "V", "W", "", "K"]),
)
def test_value_and_interval_end_at_the_same_place(value: float, half_width: float, unit: str) -> None:
    """Both parts carry the same number of decimals, and the interval has two significant figures."""
    number, _, rest = with_interval(value, half_width, unit).partition(" ± ")
    width = rest.split()[0]
    assert len(number.partition(".")[2]) == len(width.partition(".")[2])
    assert len(width.replace(".", "").strip("0")) <= 2


@pytest.mark.parametrize("call", [lambda: engineering(float("nan"), "V"), lambda: with_interval(1.0, -1.0, "V")])
def test_what_is_not_a_value_is_not_shown(call: object) -> None:
    """nan and a negative interval have no text."""
    with pytest.raises(QuantityError):
        call()  # type: ignore[operator]
    with pytest.raises(QuantityError, match="no letter code"):
        iec60062(1.0, "W")


@pytest.mark.parametrize(
    ("kelvin", "expected"),
    [(459.15, "186 °C"), (358.15, "85 °C"), (358.55, "85.4 °C"), (1273.15, "1000 °C"), (273.15, "0 °C"),
     (233.15, "-40 °C"), (273.25, "0.1 °C"), (273.16, "0 °C")],
)  # fmt: skip
def test_temperatures_for_people_are_in_degrees(kelvin: float, expected: str) -> None:
    """t/°C = T/K - 273.15 (SI Brochure, 9th ed., 2.3.1); whole degrees from 100 °C up, tenths below at most."""
    assert celsius(kelvin) == expected
    with pytest.raises(QuantityError, match="finite"):
        celsius(float("inf"))


def test_shares() -> None:
    """Shares are shown in percent."""
    assert percent(0.05) == "5 %"
    assert percent(0.0025) == "0.25 %"
    assert percent(1e300) == "100 × 10³⁰⁰ %"


def test_absurd_intervals_and_temperatures_end() -> None:
    """With a power of ten, as the SI writes them (SI Brochure, 9th ed., 5.4), never with a row of zeros."""
    assert with_interval(1e300, 2e298, "ohm") == "(1.000 ± 0.020) × 10³⁰⁰ Ω"
    assert with_interval(1e300, 0.0, "ohm") == "1 × 10³⁰⁰ Ω"
    assert celsius(1e30) == "1.00 × 10³⁰ °C"
    assert parse("1.00 × 10³⁰⁰ Ω", "ohm") == 1e300
    assert parse("3.0 × 10⁻³⁰⁰ F", "F") == 3e-300


def test_e_series_have_their_lengths_and_contain_each_other() -> None:
    """En has n members; E48 lies in E96 and E96 in E192, E3 in E6 in E12 in E24 (IEC 60063)."""
    for number, members in E_SERIES.items():
        assert len(members) == number == len(set(members))
        assert list(members) == sorted(members)
    for small, large in ((3, 6), (6, 12), (12, 24), (48, 96), (96, 192)):
        assert set(e_series(small)) <= set(e_series(large))


def test_e96_as_printed() -> None:
    """IEC 60063, table 2, typed from a printed table (values to 392 seen quoted, the rest from memory)."""
    printed = """100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 178 182
    187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 316 324 332 340 348 357
    365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 562 576 590 604 619 634 649 665 681 698
    715 732 750 768 787 806 825 845 866 887 909 931 953 976"""
    assert e_series(96) == tuple(int(value) for value in printed.split())


def test_the_one_exception_of_e192() -> None:
    """IEC 60063, table 2: 920, where the rounded geometric series would give 919 (from memory)."""
    assert 920 in e_series(192)
    assert 919 not in e_series(192)
    assert round(100 * 10 ** (185 / 192)) == 919


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (4700.0, 3),
        (1500.0, 6),
        (0.82, 12),
        (2.4e-9, 24),
        (105.0, 48),
        (1.02e6, 96),
        (9.2, 192),
        (2.3, None),
        (0.0, None),
    ],
)
def test_coarsest_series(value: float, expected: int | None) -> None:
    """The coarsest series a value belongs to."""
    assert in_series(value) == expected


@settings(deadline=None)
@given(value=st.floats(1e-12, 1e9), number=st.sampled_from(sorted(E_SERIES)))
def test_nearest_is_a_member_within_half_a_step(value: float, number: int) -> None:
    """The nearest member is a member, and no further off than the widest gap of the series allows."""
    found = nearest(value, number)
    members = [*e_series(number), e_series(number)[0] * 10]
    widest = max(b / a for a, b in itertools.pairwise(members))
    assert max(found / value, value / found) <= widest**0.5 * (1 + 1e-9)
    series = in_series(found)
    assert series is not None


@pytest.mark.parametrize("number", [0, 5, 13, 384])
def test_no_such_series(number: int) -> None:
    """Only the seven series exist."""
    with pytest.raises(QuantityError, match="not a series"):
        e_series(number)


def test_a_quantity_holds_together() -> None:
    """Value, interval and origin are checked when built."""
    power = Quantity(value=11.4237, unit="W", low=11.2603, high=11.5871, origin="computed")
    assert str(power) == "11.42 ± 0.16 W"
    assert power.half_width == pytest.approx(0.1634)
    with pytest.raises(QuantityError, match="does not lie between"):
        Quantity(value=1.0, unit="W", low=2.0, high=3.0, origin="measured")
    with pytest.raises(QuantityError, match="not an origin"):
        Quantity(value=1.0, unit="W", low=1.0, high=1.0, origin="guessed")  # type: ignore[arg-type]
