"""Ranking, measuring, settling: what a practitioner would conclude."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lidoff.markings import UNIT_OF_KIND, MarkingError, decode, value_for

_COLOUR_WORDS = ("black", "brown", "red", "gold", "silver", "?", "br|re", "wide", "gap", "none", "b", "g", "bl", "gr")


def _kinds(marking: str, **asked: str) -> list[str]:
    return [candidate.kind for candidate in decode(marking, **asked).candidates]  # type: ignore[arg-type]


def test_three_bands_alone_are_not_settled() -> None:
    """Red, black, red is a 2 kilohm resistor at 20 % (IEC 60062) or a fuse of 2 A (IEC 60127-1): look further."""
    decoded = decode("red black red")
    assert (decoded.candidates[0].kind, decoded.candidates[0].value, decoded.candidates[0].tolerance) == (
        "resistor",
        2000.0,
        0.2,
    )
    assert not decoded.settled
    assert decoded.taken is None
    assert any("fourth, wide band" in sentence for sentence in decoded.would_settle)
    assert any("one leg lifted" in sentence for sentence in decoded.would_settle)


def test_a_bench_reading_turns_the_list_round() -> None:
    """The same bands under 0.1 ohm: rather a fuse, a link or a small choke than a resistor."""
    decoded = decode("red black red", measured="0.1 R")
    kinds = [candidate.kind for candidate in decoded.candidates]
    assert kinds[0] == "fuse"
    assert decoded.candidates[0].value == 2.0
    assert kinds.index("resistor") > max(kinds.index(kind) for kind in ("fuse", "link", "inductor"))
    assert not decoded.settled
    assert "a 20 000th of the marked value" in decoded.candidates[kinds.index("resistor")].why


def test_an_off_list_fuse_is_lowered() -> None:
    """2.4 A is on no list of rated currents: a link is likelier, and nothing is settled."""
    on_list = decode("red black red", measured="0.1 R")
    off_list = decode("red yellow red", measured="0.1 R")
    fuse = next(candidate for candidate in off_list.candidates if candidate.kind == "fuse")
    assert fuse.value == 2.4
    assert fuse.score < on_list.candidates[0].score / 2
    assert "not on the list of rated currents" in fuse.why
    assert not off_list.settled


def test_a_missing_wide_band_lowers_a_fuse() -> None:
    """The same current with its fourth band is taken at once."""
    whole = decode("red black red wide blue")
    assert whole.settled
    assert (whole.candidates[0].kind, whole.candidates[0].value) == ("fuse", 2.0)
    assert whole.candidates[0].score > 2 * decode("red black red", kind="fuse").candidates[0].score


def test_a_doubtful_colour_keeps_it_open_until_measured() -> None:
    """What was seen, what it can mean and what was taken are kept apart."""
    decoded = decode("brown|red black red gold")
    assert decoded.seen == (("brown", "red"), ("black",), ("red",), ("gold",))
    assert [candidate.value for candidate in decoded.candidates[:2]] == [1000.0, 2000.0]
    assert not decoded.settled
    assert "band 1" in decoded.would_settle[0]
    measured = decode("brown|red black red gold", measured="1.98k")
    assert measured.settled
    assert measured.taken is not None
    assert measured.taken.value == 2000.0
    assert "band 1 taken as red" in measured.taken.why


def test_a_mistaken_colour_is_proposed_but_never_taken() -> None:
    """Brown read for red: the measurement fits the neighbour, and the eye has to confirm it."""
    decoded = decode("brown black orange gold", measured="20k")
    assert decoded.candidates[0].value == 20_000.0
    assert "if band 1 is red and not brown" in decoded.candidates[0].why
    assert not decoded.settled
    assert "in daylight" in decoded.would_settle[0]


def test_worn_bands_list_every_value_that_is_made() -> None:
    """A worn second band: the E24 values, and none that is not made ahead of them."""
    values = [c.value for c in decode("brown ? red gold").candidates if c.kind == "resistor" and c.score > 0.5]
    assert sorted(values) == [1000.0, 1100.0, 1200.0, 1300.0, 1500.0, 1600.0, 1800.0]


def test_too_little_seen_is_said() -> None:
    """Four unknown bands are not a list of thousands."""
    decoded = decode("? ? ? ?")
    assert decoded.candidates == ()
    assert "Too many bands" in decoded.would_settle[0]


def test_a_gap_tells_the_end() -> None:
    """Five bands that read both ways: the band that stands off is the tolerance."""
    plain = decode("brown black black red brown")
    assert not plain.settled
    assert {c.value for c in plain.candidates if c.kind == "resistor"} == {10_000.0, 120.0}
    assert decode("brown black black red gap brown").settled
    turned = decode("brown gap black black red brown")
    assert turned.candidates[0].value == 120.0


@pytest.mark.parametrize(
    ("marking", "measured", "kind", "value"),
    [
        ("103", "9.9 nF", "capacitor", 1e-8),
        ("103", "10.1k", "resistor", 1e4),
        ("103", "11 mH", "inductor", 1e-2),
        ("470K", "470 k", "resistor", 4.7e5),
        ("470K", "46 pF", "capacitor", 4.7e-11),
        ("4R7", "4.8 ohm", "resistor", 4.7),
        ("4R7", "4.9 uH", "inductor", 4.7e-6),
        ("5V1", "5.0 V", "zener", 5.1),
    ],
)
def test_measuring_settles_what_digits_leave_open(marking: str, measured: str, kind: str, value: float) -> None:
    """Ohms, farads, henries and volts each pick their own kind."""
    decoded = decode(marking, measured=measured)
    assert decoded.settled
    assert (decoded.candidates[0].kind, decoded.candidates[0].value) == (kind, pytest.approx(value))


def test_three_digits_without_a_kind_give_both() -> None:
    """103 is 10 nF or 10 kilohms; the list says how to tell."""
    decoded = decode("103")
    assert _kinds("103")[:2] == ["capacitor", "resistor"]
    assert not decoded.settled
    assert any("capacitor 10 nF, resistor 10 kΩ" in sentence for sentence in decoded.would_settle)


def test_a_kind_narrows_and_says_when_there_is_none() -> None:
    """Only that kind is listed; where nothing fits, the other readings are named."""
    assert set(_kinds("103", kind="resistor")) == {"resistor"}
    none = decode("T2AL250V", kind="resistor")
    assert none.candidates == ()
    assert none.settled is False
    assert "fuse: 2 A, slow (T)" in none.would_settle[0]


@pytest.mark.parametrize("marking", ["xyzzy", "gold gold gold", "IP99", "H09VV-F", "000000000", "brown black"])
def test_an_impossible_marking_has_no_candidates(marking: str) -> None:
    """Nothing is invented."""
    decoded = decode(marking)
    assert decoded.candidates == ()
    assert not decoded.settled


def test_place_and_body_lower_what_does_not_fit() -> None:
    """A reference printed on the board and the body of the part weigh in."""
    assert decode("103", ref="C4").taken is not None
    assert decode("103", ref="C4").candidates[0].kind == "capacitor"
    assert decode("103", body="chip").candidates[0].kind == "resistor"
    assert decode("103", body="disc").candidates[0].kind == "capacitor"
    assert decode("red black red", ref="F1").candidates[0].kind == "fuse"
    assert decode("red black red", ref="R1").candidates[0].kind == "resistor"
    with pytest.raises(MarkingError, match="not a body known here"):
        decode("103", body="cube")


def test_a_worn_capacitor_is_still_itself() -> None:
    """A film capacitor that has lost capacitance keeps its marked value, with the reason said."""
    best = decode("0.1uF K X2 275V~", measured="62 nF").candidates[0]
    assert best.value == pytest.approx(1e-7)
    assert "lose capacitance" in best.why


def test_nothing_fits_is_said() -> None:
    """A varistor that measures as a wire has failed, or is none."""
    decoded = decode("10D471K", measured="0.1 R")
    assert not decoded.settled
    assert "may have failed" in decoded.would_settle[0]


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"marking": ""}, "empty"),
        ({"marking": "   "}, "empty"),
        ({"marking": "x" * 500}, "500 characters"),
        ({"marking": "104", "kind": "capacitator"}, 'did you mean "capacitor"'),
        ({"marking": "104", "measured": "12"}, "has no unit"),
        ({"marking": "104", "measured": "3 bananas"}, "not in ohms"),
        ({"marking": "104", "measured": "-3 ohm"}, "negative"),
        ({"marking": "104", "measured": 3.0, "measured_unit": "W"}, "cannot tell markings apart"),
        ({"marking": "104", "measured": 3.0}, "has no unit"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_one_sentence(asked: dict[str, object], message: str) -> None:
    """Each refusal says what to write instead."""
    with pytest.raises(MarkingError, match=message) as caught:
        decode(**asked)  # type: ignore[arg-type]
    assert "\n" not in str(caught.value)


def test_a_number_takes_the_unit_of_the_kind() -> None:
    """Asked about a resistor, a bare measurement is in ohms."""
    assert decode("brown black red gold", kind="resistor", measured="990").settled
    assert decode("brown black red gold", kind="resistor", measured=990.0).settled
    assert decode("104", measured=98e-9, measured_unit="F").candidates[0].kind == "capacitor"


@pytest.mark.parametrize(
    ("kind", "marking", "value", "tolerance"),
    [
        ("resistor", "brown green red gold", 1500.0, 0.05),
        ("resistor", "104", 1e5, 0.05),
        ("capacitor", "104K", 1e-7, 0.1),
        ("inductor", "101K", 1e-4, 0.1),
        ("choke", "103", 1e-2, None),
        ("fuse", "T2AL250V", 2.0, None),
        ("varistor", "471K", 470.0, 0.1),
        ("thermistor", "5D-9", 5.0, 0.2),
        ("zener", "BZX55C5V1", 5.1, 0.05),
        ("diode", "1N4007", 1000.0, None),
        ("potentiometer", "B500K", 5e5, 0.2),
        ("potentiometer", "504", 5e5, None),
    ],
)
def test_a_record_gets_its_value_from_the_marking(
    kind: str, marking: str, value: float, tolerance: float | None
) -> None:
    """The best candidate of the part's own kind."""
    candidate = value_for(kind, marking)
    if marking == "504":
        # 50 x 10^4 is no E-series value, but tracks of 500 kilohms are usual.
        assert candidate is not None
        assert candidate.value == value
        return
    assert candidate is not None
    assert (candidate.kind, candidate.value, candidate.tolerance) == (kind, pytest.approx(value), tolerance)


