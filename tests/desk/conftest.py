"""A desk on a folder with the invented night light in it: in process, or served to a real browser."""

from __future__ import annotations

import threading
import time
import warnings
from collections.abc import Awaitable, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import anyio
import pytest
from tests.desk.browsing import windows
from tests.desk.tracing_board import made_up, page_of

with warnings.catch_warnings():
    # Starlette's client speaks of a successor to httpx; the one that is pinned serves.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient, WebSocketTestSession

from lidoff.demo import shipped
from lidoff.desk import create_app, tracing_bench

TOKEN = "a-token-for-tests"
HOST = "127.0.0.1:8123"


class Client(TestClient):
    """A client that, like a browser, says where it comes from; `let_in` follows the link."""

    def __init__(self, folder: Path, **more: Any) -> None:
        more.setdefault("shelf", folder.parent / "kept")  # never the shelf of whoever runs the tests
        super().__init__(create_app(folder, token=TOKEN, port=8123, **more), base_url=f"http://{HOST}")
        self.headers["origin"] = f"http://{HOST}"

    def let_in(self) -> None:
        """Follows the opening link."""
        assert self.get(f"/open?token={TOKEN}").status_code == 200

    def socket(self, path: str, **more: Any) -> WebSocketTestSession:
        """A WebSocket of the desk; the client would ask for another host otherwise."""
        return self.websocket_connect(f"ws://{HOST}{path}", **more)

    def revision(self, key: str) -> str:
        """The revision that an item's page shows."""
        text = self.get(f"/items/{key}/outside").text
        return text.partition('data-revision="')[2].partition('"')[0]

    def ask(self, path: str, body: dict[str, Any]) -> Any:
        """What a page's script sends; gives the response."""
        return self.post(path, json=body, headers={"accept": "application/json"})

    def edit(self, key: str, *changes: dict[str, Any], what: str = "a test") -> dict[str, Any]:
        """Saves changes on the newest page; gives the answer."""
        body = {"changes": list(changes), "revision": self.revision(key), "what": what}
        response = self.ask(f"/items/{key}/edit", body)
        assert response.status_code == 200, response.text
        answer: dict[str, Any] = response.json()
        return answer


@pytest.fixture
def in_loop() -> Callable[[Callable[[], Awaitable[Any]]], Any]:
    """Runs a coroutine function in a thread of its own: a browser driven from this one leaves its loop running."""

    def go(work: Callable[[], Awaitable[Any]]) -> Any:
        with ThreadPoolExecutor(1) as pool:
            return pool.submit(anyio.run, work).result()

    return go


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "bench" / "night-light"
    place.mkdir(parents=True)
    (place / "item.toml").write_text(shipped("night-light"), encoding="utf-8")
    return place.parent


@pytest.fixture
def record(folder: Path) -> Path:
    return folder / "night-light" / "item.toml"


@pytest.fixture
def client(folder: Path) -> Iterator[Client]:
    with Client(folder) as client:
        client.let_in()
        yield client


@dataclass(frozen=True)
class Served:
    """A desk served on this machine, for a real browser."""

    link: str
    address: str


@pytest.fixture
def served(folder: Path) -> Iterator[Served]:
    import uvicorn

    from lidoff.desk.serving import listening

    listener = listening(0)
    port = listener.getsockname()[1]
    config = uvicorn.Config(
        create_app(folder, token=TOKEN, port=port, shelf=folder.parent / "kept"),
        log_level="error",
        lifespan="on",
        ws="websockets-sansio",
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    try:
        for _ in range(400):
            if server.started:
                break
            time.sleep(0.02)
        assert server.started
        yield Served(link=f"http://127.0.0.1:{port}/open?token={TOKEN}", address=f"http://127.0.0.1:{port}")
    finally:
        server.should_exit = True
        thread.join(10)
        listener.close()


@pytest.fixture
def told_doubts(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Makes every so many-th join to the next pad doubtful, the others accepted; 0 for none."""
    return lambda every: monkeypatch.setattr(tracing_bench, "read_copper", made_up(every))


@pytest.fixture
def tracing_page(browser: Any, served: Any) -> Iterator[Callable[..., Any]]:
    """Opens the tracing page; what leaves this machine or goes wrong in a script fails the test."""
    with windows(browser, served) as new:
        yield partial(page_of, new)
