"""Single faults: what really happens, against Ohm's law and published tables, and how it is told."""

from __future__ import annotations

import sys
from dataclasses import replace

import pytest
from tests.studies.circuits import (
    CHARGER,
    DIMMED_LAMP,
    DIMMED_STRIP,
    DROPPER,
    MAINS,
    PLUGGED,
    STRIP,
    circuit_of,
    fault,
    part,
    string,
    study,
)

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Solution, solve
from lidoff.kinds import KINDS
from lidoff.record import Item
from lidoff.studies import Fault, StudyError, faults
from lidoff.studies.fault_effects import Overstress
from lidoff.studies.fault_words import Found, outcome, severity
from lidoff.studies.thermal import ZERO, junction, rise_at_rating, temperature

LOAD = part("R1", "resistor", "live a", value="470R", rating={"power": "1 W"}) + part(
    "R2", "resistor", "a neutral", value="10k", rating={"power": "6 W", "voltage": "500 V"}
)


def over(found: Fault, part_: str, quantity: str) -> float:
    return next(o.value for o in found.overstressed if (o.part, o.quantity) == (part_, quantity))


def test_a_short_leaves_the_whole_mains_to_what_is_left() -> None:
    found = fault(study(LOAD), "R2", "short")
    # 230 V on 470 ohm (and 0.4 ohm of the mains): 112.4 W in a resistor for 1 W.
    assert over(found, "R1", "power") == pytest.approx(470.0 * (230.0 / 470.41) ** 2, rel=1e-3)
    (first,) = [o for o in found.overstressed if o.quantity == "power"]
    assert first.times == pytest.approx(112.4, rel=5e-3)
    assert not first.assumed
    assert found.severity == 3
    assert "R1 takes 110 W, 112 times its rating, and burns" in found.outcome


def test_what_is_over_its_rating_anyway_is_no_news() -> None:
    text = part("R1", "resistor", "live a", value="100R", rating={"power": "0.1 W"}) + part(
        "R2", "resistor", "a neutral", value="900R", rating={"power": "100 W"}
    )
    found = fault(study(text), "R2", "open")
    assert found.overstressed == ()
    assert fault(study(text), "R2", "short").overstressed[0].part == "R1"


def test_every_part_is_failed_open_and_short() -> None:
    found = study(DIMMED_STRIP)
    modes = {
        ref: {f.mode for f in found.faults if f.part == ref} for ref in ("R1", "R2", "R3", "C1", "C2", "D1", "LED1")
    }
    assert all({"open", "short"} <= m for m in modes.values())
    assert {f.mode for f in found.faults if f.part == "BR1"} == {
        "open diode ac1-plus",
        "open diode ac2-plus",
        "open diode minus-ac1",
        "open diode minus-ac2",
        "short ac1-ac2",
        "short ac1-plus",
        "short ac1-minus",
        "short ac2-plus",
        "short ac2-minus",
        "short plus-minus",
    }
    assert {f.mode for f in found.faults if f.part == "Q1"} == {
        "open",
        "short",
        "short mt1-gate",
        "short mt2-gate",
        "open gate",
        "one way",
    }
    assert {f.mode for f in found.faults if f.part == "VR1"} == {"wiper loose", "short a-wiper"}


def test_worst_first() -> None:
    found = study(DIMMED_STRIP)
    order = [f.severity for f in found.faults]
    assert order == sorted(order, reverse=True)
    assert {1, 2, 4} <= set(order)


# Light ----------------------------------------------------------------------------------------------------------------


def test_the_mate_of_an_open_led_carries_twice_the_current() -> None:
    sound = solve(circuit_of(STRIP)).light_figures()
    assert sound is not None
    found = fault(study(STRIP), "LED1", "one LED open")
    assert over(found, "LED1", "current") == pytest.approx(sound["mean_current"], rel=5e-3)  # all that two shared
    assert "its mate carries it all" in found.outcome
    short = fault(study(STRIP), "LED1", "one LED short")
    assert short.light is not None
    assert 1.0 < short.light["mean_current"] / sound["mean_current"] < 1.1


def test_a_strip_the_wrong_way_round_is_dark() -> None:
    found = fault(study(STRIP), "LED1", "reversed")
    assert found.light is not None
    assert found.light["mean_current"] < 1e-5
    assert "the light goes out" in found.outcome


