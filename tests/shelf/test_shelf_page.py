"""The page: self-contained, whole without its script, sorted with it, nothing a user wrote taken for markup."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from lidoff.shelf import ShelfError, find, understand
from lidoff.shelf.entry import Entry, FigureRow
from lidoff.shelf.indexing import write_entry
from lidoff.shelf.page import page_of, write_page
from lidoff.shelf.store import change, writing

ASKED = "strips over 3 W with flicker over 80 %"


class Seen(HTMLParser):
    """Tags with their attributes, and the text outside style and script."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self._inside = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag

    def handle_data(self, data: str) -> None:
        if self._inside not in ("style", "script"):
            self.text.append(data)


@pytest.fixture(scope="module")
def page(invented_index: tuple[Path, Path]) -> str:
    return page_of(invented_index[0], understand(ASKED)).html


def test_the_page_asks_for_nothing_from_elsewhere(page: str) -> None:
    seen = Seen(page)
    assert not [value for _, attrs in seen.tags for name, value in attrs.items() if name in ("src", "href", "srcset")]
    assert "@import" not in page
    assert not re.findall(r"url\(", page)
    policy = next(attrs["content"] for tag, attrs in seen.tags if attrs.get("http-equiv") == "Content-Security-Policy")
    script = re.search(r"<script>(.*?)</script>", page, re.DOTALL)
    assert script is not None
    digest = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in str(policy)
    assert str(policy).startswith("default-src 'none'")


def test_every_item_that_fits_has_its_row(page: str, invented_index: tuple[Path, Path]) -> None:
    found = find(invented_index[0], understand(ASKED), limit=None)
    assert found.total > 1
    text = " ".join(" ".join(Seen(page).text).split())
    for hit in found.hits:
        assert hit.title in text
    assert len(re.findall(r'class="numeric no"', page)) == found.total
    assert found.query.understood in text
    assert "safe" in text
    assert "Nothing here says that an item is safe" in text


def test_what_somebody_wrote_is_no_markup(index: Path) -> None:
    title = '<script>alert(1)</script> & "quoted" </td>'
    with writing(index) as connection, change(connection):
        write_entry(
            connection, Path("/x/item.toml"),
            Entry(status="unreadable", depth="none", title=title, problem="<b>bold</b>", words={"title": title},
                  states=("<i>on</i>",), figures=(FigureRow(state=0, name="input.power", value=9.0),
                                                  FigureRow(state=0, name="light.percent_flicker", value=90.0))),
            "", None,
        )  # fmt: skip
    html = page_of(index, understand("over 8 W")).html
    seen = Seen(html)
    assert [tag for tag, _ in seen.tags].count("script") == 1
    assert not [tag for tag, _ in seen.tags if tag in ("b", "i")]
    assert title in "".join(seen.text)


def test_an_empty_answer_is_a_page_too(invented_index: tuple[Path, Path]) -> None:
    made = page_of(invented_index[0], understand("zeppelin over 8 W"))
    assert made.items == 0
    assert "Nothing on the shelf fits." in made.html


def test_only_a_page_of_its_own_kind_is_written_over(page: str, tmp_path: Path) -> None:
    file = tmp_path / "shelf.html"
    write_page(file, page)
    write_page(file, page)
    mine = tmp_path / "mine.html"
    mine.write_text("<p>mine</p>")
    with pytest.raises(ShelfError, match="is no page of a shelf"):
        write_page(mine, page)
    assert mine.read_text() == "<p>mine</p>"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["mine.html", "shelf.html"]


@pytest.mark.browser
def test_a_click_on_a_heading_sorts_the_table(browser: Any, invented_index: tuple[Path, Path], tmp_path: Path) -> None:
    file = tmp_path / "shelf.html"
    write_page(file, page_of(invented_index[0]).html)
    view = browser.new_page(viewport={"width": 1280, "height": 900})
    said: list[str] = []
    view.on("console", lambda message: said.append(message.text))
    view.on("pageerror", lambda error: said.append(str(error)))
    view.goto(file.as_uri())

    def column(place: int) -> list[str]:
        return view.eval_on_selector_all(f"tbody tr td:nth-child({place})", "all => all.map(one => one.dataset.key)")

    power = 4
    view.click("th:nth-child(4) button")
    known = [float(one) for one in column(power) if one]
    assert known == sorted(known, reverse=True)
    view.click("th:nth-child(4) button")
    assert [float(one) for one in column(power) if one] == sorted(known)
    flicker = 5
    for _ in range(2):  # either way round what is not known stands last
        view.click("th:nth-child(5) button")
        keys = column(flicker)
        assert "" in keys
        assert "" not in keys[: keys.index("")]
        assert set(keys[keys.index("") :]) == {""}
    view.focus("th:nth-child(2) button")
    view.keyboard.press("Enter")
    assert column(2) == sorted(column(2))
    assert view.get_attribute("th:nth-child(2)", "aria-sort") == "ascending"
    assert said == []
    view.close()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_fits_and_reads_well(browser: Any, page: str, tmp_path: Path, width: int, scheme: str) -> None:
    """No sideways scrolling, and no fault that axe-core finds (WCAG 2 A and AA, contrast included)."""
    from axe_playwright_python.sync_playwright import Axe

    file = tmp_path / "shelf.html"
    write_page(file, page)
    view = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme, bypass_csp=True)
    view.goto(file.as_uri())
    assert view.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(view)
    assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found.response["violations"]] == []
    view.close()
