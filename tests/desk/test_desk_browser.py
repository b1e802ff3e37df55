"""The desk in a real browser: an item from its title to its write-up, two tabs, every page in both schemes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import TimeoutError as Waited
from tests.desk.browsing import until, windows

from lidoff.record import open as open_record
from lidoff.record import read_text

pytestmark = pytest.mark.browser

PAGES = ["overview", "outside", "closed", "plug", "opening", "parts", "connections", "readings", "hazards", "writeup"]
PARTS = (
    "R1 brown black brown gold 0.5W 350V from live to a",
    "C1 224K 275V~ X2 10% from a to b",
    "R2 br bk gn gd 0.25W 250V from a to b",
    "BR1 bridge DB107 on b, neutral gives p, m",
    "C2 10uF 25V from p to m",
    "LED1 led 6 in series 3.05V count 6 from p to m",
)


@pytest.fixture
def opened(browser: Any, served: Any) -> Iterator[Callable[..., Any]]:
    """Opens the desk in a window of its own; what leaves this machine or goes wrong in a script fails the test."""
    with windows(browser, served) as new:

        def open_page(path: str = "/", width: int = 1280, scheme: str = "light") -> Any:
            page = new(path, width, scheme)
            ready(page)
            return page

        yield open_page


def settled(page: Any) -> None:
    """Nothing is being saved or worked out any more."""
    busy = "document.querySelector('[data-dirty], [aria-busy]') !== null"
    said = "/^\\s*(Working|Drawing|Waiting)/.test(one.textContent)"
    waiting = f"[...document.querySelectorAll('[data-later]')].some((one) => {said})"
    until(lambda: not page.evaluate(f"{busy} || {waiting}"))


def ready(page: Any) -> None:
    """The page's scripts listen."""
    until(lambda: page.evaluate("'ready' in document.documentElement.dataset"))


def turn(page: Any, title: str) -> None:
    """Goes to another page of the item."""
    with page.expect_navigation():
        page.click(f"nav >> text={title}")
    ready(page)


def say(page: Any, sentence: str) -> None:
    page.fill("#sentence", sentence)
    page.press("#sentence", "Enter")
    until(lambda: sentence in page.inner_text("#understood") and "Saved" in page.inner_text("#understood"), 10)