def test_one_diode_open_halves_the_light_and_makes_it_flicker_at_the_mains_frequency() -> None:
    found = fault(study(STRIP), "BR1", "open diode ac1-plus")
    assert found.light is not None
    assert found.light["frequency"] == pytest.approx(50.0)
    assert found.severity == 2
    assert "50 % of what it was, flickering at 50 Hz" in found.outcome
    assert found.input is not None
    assert abs(found.input["current_mean"]) > 0.3 * found.input["current_rms"]


def test_a_triac_stuck_on_and_one_that_conducts_one_way() -> None:
    found = study(DIMMED_LAMP)
    stuck, half = fault(found, "Q1", "short"), fault(found, "Q1", "one way")
    assert stuck.input is not None
    assert half.input is not None
    assert stuck.input["power"] == pytest.approx(230.0**2 / 880.4, rel=5e-3)
    # Half of the half-waves are left; they fire a little later, from a timing capacitor that no firing has emptied.
    assert half.input["power"] == pytest.approx(0.5 * solve(circuit_of(DIMMED_LAMP)).input_figures()["power"], rel=0.02)
    assert abs(half.input["current_mean"]) > 0.02
    dead = fault(found, "Q1", "open")
    assert dead.input is not None
    assert dead.input["power"] < 2.0  # what the timing network and the snubber let through


def test_an_open_string_puts_the_mains_peak_on_its_smoothing_capacitor() -> None:
    found = fault(study(DROPPER), "LED1", "open")
    assert over(found, "C2", "voltage") == pytest.approx(325.27, rel=0.02)
    assert found.severity == 3
    assert "C2 gets 320 V, 3.2 times its rating" in found.outcome


def test_an_electrolytic_driven_backwards_is_told() -> None:
    text = (
        part("R1", "resistor", "live a", value="1k", rating={"power": "60 W"})
        + part("D1", "diode", "anode=a cathode=p")
        + part("C1", "capacitor", "p neutral", value="10u", rating={"voltage": "400 V"})
        + part("R2", "resistor", "p neutral", value="100k", rating={"power": "2 W"})
    )
    found = fault(study(text), "D1", "short")
    backwards = next(o for o in found.overstressed if o.quantity == "reverse voltage")
    assert backwards.part == "C1"
    # A divider of 1 kohm and 318 ohm of reactance: 0.303 of the mains peak.
    assert backwards.value == pytest.approx(325.27 * 318.31 / 1049.4, rel=0.02)
    assert found.severity == 3
    assert "backwards" in found.outcome


def test_halved_and_dried_out() -> None:
    found = study(DROPPER)
    halved = fault(found, "C1", "halved")
    assert halved.light is not None
    sound = solve(circuit_of(DROPPER)).light_figures()
    assert sound is not None
    # Charge balance: the current of a dropper goes with its capacitance.
    assert halved.light["mean_current"] == pytest.approx(0.5 * sound["mean_current"], rel=0.03)
    assert {f.mode for f in found.faults if f.part == "C2"} == {"open", "short", "halved", "dried out"}
    assert {f.mode for f in found.faults if f.part == "C1"} == {"open", "short", "halved"}  # a film capacitor


# What a hand finds live -----------------------------------------------------------------------------------------------


def test_a_cut_strip_has_live_ends_and_one_behind_a_transformer_has_not() -> None:
    cut = fault(study(STRIP), "LED1", "cut")
    assert {e.what for e in cut.touched} == {"bare end"}
    assert cut.touched[0].touch.level == "ES3"
    assert cut.severity == 4
    isolated = (
        part("T1", "transformer", "p1=live p2=neutral s1=s s2=t", ratio=10.0)
        + part("BR1", "bridge", "ac1=s ac2=t plus=p minus=m")
        + part("LED1", "led", "anode=p cathode=x", series=6, forward_voltage="3 V")
        + part("R3", "resistor", "x m", value="220R", rating={"power": "3 W"})
    )
    found = fault(study(isolated), "LED1", "cut")
    assert found.touched == ()
    assert found.severity == 1


SURFACE = '[[surface]]\nname = "end cap"\nreached = "by hand"\nnode = "{node}"\n'
GAP = '[[gap]]\nbetween = ["{node}", "surface:end cap"]\nclearance = "2 mm"\ninsulation = "{insulation}"\n'


