"""What a write-up has to tell: lessons, cautions, what was not looked at, and where figures come from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from tests.writeup.page_reading import read_page, words_of

import lidoff
from lidoff.account import Account, take
from lidoff.demo import NAMES
from lidoff.writeup import CHAPTERS, compose, render
from lidoff.writeup.blocks import BigFigures, Heading, Number, Origins, Table

pytestmark = pytest.mark.xdist_group("writeup")


@pytest.fixture(scope="module")
def words(pages: Mapping[str, str]) -> Mapping[str, str]:
    return {name: words_of(page) for name, page in pages.items()}


@pytest.mark.parametrize("name", NAMES)
def test_cautions_and_what_was_not_looked_at_are_in_every_write_up(name: str, words: Mapping[str, str]) -> None:
    text = words[name]
    for needed in (
        "Isolate.",
        "Discharge.",
        "No bare live parts.",
        "One hand",
        "licensed electrician",
        "Local codes",
        "residual-current device",
        "isolating transformer",
        "It does not limit that current until it acts",
        "What was not looked at",
        "lidoff report " + name,
    ):
        assert needed in text, needed


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_called_safe_or_passed(name: str, words: Mapping[str, str]) -> None:
    for found in re.finditer(r"[^.]*\b(?:un)?safe\w*\b[^.]*\.", words[name], flags=re.IGNORECASE):
        assert re.search(r"Nothing (?:here|in this write-up) says that the item is safe\.$", found[0]), found[0]
    assert not re.search(r"\b(?:complies|compliant|conforms)\b", words[name], flags=re.IGNORECASE)
    others = ("nothing passes or fails", "pass until", "must not pass", "All of it passes", "would pass", "not pass it")
    for found in re.finditer(r"[^.]*\bpass(?:es|ed)?\b[^.]*\.", words[name]):
        assert any(other in found[0] for other in others), found[0]


@pytest.mark.parametrize("name", NAMES)
def test_chapters_come_in_their_order(name: str, accounts: Mapping[str, Account]) -> None:
    heads = [block.id for block in compose(accounts[name]).blocks if isinstance(block, Heading) and block.level == 1]
    wanted = [
        "cycle",
        "readings",
        "parts",
        "light-and-mains",
        "switching",
        "seen",
        "cautions",
        "not-looked-at",
        "again",
    ]
    assert [head for head in heads if head in wanted] == wanted


def test_chapters_can_be_chosen_and_ordered(accounts: Mapping[str, Account]) -> None:
    document = compose(accounts["night-light"], ("cautions", "summary"))
    heads = [block.id for block in document.blocks if isinstance(block, Heading) and block.level == 1]
    assert heads == ["cautions", "summary"]
    with pytest.raises(KeyError):
        compose(accounts["night-light"], ("no such chapter",))
    assert set(CHAPTERS) >= {"summary", "cautions", "not-looked-at"}


def test_the_lamp_tells_which_reading_to_believe_and_why_the_knob_is_dead(words: Mapping[str, str]) -> None:
    text = words["globe-lamp"]
    assert "the power factor of 0.92" in text.partition("What could hurt?")[0]
    assert "Nobody can tell about the power of 6.0 W" in text
    assert "mains voltage" in text.partition("What to measure next")[2]
    assert "does not charge straight from the mains but through the string LED1" in text
    assert re.search(r"Over 6\d %c? of the way", text)
    assert "Q1 never fires" in text
    assert "with all but one LED of LED1 bridged" in text


def test_the_night_light_tells_that_its_watts_are_volt_amperes(words: Mapping[str, str]) -> None:
    text = words["night-light"]
    assert "Do not believe the power of 3.8 W." in text
    assert "those are volt-amperes" in text


def test_the_charger_tells_why_two_meters_differ(words: Mapping[str, str]) -> None:
    assert "an averaging meter reads" in words["lamp-charger"]


@pytest.mark.parametrize("name", NAMES)
def test_findings_and_faults_are_told_with_what_to_do(name: str, words: Mapping[str, str]) -> None:
    text = words[name]
    finding = {
        "globe-lamp": "Cord held by nothing that lasts",
        "night-light": "Live parts behind a cover that opens by hand",
        "lamp-charger": "Plug fuse without sand",
    }[name]
    assert finding in text
    assert "Delegated Regulation (EU) 2024/3173" in text
    assert "How likely each of them is, nobody worked out here." in text
    assert "take all of it as live" in text


@pytest.mark.parametrize("name", NAMES)
def test_large_figures_stand_before_pictures_and_pictures_before_tables(
    name: str, accounts: Mapping[str, Account]
) -> None:
    kinds = [type(block).__name__ for block in compose(accounts[name]).blocks]
    assert kinds.index("BigFigures") < kinds.index("Picture") < kinds.index("Table")


@pytest.mark.parametrize("name", NAMES)
def test_every_number_that_has_an_origin_says_it_and_the_page_explains_it(
    name: str, accounts: Mapping[str, Account], pages: Mapping[str, str]
) -> None:
    known = {"measured", "recorded", "marked", "computed", "inferred", "assumed"}
    document = compose(accounts[name])
    numbers: list[Number] = []
    for block in document.blocks:
        if isinstance(block, BigFigures):
            assert all(figure.origin in known for figure in block.figures)
        texts = []
        if isinstance(block, Table):
            texts = [cell for row in block.rows for cell in (*row.cells, row.note)]
        elif hasattr(block, "text") and isinstance(block.text, tuple):
            texts = [block.text]
        numbers += [run for text in texts for run in text if isinstance(run, Number)]
    assert len(numbers) > 20
    assert {number.origin for number in numbers} <= known | {""}
    assert all(number.text != "–" for number in numbers if number.origin)
    seen = read_page(pages[name])
    marks = [one for one in seen.named("a") if one.get("class") == "of"]
    assert len(marks) >= len([number for number in numbers if number.origin])
    assert {one["href"].removeprefix("#from-") for one in marks} <= known
    assert all(one["title"].startswith(one["href"].removeprefix("#from-")) for one in marks)
    explained = next(block for block in document.blocks if isinstance(block, Origins))
    assert {origin for origin, _ in explained.meanings} == known


@pytest.mark.parametrize("name", NAMES)
def test_a_number_with_a_span_says_it_where_it_stands(name: str, pages: Mapping[str, str]) -> None:
    """A computed power carries from where to where it may lie, not only in the large figures."""
    marks = [one["title"] for one in read_page(pages[name]).named("a") if one.get("class") == "of"]
    spans = [title for title in marks if re.fullmatch(r"computed, -?[\d.]+( \S+)? to -?[\d.]+( \S+)?", title)]
    assert len(spans) > 8, marks[:20]


def test_a_record_of_a_title_alone_has_a_page_too(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text('lidoff = 1\n[item]\ntitle = "Only seen"\n', encoding="utf-8")
    text = words_of(render(compose(take(lidoff.open(tmp_path)))))
    assert "Only seen" in text
    assert "No parts are written down" in text
    assert "Isolate." in text


def test_a_record_without_a_title_is_named_after_its_folder(tmp_path: Path) -> None:
    folder = tmp_path / "grey-box"
    folder.mkdir()
    (folder / "item.toml").write_text("lidoff = 1\n", encoding="utf-8")
    assert compose(take(lidoff.open(folder))).title == "grey-box"


def test_a_state_that_cannot_be_solved_is_told_with_its_reason(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text(
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nnodes = ["live", "neutral"]\n[[state]]\nname = "on"\n',
        encoding="utf-8",
    )
    text = words_of(render(compose(take(lidoff.open(tmp_path)))))
    assert "R1: value is not given" in text


def test_the_practitioners_verdict_stands_in_their_own_words(words: Mapping[str, str]) -> None:
    assert "Meter and lamp are both right." in words["globe-lamp"]
    assert "The practitioner's own verdict" in words["globe-lamp"]
    assert "The practitioner's own verdict" not in words["night-light"]


def test_a_temperature_is_told_in_degrees(tmp_path: Path) -> None:
    """Read as 186 °C it stands as that in the page and never as 459 K; a bare 459.15 in the record is in kelvins."""
    head = '[item]\ntitle = "Warm lamp"\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "10k"\n'
    read = '[[reading]]\nquantity = "temperature"\nat = "R1"\nvalue = '
    (tmp_path / "item.toml").write_text(
        f'lidoff = 1\n{head}nodes = ["live", "neutral"]\n{read}"186 °C"\n{read}459.15\n{read}"60 °C"\n',
        encoding="utf-8",
    )
    text = words_of(render(compose(take(lidoff.open(tmp_path)))))
    assert text.count("186 °C") >= 3
    assert "as 186 °C and 60 °C" in text
    assert not re.search(r"459(?:\.15)? K", text)


def test_a_rating_that_the_marking_tells_is_shown_as_decoded(tmp_path: Path) -> None:
    """334K 400V across 230 V: a crest of 325 V against the 400 V of the print, marked as decoded and not as assumed."""
    (tmp_path / "item.toml").write_text(
        'lidoff = 1\n[[part]]\nref = "C1"\nkind = "capacitor"\nmarking = "334K 400V"\nnodes = ["live", "neutral"]\n',
        encoding="utf-8",
    )
    account = take(lidoff.open(tmp_path))
    cells = [
        run
        for block in compose(account).blocks
        if isinstance(block, Table)
        for row in block.rows
        for cell in row.cells
        for run in cell
        if isinstance(run, Number)
    ]
    assert [one.origin for one in cells if one.text == "400 V"] == ["marked"]


def test_what_a_converter_leaves_and_what_is_too_small_is_said(words: Mapping[str, str]) -> None:
    assert "A converter empties its capacitor only as long as it runs" in words["lamp-charger"]
    assert "A converter empties" not in words["night-light"]
    assert "too small to count here" in words["night-light"]
    assert "behind the reference impedance of IEC 60725" in words["lamp-charger"]


def test_an_ideal_coil_is_told_without_heat(tmp_path: Path) -> None:
    """A choke without a written resistance makes none; what the solver leaves of it is rounding, of either sign."""
    record = Path(__file__).resolve().parents[1] / "reference" / "groups" / "bedside_dimmer_two_stages.toml"
    copy = tmp_path / record.name
    copy.write_text(record.read_text(encoding="utf-8"), encoding="utf-8")
    text = words_of(render(compose(take(lidoff.open(copy)))))
    assert "L1 keeps fast changes of current from the mains; it carries" in text
    assert not re.search(r"[-−]\d+ [nµm]W", text)
    assert "no loss written, so no heat computed" in text
    assert "no rule found anything" in text
