from __future__ import annotations

import json
from pathlib import Path

import pytest

import lidoff

INPUT = {
    "current_rms",
    "current_peak",
    "crest_factor",
    "power",
    "apparent_power",
    "power_factor",
    "displacement_factor",
    "thd",
    "harmonics",
}
PART = {
    "voltage_rms",
    "voltage_peak",
    "voltage_mean",
    "current_rms",
    "current_mean",
    "current_peak",
    "power",
}
LIGHT = {"sources", "frequency", "percent_flicker", "flicker_index", "svm", "mean_current"}


def test_json_has_the_keys_promised(lidoff_command, strip: Path) -> None:
    done = lidoff_command("figures", strip, "--json")
    assert (done.status, done.err) == (0, "")
    document = done.json
    assert set(document) >= {"state", "supply", "input", "light", "parts", "settled", "cycles", "solver", "warnings"}
    assert set(document["input"]) >= INPUT
    assert set(document["light"]) >= LIGHT
    assert document["parts"]
    for part in document["parts"].values():
        assert set(part) >= PART
    assert set(document["input"]["harmonics"][0]) >= {"order", "current_rms", "percent"}
    assert document["state"] is None
    assert document["warnings"] == []


def test_json_is_what_the_function_gives(lidoff_command, strip: Path) -> None:
    document = lidoff_command("figures", strip, "--json").json
    direct = lidoff.solve(lidoff.open(strip)).figures()
    assert document == json.loads(json.dumps(direct))


def test_a_record_folder_its_file_and_a_lone_file_are_the_same(lidoff_command, strip: Path, tmp_path: Path) -> None:
    lone = tmp_path / "something.toml"
    lone.write_text((strip / "item.toml").read_text())
    by_folder = lidoff_command("figures", strip, "--json").json
    assert lidoff_command("figures", strip / "item.toml", "--json").json == by_folder
    assert lidoff_command("figures", lone, "--json").json == by_folder


def test_set_changes_a_value(lidoff_command, strip: Path) -> None:
    changed = lidoff_command("figures", strip, "--set", "R1.value=2k2", "--set", "supply.voltage=240 V", "--json").json
    direct = lidoff.solve(lidoff.open(strip), changes={"R1.value": 2200.0, "supply.voltage": 240.0}).figures()
    assert changed == json.loads(json.dumps(direct))
    assert changed["supply"]["voltage_rms"] == 240.0
    plain = lidoff_command("figures", strip, "--json").json
    assert changed["input"]["power"] != pytest.approx(plain["input"]["power"], rel=0.01)


@pytest.mark.parametrize(
    ("change", "status", "word"),
    [
        ("R1.value", 2, "REF.KEY=VALUE"),
        ("R1=2k2", 2, "REF.KEY"),
        ("R1.value=", 2, "REF.KEY=VALUE"),
        ("R9.value=2k2", 1, "R9"),
        ("R1.valeu=2k2", 1, '"value"'),
        ("R1.value=2 V", 1, "resistance"),
        ("R1.value=-5", 1, "above 0"),
        ("R1.value=nan", 1, "R1.value"),
        ("supply.volts=3", 1, "voltage"),
    ],
)
def test_a_change_that_does_not_fit_is_explained(
    lidoff_command, strip: Path, change: str, status: int, word: str
) -> None:
    done = lidoff_command("figures", strip, "--set", change)
    assert (done.status, done.out) == (status, "")
    assert len(done.err.splitlines()) == 1
    assert word in done.err


def test_the_state_is_chosen_by_name(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(
        file.read_text() + '\n[[state]]\nname = "first"\nset = { R1 = { value = "3k" } }\n'
        '[[state]]\nname = "second"\nset = { R1 = { value = "6k" } }\n'
    )
    first = lidoff_command("figures", strip, "--json").json
    second = lidoff_command("figures", strip, "--state", "second", "--json").json
    assert (first["state"], second["state"]) == ("first", "second")
    assert first["input"]["power"] > second["input"]["power"]
    done = lidoff_command("figures", strip, "--state", "secnd")
    assert done.status == 1
    assert len(done.err.splitlines()) == 1
    assert "second" in done.err


def test_for_people_the_large_figures_come_first_and_the_worst_part_leads(lidoff_command, strip: Path) -> None:
    file = strip / "item.toml"
    file.write_text(file.read_text().replace('value = "1k5"', 'value = "1k5"\nrating = { power = "0.5 W" }'))
    done = lidoff_command("figures", strip)
    assert (done.status, done.err) == (0, "")
    document = lidoff_command("figures", strip, "--json").json
    lines = [line for line in done.out.splitlines() if line.strip()]
    captions = next(place for place, line in enumerate(lines) if line.split()[:2] == ["power", "current"])
    assert f"{document['input']['power']:.1f} W" in lines[captions - 1]
    heading = next(place for place, line in enumerate(lines) if line.startswith("part"))
    assert captions < heading
    worst = lines[heading + 2]
    times = document["parts"]["R1"]["power"] / 0.5
    assert worst.startswith("R1")
    assert f"{times:.2g} times power OVER" in worst
    assert "(r)" not in worst, "this rating is the record's own"


def test_a_circuit_without_light_says_nothing_of_flicker(lidoff_command, reference: Path) -> None:
    done = lidoff_command("figures", reference / "cycle" / "dimmer_lamp.toml")
    assert done.status == 0
    assert "flicker" not in done.out


def test_a_dimmer_adds_what_a_radio_hears_and_a_strip_does_not(lidoff_command, strip: Path, reference: Path) -> None:
    dimmer = reference / "cycle" / "dimmer_lamp.toml"
    document = lidoff_command("figures", dimmer, "--json").json
    heard = document["interference"]
    assert heard["step"] > 0.0
    assert {"load", "levels", "filters", "filter_words", "medium_wave", "assumptions"} <= set(heard)
    assert heard["words"] in " ".join(lidoff_command("figures", dimmer).out.split())
    del document["interference"]
    assert document == json.loads(json.dumps(lidoff.solve(lidoff.open(dimmer)).figures()))
    assert "interference" not in lidoff_command("figures", strip, "--json").json


def test_for_people_a_flickering_light_carries_its_warning(lidoff_command, strip: Path) -> None:
    assert "Warning: this light flickers 100 times a second" in lidoff_command("figures", strip).out


def test_a_glow_is_held_against_no_bound(lidoff_command, strip: Path) -> None:
    """Microamperes through an LED are no light that people see by (IEEE Std 1789-2015 is about lighting)."""
    file = strip / "item.toml"
    bright = lidoff_command("figures", strip, "--json").json["light"]
    assert bright["bounds"]
    file.write_text(
        file.read_text() + '[[part]]\nref = "RX"\nkind = "resistor"\nvalue = "100M"\nnodes = ["live", "dim"]\n'
    )
    text = file.read_text()
    assert '"live"' in text
    file.write_text(text.replace('"live"', '"dim"').replace('nodes = ["dim", "dim"]', 'nodes = ["live", "dim"]'))
    glow = lidoff_command("figures", strip, "--json").json["light"]
    assert 0.0 < glow["mean_current"] < 5e-6
    assert glow["percent_flicker"] is not None
    assert glow["bounds"] == []