def test_bridged_insulation_makes_a_surface_live() -> None:
    text = STRIP + SURFACE.format(node="insulated") + GAP.format(node="p", insulation="basic")
    found = fault(study(text), "gap p to end cap", "bridged")
    assert [e.what for e in found.touched] == ["end cap"]
    assert found.touched[0].touch.level == "ES3"
    assert found.severity == 4
    assert "end cap is at" in found.outcome
    reinforced = study(STRIP + SURFACE.format(node="insulated") + GAP.format(node="p", insulation="reinforced"))
    assert not any(f.part.startswith("gap") for f in reinforced.faults)


def test_an_earthed_surface_lets_the_fuse_open() -> None:
    text = PLUGGED + STRIP + SURFACE.format(node="earth") + GAP.format(node="live", insulation="basic")
    found = fault(study(text), "gap live to end cap", "bridged")
    assert found.fuse is not None
    assert found.fuse.credited
    assert found.fuse.time is not None
    assert found.fuse.time < 0.1
    assert found.touched == ()


def test_a_surface_that_only_a_fault_makes_live() -> None:
    """A metal plate joined to the neutral side through the load's last resistor: live once that is open."""
    text = (
        part("R1", "resistor", "live plate", value="10k", rating={"power": "10 W"})
        + part("R2", "resistor", "plate neutral", value="10R", rating={"power": "1 W"})
        + SURFACE.format(node="plate")
    )
    found = study(text)
    opened = fault(found, "R2", "open")
    assert opened.touched[0].touch.current_rms == pytest.approx(230.0 / 12e3, rel=5e-3)
    assert opened.severity == 4
    assert fault(found, "R2", "short").touched == ()
    # The plug the other way up puts live on it through 10 ohm.
    assert fault(found, "plug", "reversed").touched[0].touch.level == "ES3"


def test_what_only_a_tool_reaches_is_told_but_judged_less() -> None:
    text = STRIP + SURFACE.format(node="insulated").replace("by hand", "with a tool")
    text += GAP.format(node="p", insulation="basic")
    found = fault(study(text), "gap p to end cap", "bridged")
    assert "(reached with a tool only)" in found.outcome
    assert found.severity < 4


def test_undecided_where_nothing_is_recorded() -> None:
    found = study(STRIP)
    assert len(found.undecided) == 4
    assert found.undecided[-1].startswith("How hard the mains is: ")
    assert any("no touchable surface" in sentence for sentence in found.undecided)
    mains = 'resistance = "0R4"\n'
    full = study(PLUGGED + mains + STRIP + SURFACE.format(node="insulated") + GAP.format(node="p", insulation="basic"))
    assert full.undecided == ()
    assert any("fuse in the plug" in sentence for sentence in faults(circuit_of(STRIP)).undecided)


def test_a_switch_in_the_neutral_leaves_everything_live() -> None:
    neutral = part("S1", "switch", "n neutral") + string("live", "n")
    found = fault(study(neutral), "S1", "off")
    assert set(found.live_when_off) == {"BR1", "LED1", "R3"}
    assert found.severity == 3
    assert "BR1, LED1, R3 stay joined to live although it is off" in found.outcome
    lamp = part("L1", "lamp", "live n", power="25 W", voltage="230 V") + part("S1", "switch", "n neutral")
    assert "L1 stays joined to live although it is off" in fault(study(lamp), "S1", "off").outcome
    assert fault(study(neutral), "S1", "off, plug reversed").live_when_off == ()
    live = part("S1", "switch", "live l") + string("l", "neutral")
    assert fault(study(live), "S1", "off").live_when_off == ()
    assert fault(study(live), "S1", "off").severity == 1
    turned = fault(study(live), "S1", "off, plug reversed")
    assert set(turned.live_when_off) == {"BR1", "LED1", "R3"}


def test_how_the_poles_come_to_be_swapped_is_said_by_plug() -> None:
    assert "the other way up" in fault(study('[item]\nregion = "EU"\n' + MAINS + STRIP), "plug", "reversed").outcome
    assert "wired with live and neutral swapped:" in fault(study(PLUGGED + STRIP), "plug", "reversed").outcome
    as_found = PLUGGED.replace("[supply]", 'wiring = { brown = "neutral", blue = "live" }\n[supply]')
    assert "swapped, as found" in fault(study(as_found + STRIP), "plug", "reversed").outcome


