"""Reading of values as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.quantity import (
    UNIT_OF_QUANTITY,
    UNITS,
    QuantityError,
    engineering,
    iec60062,
    parse,
    parse_accuracy,
    parse_reading,
    share,
)

# IEC 60062, letter codes: the forms named in the record format, and those of the standard's own table (R47 to 4M7;
# standards digest: R47 = 0.47, 4R7, 470R, 4K7, 47K3, 4M7 seen; the rest from memory).
LETTER_CODES = [
    ("R47", "ohm", 0.47),
    ("0R4", "ohm", 0.4),
    ("4R7", "ohm", 4.7),
    ("470R", "ohm", 470.0),
    ("4K7", "ohm", 4700.0),
    ("4k7", "ohm", 4700.0),
    ("47K3", "ohm", 47300.0),
    ("4M7", "ohm", 4.7e6),
    ("1M", "ohm", 1e6),
    ("2k", "ohm", 2000.0),
    ("150 R", "ohm", 150.0),
    ("R005", "ohm", 0.005),
    ("1G0", "ohm", 1e9),
    ("330n", "F", 330e-9),
    ("2u2", "F", 2.2e-6),
    ("4µ7", "F", 4.7e-6),
    ("4µ7F", "F", 4.7e-6),
    ("p33", "F", 0.33e-12),
    ("1m0", "F", 1e-3),
    ("4m7", "H", 4.7e-3),
    ("330u", "H", 330e-6),
    ("3V3", "V", 3.3),
    ("5V1", "V", 5.1),
    ("3A15", "A", 3.15),
    ("0W5", "W", 0.5),
]
WRITTEN = [
    ("4.7 uF", "F", 4.7e-6),
    ("4.7 µF", "F", 4.7e-6),
    ("4.7 \N{GREEK SMALL LETTER MU}F", "F", 4.7e-6),
    ("4,7 uF", "F", 4.7e-6),
    ("4.7uf", "F", 4.7e-6),
    ("0.1MFD", "F", 0.1e-6),
    ("230 V", "V", 230.0),
    ("230V~", "V", 230.0),
    ("230 V ac", "V", 230.0),
    ("24 VDC", "V", 24.0),
    ("-12 V", "V", -12.0),
    ("−12 V", "V", -12.0),
    ("1.2 kV", "V", 1200.0),
    ("20 mA", "A", 0.02),
    ("1.5 W", "W", 1.5),
    ("1/4 W", "W", 0.25),
    ("9w", "W", 9.0),
    ("1240 R", "ohm", 1240.0),
    ("1.2 kΩ", "ohm", 1200.0),
    ("1.2 k\N{OHM SIGN}", "ohm", 1200.0),
    ("1.2 Kohm", "ohm", 1200.0),
    ("150 ohm", "ohm", 150.0),
    ("150 Ohms", "ohm", 150.0),
    ("20 mohm", "ohm", 0.02),
    ("2 Mohm", "ohm", 2e6),
    ("1,240.5 ohm", "ohm", 1240.5),
    ("1.240,5 ohm", "ohm", 1240.5),
    ("10 000 ohm", "ohm", 10000.0),
    ("0,470 ohm", "ohm", 0.47),
    ("4.7e-6 F", "F", 4.7e-6),
    ("1e3", "ohm", 1000.0),
    (".5 W", "W", 0.5),
    ("50 Hz", "Hz", 50.0),
    ("65kHz", "Hz", 65000.0),
    ("10 ms", "s", 0.01),
    ("20 min", "s", 1200.0),
    ("2 h", "s", 7200.0),
    ("85 C", "K", 358.15),
    ("85 °C", "K", 358.15),
    ("-25 °C", "K", 248.15),
    ("105℃", "K", 378.15),
    ("212 °F", "K", 373.15),
    ("3950 K", "K", 3950.0),
    ("0.2 A2s", "A2s", 0.2),
    ("0.2 A²s", "A2s", 0.2),
    ("12.3 VA", "VA", 12.3),
    ("2.1 mm", "m", 0.0021),
    ("1.4 m", "m", 1.4),
    ("35 cm", "m", 0.35),
    ("0.5mm2", "m2", 0.5e-6),
    ("0.75 mm²", "mm2", 0.75),
    ("2.4 g/m", "kg/m", 0.0024),
    ("39 ohm/km", "ohm/m", 0.039),
    ("1.2 kWh", "J", 4.32e6),
    ("10 A/V", "A/V", 10.0),
    ("350 lux", "lx", 350.0),
    ("8 %", "", 0.08),
    ("36", "", 36.0),
    ("36 %", "%", 36.0),
    (36, "%", 36.0),
    (0, "H", 0.0),
    (1.5, "W", 1.5),
]


@pytest.mark.parametrize(("text", "unit", "expected"), LETTER_CODES + WRITTEN)
def test_what_people_write_is_read_exactly(text: str | float, unit: str, expected: float) -> None:
    """Decimal arithmetic: the float is the one nearest to what was written, not one rounding away."""
    assert parse(text, unit) == expected


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("8.1 V", "W", r'"8.1 V" is in volts; power is expected in watts \(W\)'),
        ("20 mA", "V", "in amperes; voltage is expected"),
        ("4.7 uF", "ohm", "in farads; resistance"),
        ("50R", "V", "in ohms; voltage"),
        ("3 MA", "A", "prefix M, which is mega"),
        ("4,700 ohm", "ohm", "can be read as 4.700 or as 4700"),
        ("4k7 5%", "ohm", "tolerance"),
        ("10k ±5 %", "ohm", "tolerance"),
        ("", "V", "the value is empty"),
        ("   ", "V", "the value is empty"),
        ("?", "V", "is not a voltage"),
        ("nan", "V", "is not a voltage"),
        ("inf", "V", "is not a voltage"),
        ("1e999", "V", "too large"),
        (math.nan, "V", "not a finite number"),
        (-math.inf, "V", "not a finite number"),
        (True, "V", "is not a value"),
        (None, "V", "is not a value"),
        ("4k7k", "ohm", "is not a unit of resistance"),
        ("1.2.3 V", "V", "does not hold one number"),
        ("10 20 V", "V", "does not hold one number"),
        ("5 bananas", "A", '"bananas" in "5 bananas" is not a unit of current'),
        ("V" * 100, "V", "too long"),
        ("1", "furlong", '"furlong" is not a unit'),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(text: object, unit: str, message: str) -> None:
    """Every refusal names what was written and what is expected."""
    with pytest.raises(QuantityError, match=message) as caught:
        parse(text, unit)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


def test_a_quantity_can_be_named_in_the_message() -> None:
    """The caller's own name for the value stands in the sentence."""
    with pytest.raises(QuantityError, match="rated power is expected in watts"):
        parse("8 V", "W", what="rated power")


