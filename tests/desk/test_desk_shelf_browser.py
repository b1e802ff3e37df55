"""The shelf's page in a real browser, by the keyboard: filled, asked, counted, and usable by everybody."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.desk.test_desk_browser import opened, ready, settled, until

from lidoff.demo import NAMES, shipped

__all__ = ["opened"]
pytestmark = pytest.mark.browser


def test_the_shelf_is_filled_and_asked_by_the_keyboard(
    opened: Callable[..., Any], folder: Any, served: Any, monkeypatch: pytest.MonkeyPatch
):
    from lidoff.desk import shelving
    from lidoff.shelf.working import worked_out

    monkeypatch.setattr(shelving, "worked_out", lambda item, depth: worked_out(item, "quick"))
    for name in NAMES:
        (folder / name).mkdir(exist_ok=True)
        (folder / name / "item.toml").write_text(shipped(name), encoding="utf-8")
    page = opened("/")

    def tab_to(selector: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("(one) => document.activeElement.matches(one)", selector):
                return
        raise AssertionError(f"the keyboard does not reach {selector}")

    tab_to("a[href='/shelf']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/shelf")
    ready(page)
    tab_to("#begin")
    page.keyboard.press("Enter")
    until(lambda: "All 3 records of this folder stand on the shelf" in page.inner_text("#content"))
    until(lambda: "3 put on the shelf" in page.inner_text("#told"))
    assert page.evaluate("document.activeElement.id") == "standing", "the keyboard goes on where it stood"
    tab_to("#question")
    page.keyboard.type("how many plug fuses had no filler")
    page.keyboard.press("Enter")
    page.wait_for_url("**/shelf?ask=how+many*")
    ready(page)
    assert "Understood as: plug-fuse-filler" in page.inner_text("#meant")
    assert page.input_value("#question") == "how many plug fuses had no filler"
    for words in ("items asked about", "looked at"):
        assert words in page.inner_text(".shares")
    page.go_back()
    ready(page)
    assert page.input_value("#question") == ""
    tab_to("td a[href='/items/night-light']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/items/night-light**")
    sizes: list[int] = []
    page.on("response", lambda one: sizes.append(int(one.headers.get("content-length", 0)) or len(one.body())))
    page.goto(f"{served.address}/shelf?ask=over+0.1+W")
    settled(page)
    assert 10_000 < sum(sizes) <= 100_000
    for scheme in ("light", "dark"):
        for width in (360, 1280, 3840):
            page = opened("/shelf?ask=over+0.1+W&count=plug-fuse-filler", width=width, scheme=scheme)
            page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            if width != 3840:
                found = Axe().run(page).response["violations"]
                assert [(one["id"], one["nodes"][0]["html"][:200]) for one in found] == []


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (360, "light"), (360, "dark"), (1280, "light")])
def test_the_shelf_and_the_rework_page_can_be_used_by_everybody(
    opened: Callable[..., Any], served: Any, width: int, scheme: str
):
    page = opened("/shelf", width, scheme)
    found = []
    for name in ("/shelf", "/items/night-light/rework"):
        page.goto(served.address + name)
        ready(page)
        settled(page)
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        answer = Axe().run(page).response
        assert len(answer["passes"]) > 10
        found += [(name, one["id"], one["nodes"][0]["html"][:200]) for one in answer["violations"]]
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
    assert found == []
