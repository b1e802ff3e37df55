"""The commands `turn`, `spread` and `faults`: the same documents as the studies, and text that people can read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import lidoff
from lidoff.circuit import build
from lidoff.studies import spread, turn


@pytest.fixture
def lamp(reference: Path) -> Path:
    return reference / "cycle" / "dimmer_lamp.toml"


def test_turn_prints_what_the_study_gives(lidoff_command, lamp: Path) -> None:
    done = lidoff_command("turn", lamp, "VR1", "--points", "5", "--json")
    assert (done.status, done.err) == (0, "")
    direct = turn(build(lidoff.open(lamp)), "VR1", 5).as_json()
    assert done.json == json.loads(json.dumps(direct))
    assert [point["position"] for point in done.json["up"]] == [0.0, 0.25, 0.5, 0.75, 1.0]
    assert [point["position"] for point in done.json["down"]] == [1.0, 0.75, 0.5, 0.25, 0.0]
    assert (done.json["dead_travel"], done.json["floor"]) == (None, None)


def test_turn_for_people(lidoff_command, lamp: Path, tmp_path: Path) -> None:
    picture = tmp_path / "turn.svg"
    done = lidoff_command("turn", lamp, "VR1", "--points", "11", "-o", picture)
    assert (done.status, done.err) == (0, "")
    study = turn(build(lidoff.open(lamp)), "VR1", 11)
    assert f"It comes on at {study.power_on:.2f} and goes out at {study.power_off:.2f} of the travel." in done.out
    assert "█" in done.out
    assert picture.read_text().startswith("<svg")


def test_turn_takes_a_knob_only(lidoff_command, lamp: Path) -> None:
    wrong = lidoff_command("turn", lamp, "R1")
    assert wrong.status == 1
    assert wrong.out == ""
    assert len(wrong.err.splitlines()) == 1
    assert "VR1" in wrong.err
    assert lidoff_command("turn", lamp, "VR1", "--points", "1").status == 2
    assert lidoff_command("turn", lamp).status == 2


def test_spread_prints_what_the_study_gives(lidoff_command, strip: Path) -> None:
    done = lidoff_command("spread", strip, "--samples", "30", "--seed", "7", "--json")
    assert (done.status, done.err) == (0, "")
    direct = spread(build(lidoff.open(strip)), 30, 7).as_json()
    assert done.json == json.loads(json.dumps(direct))
    assert done.json["samples"] == 30
    assert done.json["matters"][0]["key"] == "supply.voltage"


def test_spread_for_people(lidoff_command, strip: Path) -> None:
    done = lidoff_command("spread", strip, "--samples", "20", "--about", "light.mean_current")
    assert (done.status, done.err) == (0, "")
    assert "What matters to light.mean_current: supply.voltage 100%." in done.out
    assert "Drawn: supply.voltage ±10 %." in done.out


@pytest.mark.parametrize(
    "words",
    [
        ("--samples", "0"),
        ("--samples", "-5"),
        ("--samples", "many"),
        ("--seed", "-1"),
    ],
)
def test_spread_refuses_absurd_numbers(lidoff_command, strip: Path, words: tuple[str, str]) -> None:
    done = lidoff_command("spread", strip, *words)
    assert done.status == 2
    assert len(done.err.splitlines()) == 1


def test_spread_without_anything_to_draw_is_one_sentence(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(file.read_text().replace('voltage = "230 V"', 'voltage = "230 V"\nrange = "0 %"'))
    done = lidoff_command("spread", strip, "--samples", "20")
    assert done.status == 1
    assert done.err.startswith(f"{file}: Nothing has a tolerance here")


def test_faults_prints_what_the_function_gives(lidoff_command, strip: Path) -> None:
    done = lidoff_command("faults", strip, "--json")
    assert (done.status, done.err) == (0, "")
    assert done.json == json.loads(json.dumps(lidoff.faults(lidoff.open(strip))))
    levels = [one["severity"] for one in done.json["faults"]]
    assert levels == sorted(levels, reverse=True)
    assert {"part", "mode", "input", "light", "overstressed", "fuse", "outcome", "severity"} <= set(
        done.json["faults"][0]
    )


def test_faults_for_people_the_worst_comes_first(lidoff_command, strip: Path) -> None:
    done = lidoff_command("faults", strip)
    assert (done.status, done.err) == (0, "")
    assert done.out.index("■■■■") < done.out.index("■□□□")
    assert "only the fuse or breaker of the house" in done.out
    assert "Not decided, because the record does not say" in done.out
    assert "not a test" in done.out


def test_a_state_and_a_change_are_taken_into_account(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(file.read_text() + '\n[[state]]\nname = "low"\nset = { R1 = { value = "6k" } }\n')
    low = lidoff_command("faults", strip, "--state", "low", "--json").json
    plain = lidoff_command("faults", strip, "--set", "R1.value=1k5", "--json").json
    assert (low["state"], plain["state"]) == ("low", "low")

    def water(document: dict) -> float:
        return next(one for one in document["faults"] if one["mode"] == "water")["input"]["power"]

    assert water(low) < water(plain)