def test_water_heats_and_no_fuse_opens() -> None:
    found = fault(study(PLUGGED + STRIP), "terminals", "water")
    # 230 V on 5 kohm: 46 mA, 10.6 W.
    assert "46 mA leak through it and heat it with 11 W" in found.outcome
    assert found.severity == 3


def test_an_open_bleed_resistor_leaves_the_pins_charged() -> None:
    found = fault(study(DROPPER), "R2", "open")
    assert "the plug's pins stay charged for minutes" in found.outcome
    assert found.severity == 2
    assert fault(study(DROPPER), "R1", "open").pins_to_34 is None


# Blocks, odd parts and trouble ----------------------------------------------------------------------------------------

SECTIONS = (
    '[[block]]\nname = "section"\nrepeat = 12\nparallel = 2\nnodes = ["p", "m"]\n'
    + part("BR1", "bridge", "ac1=live ac2=neutral plus=p minus=m")
    + part("LED1", "led", "anode=in cathode=x", series=6, forward_voltage="3 V", block="section")
    + part("R1", "resistor", "x out", value="120R", block="section", rating={"power": "0.25 W"})
)


def test_a_fault_acts_on_one_member_of_a_block() -> None:
    found = study(SECTIONS)
    sound = solve(circuit_of(SECTIONS))
    full = float(sound.waves.weight @ sound.light)
    opened = fault(found, "section/LED1", "open")
    assert opened.light is not None
    assert opened.input is not None
    # One of two rows is dark: half the power.
    assert opened.input["power"] == pytest.approx(0.5 * sound.input_figures()["power"], rel=0.01)
    assert opened.severity == 1
    short = fault(found, "section/R1", "short")
    assert short.input is not None
    assert 1.0 < short.input["power"] / sound.input_figures()["power"] < 1.05
    assert full > 0.0
    names = {o.part for f in found.faults for o in f.overstressed}
    assert all("~" not in name for name in names)


EVERY = {
    "resistor": {"value": "1k"},
    "capacitor": {"value": "100n"},
    "inductor": {"value": "1 H", "resistance": "100R"},
    "potentiometer": {"value": "10k"},
    "switch": {},
    "fuse": {"rating": "1 A", "speed": "slow"},
    "diode": {},
    "bridge": {},
    "led": {"forward_voltage": "3 V", "series": 3, "parallel": 2},
    "zener": {"voltage": "12 V"},
    "varistor": {"voltage": "430 V"},
    "triac": {},
    "thyristor": {},
    "diac": {},
    "regulator": {"limit": "20 mA"},
    "converter": {"power": "3 W"},
    "thermistor": {"cold": "10R"},
    "lamp": {"power": "40 W", "voltage": "230 V"},
    "heater": {"power": "500 W", "voltage": "230 V"},
    "transistor": {},
    "mosfet": {},
    "transformer": {"ratio": 20.0},
    "choke": {"value": "10m"},
    "indicator": {"series": "150k"},
    "relay": {"resistance": "10k"},
    "motor": {"resistance": "200R", "inductance": "0.5 H"},
    "thermostat": {},
}
NODES = {
    2: "{0}=a {1}=b",
    3: "{0}=a {1}=b {2}=g",
    4: "{0}=a {1}=b {2}=c {3}=d",
}


def around(kind: str) -> str:
    """That kind of part with resistors from every pin to somewhere, so that it does something."""
    pins = KINDS[kind].pins
    nodes = "a b" if KINDS[kind].listed else NODES[len(pins)].format(*pins)
    text = part("X1", kind, nodes, **EVERY[kind]) + part(
        "R1", "resistor", "live a", value="1k", rating={"power": "50 W"}
    )
    text += part("R2", "resistor", "b neutral", value="1k", rating={"power": "50 W"})
    if len(pins) == 3:
        text += part("R3", "resistor", "g live", value="10k", rating={"power": "10 W"})
    if len(pins) == 4:
        text += part("R3", "resistor", "c d", value="1k") + part("R4", "resistor", "d b", value="10k")
    return text


