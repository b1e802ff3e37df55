from __future__ import annotations

from pathlib import Path

import pytest

from lidoff.demo.items import shipped
from lidoff.record import read_text


@pytest.fixture
def night(tmp_path: Path) -> Path:
    folder = tmp_path / "night-light"
    folder.mkdir()
    # Its clips done away with: else nothing is offered at all.
    text = shipped("night-light").replace(
        'about = "opens-without-tool"\nseen = "yes"', 'about = "marking"\nseen = "ok"'
    )
    (folder / "item.toml").write_text(
        text.replace('note = "thumbnail under the clip; every part inside is at mains potential"\n', "")
    )
    return folder


def test_json_has_the_promised_keys_and_every_design_is_a_record(lidoff_command, night: Path, tmp_path: Path) -> None:
    out = tmp_path / "designs"
    done = lidoff_command("rework", night, "--goal", "light=45–60 %", "-o", out, "--json")
    assert done.status == 0
    document = done.json
    assert set(document) >= {"goal", "designs", "rejected", "warnings", "verdict", "cautions"}
    assert document["goal"]["light"]["low"] == pytest.approx(0.45)
    assert document["designs"]
    for one in document["designs"]:
        assert set(one) >= {"family", "record", "parts", "computed", "worst_case", "meets_goal", "cautions"}
        assert one["meets_goal"] is True
        assert read_text(one["record"], night / "item.toml").parts
        assert set(one["computed"]) >= {"input", "light", "parts"}
        for part in one["parts"]:
            assert set(part) >= {"ref", "kind", "value", "rating", "why"}
    assert all(set(one) >= {"family", "why"} for one in document["rejected"])
    assert (out / "1-capacitor-dropper" / "item.toml").read_text() == document["designs"][0]["record"]
    # The original is not touched, and what stands in the folder is not written over.
    assert "rework" not in (night / "item.toml").read_text()
    (out / "1-capacitor-dropper" / "item.toml").write_text("mine")
    again = lidoff_command("rework", night, "--goal", "light=45–60 %", "-o", out)
    assert again.status == 1
    assert "another text of that name" in again.err
    assert (out / "1-capacitor-dropper" / "item.toml").read_text() == "mine"


def test_for_people(lidoff_command, night: Path) -> None:
    done = lidoff_command("rework", night, "--goal", "light=45–60 %")
    assert done.status == 0
    for words in ("goal: light 45 % to 60 % of full", "Capacitor dropper", "has to meet", "On the bench, in this order",
                  "not to be sold", "Unplugged", "Not offered"):  # fmt: skip
        assert words in " ".join(done.out.split()), words


def test_a_change_tried_out(lidoff_command, strip: Path, tmp_path: Path) -> None:
    done = lidoff_command("rework", strip, "--try", "R1=3k3", "-o", tmp_path / "out", "--json")
    assert done.status == 0
    assert done.json["try"] == {"R1.value": 3300.0}
    assert set(done.json) >= {"before", "after", "findings", "stress", "energy", "record"}
    assert (tmp_path / "out" / "before-and-after.svg").read_text().startswith("<svg")
    people = lidoff_command("rework", strip, "--try", "R1=3k3")
    assert "before" in people.out
    assert "Single faults" in people.out


@pytest.mark.parametrize(
    ("words", "status", "says"),
    [
        ([], 2, "give --goal name=value, or --try"),
        (["--goal", "light=8–13 %", "--try", "R1=1k"], 2, "not both"),
        (["--goal", "brightness=8 %"], 1, "There is no goal"),
        (["--goal", "dead_travel=15 %"], 1, "no potentiometer"),
        (["--try", "R77=1k"], 1, "names no part"),
        (["--goal", "light=8–13 %", "--hours", "0"], 2, "above 0"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(
    lidoff_command, strip: Path, words: list[str], status: int, says: str
) -> None:
    done = lidoff_command("rework", strip, *words)
    assert done.status == status
    assert says in done.err
    assert done.out == ""
