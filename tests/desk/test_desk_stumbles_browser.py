"""What made newcomers stumble, in a real browser: lost focus, lost words, small targets, a record that goes away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.desk.test_desk_browser import PAGES, opened, ready, settled, until

__all__ = ["opened"]
pytestmark = pytest.mark.browser
HERE = "document.activeElement.localName + ' ' + document.activeElement.id"
# WCAG 2.2, 2.5.8 "Target Size (Minimum)": 24 by 24 CSS pixels, but for links within a sentence.
SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary, label.pick, label.drop')]
  .filter((one) => one.checkVisibility() && !one.matches('.away, .skip, p a, dd a') && !one.closest('label, table'))
  .filter((one) => !one.matches('li a') || one.parentElement.textContent.trim() === one.textContent.trim())
  .filter((one) => { const box = one.getBoundingClientRect(); return box.width < 24 || box.height < 24; })
  .map((one) => one.outerHTML.slice(0, 120))"""


def kept(record: Path, text: str) -> None:
    until(lambda: text in record.read_text(encoding="utf-8"))


def test_the_keyboard_goes_on_where_it_stood(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/parts")
    page.focus("#part-R1 summary")
    page.keyboard.press("Enter")
    page.focus("#part-R1 [data-remove]")
    behind = page.evaluate("document.getElementById('part-R1').nextElementSibling.id")
    page.keyboard.press("Enter")
    until(lambda: "Undo brings it back" in page.inner_text("#told"))
    assert page.evaluate("document.activeElement.parentElement.id") == behind
    page.keyboard.press("Control+z")
    until(lambda: "Undone: R1 taken out." in page.inner_text("#told"))
    assert page.evaluate("document.activeElement.parentElement.id") == behind
    kept(record, '"R1"')
    # A button that has nothing more to undo hands the keyboard to the page, not to its neighbour.
    page.keyboard.press("Control+y")
    until(lambda: "Done again: R1 taken out." in page.inner_text("#told"))
    page.focus("[data-step=undo]")
    page.keyboard.press("Enter")
    until(lambda: page.locator("[data-step=undo]").is_disabled())
    settled(page)
    until(lambda: page.evaluate(HERE) == "main content")
    page.goto(page.url.replace("parts", "hazards"))
    ready(page)
    page.click("[rel=next]")
    page.wait_for_url("**#question")
    ready(page)
    assert page.evaluate(HERE) == "section question"


def test_what_is_typed_survives_leaving_and_loading_anew(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/parts")
    page.fill("#sentence", "R77 4k7 fro")
    page.reload()
    ready(page)
    assert page.input_value("#sentence") == "R77 4k7 fro"
    page.goto(page.url.replace("parts", "outside"))
    ready(page)
    note = page.get_by_label("Note", exact=True).first
    note.fill("typed, then loaded anew")
    page.reload()
    kept(record, "typed, then loaded anew")
    ready(page)
    until(lambda: note.input_value() == "typed, then loaded anew")
    note.fill("typed, then left")
    page.go_back()
    kept(record, "typed, then left")


def test_long_texts_and_those_from_right_to_left(opened: Callable[..., Any], served: Any, record: Path):
    page = opened("/items/night-light/outside", width=360)
    title = page.get_by_label("Title", exact=True)
    title.fill("مصباح ليلي على شكل قمر 230 V")
    title.press("Enter")
    kept(record, "مصباح ليلي")
    assert title.evaluate("(one) => getComputedStyle(one).direction") == "rtl"
    note = page.get_by_label("Note", exact=True).first
    note.fill("x" * 2500 + " words" * 420)
    note.press("Tab")
    kept(record, " words words")
    settled(page)
    for name in ("/items/night-light/outside", "/items/night-light/overview", "/"):
        page.goto(served.address + name)
        settled(page)
        if name.endswith("overview"):
            until(lambda: "What could hurt?" in page.inner_text("#content"))  # worked out, the long note in it
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, name


def test_a_record_that_goes_away_is_said_and_comes_back(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/outside")
    away = record.parent.rename(record.parent.parent / "moved")
    until(lambda: page.is_visible("#notice") and "renamed, moved or deleted" in page.inner_text("#notice"))
    note = page.get_by_label("Note", exact=True).first
    note.fill("typed while away")
    note.press("Tab")
    until(page.locator("text=Save it again").count)
    assert not record.parent.exists(), "nothing is made where the record was"
    away.rename(record.parent)
    until(lambda: not page.is_visible("#notice"))
    page.click("text=Save it again")
    kept(record, "typed while away")


def test_a_connection_that_drops_is_said_and_comes_back(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/outside")
    sockets: list[Any] = []

    def through(socket: Any) -> None:
        socket.connect_to_server()
        sockets.append(socket)

    page.route_web_socket("**/changes", through)
    page.reload()
    ready(page)
    until(lambda: page.is_visible("#content") and sockets)
    page.get_by_label("Note", exact=True).first.fill("half a")
    sockets[0].close()
    until(lambda: page.is_visible("#content") and len(sockets) > 1)  # asking the page lets the handler run
    until(lambda: not page.is_visible("#notice"))
    assert page.get_by_label("Note", exact=True).first.input_value() == "half a"
    record.write_text(record.read_text(encoding="utf-8").replace("Night light shaped", "Lamp shaped"), encoding="utf-8")
    until(lambda: page.get_by_label("Title", exact=True).input_value().startswith("Lamp shaped"))


def test_what_is_touched_is_large_enough_for_a_finger(opened: Callable[..., Any], served: Any):
    page = opened("/", width=360)
    for name in ["/", "/shelf", *(f"/items/night-light/{one}" for one in [*PAGES, "rework"])]:
        page.goto(served.address + name)
        settled(page)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert page.evaluate(SMALL) == [], name
        assert page.evaluate("document.querySelector('header.top').offsetHeight") < 130, name


# The page shows an older record than there is, as when another program writes in the instant in which it is left.
OLDER = "document.body.dataset.revision = 'older'"


def left_with(page: Any, name: str, words: str) -> Any:
    """Types a note of a part and loads the page anew, in which saving it is refused with nobody there to be told."""
    row = page.locator(f"#part-{name}")
    row.locator("summary").click()
    row.get_by_label("Note", exact=True).fill(words)
    page.evaluate(OLDER)
    page.reload()
    ready(page)
    row.locator("summary").click()
    until(lambda: f"Typed here before and not in the record: “{words}”" in row.inner_text())
    return row


def test_words_whose_saving_is_refused_while_the_page_is_left_are_offered_again(
    opened: Callable[..., Any], record: Path
):
    page = opened("/items/night-light/parts")
    row = left_with(page, "R1", "typed here, then left")
    assert "typed here, then left" not in record.read_text(encoding="utf-8")
    page.goto(page.url.replace("parts", "outside"))  # and they are still there after another page
    page.go_back()
    ready(page)
    row.locator("summary").click()
    row.get_by_text("Save what I typed").click()
    kept(record, "typed here, then left")
    until(lambda: "Typed here before" not in row.inner_text())
    page.reload()
    ready(page)
    assert page.evaluate("sessionStorage.getItem('typed /items/night-light/parts')") is None


def test_words_of_a_row_that_is_gone_are_shown_and_the_records_may_be_taken(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/parts")
    before = record.read_text(encoding="utf-8")
    row = left_with(page, "R1", "of the first")
    row.get_by_text("Take the record’s", exact=True).click()
    assert "of the first" not in row.inner_text()
    left_with(page, "R2", "of the second")
    page.locator("#part-R2 [data-remove]").click()
    until(lambda: "in a place that is gone: “of the second”" in page.inner_text("#content"))
    page.get_by_text("Let it go", exact=True).click()
    page.reload()
    ready(page)
    assert page.locator(".lost").count() == 0
    page.click("[data-step=undo]")
    kept(record, before)
