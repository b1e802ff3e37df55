"""The account of how an item works: every number's source holds, every part is spoken of; the dimmed strip."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, reject, settings
from tests.circuit.group_strategies import grown, permuted, renamed, turned

import lidoff
from lidoff.circuit import Circuit, CircuitError, build, with_values
from lidoff.circuit.connect import check_connections
from lidoff.circuit.groups import FAMILIES, Groups, recognise
from lidoff.cycle import Solution, solve
from lidoff.record import read_text
from lidoff.studies import turn, vary
from lidoff.studies.explain import Account, Cited, Sentence, explain, script
from lidoff.studies.telling.citing import uncited_numbers
from lidoff.studies.telling.leak import leak_shares
from lidoff.studies.telling.registry import TELLERS

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
RECORDS = sorted([*(REFERENCE / "groups").glob("*.toml"), *(REFERENCE / "cycle").glob("*.toml")])
RECORDS = [path for path in RECORDS if path.name != "expected.toml"]
DIMMED = REFERENCE / "groups" / "shelf_light_on_dimmer.toml"


@cache
def worked(path: Path) -> tuple[Circuit, Groups, Solution, Account]:
    circuit = build(lidoff.open(path))
    groups, solution = recognise(circuit), solve(circuit)
    return circuit, groups, solution, explain(circuit, groups, solution)


def every_record(function: Any) -> Any:
    return pytest.mark.parametrize("path", RECORDS, ids=lambda path: path.stem)(function)


def looked_up(cited: Cited, circuit: Circuit, groups: Groups, figures: dict[str, Any]) -> float | None:
    """The number at the place that a citation names; None for places that only the study itself knows."""
    where, _, what = cited.source.partition(": ")
    if where == "figures":
        if sums := re.fullmatch(r"sum of power of (.+?)( over input\.power)?", what):
            refs = re.split(r", | and ", sums[1])
            total = sum(abs(figures["parts"][ref]["power"]) for ref in refs)
            return total / figures["input"]["power"] if sums[2] else total
        if what.endswith(" over input.power"):
            ref = what.removeprefix("parts.").partition(".power")[0]
            return float(figures["parts"][ref]["power"] / figures["input"]["power"])
        value: Any = figures
        for word in what.split("."):
            value = value[word]
        return abs(float(value)) / (100.0 if what == "light.percent_flicker" else 1.0)
    if where == "group":
        group_id, _, name = what.rpartition(": ")
        group = groups.get(group_id)
        assert group is not None
        return group.figures[name][0]
    if where == "record":
        owner, _, key = what.removesuffix(" (taken)").rpartition(".")
        if owner == "supply":
            return float(getattr(circuit.supply, key))
        element = circuit.element(owner)
        assert element is not None
        return element.number(key)
    return None


@every_record
def test_every_number_is_where_its_source_says(path: Path) -> None:
    """Each figure of each sentence is read again from the place it names, and is the same number."""
    circuit, groups, solution, account = worked(path)
    figures = solution.figures()
    known = 0
    for sentence in account.sentences:
        for name, cited in sentence.figures.items():
            value = looked_up(cited, circuit, groups, figures)
            if value is not None:
                known += 1
                shown = abs(cited.value) if cited.source.startswith("figures") else cited.value
                assert shown == pytest.approx(value, rel=1e-9), (sentence.text, name)
            assert cited.shown in sentence.text or cited.spoken in sentence.spoken, (sentence.text, name)
    assert known > 5


@every_record
def test_every_part_is_spoken_of_or_said_to_be_unknown(path: Path) -> None:
    """No part of the circuit is passed over in silence, and every group has its paragraph, in order."""
    circuit, groups, _, account = worked(path)
    pointed = {ref for sentence in account.sentences for ref in sentence.refs}
    assert {element.ref for element in circuit.elements} <= pointed
    told = [paragraph.group for paragraph in account.paragraphs]
    assert told[0] == "supply"
    assert [group for group in told if ":" in group] == [group.id for group in groups.best]
    assert account.unexplained == groups.unexplained


@every_record
def test_sentences_are_tied_to_a_group_and_read_well(path: Path) -> None:
    """The group exists, the refs exist, the sentence is one, and nothing is left of a template."""
    circuit, groups, _, account = worked(path)
    for sentence in account.sentences:
        assert sentence.group in {"supply", "item", "unexplained", *(group.id for group in groups.groups)}
        assert all(circuit.element(ref) is not None for ref in sentence.refs)
        for text in (sentence.text, sentence.spoken):
            assert text[0].isupper() or text[0].isdigit() or text.startswith(sentence.refs)
            assert text.endswith(".")
            assert not set("{}[]") & set(text)
            assert "  " not in text
            assert "safe" not in text.lower()


@every_record
def test_the_script_is_short_sentences_with_parts_to_point_at(path: Path) -> None:
    """No line is longer than 24 words; each says what to point at, save where it is the mains or the whole item."""
    *_, account = worked(path)
    lines = script(account)
    assert len(lines) == len(account.sentences)
    for line in lines:
        assert len(line.text.split()) <= 24, line.text
        assert line.refs or line.group in ("supply", "unexplained")
        assert line.figures


@every_record
def test_an_account_can_be_written_as_json(path: Path) -> None:
    *_, account = worked(path)
    document = json.loads(json.dumps(account.as_json()))
    assert len(document["paragraphs"]) == len(account.paragraphs)
    assert all("source" in f for p in document["paragraphs"] for s in p["sentences"] for f in s["figures"].values())


def test_every_group_has_a_teller() -> None:
    """Whatever recognition names, the account has words for, and no words are kept for what it does not name."""
    assert set(TELLERS) == {name for family in FAMILIES for name in family.names}


# The dimmed strip ---------------------------------------------------------------------------------------------------


def dimmer_text(account: Account) -> str:
    (paragraph,) = [p for p in account.paragraphs if p.group.startswith("phase-control")]
    return paragraph.text


def test_the_dimmed_strip_is_not_the_textbook_s_circuit() -> None:
    """It charges through the string, not before the mains exceeds it; it is dead over most of the travel; it glows."""
    *_, account = worked(DIMMED)
    text = dimmer_text(account)
    assert "C1 does not charge straight from the mains" in text
    assert "through the LED string LED1" in text
    assert "nothing charges before the mains exceeds the 117 V that the string asks for" in text
    assert "Q1 therefore does not fire at all over most of the knob's travel: at 90 % of the places along VR1" in text
    assert re.search(r"What glows then is what leaks past Q1: with VR1 at 50 %, 6\d\d µA on average through LED1", text)
    assert re.search(r"The snubber, C2 and R2, carries 8\d % of that leak\.", text)
    assert re.search(r"The timing chain, VR1, R1 and C1, carries 1\d % of that leak\.", text)


def test_the_shares_of_the_leak_are_tied_to_their_own_groups() -> None:
    """The snubber's share names the snubber's group, and all shares together are the whole."""
    circuit, groups, solution, account = worked(DIMMED)
    tied = {s.group: s.figures["share"].value for s in account.sentences if "of that leak" in s.text}
    assert set(tied) == {"phase-control:C1+D1+Q1+R1+VR1", "snubber:C2+R2"}
    (dimmer,) = groups.named("phase-control")
    leaks = leak_shares(circuit, groups, dimmer, solution)
    assert sum(leak.share for leak in leaks) == pytest.approx(1.0, abs=1e-6)
    assert tied["snubber:C2+R2"] == pytest.approx(leaks[0].share)


@pytest.mark.parametrize("name", ["shelf_light_on_dimmer", "shelf_light_misread_snubber"])
def test_what_leaks_is_what_the_leds_get(name: str) -> None:
    """Kirchhoff: the ways round the triac together carry the LEDs' current (rectified), to 1 %."""
    circuit, _, solution, _ = worked(REFERENCE / "groups" / f"{name}.toml")
    weight = solution.waves.weight
    # R1 (or VR1) carries the timing chain's current, C2 the snubber's, Q1 its own leakage: they meet at the bridge.
    signs = {"VR1": 1.0, "R2": 1.0, "Q1": 1.0}
    if circuit.element("VR1").nodes[0] is None:  # type: ignore[union-attr]
        signs["VR1"] = -1.0 if solution.built.pins["VR1"].pair[0] != solution.built.index["x"] else 1.0
    whole = sum(sign * solution.part_wave(ref)[1] for ref, sign in signs.items())
    mean = float(weight @ abs(whole))
    assert mean == pytest.approx(solution.part_figures("LED1")["current_mean"], rel=0.01)


