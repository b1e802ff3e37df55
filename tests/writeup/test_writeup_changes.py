"""A write-up held against a new run: each figure by its name, old and new, beyond the digits shown."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest

import lidoff
from lidoff.account import Account, take
from lidoff.account.export import as_json
from lidoff.cli import main
from lidoff.demo import NAMES
from lidoff.writeup import WriteupError, verify, write
from lidoff.writeup.changes import Named, differences, named

pytestmark = pytest.mark.xdist_group("writeup")
PLAIN = 'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]\n'


@pytest.mark.parametrize("name", NAMES)
def test_a_run_again_changes_nothing_and_compares_much(
    name: str, accounts: Mapping[str, Account], tmp_path: Path
) -> None:
    write(accounts[name], tmp_path)
    found = verify(accounts[name], tmp_path)
    assert found.changes == ()
    assert found.same_record
    assert found.same_version
    assert found.compared > 60


@pytest.mark.parametrize(
    ("old", "new", "half", "changed"),
    [
        (5.43, 5.44, 0.2, True),  # shown as 5.43: three figures at most
        (5.43, 5.434, 0.2, False),
        (5.43, 5.47, 2.0, False),  # shown as 5.4
        (5.43, 5.49, 2.0, True),
        (100.0, 100.4, 0.5, False),  # shown as 100
        (0.0, 0.4, 1.0, True),
        (0.0, 0.04, 1.0, False),
        (-3.2, -3.21, 0.5, True),  # 0.50 at two figures: shown as -3.20
        (-3.2, -3.204, 0.5, False),
    ],
)
def test_only_what_shows_counts(old: float, new: float, half: float, changed: bool) -> None:
    """The digits follow the interval at two figures: JCGM 100:2008 (GUM), 7.2.6."""
    sides = ({"x": Named(value=value, unit="W", half=half)} for value in (old, new))
    assert bool(differences(*sides)) is changed


def test_what_comes_and_goes_is_named() -> None:
    old = {"a": Named(value="high risk"), "b": Named(value=1.0, unit="V", half=0.1)}
    new = {"a": Named(value="low risk"), "c": Named(value=2.0, unit="V", half=0.1)}
    assert [one.sentence for one in differences(old, new)] == [
        "a: high risk → low risk",
        "c: none → 2.00 V",
        "b: 1.00 V → none",
    ]


def test_noise_is_no_change(accounts: Mapping[str, Account]) -> None:
    """The mean of a current that has none is a millionth of its peak: no run needs to give it twice."""
    document = as_json(accounts["globe-lamp"])
    before = named(document)
    state = document["states"][0]
    input_figures = state["input"]
    assert abs(input_figures["current_mean"]) < 1e-4 * input_figures["current_peak"]
    input_figures["current_mean"] += 1e-5 * input_figures["current_peak"]
    assert differences(before, named(document)) == ()
    input_figures["current_mean"] += 0.01 * input_figures["current_peak"]
    assert [one.name for one in differences(before, named(document))] == [f"{state['state']}: input.current_mean"]


def test_figures_verdicts_and_findings_all_have_names(accounts: Mapping[str, Account]) -> None:
    found = named(as_json(accounts["globe-lamp"]))
    for name in (
        "knob full up: input.power",
        "knob a quarter up: light.percent_flicker",
        "knob VR1: dead_travel",
        "inferred: LED1.forward_voltage",
        "reading 1, power_factor at input, knob full up",
        "switched on: current_peak",
        "finding cord-grip-missing",
    ):
        assert any(name in one for one in found), name
    assert found["reading 1, power_factor at input, knob full up"].value == "agrees"


def test_a_changed_record_is_told_and_ends_with_status_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    assert main(["report", str(tmp_path), "--verify"]) == 0
    assert "Version and record are the same." in capsys.readouterr().out
    (tmp_path / "item.toml").write_text(PLAIN.replace("1k", "1k1"), encoding="utf-8")
    before = (tmp_path / "report.json").read_bytes()
    assert main(["report", str(tmp_path), "--verify"]) == 1
    said = capsys.readouterr()
    assert "as recorded: input.power: 53 W → 48 W" in said.out
    assert "is not what it was made from" in said.out
    assert "have changed." in said.err
    assert (tmp_path / "report.json").read_bytes() == before


def test_verify_as_json_names_every_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    (tmp_path / "item.toml").write_text(PLAIN.replace("1k", "1k1"), encoding="utf-8")
    capsys.readouterr()
    assert main(["report", str(tmp_path), "--verify", "--json"]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["fingerprint"]["same"] is False
    assert document["version"]["same"] is True
    power = next(one for one in document["changed"] if one["name"] == "as recorded: input.power")
    # P = V²/R at 230 V: the textbook's, with the source's 0.4 ohm in a row.
    assert power["old"] == pytest.approx(230.0**2 / 1000.4**2 * 1000.0, rel=1e-3)
    assert power["new"] == pytest.approx(230.0**2 / 1100.4**2 * 1100.0, rel=1e-3)
    assert power["unit"] == "W"


def test_another_version_is_told_although_nothing_changed(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    account = take(lidoff.open(tmp_path))
    write(account, tmp_path)
    found = verify(replace(account, version="9.9"), tmp_path)
    assert not found.same_version
    assert found.same_record
    assert found.changes == ()


@pytest.mark.parametrize("content", [b"{", b"[1]", b'{"lidoff": "0"}', b"\xff\xfe", b"[" * 100_000])
def test_what_is_no_write_up_is_refused_in_a_sentence(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    (tmp_path / "report.json").write_bytes(content)
    with pytest.raises(WriteupError, match="not the data of a write-up"):
        verify(take(lidoff.open(tmp_path)), tmp_path)


def test_without_a_write_up_there_is_nothing_to_hold_against(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    with pytest.raises(WriteupError, match="there is no write-up to hold against"):
        verify(take(lidoff.open(tmp_path)), tmp_path)
    write(take(lidoff.open(tmp_path)), tmp_path)
    (tmp_path / "other.toml").write_text(PLAIN, encoding="utf-8")
    with pytest.raises(WriteupError, match=r"another record, item\.toml"):
        verify(take(lidoff.open(tmp_path / "other.toml")), tmp_path)


@pytest.mark.parametrize("more", ["--pdf", "--short", "--stills"])
def test_verify_writes_nothing(more: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path), "--verify", more]) == 2
    assert "--verify writes nothing" in capsys.readouterr().err


def test_report_writes_what_it_is_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "item.toml").write_text(PLAIN, encoding="utf-8")
    assert main(["report", str(tmp_path), "-o", str(tmp_path / "out"), "--short", "--full", "--pdf", "--stills"]) == 0
    said = capsys.readouterr().out.splitlines()
    names = ("report.html", "report-short.html", "report.pdf", "report-short.pdf", "stills")
    assert said == [str(tmp_path / "out" / name) for name in names]
    for alone in (["--transparent"], ["--goal", "percent_flicker=20%"]):
        assert main(["report", str(tmp_path), "-o", str(tmp_path / "out"), *alone]) == 2
        assert "add --stills" in capsys.readouterr().err
