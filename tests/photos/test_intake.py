"""Photos go into a record upright and without their place; a hostile file is one sentence and changes nothing."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lidoff.photos.cleaning import KEPT_TAGS
from lidoff.photos.intake import TakenIn, cleaned, focal_length, pixels, take_in
from lidoff.photos.picture import MOST_PIXELS, PhotoError
from lidoff.record import open as open_record

RECORD = """# my own words
lidoff = 1
[item]
title = "Lamp"   # found in the shed
"""
# Where in the Exif standard (JEITA CP-3451C, 4.6) the fields stand that this test writes.
ORIENTATION, EXIF, GPS, MAKER_NOTE, SERIAL, FOCAL_35, ARTIST, OFFSET = (
    0x0112,
    0x8769,
    0x8825,
    0x927C,
    0xA431,
    0xA405,
    0x013B,
    0x9010,
)


def picture(width: int = 64, height: int = 40) -> Image.Image:
    """Noise that no coding keeps by chance, with a red top edge to tell which way is up."""
    noise = np.random.default_rng(3).integers(0, 255, (height, width, 3), dtype=np.uint8)
    noise[: height // 4] = (250, 0, 0)
    return Image.fromarray(noise)


def telling_exif(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "Maker"
    exif[ARTIST] = "Somebody"
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
    exif[EXIF] = {MAKER_NOTE: b"secret" * 9, SERIAL: "SN-1", FOCAL_35: 26, OFFSET: "+01:00"}
    return exif


@pytest.fixture
def item(tmp_path: Path) -> Path:
    folder = tmp_path / "lamp"
    folder.mkdir()
    (folder / "item.toml").write_text(RECORD, encoding="utf-8")
    return folder


def taken(item: Path, photo: Path) -> tuple[TakenIn, Path]:
    (one,) = take_in(item, [photo], side="bottom", shows="copper")
    return one, item / one.file


@pytest.mark.parametrize(("form", "suffix"), [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp")])
@pytest.mark.parametrize("orientation", [1, 3, 6])
def test_the_kept_photo_is_upright_and_tells_nothing_but_its_picture(
    form: str, suffix: str, orientation: int, item: Path, tmp_path: Path
) -> None:
    photo = tmp_path / f"IMG 0001{suffix}"
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><exif:GPSLatitude>51</exif:GPSLatitude></x:xmpmeta>'
    options = {} if form == "PNG" else {"xmp": xmp}
    picture().save(photo, form, exif=telling_exif(orientation), **options)
    # What telephones put behind the picture: a film, with the place in it.
    with photo.open("ab") as stream:
        stream.write(b"\0\0\0\x18ftypmp42 GPSCoordinates +51.5")
    before = photo.read_bytes()
    one, kept = taken(item, photo)

    assert photo.read_bytes() == before
    assert one.had_place
    data = kept.read_bytes()
    for word in (b"GPS", b"secret", b"SN-1", b"Somebody", b"xmp", b"ftyp", b"+01:00"):
        assert word not in data
    with Image.open(kept) as opened:
        exif = opened.getexif()
        assert exif.get(ORIENTATION, 1) == 1
        assert not exif.get_ifd(GPS)
        assert set(exif) - {EXIF} | set(exif.get_ifd(EXIF)) <= KEPT_TAGS
    expected = np.asarray(
        Image.open(photo).convert("RGB").transpose({3: 3, 6: 4}[orientation])
        if orientation != 1
        else Image.open(photo).convert("RGB"),
        dtype=np.int16,
    )
    assert one.size == (expected.shape[1], expected.shape[0])
    got = pixels(kept).astype(np.int16)
    assert got.shape == expected.shape
    if orientation == 1:
        assert not one.coded_anew
        assert np.array_equal(got, expected)  # not one pixel has changed
    else:
        assert np.abs(got - expected).mean() < 12  # WebP thins colours out, in noise as nowhere else


def test_the_focal_length_is_kept(item: Path, tmp_path: Path) -> None:
    photo = tmp_path / "a.jpg"
    picture().save(photo, exif=telling_exif())
    _, kept = taken(item, photo)
    assert focal_length(kept) == pytest.approx(26 / 43.27)


def test_the_colour_profile_is_kept(item: Path, tmp_path: Path) -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for orientation in (1, 6):
        photo = tmp_path / f"profile-{orientation}.jpg"
        picture().save(photo, icc_profile=profile, exif=telling_exif(orientation))
        _, kept = taken(item, photo)
        with Image.open(kept) as opened:
            assert opened.info["icc_profile"] == profile


def test_a_heic_is_kept_as_a_jpeg(item: Path, tmp_path: Path) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    photo = tmp_path / "IMG_7.HEIC"
    flat = Image.new("RGB", (96, 64), (200, 40, 40))
    flat.paste((20, 20, 220), (48, 0, 96, 64))
    held = pillow_heif.from_pillow(flat)
    held.save(photo, quality=90, exif=telling_exif().tobytes())
    one, kept = taken(item, photo)
    assert kept.suffix == ".jpg"
    assert one.had_place
    with Image.open(kept) as opened:
        assert opened.format == "JPEG"
        assert not opened.getexif().get_ifd(GPS)
        assert np.abs(np.asarray(opened, dtype=int) - np.asarray(flat, dtype=int)).mean() < 12


def test_the_record_gets_its_entry_and_keeps_its_comments(item: Path, tmp_path: Path) -> None:
    first, second = tmp_path / "Kupfer Seite.png", tmp_path / "b.png"
    picture().save(first)
    picture(30, 30).save(second)
    take_in(item, [first, second], side="bottom", shows="copper", note="mask scraped off")
    text = (item / "item.toml").read_text(encoding="utf-8")
    assert text.startswith(RECORD)
    photos = open_record(item).photos
    assert [one.file for one in photos] == ["photos/kupfer-seite.png", "photos/b.png"]
    assert {(one.side, one.shows, one.note) for one in photos} == {("bottom", "copper", "mask scraped off")}


def test_the_same_photo_is_not_taken_in_twice(item: Path, tmp_path: Path) -> None:
    photo = tmp_path / "a.png"
    picture().save(photo)
    taken(item, photo)
    one, _ = taken(item, photo)
    assert one.was_there
    assert len(open_record(item).photos) == 1
    assert len(list((item / "photos").iterdir())) == 1


def test_two_photos_of_one_name_are_both_kept(item: Path, tmp_path: Path) -> None:
    files = []
    for number in (1, 2):
        (tmp_path / str(number)).mkdir()
        files.append(tmp_path / str(number) / "a.png")
        picture(40 + number).save(files[-1])
    assert [one.file for one in take_in(item, files)] == ["photos/a.png", "photos/a-2.png"]


def bomb(width: int, height: int) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 999)) + chunk(b"IEND", b"")
    )


def jpeg() -> bytes:
    from io import BytesIO

    held = BytesIO()
    picture(400, 300).save(held, "JPEG")
    return held.getvalue()


HOSTILE = {
    "bomb.png": bomb(60_000, 60_000),
    "just-too-large.png": bomb(MOST_PIXELS // 1000 + 1, 1000),
    "cut-short.jpg": jpeg()[:3000],
    "only-a-start.jpg": b"\xff\xd8\xff\xe0",
    "words.jpg": b"this is no picture\n" * 50,
    "empty.jpg": b"",
    "page.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "cut-short.heic": b"\x00\x00\x00\x1cftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 40,
    "old.bmp": b"BM" + b"\0" * 60,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_one_sentence_and_leaves_the_record_alone(name: str, item: Path, tmp_path: Path) -> None:
    good, bad = tmp_path / "good.png", tmp_path / name
    picture().save(good)
    bad.write_bytes(HOSTILE[name])
    with pytest.raises(PhotoError) as caught:
        take_in(item, [good, bad])
    sentence = str(caught.value)
    assert str(bad) in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert (item / "item.toml").read_text(encoding="utf-8") == RECORD
    assert not list((item / "photos").glob("*"))


def test_a_gif_is_told_what_to_become(tmp_path: Path) -> None:
    photo = tmp_path / "a.gif"
    picture().save(photo)
    with pytest.raises(PhotoError, match="save it as one of these"):
        cleaned(photo)


def test_fifty_megapixels_are_taken_in(item: Path, tmp_path: Path) -> None:
    # In grey, so that the test itself stays small; the unpacked picture is RGB as ever.
    photo = tmp_path / "large.png"
    Image.new("L", (MOST_PIXELS // 5000, 5000), 90).save(photo, compress_level=1)
    one, _ = taken(item, photo)
    assert one.size == (10_000, 5000)


def test_the_command_takes_photos_in(item: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from lidoff.cli import main

    photo = tmp_path / "IMG_1.jpg"
    picture().save(photo, exif=telling_exif())
    assert main(["photo", str(item), str(photo), "--side", "bottom", "--shows", "copper"]) == 0
    assert "photos/img-1.jpg (64 by 40 pixels; the place it was taken at was removed)" in capsys.readouterr().out
    assert main(["photo", str(item), str(tmp_path / "none.jpg")]) == 1
    assert "there is no such photo" in capsys.readouterr().err
    assert main(["photo", str(item)]) == 2
