"""The tracing page under fingers, and the photos as taken with the marks that are dragged on them: a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.desk.browsing import until
from tests.desk.tracing_board import laid_out, still, with_other_side

from lidoff.photos import kept

pytestmark = pytest.mark.browser


class Fingers:
    """Real touches, by the browser's own protocol."""

    def __init__(self, page: Any) -> None:
        self.client = page.context.new_cdp_session(page)

    def down(self, *at: tuple[float, float]) -> None:
        self._send("touchStart", at)

    def to(self, *at: tuple[float, float]) -> None:
        self._send("touchMove", at)

    def up(self) -> None:
        self._send("touchEnd", ())

    def _send(self, what: str, at: Any) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(at)]
        self.client.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": points})


def test_the_photo_under_fingers(record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]):
    laid_out(record, 6, 4, 4)
    with_other_side(record)
    told_doubts(0)
    page = tracing_page(390, touch=True)
    still(page)
    until(lambda: page.evaluate("document.getElementById('tracing-copper').naturalWidth > 0"))
    stage, fingers = page.locator("#tracing-stage"), Fingers(page)

    def centre() -> tuple[float, float]:
        """The middle of the photo in the window, wherever the page was scrolled to."""
        stage.scroll_into_view_if_needed()
        held = stage.bounding_box()
        return held["x"] + held["width"] / 2, held["y"] + held["height"] / 2

    def shown() -> list[float]:
        found: list[float] = page.evaluate(
            "(() => { const m = new DOMMatrix(document.getElementById('tracing-copper').style.transform);"
            " return [m.a, m.e, m.f]; })()"
        )
        return found

    before, (x, y), area = shown(), centre(), stage.bounding_box()
    # Two fingers twice as far apart, and moved by 30 px: what lies between them stays between them.
    fingers.down((x - 40, y), (x + 40, y))
    fingers.to((x - 60, y + 20), (x + 60, y + 20))
    fingers.to((x - 80, y + 30), (x + 80, y + 30))
    fingers.up()
    until(lambda: shown()[0] == pytest.approx(2 * before[0], rel=0.01))
    middle = (area["width"] / 2, area["height"] / 2)
    assert shown()[1] == pytest.approx(middle[0] - 2 * (middle[0] - before[1]), abs=2)
    assert shown()[2] == pytest.approx(middle[1] + 30 - 2 * (middle[1] - before[2]), abs=2)
    page.click("#tracing-whole")
    until(lambda: shown() == pytest.approx(before))
    # A tap sets a pad with that tool in hand: the middle of the board is shown in the middle.
    page.check("input[value=pad]")
    x, y = centre()
    fingers.down((x, y))
    fingers.up()
    until(lambda: len(kept.read(record.parent).pads) == 25)
    new = kept.read(record.parent).pads[-1]
    assert (new.x, new.y) == pytest.approx((14, 10), abs=0.2)
    # A finger that rests shows the far side until it is lifted, and sets nothing.
    page.check("input[value=look]")
    x, y = centre()
    fingers.down((x + 60, y + 4))
    until(lambda: page.evaluate("document.getElementById('tracing-stage').hasAttribute('data-through')"))
    fingers.up()
    until(lambda: not page.evaluate("document.getElementById('tracing-stage').hasAttribute('data-through')"))
    assert page.locator("#tracing-chosen").is_hidden()
    fingers.down((x + 3, y + 3))
    fingers.up()
    until(lambda: "Pad P025" in page.inner_text("#tracing-chosen"))


