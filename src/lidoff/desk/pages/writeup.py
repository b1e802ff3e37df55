"""The write-up: made from the record as it stands, looked at, given away."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.account.fingerprint import fingerprint
from lidoff.desk.frame import Page, account_of, desk_of, page, run, shop_of
from lidoff.desk.guard import DOCUMENT_POLICY
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.publishing import FORMS, Form, written
from lidoff.record.checking import missing

PAGE: Final = Page(
    name="writeup",
    title="Write-up",
    order=100,
    lead="Everything that was seen, measured and worked out, as one page that needs no network and can be printed.",
)


async def _writeup(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    item = snapshot.item
    return await page(
        request,
        PAGE,
        "writeup.html.j2",
        desk,
        snapshot,
        forms=[(form, await run(_state, request, desk, snapshot, form)) for form in FORMS if form.there()],
        gaps=list(missing(item)) if item else [],
    )


def _state(request: Request, desk: ItemDesk, snapshot: Snapshot, form: Form) -> str:
    """Whether that form is there and of this record: "", "there" or "older"."""
    file = shop_of(request).confined(desk.folder, form.file)
    if file is None:
        return ""
    if form.file.endswith(".html") and snapshot.item is not None and not snapshot.errors:
        # The page says of which record it was made.
        head = file.read_text(encoding="utf-8", errors="replace")[:4000]
        return "there" if fingerprint(snapshot.item) in head else "older"
    return "there" if file.stat().st_mtime >= desk.file.stat().st_mtime else "older"


async def _make(request: Request) -> Response:
    desk = desk_of(request)
    form = next((one for one in FORMS if one.name == request.path_params["form"] and one.there()), None)
    if form is None:
        raise HTTPException(404, "There is no such form of a write-up.")
    snapshot = await run(desk.now)
    account = await account_of(request, desk, snapshot)
    await run(written, form, account, desk.folder)
    return JSONResponse({"address": f"/items/{desk.key}/writeup/{form.name}"})


async def _open(request: Request) -> Response:
    desk = desk_of(request)
    form = next((one for one in FORMS if one.name == request.path_params["form"]), None)
    file: Path | None = await run(shop_of(request).confined, desk.folder, form.file) if form else None
    if form is None or file is None:
        raise HTTPException(404, "That has not been made yet.")
    # Whatever lies there under that name, it may look like something and do nothing.
    headers = {"content-security-policy": DOCUMENT_POLICY, "cache-control": "no-store"}
    name = None if form.shown else f"{desk.key}-{file.name}"
    return FileResponse(file, media_type=form.media, headers=headers, filename=name)


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/writeup", _writeup),
    Route("/items/{key}/writeup/{form}", _make, methods=["POST"]),
    Route("/items/{key}/writeup/{form}", _open),
]
