"""Questions in words: what is understood, what is refused, and that both ways of asking come to the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lidoff.hazards import QUESTIONS, RULES
from lidoff.shelf import MEASURES, QueryError, from_options, measure, understand
from lidoff.shelf.asking import GROUPS, has_part, saw, where
from lidoff.shelf.query import HasFinding, HasGroup, HasPart, Is, Saw, Within, Words

BY_NAME = {one.name: one for one in MEASURES}


def over(name: str, low: float) -> Within:
    return Within(measure=BY_NAME[name], low=low)


def under(name: str, high: float) -> Within:
    return Within(measure=BY_NAME[name], high=high)


def strings(*words: str) -> Words:
    return Words(any_of=words)


@pytest.mark.parametrize(
    ("sentence", "conditions"),
    [
        ("strips over 8 W with flicker over 80 %",
         (strings("strips"), over("input.power", 8.0), over("light.percent_flicker", 80.0))),
        ("which strips flicker over 80 % and draw over 8 W",
         (strings("strips"), over("light.percent_flicker", 80.0), over("input.power", 8.0))),
        ("more than 80 percent flicker", (over("light.percent_flicker", 80.0),)),
        ("power factor under 0.6", (under("input.power_factor", 0.6),)),
        ("under 50 mA", (under("input.current_rms", 0.05),)),
        ("distortion over 40 %", (over("input.thd", 0.4),)),
        ("current at least 20 mA", (Within(measure=BY_NAME["input.current_rms"], low=0.02, with_low=True),)),
        ("not over 8 W", (Within(measure=BY_NAME["input.power"], high=8.0, with_high=True),)),
        ("between 5 and 8 W",
         (Within(measure=BY_NAME["input.power"], low=5.0, high=8.0, with_low=True, with_high=True),)),
        ("5–8 W", (Within(measure=BY_NAME["input.power"], low=5.0, high=8.0, with_low=True, with_high=True),)),
        ("pins over 34 V", (over("pins.after_1s", 34.0),)),
        ("rated power over 1.5 kW", (over("rated.power", 1500.0),)),
        ("dead travel over 50 %", (over("knob.dead_travel", 0.5),)),
        ("with a triac", (HasPart(kind="triac", title="triac"),)),
        ("without varistors", (HasPart(kind="varistor", title="varistor", without=True),)),
        ("capacitor droppers", (HasGroup(name="capacitor-dropper"),)),
        ("without a snubber", (HasGroup(name="snubber", without=True),)),
        ("no snubber", (HasGroup(name="snubber", without=True),)),
        ("fuse-without-filler", (HasFinding(rule="fuse-without-filler"),)),
        ("serious risk", (HasFinding(risk="serious"),)),
        ("high risk or more", (HasFinding(risk="high"),)),
        ("severity 3", (HasFinding(severity=3),)),
        ("how many plug fuses had no filler", (Saw(question="plug-fuse-filler", answer="no filler"),)),
        ("plug fuses without filler", (Saw(question="plug-fuse-filler", answer="no filler"),)),
        ("knot only", (Saw(question="cord-grip", answer="knot only"),)),
        ("class II in GB", (Is(field="class", value="II"), Is(field="region", value="GB"))),
        ("strips or lamps", (strings("strips", "lamps"),)),
        ("not strips", (Words(any_of=("strips",), without=True),)),
        ('"moon shell"', (strings("moon shell"),)),
        ("marked 224K", (HasPart(marking="224K"),)),
        ("1N4007", (strings("1N4007"),)),
        ("parts over their rating", (over("stress.times", 1.0),)),
        ("show me all items", ()),
        ("lamp", (strings("lamp"),)),  # a title more often than a filament lamp; "with a lamp" is the part
        ("with a lamp", (HasPart(kind="lamp", title="filament lamp"),)),
    ],
)  # fmt: skip
def test_what_is_understood(sentence: str, conditions: tuple[object, ...]) -> None:
    assert understand(sentence).conditions == conditions


def test_an_answer_is_found_inside_a_sentence() -> None:
    asked = understand("cords held by a knot only")
    assert Saw(question="cord-grip", answer="knot only") in asked.conditions
    assert strings("cords") not in asked.conditions  # the answer's question says it already
    assert "cords" in asked.passed_over


def test_a_part_with_its_value() -> None:
    (one,) = understand("with a 220 nF capacitor").conditions
    assert isinstance(one, HasPart)
    assert (one.kind, one.low, one.high) == ("capacitor", pytest.approx(215.6e-9), pytest.approx(224.4e-9))
    assert understand("with a capacitor of 220 nF").conditions == (one,)
    (about,) = understand("power of about 9 watts").conditions
    assert isinstance(about, Within)
    assert (about.low, about.high) == (pytest.approx(8.1), pytest.approx(9.9))


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        ("over 80 %", "80 % of what?"),
        ("over 230 V", "230 V of what?"),
        ("power over", "compared with nothing"),
        ("flicker over 8 W", "no value of percent flicker"),
        ("power over 8 A", "no value of power"),
        ("between 5 W", "Say both ends"),
        ("lamp or over 8 W", "between two words only"),
        ("or lamp", "between two words only"),
        ("lamp or", "cannot end"),
        ("x" * 501, "say it shorter"),
    ],
)
def test_what_is_refused_says_why(sentence: str, said: str) -> None:
    with pytest.raises(QueryError) as refused:
        understand(sentence)
    assert said in str(refused.value)
    assert len(str(refused.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("sentence", "options"),
    [
        ("over 8 W with flicker over 80 %", {"wheres": ["power>8 W", "percent_flicker>80 %"]}),
        ("flicker at least 30 %", {"wheres": ["light.percent_flicker >= 30"]}),
        ("between 5 and 8 W", {"wheres": ["power=5 W..8 W"]}),
        ("power about 9 W", {"wheres": ["power~9 W"]}),
        ("with a triac", {"parts": ["triac"]}),
        ("with a 220 nF capacitor", {"parts": ["capacitor 220 nF"]}),
        ("capacitor dropper", {"groups": ["capacitor-dropper"]}),
        ("fuse-without-filler", {"findings": ["fuse-without-filler"]}),
        ("no filler", {"seen": ["plug-fuse-filler=no filler"]}),
        ("high risk", {"risk": "high"}),
        ("severity 2", {"severity": 2}),
        ("class II in GB", {"protection_class": "II", "region": "GB"}),
        ("marked 224K", {"markings": ["224K"]}),
    ],
)
def test_options_ask_the_same_as_words(sentence: str, options: dict[str, object]) -> None:
    assert from_options(**options).conditions == understand(sentence).conditions  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: where("powr>8 W"), "no figure that the shelf keeps"),
        (lambda: where("power"), "compares nothing"),
        (lambda: where("power>lots"), "no value of power"),
        (lambda: has_part("capacitr 220n"), "perhaps capacitor"),
        (lambda: has_part("capacitor 5 W"), "no value of a capacitor"),
        (lambda: from_options(groups=["capacitor-droper"]), "perhaps capacitor-dropper"),
        (lambda: from_options(findings=["fuse-without-filer"]), "perhaps fuse-without-filler"),
        (lambda: saw("plug-fuse-filler=sand"), "those are: filler, no filler"),
        (lambda: saw("plug-fuse=no filler"), "has no answer"),
        (lambda: saw("nonsense=x"), "no question of the look list"),
        (lambda: from_options(risk="dire"), "those are low, medium, high, serious"),
        (lambda: from_options(severity=5), "those are 1 to 4"),
        (lambda: from_options(kind="boat"), "those are luminaire"),
    ],
)
def test_options_that_mean_nothing_name_what_does(ask: object, said: str) -> None:
    with pytest.raises(QueryError) as refused:
        ask()  # type: ignore[operator]
    assert said in str(refused.value)


# Every name that a user meets elsewhere can be asked for.


@pytest.mark.parametrize("name", [name for name in GROUPS if "-" in name and not name.startswith("no-")])
def test_every_group_is_understood_by_its_name(name: str) -> None:
    assert understand(name).conditions == (HasGroup(name=name),)
    assert understand(name.replace("-", " ")).conditions == (HasGroup(name=name),)


@pytest.mark.parametrize("rule", [one.id for one in RULES])
def test_every_rule_is_understood_by_its_id(rule: str) -> None:
    assert HasFinding(rule=rule) in understand(rule).conditions


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.id)
def test_every_answer_of_the_look_list_can_be_asked_for(question: object) -> None:
    for answer in question.answers:  # type: ignore[attr-defined]
        told = saw(f"{question.id}={answer}")  # type: ignore[attr-defined]
        assert told.answer == answer
        assert told.said.startswith(told.question)


@pytest.mark.parametrize("one", MEASURES, ids=lambda one: one.name)
def test_every_figure_is_understood_by_its_name_title_and_words(one: object) -> None:
    for said in (one.name, one.title, *one.words):  # type: ignore[attr-defined]
        assert measure(said) is one, said


@given(st.text(max_size=80))
def test_any_text_is_understood_or_refused_in_one_sentence(text: str) -> None:
    try:
        asked = understand(text)
    except QueryError as error:
        said = str(error)
    else:
        said = asked.understood
        assert said.startswith("Understood as: ")
        assert len(asked.conditions) <= len(text)
    assert len(said.splitlines()) <= 1 or any(one in text for one in "\n\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029")


_SPOKEN = (
    "strips|over|8 W|80 %|flicker|with|a|triac|without|no|or|and|between|5|power|factor|under|0.6|high|risk|filler|"
    "capacitor|220 nF|dropper|marked|GB|class|II|–|not|at|least|of|pins"
)
_WORDS = _SPOKEN.split("|")


@given(st.lists(st.sampled_from(_WORDS), max_size=9))
def test_any_order_of_its_own_words_is_understood_or_refused(words: list[str]) -> None:
    try:
        asked = understand(" ".join(words))
    except QueryError as error:
        assert str(error)  # noqa: PT017 - either way is right; neither may be another exception
        return
    assert understand(" ".join(words)) == asked
    assert asked.understood


@given(low=st.floats(0.001, 1e6), which=st.sampled_from(MEASURES))
def test_a_bound_said_back_is_understood_again(low: float, which: object) -> None:
    """What is said back can be asked, and comes to the same to the four digits that are shown."""
    asked = understand(f"{which.words[0]} over {which.written(low)}")  # type: ignore[attr-defined]
    (one,) = asked.conditions
    assert isinstance(one, Within)
    assert one.measure is which
    assert one.low == pytest.approx(low, rel=1e-3)
    assert understand(asked.understood.removeprefix("Understood as: ").removesuffix(".")).conditions == asked.conditions