def test_a_marking_of_another_kind_gives_no_value() -> None:
    """Better none than a wrong one."""
    assert value_for("resistor", "T2AL250V") is None
    assert value_for("cord", "H05VV-F") is None
    assert value_for("converter", "104") is None


def test_json_has_the_promised_keys() -> None:
    """The mapping of `decode --json`, and nothing that JSON cannot hold."""
    mapping = decode("red black red").as_json()
    assert list(mapping) == ["marking", "candidates", "settled", "would_settle"]
    assert mapping["marking"] == "red black red"
    for candidate in mapping["candidates"]:
        assert list(candidate) == ["kind", "value", "unit", "tolerance", "text", "why", "basis", "more"]
    first = mapping["candidates"][0]
    assert (first["text"], first["unit"], first["basis"]) == ("2 kΩ ±20 %", "ohm", "IEC 60062")
    json.loads(json.dumps(mapping, allow_nan=False))


def test_candidates_come_best_first_and_only_once() -> None:
    """Scores fall, and no two candidates say the same."""
    for marking in ("471K", "brown|red black red gold", "1N60", "2W10", "? black red gold"):
        candidates = decode(marking).candidates
        scores = [candidate.score for candidate in candidates]
        assert scores == sorted(scores, reverse=True)
        assert all(0 < score <= 1 for score in scores)
        said = [(c.kind, c.value, c.tolerance, c.text) for c in candidates]
        assert len(said) == len(set(said))
        assert all(candidate.why and candidate.basis and candidate.text for candidate in candidates)