def test_the_misread_snubber_shares_differently() -> None:
    """With 150 k in place of 100 R the pair passes less, and the timing chain has the larger part of what is left."""
    *_, account = worked(REFERENCE / "groups" / "shelf_light_misread_snubber.toml")
    text = " ".join(sentence.text for sentence in account.sentences)
    assert re.search(r"The pair in the snubber's place, C2 and R2, carries 6\d % of that leak\.", text)
    assert re.search(r"The timing chain, VR1, R1 and C1, carries 3\d % of that leak\.", text)
    assert "but with a time constant of 7.05 ms they are none" in text


def test_a_turn_passed_in_is_used() -> None:
    """Dead travel and snap points come from it and name it; its JSON serves as well, and so does a variation."""
    circuit, groups, solution, _ = worked(DIMMED)
    found = turn(circuit, "VR1", 11)
    account = explain(circuit, groups, solution, turned=found)
    cited = {c.source: c.value for s in account.sentences for c in s.figures.values()}
    assert cited["turn: dead_travel"] == found.dead_travel
    assert cited["turn: snap_on"] == found.snap_on
    assert cited["turn: snap_off"] == found.snap_off
    again = explain(circuit, groups, solution, turned=json.loads(json.dumps(found.as_json())))
    assert again.text == account.text
    varied = vary(circuit, "VR1.position", 0.0, 1.0, 11)
    sources = {
        c.source for s in explain(circuit, groups, solution, turned=varied).sentences for c in s.figures.values()
    }
    assert "vary: dead_travel" in sources
    assert not any(source.startswith("turn") for source in sources)


