"""How an error reaches the user: one sentence, on a page or as JSON for a script."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from lidoff.desk.frame import fill, shop_of
from lidoff.desk.guard import TooLargeError
from lidoff.desk.item_desk import StaleError
from lidoff.errors import LidoffError


def said(request: Request, sentence: str, status: int, **more: Any) -> Response:
    """The sentence in the form that was asked for."""
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"sentence": sentence, **more}, status_code=status)
    return HTMLResponse(fill("said.html.j2", sentence=sentence, single=shop_of(request).single), status_code=status)


async def _ours(request: Request, error: Exception) -> Response:
    if isinstance(error, StaleError):
        return said(request, str(error), 409, revision=error.snapshot.revision)
    return said(request, str(error), 422)


async def _too_large(request: Request, error: Exception) -> Response:
    return said(request, str(error), 413)


async def _http(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    detail = error.detail if isinstance(error, HTTPException) else ""
    words = {404: "There is nothing at this address.", 405: "This address does not take that."}
    sentence = detail if " " in detail and status != 405 else words.get(status, f"That did not work ({status}).")
    return said(request, words[404] if sentence == "Not Found" else sentence, status)


HANDLERS: Final[Mapping[Any, Callable[..., Any]]] = {
    LidoffError: _ours,
    TooLargeError: _too_large,
    HTTPException: _http,
}
