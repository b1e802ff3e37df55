"""A join known only from a picture supports no finding: the rules that hang on the circuit ask for a meter instead."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import lidoff
from lidoff.account.hazards import facts_of, hazards_of
from lidoff.account.pictured import of_trace, pictured_joins
from lidoff.demo import write_items
from lidoff.hazards import RULES, Facts, Pictured, Rule
from lidoff.photos.kept import Trace

SEEN = ("cord-grip-missing", "opens-without-tool", "heat-marks", "marking-missing", "fuse-without-filler")


def with_picture(facts: Facts) -> Facts:
    """The same facts, every part's joins known from a picture alone."""
    refs = [element.ref for element in facts.elements] or ["R1"]
    return replace(facts, pictured=tuple(Pictured(first=f"{ref}.1", second="P7") for ref in refs))


@pytest.mark.parametrize("one", RULES, ids=[r.id for r in RULES])
def test_no_rule_calls_a_pictured_circuit_bad(one: Rule) -> None:
    """Each rule's own bad case: what rests on the circuit turns into a question, what was seen stays a finding."""
    facts = one.bad.facts()
    plain, _ = one.judge(facts)
    found, undecided = one.judge(with_picture(facts))
    from_the_circuit = [
        finding
        for finding in plain
        if any(words.startswith(("Computed", "Circuit as recorded")) for words in finding.evidence)
    ]
    assert not any(
        words.startswith(("Computed", "Circuit as recorded")) for finding in found for words in finding.evidence
    )
    assert len(undecided) >= len(from_the_circuit)
    if from_the_circuit:
        need = " ".join(undecided[-1].needs)
        assert "known from a picture alone" in need
        assert "Continuity, unplugged and discharged" in need
    else:
        assert {finding.because for finding in found} | {left.needs for left in undecided}


@pytest.mark.parametrize("id", SEEN)
def test_what_was_seen_needs_no_meter(id: str) -> None:
    one = next(rule for rule in RULES if rule.id == id)
    found, undecided = one.judge(with_picture(one.bad.facts()))
    assert found
    assert not undecided


def test_the_question_tells_what_would_be_found() -> None:
    one = next(rule for rule in RULES if rule.id == "resistor-over-power")
    facts = replace(one.bad.facts(), pictured=(Pictured(first="BR1.plus", second="R1.2"),))
    _, undecided = one.judge(facts)
    assert len(undecided) == 1
    assert undecided[0].needs[0].startswith("Continuity, unplugged and discharged, of what is known")
    assert "BR1.plus to R1.2" in undecided[0].needs[0]
    assert "If the picture is right: R1: mean power" in undecided[0].needs[0]


def test_joins_of_parts_that_are_not_in_this_circuit_do_not_matter() -> None:
    one = next(rule for rule in RULES if rule.id == "resistor-over-power")
    found, _ = one.judge(replace(one.bad.facts(), pictured=(Pictured(first="X9.1", second="X8.1"),)))
    assert found


def trace(*joins: tuple[str, str, str], wires: tuple[tuple[str, str], ...] = ()) -> Trace:
    evidence = {
        "picture": {"kind": "picture", "view": "copper", "score": 0.9, "margin": 0.3},
        "continuity": {"kind": "continuity"},
        "user": {"kind": "user"},
    }
    pads = [
        {"id": "P1", "x": 0, "y": 0, "part": "R1", "pin": "2"},
        {"id": "P2", "x": 1, "y": 0, "part": "BR1", "pin": "ac1"},
        {"id": "P3", "x": 2, "y": 0},
    ]
    return Trace.model_validate(
        {
            "pads": pads,
            "joins": [{"a": a, "b": b, "joined": True, "evidence": evidence[kind]} for a, b, kind in joins],
            "wires": [{"a": a, "b": b} for a, b in wires],
        }
    )


def test_a_join_counts_only_where_nothing_else_speaks_for_it() -> None:
    alone = of_trace(trace(("P1", "P2", "picture")))
    assert [str(join) for join in alone] == ["R1.2 to BR1.ac1"]
    assert of_trace(trace(("P1", "P2", "continuity"))) == ()
    assert of_trace(trace(("P1", "P2", "user"))) == ()
    assert of_trace(trace(("P1", "P2", "picture"), ("P1", "P3", "continuity"), ("P3", "P2", "user"))) == ()
    assert of_trace(trace(("P1", "P2", "picture"), wires=(("P1", "P2"),))) == ()
    # A way round that is itself only a picture does not prove anything.
    assert len(of_trace(trace(("P1", "P2", "picture"), ("P1", "P3", "picture"), ("P3", "P2", "user")))) == 2


def test_through_the_record_folder(tmp_path: Path) -> None:
    """The lamp's computed findings become questions once its trace rests on the picture; the knot stays a finding."""
    write_items(tmp_path)
    folder = tmp_path / "globe-lamp"
    before = hazards_of(lidoff.open(folder))
    assert before.finding("resistor-over-power")
    kept = trace(("P1", "P3", "picture")).model_dump(mode="json")
    kept["pads"][0] |= {"part": "R3", "pin": "1"}
    (folder / "trace.json").write_text(json.dumps(kept), encoding="utf-8")
    item = lidoff.open(folder)
    assert [str(join) for join in pictured_joins(item)] == ["R3.1 to P3"]
    after = hazards_of(item)
    assert not after.finding("resistor-over-power")
    assert after.finding("cord-grip-missing")
    assert any(left.id == "resistor-over-power" and "R3.1 to P3" in left.needs[0] for left in after.undecided)


def test_a_trace_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    write_items(tmp_path)
    folder = tmp_path / "globe-lamp"
    (folder / "trace.json").write_text("{", encoding="utf-8")
    facts = facts_of(lidoff.open(folder))
    assert facts.pictured == ()
    assert any("rest on a picture alone was not told" in words for words in facts.skipped)


def test_the_list_of_faults_says_what_it_rests_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from lidoff.cli.run import main

    write_items(tmp_path)
    folder = tmp_path / "lamp-charger"
    assert main(["faults", str(folder), "--json"]) == 0
    assert "only a picture shows" not in capsys.readouterr().out
    kept = trace(("P1", "P2", "picture")).model_dump(mode="json")
    (folder / "trace.json").write_text(json.dumps(kept), encoding="utf-8")
    assert main(["faults", str(folder), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert any("which only a picture shows: R1.2 to BR1.ac1. Every fault" in words for words in document["undecided"])
