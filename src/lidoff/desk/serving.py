"""Serving the desk on this machine: a port, a link, the browser."""

from __future__ import annotations

import gc
import os
import secrets
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Final

import uvicorn

from lidoff._compiler import announcement
from lidoff.cycle import warm
from lidoff.desk.app import create_app
from lidoff.errors import LidoffError

HOST: Final = "127.0.0.1"
_LARGEST_MESSAGE: Final = 1_000_000  # [bytes] that a page may send over a WebSocket at once


class ServingError(LidoffError):
    """The desk cannot be opened; the text says why."""


def serve(
    folder: Path,
    *,
    port: int = 0,
    browser: bool = True,
    photos: Path | None = None,
    shelf: Path | None = None,
    told: Callable[[str], None] = print,
) -> None:
    """The desk on a folder until it is stopped (Ctrl-C); `told` is given the opening link as soon as it is served.

    `port` 0 takes any free one; `photos` is a folder in which photographs arrive, `shelf` the shelf's folder or index.
    Raises ServingError where there is no such folder or the port is taken.
    """
    if not folder.is_dir():
        raise ServingError(f"{folder}: there is no such folder; name a record folder, or one that holds records")
    if photos is not None and not photos.is_dir():
        raise ServingError(f"{photos}: there is no such folder; name the one in which photographs arrive")
    listener = listening(port)
    with listener:
        served = listener.getsockname()[1]
        token = secrets.token_urlsafe(24)
        link = f"http://{HOST}:{served}/open?token={token}"
        config = uvicorn.Config(
            create_app(folder, token=token, port=served, photos=photos, shelf=shelf),
            log_level="warning",
            access_log=False,  # addresses carry the token
            lifespan="on",
            ws="websockets-sansio",
            ws_max_size=_LARGEST_MESSAGE,
            ws_per_message_deflate=False,  # nothing leaves this machine, and packing would take longer than sending
            server_header=False,
            timeout_graceful_shutdown=2,
        )
        _Server(config, lambda: _ready(link, browser, told)).run(sockets=[listener])


def listening(port: int) -> socket.socket:
    """A socket of this machine alone: nothing on the network can reach it. Raises ServingError."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((HOST, port))
    except (OSError, OverflowError) as error:
        listener.close()
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise ServingError(f"the port {port} cannot be used: {reason}; choose another with --port") from error
    return listener


def _ready(link: str, browser: bool, told: Callable[[str], None]) -> None:
    told(link)
    if browser:
        webbrowser.open(link)


class _Server(uvicorn.Server):
    """Says when it can be asked."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Starts, and says so."""
        await super().startup(sockets)
        if self.started:
            self._ready()
            if announcement(os.environ) is None:  # else it would keep the desk from being stopped for half a minute
                threading.Thread(target=_warm_up).start()


def _warm_up() -> None:
    """Loads the solver before anybody asks for a cycle, and takes what was loaded out of the garbage collector's way.

    The program's own objects stay as long as it runs; looking through all of them again takes some 30 ms, which shows
    as a jerk while a knob is turned.
    """
    warm()
    gc.collect()
    gc.freeze()
