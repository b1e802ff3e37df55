"""Fuses in single faults: when they open by their standards, and what takes the credit from them."""

from __future__ import annotations

import pytest
from tests.studies.circuits import CHARGER, PLUGGED, STRIP, fault, part, study

FUSED = part("F1", "fuse", "live f", rating="1 A", speed="slow", marking="T1AL250V") + STRIP.replace('"live"', '"f"')


def test_a_fuse_opens_in_the_time_its_standard_allows() -> None:
    found = fault(study(FUSED), "R3", "short")
    assert found.fuse is not None
    # IEC 60127-2 sheet 3: ten times the rated current opens within 0.3 s; here it is more.
    assert (found.fuse.part, found.fuse.opens, found.fuse.time) == ("F1", True, pytest.approx(0.3))
    assert found.fuse.prospective == pytest.approx(230.0 / 0.4)
    # Marked L: it is made to break 35 A, and over 100 A flow.
    assert found.fuse.current > 100.0
    assert not found.fuse.credited
    assert found.fuse.why_not is not None
    assert "35 A it is made to break" in found.fuse.why_not
    assert found.severity == 4


def test_a_fuse_made_for_the_current_is_credited() -> None:
    found = fault(study(FUSED.replace("T1AL250V", "T1AH250V")), "R3", "short")
    assert found.fuse is not None
    assert found.fuse.credited
    assert found.fuse.why_not is None
    assert found.severity < 3
    assert "F1 opens within 0.3 s" in found.outcome
    assert "then it is dark" in found.outcome


def test_a_fuse_that_need_not_open_is_said_to_stay_whole() -> None:
    found = fault(study(FUSED), "LED1", "short")
    assert found.fuse is not None
    assert found.fuse.opens is False
    assert not found.fuse.credited
    assert found.severity == 3  # 35 W in a resistor for 7 W, and nothing stops it
    assert "F1 stays whole" in found.outcome


def test_the_plug_fuse_counts() -> None:
    found = fault(study(PLUGGED + STRIP), "BR1", "short ac1-ac2")
    assert found.fuse is not None
    assert found.fuse.part == "plug fuse"
    # BS 1362 zones as quoted: 3 A opens within 0.03 s at 30 A; at hundreds of amperes no later.
    assert found.fuse.time == pytest.approx(0.03)
    assert found.fuse.credited
    assert found.severity < 4
    bare = fault(study(STRIP), "BR1", "short ac1-ac2")
    assert bare.fuse is None
    assert bare.severity == 4
    assert "only the fuse or breaker of the house" in bare.outcome


@pytest.mark.parametrize(
    ("about", "seen", "why_not"),
    [
        ("fuse-filler", "no filler", "no filler seen"),
        ("plug-fuse", "unmarked", "unmarked"),
        ("fuse-marking", "maker not on the list", "not on the approved list"),
        ("plug fuse", "replaced by foil", "bridged"),
        ("plug-fuse-mark", "no mark", "unmarked"),
        ("plug-fuse", "none", "none there"),
    ],
)
def test_a_fuse_that_was_found_wanting_is_never_credited(about: str, seen: str, why_not: str) -> None:
    sighting = f'[[sighting]]\nabout = "{about}"\nseen = "{seen}"\n'
    found = study(PLUGGED + STRIP + sighting)
    for one in found.faults:
        if one.fuse is not None:
            assert not one.fuse.credited
            if one.fuse.opens:
                assert one.fuse.why_not == why_not
    short = fault(found, "BR1", "short ac1-ac2")
    assert short.severity == 4
    assert f"not to be relied on: {why_not}" in short.outcome


@pytest.mark.parametrize(
    ("about", "seen", "note"),
    [("cord-grip", "unmarked, empty", ""), ("plug-fuse-filler", "filler", "not empty"), ("plug-fuse", "there", "")],
)
def test_a_sighting_of_something_else_takes_no_credit_away(about: str, seen: str, note: str) -> None:
    sighting = f'[[sighting]]\nabout = "{about}"\nseen = "{seen}"\nnote = "{note}"\n'
    found = fault(study(PLUGGED + STRIP + sighting), "BR1", "short ac1-ac2")
    assert found.fuse is not None
    assert found.fuse.credited


def test_a_plug_fuse_of_a_rating_that_is_not_made_is_not_credited() -> None:
    found = fault(study(PLUGGED.replace('"3 A"', '"4 A"') + STRIP), "BR1", "short ac1-ac2")
    assert found.fuse is not None
    assert found.fuse.opens
    assert found.fuse.why_not == "a rating that plug fuses are not made in"


def test_of_two_fuses_neither_of_which_can_be_relied_on_both_are_told() -> None:
    sighting = '[[sighting]]\nabout = "plug-fuse"\nseen = "no filler"\n'
    found = fault(study(PLUGGED + FUSED + sighting), "BR1", "short ac1-ac2")
    assert [f.part for f in found.fuses] == ["plug fuse", "F1"]
    assert not any(f.credited for f in found.fuses)
    assert "no filler seen, nor is F1: " in found.outcome
    # A plug fuse with nothing against it acts first, and F1's low breaking capacity does not matter.
    sound = fault(study(PLUGGED + FUSED), "BR1", "short ac1-ac2")
    assert sound.fuses[0].part == "plug fuse"
    assert sound.fuses[0].credited
    assert sound.severity < 4


def test_a_bridged_fuse_is_told_though_nothing_changes() -> None:
    found = fault(study(FUSED), "F1", "short")
    assert found.severity == 2
    assert "it protects nothing any more" in found.outcome


def test_a_fuse_of_unknown_rating_is_not_credited() -> None:
    text = part("F1", "fuse", "live f") + STRIP.replace('"live"', '"f"')
    found = fault(study(text), "BR1", "short ac1-ac2")
    assert found.fuse is not None
    assert (found.fuse.opens, found.fuse.credited) == (None, False)
    assert found.fuse.why_not == "its rated current is not known"
    assert found.severity == 4


def test_a_surge_at_switch_on_may_open_the_fuse() -> None:
    text = part("F1", "fuse", "live f", rating="0.2 A", speed="quick") + CHARGER.replace('"live"', '"f"')
    every = study(text)
    assert any(sentence.startswith("How hard the mains is: ") for sentence in every.undecided)
    found = fault(every, "R1", "short")
    assert found.fuse is not None
    assert found.fuse.surge is not None
    # C V^2 / (2 R) with half an ohm is some 0.5 A2s; sheet 2 promises 0.0064 A2s for 0.2 A.
    assert found.fuse.surge > 50.0
    assert "may open at switch-on" in found.outcome
    # 325 V on 0.4 ohm, 0.8 mH and 4.7 uF: 325 V / 13 ohm, less what the ohms take, against half of it behind R1.
    assert "flow at switch-on instead of 15 A" in found.outcome
    assert found.severity == 2
