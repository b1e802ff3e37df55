"""The tracing page in a real browser: the queue by one key, the photo by mouse and keys, both schemes, frames a second.

The picture's word is made up here (`told_doubts`), so that what is asked is known; reading itself is tested elsewhere.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.desk.browsing import until
from tests.desk.tracing_board import joins, laid_out, still

from lidoff.photos import kept
from lidoff.photos.kept import Trace

pytestmark = pytest.mark.browser


def test_the_queue_is_answered_by_one_key(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 4, 4)
    told_doubts(4)
    page = tracing_page()
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)

    def question() -> str:
        return str(page.inner_text("#tracing-question"))

    assert question() == "Are P001 and P002 joined?"  # the weakest first
    assert page.locator(".tracing-small").count() == 4
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Space")
    until(lambda: question() != "Are P001 and P002 joined?")
    assert [(one["a"], one["b"], one["joined"], one["evidence"]["kind"]) for one in joins(record)] == [
        ("P001", "P002", True, "user")
    ]
    second = question()
    time.sleep(0.2)  # past the moment in which a bouncing foot says nothing
    page.keyboard.down("Space")  # and held down, with the repeats that a keyboard makes
    for _ in range(12):
        page.keyboard.down("Space")
        time.sleep(0.07)
    page.keyboard.up("Space")
    until(lambda: question() != second)
    time.sleep(0.3)
    assert [one["joined"] for one in joins(record)] == [True, False]
    third = question()
    page.keyboard.press("m")
    until(lambda: len(joins(record)) == 3 and question() != third)
    assert joins(record)[-1]["evidence"]["kind"] == "continuity"
    page.keyboard.press("u")
    until(lambda: question() == third)
    assert len(joins(record)) == 2
    page.click("text=I measured it: not joined")
    until(lambda: len(joins(record)) == 3 and question() != third)
    assert joins(record)[-1]["joined"] is False
    assert joins(record)[-1]["evidence"]["kind"] == "continuity"
    time.sleep(0.2)
    # The button that was clicked does not answer the next one when the space bar is pressed.
    page.keyboard.press("Space")
    until(lambda: len(joins(record)) == 4)
    assert joins(record)[-1]["joined"] is True
    page.click("#tracing-undo")
    until(lambda: len(joins(record)) == 3)


@pytest.mark.parametrize("tread", ["Space", "Enter", "PageDown"])
def test_a_cheap_pedal_does_the_whole_queue(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any], tread: str
):
    """What pedals with one tread type: a tap is yes, held down is no."""
    laid_out(record, 6, 2, 4)
    told_doubts(2)
    page = tracing_page()
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    page.evaluate("document.activeElement.blur()")
    wanted = [True, False, True, False, True]
    for number, joined in enumerate(wanted, 1):
        # A tap goes to the browser in one breath: on a busy machine it would be held down for longer than it was meant.
        page.keyboard.press(tread, delay=0 if joined else 800)
        until(lambda number=number: len(joins(record)) == number)
        time.sleep(0.2)
    assert [one["joined"] for one in joins(record)] == wanted
    assert page.locator("#tracing-card").is_hidden()
    page.keyboard.press("Control+z")
    until(lambda: len(joins(record)) == 4 and page.locator("#tracing-redo").is_enabled())
    page.keyboard.press("Control+y")
    until(lambda: len(joins(record)) == 5)


PACE = 1.5  # s from a question to its answer, of somebody who looks at the crop; common practice, no source


def test_a_dozen_parts_are_asked_through_sooner_than_buzzed_out(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    """Twelve parts with two leads, 24 pads in four pieces of copper, a quarter of the joins doubtful.

    Whoever buzzes it out touches two pads at least 20 times for the joins and 6 times for the pieces apart (a tree has
    one edge fewer than nodes, and each two pieces are tried once); at 4 s each (common practice, no source) 104 s.
    """
    laid_out(record, 6, 4, 4)
    told_doubts(4)
    page = tracing_page()
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    page.evaluate("document.activeElement.blur()")
    pressed, start = 0, time.monotonic()
    while page.locator("#tracing-card").is_visible():
        before = page.inner_text("#tracing-question")
        time.sleep(PACE)
        page.keyboard.press("Space")
        pressed += 1
        until(
            lambda before=before: (
                page.locator("#tracing-card").is_hidden() or page.inner_text("#tracing-question") != before
            )
        )
    took = time.monotonic() - start
    assert pressed == len(joins(record)) == 5
    assert took < 104 / 4


STUB = """
window.spoken = [];
const speak = (one) => { window.spoken.push([one.text, one.lang]); };
Object.defineProperty(window, "speechSynthesis", { value: { cancel() {}, speak } });
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
"""
MUTE = "delete window.speechSynthesis; delete window.SpeechSynthesisUtterance;"


def test_the_question_is_read_aloud_where_that_is_switched_on(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 2, 4)
    told_doubts(4)
    page = tracing_page(script=STUB)
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    page.keyboard.press("y")
    until(lambda: len(joins(record)) == 1)
    assert page.evaluate("window.spoken") == []  # off until it is switched on
    page.check("#tracing-voice")
    until(lambda: len(page.evaluate("window.spoken")) == 1)
    page.keyboard.press("n")
    until(lambda: len(joins(record)) == 2 and len(page.evaluate("window.spoken")) == 2)
    page.keyboard.press("m")
    until(lambda: len(joins(record)) == 3 and len(page.evaluate("window.spoken")) == 3)
    said = page.evaluate("window.spoken")
    assert [words for words, _ in said] == [
        "pad 5, and pad 6: joined?",
        "Not joined. pad 10, and pad 11: joined?",
        "Joined. Nothing more is in doubt.",
    ]
    assert {language for _, language in said} == {page.evaluate("document.documentElement.lang")} == {"en-GB"}
    page.keyboard.press("u")
    until(lambda: page.evaluate("window.spoken.at(-1)[0]") == "pad 10, and pad 11: joined?")


def test_a_browser_that_cannot_speak_asks_all_the_same(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 2, 4)
    told_doubts(4)
    page = tracing_page(script=MUTE)
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    assert page.locator("#tracing-voice").is_hidden()
    page.keyboard.press("y")
    until(lambda: len(joins(record)) == 1)


def test_an_answer_is_one_message_and_nothing_is_read_for_it(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    """What makes an answer quick; how quick it is, benchmarks/answers.py measures."""
    laid_out(record, 18, 18, 4)
    told_doubts(6)
    page = tracing_page()
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    asked: list[tuple[str, str]] = []
    page.on("request", lambda one: asked.append((one.method, one.url.rpartition("/tracing/")[2])))
    made = page.evaluate(
        """async () => {
        const words = document.getElementById('tracing-question'), before = words.textContent;
        let made = 0;
        const watch = new MutationObserver((all) => { for (const one of all) made += one.addedNodes.length; });
        watch.observe(document.getElementById('tracing'), { childList: true, subtree: true });
        document.dispatchEvent(new KeyboardEvent('keydown', { key: 'y', bubbles: true }));
        while (words.textContent === before) await new Promise(requestAnimationFrame);
        watch.disconnect();
        return made; }"""
    )
    assert len(joins(record)) == 1  # on the disk before the next question is shown
    # No photo, no ways along the copper: beside the act there is the page's own look for what is new.
    assert [one for one in asked if not one[1].startswith("state?seen=")] == [("POST", "act")]
    # The lists of 324 pads and 306 joins are closed, and are not made.
    assert made < 40
    assert page.evaluate("document.getElementById('tracing').hasAttribute('data-working')") is False


def test_pads_boxes_and_pairs_by_mouse_and_by_keys(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 4, 4)
    told_doubts(0)
    page = tracing_page()
    still(page)

    def trace() -> Trace:
        return kept.read(record.parent)

    stage = page.locator("#tracing-stage")

    def centre() -> tuple[float, float]:
        """The middle of the photo in the window, to which a field that was filled in may have been scrolled away."""
        stage.scroll_into_view_if_needed()
        area = stage.bounding_box()
        return area["x"] + area["width"] / 2, area["y"] + area["height"] / 2

    page.check("input[value=pad]")
    page.mouse.click(*centre())
    until(lambda: len(trace().pads) == 25)
    # The middle of the board is shown in the middle of the stage.
    assert (trace().pads[-1].x, trace().pads[-1].y) == pytest.approx((14, 10), abs=0.1)
    page.fill("#tracing-pin", "R1.2")
    page.press("#tracing-pin", "Enter")
    until(lambda: trace().pads[-1].pin == "2")
    middle = centre()
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] + 10, middle[1] + 30)
    page.mouse.move(middle[0] + 20, middle[1] + 40)
    page.mouse.up()
    until(lambda: trace().pads[-1].y > 11)
    page.check("input[value=body]")
    middle = centre()
    page.mouse.move(middle[0] - 60, middle[1] - 30)
    page.mouse.down()
    page.mouse.move(middle[0] - 40, middle[1] - 10)
    page.mouse.move(middle[0] - 20, middle[1] - 4)
    page.mouse.up()
    until(lambda: len(trace().bodies) == 1)
    # Without a mouse: from pad to pad, moved by a tenth of a millimetre, taken out.
    page.check("input[value=look]")
    stage.focus()
    page.keyboard.press(".")
    until(lambda: "Pad P001" in page.inner_text("#tracing-chosen"))
    page.keyboard.press("Shift+ArrowRight")
    until(lambda: trace().pads[0].x == pytest.approx(4.1))
    page.keyboard.press("Delete")
    until(lambda: len(trace().pads) == 24)
    page.keyboard.press("Control+z")
    until(lambda: len(trace().pads) == 25 and page.inner_text("#tracing-pads-count") == "25")
    # A pair is chosen at the cross in the middle of the photo, and joined by a wire.
    page.check("input[value=pair]")
    stage.focus()
    for name in ("P001", "P002"):
        page.keyboard.press(".")
        page.keyboard.press("Enter")
        until(lambda name=name: name in page.inner_text("#tracing-chosen h3"))
    page.fill("#tracing-wire-note", "red, under the board")
    page.get_by_role("button", name="A wire joins them").click()
    until(lambda: len(trace().wires) == 1)
    assert {trace().wires[0].a, trace().wires[0].b} == {"P001", "P002"}
    assert trace().wires[0].note == "red, under the board"


def test_the_wheel_enlarges_and_the_whole_board_comes_back(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 4, 4)
    told_doubts(0)
    page = tracing_page()
    still(page)
    until(lambda: page.evaluate("document.getElementById('tracing-copper').naturalWidth > 0"))
    page.click("#tracing-whole")

    def scale() -> float:
        """How large the photo is shown."""
        return float(page.evaluate("new DOMMatrix(document.getElementById('tracing-copper').style.transform).a"))

    whole = until(scale)
    area = page.locator("#tracing-stage").bounding_box()
    page.mouse.move(area["x"] + 100, area["y"] + 80)
    page.mouse.wheel(0, -400)
    # The wheel's law: e to the power of 400 times 0.0016.
    until(lambda: scale() == pytest.approx(whole * 1.896, rel=0.01))
    page.click("#tracing-whole")
    until(lambda: scale() == pytest.approx(whole, rel=0.01))


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (360, "dark")])
def test_it_can_be_used_by_everybody(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any], width: int, scheme: str
):
    laid_out(record, 6, 4, 4)
    told_doubts(4)
    page = tracing_page(width, scheme)
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    page.click("#tracing-as-taken")
    page.click("#tracing-offer-show")
    until(lambda: page.locator("#tracing-offer").is_visible())
    for part in ("pads", "joins", "keys"):
        page.evaluate(f"document.getElementById('tracing-{part}').open = true")
    found = Axe().run(page).response["violations"]
    assert [(one["id"], [node["target"] for node in one["nodes"]]) for one in found] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_frame_with_three_hundred_joins_takes_a_fraction_of_its_time(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    """Aimed at: 60 frames a second with 300 joins, so 16.7 ms a frame. The browser measures what the page's own script
    takes of it while the photo is enlarged and made smaller; compositing is left out, for want of a graphics card.
    """
    laid_out(record, 18, 18, 4)
    told_doubts(6)
    page = tracing_page()
    until(lambda: page.locator("#tracing-card").is_visible())
    still(page)
    page.click("#tracing-whole")
    assert (
        len(page.evaluate("[...document.querySelectorAll('#tracing-joins-count')].map((one) => one.textContent)")) == 1
    )
    assert int(page.inner_text("#tracing-joins-count")) >= 300
    client = page.context.new_cdp_session(page)
    client.send("Performance.enable")

    def spent() -> float:
        held = {one["name"]: one["value"] for one in client.send("Performance.getMetrics")["metrics"]}
        return float(held["ScriptDuration"])

    frames = page.evaluate(
        """async () => {
        const stage = document.getElementById('tracing-stage'), area = stage.getBoundingClientRect();
        const at = { clientX: area.left + area.width / 2, clientY: area.top + area.height / 2 };
        const turn = (deltaY) => stage.dispatchEvent(new WheelEvent('wheel', { deltaY, ...at, cancelable: true }));
        window.turned = (count) => new Promise((then) => {
          let n = 0;
          const step = () => {
            if (n === count) { then(n); return; }
            n += 1;
            turn(n % 40 < 20 ? -12 : 12);
            requestAnimationFrame(step);
          };
          requestAnimationFrame(step);
        });
        return window.turned(10); }"""
    )
    assert frames == 10
    before = spent()
    page.evaluate("window.turned(120)")
    each = (spent() - before) / 120
    assert each < 0.008, f"{1000 * each:.1f} ms of script a frame"
