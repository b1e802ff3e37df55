"""Whatever is printed in a scheme decodes to itself."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.markings import decode
from lidoff.markings.cord_tables import awg_area
from lidoff.markings.disc_tables import THERMISTORS, VARISTORS
from lidoff.markings.fuse_tables import RATED
from lidoff.markings.printing import (
    PRINTERS,
    Printer,
    bands,
    digit_code,
    eia_96,
    fuse_bands,
    fuse_text,
    harmonised_cord,
    military_inductor,
    varistor_disc,
    voltage_code,
    zener_code,
)
from lidoff.markings.zener_tables import ZENERS
from lidoff.quantity import e_series


def _member(series: tuple[int, ...], least: int, most: int) -> st.SearchStrategy[float]:
    return st.builds(
        lambda number, power: float(f"{number}e{power - len(str(number)) + 1}"),
        st.sampled_from(series),
        st.integers(least, most - 1),
    )


# The values a scheme is used for: tolerance bands with the series of their tolerance, chips from 1 ohm to 10 megohms.
_VALUES: dict[tuple[str, str], st.SearchStrategy[float]] = {
    ("resistor", "three bands"): _member(e_series(6), -1, 7),
    ("resistor", "four bands, silver"): _member(e_series(12), -1, 7),
    ("resistor", "four bands"): _member(e_series(24), -1, 7),
    ("resistor", "three digits"): _member(e_series(24), 1, 7),
    ("resistor", "letter-first chip code"): _member(e_series(24), 2, 7),
    ("capacitor", "EIA-198"): _member(e_series(24), -10, -5),
}
_KINDS: dict[str, st.SearchStrategy[float]] = {
    "resistor": st.one_of(_member(e_series(24), -1, 7), _member(e_series(96), -1, 7)),
    "capacitor": _member(e_series(24), -11, -4),
    "inductor": _member(e_series(24), -7, -2),
    "fuse": st.sampled_from([row.current for row in RATED]),
    "varistor": st.sampled_from([row.voltage for row in VARISTORS]),
    "thermistor": st.sampled_from([row.cold for row in THERMISTORS]),
    "zener": st.sampled_from(sorted({row.voltage for row in ZENERS.values()})),
    "diode": st.sampled_from([50.0, 100.0, 200.0, 400.0, 600.0, 800.0, 1000.0]),
    "cord": st.sampled_from([0.5, 0.75, 1.0, 1.25, 1.5, 2.5, *(awg_area(number) for number in range(16, 29))]),
    "enclosure": st.builds(lambda solids, water: 10.0 * solids + water, st.integers(0, 6), st.integers(0, 8)),
    "potentiometer": st.sampled_from([1e3, 4.7e3, 1e4, 2.5e5, 5e5, 1e6]),
}
_CORD_SIZES = (0.5, 0.75, 1.0, 1.25, 1.5, 2.5)


@pytest.mark.parametrize("printer", PRINTERS, ids=lambda printer: f"{printer.kind}: {printer.name}")
@settings(deadline=None, max_examples=40)
@given(data=st.data())
def test_a_printed_value_decodes_to_itself(printer: Printer, data: st.DataObject) -> None:
    """Without being told the kind, the value is the first candidate of its kind."""
    value = data.draw(_VALUES.get((printer.kind, printer.name), _KINDS[printer.kind]))
    text = printer.write(value)
    if text is None or (printer.kind == "cord" and printer.name != "gauge" and value not in _CORD_SIZES):
        return
    own = [candidate for candidate in decode(text).candidates if candidate.kind == printer.kind]
    # Two characters such as X2 are a safety class before they are a chip code.
    considered = own[:2] if printer.name == "EIA-198" else own[:1]
    # A gauge is given as the tables print its area, to four figures; everything else comes back exactly.
    near = 5e-4 if printer.name == "gauge" else 1e-6
    assert any(candidate.value == pytest.approx(value, rel=near) for candidate in considered), (text, own)


def test_every_printer_can_print() -> None:
    """No printer is idle: each writes some value of its kind."""
    samples = {
        "resistor": (0.01, 0.47, 4700.0, 22100.0),
        "capacitor": (47e-12, 1e-7, 1e-6, 1e-4),
        "inductor": (2.2e-6, 1e-3),
        "fuse": (2.0, 3.0, 13.0),
        "varistor": (470.0,),
        "thermistor": (5.0,),
        "zener": (5.1,),
        "diode": (1000.0,),
        "cord": (0.75, 0.8230),
        "enclosure": (44.0,),
        "potentiometer": (5e5,),
    }
    for printer in PRINTERS:
        assert any(printer.write(value) for value in samples[printer.kind]), printer


@settings(deadline=None)
@given(value=_KINDS["resistor"], tolerance=st.sampled_from([0.01, 0.02, 0.005]))
def test_bands_read_from_either_end(value: float, tolerance: float) -> None:
    """Turned round, the same part is still among the resistors."""
    text = bands(value, tolerance, 3)
    if text is None:
        return
    turned = " ".join(reversed(text.split()))
    values = [candidate.value for candidate in decode(turned).candidates if candidate.kind == "resistor"]
    assert any(found == pytest.approx(value) for found in values)


@settings(deadline=None)
@given(
    value=_member(e_series(24), -9, -4),
    letter=st.sampled_from("JKM"),
    volts=st.sampled_from([16.0, 25.0, 50.0, 63.0, 100.0, 160.0, 200.0, 250.0, 315.0, 400.0, 450.0, 630.0, 1000.0]),
)
def test_voltage_code_and_tolerance_come_back(value: float, letter: str, volts: float) -> None:
    """The two-character voltage code, the digits and the letter each keep their meaning."""
    code = digit_code(round(value * 1e12, 3))
    best = decode(f"{voltage_code(volts)}{code}{letter}", kind="capacitor").candidates[0]
    assert best.value == pytest.approx(value)
    assert best.tolerance == {"J": 0.05, "K": 0.1, "M": 0.2}[letter]
    assert best.more["voltage"] == pytest.approx(volts)


@settings(deadline=None)
@given(
    row=st.sampled_from(RATED),
    speed=st.sampled_from(["FF", "F", "M", "T", "TT"]),
    breaking=st.sampled_from(["L", "E", "H"]),
    volts=st.sampled_from([125.0, 250.0]),
)
def test_fuse_text_comes_back(row: object, speed: str, breaking: str, volts: float) -> None:
    """Speed, current, breaking capacity and voltage are read apart again."""
    current: float = row.current  # type: ignore[attr-defined]
    best = decode(fuse_text(current, speed, breaking, volts)).candidates[0]
    assert (best.kind, best.more["letter"], best.more["breaking"], best.more["voltage"]) == (
        "fuse",
        speed,
        breaking,
        volts,
    )
    assert best.value == pytest.approx(current)


@settings(deadline=None)
@given(row=st.sampled_from(RATED), speed=st.sampled_from(["FF", "F", "M", "T", "TT"]))
def test_fuse_bands_come_back(row: object, speed: str) -> None:
    """Three bands and a wide one."""
    text = fuse_bands(row.current, speed)  # type: ignore[attr-defined]
    if text is not None:
        best = decode(text).candidates[0]
        assert (best.kind, best.more["letter"]) == ("fuse", speed)
        assert best.value == pytest.approx(row.current)  # type: ignore[attr-defined]


@settings(deadline=None)
@given(
    code=st.sampled_from(["H03VV-F", "H03VVH2-F", "H05VV-F", "H05RR-F", "H05RN-F", "H07RN-F", "H05V2V2-F"]),
    cores=st.integers(2, 5),
    size=st.sampled_from(_CORD_SIZES),
    earth=st.booleans(),
)
def test_cord_codes_come_back(code: str, cores: int, size: float, earth: bool) -> None:
    """Type, cores, earth and cross-section."""
    best = decode(harmonised_cord(size, code, cores, earth)).candidates[0]
    assert (best.kind, best.value, best.more["cores"], best.more["earth"]) == ("cord", size, cores, earth)
    assert best.more["code"] == code


@pytest.mark.parametrize("index", range(1, 97))
def test_every_eia_96_code(index: int) -> None:
    """All 96 codes, at a multiplier that no other scheme shares."""
    value = e_series(96)[index - 1] * 100.0
    code = eia_96(value)
    assert code == f"{index:02d}C"
    assert decode(code).candidates[0].value == pytest.approx(value)


@pytest.mark.parametrize("row", VARISTORS, ids=lambda row: f"{row.voltage:g}V")
def test_every_varistor_of_the_table(row: object) -> None:
    """The disc code gives the voltage at 1 mA and the mains it stands."""
    text = varistor_disc(row.voltage)  # type: ignore[attr-defined]
    assert text is not None
    best = decode(text).candidates[0]
    assert (best.kind, best.more["voltage_ac"]) == ("varistor", row.ac)  # type: ignore[attr-defined]


@pytest.mark.parametrize("number", sorted(ZENERS))
def test_every_registered_zener(number: int) -> None:
    """A registered number is a zener of its voltage, and nothing else is offered first."""
    best = decode(f"1N{number}A").candidates[0]
    assert (best.kind, best.value) == ("zener", ZENERS[number].voltage)


def test_printers_refuse_what_they_cannot_say() -> None:
    """A value with too many digits, or outside a scheme, has no marking there."""
    assert bands(4710.0, 0.05) is None
    assert digit_code(4.7) is None
    assert eia_96(4700.0) is None
    assert fuse_bands(3.0) is None
    assert voltage_code(33.0) is None
    assert military_inductor(4.7123e-6) is None
    assert zener_code(5.1) == "BZX55C5V1"
