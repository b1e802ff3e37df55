"""A drawn board on the tracing page, whose picture's word is made up, so that what is asked is known."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image
from tests.desk.browsing import until

from lidoff.photos import kept
from lidoff.photos.joins import Candidate, propose
from lidoff.photos.kept import KeptBoard, KeptPad, KeptPhoto, Trace
from lidoff.photos.tracing import Scale, Traced

RECORD = """lidoff = 1

[item]
title = "A lamp"

[[part]]
ref = "R1"
kind = "resistor"
marking = "4k7"

[[photo]]
file = "copper.png"
side = "bottom"
shows = "copper"
"""
PX = 10  # pixels per mm


def laid_out(record: Path, columns: int, rows: int, apart: float) -> None:
    """A record with a drawn board: pads in rows, each joined to the next one to its right by a track."""
    width, height = (columns + 1) * apart, (rows + 1) * apart
    picture = np.full((round(height * PX), round(width * PX), 3), (52, 84, 58), np.uint8)
    pads = []
    for row in range(rows):
        y = (row + 1) * apart
        middle = round(y * PX)
        picture[middle - 4 : middle + 4, round(apart * PX) : round(columns * apart * PX)] = (190, 186, 178)
        for column in range(columns):
            pads.append(KeptPad(id=f"P{len(pads) + 1:03d}", x=(column + 1) * apart, y=y))
    record.write_text(RECORD, encoding="utf-8")
    Image.fromarray(picture).save(record.parent / "copper.png")
    corners = ((0.0, 0.0), (width * PX, 0.0), (width * PX, height * PX), (0.0, height * PX))
    photo = KeptPhoto(
        file="copper.png",
        corners=corners,
        corners_from="user",
        pose=((1 / PX, 0.0, 0.0), (0.0, 1 / PX, 0.0), (0.0, 0.0, 1.0)),
    )
    board = KeptBoard(width=width, height=height, scale_from="width as given")
    kept.write(record.parent, Trace(board=board, photos=(photo,), pads=tuple(pads)))


def with_other_side(record: Path) -> None:
    """A photo of the parts side beside it: the copper side mirrored, and laid over it so."""
    with record.open("a", encoding="utf-8") as stream:
        stream.write('\n[[photo]]\nfile = "parts.png"\nside = "top"\nshows = "parts"\n')
    Image.open(record.parent / "copper.png").transpose(Image.Transpose.FLIP_LEFT_RIGHT).save(
        record.parent / "parts.png"
    )
    trace = kept.read(record.parent)
    assert trace.board is not None
    first, width = trace.photos[0], trace.board.width
    pose = ((-1 / PX, 0.0, width), (0.0, 1 / PX, 0.0), (0.0, 0.0, 1.0))
    other = first.model_copy(update={"file": "parts.png", "pose": pose, "mirrored": True})
    kept.write(record.parent, trace.model_copy(update={"photos": (first, other)}))


def made_up(every: int) -> Callable[..., Traced]:
    """A reading that makes every `every`-th join to the next pad doubtful, the others accepted; 0 for none."""

    def read(_rgb: Any, _pose: Any, trace: Trace) -> Traced:
        near = [(a, b) for a, b in zip(trace.pads, trace.pads[1:], strict=False) if a.y == b.y]
        candidates = [
            Candidate(
                a=a.id,
                b=b.id,
                margin=0.1 + n / 1000 if every and n % every == 0 else 1.5,
                weakest=((a.x + b.x) / 2 * PX, a.y * PX),
                view="lightness",
                judged="ask" if every and n % every == 0 else "accept",
                why="the weakest point is neither copper nor gap" if every and n % every == 0 else "",
            )
            for n, (a, b) in enumerate(near)
        ]
        joins = propose([pad.id for pad in trace.pads], candidates)
        return Traced(joins=joins, views=(), scale=Scale(origin=(0, 0), factor=1.0), unsure=(), refused=None)

    return read


def page_of(new: Callable[..., Any], width: int = 1280, scheme: str = "light", **more: Any) -> Any:
    """The tracing page in a window of `browsing.windows`."""
    page = new("/items/night-light/tracing", width, scheme, **more)
    until(lambda: "pads" in page.inner_text("#tracing-told"))
    return page


def still(page: Any) -> None:
    """Nothing is being read any more."""
    until(lambda: not page.evaluate("document.getElementById('tracing').hasAttribute('data-working')"))


def joins(record: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((record.parent / "trace.json").read_text(encoding="utf-8"))["joins"]
    return [one for one in found if one["evidence"]["kind"] != "picture"]
