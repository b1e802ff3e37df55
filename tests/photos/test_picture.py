"""A photo from anywhere is opened upright, or refused in one sentence, and never changed."""

from __future__ import annotations

import contextlib
import importlib.util
import os
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest

if importlib.util.find_spec("PIL") is None:
    pytest.skip("Pillow is not installed: pip install lidoff[text]", allow_module_level=True)

from PIL import Image

from lidoff.photos.picture import LONGEST_SIDE, PhotoError, open_upright

RED, BLUE = (250, 0, 0), (0, 0, 250)


def two_colours(width: int = 40, height: int = 20) -> Image.Image:
    """Red above blue, and one white corner top left."""
    picture = Image.new("RGB", (width, height), RED)
    picture.paste(BLUE, (0, height // 2, width, height))
    picture.paste((255, 255, 255), (0, 0, width // 4, height // 4))
    return picture


def header_of_png(width: int, height: int) -> bytes:
    """A PNG that says it is this large, with next to nothing in it."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", size) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


def refused(photo: Path) -> str:
    with pytest.raises(PhotoError) as caught:
        open_upright(photo)
    sentence = str(caught.value)
    assert str(photo) in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_exif_orientation_is_followed(orientation: int, tmp_path: Path) -> None:
    # Exif 2.3 (JEITA CP-3451C), tag 274: where row 0 and column 0 of the stored picture lie in the upright one.
    to_stored = {
        1: None,
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }[orientation]
    upright = two_colours()
    stored = upright.transpose(to_stored) if to_stored is not None else upright
    exif = Image.Exif()
    exif[0x0112] = orientation
    photo = tmp_path / "turned.png"
    stored.save(photo, exif=exif)
    assert np.array_equal(np.asarray(open_upright(photo)), np.asarray(upright))


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_that_does_not_exist_is_none(orientation: int, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    photo = tmp_path / "odd.png"
    two_colours().save(photo, exif=exif)
    assert np.array_equal(np.asarray(open_upright(photo)), np.asarray(two_colours()))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF"])
def test_formats(kind: str, tmp_path: Path) -> None:
    photo = tmp_path / "photo"
    two_colours().save(photo, format=kind)
    before = photo.read_bytes(), photo.stat().st_mtime_ns
    opened = np.asarray(open_upright(photo)).astype(int)
    assert opened.shape == (20, 40, 3)
    assert abs(opened[8, 35] - np.array(RED)).max() < 40
    assert abs(opened[18, 35] - np.array(BLUE)).max() < 40
    assert (photo.read_bytes(), photo.stat().st_mtime_ns) == before


def test_sixteen_bits_of_grey_keep_their_shades(tmp_path: Path) -> None:
    photo = tmp_path / "deep.png"
    Image.fromarray((np.arange(256, dtype=np.uint16) * 100 + 5000).reshape(1, 256).repeat(4, axis=0)).save(photo)
    opened = np.asarray(open_upright(photo))
    assert opened[0, 0, 0] == 0
    assert opened[0, 255, 0] == 255
    assert (np.diff(opened[0, :, 0].astype(int)) >= 0).all()


def test_what_is_transparent_is_white(tmp_path: Path) -> None:
    photo = tmp_path / "clear.png"
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(photo)
    assert (np.asarray(open_upright(photo)) == 255).all()


def test_forty_eight_megapixels_are_read_and_reduced(tmp_path: Path) -> None:
    photo = tmp_path / "large.jpg"
    Image.new("L", (8000, 6000), 120).save(photo)
    opened = open_upright(photo)
    assert max(opened.size) == LONGEST_SIDE
    assert opened.size[0] / opened.size[1] == pytest.approx(8 / 6, rel=1e-3)


@pytest.mark.parametrize("size", [(7100, 7100), (10_000, 10_000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)])
def test_a_picture_larger_than_any_camera_makes_is_refused_unopened(size: tuple[int, int], tmp_path: Path) -> None:
    photo = tmp_path / "bomb.png"
    photo.write_bytes(header_of_png(*size))
    assert "50 million" in refused(photo)


def test_missing_empty_and_no_file(tmp_path: Path) -> None:
    assert "no such photo" in refused(tmp_path / "missing.jpg")
    (tmp_path / "empty.jpg").touch()
    assert "empty" in refused(tmp_path / "empty.jpg")
    assert "not a file" in refused(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.jpg")
    assert "not a file" in refused(tmp_path / "pipe.jpg")


@pytest.mark.parametrize(
    "content", [b"no picture", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", b"\x00" * 5000, b"<svg/>"]
)
def test_what_is_no_picture(content: bytes, tmp_path: Path) -> None:
    photo = tmp_path / "note.jpg"
    photo.write_bytes(content)
    assert "not a picture" in refused(photo)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF"])
def test_a_damaged_file_ends_in_one_sentence(kind: str, tmp_path: Path) -> None:
    noise = Image.fromarray(np.random.default_rng(4).integers(0, 256, (60, 80, 3), dtype=np.uint8))
    photo = tmp_path / "whole"
    noise.save(photo, format=kind)
    whole = photo.read_bytes()
    rng = np.random.default_rng(5)
    for share in (0.1, 0.5, 0.9):
        cut = tmp_path / "cut"
        cut.write_bytes(whole[: int(len(whole) * share)])
        refused(cut)
    for _ in range(20):
        spoilt = bytearray(whole)
        for place in rng.integers(4, len(whole), 12):
            spoilt[place] = int(rng.integers(0, 256))
        cut.write_bytes(bytes(spoilt))
        # Raw pixels have no checks, so that a spoilt file may still open; anything but a PhotoError fails the test.
        with contextlib.suppress(PhotoError):
            assert open_upright(cut).mode == "RGB"