def test_a_study_of_something_else_is_not_taken_for_the_knob() -> None:
    circuit, groups, solution, account = worked(DIMMED)
    other = vary(circuit, "R3.value", 500.0, 800.0, 3)
    assert explain(circuit, groups, solution, turned=other).text == account.text


def test_while_the_triac_fires_the_glow_is_that_of_the_nearest_dark_place() -> None:
    """Turned to full the account tells of the firing, and of the glow at a place where it does not fire."""
    circuit = with_values(build(lidoff.open(DIMMED)), {"VR1.position": 0.0})
    solution = solve(circuit)
    text = dimmer_text(explain(circuit, recognise(circuit), solution))
    assert re.search(r"With VR1 at 0 % of its travel, C1 reaches 32\.\d V; D1 breaks over at 32 V, and Q1 fires", text)
    assert "What glows then is what leaks past Q1: with VR1 at 10 %" in text


def test_a_lamp_on_a_dimmer_is_told_as_the_textbook_has_it() -> None:
    """No string, no dead travel worked out unasked; the firing angle agrees with the power in the lamp.

    P = V^2/R (1 - a/pi + sin 2a / 2pi) for a resistor (phase-control formula, Bimbhra, Power Electronics, example 9.2);
    the triac's own volt takes about 1 % of it.
    """
    circuit, _, solution, account = worked(REFERENCE / "cycle" / "dimmer_lamp.toml")
    text = dimmer_text(account)
    assert "LED" not in text
    assert "travel, C1 reaches" in text
    (angle,) = [s.figures["angle"].value for s in account.sentences if "angle" in s.figures and "fires" in s.text]
    a = math.radians(angle)
    power = 230.0**2 / 880.0 * (1.0 - a / math.pi + math.sin(2 * a) / (2 * math.pi))
    assert solution.powers["R9"] == pytest.approx(power, rel=0.03)
    assert circuit.element("R9") is not None


# Honesty ------------------------------------------------------------------------------------------------------------


def test_what_was_not_recognised_is_said_last() -> None:
    *_, account = worked(REFERENCE / "groups" / "aquarium_light_with_riddle.toml")
    last = account.paragraphs[-1]
    assert last.group == "unexplained"
    assert last.text.startswith("Not recognised: 3 parts, Q1, R2 and R3.")
    assert any("Q1, R2 and R3" in line.text for line in script(account))


def test_another_reading_is_mentioned() -> None:
    *_, account = worked(REFERENCE / "groups" / "insect_trap_pump.toml")
    assert "C1, C2, D1 and D2 may also be read as something else: voltage doubler" in account.text


def test_a_value_to_be_inferred_is_said_to_be_taken() -> None:
    text = (REFERENCE / "cycle" / "strip.toml").read_text(encoding="utf-8").replace('value = "1k5"', 'value = "?"')
    circuit = build(read_text(text, "strip.toml"))
    account = explain(circuit, recognise(circuit), solve(circuit))
    assert "The value of R1 is not known" in account.text


def test_an_open_switch_and_a_bench_supply_are_told() -> None:
    """With its switch open the item is told as it stands; on a bench supply nothing is said of the mains."""
    circuit = with_values(build(lidoff.open(DIMMED)), {"S1.closed": False})
    account = explain(circuit, recognise(circuit), solve(circuit))
    assert "here it is open" in account.text
    text = (REFERENCE / "cycle" / "strip.toml").read_text(encoding="utf-8")
    text += (
        '[[state]]\nname = "bench"\nremove = ["BR1"]\nsupply = { dc = "200 V", limit = "10 mA", nodes = ["p", "m"] }\n'
    )
    bench = build(read_text(text, "strip.toml"), "bench")
    account = explain(bench, recognise(bench), solve(bench))
    assert account.paragraphs[0].text == "In this state a bench supply of 200 V feeds the parts instead of the mains."
    assert "half-cycle" not in account.text