@pytest.mark.parametrize("kind", sorted(EVERY))
def test_every_kind_of_part_can_fail(kind: str) -> None:
    assert set(EVERY) == set(KINDS)
    found = study(around(kind))
    own = [f for f in found.faults if f.part == "X1"]
    assert len(own) >= 2
    for one in own:
        assert one.outcome.startswith("X1 ")
        assert one.outcome.endswith(".")
        assert 1 <= one.severity <= 4
        assert one.problem is None, one.outcome
        assert (one.input is None) == (one.problem is not None)
    pins = KINDS[kind].pins
    if len(pins) == 3 and kind in ("transistor", "mosfet"):
        assert len(own) == 6  # three pins open, three pairs short


def test_a_fault_that_cannot_be_followed_is_told_and_the_others_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    room = sys.modules["lidoff.studies.faults"]
    solved = room.solve

    def fails_when_shorted(circuit: Circuit, **words: float) -> Solution:
        led = circuit.element("LED1")
        if led is not None and led.kind == "resistor" and led.number("value") < 1.0:
            raise CircuitError("No solution was found for this circuit; look for an absurd value")
        return solved(circuit, **words)

    monkeypatch.setattr(room, "solve", fails_when_shorted)
    found = study(STRIP)
    lost = fault(found, "LED1", "short")
    assert lost.input is None
    assert lost.problem is not None
    assert "could not be followed (No solution was found" in lost.outcome
    assert lost.severity == 3  # not known to be harmless
    assert fault(found, "LED1", "open").input is not None


def test_on_a_bench_supply_faults_are_refused() -> None:
    text = CHARGER + (
        '[[state]]\nname = "bench"\nremove = ["BR1", "R1"]\nsupply = { dc = "300 V", nodes = ["p", "m"] }\n'
    )
    with pytest.raises(StudyError, match="choose another state"):
        faults(circuit_of(text, "bench"))


def test_json_has_the_keys_promised() -> None:
    document = study(PLUGGED + DROPPER).as_json()
    first = document["faults"][0]
    assert set(first) >= {"part", "mode", "input", "light", "overstressed", "fuse", "outcome", "severity"}
    assert set(first["overstressed"][0]) >= {"part", "quantity", "value", "rating", "times"}
    assert set(first["fuse"]) >= {"part", "opens", "time", "credited", "why_not"}


def test_an_item_is_not_needed() -> None:
    item: Item | None = None
    assert len(faults(circuit_of(STRIP), item).faults) == len(study(STRIP).faults)


# Heat -----------------------------------------------------------------------------------------------------------------


def test_junction_on_a_heat_sink() -> None:
    # Examples A.8 N8 (Gupta/Singhal, Ex 2.26 p. 69): junction 125 degC, sink 80 degC, 0.7 + 0.4 K/W: 40.91 W;
    # sink 50 degC: 68.18 W.
    assert junction(40.91, 80.0 + ZERO, (0.7, 0.4)) - ZERO == pytest.approx(125.0, abs=0.01)
    assert junction(68.18, 50.0 + ZERO, (0.7, 0.4)) - ZERO == pytest.approx(125.0, abs=0.01)


def test_a_film_resistor_at_its_rating_in_seventy_degrees_reaches_its_limit() -> None:
    # Derating habits: a film resistor derates linearly from 70 degC to nothing at 155 degC (from memory).
    assert temperature("resistor", 1.0, 70.0 + ZERO) - ZERO == pytest.approx(155.0)
    assert rise_at_rating("resistor") == pytest.approx(85.0)


def found_of(given: dict[str, float] | None) -> Found:
    """A short of C1 of which nothing else is known."""
    return Found(
        part="C1",
        words="shorted",
        given=given,
        light=None,
        sound_power=10.0,
        sound_light=None,
        first_peak=0.0,
        sound_first_peak=0.0,
        hard_peak=0.0,
        sound_hard_peak=0.0,
        over=(),
        fuses=(),
        touched=(),
        live=(),
        is_off=False,
        pins_after=None,
        water=None,
        settled=True,
        problem=None,
    )


def test_severity_of_a_short_depends_on_what_clears_it() -> None:
    assert severity(found_of({"current_rms": 300.0})) == 4
    assert severity(found_of({"current_rms": 0.1})) == 1
    assert severity(found_of(None)) == 3