def test_an_item_from_its_title_to_its_write_up(opened: Callable[..., Any], folder: Path):
    page = opened()
    page.fill("#title", "Moon light")
    page.press("#title", "Enter")
    page.wait_for_url("**/items/moon-light/outside")
    ready(page)
    record = folder / "moon-light" / "item.toml"

    def item() -> Any:
        return read_text(record.read_text(encoding="utf-8"), record)

    page.get_by_label("Sort of product", exact=True).select_option("luminaire")
    page.get_by_label("Protection class", exact=True).select_option("II")
    page.get_by_label("Plug and code practice", exact=True).select_option("EU")
    page.get_by_label("Voltage", exact=True).fill("220-240 V")
    page.get_by_label("Voltage", exact=True).press("Tab")
    page.get_by_label("Power", exact=True).fill("half a watt")
    page.get_by_label("Power", exact=True).press("Enter")
    until(lambda: "is not a power" in page.inner_text("#content"))
    page.get_by_label("Power", exact=True).fill("0.5 W")
    page.get_by_label("Power", exact=True).press("Enter")
    until(lambda: "is not a power" not in page.inner_text("#content"))
    settled(page)
    until(lambda: item().rated.get("power") == 0.5)
    assert (item().kind, item().protection_class, item().region) == ("luminaire", "II", "EU")

    turn(page, "Parts")
    page.fill("#sentence", PARTS[0])
    until(lambda: "100 Ω ±5 %" in page.inner_text("#understood"))
    assert page.locator("#understood .band").count() == 4
    for sentence in PARTS:
        say(page, sentence)
    assert [part.name for part in item().parts] == ["R1", "C1", "R2", "BR1", "C2", "LED1"]
    page.fill("#sentence", "R9 4k7 form p to m")
    until(lambda: "Not understood" in page.inner_text("#understood"))

    turn(page, "Connections")
    until(lambda: page.locator("svg.schematic [data-ref=BR1]").count() > 0)
    pin = page.locator("[data-part=LED1][data-pin=anode]")
    pin.fill("q")
    pin.press("Tab")
    until(lambda: "nothing else yet" in page.inner_text("#content"))
    page.keyboard.press("Control+z")
    until(lambda: item().part("LED1").nodes["anode"] == "p")
    settled(page)
    node = page.get_by_label("Name of the node p", exact=True)
    node.fill("plus")
    node.press("Enter")
    until(lambda: item().part("LED1").nodes["anode"] == item().part("BR1").nodes["plus"] == "plus")

    turn(page, "Closed, with a meter")
    meter = page.locator("#add-meter")
    meter.get_by_label("Name", exact=True).fill("market meter")
    meter.get_by_label("What it is", exact=True).select_option("power-meter")
    meter.get_by_text("Add meter").click()
    page.get_by_label("Accuracy, power", exact=True).fill("2 % + 0.1 W")
    page.get_by_label("Accuracy, power", exact=True).press("Enter")
    settled(page)
    state = page.locator("#add-state")
    state.get_by_label("State", exact=True).fill("plugged in")
    state.get_by_text("Add state").click()
    mains = page.locator(".row-body").get_by_label("Mains measured then", exact=True)
    mains.fill("236 V")
    mains.press("Enter")
    page.click("text=Yes, measured")
    until(lambda: item().states and item().states[0].supply and item().states[0].supply.measured)

    turn(page, "Readings")
    reading = page.locator("#add-reading")
    reading.get_by_label("Quantity", exact=True).select_option("power")
    reading.get_by_label("Shown", exact=True).fill("3.8 W")
    reading.get_by_label("Meter", exact=True).select_option("market meter")
    reading.get_by_label("State", exact=True).select_option("plugged in")
    reading.get_by_text("Add reading").click()
    until(
        lambda: (
            page.locator("#judged .tag").first.inner_text() == "contradicts"
            if page.locator("#judged .tag").count()
            else ""
        )
    )
    shown = page.locator("[data-row=reading-0] input[data-key=value]")
    shown.fill("0.35 W")
    until(lambda: "agrees" in page.locator("[data-row=reading-0]").inner_text())
    assert "3.8 W" in record.read_text(encoding="utf-8")  # told before it is saved
    shown.press("Enter")
    until(lambda: page.locator("#judged .tag").first.inner_text() == "agrees")

    if page.locator("nav >> text=The cycle").count():
        turn(page, "The cycle")
        until(lambda: page.locator("#content svg").count())

    turn(page, "Hazards")
    until(lambda: "Catalogue" in page.inner_text("#found"))
    question = page.locator("[data-question]").get_attribute("data-question")
    answer = page.locator(".look input[type=radio]").first
    answer.check()
    until(lambda: any(one.about == question for one in item().sightings))
    assert page.locator("[data-question]").get_attribute("data-question") == question
    page.click("text=Next >> nth=-1")

    turn(page, "Write-up")
    page.get_by_label("Verdict", exact=True).fill("Not for a child's room.")
    page.get_by_label("Verdict", exact=True).press("Tab")
    until(lambda: item().verdict.get("text"))
    page.click("[data-make=page]")
    link = page.locator("text=Open report.html")
    until(link.count)
    with page.context.expect_page() as other:
        link.click()
    written = other.value
    written.wait_for_load_state()
    assert "Moon light" in written.title()
    assert "Not for a child's room." in written.inner_text("body")
    # And back to the very first text, one step after the other.
    page.bring_to_front()
    steps = 0
    while steps < 60:
        before = record.read_bytes()
        try:
            page.click("[data-step=undo]:enabled", timeout=3000)
        except Waited:  # the first text stands, and the button with it
            break
        until(lambda before=before: record.read_bytes() != before)
        settled(page)
        until(lambda: page.evaluate("document.body.dataset.revision"))
        steps += 1
        time.sleep(0.1)
    assert page.locator("[data-step=undo]").is_disabled()
    assert item().parts == ()
    assert item().title == "Moon light"
    assert steps >= 18


