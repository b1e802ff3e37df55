"""Which supply holds in a state, and what is assumed where nobody wrote one down."""

from __future__ import annotations

import pytest

from lidoff.record import Item, Unknown, effective_supply, read_text


def item(text: str) -> Item:
    return read_text("lidoff = 1\n" + text, "item.toml")


# Nominal voltages and frequencies: IEC 60038:2009 table 1 (230 V at 50 Hz, 120 V at 60 Hz; from memory).
@pytest.mark.parametrize(
    ("head", "voltage", "frequency"),
    [
        ('region = "GB"', 230.0, 50.0),
        ('region = "EU"', 230.0, 50.0),
        ('region = "US"', 120.0, 60.0),
        ("", 230.0, 50.0),
        ('rated = { voltage = "240 V" }', 240.0, 50.0),
        ('region = "US"\nrated = { voltage = "127 V", frequency = "50 Hz" }', 127.0, 50.0),
        ('rated = { voltage = "120 V" }', 120.0, 60.0),
        ('rated = { voltage = "220-240 V", frequency = "50/60 Hz" }', 230.0, 50.0),
        ('rated = { voltage = "100-127 V" }', 120.0, 60.0),
        ('region = "US"\nrated = { voltage = "100-240 V" }', 120.0, 60.0),
    ],
)
def test_the_mains_is_assumed_from_label_or_region(head: str, voltage: float, frequency: float) -> None:
    """Label before region, region before the most usual; each said to be assumed."""
    supply = effective_supply(item(f"[item]\n{head}\n"))
    assert (supply.voltage, supply.frequency) == (voltage, frequency)
    assert f"taken as {voltage:g} V" in supply.assumed["voltage"]
    assert f"taken as {frequency:g} Hz" in supply.assumed["frequency"]


def test_defaults_of_what_is_left_out() -> None:
    """0.4 ohm is the real part of the reference impedance (IEC 60725:2012; from memory); ±10 % the usual range."""
    supply = effective_supply(item("[supply]\nvoltage = 230\nfrequency = 50\n"))
    assert (supply.resistance, supply.inductance, supply.range, supply.shape) == (0.4, 0.0, 0.10, {})
    assert supply.measured is False
    assert set(supply.assumed) == {"range", "resistance", "inductance"}


def test_what_is_written_is_not_assumed() -> None:
    text = '[supply]\nvoltage = "236 V"\nmeasured = true\nrange = "2 %"\nfrequency = "50 Hz"\nresistance = "0R6"\n'
    supply = effective_supply(item(text + "shape = { h5 = 0.02 }\ninductance = '400u'\n"))
    assert supply.assumed == {}
    assert (supply.voltage, supply.range, supply.resistance, supply.inductance) == (236.0, 0.02, 0.6, 4e-4)
    assert supply.shape == {5: 0.02}


STATES = """
[supply]
voltage = "230 V"
range = "6 %"
frequency = "50 Hz"
resistance = "0R6"
[[state]]
name = "as it stands"
[[state]]
name = "measured"
supply = { voltage = "243 V", measured = true }
[[state]]
name = "measured to 3 %"
supply = { voltage = "243 V", measured = true, range = "3 %" }
[[state]]
name = "transformer"
supply = { voltage = "115 V", resistance = "12 R" }
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "neutral"]
[[state]]
name = "bench"
supply = { dc = "24 V", limit = "5 mA", nodes = ["live", "neutral"] }
"""


@pytest.mark.parametrize(
    ("state", "voltage", "measured", "width", "resistance"),
    [
        (None, 230.0, False, 0.06, 0.6),
        ("as it stands", 230.0, False, 0.06, 0.6),
        ("measured", 243.0, True, 0.01, 0.6),
        ("measured to 3 %", 243.0, True, 0.03, 0.6),
        ("transformer", 115.0, False, 0.06, 12.0),
    ],
)
def test_a_state_overrides_key_by_key(
    state: str | None, voltage: float, measured: bool, width: float, resistance: float
) -> None:
    """What a state does not say is the record's; a voltage measured in a state is known to 1 % in that state."""
    supply = effective_supply(item(STATES), state)
    assert (supply.voltage, supply.measured, supply.range, supply.resistance, supply.frequency) == (
        voltage,
        measured,
        width,
        resistance,
        50.0,
    )


def test_a_record_measured_is_not_measured_in_a_state_with_another_voltage() -> None:
    text = STATES.replace('range = "6 %"', "measured = true")
    assert effective_supply(item(text)).range == 0.01
    assert effective_supply(item(text), "as it stands").measured is True
    other = effective_supply(item(text), "transformer")
    assert (other.measured, other.range) == (False, 0.10)


def test_a_bench_supply_takes_the_place_of_the_mains() -> None:
    supply = effective_supply(item(STATES), "bench")
    assert (supply.dc, supply.limit, supply.nodes) == (24.0, 0.005, ("live", "neutral"))
    assert (supply.voltage, supply.frequency, supply.shape) == (None, None, None)
    assert supply.resistance == 0.0


def test_an_unknown_stays_unknown() -> None:
    text = '[supply]\nvoltage = "?"\nbetween = ["220 V", "250 V"]\nfrequency = "50 Hz"\n'
    assert effective_supply(item(text)).voltage == Unknown((220.0, 250.0))


def test_a_state_that_is_not_there_is_a_key_error() -> None:
    with pytest.raises(KeyError, match="ful"):
        effective_supply(item(STATES), "ful")
