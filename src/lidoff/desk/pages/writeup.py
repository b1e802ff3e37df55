"""The write-up: made from the record as it stands, looked at, given away."""

from __future__ import annotations

from typing import Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.account.fingerprint import fingerprint
from lidoff.circuit.checking import missing
from lidoff.desk.frame import Page, account_of, desk_of, page, run, shop_of
from lidoff.desk.guard import DOCUMENT_POLICY
from lidoff.desk.item_desk import ItemDesk, Snapshot
from lidoff.desk.publishing import FORMS, Made, made, media, write
from lidoff.desk.telling import places, told

PAGE: Final = Page(
    name="writeup",
    title="Write-up",
    order=100,
    lead="Everything that was seen, measured and worked out, as one page that needs no network and can be printed.",
)


async def _writeup(request: Request) -> Response:
    desk = desk_of(request)
    snapshot = await run(desk.now)
    there = await run(_made, desk, snapshot)
    return await page(
        request,
        PAGE,
        "writeup.html.j2",
        desk,
        snapshot,
        forms=[(form, there.get(form.name, [])) for form in FORMS if form.there],
        chapters=told(snapshot.data),
        places=places(snapshot.data),
        gaps=list(missing(snapshot.item)) if snapshot.item else [],
    )


def _made(desk: ItemDesk, snapshot: Snapshot) -> dict[str, list[Made]]:
    item = snapshot.item
    return made(desk.made_in, fingerprint(item) if item is not None and not snapshot.errors else None)


async def _make(request: Request) -> Response:
    desk = desk_of(request)
    form = next((one for one in FORMS if one.name == request.path_params["form"] and one.there), None)
    if form is None:
        raise HTTPException(404, "There is no such form of a write-up.")
    snapshot = await run(desk.now)
    account = await account_of(request, desk, snapshot)
    await run(write, form, account, desk.made_in)
    return JSONResponse({"form": form.name})


async def _open(request: Request) -> Response:
    desk, name = desk_of(request), request.path_params["name"]
    there = await run(made, desk.made_in, None)
    listed = any(one.name == name for files in there.values() for one in files) or name in (
        "report.json",
        "figures.csv",
    )
    file = await run(shop_of(request).confined, desk.made_in, name)
    kind = media(name)
    if not listed or file is None or kind is None:
        raise HTTPException(404, "That has not been made yet.")
    # Whatever lies there under that name, it may look like something and do nothing. A PDF is shown by the browser's
    # own reader, which a sandbox would keep out.
    policy = "default-src 'none'; frame-ancestors 'none'" if kind == "application/pdf" else DOCUMENT_POLICY
    headers = {"content-security-policy": policy, "cache-control": "no-store"}
    copied = kind.startswith(("application/json", "text/csv"))
    return FileResponse(file, media_type=kind, headers=headers, filename=f"{desk.key}-{file.name}" if copied else None)


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/writeup", _writeup),
    Route("/items/{key}/writeup/make/{form}", _make, methods=["POST"]),
    Route("/items/{key}/writeup/file/{name:path}", _open),
]
