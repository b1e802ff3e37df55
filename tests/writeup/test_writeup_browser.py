"""The page in a real browser: no request, nothing wider than the screen, in light and dark, on paper."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from lidoff.demo import NAMES

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("writeup")]


@pytest.fixture(scope="module")
def files(pages: Mapping[str, str], tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    found = {}
    for name, page in pages.items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(page, encoding="utf-8")
    return found


@pytest.mark.parametrize("name", NAMES)
def test_no_request_leaves_the_page_and_nothing_runs(name: str, browser: Any, files: Mapping[str, Path]) -> None:
    page = browser.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(files[name].as_uri(), wait_until="networkidle")
    assert asked == [files[name].as_uri()]
    assert said == []
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 390, 768, 1280, 2560])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_wider_than_the_screen(
    name: str, width: int, scheme: str, browser: Any, files: Mapping[str, Path]
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.goto(files[name].as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    beyond = page.evaluate(
        """width => [...document.querySelectorAll('h1,h2,h3,p,li,td,th,dd,figcaption,pre,svg')]
            .filter(e => e.checkVisibility() && e.getBoundingClientRect().right > width + 0.5 &&
                         !e.closest('thead') && !e.closest('.only'))
            .map(e => e.tagName + ': ' + e.textContent.slice(0, 60))""",
        width,
    )
    assert beyond == []
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_from_their_ground(scheme: str, browser: Any, files: Mapping[str, Path]) -> None:
    """Contrast of at least 4.5 to 1 for every piece of text: WCAG 2.1, success criterion 1.4.3 (from memory)."""
    page = browser.new_page(viewport={"width": 1280, "height": 800}, color_scheme=scheme)
    page.goto(files["globe-lamp"].as_uri())
    poor = page.evaluate(
        """() => {
        const parts = c => c.match(/[\\d.]+/g).map(Number);
        const light = c => { const [r, g, b] = parts(c).map(v => v / 255).map(
            v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126*r + 0.7152*g + 0.0722*b; };
        const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
            if (parts(c).length < 4 || parts(c)[3] > 0) return c; } return 'rgb(255,255,255)'; };
        const poor = [];
        for (const e of document.querySelectorAll('body *:not(svg *)')) {
            if (![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
            const a = light(getComputedStyle(e).color), b = light(ground(e));
            const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            if (ratio < 4.5) poor.push(e.tagName + '.' + e.className + ' ' + ratio.toFixed(2));
        }
        return [...new Set(poor)];
        }"""
    )
    assert poor == []
    page.close()


def test_on_paper_it_is_light_and_the_wide_pictures_are_printed(browser: Any, files: Mapping[str, Path]) -> None:
    page = browser.new_page(viewport={"width": 390, "height": 800}, color_scheme="dark")
    page.goto(files["night-light"].as_uri())
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.querySelector('figure .wide')).display") == "block"
    assert page.evaluate("getComputedStyle(document.querySelector('nav')).display") == "none"
    assert page.pdf(format="A4")[:5] == b"%PDF-"
    page.close()


def test_every_link_is_reached_by_keyboard(browser: Any, files: Mapping[str, Path]) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(files["lamp-charger"].as_uri())
    # The marks at numbers are left out of the round, there are hundreds; where they lead, the key at the top leads too.
    links = page.evaluate("document.querySelectorAll('a:not([tabindex])').length")
    reached = set()
    for _ in range(links + 3):  # what may be moved sideways takes the keyboard as well
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.getAttribute('href')"))
    wanted = page.evaluate("[...new Set([...document.querySelectorAll('a')].map(a => a.getAttribute('href')))]")
    assert set(wanted) <= reached
    page.close()
