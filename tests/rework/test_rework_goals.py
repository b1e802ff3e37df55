"""Goals as people type them: bands, ceilings, floors, classes, and what is said where one cannot be read."""

from __future__ import annotations

import pytest

from lidoff.rework import GOALS, ReworkError, parse_goal, parse_goals


@pytest.mark.parametrize(
    ("text", "low", "high", "subject"),
    [
        ("light=8–13 %", 0.08, 0.13, None),
        ("light=8-13%", 0.08, 0.13, None),
        ("light=8 % to 13 %", 0.08, 0.13, None),
        ("light=0.08..0.13", 0.08, 0.13, None),
        ("light=50 %", 0.45, 0.55, None),
        ("percent_flicker=3.3 %", None, 3.3, None),
        ("percent_flicker=≤ 3.3", None, 3.3, None),
        ("svm=0.4", None, 0.4, None),
        ("ieee_1789=no-effect", None, 1.0, "no effect"),
        ("ieee-1789=low-risk", None, 1.0, "low risk"),
        ("dead_travel=15 %", None, 0.15, None),
        ("glow_off=none", None, 1e-5, None),
        ("power_factor=0.9", 0.9, None, None),
        ("harmonics=class-c", None, 1.0, "c"),
        ("stress=R1 power 60 %", None, 0.6, "R1.power"),
        ("stress=R1 60 %", None, 0.6, "R1"),
        ("inrush=5 A", None, 5.0, None),
        ("inrush=800 mA", None, 0.8, None),
        ("discharge=1 s", None, 1.0, None),
        ("balance=10 %", None, 0.1, None),
        ("interference=20 dB", 20.0, None, "lowered"),
        ("interference=limit", None, 0.0, "limit"),
        ("length=section 20", 20.0, 20.0, "section"),
        ("length=20", 20.0, 20.0, None),
        ("mains=120 V 60 Hz", 120.0, 60.0, None),
        ("mains=230V/50Hz", 230.0, 50.0, None),
    ],
)
def test_a_goal_is_read_as_a_band_and_a_subject(text, low, high, subject):
    goal = parse_goal(text)
    assert (goal.low is None) == (low is None)
    assert (goal.high is None) == (high is None)
    assert goal.low == pytest.approx(low) if low is not None else True
    assert goal.high == pytest.approx(high) if high is not None else True
    assert goal.subject == subject
    assert goal.words


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("light", "has not the form name=value"),
        ("brightness=8 %", "There is no goal"),
        ("light=much", "an example is"),
        ("light=8", '"8" as a share would be 800 %; write "8 %" if meant so'),
        ("light=8–13", "800 %"),
        ("stress=R1 power 60", "6000 %"),
        ("light=13–8 %", "lower to its higher end"),
        ("ieee_1789=harmless", "no-effect"),
        ("harmonics=class-z", "class-a"),
        ("stress=60 %", "a part and a share"),
        ("mains=120", "voltage and frequency"),
        ("mains=12 V 60 Hz", "90 V to 260 V"),
        ("length=many", "number of sections"),
        ("interference=quiet", "decibels"),
    ],
)
def test_a_goal_that_cannot_be_read_says_what_would_be(text, says):
    with pytest.raises(ReworkError, match=says):
        parse_goal(text)


def test_the_same_goal_twice_is_refused_and_none_as_well():
    with pytest.raises(ReworkError, match="twice"):
        parse_goals(["light=8–13 %", "light=20–30 %"])
    with pytest.raises(ReworkError, match="No goal"):
        parse_goals([])
    assert len(parse_goals(["stress=R1 60 %", "stress=R2 60 %"])) == 2


def test_every_goal_reads_its_own_example():
    for kind in GOALS.values():
        goal = parse_goal(kind.example.strip('"'))
        assert goal.name == kind.name
        assert kind.about.endswith(".")


def test_every_goal_reads_its_title_as_pages_show_it():
    for kind in GOALS.values():
        _, _, value = kind.example.strip('"').partition("=")
        for title in (kind.title, kind.title.upper(), f" {kind.title} ", kind.name.replace("_", " ")):
            assert parse_goal(f"{title} = {value}") == parse_goal(kind.example.strip('"'))
        assert "_" not in kind.title
    assert parse_goal("Percent flicker = 3.3 %").words == "percent flicker at most 3.3 %"
    assert parse_goal("light left when off = 1 %").words == "light left when off at most 1 % of full"


def test_slack_is_one_in_the_middle_of_a_band_and_negative_outside():
    band = parse_goal("light=8–12 %")
    assert band.slack(0.10) == pytest.approx(1.0)
    assert band.slack(0.08) == pytest.approx(0.0, abs=1e-12)
    assert band.slack(0.06) == pytest.approx(-1.0)
    ceiling = parse_goal("svm=0.4")
    assert ceiling.slack(0.3) == pytest.approx(0.25)
    assert ceiling.met(0.1, 0.4)
    assert not ceiling.met(0.1, 0.41)
    assert not ceiling.met(None, None)
