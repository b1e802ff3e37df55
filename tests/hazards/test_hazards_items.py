"""Whole items judged: the demo records, empty and half records, the look list, the bench card, the command."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import lidoff
from lidoff.account.hazards import facts_of
from lidoff.hazards import CAUTIONS, RULES, Facts, Pictured, bench_card, judge, look_list, not_looked_at
from lidoff.record import read_text

DEMO = Path(lidoff.__file__).parent / "demo" / "records"
ITEMS = ("globe-lamp", "lamp-charger", "night-light")


@pytest.fixture(scope="module", params=ITEMS)
def demo(request: pytest.FixtureRequest) -> tuple[str, Facts]:
    return request.param, facts_of(lidoff.open(DEMO / request.param))


def test_demo_findings(demo: tuple[str, Facts]) -> None:
    """Each demo item has the findings that its lesson is about, and none of what it has in order."""
    name, facts = demo
    found = judge(facts)
    ids = {one.id for one in found.findings}
    wanted = {
        "globe-lamp": {"cord-grip-missing", "resistor-over-power", "heat-marks", "short-not-cleared"},
        "lamp-charger": {"fuse-without-filler", "plug-fuse-above-practice", "fuse-cannot-break"},
        "night-light": {"opens-without-tool", "marking-missing", "single-fault-bursts"},
    }[name]
    in_order = {
        "globe-lamp": {"pins-stay-charged", "mains-capacitor-without-class", "flicker-below-90-hz"},
        "lamp-charger": {"plug-crossed", "no-fuse-in-line", "pins-stay-charged", "cord-grip-missing", "earth-left-off"},
        "night-light": {
            "dropper-without-bleeder",
            "pins-stay-charged",
            "mains-capacitor-without-class",
            "single-fault-overheats",
        },
    }[name]
    assert wanted <= ids
    assert not in_order & ids
    levels = [one.risk.level for one in found.findings]
    order = ["serious", "high", "medium", "low"]
    assert levels == sorted(levels, key=order.index)
    assert found.level == levels[0]


def test_every_sighting_of_the_demo_answers_a_question(demo: tuple[str, Facts]) -> None:
    assert judge(demo[1]).notes == ()


def test_json_has_the_promised_keys(demo: tuple[str, Facts]) -> None:
    """The document has the contract's keys, is JSON, carries the cautions, and never calls anything safe."""
    document = json.loads(json.dumps(judge(demo[1]).as_json(), allow_nan=False, default=dict))
    assert {"findings", "undecided", "not_looked_at", "cautions"} <= set(document)
    for one in document["findings"]:
        assert {
            "id", "title", "severity", "steps", "probability", "risk", "confidence", "evidence", "because", "basis",
            "action", "caution",
        } <= set(one)  # fmt: skip
        assert {"document", "edition", "clause", "verified"} <= set(one["basis"][0])
        assert {"what", "probability", "from"} <= set(one["steps"][0])
        assert one["risk"] in ("serious", "high", "medium", "low")
    for one in document["undecided"]:
        assert one["needs"]
    assert len(document["cautions"]) == len(CAUTIONS)
    words = " ".join(CAUTIONS).lower()
    for must in ("isolate", "discharge", "residual-current", "licence", "local"):
        assert must in words
    own = {key: value for key, value in document.items() if key not in ("verdict", "notes")}
    assert not re.search(r"\bsafe(ly)?\b", json.dumps(own), re.IGNORECASE)


def test_mapping_of_the_package(demo: tuple[str, Facts]) -> None:
    """`lidoff.hazards` gives the mapping that the command prints, with the card."""
    name, facts = demo
    document = lidoff.hazards(lidoff.open(DEMO / name))
    assert document["findings"] == judge(facts).as_json()["findings"]
    assert document["card"]["title"] == facts.item.title


def test_bench_card(demo: tuple[str, Facts]) -> None:
    """The card says what is live and what stays charged, before anything else."""
    name, facts = demo
    card = bench_card(facts)
    assert card.known
    assert "live" in card.live
    words = " ".join(card.sentences)
    assert "take all of it as live" in words
    if name == "lamp-charger":
        assert card.charged[0].what == "C2"
        assert card.wait is None
        assert "discharge it through a resistor" in words
    if name == "night-light":
        assert card.wait == pytest.approx(1e6 * 0.22e-6 * 2.24, rel=0.02)  # RC times ln(320/34), to a volt or so


def test_card_says_what_it_is_about(demo: tuple[str, Facts]) -> None:
    """Another knob position may leave more; a switch is named only where there is one; microseconds are no wait."""
    name, facts = demo
    text = " ".join(bench_card(facts).sentences)
    assert ("In another state" in text or "in another state" in text) == (name == "globe-lamp")
    assert "the switch may be in the neutral" not in text
    assert " ns" not in text
    assert " µs" not in text


def test_card_trusts_no_picture(demo: tuple[str, Facts]) -> None:
    facts = replace(demo[1], pictured=(Pictured(first="R1.1", second="P7"),))
    assert bench_card(facts).sentences[0].startswith("Some joins are known from a picture alone: take every part")