def test_a_corner_under_a_finger_is_seen(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    laid_out(record, 6, 4, 4)
    told_doubts(0)
    page = tracing_page(390, touch=True)
    still(page)
    page.click("#tracing-as-taken")
    handle = page.get_by_label("Corner top left")
    handle.scroll_into_view_if_needed()
    area, photo = handle.bounding_box(), page.locator("#tracing-raw").bounding_box()
    assert min(area["width"], area["height"]) >= 24  # WCAG 2.2, 2.5.8: 24 CSS pixels
    scale = (photo["width"] - 10) / 280  # 4 px spare and a line of 1 px at each side; the photo is 280 pixels wide
    x, y = area["x"] + area["width"] / 2, area["y"] + area["height"] / 2
    # The finger lies on the grip, the corner itself 24 px or more beside it.
    assert np.hypot(x - photo["x"] - 5, y - photo["y"] - 5) > 24
    fingers = Fingers(page)
    fingers.down((x, y))
    fingers.to((x + 10, y + 4))
    fingers.to((x + 20, y + 8))
    assert page.locator("#tracing-raw .tracing-loupe").is_visible()
    fingers.up()
    page.click("#tracing-raw-use")
    until(lambda: kept.read(record.parent).photos[0].corners[0] != (0, 0))
    corner = kept.read(record.parent).photos[0].corners[0]
    assert corner == pytest.approx((20 / scale, 8 / scale), abs=1.5)


def test_the_width_is_asked_for_first_where_nothing_gives_the_scale(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    """Holes and pads are told by their size: with a guess for the scale they are looked for in the wrong place."""
    laid_out(record, 6, 4, 4)
    trace = kept.read(record.parent)
    assert trace.board is not None
    guessed = trace.board.model_copy(update={"scale_from": ""})
    kept.write(record.parent, trace.model_copy(update={"board": guessed}))
    told_doubts(0)
    page = tracing_page()
    page.locator("#tracing-first").fill("42")
    page.keyboard.press("Enter")
    until(lambda: page.locator("#tracing-first-form").is_hidden())
    until(lambda: kept.read(record.parent).board.width == 42.0)


def test_scale_and_sides_are_set_on_the_page(
    record: Path, told_doubts: Callable[[int], None], tracing_page: Callable[..., Any]
):
    """By keys alone: two marks 140 pixels apart that are said to be 21 mm make the board of 280 pixels 42 mm wide."""
    laid_out(record, 6, 4, 4)
    with_other_side(record)
    told_doubts(0)
    page = tracing_page()
    still(page)
    page.locator("#tracing-as-taken").press("Enter")
    page.locator("#tracing-ruler-set").press("Enter")
    page.get_by_label("Ruler, the other mark").press("Shift+ArrowRight")
    page.keyboard.press("Shift+ArrowLeft")
    page.locator("#tracing-ruler-length").fill("21 mm")
    page.keyboard.press("Enter")
    until(lambda: "42.0 by 30.0 mm" in page.inner_text("#tracing-scale"))
    until(lambda: "a length of 21 mm" in page.inner_text("#tracing-scaled"))
    assert page.locator("#tracing-first-form").is_hidden()
    trace = kept.read(record.parent)
    assert trace.said.length is not None
    assert np.hypot(*np.subtract(*trace.said.length[:2])) == pytest.approx(140)
    still(page)
    page.locator("#tracing-holes summary").press("Enter")
    copper = page.locator("#tracing-holes-copper")
    copper.scroll_into_view_if_needed()
    area = copper.bounding_box()
    for across, down in ((0.2, 0.3), (0.8, 0.3), (0.8, 0.7)):
        page.mouse.click(area["x"] + across * area["width"], area["y"] + down * area["height"])
    copper.press("Enter")  # and one in the middle without a mouse
    until(lambda: page.locator("#tracing-holes-other .tracing-mark").count() == 4)
    until(lambda: "4 holes, 0.0" in page.inner_text("#tracing-holes-told"))
    moved = page.get_by_label("Hole 4 in the other photo")
    for _ in range(2):
        moved.press("Shift+ArrowRight")
    # 20 of 280 pixels are 3 mm of 42.
    until(lambda: "Hole 4 is" in page.inner_text("#tracing-holes-told"))
    for _ in range(2):
        moved.press("Shift+ArrowLeft")
    until(lambda: "4 holes, 0.0" in page.inner_text("#tracing-holes-told"))
    page.locator("#tracing-holes-use").press("Enter")
    until(lambda: len(kept.read(record.parent).said.clicked) == 4)
    until(lambda: not kept.read(record.parent).said.unread)
    other = kept.read(record.parent).photos[1]
    assert "4" in other.aligned_by
    assert other.residual is not None
    assert other.residual < 0.1
    assert page.locator("#tracing-holes-go").is_visible()