def test_sentences_typed_faster_than_they_are_saved_are_all_kept(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/parts")
    for number in range(20, 32):
        page.fill("#sentence", f"R{number} 4k7 from p to m")
        page.press("#sentence", "Enter")
    names = [f"R{number}" for number in range(20, 32)]
    until(lambda: [one.ref for one in read_text(record.read_text(encoding="utf-8"), record).parts][-12:] == names)
    # One that cannot be saved comes back into the line.
    page.fill("#sentence", "R40 4k7 from p")
    page.press("#sentence", "Enter")
    until(lambda: page.input_value("#sentence") == "R40 4k7 from p")
    assert "A node is missing" in page.inner_text("#understood") or "are expected" in page.inner_text("#understood")


def test_two_tabs_that_edit_one_field_are_both_asked(opened: Callable[..., Any], record: Path):
    one, other = opened("/items/night-light/outside"), opened("/items/night-light/outside")
    other.get_by_label("Where and by whom it is used", exact=True).fill("on the landing")
    one.get_by_label("Where and by whom it is used", exact=True).fill("in the hall")
    one.get_by_label("Where and by whom it is used", exact=True).press("Enter")
    until(lambda: "in the hall" in record.read_text(encoding="utf-8"))
    # The other tab is told, keeps what was typed in it, and says what the record has now.
    until(lambda: other.locator("text=Changed elsewhere meanwhile").count())
    assert other.get_by_label("Where and by whom it is used", exact=True).input_value() == "on the landing"
    other.get_by_label("Where and by whom it is used", exact=True).press("Enter")
    time.sleep(0.3)
    assert "in the hall" in record.read_text(encoding="utf-8")
    other.click("text=Save mine")
    until(lambda: "on the landing" in record.read_text(encoding="utf-8"))
    until(lambda: one.get_by_label("Where and by whom it is used", exact=True).input_value() == "on the landing")


def test_a_change_from_an_editor_is_shown_without_losing_what_is_typed(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/outside")
    note = page.get_by_label("Note", exact=True).first
    note.fill("typed here")
    text = record.read_text(encoding="utf-8").replace("Night light shaped", "Lamp shaped")
    record.write_text(text, encoding="utf-8")
    until(lambda: page.get_by_label("Title", exact=True).input_value().startswith("Lamp shaped"))
    assert note.input_value() == "typed here"
    note.press("Tab")
    until(lambda: "typed here" in record.read_text(encoding="utf-8"))
    assert "Lamp shaped" in record.read_text(encoding="utf-8")


def test_a_photograph_is_chosen_and_shown(opened: Callable[..., Any], record: Path):
    page = opened("/items/night-light/opening")
    held = BytesIO()
    Image.new("RGB", (900, 600), "#3a6").save(held, "JPEG")
    page.set_input_files(
        "input[type=file] >> nth=0", {"name": "Board 1.JPG", "mimeType": "image/jpeg", "buffer": held.getvalue()}
    )
    picture = page.locator('.pictures img[src*="board-1"]')
    until(picture.count)
    until(lambda: picture.evaluate("(one) => one.complete && one.naturalWidth") == 480)
    text = record.read_text(encoding="utf-8")
    assert 'shows = "parts"' in text[text.index("photos/board-1.jpg") :]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_can_be_used_by_everybody(opened: Callable[..., Any], served: Any, scheme: str):
    page = opened(scheme=scheme)
    found = []
    for name in ["/", *(f"/items/night-light/{one}" for one in PAGES)]:
        page.goto(served.address + name)
        settled(page)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        answer = Axe().run(page).response
        assert len(answer["passes"]) > 10
        found += [(name, one["id"], one["nodes"][0]["html"][:200]) for one in answer["violations"]]
    assert found == []


@pytest.mark.parametrize(("width", "names"), [(360, PAGES), (3840, ["overview", "closed"])])
def test_no_page_is_wider_than_the_window(opened: Callable[..., Any], served: Any, width: int, names: list[str]):
    page = opened(width=width)
    for name in names:
        page.goto(f"{served.address}/items/night-light/{name}")
        settled(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name


def test_the_first_page_is_light_and_answers_four_things(opened: Callable[..., Any], served: Any):
    page = opened()
    sizes: list[int] = []

    def size(response: Any) -> None:
        sizes.append(int(response.headers.get("content-length", 0)) or len(response.body()))

    page.on("response", size)
    page.goto(f"{served.address}/items/night-light/overview")
    settled(page)
    assert 10_000 < sum(sizes) <= 100_000
    text = page.inner_text("#content")
    for words in ("What is it?", "What happens in one mains cycle?", "Which reading to doubt?", "What could hurt?"):
        assert words in text
    assert "what holds charge" in text
    # Cautions that stand while it is being worked out are not dimmed.
    page.evaluate(
        "document.body.insertAdjacentHTML('beforeend', '<div id=dim aria-busy=true><p data-waiting>Working</p></div>')"
    )
    assert page.evaluate("getComputedStyle(document.getElementById('dim')).opacity") == "1"
    assert "C1 holds up to" in text


def test_an_item_is_begun_and_led_on_by_the_keyboard_alone(opened: Callable[..., Any], folder: Path):
    page = opened("/")
    ready(page)

    def tab_to(wanted: str) -> None:
        for _ in range(90):
            page.keyboard.press("Tab")
            here = "(document.activeElement.id + ' ' + document.activeElement.className)"
            if wanted in page.evaluate(here).split():
                return
        raise AssertionError(f"{wanted} cannot be reached")

    tab_to("title")
    page.keyboard.type("Small fan")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    ready(page)
    for place in ("closed", "plug", "opening", "tracing", "parts"):
        tab_to("next-page")
        with page.expect_navigation():
            page.keyboard.press("Enter")
        ready(page)
        assert page.url.endswith(f"/{place}")
    tab_to("sentence")
    page.keyboard.type("R1 4k7 from live to a")
    page.keyboard.press("Enter")
    until(
        lambda: 'ref = "R1"' in (folder / "small-fan" / "item.toml").read_text(encoding="utf-8").split("[[part]]")[-1]
    )


def test_chapters_are_moved_and_left_out_by_the_keyboard(opened: Callable[..., Any], folder: Path):
    page = opened("/items/night-light/writeup")
    ready(page)

    def telling() -> Any:
        return open_record(folder / "night-light").writeup

    page.focus("#down-summary")
    page.keyboard.press("Enter")
    until(lambda: telling().order[:2] == ("how", "summary"))
    settled(page)
    until(lambda: page.evaluate("document.activeElement.id") == "down-summary")
    page.focus("#chapter-faults")
    page.keyboard.press("Space")
    until(lambda: telling().leave_out == ("faults",))
    page.focus("#a-paragraph-text")
    page.keyboard.type("It hums.")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    until(lambda: [one.text for one in telling().paragraphs] == ["It hums."])


def test_everything_can_be_reached_by_the_keyboard(opened: Callable[..., Any]):
    page = opened("/items/night-light/parts")
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.textContent.trim()"))
    assert "To the page" in reached
    assert "sentence" in reached
    assert "Write-up" in reached
    assert any("R1" in str(one) for one in reached)
    # Where the focus is can be seen.
    page.focus("#sentence")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