def test_case_tells_milli_from_mega() -> None:
    """m and M differ by nine decades, and only a capital K is forgiven."""
    assert parse("1 mohm", "ohm") == 1e-3
    assert parse("1 Mohm", "ohm") == 1e6
    assert parse("1K", "ohm") == parse("1k", "ohm") == 1e3
    assert parse("1 mW", "W") == 1e-3
    assert parse("1 MW", "W") == 1e6


_FACTORS = {
    "ohm": ["", "m", "k", "M"],
    "F": ["p", "n", "u", "m", ""],
    "H": ["n", "u", "m", ""],
    "V": ["m", "", "k"],
    "A": ["u", "m", ""],
    "W": ["m", "", "k"],
}
_POWER = {"": 0, "p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "M": 6}


@settings(deadline=None)
@given(data=st.data(), whole=st.integers(0, 99999), places=st.integers(0, 4))
def test_any_prefixed_value_is_read_back(data: st.DataObject, whole: int, places: int) -> None:
    """number + prefix + unit, with or without a blank, with dot or an unambiguous comma."""
    unit = data.draw(st.sampled_from(sorted(_FACTORS)))
    prefix = data.draw(st.sampled_from(_FACTORS[unit]))
    blank = data.draw(st.sampled_from(["", " ", "\N{NO-BREAK SPACE}"]))
    text = f"{whole / 10**places:.{places}f}"
    if places and places != 3 and data.draw(st.booleans()):
        text = text.replace(".", ",")
    expected = float(f"{whole}e{_POWER[prefix] - places}")
    assert parse(f"{text}{blank}{prefix}{unit}", unit) == expected


@settings(deadline=None)
@given(
    unit=st.sampled_from(["ohm", "F", "H", "V"]),
    digits=st.integers(1, 999999),
    power=st.integers(-15, 6),
)
def test_letter_code_round_trip(unit: str, digits: int, power: int) -> None:
    """A value written in letter code reads back as itself."""
    value = float(f"{digits}e{power}")
    assert parse(iec60062(value, unit), unit) == value


@settings(deadline=None)
@given(unit=st.sampled_from(sorted(UNITS)), value=st.floats(1e-250, 1e250), digits=st.integers(1, 6))
def test_engineering_round_trip(unit: str, value: float, digits: int) -> None:
    """A shown value reads back within half of its last figure: of a leading 1 to one figure that is a half of it."""
    assert parse(engineering(value, unit, digits), unit) == pytest.approx(value, rel=0.5000001 * 10 ** (1 - digits))


@settings(deadline=None)
@given(text=st.text(max_size=70), unit=st.sampled_from(sorted(UNITS)))
def test_any_text_is_a_finite_value_or_refused(text: str, unit: str) -> None:
    """No other exception ever comes out, whatever is typed."""
    try:
        value = parse(text, unit)
    except QuantityError:
        return
    assert math.isfinite(value)


@pytest.mark.parametrize(
    ("text", "unit", "value", "digit", "doubt"),
    [
        ("8.1 W", "W", 8.1, 0.1, 0.0),
        ("about 8 W", "W", 8.0, 1.0, 1.0),
        ("~8 W", "W", 8.0, 1.0, 1.0),
        ("ca. 0.35 A", "A", 0.35, 0.01, 0.01),
        ("≈ 53 mA", "A", 0.053, 0.001, 0.001),
        ("230 V", "V", 230.0, 1.0, 0.0),
        ("0.1200 A", "A", 0.12, 0.0001, 0.0),
        ("4k7", "ohm", 4700.0, 100.0, 0.0),
        ("about 4k7", "ohm", 4700.0, 100.0, 100.0),
        ("330n", "F", 330e-9, 1e-9, 0.0),
        ("65 °C", "K", 338.15, 1.0, 0.0),
        ("about 100 %", "%", 100.0, 1.0, 1.0),
        ("0.92", "", 0.92, 0.01, 0.0),
        (8.1, "W", 8.1, 0.1, 0.0),
        (230, "V", 230.0, 1.0, 0.0),
    ],
)
def test_readings_know_their_last_digit(text: str | float, unit: str, value: float, digit: float, doubt: float) -> None:
    """The weight of the last digit follows what was written, and "about" doubts it by one."""
    read = parse_reading(text, unit)
    assert (read.value, read.digit, read.doubt) == (value, digit, doubt)
    assert read.about == (doubt > 0)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("1 % + 0.2 W", "W", (0.01, 0.2, False)),
        ("1 % + 1 mA", "A", (0.01, 0.001, False)),
        ("0.02", "", (0.0, 0.02, False)),
        ("2 %", "W", (0.02, 0.0, False)),
        ("5 mA", "A", (0.0, 0.005, False)),
        ("±(1 % + 0.2 W)", "W", (0.01, 0.2, False)),
        ("1 % + 0.2 W, normal", "W", (0.01, 0.2, True)),
        ("1% of reading + 0.2 W", "W", (0.01, 0.2, False)),
        (0.02, "", (0.0, 0.02, False)),
        ("2 %", "%", (0.02, 0.0, False)),
        ("2 % + 1", "%", (0.02, 1.0, False)),
    ],
)
def test_accuracies(text: str | float, unit: str, expected: tuple[float, float, bool]) -> None:
    """Percentages are of the reading, the rest is a floor."""
    assert parse_accuracy(text, unit) == pytest.approx(expected)


