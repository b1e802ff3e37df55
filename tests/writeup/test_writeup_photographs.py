"""Photographs in a write-up: small, whole, without what the camera wrote beside them, never in the way of the rest."""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

from PIL import Image

from lidoff.record import Photo
from lidoff.writeup.blocks import Gallery, Heading, Paragraph, plain
from lidoff.writeup.photographs import MOST, photographs


def photo(folder: Path, name: str, size: tuple[int, int] = (60, 40), exif: Image.Exif | None = None) -> Photo:
    Image.new("RGB", size, "#27c").save(folder / name, exif=exif or Image.Exif())
    return Photo(file=name, shows="copper", note="<b>after a wipe</b>")


def shown(svg: str) -> Image.Image:
    (data,) = re.findall(r'href="data:image/jpeg;base64,([^"]+)"', svg)
    return Image.open(io.BytesIO(base64.b64decode(data)))


def test_a_photograph_is_shown_upright_small_and_without_its_place(tmp_path: Path) -> None:
    """Orientation 6 is a quarter turn clockwise; GPSInfo is tag 34853 (Exif 2.3, tables 4 and 3)."""
    exif = Image.Exif()
    exif[274] = 6
    exif.get_ifd(34853)[1] = "N"
    (heading, gallery) = photographs((photo(tmp_path, "a.jpg", (3000, 2000), exif),), tmp_path)
    assert isinstance(heading, Heading)
    assert isinstance(gallery, Gallery)
    (picture,) = gallery.pictures
    with shown(picture.wide) as seen:
        assert seen.size == (667, 1000)
        assert not seen.getexif()
        red, green, blue = seen.getpixel((300, 300))  # type: ignore[misc]
    assert abs(red - 0x22) + abs(green - 0x77) + abs(blue - 0xCC) < 12
    assert plain(picture.caption) == "The copper side. <b>after a wipe</b>"


def test_what_cannot_be_read_is_named_and_the_rest_is_shown(tmp_path: Path) -> None:
    (tmp_path / "no.jpg").write_bytes(b"no picture")
    named = (Photo(file="no.jpg"), photo(tmp_path, "a.jpg"), Photo(file="gone.jpg"))
    _, gallery, left = photographs(named, tmp_path)
    assert isinstance(gallery, Gallery)
    assert len(gallery.pictures) == 1
    assert isinstance(left, Paragraph)
    assert plain(left.text) == "In the record and not shown here: no.jpg and gone.jpg."


def test_many_are_not_all_shown_and_none_need_no_heading(tmp_path: Path) -> None:
    assert photographs((), tmp_path) == []
    _, gallery, left = photographs([photo(tmp_path, f"{number}.jpg") for number in range(MOST + 2)], tmp_path)
    assert isinstance(gallery, Gallery)
    assert len(gallery.pictures) == MOST
    assert isinstance(left, Paragraph)
    assert "12.jpg and 13.jpg" in plain(left.text)


def test_a_name_is_text_and_no_markup(tmp_path: Path) -> None:
    _, gallery = photographs((photo(tmp_path, '"><script>.jpg'),), tmp_path)
    assert isinstance(gallery, Gallery)
    assert "<script" not in gallery.pictures[0].wide
