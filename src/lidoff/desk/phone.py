"""A telephone that sends photographs over the local network, paired once by a code. Off until it is asked for.

While it is on, a second, small app listens on this machine's address in the local network, on a port of its own. It
knows two things: a page that asks for the code, and taking photographs into the one record for which it was switched
on. It gives nothing out, neither record nor photographs. It ends after five wrong codes, ten minutes after it was last
used, when it is switched off, and with the desk. The way there is not encrypted: whoever listens on that network sees
the photographs that are sent, and the code.
"""

from __future__ import annotations

import secrets
import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import uvicorn
from starlette.applications import Starlette
from starlette.datastructures import Headers
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from lidoff.desk.frame import fill, run
from lidoff.desk.guard import LARGEST_BODY, LARGEST_UPLOAD, announced, answer, counted, foreign, marked
from lidoff.desk.item_desk import ItemDesk
from lidoff.errors import LidoffError

Keep = Callable[[ItemDesk, Path, dict[str, str]], str]
_WRONG_CODES: Final = 5
_IDLE: Final = 600.0  # [s] after which it ends by itself
_COOKIE: Final = "lidoff-phone"
_STATIC: Final = Path(__file__).parent / "static"
# An address that no packet is sent to (RFC 5737, TEST-NET-1; from memory): asking the way there tells our own address.
_SOMEWHERE: Final = ("192.0.2.1", 9)


class PhoneError(LidoffError):
    """A telephone cannot be let in; the text says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What the telephone needs: the `address` to open and the `code` to type; `paired` once it has."""

    address: str
    code: str
    item: str
    paired: bool


class Door:
    """What the small app lets through: who has the code, and how often it was got wrong."""

    def __init__(self, host: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.host = host
        self.code = f"{secrets.randbelow(1_000_000):06d}"
        self.session = secrets.token_urlsafe(32)
        self.paired = False
        self.wrong = 0
        self._clock = clock
        self._used = clock()

    @property
    def open(self) -> bool:
        """Whether anything is let through still."""
        return self.wrong < _WRONG_CODES and self._clock() - self._used < _IDLE

    def pair(self, code: str) -> bool:
        """Whether this is the code; it opens once, and a telephone that has it keeps a cookie."""
        if self.paired or not self.open:
            return False
        if not secrets.compare_digest(code.encode(), self.code.encode()):
            self.wrong += 1
            return False
        self.paired = True
        self._used = self._clock()
        return True

    def known(self, cookie: str | None) -> bool:
        """Whether this is the paired telephone."""
        right = self.paired and cookie is not None and secrets.compare_digest(cookie.encode(), self.session.encode())
        if right:
            self._used = self._clock()
        return right


class _Gate:
    """The outermost layer: one name, no other page, bodies counted, and nothing once the door is shut."""

    def __init__(self, app: ASGIApp, *, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008, "reason": ""})
            else:
                await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = foreign(scope, headers, frozenset({self.door.host}))
        limit = LARGEST_UPLOAD if scope["path"] == "/photos" else LARGEST_BODY
        if refused is not None:
            await answer(scope, receive, send, 403, refused)
        elif not self.door.open:
            await answer(scope, receive, send, 403, "This is closed now; switch it on again at the desk.")
        elif announced(headers) > limit:
            await answer(scope, receive, send, 413, "That is too large; it was not taken.")
        else:
            await self.app(scope, counted(receive, limit), marked(send))


def phone_app(door: Door, desk: ItemDesk, keep: Keep) -> Starlette:
    """The small app: `keep` takes a photograph into the record of `desk`."""

    async def page(request: Request) -> Response:
        known = door.known(request.cookies.get(_COOKIE))
        return HTMLResponse(fill("phone.html.j2", known=known))

    async def pair(request: Request) -> Response:
        code = (await request.body())[:40].decode("utf-8", "replace").strip()
        if not door.pair(code):
            return JSONResponse({"sentence": "That is not the code, or it was used already."}, status_code=403)
        response = JSONResponse({})
        response.set_cookie(_COOKIE, door.session, httponly=True, samesite="strict")
        return response

    async def photos(request: Request) -> Response:
        if not door.known(request.cookies.get(_COOKIE)):
            return JSONResponse({"sentence": "This telephone has not been let in."}, status_code=403)
        with TemporaryDirectory(prefix="lidoff-") as place:
            file = Path(place) / "phone.jpg"
            with file.open("wb") as stream:
                async for chunk in request.stream():
                    await run(stream.write, chunk)
            try:
                await run(keep, desk, file, {"shows": request.query_params.get("shows", "")})
            except LidoffError as error:
                return JSONResponse({"sentence": str(error)}, status_code=422)
        return JSONResponse({})

    return Starlette(
        routes=[
            Route("/", page),
            Route("/pair", pair, methods=["POST"]),
            Route("/photos", photos, methods=["POST"]),
            Mount("/static", StaticFiles(directory=_STATIC)),
        ],
        middleware=[Middleware(_Gate, door=door)],
    )


class Phone:
    """Switches the small app on and off; one at a time."""

    def __init__(self, keep: Keep) -> None:
        self._keep = keep
        self._lock = threading.Lock()
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None
        self._door: Door | None = None
        self._item = ""

    def offer(self) -> Offer | None:
        """What is on offer now, None where it is off."""
        with self._lock:
            door = self._door
            if door is not None and not door.open:
                self._stop()
                return None
            if door is None:
                return None
            return Offer(address=f"http://{door.host}", code=door.code, item=self._item, paired=door.paired)

    def start(self, desk: ItemDesk, address: str | None = None) -> None:
        """Switches it on for that item; what was on before is switched off. Raises PhoneError without a network."""
        with self._lock:
            self._stop()
            listener = _listening(address or local_address())
            host, port = listener.getsockname()[:2]
            door = Door(f"{host}:{port}")
            config = uvicorn.Config(
                phone_app(door, desk, self._keep),
                log_level="error",
                access_log=False,
                server_header=False,
                lifespan="off",
                timeout_graceful_shutdown=1,
            )
            self._server = uvicorn.Server(config)
            self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [listener]}, daemon=True)
            self._thread.start()
            self._door, self._item = door, desk.key

    def stop(self) -> None:
        """Switches it off."""
        with self._lock:
            self._stop()

    def _stop(self) -> None:
        if self._server is not None and self._thread is not None:
            self._server.should_exit = True
            self._thread.join(5)
        self._server = self._thread = self._door = None


def local_address() -> str:
    """The address of this machine in the local network. Raises PhoneError where it is in none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            asking.connect(_SOMEWHERE)
            address = str(asking.getsockname()[0])
    except OSError as error:
        raise PhoneError("This machine is in no network that a telephone could reach.") from error
    if address.startswith(("127.", "0.")):
        raise PhoneError("This machine is in no network that a telephone could reach.")
    return address


def _listening(address: str) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.bind((address, 0))
        listener.listen()
    except OSError as error:
        listener.close()
        reason = (error.strerror or str(error)).lower()
        raise PhoneError(f"The address {address} cannot be listened on: {reason}.") from error
    return listener