def test_digits_of_accuracy_need_a_resolution() -> None:
    """Counts of digits are worth what the meter resolves; without that they are refused."""
    assert parse_accuracy("0.8 % + 3 digits", "V", resolution=0.1) == pytest.approx((0.008, 0.3, False))
    with pytest.raises(QuantityError, match="resolution"):
        parse_accuracy("0.8 % + 3 digits", "V")


@pytest.mark.parametrize("text", ["-1 %", "1 % + -0.2 W", "1 % + + 0.2 W", "1 % + 0.2 V", "good", -0.1])
def test_wrong_accuracies_are_refused(text: str | float) -> None:
    """An accuracy is a width in the reading's unit."""
    with pytest.raises(QuantityError):
        parse_accuracy(text, "W")


def test_shares() -> None:
    """Percentages and plain shares are the same; a lost percent sign is caught."""
    assert share("10 %") == share(0.1) == share("0.1") == share("±10 %") == 0.1
    assert share("150 %") == 1.5
    with pytest.raises(QuantityError, match="would be 500 %"):
        share(5)
    with pytest.raises(QuantityError, match="negative"):
        share("-5 %")


def test_every_reading_quantity_has_a_known_unit() -> None:
    """The two tables cannot drift apart."""
    assert set(UNIT_OF_QUANTITY.values()) <= set(UNITS)
