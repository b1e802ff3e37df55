"""The PDF: the same bytes twice, tagged, its text and the text of its pictures right, nothing over the edge."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from lidoff.account import Account
from lidoff.demo import NAMES
from lidoff.record import OwnParagraph, Telling
from lidoff.writeup import compose, render_pdf, typesetting
from lidoff.writeup.pdf import TEMPLATE, as_data

pytestmark = pytest.mark.xdist_group("writeup")

poppler = pytest.mark.skipif(
    not (shutil.which("pdftotext") and shutil.which("pdftoppm")), reason="no poppler-utils on this machine"
)
_RESOLUTION = 40
_MARGIN = 15 / 25.4 * _RESOLUTION  # [pixels] of 15 mm, less than the narrowest margin of the pages


@pytest.fixture(scope="module")
def books(accounts: Mapping[str, Account]) -> Mapping[str, bytes]:
    return {name: render_pdf(compose(account)) for name, account in accounts.items()}


@pytest.fixture(scope="module")
def texts(books: Mapping[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, str]:
    folder = tmp_path_factory.mktemp("texts")
    return {name: text_of(book, folder / f"{name}.pdf") for name, book in books.items()}


def text_of(book: bytes, path: Path) -> str:
    """The text of a PDF on one line, no-break spaces as blanks."""
    path.write_bytes(book)
    said = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True).stdout.decode()
    return " ".join(said.replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize("name", NAMES)
def test_the_same_account_gives_the_same_bytes(
    name: str, books: Mapping[str, bytes], accounts: Mapping[str, Account]
) -> None:
    assert render_pdf(compose(accounts[name])) == books[name]
    assert len(books[name]) < 1_000_000


@pytest.mark.parametrize("form", ["full", "short"])
@pytest.mark.parametrize("name", NAMES)
def test_it_keeps_to_the_rules_for_readers_who_hear_it(name: str, form: str, accounts: Mapping[str, Account]) -> None:
    """PDF/UA-1, ISO 14289-1:2014: the typesetter refuses to write what does not keep to what it can check of it."""
    data = as_data(compose(accounts[name], form=form))  # type: ignore[arg-type]
    pages = typesetting._compiled(TEMPLATE, data, typesetting._fonts(), format="pdf", pdf_standards="ua-1")
    assert b"/StructTreeRoot" in pages[0]
    assert re.search(rb"pdfuaid", pages[0])


def test_every_picture_says_what_is_in_it(accounts: Mapping[str, Account]) -> None:
    blocks = as_data(compose(accounts["globe-lamp"]))["blocks"]
    pictures = [block for block in blocks if block["kind"] == "picture"]
    assert len(pictures) >= 6
    assert all(len(picture["alt"]) > 30 and "<" not in picture["alt"] for picture in pictures)


@poppler
@pytest.mark.parametrize("name", NAMES)
def test_the_pages_answer_what_a_reader_asks(name: str, texts: Mapping[str, str]) -> None:
    text = texts[name]
    for needed in (
        "What is it?",
        "Which reading to doubt?",
        "What could hurt?",
        "Isolate.",
        "Nothing here says that the item is safe.",
        "What was not looked at",
        f"lidoff report {name}",
        "Figure 1.",
        "1 of ",
    ):
        assert needed in text, needed
    wanted = {
        "globe-lamp": "Believe the power factor of 0.92",
        "night-light": "Do not believe the power of 3.8 W.",
        "lamp-charger": "Plug fuse without sand",
    }[name]
    assert wanted in text


@poppler
def test_the_text_in_the_pictures_is_text_and_right(texts: Mapping[str, str]) -> None:
    text = texts["globe-lamp"]
    for needed in ("28 × 4 LEDs", "51° to 148°", "150k", "rms V × rms A", "phase control with Q1", "mains voltage"):
        assert needed in text, needed
    assert "\N{REPLACEMENT CHARACTER}" not in text


@poppler
def test_nothing_stands_over_the_edge_and_no_page_is_empty(
    books: Mapping[str, bytes], accounts: Mapping[str, Account], tmp_path: Path
) -> None:
    short = render_pdf(compose(accounts["globe-lamp"], form="short"))
    counts = {}
    for name, book in {**books, "short": short}.items():
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(book)
        target = tmp_path / name
        command = ["pdftoppm", "-r", str(_RESOLUTION), "-png", str(path), str(target)]
        subprocess.run(command, check=True, capture_output=True)
        pages = sorted(tmp_path.glob(f"{name}-*.png"))
        counts[name] = len(pages)
        for page in pages:
            with Image.open(page) as image:
                grey = image.convert("L")
            box = ImageChops.invert(grey).point(lambda value: 255 if value > 40 else 0).getbbox()
            assert box is not None, page.name
            assert box[0] >= _MARGIN, page.name
            assert box[2] <= grey.width - _MARGIN, page.name
            assert box[3] - box[1] > 0.15 * grey.height, page.name
    assert counts["short"] <= 5
    assert all(8 <= counts[name] <= 24 for name in NAMES)


@poppler
def test_what_a_user_wrote_stays_letters(accounts: Mapping[str, Account], tmp_path: Path) -> None:
    account = accounts["night-light"]
    hostile = '#let x = 1 *strong* _em_ $x^2$ [a](b) @ref <lab> #image("a.png") `raw` // no \\ comment'
    item = replace(
        account.item,
        title=f"T {hostile}",
        writeup=Telling(paragraphs=(OwnParagraph(after="start", text=f"P {hostile.replace('*', '')}"),), form="short"),
    )
    text = text_of(render_pdf(compose(replace(account, item=item))), tmp_path / "x.pdf")
    assert f"T {hostile}" in text
    assert f"P {hostile.replace('*', '')}" in text


def test_a_character_that_no_font_has_costs_the_mark_of_the_standard_only(accounts: Mapping[str, Account]) -> None:
    account = accounts["night-light"]
    title = "Light \N{ELECTRIC LIGHT BULB}\U000f1234"
    book = render_pdf(compose(replace(account, item=replace(account.item, title=title)), form="short"))
    assert book.startswith(b"%PDF-")
    assert b"/StructTreeRoot" in book


def test_pages_come_out_as_pictures_too() -> None:
    pages = typesetting.png(
        "still.typ",
        {
            "title": "x",
            "width": 200,
            "height": 100,
            "ground": "paper",
            "made": "",
            "stills": [
                {"kind": "rows", "kicker": "", "headline": "x", "sub": "", "foot": "", "rows": [], "large": False}
            ],
        },
    )
    with Image.open(io.BytesIO(pages[0])) as image:
        assert image.size == (200, 100)