def test_a_number_without_a_source_cannot_be_said() -> None:
    """Neither a bare number nor a sentence without any figure."""
    power = Cited(value=4.29, unit="W", source="figures: parts.R1.power")
    whole = {"group": "ballast:R1", "refs": ("R1",)}
    Sentence(text="R1 takes 4.29 W.", spoken="R1. 4.29 watts.", figures={"p": power}, **whole)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="numbers without a source: 38"):
        Sentence(text="R1 takes 4.29 W, 38 %.", spoken="R1.", figures={"p": power}, **whole)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="has no figure"):
        Sentence(text="R1 takes much.", spoken="R1.", figures={}, **whole)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="without a source: 2"):
        Sentence(text="R2 takes 4.29 W.", spoken="R1.", figures={"p": power}, **whole)  # type: ignore[arg-type]
    assert uncited_numbers("R1 and R12", [], ("R1",)) == ["12"]


@pytest.mark.parametrize(
    ("value", "unit", "style", "shown", "spoken"),
    [
        (4700.0, "ohm", "marked", "4.7 kΩ", "4.7 kilohms"),
        (1e-7, "F", "marked", "100 nF", "100 nanofarads"),
        (230.0, "V", "marked", "230 V", "230 volts"),
        (1.0, "A", "marked", "1 A", "1 ampere"),
        (0.0535, "A", "computed", "53.5 mA", "53.5 milliamperes"),
        (43.8, "deg", "computed", "44°", "44 degrees"),
        (0.905, "", "percent", "90 %", "90 percent"),
        (50.0, "Hz", "marked", "50 Hz", "50 hertz"),
        (36.0, "", "count", "36", "36"),
    ],
)
def test_numbers_are_read_aloud_with_their_units(value: float, unit: str, style: Any, shown: str, spoken: str) -> None:
    cited = Cited(value=value, unit=unit, source="record: x", style=style)
    assert (cited.shown, cited.spoken) == (shown, spoken)


@pytest.mark.parametrize("name", ["shelf_light_on_dimmer", "night_light_with_zener", "plug_in_charger"])
def test_the_account_does_not_hang_on_how_the_record_was_written(name: str) -> None:
    """Other node names, another order of parts and parts turned round: the same sentences (numbers to their digits)."""
    circuit, _, _, account = worked(REFERENCE / "groups" / f"{name}.toml")
    other = turned(permuted(renamed(circuit, 1), 2), 3)
    again = explain(other, recognise(other), solve(other))
    digits = re.compile(r"\d[\d.]*( [pnµmk]?)?")
    assert [digits.sub("#", s.text) for s in again.sentences] == [digits.sub("#", s.text) for s in account.sentences]
    for one, two in zip(again.sentences, account.sentences, strict=True):
        for key, cited in one.figures.items():
            assert cited.value == pytest.approx(two.figures[key].value, rel=0.02, abs=1e-9), (one.text, key)


def test_a_circuit_without_light_or_power_still_has_an_account() -> None:
    """Everything open: the account says so and does not divide by nothing."""
    circuit = with_values(build(lidoff.open(REFERENCE / "groups" / "fan_heater.toml")), {"S1.closed": False})
    account = explain(circuit, recognise(circuit), solve(replace(circuit)))
    assert "S1 breaks the live pole; here it is open" in account.text


@given(grown())
@settings(max_examples=12, suppress_health_check=list(HealthCheck))
def test_whatever_can_be_solved_can_be_told(circuit: Circuit) -> None:
    """Heaps of the families' own examples, run together at random: no part passed over, no number without a source."""
    try:
        circuit = check_connections(circuit, reduced=True)
        solution = solve(circuit)
    except CircuitError:
        reject()
    account = explain(circuit, recognise(circuit), solution)
    pointed = {ref for sentence in account.sentences for ref in sentence.refs}
    assert {element.ref for element in circuit.elements} <= pointed
    assert len(script(account)) == len(account.sentences)


def test_an_item_that_draws_nothing_is_told_without_a_power_factor() -> None:
    """There is no ratio of no power to no current."""
    text = (
        "lidoff = 1\n[supply]\nvoltage = 230\nfrequency = 50\n"
        '[[part]]\nref = "R1"\nkind = "resistor"\nvalue = 1e300\nnodes = ["live", "neutral"]\n'
    )
    circuit = build(read_text(text, Path("item.toml")))
    told = " ".join(
        s.text for p in explain(circuit, recognise(circuit), solve(circuit)).paragraphs for s in p.sentences
    )
    assert "It draws 0 A, no current to speak of." in told