@settings(deadline=None, max_examples=300)
@given(
    text=st.one_of(
        st.text(max_size=40),
        st.text(alphabet="0123456789RKMJnupV.ALHTF-/~ XYBDCGZ", min_size=1, max_size=16),
        st.lists(
            st.sampled_from(
                [
                    "black",
                    "brown",
                    "red",
                    "orange",
                    "gold",
                    "silver",
                    "?",
                    "br|re",
                    "wide",
                    "gap",
                    "none",
                    "b",
                    "g",
                    "bl",
                    "gr",
                ]
            ),
            min_size=1,
            max_size=7,
        ).map(" ".join),
    ),
    kind=st.one_of(st.none(), st.sampled_from(sorted(UNIT_OF_KIND))),
    measured=st.sampled_from([None, "0.1 ohm", "12 nF", "5 V"]),
)
def test_any_text_is_answered_or_refused(text: str, kind: str | None, measured: str | None) -> None:
    """Whatever stands on a part, the answer is a list, and JSON can hold it."""
    try:
        decoded = decode(text, kind=kind, measured=measured)
    except MarkingError:
        assert not text.strip() or len(text) > 100
        return
    json.dumps(decoded.as_json(), allow_nan=False)
    assert all(candidate.kind == kind for candidate in decoded.candidates if kind)
    assert decoded.settled or decoded.would_settle or not decoded.candidates
