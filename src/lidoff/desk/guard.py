"""Who may speak to the desk: one browser on this machine that came with the link, and nobody else.

Every request is looked at before anything else sees it:

- Host must be one of the desk's own names, so that a foreign name that was pointed at this machine gets nothing.
- Origin must be the desk's own where anything is changed and for every WebSocket; what the browser itself says about
  the sender (Sec-Fetch-Site) must not contradict it.
- The session cookie must be there. `/open?token=…`, the link that the command prints, sets it (HttpOnly and
  SameSite=Strict).
- Bodies are counted while they come in and cut off at the limit.

Every answer carries a content security policy that lets the page load from the desk alone and run no inline script.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lidoff.errors import LidoffError

OPEN: Final = "/open"
"""The path of the opening link."""
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
"""The content security policy of every page of the desk."""
DOCUMENT_POLICY: Final = (
    "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
"""The policy for a document that lay in a record folder: it may look like something, and do nothing."""
HEADERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "content-security-policy": POLICY,
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": "camera=(), microphone=(), geolocation=()",
        "cache-control": "no-store",
    }
)
LARGEST_BODY: Final = 256_000
"""The largest body of an ordinary request [bytes]."""
LARGEST_UPLOAD: Final = 40_000_000
"""The largest body of a request that brings photographs [bytes]."""
UPLOAD_SUFFIX: Final = "/photos"
_READING: Final = frozenset({"GET", "HEAD"})
_CHANGING: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})


def local_hosts(port: int) -> frozenset[str]:
    """The names under which a browser on this machine may ask for the desk at that port."""
    names = ("127.0.0.1", "localhost", "[::1]")
    bare = frozenset(names) if port == 80 else frozenset()
    return frozenset(f"{name}:{port}" for name in names) | bare


class Guard:
    """The outermost layer of the desk: refuses what does not belong here, and marks every answer."""

    def __init__(self, app: ASGIApp, *, token: str, hosts: Iterable[str], cookie: str) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)
        self.cookie = cookie
        self._token = token.encode()
        # The cookie is not the token: whoever reads one over a shoulder has not got the other.
        self._session = secrets.token_urlsafe(32)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Passes on what may pass."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = foreign(scope, headers, self.hosts)
        if refused is None and scope["type"] == "http" and scope["path"] == OPEN:
            await self._opened(scope)(scope, receive, marked(send))
            return
        if refused is None and not self._known(headers):
            refused = 'This browser has not been let in: use the link that "lidoff desk" printed in the terminal.'
        if refused is not None:
            await _refuse(scope, receive, send, refused)
            return
        if scope["type"] == "websocket":
            await self.app(scope, receive, send)
            return
        limit = LARGEST_UPLOAD if scope["path"].endswith(UPLOAD_SUFFIX) else LARGEST_BODY
        if announced(headers) > limit:
            await answer(scope, receive, send, 413, f"More than {_megabytes(limit)} was sent; it was not taken.")
            return
        await self.app(scope, counted(receive, limit), marked(send))

    def _known(self, headers: Headers) -> bool:
        pairs = [pair.strip().partition("=") for line in headers.getlist("cookie") for pair in line.split(";")]
        return any(
            name == self.cookie and secrets.compare_digest(value.encode(), self._session.encode())
            for name, _, value in pairs
        )

    def _opened(self, scope: Scope) -> Response:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if scope["method"] not in _READING or not secrets.compare_digest(given.encode(), self._token):
            return PlainTextResponse('This is not the link that "lidoff desk" printed.', status_code=403)
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self.cookie, self._session, httponly=True, samesite="strict", path="/")
        return response


def foreign(scope: Scope, headers: Headers, names: frozenset[str]) -> str | None:
    """Why a request comes from somewhere else than a page under one of these names (Host headers), or None."""
    hosts = headers.getlist("host")
    if len(hosts) != 1 or hosts[0].lower() not in names:
        return "The desk does not answer under this name."
    own = f"http://{hosts[0].lower()}"
    origins = headers.getlist("origin")
    method = scope.get("method", "GET")
    if scope["type"] == "http" and method not in _READING | _CHANGING:
        return "The desk knows no such request."
    changes = scope["type"] == "websocket" or method in _CHANGING
    if any(one.lower() != own for one in origins) or (changes and len(origins) != 1):
        return "The request came from another page and was not followed."
    came = headers.get("sec-fetch-site", "none")
    opening = scope["path"] == OPEN and headers.get("sec-fetch-mode") == "navigate"
    if came not in ("none", "same-origin") and not opening:
        return "The request came from another page and was not followed."
    return None


def announced(headers: Headers) -> int:
    """How long a body is said to be [bytes], 0 where it is not said."""
    length = headers.get("content-length", "0")
    return int(length) if length.isdecimal() else 0


class TooLargeError(LidoffError):
    """More came in than was announced or is taken."""

    def __init__(self, limit: int) -> None:
        super().__init__(f"More than {_megabytes(limit)} was sent; it was not taken.")


def counted(receive: Receive, limit: int) -> Receive:
    """Receives a body and raises TooLargeError as soon as more than `limit` [bytes] has come in."""
    taken = 0

    async def receiving() -> Message:
        nonlocal taken
        message = await receive()
        if message["type"] == "http.request":
            taken += len(message.get("body", b""))
            if taken > limit:
                raise TooLargeError(limit)
        return message

    return receiving


def _megabytes(size: int) -> str:
    return f"{size / 1e6:.3g} MB"


def marked(send: Send) -> Send:
    """Sends answers on with the headers of safety, where an answer has not set its own."""

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending


async def _refuse(scope: Scope, receive: Receive, send: Send, sentence: str) -> None:
    if scope["type"] == "websocket":
        # Closed before it was accepted: the browser is answered with 403.
        await send({"type": "websocket.close", "code": 1008, "reason": ""})
        return
    await answer(scope, receive, send, 403, sentence)


async def answer(scope: Scope, receive: Receive, send: Send, status: int, sentence: str) -> None:
    """Answers with one sentence."""
    await PlainTextResponse(sentence, status_code=status)(scope, receive, marked(send))
