"""Photographs: taken in, shown, given a purpose."""

from __future__ import annotations

import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from lidoff.desk.edits import changed
from lidoff.desk.frame import desk_of, run, shop_of
from lidoff.desk.incoming import take_in
from lidoff.desk.item_desk import ItemDesk
from lidoff.record.things import SHOWS, SIDES

_TYPES: Final = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}
_WIDEST: Final = 2400
_CHUNK: Final = 1 << 20


async def _taken(request: Request) -> Response:
    """One photograph, as the body of the request; what it shows stands in the address."""
    desk, query = desk_of(request), request.query_params
    with tempfile.TemporaryDirectory(prefix="lidoff-") as place:
        # The name that the browser gives is a word to call the file by, never a path.
        file = Path(place) / f"{_stem(query.get('name', ''))}{_suffix(query.get('name', ''))}"
        with file.open("wb") as stream:
            async for chunk in request.stream():
                await run(stream.write, chunk)
        name = await run(keep, desk, file, dict(query))
    return JSONResponse({"file": name})


def keep(desk: ItemDesk, file: Path, query: dict[str, str]) -> str:
    """Takes a photograph into the record and writes it down; gives its name there. Raises LidoffError."""
    name = take_in(file, desk.folder)
    table: dict[str, Any] = {"file": name}
    if query.get("shows") in SHOWS:
        table["shows"] = query["shows"]
    if query.get("side") in SIDES:
        table["side"] = query["side"]
    changes: list[dict[str, Any]] = []
    if name not in {str(one.get("file")) for one in desk.now().tables("photo")}:
        changes.append({"do": "add", "kind": "photo", "table": table})
    if query.get("about"):
        changes.append({"do": "answer", "about": query["about"], "photo": name})
    if changes:
        desk.edit(lambda text: changed(text, changes), revision=None, what=f"photograph {name}")
    return name


async def _shown(request: Request) -> Response:
    desk, shop = desk_of(request), shop_of(request)
    name = request.path_params["name"]
    kind = _TYPES.get(Path(name).suffix.lower())
    file = await run(shop.confined, desk.folder, name)
    if kind is None or file is None:
        raise HTTPException(404, "There is no such photograph in this record.")
    wide = request.query_params.get("wide", "")
    width = min(int(wide), _WIDEST) if wide.isdecimal() and wide != "0" else None
    data, kind = await run(_drawn, file, width, kind)
    return Response(data, media_type=kind, headers={"cache-control": "private, max-age=60"})


def _drawn(file: Path, width: int | None, kind: str) -> tuple[bytes, str]:
    """The picture as it stands in the file, or upright and smaller. What is no picture is not given out."""
    from lidoff.photos.picture import open_upright

    if width is not None:
        return small(file, width), "image/jpeg"
    open_upright(file)
    return file.read_bytes(), kind


def small(file: Path, width: int) -> bytes:
    """A picture upright and at most that long on its long side [pixels], as JPEG. Raises PhotoError."""
    from lidoff.photos.picture import open_upright

    held = BytesIO()
    open_upright(file, longest=width).convert("RGB").save(held, "JPEG", quality=82)
    return held.getvalue()


def _stem(name: str) -> str:
    plain = "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in Path(name).stem)
    return plain.strip("-")[:40] or "photo"


def _suffix(name: str) -> str:
    suffix = Path(name).suffix.lower()
    return suffix if suffix in (*_TYPES, ".heic", ".heif") else ".jpg"


routes: Final[list[BaseRoute]] = [
    Route("/items/{key}/photos", _taken, methods=["POST"]),
    Route("/items/{key}/photo/{name:path}", _shown),
]
