"""What the schemes tell beside the value."""

from __future__ import annotations

import pytest

from lidoff.markings import decode
from lidoff.markings.colours import COLOURS, DIGITS, colours_of, read_bands


@pytest.mark.parametrize(
    ("word", "colours"),
    [
        ("br", ("brown",)),
        ("BK", ("black",)),
        ("re", ("red",)),
        ("or", ("orange",)),
        ("bl", ("black", "blue")),
        ("gr", ("green", "grey")),
        ("gray", ("grey",)),
        ("purple", ("violet",)),
        ("go", ("gold",)),
        ("si", ("silver",)),
        ("VT", ("violet",)),
        ("resistor", ()),
    ],
)
def test_colours_are_understood_as_people_write_them(word: str, colours: tuple[str, ...]) -> None:
    """Short forms that can be two colours stay two colours."""
    assert colours_of(word) == colours


def test_rows_of_colours_may_be_written_in_many_ways() -> None:
    """Blanks, commas, hyphens, alternatives with a bar or a stroke."""
    for text in ("brown green red gold", "brown-green-red-gold", "Brown, green, red, gold", "br gn rd gd"):
        found = read_bands(text)
        assert found is not None
        assert [band.options for band in found.bands] == [("brown",), ("green",), ("red",), ("gold",)]
    doubtful = read_bands("brown | red black/blue red")
    assert doubtful is not None
    assert [band.options for band in doubtful.bands] == [("brown", "red"), ("black", "blue"), ("red",)]
    assert read_bands("brown green 4k7") is None
    assert read_bands("T") is None


def test_the_colour_digits_are_in_order() -> None:
    """IEC 60062: black 0 to white 9."""
    assert [COLOURS[name].digit for name in DIGITS] == list(range(10))


@pytest.mark.parametrize(
    ("marking", "key", "value"),
    [
        ("H03VVH2-F 2X0.75", "form", "flat, not to be pulled apart"),
        ("H03VVH2-F 2X0.75", "insulation", "PVC"),
        ("H05RN-F 3G1", "sheath", "polychloroprene rubber"),
        ("H05V2V2-F 3G0.75", "insulation", "PVC, 90 °C"),
        ("H07V-K 1.5", "conductor", "fine strands for fixed wiring (class 5)"),
        ("60227 IEC 52 2x0.75", "harmonised", "H03VV-F"),
        ("UL1007 22AWG", "style", "1007"),
        ("IP69K", "water", 9),
        ("IP2XC", "access", "a tool"),
        ("BTA06-600C", "current_rms", 6.0),
        ("BT151-500R", "voltage", 500.0),
        ("MJE13003", "polarity", "npn"),
        ("SMBJ400A", "stand_off_voltage", 400.0),
        ("P6KE200CA", "bidirectional", True),
        ("NTC 103", "type", "NTC"),
        ("103F3950", "beta", 3950.0),
        ("S10K275", "voltage_ac", 275.0),
        ("MKP 0.47uF 275V~ X2", "construction", "metallised polypropylene film"),
        ("CBB22 104J 630V", "construction", "metallised polypropylene film"),
        ("10uF 25V BP", "polarity", "bipolar"),
        ("104K X7R", "temperature_min", 218.15),
        ("T2AL250V", "breaking_capacity", 35.0),
        ("T6.3AL250V", "breaking_capacity", 63.0),
        ("F1AH250V", "breaking_capacity", 1500.0),
    ],
)
def test_more_is_told(marking: str, key: str, value: object) -> None:
    """Everything but the value stands in `more`."""
    assert decode(marking).candidates[0].more[key] == value


def test_lopsided_tolerances_keep_both_sides() -> None:
    """Z is +80/-20 %: the wider side counts as the tolerance, and both are told."""
    best = decode("104Z").candidates[0]
    assert best.tolerance == 0.8
    assert (best.more["tolerance_low"], best.more["tolerance_high"]) == (-0.2, 0.8)
    assert "+80/−20 %" in best.text


