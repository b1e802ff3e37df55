"""Figures of groups against published ones and closed forms, and what is said of a value unlike its role."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.circuit import Element, build
from lidoff.circuit.groups import Group, recognise
from lidoff.circuit.groups.units import unit_of
from lidoff.circuit.groups.usual import USUAL, Usual, one_mark_off, unlike
from lidoff.circuit.groups.words import counted, listed, ref_order, times
from lidoff.record import read_text
from lidoff.record.model import Table

REFERENCE = Path(__file__).resolve().parents[1] / "reference" / "groups"
# IEC 60062, colour code: the colours in the order of their digits; gold and silver as multipliers of -1 and -2.
COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def only(text: str, name: str) -> Group:
    (group,) = recognise(build(read_text(f"lidoff = 1\n{text}", "x.toml"))).named(name)
    return group


@pytest.mark.parametrize(
    "row", rows("dropper_currents.csv"), ids=lambda row: f"{row['capacitor_nF']} nF {row['string_V']} V"
)
def test_the_dropper_s_current_is_that_of_the_published_table(row: dict[str, str]) -> None:
    """Within 2 mA, save in the two cells that depart from charge balance by about 4 mA (its SOURCE entry)."""
    group = only(
        f"""part = [
  {{ ref = "R1", kind = "resistor", value = "100R", nodes = ["live", "a"] }},
  {{ ref = "C1", kind = "capacitor", value = "{row["capacitor_nF"]}n", nodes = ["a", "b"] }},
  {{ ref = "BR1", kind = "bridge", nodes = {{ ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" }} }},
  {{ ref = "C2", kind = "capacitor", value = "470u", nodes = ["p", "m"] }},
  {{ ref = "LED1", kind = "led", forward_voltage = "{row["string_V"]} V", nodes = {{ anode = "p", cathode = "m" }} }},
]
supply = {{ voltage = "230 V", frequency = "50 Hz" }}
""",
        "capacitor-dropper",
    )
    value, unit = group.figures["mean current by charge balance"]
    off = abs(value * 1e3 - float(row["current_mA"]))
    assert unit == "A"
    assert (off > 3.0) if row["stands_out"] == "yes" else (off <= 2.0)


def test_a_half_wave_dropper_with_a_zener_passes_half_the_charge() -> None:
    """110 V 60 Hz, 0.38 uF, 5.1 V: f C (2 sqrt2 V - Vz - diode) = 6.96 mA (charge balance; values of AN954, 2004)."""
    group = only(
        """part = [
  { ref = "C1", kind = "capacitor", value = "0.38 uF", nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "517R", nodes = ["a", "b"] },
  { ref = "DZ1", kind = "zener", voltage = "5.1 V", nodes = { anode = "neutral", cathode = "b" } },
  { ref = "D1", kind = "diode", nodes = { anode = "b", cathode = "p" } },
  { ref = "C2", kind = "capacitor", value = "470u", nodes = ["p", "neutral"] },
  { ref = "R2", kind = "resistor", value = "1k", nodes = ["p", "neutral"] },
]
supply = { voltage = "110 V", frequency = "60 Hz" }
""",
        "capacitor-dropper",
    )
    assert group.figures["mean current by charge balance"][0] == pytest.approx(6.96e-3, rel=2e-3)


def test_the_wait_after_the_plug_is_pulled_is_the_exponential() -> None:
    """0.33 uF with 1 M from 325.27 V reaches 34 V after 0.7452 s: R C ln(325.27 / 34)."""
    group = only(
        """part = [
  { ref = "C1", kind = "capacitor", value = "330n", nodes = ["live", "neutral"] },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "neutral"] },
  { ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["live", "neutral"] },
]
""",
        "discharge-resistor",
    )
    assert group.figures["time from the mains peak to 34 V"] == (pytest.approx(0.7452, abs=1e-4), "s")
    assert group.figures["loss at the mains voltage"] == (pytest.approx(230.0**2 / 1e6), "W")
    assert not any("one second" in remark for remark in group.remarks)


def test_a_wait_of_more_than_a_second_is_pointed_at() -> None:
    group = only(
        """part = [
  { ref = "C1", kind = "capacitor", value = "470n", nodes = ["live", "neutral"] },
  { ref = "R1", kind = "resistor", value = "2M2", nodes = ["live", "neutral"] },
  { ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["live", "neutral"] },
]
""",
        "discharge-resistor",
    )
    assert any("the plug pins take 2.3 s" in remark for remark in group.remarks)


def test_a_snubber_leaks_what_its_impedance_lets_through() -> None:
    """100 ohm and 47 nF at 230 V 50 Hz: 230 / sqrt(100^2 + (1 / (2 pi 50 47e-9))^2) = 3.396 mA."""
    group = only(
        """part = [
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "R3", kind = "resistor", value = "1k", nodes = ["x", "g"] },
  { ref = "R1", kind = "resistor", value = "100R", nodes = ["x", "s"] },
  { ref = "C1", kind = "capacitor", value = "47n", nodes = ["s", "live"] },
  { ref = "M1", kind = "motor", resistance = "60R", nodes = ["x", "neutral"] },
]
""",
        "snubber",
    )
    leak = 230.0 / math.hypot(100.0, 1.0 / (2 * math.pi * 50 * 47e-9))
    assert group.figures["leakage current with the whole mains across it"][0] == pytest.approx(leak)
    assert leak == pytest.approx(3.396e-3, rel=1e-3)


@pytest.mark.parametrize("row", rows("published_values.csv"), ids=lambda row: f"{row['role']} {row['value']}")
def test_published_values_are_not_called_unusual(row: dict[str, str]) -> None:
    """Component values of published circuits lie within the ranges of usual values (tests/reference/groups/SOURCE)."""
    usual = USUAL[row["role"]]
    assert usual.unit == row["unit"]
    assert usual.low <= float(row["value"]) <= usual.high


def bands(value: float) -> tuple[str, str, str]:
    """Three bands of a resistor (IEC 60062): two figures and a power of ten."""
    power = math.floor(math.log10(value) + 1e-9) - 1
    tens, ones = divmod(round(value / 10.0**power), 10)
    return COLOURS[tens], COLOURS[ones], (*COLOURS, "silver", "gold")[power]


@given(
    st.sampled_from([row for row in USUAL.values() if row.unit == "ohm"]),
    st.sampled_from((10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)),
    st.integers(-2, 7),
)
def test_the_other_value_differs_in_one_band(usual: Usual, figures: int, power: int) -> None:
    """What is offered instead is within the usual range, and one band away from what was read."""
    value = float(f"{figures}e{power}")
    other = one_mark_off(value, usual)
    if other is not None:
        assert usual.low <= other <= usual.high
        assert sum(a != b for a, b in zip(bands(value), bands(other), strict=True)) == 1


def resistor(ohms: float, **more: object) -> Element:
    return Element(ref="R2", kind="resistor", nodes=("a", "b"), values=Table(value=ohms), **more)  # type: ignore[arg-type]


def said(ohms: float, role: str, **more: object) -> tuple[str, ...]:
    element = resistor(ohms, **more)
    return unlike(unit_of(element, element.nodes), role)


def test_a_value_unlike_its_role_is_pointed_at_with_what_it_may_be() -> None:
    """150 k is brown green yellow, 150 R brown green brown: one band."""
    assert said(150e3, "snubber resistor")[0].endswith("one misread band gives 150 Ω.")
    assert said(100.0, "snubber resistor") == ()
    assert "a tenth of the usual" in said(47e3, "bleeder resistor")[0]
    assert said(47e3, "bleeder resistor")[0].endswith("one misread band gives 470 kΩ.")


def test_a_value_to_be_inferred_is_not_judged() -> None:
    assert said(150e3, "snubber resistor", unknown=frozenset({"value"})) == ()


def test_a_value_that_no_single_band_explains_is_only_pointed_at() -> None:
    """1.37 M has three figures; no two-figure code was misread."""
    sentence = said(1.37e6, "snubber resistor")[0]
    assert "misread" not in sentence
    assert "measure R2" in sentence


def test_words() -> None:
    assert times(1500.0) == "a thousand times"
    assert times(10.0) == "ten times"
    assert times(0.1) == "a tenth of"
    assert times(4.0) == "4 times"
    assert times(0.25) == "a quarter of"
    assert times(0.05) == "1/20 of"
    assert listed(["R1"]) == "R1"
    assert listed(["R1", "R2", "C1"]) == "R1, R2 and C1"
    assert [counted(n) for n in (1, 3, 12, 13)] == ["one", "three", "twelve", "13"]
    assert sorted(["R10", "R2", "C1"], key=ref_order) == ["C1", "R2", "R10"]
