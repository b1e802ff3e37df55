"""What the shelf's page of the documentation says can be typed."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from lidoff.cli.shelf import shelf
from lidoff.shelf import MEASURES, SUBJECTS, from_options, understand
from lidoff.shelf.schema import TABLES

PAGE = (Path(__file__).parents[2] / "docs" / "shelf.md").read_text()
COMMANDS = sorted(set(re.findall(r"^(?:\$ )?lidoff shelf ([^#\n]+?)\s*(?:#.*)?$", PAGE, re.MULTILINE)))
ROWS = [row.split("|")[1:-1] for row in PAGE.splitlines() if row.startswith("| ") and "`" in row]
OPTIONS = {"where": "wheres", "part": "parts", "marking": "markings", "group": "groups", "finding": "findings",
           "seen": "seen"}  # fmt: skip


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_on_the_page_is_one(line: str) -> None:
    name, *words = shlex.split(line)
    _, bound, unused = shelf.parse_known_args([name, *words])[:3]
    assert unused == []
    assert bound.arguments or name in ("list", "rebuild", "page")
    if name in ("find", "chart"):
        assert understand(bound.arguments["sentence"]).conditions


def test_every_command_is_on_the_page() -> None:
    for name in shelf:
        if not name.startswith("-"):
            assert re.search(rf"lidoff shelf {name}\b|`{name}`", PAGE), name


def test_sentences_and_options_in_the_table_ask_what_they_say() -> None:
    assert len(ROWS) == 9
    for _, sentences, options in ROWS:
        for sentence in re.findall(r"`([^`]+)`", sentences):
            assert understand(sentence).conditions, sentence
        for option in re.findall(r"`([^`]+)`", options):
            name, value = shlex.split(option)
            key = OPTIONS.get(name.removeprefix("--"))
            given = {key: [value]} if key else {name.removeprefix("--").replace("class", "protection_class"): value}
            if name == "--severity":
                given = {"severity": int(value)}  # type: ignore[dict-item]
            assert from_options(**given).conditions, option  # type: ignore[arg-type]


def test_what_is_said_back_is_what_the_page_shows() -> None:
    asked = understand("which strips flicker over 80 % and draw over 8 W")
    assert asked.understood in PAGE
    assert f"Passed over: {', '.join(asked.passed_over)}." in PAGE


def test_figures_subjects_and_tables_are_all_named() -> None:
    text = " ".join(PAGE.split()).casefold()
    for one in MEASURES:
        assert any(word.casefold() in text for word in (one.title, *one.words)), one.name
    for subject in SUBJECTS:
        assert subject in text
    for table in TABLES:
        assert f"`{table}`" in PAGE
