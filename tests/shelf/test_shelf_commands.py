"""`lidoff shelf …` as it is typed: exit status, one JSON document, and what people read."""

from __future__ import annotations

import json
import signal
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.shelf.inventing import collection

from lidoff.cli import main


@dataclass(frozen=True)
class Outcome:
    """What one command did."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as JSON, which it has to be altogether."""
        return json.loads(self.out)


Command = Callable[..., Outcome]


@pytest.fixture
def shelf(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Runs `lidoff shelf` on a shelf of its own."""
    monkeypatch.setenv("LIDOFF_SHELF", str(tmp_path / "shelf"))
    monkeypatch.chdir(tmp_path)

    def run(*words: str | Path) -> Outcome:
        capsys.readouterr()
        status = main(["shelf", *map(str, words)])
        said = capsys.readouterr()
        return Outcome(status, said.out, said.err)

    return run


@pytest.fixture
def full(shelf: Command, invented_index: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch) -> Command:
    """The same on the shelf of twenty items."""
    monkeypatch.setenv("LIDOFF_SHELF", str(invented_index[0]))
    return shelf


def test_from_a_folder_to_an_answer_and_back(shelf: Command, tmp_path: Path) -> None:
    folder = collection(tmp_path / "records", range(3, 6))
    added = shelf("add", folder, "--quick", "--json")
    assert (added.status, added.err) == (0, "")
    assert len(added.json["added"]) == 3
    assert added.json["warnings"] == []
    listed = shelf("list", "--json").json
    assert [one["number"] for one in listed["items"]] != []
    assert len(listed["items"]) == 3
    assert listed["folders"] == [str(folder)]
    assert shelf("rebuild", "--json").json["unchanged"] == added.json["added"]
    packed = shelf("pack", folder / "item-003", "-o", "one.zip", "--json").json
    assert packed["files"] == ["item.toml"]
    unpacked = shelf("unpack", "one.zip", "-o", "back", "--json").json
    assert (Path(unpacked["record"]).read_bytes()) == (folder / "item-003" / "item.toml").read_bytes()
    assert len(shelf("forget", folder, "--json").json["forgotten"]) == 3
    assert shelf("find", "--json").json["total"] == 0


def test_a_sentence_is_said_back(full: Command) -> None:
    told = full("find", "strips over 3 W with flicker over 80 %")
    assert told.status == 0
    assert "Understood as: the word “strips”; power over 3 W; percent flicker over 80 %" in " ".join(told.out.split())
    assert "Passed over: with." in told.out
    by_options = full("find", "strips", "--where", "power>3 W", "--where", "percent_flicker>80 %", "--json").json
    by_words = full("find", "strips over 3 W with flicker over 80 %", "--json").json
    assert by_options["items"] == by_words["items"] != []
    assert by_options["conditions"] == by_words["conditions"]
    state = by_words["items"][0]["states"][0]["figures"]
    assert state["input.power"] > 3.0
    assert state["light.percent_flicker"] > 80.0


def test_every_command_prints_one_document(full: Command, tmp_path: Path) -> None:
    for words in (
        ("list",), ("find",), ("find", "strip"), ("compare", "1", "2"), ("count", "risk"),
        ("count", "how many plug fuses had no filler", "-o", "bars.svg"), ("chart", "over 3 W"),
        ("chart", "--over", "power", "--over", "flicker", "-o", "dots.svg"), ("page", "strips", "-o", "page.html"),
    ):  # fmt: skip
        told = full(*words, "--json")
        assert (told.status, told.err) == (0, ""), words
        assert isinstance(told.json, dict)
        assert "warnings" in told.json
        plain = full(*words)
        assert (plain.status, plain.err) == (0, "")
        assert plain.out.strip()
    assert (tmp_path / "bars.svg").read_text().startswith("<svg")
    assert (tmp_path / "dots.svg").read_text().startswith("<svg")
    assert (tmp_path / "page.html").read_text().startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("find", "over 80 %"), 1, "of what?"),
        (("find", "--risk", "dire"), 1, "no level of risk"),
        (("find", "--nonsense"), 2, "lidoff shelf find --help"),
        (("compare", "1"), 1, "two to 6 different items"),
        (("compare", "zeppelin", "1"), 1, "names nothing"),
        (("count",), 2, "--help"),
        (("chart", "strips"), 1, "name a figure"),
        (("count", "risk", "-o", "bars.png"), 2, "does not end in .svg"),
        (("add",), 2, "name a folder"),
        (("add", "nowhere"), 1, "no such file or folder"),
        (("unpack", "nowhere.zip"), 1, "no such file"),
        (("nonsense",), 2, "--help"),
    ],
    ids=lambda one: " ".join(one) if isinstance(one, tuple) else None,
)
def test_what_goes_wrong_is_one_sentence(full: Command, words: tuple[str, ...], status: int, said: str) -> None:
    told = full(*words)
    assert (told.status, told.out) == (status, "")
    assert said in told.err
    assert len(told.err.splitlines()) == 1


def test_what_is_gone_is_said(shelf: Command, tmp_path: Path) -> None:
    folder = collection(tmp_path / "records", range(3, 5))
    shelf("add", folder, "--quick")
    (folder / "item-003").rename(tmp_path / "elsewhere")
    told = shelf("list")
    assert told.status == 0
    assert "item-003" in told.err
    assert "is no longer there" in told.err
    assert "gone since" in told.out
    assert len(shelf("rebuild", "--json").json["gone"]) == 1


def test_a_shelf_that_is_none_is_named(shelf: Command, tmp_path: Path) -> None:
    (tmp_path / "diary.sqlite").write_text("dear diary")
    told = shelf("find", "strip", "--shelf", "diary.sqlite")
    assert told.status == 1
    assert "not the index of a shelf" in told.err
    assert (tmp_path / "diary.sqlite").read_text() == "dear diary"
    assert "there is no shelf yet" in shelf("list").err


def test_comparing_shows_what_differs(full: Command) -> None:
    whole, short = full("compare", "1", "2"), full("compare", "1", "2", "--different")
    assert "≠" in whole.out
    assert len(short.out.splitlines()) < len(whole.out.splitlines())
    document = full("compare", "1", "2", "--json").json
    assert any(row["differs"] for row in document["rows"])
    assert all(len(row["shown"]) == 2 for row in document["rows"])


def test_every_option_has_its_words() -> None:
    from lidoff.cli.shelf import shelf as app

    for name in app:
        if name.startswith("-"):
            continue
        assert (app[name].help or "").strip(), name
        for argument in app[name].assemble_argument_collection():
            assert argument.children or argument.parameter.help, f"{name}: {argument.name}"


def test_the_first_interruption_stops_after_the_record_the_second_at_once() -> None:
    from lidoff.cli.shelf_keep import _watched
    from lidoff.shelf import Step

    step = Step(done=0, total=2, path=Path("/x/item.toml"))
    before = signal.getsignal(signal.SIGINT)
    with _watched() as watch:
        assert watch(step)
        signal.raise_signal(signal.SIGINT)
        assert not watch(step)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before
