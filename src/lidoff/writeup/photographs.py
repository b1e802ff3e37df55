"""The photographs of a record as pictures of a write-up: made small, and laid into an SVG that carries its pixels."""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from lidoff.photos.picture import PhotoError, open_upright
from lidoff.record import Photo
from lidoff.writeup.blocks import Block, Gallery, Heading, Paragraph, Picture, Run, Said, Text
from lidoff.writeup.words import listed

MOST: Final = 12
"""So many are shown: a page is to be sent and read, and the others lie in the record."""
_LONGEST: Final = 1000  # pixels; as wide as two stand side by side on a large screen, twice over
_QUALITY: Final = 80
_SHOWN: Final = {
    "copper": "The copper side",
    "parts": "The parts side",
    "plug": "The plug",
    "cord": "The cord",
    "label": "The label",
    "light-through": "The board with light behind it",
}


def photographs(photos: Sequence[Photo], folder: Path, *, level: int = 2) -> list[Block]:
    """The photographs of a record in `folder`, side by side under a heading of their own; nothing where there are none.

    Only pixels are taken over: what a camera wrote beside them, such as a place, is not. One that cannot be read is
    named, and so are those beyond the first twelve.
    """
    if not photos:
        return []
    pictures: list[Picture] = []
    left = [photo.file for photo in photos[MOST:]]
    for photo in photos[:MOST]:
        try:
            pictures.append(_picture(photo, folder))
        except (OSError, PhotoError):
            left.append(photo.file)
    blocks: list[Block] = [Heading(text="Photographs", id="photographs", level=level)]
    if pictures:
        blocks.append(Gallery(pictures=tuple(pictures)))
    if left:
        said: Text = ("In the record and not shown here: ", Said(text=listed(left)), ".")
        blocks.append(Paragraph(text=said, style="note"))
    return blocks


def _picture(photo: Photo, folder: Path) -> Picture:
    picture = open_upright(folder / photo.file, longest=_LONGEST)
    held = io.BytesIO()
    picture.save(held, "JPEG", quality=_QUALITY, optimize=True)
    data = base64.b64encode(held.getvalue()).decode()
    what = _SHOWN.get(photo.shows or "", "A photograph")
    wide, high = picture.size
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" role="img" '
        'style="display:block;width:100%;height:auto">'
        f"<title>{html.escape(what)}, photographed</title>"
        f"<desc>Photograph {html.escape(photo.file)} of the record.</desc>"
        f'<image href="data:image/jpeg;base64,{data}" width="{wide}" height="{high}"/></svg>'
    )
    caption: list[Run] = [f"{what}."]
    if photo.note:
        caption += [" ", Said(text=photo.note)]
    return Picture(wide=svg, narrow=svg, caption=tuple(caption))
