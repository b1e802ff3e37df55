from __future__ import annotations

import json
from pathlib import Path

import pytest

import lidoff
from lidoff.circuit import build
from lidoff.studies import vary


def test_json_is_what_the_study_gives(lidoff_command, strip: Path) -> None:
    done = lidoff_command("vary", strip, "R1.value", "1k", "2k", "--points", "3", "--json")
    assert (done.status, done.err) == (0, "")
    direct = vary(build(lidoff.open(strip)), "R1.value", 1000.0, 2000.0, points=3).as_json()
    assert done.json == json.loads(json.dumps(direct))
    assert [point["value"] for point in done.json["points"]] == [1000.0, 1500.0, 2000.0]
    assert set(done.json) >= {"key", "points", "dead_travel", "floor", "warnings"}
    assert all(set(point) >= {"value", "input", "light"} for point in done.json["points"])


def test_each_place_is_what_figures_gives_there(lidoff_command, strip: Path) -> None:
    point = lidoff_command("vary", strip, "supply.voltage", "207 V", "253 V", "--points", "3", "--json").json["points"][
        2
    ]
    alone = lidoff_command("figures", strip, "--set", "supply.voltage=253", "--json").json
    # Published limits and the slow flickermeter's figure stand beside the figures of one state only.
    alone["input"].pop("limits")
    alone["light"].pop("bounds")
    alone["light"].pop("pst_lm")
    assert point["input"] == alone["input"]
    assert {key: value for key, value in point["light"].items() if key != "pst_lm"} == alone["light"]


def test_41_places_unless_told_otherwise(lidoff_command, strip: Path) -> None:
    assert len(lidoff_command("vary", strip, "R1.value", "1k", "2k", "--json").json["points"]) == 41


def test_for_people(lidoff_command, strip: Path) -> None:
    done = lidoff_command("vary", strip, "R1.value", "1k", "2k", "--points", "3")
    assert (done.status, done.err) == (0, "")
    assert "Over 33 % of the way" in done.out
    assert "1.50 kΩ" in done.out


def test_nothing_lights_nothing_is_said_of_light(lidoff_command, reference: Path) -> None:
    record = reference / "cycle" / "dimmer_lamp.toml"
    done = lidoff_command("vary", record, "VR1.position", "0", "1", "--points", "3")
    assert done.status == 0
    assert "flicker" not in done.out
    assert "no LED" in done.out
    document = lidoff_command("vary", record, "VR1.position", "0", "1", "--points", "3", "--json").json
    assert (document["dead_travel"], document["floor"]) == (None, None)


def test_the_curve_as_a_picture(lidoff_command, strip: Path, tmp_path: Path) -> None:
    words = ["vary", strip, "R1.value", "1k", "2k", "--points", "3", "-o"]
    assert lidoff_command(*words, tmp_path / "curve.svg").status == 0
    assert "<svg" in (tmp_path / "curve.svg").read_text()
    refused = lidoff_command(*words, tmp_path / "curve.png")
    assert refused.status == 2
    assert not (tmp_path / "curve.png").exists()


@pytest.mark.parametrize(
    ("words", "status", "match"),
    [
        (["R1.value", "1k"], 2, "--help"),
        (["R1", "1k", "2k"], 2, "REF.KEY"),
        (["R1.value", "1k", "2k", "--points", "1"], 2, "2 to"),
        (["R1.value", "1k", "2k", "--points", "many"], 2, "points"),
        (["R9.value", "1k", "2k"], 1, "R9"),
        (["R1.value", "1k", "2 V"], 1, "resistance"),
        (["R1.value", "0", "2k"], 1, "above 0"),
    ],
)
def test_what_does_not_fit_is_explained(lidoff_command, strip: Path, words: list[str], status: int, match: str) -> None:
    done = lidoff_command("vary", strip, *words)
    assert (done.status, done.out) == (status, "")
    assert len(done.err.splitlines()) == 1
    assert match in done.err
