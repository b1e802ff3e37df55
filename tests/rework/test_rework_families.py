"""Each design family on a small record of its own: that it reaches its goal, or says why it does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.account.rework import judge
from lidoff.circuit import build
from lidoff.cycle import solve
from lidoff.record import read_text
from lidoff.rework import GOALS, ReworkError, design
from lidoff.rework.families.registry import FAMILIES, family
from lidoff.studies import unplug

HEAD = """# A comment of the user's.
lidoff = 1
[item]
title = "Invented"
class = "II"
region = "EU"
kind = "KIND"
rated = { voltage = "230 V", frequency = "50 Hz" }
[supply]
voltage = "230 V"
frequency = "50 Hz"
"""
FUSE = '{ ref = "F1", kind = "fuse", marking = "T500mAH250V", rating = { current = "500 mA", voltage_ac = "250 V" }, speed = "slow", nodes = ["live", "a"] }'  # noqa: E501
BRIDGE = '{ ref = "BR1", kind = "bridge", rating = { voltage = "1000 V", current = "1 A" }, nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } }'  # noqa: E501
STRIP = f"""part = [
 {FUSE},
 {BRIDGE},
 {{ ref = "LED1", kind = "led", block = "section", series = 60, forward_voltage = "3.0 V", tolerance = "2 %", rating = {{ current = "20 mA" }}, nodes = {{ anode = "in", cathode = "x" }} }},
 {{ ref = "R1", kind = "resistor", block = "section", value = "6k8", tolerance = "5 %", rating = {{ power = "3 W", voltage = "500 V" }}, nodes = ["x", "out"] }},
]
block = [{{ name = "section", parallel = 10, nodes = ["p", "m"] }}]
"""  # noqa: E501
FLOOD = f"""part = [
 {FUSE},
 {BRIDGE},
 {{ ref = "LED1", kind = "led", series = 60, parallel = 3, forward_voltage = "3.0 V", tolerance = "2 %", rating = {{ current = "20 mA" }}, nodes = {{ anode = "p", cathode = "x" }} }},
 {{ ref = "R1", kind = "resistor", value = "2k7", tolerance = "5 %", rating = {{ power = "5 W", voltage = "500 V" }}, nodes = ["x", "m"] }},
]
"""  # noqa: E501
DIMMER = """part = [
 { ref = "F1", kind = "fuse", marking = "T1AH250V", rating = { current = "1 A", voltage_ac = "250 V" }, speed = "slow", nodes = ["live", "l"] },
 { ref = "VR1", kind = "potentiometer", value = "470k", position = 0.2, tolerance = "20 %", rating = { power = "0.2 W", voltage = "250 V" }, nodes = { a = "load", wiper = "w" } },
 { ref = "R1", kind = "resistor", value = "4k7", tolerance = "5 %", rating = { power = "0.5 W", voltage = "350 V" }, nodes = ["w", "t"] },
 { ref = "C1", kind = "capacitor", value = "100n", tolerance = "10 %", rating = { voltage = "250 V" }, nodes = ["t", "l"] },
 { ref = "D1", kind = "diac", nodes = ["t", "g"] },
 { ref = "Q1", kind = "triac", rating = { voltage = "600 V", current = "4 A" }, nodes = { mt1 = "l", mt2 = "load", gate = "g" } },
 { ref = "LA1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["load", "neutral"] },
]
"""  # noqa: E501
SWITCHED = """part = [
 { ref = "F1", kind = "fuse", marking = "T500mAH250V", rating = { current = "500 mA", voltage_ac = "250 V" }, speed = "slow", nodes = ["live", "l"] },
 { ref = "Q1", kind = "triac", rating = { voltage = "600 V", current = "4 A" }, nodes = { mt1 = "l", mt2 = "a", gate = "g" } },
 { ref = "S1", kind = "switch", nodes = ["g", "s"] },
 { ref = "R4", kind = "resistor", value = "470R", rating = { power = "0.5 W", voltage = "350 V" }, nodes = ["s", "a"] },
 { ref = "R2", kind = "resistor", value = "100R", tolerance = "5 %", rating = { power = "0.5 W", voltage = "350 V" }, nodes = ["a", "n1"] },
 { ref = "C2", kind = "capacitor", value = "100n", tolerance = "10 %", rating = { voltage_ac = "275 V", class = "X2" }, nodes = ["n1", "l"] },
 { ref = "BR1", kind = "bridge", rating = { voltage = "1000 V", current = "1 A" }, nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
 { ref = "LED1", kind = "led", series = 60, forward_voltage = "3.0 V", nodes = { anode = "p", cathode = "x" } },
 { ref = "R1", kind = "resistor", value = "6k8", tolerance = "5 %", rating = { power = "5 W", voltage = "500 V" }, nodes = ["x", "m"] },
]
"""  # noqa: E501
CHARGER = f"""part = [
 {FUSE},
 {{ ref = "C1", kind = "capacitor", value = "220n", tolerance = "10 %", rating = {{ voltage_ac = "275 V", class = "X2" }}, nodes = ["a", "neutral"] }},
 {{ ref = "R1", kind = "resistor", value = "10M", rating = {{ power = "0.5 W", voltage = "350 V" }}, nodes = ["a", "neutral"] }},
 {BRIDGE},
 {{ ref = "C2", kind = "capacitor", value = "10u", tolerance = "20 %", rating = {{ voltage = "400 V" }}, nodes = ["p", "m"] }},
 {{ ref = "U1", kind = "converter", power = "8 W", nodes = {{ plus = "p", minus = "m" }} }},
]
"""  # noqa: E501
DROPPED = f"""part = [
 {FUSE},
 {{ ref = "R1", kind = "resistor", value = "220R", tolerance = "5 %", rating = {{ power = "1 W", voltage = "500 V" }}, nodes = ["a", "b"] }},
 {{ ref = "C1", kind = "capacitor", value = "330n", tolerance = "10 %", rating = {{ voltage_ac = "275 V", class = "X2" }}, nodes = ["b", "c"] }},
 {{ ref = "R2", kind = "resistor", value = "1M", rating = {{ power = "0.5 W", voltage = "350 V" }}, nodes = ["b", "c"] }},
 {{ ref = "BR1", kind = "bridge", rating = {{ voltage = "1000 V", current = "1 A" }}, nodes = {{ ac1 = "c", ac2 = "neutral", plus = "p", minus = "m" }} }},
 {{ ref = "LED1", kind = "led", series = 30, forward_voltage = "3.0 V", rating = {{ current = "25 mA" }}, nodes = {{ anode = "p", cathode = "m" }} }},
]
"""  # noqa: E501


def rework_of(parts, goals, families, kind="luminaire"):
    text = HEAD.replace("KIND", kind).replace("lidoff = 1\n", f"lidoff = 1\n{parts}")
    item = read_text(text, Path("invented") / "item.toml")
    return design(item, goals, judge, text=text, families=[family(one) for one in families])


def only(found):
    assert len(found.offered) == 1, [one.why for one in found.rejected]
    return found.offered[0]


def figures_of(one):
    return solve(build(read_text(one.record, Path("invented") / "item.toml"))).figures()


def test_a_strip_is_smoothed_with_larger_resistors_in_every_section():
    one = only(rework_of(STRIP, ["percent_flicker=8 %"], ["resistor-ballast"]))
    figures = figures_of(one)
    assert figures["light"]["percent_flicker"] < 8.0
    assert "[[block]]" not in one.record  # the user's inline form stays
    assert "# A comment of the user's." in one.record
    assert next(p for p in one.parts if p.ref == "section/R1").value > 6800.0


def test_smoothing_alone_makes_a_strip_too_bright_and_says_so():
    found = rework_of(STRIP, ["percent_flicker=8 %"], ["smoothing"])
    assert found.offered == ()
    assert "is lost" in found.rejected[0].why
    assert found.rejected[0].distance > 0.0


def test_smoothing_added_behind_a_dropper_keeps_the_light():
    one = only(rework_of(DROPPED, ["ieee_1789=low-risk"], ["smoothing"]))
    figures = figures_of(one)
    # IEEE Std 1789-2015, 8.1.1.1: 0.08 f is 8 % at 100 Hz.
    assert figures["light"]["percent_flicker"] < 8.0
    assert next(e for e in one.extents if e.goal.name == "light").nominal == pytest.approx(1.0, abs=0.2)
    # An open string leaves hundreds of volts on a capacitor that has 90 V otherwise: it has to be rated for that.
    store = next(p for p in one.parts if p.role == "smoothing capacitor")
    held = next(h for h in one.proof.held if h.part == store.ref)
    assert held.volts < 110.0
    assert held.open_volts > 200.0
    assert store.rating["voltage"] >= 1.1 * held.open_volts


def test_a_dropper_halves_the_light_of_a_dropped_string():
    one = only(rework_of(DROPPED, ["light=40–65 %"], ["capacitor-dropper"]))
    farads = sum(p.value for p in one.parts if p.role == "dropper capacitor")
    # Charge balance, I = 4 f C (U - U_L): half the light is about half the capacitance. The goal's middle is 52.5 %,
    # and two capacitors of preferred values come to within a tenth of what is wanted.
    assert farads == pytest.approx(0.525 * 330e-9, rel=0.1)
    assert len([p for p in one.parts if p.role == "bleeder"]) == 2  # two in a row on 230 V


def test_a_snubber_that_leaks_less_lets_less_glow():
    # 100 nF leak 7 mA; without a snubber the triac's own 40 megohm are left, and those are not to be helped.
    one = only(rework_of(SWITCHED, ["glow_off=0.25 %"], ["snubber"]))
    assert next(e for e in one.extents if e.goal.name == "glow_off").high <= 0.0025
    assert any("fires by itself" in c or "fire by itself" in c for c in one.cautions)


def test_a_longer_run_is_looked_at_as_it_is():
    one = only(rework_of(STRIP, ["length=section 14"], ["change-alone"]))
    assert "parallel = 14" in one.record
    share = next(e for e in one.extents if e.goal.name == "light")
    assert share.nominal == pytest.approx(1.0, abs=0.02)  # as much light per section as before
    found = rework_of(STRIP, ["length=section 200"], ["change-alone"])
    assert found.offered == ()  # the bridge of 1 A does not carry that
    assert "stress" in found.rejected[0].why.lower()


def test_another_mains_is_refused_where_the_light_is_lost():
    found = rework_of(STRIP, ["mains=120 V 60 Hz"], ["change-alone", "led-count", "capacitor-dropper"])
    assert found.offered == ()
    why = {one.family: one.why for one in found.rejected}
    assert "is lost" in why["change-alone"]
    assert "the mains' crest is" in why["capacitor-dropper"]


def test_leds_are_taken_out_to_use_a_lower_mains():
    one = only(rework_of(STRIP, ["mains=200 V 50 Hz"], ["led-count"]))
    assert next(e for e in one.extents if e.goal.name == "light").nominal > 0.8
    assert any("bridg" in sentence.lower() for sentence in one.cautions) or one.variant == "LEDs and ballast"


def test_strings_side_by_side_get_a_resistor_each():
    one = only(rework_of(FLOOD, ["balance=12 %"], ["balance"]))
    resistors = [p for p in one.parts if p.role == "ballast of one string"]
    assert len(resistors) == 3
    assert len({p.value for p in resistors}) == 1
    assert resistors[0].value == pytest.approx(3 * 2700.0, rel=0.1)  # the nearest of E12, whose steps are a fifth
    assert sum(not p.bought for p in one.parts) == 3  # the strings are those that are there


def test_a_filter_takes_decibels_off_a_dimmer():
    one = only(rework_of(DIMMER, ["interference=20 dB"], ["input-filter"], kind="dimmer"))
    assert next(e for e in one.extents if e.goal.name == "interference").low >= 20.0
    assert next(p for p in one.parts if p.role == "X capacitor").rating["class"] == "X2"


def test_inrush_is_kept_to_what_is_asked():
    one = only(rework_of(CHARGER, ["inrush=20 A"], ["protection"], kind="adapter"))
    # Ohm's law at the highest crest of 230 V + 10 %: 358 V over 20 A are 18 ohm at least.
    limiter = next(p for p in one.parts if "surge" in p.role or "inrush" in p.role)
    assert limiter.value >= 17.0
    assert one.proof.switched_on.peak <= 20.0


def test_pins_are_discharged_in_the_time_asked():
    one = only(rework_of(CHARGER, ["discharge=1 s"], ["discharge"], kind="adapter"))
    assert one.removed == ("R1",)
    pair = [p for p in one.parts if p.role == "discharge"]
    assert len(pair) == 2
    # R <= t / (C ln(U/34 V)) with 220 nF and 358 V: 1.93 megohm, less the tolerances.
    assert 1.2e6 < sum(p.value for p in pair) < 1.93e6
    after = unplug(build(read_text(one.record, Path("invented") / "item.toml")))
    assert after.pins.to_34 < 1.0


def test_a_hot_resistor_gets_a_larger_body():
    one = only(rework_of(FLOOD, ["stress=R1 power 60 %"], ["stronger-part", "snubber", "timing"]))
    assert one.parts[0].rating["power"] > 5.0
    assert "The heat is the same" in " ".join(one.cautions)


def test_a_bright_lamp_is_no_job_for_a_linear_source_without_a_heat_sink():
    found = rework_of(STRIP, ["percent_flicker=8 %"], ["constant-current"])
    assert "heat sink" in found.rejected[0].why


def test_a_source_whose_string_needs_nearly_the_whole_mains_is_refused():
    long = STRIP.replace("series = 60", "series = 96")
    found = rework_of(long, ["percent_flicker=8 %"], ["constant-current", "capacitor-dropper"])
    whys = " ".join(one.why for one in found.rejected)
    assert "the light would sag" in whys
    assert "next to nothing is left for the capacitor" in whys


@pytest.mark.parametrize("one", FAMILIES, ids=lambda f: f.id)
def test_every_family_says_what_it_stands_on(one):
    assert one.about.endswith(".")
    assert one.source.endswith(".")
    assert one.limits.endswith(".")
    assert one.equations
    assert one.serves
    assert set(one.serves) <= set(GOALS)


@pytest.mark.parametrize("one", FAMILIES, ids=lambda f: f.id)
def test_a_family_with_nothing_to_hold_on_to_gives_a_reason(one):
    heater = '[[part]]\nref = "EH1"\nkind = "heater"\npower = "1 kW"\nvoltage = "230 V"\nnodes = ["live", "neutral"]\n'
    goals = {
        "inrush": "inrush=5 A",
        "discharge": "discharge=1 s",
        "stress": "stress=EH1 power 80 %",
        "mains": "mains=120 V 60 Hz",
        "interference": "interference=20 dB",
        "power_factor": "power_factor=0.9",
    }
    goal = next((goals[name] for name in one.serves if name in goals), "power_factor=0.9")
    text = HEAD.replace("KIND", "appliance") + heater
    item = read_text(text, Path("invented") / "item.toml")
    found = design(item, [goal], judge, text=text, families=[one])
    assert all(rejected.why.endswith(".") for rejected in found.rejected)
    if one.id not in ("protection", "change-alone"):
        assert found.designs == ()


def test_goals_that_this_item_cannot_have_are_refused_in_a_sentence():
    with pytest.raises(ReworkError, match="gives no light"):
        rework_of(DIMMER, ["light=8–13 %"], ["capacitor-dropper"])
    with pytest.raises(ReworkError, match="current of LEDs"):
        rework_of(DIMMER, ["dead_travel=15 %"], ["timing"], kind="dimmer")
    with pytest.raises(ReworkError, match="no potentiometer"):
        rework_of(STRIP, ["dead_travel=15 %"], ["timing"])
    with pytest.raises(ReworkError, match="no part R9"):
        rework_of(STRIP, ["stress=R9 power 50 %"], ["stronger-part"])
    with pytest.raises(ReworkError, match="name the block"):
        rework_of(FLOOD, ["length=20"], ["change-alone"])


def test_an_item_whose_live_parts_are_in_reach_is_not_reworked(reworked):
    found = reworked("night-light", "ieee_1789=low-risk")
    assert found.replace
    assert found.verdict.startswith("Do not; replace it.")
    assert found.offered == ()
    dropper = next(one for one in found.rejected if one.family == "capacitor-dropper")
    assert "live parts can be reached" in dropper.why
    assert any("It would reach the goal, and is refused" in one.why for one in found.rejected)


def test_a_goal_that_holds_already_is_said_to():
    found = rework_of(DROPPED, ["power_factor=0.1"], ["led-count"])
    assert found.verdict.startswith("As found it holds already")
    assert found.as_found["power_factor"] > 0.1