def test_card_without_circuit_takes_all_as_live() -> None:
    """Where nothing is recorded everything is taken as live and charged."""
    card = bench_card(Facts(item=read_text("lidoff = 1\n", "x.toml")))
    assert not card.known
    assert "take every part of it as live" in card.sentences[0]


def test_empty_record_has_no_findings_and_much_not_looked_at() -> None:
    """Nothing recorded: nothing found, everything not looked at, and no word of praise."""
    found = judge(facts_of(read_text("lidoff = 1\n", "x.toml")))
    assert not found.findings
    assert found.level is None
    assert len(found.not_looked_at) > 15
    assert "no rule found anything" in found.sentence
    assert found.skipped


def test_answers_count_word_for_word() -> None:
    """An answer of the look list counts however it is spelt; other words are kept as a note."""
    item = read_text(
        'lidoff = 1\nsighting = [{ about = "Cord grip", seen = "Knot only" }, '
        '{ about = "cord", seen = "rather long" }, { about = "smell", seen = "sweet" }]\n',
        "x.toml",
    )
    found = judge(Facts(item=item))
    assert [one.id for one in found.findings] == ["cord-grip-missing"]
    assert any("cord-grip" in line for line in found.looked_at)
    assert any(line.startswith("cord: rather long") for line in found.notes)
    assert any(line.startswith("smell: sweet") for line in found.notes)
    assert "The cord (cord)" in found.not_looked_at


def test_latest_sighting_counts() -> None:
    """A second look replaces the first."""
    twice = '{ about = "cord-grip", seen = "none" }, { about = "cord-grip", seen = "clamped" }'
    assert not judge(Facts(item=read_text(f"lidoff = 1\nsighting = [{twice}]\n", "x.toml"))).findings


def test_look_list_order_and_reach() -> None:
    """Outside first, opening last; plug questions by region; nothing of a cord where there is none."""
    british = read_text('lidoff = 1\nitem = { region = "GB", class = "I" }\n', "x.toml")
    phases = [look.phase for look in look_list(british)]
    assert phases == sorted(phases, key=["outside", "closed", "plug", "open"].index)
    ids = {look.question.id for look in look_list(british)}
    assert {"plug-fuse-filler", "earth-bond", "polarity"} <= ids
    assert "blades" not in ids
    european = read_text(
        'lidoff = 1\nitem = { region = "EU", class = "II" }\nsighting = [{ about = "cord", seen = "no cord" }]\n',
        "x.toml",
    )
    ids = {look.question.id for look in look_list(european)}
    assert not {"plug-fuse-filler", "earth-bond", "cord-grip", "conductor", "core-metal"} & ids
    assert not any("Cord" in line for line in not_looked_at(european))


def test_each_rule_keeps_quiet_on_an_empty_record() -> None:
    """No rule fires, or asks, where nothing at all is recorded."""
    facts = Facts(item=read_text("lidoff = 1\n", "x.toml"))
    assert [(one.id, one.judge(facts)) for one in RULES if one.judge(facts) != ([], [])] == []


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    from lidoff.cli.run import main

    try:
        status: Any = main(list(words))
    except SystemExit as left:
        status = left.code
    out = capsys.readouterr()
    return int(status or 0), out.out, out.err


def test_command_prints_json(capsys: pytest.CaptureFixture[str]) -> None:
    """One document, the chosen step in it."""
    status, out, _ = run(capsys, "hazards", str(DEMO / "night-light"), "--step", "opens-without-tool.1=0.5", "--json")
    assert status == 0
    document = json.loads(out)
    opens = next(one for one in document["findings"] if one["id"] == "opens-without-tool")
    assert opens["steps"][0]["from"] == "chosen"
    assert document["warnings"] == []


def test_command_for_people(capsys: pytest.CaptureFixture[str]) -> None:
    """The text says what, why, basis, what to do, and the cautions; card and look list stand alone."""
    status, out, _ = run(capsys, "hazards", str(DEMO / "night-light"))
    assert status == 0
    for words in ("Live parts behind a cover", "Basis:", "What to do:", "Not looked at", "Isolate first"):
        assert words in out
    status, out, _ = run(capsys, "hazards", str(DEMO / "night-light"), "--card")
    assert status == 0
    assert "Bench card" in out
    status, out, _ = run(capsys, "hazards", str(DEMO / "night-light"), "--look")
    assert status == 0
    assert out.index("Outside, unplugged") < out.index("Lid off")


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ("cord-grip.1=0.5", "did you mean cord-grip-missing"),
        ("cord-grip-missing.9=0.5", "has steps 1 to 3"),
        ("cord-grip-missing.1=often", "give a probability between 0 and 1"),
        ("cord-grip-missing.1=2", "give a probability between 0 and 1"),
    ],
)
def test_command_refuses_a_wrong_step(capsys: pytest.CaptureFixture[str], step: str, says: str) -> None:
    """A step that is not there, or no probability, is wrong usage, in one sentence."""
    status, out, err = run(capsys, "hazards", str(DEMO / "night-light"), "--step", step)
    assert (status, out) == (2, "")
    assert says in err
