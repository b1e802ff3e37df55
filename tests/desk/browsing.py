"""What the tests in a real browser share: waiting, and windows that tell of what goes wrong in them."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any


def until(condition: Callable[[], Any], seconds: float = 20.0) -> Any:
    """What the condition gives as soon as it holds."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := condition():
            return found
        time.sleep(0.03)
    raise AssertionError("waited in vain")


@contextmanager
def windows(browser: Any, served: Any, *, any_word: bool = False) -> Iterator[Callable[..., Any]]:
    """Gives `new(path, width, scheme)`, a window at that address of the desk, let in.

    A window's `script` runs ahead of the page's own.
    At the end nothing may have left this machine, failed in a script or broken the security policy; with `any_word`
    the browser may not have complained of anything at all.
    """
    wrong: list[str] = []
    contexts = []

    def heard(one: Any) -> None:
        if "Content Security Policy" in one.text or (any_word and one.type in ("error", "warning")):
            wrong.append(one.text)

    def new(path: str, width: int = 1280, scheme: str = "light", *, touch: bool = False, script: str = "") -> Any:
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, has_touch=touch)
        contexts.append(context)
        page = context.new_page()
        if script:
            page.add_init_script(script)
        page.on("request", lambda one: None if one.url.startswith((served.address, "blob:")) else wrong.append(one.url))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", heard)
        page.goto(served.link)
        page.goto(served.address + path)
        return page

    yield new
    for context in contexts:
        context.close()
    assert wrong == []