@pytest.mark.parametrize(("left", "flickers", "rank"), [(20e-6, False, 1), (10e-3, True, 2)])
def test_a_light_that_went_out_does_not_flicker(left: float, flickers: bool, rank: int) -> None:
    """What leaks through an open fuse is no light that somebody sees flicker."""
    light = {"frequency": 50.0, "percent_flicker": 100.0, "mean_current": left}
    found = replace(
        found_of({"current_rms": 0.01, "power": 0.5}),
        part="F1",
        words="blown or missing",
        light=light,
        sound_power=1.0,
        sound_light={"frequency": 100.0, "percent_flicker": 30.0, "mean_current": 20e-3},
    )
    assert found.flickers is flickers
    assert severity(found) == rank
    assert ("flickering at 50 Hz" in outcome(found)) is flickers


@pytest.mark.parametrize(("series", "severe"), [("150k", 1), ("0R", 4)])
def test_a_neon_that_shorts_leaves_its_resistor(series: str, severe: int) -> None:
    """230 V over 150 kohm is 1.5 mA; without a resistor the same fault shorts the mains."""
    text = part("NE1", "indicator", "live neutral", series=series) + part("R1", "resistor", "live neutral", value="1M")
    found = fault(study(text), "NE1", "short")
    assert found.severity == severe
    if severe == 1:
        assert found.input is not None
        assert found.input["power"] == pytest.approx(230.0**2 / 150e3 + 230.0**2 / 1e6, rel=1e-3)
        assert "its series resistor whole" in found.outcome


def test_an_led_that_dies_gives_no_light() -> None:
    """Twenty LEDs left to the mains behind 470 ohm get hundreds of milliamperes for their 20: they last for moments."""
    found = fault(study(DROPPER), "C1", "short")
    worst = next(o for o in found.overstressed if o.part == "LED1" and o.quantity == "current")
    assert worst.times > 5.0
    assert "LED1 dies within moments, and its string is dark" in found.outcome
    assert "the light is" not in found.outcome
    assert found.light is None
    halved = fault(study(DROPPER), "C1", "halved")
    assert "the light is" in halved.outcome
    assert halved.light is not None


def test_a_part_that_burns_ends_what_is_told_of_power() -> None:
    # 10 kohm on 230 V is 5.3 W in a quarter-watt film resistor: it burns through (see `thermal`).
    text = part("R1", "resistor", "live a", value="10k") + part("R2", "resistor", "a neutral", value="100k")
    assert "until it has burnt through the power is" in fault(study(text), "R2", "short").outcome


def test_a_share_that_rounds_to_one_is_just_over() -> None:
    # 230^2 V^2 / 51 kohm is 1.037 W.
    text = part("R1", "resistor", "live a", value="51k", rating={"power": "1 W", "voltage": "350 V"})
    text += part("R2", "resistor", "a neutral", value="51k", rating={"power": "1 W", "voltage": "350 V"})
    assert "just over its rating" in fault(study(text), "R2", "short").outcome


def test_a_dropper_left_at_the_crest_is_not_over_its_ac_rating() -> None:
    """One diode open leaves the dropper's capacitor at some 300 V of DC, under 275 V x sqrt 2 (IEC 60384-14)."""
    bridge = part("BR1", "bridge", "ac1=b ac2=neutral plus=p minus=m", rating={"voltage": "1000 V", "current": "1 A"})
    diodes = (("b", "p"), ("neutral", "p"), ("m", "b"), ("m", "neutral"))
    rating = {"voltage": "1000 V", "current": "1 A"}
    apart = [part(f"D{k}", "diode", f"anode={a} cathode={c}", rating=rating) for k, (a, c) in enumerate(diodes, 1)]
    found = fault(study(DROPPER.replace(bridge, "".join(apart))), "D1", "open")
    assert found.severity == 2
    assert not any(o.part == "C1" for o in found.overstressed)


def test_the_crest_of_an_ac_rating_is_called_so() -> None:
    crest = Overstress(
        part="C1",
        kind="capacitor",
        quantity="voltage",
        value=600.0,
        rating=389.0,
        times=600.0 / 389.0,
        assumed=False,
        temperature=None,
        crest=True,
    )
    found = replace(found_of({"current_rms": 0.1, "power": 10.0}), over=(crest,))
    assert "C1 gets 600 V, 1.5 times the crest of its AC rating" in outcome(found)
