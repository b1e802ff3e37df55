"""Where along a knob a dimmer is loudest: against the step of a resistor cut at its crest."""

from __future__ import annotations

import math

import pytest
from tests.studies.circuits import DIMMED_LAMP, STRIP, circuit_of, dimmer, part

from lidoff.account.page import loudest
from lidoff.cycle import solve
from lidoff.figures import Interference
from lidoff.studies import disturbance


def here(text: str) -> Interference:
    found = disturbance(solve(circuit_of(text)))
    assert found is not None
    return found


def test_a_lamp_is_loudest_where_it_is_cut_near_the_crest() -> None:
    """880 ohm on 230 V: no step can be over 230 V sqrt2/880 ohm = 370 mA, and somewhere along the knob it is near."""
    found = here(DIMMED_LAMP)
    text = loudest(circuit_of(DIMMED_LAMP), ["VR1"], found)
    assert text.startswith("It is loudest with VR1 at ")
    said = float(text.split("steps of ")[1].split(" mA")[0]) / 1e3
    crest = 230.0 * math.sqrt(2.0) / 880.45
    assert 0.9 * crest < said <= 1.01 * crest
    more = float(text.split("some ")[1].split(" dB")[0])
    assert more == pytest.approx(20.0 * math.log10(said / found.step), abs=0.6)


def test_at_its_loudest_it_says_so() -> None:
    text = dimmer("330k", "150n", position=0.33) + part(
        "R9", "resistor", "load neutral", value="880R", rating={"power": "100 W"}
    )
    found = here(text)
    assert loudest(circuit_of(text), ["VR1"], found) == (
        "Along the whole knob VR1 it is about as loud as this or quieter."
    )


def test_where_it_does_not_fire_here_it_may_elsewhere() -> None:
    text = dimmer("2M", "150n", position=1.0) + part(
        "R9", "resistor", "load neutral", value="880R", rating={"power": "100 W"}
    )
    found = here(text)
    assert found.step == 0.0
    assert "Elsewhere along the knob the current does step" in loudest(circuit_of(text), ["VR1"], found)


def test_every_knob_is_listened_to() -> None:
    """A second knob in the timing shifts the firing to the crest where the first one stands too low to get there."""
    text = (
        dimmer("10k", "150n", position=0.0).replace('"t"', '"u"', 1)
        + part("VR2", "potentiometer", "a=u wiper=t", value="300k", position=0.0)
        + part("R9", "resistor", "load neutral", value="880R", rating={"power": "100 W"})
    )
    circuit, found = circuit_of(text), here(text)
    alone = loudest(circuit, ["VR1"], found)
    both = loudest(circuit, ["VR1", "VR2"], found)
    assert "VR2" not in alone
    assert both.startswith("It is loudest with VR2 at ")
    crest = 230.0 * math.sqrt(2.0) / 880.45
    assert 0.9 * crest < float(both.split("steps of ")[1].split(" mA")[0]) / 1e3 <= 1.01 * crest


def test_several_knobs_are_named_where_none_is_louder() -> None:
    text = (
        dimmer("330k", "150n", position=0.33)
        + part("VR2", "potentiometer", "a=live wiper=neutral", value="1M", position=0.5)
        + part("R9", "resistor", "load neutral", value="880R", rating={"power": "100 W"})
    )
    assert loudest(circuit_of(text), ["VR1", "VR2"], here(text)) == (
        "Along the whole of the knobs VR1 and VR2, each by itself, it is about as loud as this or quieter."
    )


def test_without_a_switch_there_is_nothing_to_say() -> None:
    text = STRIP + part("VR1", "potentiometer", "a=p wiper=m", value="1M", position=0.5)
    assert loudest(circuit_of(text), ["VR1"], here(text)) == ""
