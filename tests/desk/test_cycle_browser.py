"""The cycle page in a real browser: knobs, switches, the cursor, pinning, trying, keeping."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.desk.browsing import until, windows
from tests.desk.records import HEATER, STRIP

from lidoff.demo import shipped
from lidoff.record import open as open_record

pytestmark = pytest.mark.browser


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bench = tmp_path / "bench"
    texts = {
        "globe-lamp": shipped("globe-lamp"),
        "heater": HEATER,
        "strip": STRIP,
        "half": 'lidoff = 1\n[item]\ntitle = "Half"\n[[part]]\nref = "R1"\nkind = "resistor"\nnodes = ["live", "a"]\n',
    }
    for name, text in texts.items():
        (bench / name).mkdir(parents=True)
        (bench / name / "item.toml").write_text(text, encoding="utf-8")
    return bench


@pytest.fixture
def opened(browser: Any, served: Any) -> Iterator[Callable[..., Any]]:
    """Opens the cycle page of an item; what leaves this machine or goes wrong in a script fails the test."""
    with windows(browser, served, any_word=True) as new:

        def open_page(item: str, *how: Any, **more: Any) -> Any:
            page = new(f"/items/{item}/cycle", *how, **more)
            page.wait_for_selector("#cycle[data-shown]")
            return page

        yield open_page


def shown(page: Any) -> None:
    """Everything that was asked for is drawn, and the cursor, which is drawn once a frame, where it was put."""
    until(
        lambda: page.evaluate(
            "document.getElementById('cycle').dataset.shown === document.getElementById('cycle').dataset.asked"
        )
    )
    page.evaluate("new Promise((then) => requestAnimationFrame(() => requestAnimationFrame(then)))")


def figure(page: Any, caption: str) -> str:
    shown(page)
    box = page.locator("#cycle-figures > div", has=page.get_by_text(caption, exact=True))
    return str(box.locator(".value").inner_text()).replace("\n", " ").replace("  ", " ")


def curves(page: Any, name: str = "wave") -> str:
    """What a canvas shows, to be told from what it shows otherwise."""
    shown(page)
    return str(page.evaluate(f"document.getElementById('cycle-{name}-curves').toDataURL()"))


def knob(page: Any) -> Any:
    return page.get_by_role("slider", name="Knob VR1")


def round_about(page: Any, knob_face: Any, start: float, end: float) -> None:
    """A drag round the middle of a knob, between two bearings [degrees clockwise from 12 o'clock]."""
    box = knob_face.bounding_box()
    x, y, radius = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, 0.8 * box["width"] / 2
    for step in range(21):
        angle = math.radians(start + (end - start) * step / 20)
        page.mouse.move(x + radius * math.sin(angle), y - radius * math.cos(angle))
        if step == 0:
            page.mouse.down()
    page.mouse.up()


def test_a_knob_is_turned_by_mouse_wheel_and_keyboard(opened: Any):
    page = opened("globe-lamp")
    turned = knob(page)
    assert turned.get_attribute("aria-valuetext") == "5 o’clock, 100 % clockwise"
    assert figure(page, "Power").startswith("5.4")
    round_about(page, turned.locator(".knob-face"), 150, 60)  # 90 degrees back of a sweep of 300
    shown(page)
    assert int(turned.get_attribute("aria-valuenow")) == pytest.approx(70, abs=1)
    less = figure(page, "Power")
    assert float(less.split()[0]) < 5.0
    on_schematic = page.get_by_role("slider", name="VR1 on the schematic")
    assert on_schematic.get_attribute("aria-valuenow") == turned.get_attribute("aria-valuenow")
    turned.focus()
    page.keyboard.press("End")
    assert turned.get_attribute("aria-valuenow") == "100"
    page.keyboard.press("PageDown")
    page.keyboard.press("ArrowLeft")
    assert turned.get_attribute("aria-valuenow") == "89"
    page.keyboard.press("Home")
    assert turned.get_attribute("aria-valuetext") == "7 o’clock, 0 % clockwise"
    assert figure(page, "Percent flicker") != "–"
    turned.hover()
    page.mouse.wheel(0, -120)
    until(lambda: turned.get_attribute("aria-valuenow") == "2")
    assert "Carried along" in page.locator("#cycle-way").inner_text()
    page.get_by_role("button", name="Start from rest").click()
    until(lambda: "Started from rest" in page.locator("#cycle-way").inner_text())


def test_the_knob_on_the_schematic_turns_the_other_one(opened: Any):
    page = opened("globe-lamp")
    mine = page.get_by_role("slider", name="VR1 on the schematic")
    round_about(page, mine.locator(".knob-face"), 150, 30)
    shown(page)
    assert int(knob(page).get_attribute("aria-valuenow")) == pytest.approx(60, abs=2)
    assert page.locator(".knob-where").inner_text() == "1 o’clock"


def finger(page: Any) -> Callable[..., None]:
    """A finger of the browser's own: `touch("touchStart", x, y)`, "touchMove", and "touchEnd" without a place."""
    tasks = page.context.new_cdp_session(page)

    def touch(kind: str, *place: float) -> None:
        points = [{"x": place[0], "y": place[1]}] if place else []
        tasks.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    return touch


def stroked(page: Any, places: list[tuple[float, float]]) -> None:
    touch = finger(page)
    touch("touchStart", *places[0])
    for place in places[1:]:
        touch("touchMove", *place)
    touch("touchEnd")
    shown(page)


def bow(box: Any, share: float, start: int, end: int) -> list[tuple[float, float]]:
    """Places round the middle of a box, from bearing to bearing [degrees], at a share of half its width."""
    x, y, radius = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, share * box["width"] / 2
    step = 5 if end > start else -5
    angles = [math.radians(degrees) for degrees in range(start, end + step, step)]
    return [(x + radius * math.sin(a), y - radius * math.cos(a)) for a in angles]


def test_a_finger_turns_it_too(opened: Any):
    page = opened("globe-lamp", 390, touch=True)
    face = knob(page).locator(".knob-face")
    face.scroll_into_view_if_needed()
    stroked(page, bow(face.bounding_box(), 0.8, 150, 60))
    assert int(knob(page).get_attribute("aria-valuenow")) == pytest.approx(70, abs=1)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_finger_draws_the_cursor_through_the_waves_and_round_the_dial(opened: Any):
    """Along the waves and round the dial's ring the cursor follows; up and down elsewhere the page is scrolled."""
    page = opened("globe-lamp", 390, touch=True)
    at = page.locator("#cycle-at")
    wave = page.locator("#cycle-wave")
    wave.scroll_into_view_if_needed()
    box = wave.bounding_box()
    left, wide, y = box["x"] + 64, box["width"] - 140, box["y"] + 100  # the axis stands between its scales
    before = page.evaluate("scrollY")
    stroked(page, [(left + wide * share / 20, y) for share in range(5, 16)])
    assert int(at.input_value()) == pytest.approx(270, abs=2)
    assert page.evaluate("scrollY") == before

    page.evaluate("document.getElementById('cycle-dial').scrollIntoView({ block: 'center' })")
    before = page.evaluate("scrollY")
    ring = page.locator("#cycle-dial .edge").bounding_box()
    stroked(page, bow(ring, 0.9, 0, 120))
    assert int(at.input_value()) == pytest.approx(120, abs=2)
    assert page.evaluate("scrollY") == before

    x, y = ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2
    stroked(page, [(x, y - step * 15) for step in range(11)])
    until(lambda: page.evaluate("scrollY") > before + 50)


def test_everything_that_moves_is_moved_by_keys(opened: Any):
    """Arrows, page keys, Home and End, as WAI-ARIA's pattern for sliders has them (ARIA Authoring Practices)."""
    page = opened("globe-lamp")

    def press(one: Any, *keys: str) -> str:
        one.focus()
        for key in keys:
            page.keyboard.press(key)
        shown(page)
        return str(one.get_attribute("aria-valuetext"))

    assert press(page.get_by_label("Instant"), "Home") == "0°, 0.0 ms"
    assert press(page.get_by_label("Instant"), "ArrowRight", "ArrowUp") == "2°, 0.1 ms"
    assert press(page.get_by_label("Instant"), "End") == "359°, 16.6 ms"
    assert int(press(page.get_by_label("Instant"), "PageDown").partition("°")[0]) < 349
    for one in (knob(page), page.get_by_role("slider", name="VR1 on the schematic")):
        assert press(one, "Home") == "7 o’clock, 0 % clockwise"
        assert press(one, "PageUp", "PageUp", "ArrowUp") == "9 o’clock, 21 % clockwise"
        assert press(one, "ArrowRight", "ArrowLeft", "ArrowDown", "PageDown") == "8 o’clock, 10 % clockwise"
        assert press(one, "End") == "5 o’clock, 100 % clockwise"
    mains = page.get_by_role("slider", name="Mains")
    assert press(mains, "ArrowRight") == "121 V, recorded 120 V"
    assert press(mains, "End") == "132 V, recorded 120 V"
    assert press(mains, "Home") == "108 V, recorded 120 V"


def test_switches_are_thrown_beside_and_on_the_schematic(opened: Any):
    """The diode halves the heater's power, the second switch takes it out (see test_cycle_live)."""
    page = opened("heater")
    assert figure(page, "Power").startswith(("49.", "50."))
    page.get_by_role("switch", name="S2 closed").click()
    until(lambda: figure(page, "Power").startswith(("99.", "100")))
    on_schematic = page.get_by_role("switch", name="S2, switch on the schematic")
    assert on_schematic.get_attribute("aria-checked") == "true"
    until(lambda: "over its rating" in page.locator("#cycle-table tr", has_text="R1").inner_text())
    on_schematic.focus()
    page.keyboard.press("Space")
    until(lambda: figure(page, "Power").startswith(("49.", "50.")))
    assert page.get_by_role("switch", name="S2 closed").get_attribute("aria-checked") == "false"
    visible = page.locator('[data-switch="S2"] [data-when]:not([display=none])')
    assert [one.get_attribute("data-when") for one in visible.all()] == ["open"]


def test_the_cursor_shows_who_carries_what(opened: Any):
    page = opened("globe-lamp")

    def width(ref: str) -> float:
        return float(page.locator(f'[data-ref="{ref}"] [data-lead]').first.get_attribute("stroke-width"))

    slider = page.get_by_label("Instant")
    slider.fill("90")
    shown(page)
    lit = width("LED1")
    assert lit > 5.0
    now = page.locator("#cycle-table tr", has_text="R3").locator("td.numeric").nth(1)
    until(lambda: now.inner_text().endswith("mA"))
    slider.fill("0")
    shown(page)
    assert width("LED1") == 1.0
    until(lambda: now.inner_text() == "0 A")
    assert page.locator("#cycle-at-shown").inner_text() == "0°, 0.0 ms"
    box = page.locator("#cycle-wave").bounding_box()
    page.mouse.click(box["x"] + 64 + (box["width"] - 140) * 0.25, box["y"] + 120)
    shown(page)
    assert page.locator("#cycle-at-shown").inner_text() in ("89°, 4.1 ms", "90°, 4.2 ms", "91°, 4.2 ms")
    assert width("LED1") == lit
    dial = page.locator("#cycle-dial").bounding_box()
    page.mouse.click(dial["x"] + dial["width"] / 2, dial["y"] + dial["height"] * 0.9)
    shown(page)
    assert page.locator("#cycle-at-shown").inner_text().startswith(("179°", "180°", "181°"))
    play = page.get_by_role("button", name="Play slowly")
    play.click()
    before = page.locator("#cycle-at-shown").inner_text()
    until(lambda: page.locator("#cycle-at-shown").inner_text() != before)
    page.get_by_role("button", name="Stop").click()
    still = page.locator("#cycle-at-shown").inner_text()
    page.wait_for_timeout(200)
    assert page.locator("#cycle-at-shown").inner_text() == still


def test_a_state_is_pinned_and_compared(opened: Any):
    page = opened("globe-lamp")
    page.get_by_role("button", name="Pin this").click()
    row = page.locator("#cycle-compared tr", has=page.get_by_text("Power", exact=True))
    assert row.locator("td").nth(2).inner_text().replace("\u00a0", " ") == "the same"
    knob(page).focus()
    for _ in range(3):
        page.keyboard.press("PageDown")
    shown(page)
    assert row.locator("td").nth(0).inner_text().startswith("5.4")
    assert row.locator("td").nth(2).inner_text().startswith("−")
    page.get_by_label("State", exact=True).select_option("knob a quarter up")
    until(lambda: knob(page).get_attribute("aria-valuenow") == "25")
    with_pinned = {name: curves(page, name) for name in ("wave", "dial")}
    assert "VR1 at 5 o’clock" in page.locator("#cycle-compared").inner_text()
    page.get_by_role("button", name="Unpin").click()
    assert page.locator("#cycle-compared").is_hidden()
    for name, before in with_pinned.items():
        assert curves(page, name) != before


def test_a_value_is_tried_kept_and_undone(opened: Any, folder: Path):
    file = folder / "globe-lamp" / "item.toml"
    before = file.read_text(encoding="utf-8")
    page = opened("globe-lamp")
    recorded = figure(page, "Power")
    field = page.get_by_label("R3 value: try another value")
    field.fill("2k2")
    until(lambda: figure(page, "Power") != recorded)
    assert file.read_text(encoding="utf-8") == before
    tried = page.locator("#cycle-tried")
    assert "R3 value: 1k 2k2" in tried.inner_text().replace("\n", " ")
    field.press("ArrowDown")
    assert field.input_value() == "1k8"
    with_it = figure(page, "Power")
    page.get_by_role("button", name="Keep R3 value 1k8").click()
    until(lambda: open_record(file).part("R3").values.get("value") == 1800.0)
    until(tried.is_hidden)
    assert figure(page, "Power") == with_it
    assert page.get_by_label("R3 value: try another value").input_value() == "1k8"
    page.get_by_role("button", name="Undo").click()
    until(lambda: file.read_text(encoding="utf-8") == before)
    until(lambda: figure(page, "Power") == recorded)
    field = page.get_by_label("R3 value: try another value")
    field.fill("oops")
    field.press("Tab")
    until(lambda: field.get_attribute("aria-invalid") == "true")
    assert "oops" in page.locator("#cycle-table tr", has_text="R3").inner_text()
    field.fill("470")
    until(lambda: figure(page, "Power") != recorded)
    page.get_by_role("button", name="Drop R3 value 470").click()
    until(lambda: figure(page, "Power") == recorded)
    assert field.input_value() == "1k"


def test_how_often_a_section_is_there_is_tried_and_kept(opened: Any, folder: Path):
    file = folder / "strip" / "item.toml"
    before = file.read_text(encoding="utf-8")
    page = opened("strip")
    recorded = figure(page, "Power")
    watts = float(recorded.split()[0])
    series = page.get_by_label("section repeat: try another value")
    drawing = page.locator("#cycle-schematic")
    assert "section × 12" in drawing.text_content()
    series.press("ArrowDown")
    assert series.input_value() == "11"
    until(lambda: figure(page, "Power") != recorded)
    assert float(figure(page, "Power").split()[0]) > watts  # the same mains over fewer in series
    assert "section × 11" in drawing.text_content()
    until(lambda: "one of 11" in page.locator("#cycle-table tr", has_text="LED string").inner_text())
    assert file.read_text(encoding="utf-8") == before
    page.get_by_role("button", name="Drop section repeat 11").click()
    until(lambda: figure(page, "Power") == recorded)
    assert (series.input_value(), "section × 12" in drawing.text_content()) == ("12", True)

    # Twice as many rows side by side take twice the power, and each lead of a section twice the current.
    rows = page.get_by_label("section parallel: try another value")
    rows.fill("2")
    until(lambda: abs(float(figure(page, "Power").split()[0]) / watts - 2.0) < 0.02)
    assert "section × 12 × 2" in drawing.text_content()
    width = {
        ref: page.locator(f'[data-ref="{ref}"] [data-lead]').first.get_attribute("stroke-width")
        for ref in ("BR1", "section/R1")
    }
    assert abs(float(width["BR1"]) - float(width["section/R1"])) < 0.3
    series.fill("0")
    series.press("Tab")
    until(lambda: series.get_attribute("aria-invalid") == "true")
    series.fill("10")
    until(lambda: "section × 10 × 2" in drawing.text_content())
    page.get_by_role("button", name="Keep all").click()
    until(lambda: open_record(file).block("section").repeat == 10)
    assert open_record(file).block("section").parallel == 2
    until(lambda: "section × 10 × 2" in drawing.text_content())
    page.get_by_role("button", name="Undo").click()
    until(lambda: file.read_text(encoding="utf-8") == before)


def test_a_setting_is_kept_as_a_state(opened: Any, folder: Path):
    page = opened("globe-lamp")
    knob(page).focus()
    page.keyboard.press("PageDown")
    page.get_by_label("Name of the state").fill("a little down")
    page.get_by_role("button", name="Keep as a state").click()
    until(lambda: page.get_by_label("State", exact=True).input_value() == "a little down")
    shown(page)
    assert open_record(folder / "globe-lamp" / "item.toml").state("a little down").set["VR1"]["position"] == 0.1
    assert knob(page).get_attribute("aria-valuenow") == "90"


def test_a_part_is_picked_and_its_own_waves_drawn(opened: Any):
    page = opened("globe-lamp")
    wave = curves(page)
    part = page.get_by_role("button", name="C1, capacitor: show its voltage and current")
    part.focus()
    page.keyboard.press("Enter")
    assert part.get_attribute("aria-pressed") == "true"
    assert "C1 voltage" in page.locator("#cycle-wave").text_content()
    assert curves(page) != wave
    page.get_by_role("button", name="C1", exact=True).click()
    assert "mains voltage" in page.locator("#cycle-wave").text_content()


def test_a_bench_supply_shows_no_cycle_and_half_a_record_what_is_missing(opened: Any, folder: Path):
    page = opened("globe-lamp")
    page.get_by_label("State", exact=True).select_option("rods on the bench supply")
    until(lambda: page.locator("#cycle-wave").is_hidden())
    assert figure(page, "Current, rms").startswith(("7.", "8."))
    assert "there is no cycle" in page.locator("#cycle-way").inner_text()
    page.get_by_label("State", exact=True).select_option("knob full up")
    until(lambda: page.locator("#cycle-wave").is_visible())
    half = opened("half")
    assert half.locator("#cycle-told").inner_text().startswith("R1: value is not given")
    assert half.locator("#cycle-solved").is_hidden()
    text = (folder / "half" / "item.toml").read_text(encoding="utf-8")
    (folder / "half" / "item.toml").write_text(text.replace('"a"]', '"neutral"]\nvalue = "1k"'), encoding="utf-8")
    until(lambda: half.locator("#cycle-solved").is_visible())
    assert figure(half, "Power").startswith("52.")  # 230 V across 1000 ohm are 52.9 W


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_nobody_is_left_out(opened: Any, scheme: str, width: int):
    """axe-core finds nothing, with everything on the page that can be: pinned, tried, refused."""
    page = opened("globe-lamp", width, scheme)
    page.get_by_role("button", name="Pin this").click()
    page.get_by_label("R3 value: try another value").fill("820R")
    page.get_by_label("R1 value: try another value", exact=True).fill("oops")
    page.get_by_label("R1 value: try another value", exact=True).press("Tab")
    page.locator("#cycle-assumed summary").click()
    shown(page)
    answer = Axe().run(page).response
    found = [(one["id"], one["nodes"][0]["html"][:160], one["nodes"][0]["any"]) for one in answer["violations"]]
    assert found == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate("document.querySelectorAll('[style]').length") == 0
