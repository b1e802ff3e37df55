"""A desk on a folder with the invented night light in it."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

with warnings.catch_warnings():
    # Starlette's client speaks of a successor to httpx; the one that is pinned serves.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient, WebSocketTestSession

from lidoff.demo import shipped
from lidoff.desk import create_app

TOKEN = "a-token-for-tests"
HOST = "127.0.0.1:8123"


class Browser(TestClient):
    """A client that came with the link and, like a browser, says where it comes from."""

    def __init__(self, folder: Path) -> None:
        super().__init__(create_app(folder, token=TOKEN, port=8123), base_url=f"http://{HOST}")
        self.headers["origin"] = f"http://{HOST}"

    def socket(self, path: str) -> WebSocketTestSession:
        """A WebSocket of the desk; the client would ask for another host otherwise."""
        return self.websocket_connect(f"ws://{HOST}{path}")

    def revision(self, key: str) -> str:
        """The revision that an item's page shows."""
        text = self.get(f"/items/{key}/overview").text
        return text.partition('data-revision="')[2].partition('"')[0]

    def edit(self, key: str, *changes: dict[str, object], what: str = "a test") -> dict[str, object]:
        """Saves changes on the newest page; gives the answer."""
        body = {"changes": list(changes), "revision": self.revision(key), "what": what}
        response = self.post(f"/items/{key}/edit", json=body, headers={"accept": "application/json"})
        assert response.status_code == 200, response.text
        answer: dict[str, object] = response.json()
        return answer


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "bench" / "night-light"
    place.mkdir(parents=True)
    (place / "item.toml").write_text(shipped("night-light"), encoding="utf-8")
    return place.parent


@pytest.fixture
def browser(folder: Path) -> Iterator[Browser]:
    with Browser(folder) as client:
        assert client.get(f"/open?token={TOKEN}").status_code == 200
        yield client