def test_a_register_number_that_is_two_things() -> None:
    """1N60 is a registered germanium diode and an often sold MOSFET of 600 V."""
    kinds = {candidate.kind for candidate in decode("1N60").candidates}
    assert {"diode", "mosfet"} <= kinds
    assert not decode("1N60").settled


def test_a_bare_number_beside_volts_is_microfarads() -> None:
    """ "100 16V" on a can is 100 µF; as a code it would be 10 pF, and both are said."""
    values = [candidate.value for candidate in decode("100 16V").candidates]
    assert values[0] == pytest.approx(100e-6)
    assert pytest.approx(10e-12) in values


def test_ratings_without_a_letter_may_be_contacts() -> None:
    """3.15 A 250 V is a fuse's or a switch's rating: which, is not in the print."""
    decoded = decode("3.15A 250V")
    assert [candidate.kind for candidate in decoded.candidates[:2]] == ["fuse", "switch"]
    assert not decoded.settled


def test_a_wrong_plug_fuse_colour_is_pointed_out() -> None:
    """BS 1362: 13 A is brown."""
    best = decode("BS 1362 13A red").candidates[0]
    assert best.value == 13.0
    assert "should be brown" in best.why


def test_two_ip_codes_are_two_readings() -> None:
    """Recessed luminaires carry one for the front and one for the back."""
    assert [candidate.value for candidate in decode("IP44/IP20").candidates] == [44.0, 20.0]


def test_date_codes_offer_both_cycles() -> None:
    """IEC 60062: the year letters come round every twenty years (from memory)."""
    years = {candidate.more["year"] for candidate in decode("K5", kind="date").candidates}
    assert years == {1998, 2018}
    week = decode("2319", kind="date").candidates[0]
    assert (week.more["year"], week.more["week"]) == (2023, 19)


def test_symbols_say_what_they_do_not_mean() -> None:
    """A mark that is a maker's own word is called that."""
    assert "nobody need have tested it" in decode("CE").candidates[0].why
    assert decode("RoHS").candidates[0].kind == "symbol"


@pytest.mark.parametrize(
    ("marking", "kind", "value"),
    [
        ("T1AL250V 5x20", "fuse", 1.0),
        ("2A F 250V", "fuse", 2.0),
        ("FUSE 250V 3.15A T", "fuse", 3.15),
        ("IN4007", "diode", 1000.0),
        ("1N 4007", "diode", 1000.0),
        ("BZX55C 5V1", "zener", 5.1),
        ("BT136 600E", "triac", 600.0),
        ("2C x 18AWG", "cord", 0.823),
        ("H03VVH2-F2X0,75mm²", "cord", 0.75),
        ("<HAR> H05VV-F 3G1.0", "cord", 1.0),
        ("105°C 4.7µF 400V", "capacitor", 4.7e-6),
        ("400V10uF", "capacitor", 10e-6),
        ("1000uF-25V", "capacitor", 1e-3),
        ("µ1 K 275~ X2", "capacitor", 1e-7),
        ("0,22 Ohm 5W", "resistor", 0.22),
        ("4E7", "resistor", 4.7),
        ("7K471", "varistor", 470.0),
        ("471K10D", "varistor", 470.0),
        ("8.2mH ±10%", "inductor", 8.2e-3),
    ],
)
def test_prints_as_they_are_met(marking: str, kind: str, value: float) -> None:
    """Order, blanks, glued words and the usual misreadings do not matter (common practice, no source)."""
    best = decode(marking).candidates[0]
    assert (best.kind, best.value) == (kind, pytest.approx(value))


def test_class_2_is_not_always_class_ii() -> None:
    """In North America a class 2 supply is one of limited output (UL 1310, from memory): both are offered."""
    assert len(decode("class 2").candidates) == 2
    assert not decode("class 2").settled
    assert decode("class II").settled


@pytest.mark.parametrize(
    ("marking", "temperature"), [("ta 40°C", 313.15), ("tc=75°C", 348.15), ("T85", 358.15), ("105°C", 378.15)]
)
def test_temperatures_on_labels(marking: str, temperature: float) -> None:
    """Temperatures are told in kelvins."""
    best = decode(marking).candidates[0]
    assert (best.kind, best.more["temperature"]) == ("symbol", temperature)
