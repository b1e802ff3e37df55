"""What a page weighs on the wire, photographs beside it, and how far its parts move while they come."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from tests.desk.browsing import until, windows
from tests.desk.test_desk_browser import PAGES, settled
from tests.desk.tracing_board import laid_out, made_up, still

from lidoff.desk import tracing_bench

pytestmark = pytest.mark.browser
MOST = 100_000  # bytes
# How "Largest layout shift score of a page" counts is in the W3C draft "Layout Instability API"; half of what
# web.dev calls good (0.1).
STEADY = 0.05
SHIFTS = """window.moved = 0; new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (!one.hadRecentInput) window.moved += one.value;
}).observe({ type: "layout-shift", buffered: true });"""


@pytest.fixture
def opened(browser: Any, served: Any) -> Iterator[Callable[..., Any]]:
    with windows(browser, served) as new:
        yield partial(new, script=SHIFTS)


def weighed(page: Any, address: str, there: Callable[[], Any]) -> int:
    """What came over the wire until the page was there, but photographs [bytes], headers included."""
    kinds: dict[str, str] = {}
    sizes: dict[str, int] = {}
    listener = page.context.new_cdp_session(page)
    listener.on("Network.responseReceived", lambda one: kinds.update({one["requestId"]: one["response"]["mimeType"]}))
    listener.on("Network.loadingFinished", lambda one: sizes.update({one["requestId"]: one["encodedDataLength"]}))
    listener.send("Network.enable")
    page.goto(address)
    until(there)
    settled(page)
    listener.detach()
    return sum(
        size for which, size in sizes.items() if not kinds.get(which, "").startswith(("image/jpeg", "image/png"))
    )


@pytest.mark.parametrize("width", [1280, 390])
def test_every_page_is_light_and_holds_still(opened: Callable[..., Any], served: Any, width: int):
    page = opened("/", width)
    found = {}
    for name in ["/", "/shelf", *(f"/items/night-light/{one}" for one in [*PAGES, "cycle", "rework"])]:

        def there(name: str = name) -> bool:
            if name.endswith("/cycle"):
                return page.locator("#cycle[data-shown]").count() > 0
            return page.locator("[data-waiting]").count() == 0

        weight = weighed(page, served.address + name, there)
        found[name] = weight, page.evaluate("window.moved")
    assert {name: weight for name, (weight, _) in found.items() if not 5_000 < weight <= MOST} == {}
    assert {name: moved for name, (_, moved) in found.items() if moved >= STEADY} == {}


def test_the_tracing_page_is_light_beside_its_photo(
    record: Path, monkeypatch: pytest.MonkeyPatch, opened: Callable[..., Any], served: Any
):
    laid_out(record, 6, 4, 4)
    monkeypatch.setattr(tracing_bench, "read_copper", made_up(4))
    page = opened("/")
    there = page.locator("#tracing-card").is_visible
    assert 5_000 < weighed(page, f"{served.address}/items/night-light/tracing", there) <= MOST
    still(page)
    assert page.evaluate("window.moved") < STEADY
