"""What a photo file tells beside its picture, taken out without touching the picture.

A file is a row of segments or chunks; those that say how the picture is to be shown stay, all others go: Exif but for
the few fields of `KEPT_TAGS`, XMP, comments, thumbnails, maker's notes, and whatever stands behind the end of the
picture (telephones put a film there, which has the place of the shot in it as well).

    JPEG  ITU-T T.81, annex B (markers); Exif 2.3 (JEITA CP-3451C), 4.5.4 (APP1), ICC.1:2010, annex B.4 (APP2)
    PNG   ISO/IEC 15948, clause 11 (chunks)
    WebP  RFC 9649, section 2 (RIFF container)
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from PIL.Image import Exif

# Exif tags that help to read a board off the picture, and name nobody and no place.
_IN_FIRST: Final = {0x010F: "Make", 0x0110: "Model"}
_IN_EXIF: Final = {
    0x829A: "ExposureTime",
    0x829D: "FNumber",
    0x8827: "ISOSpeedRatings",
    0x9003: "DateTimeOriginal",
    0x920A: "FocalLength",
    0xA405: "FocalLengthIn35mmFilm",
}
KEPT_TAGS: Final = frozenset(_IN_FIRST) | frozenset(_IN_EXIF)
_EXIF_IFD: Final = 0x8769
_GPS_IFD: Final = 0x8825

_PNG_START: Final = b"\x89PNG\r\n\x1a\n"
# What a PNG needs to be shown as it was meant; text, time, Exif and private chunks are not among them.
_PNG_KEPT: Final = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"pHYs")
)
_WEBP_KEPT: Final = frozenset((b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"))
_WEBP_EXIF_FLAG, _WEBP_XMP_FLAG = 0x08, 0x04


class UncleanError(LidoffError):
    """The file is not built as its format says; nothing is said about whether its picture can be unpacked."""


def kept_exif(exif: Exif) -> bytes:
    """The allowed part of a photo's Exif as a TIFF structure ready for a file; empty where nothing is left.

    A field that is damaged, too long or of a strange type is left out.
    """
    from PIL import Image

    new = Image.Exif()
    for tag in _IN_FIRST:
        if (value := _plain_value(exif.get(tag))) is not None:
            new[tag] = value
    inner: dict[int, Any] = {}
    held = exif.get_ifd(_EXIF_IFD)
    for tag in _IN_EXIF:
        if (value := _plain_value(held.get(tag))) is not None:
            inner[tag] = value
    if inner:
        new[_EXIF_IFD] = inner
    return new.tobytes() if len(new) else b""


def tells_place(exif: Exif) -> bool:
    """Whether the Exif says where the photo was taken."""
    return bool(exif.get_ifd(_GPS_IFD))


def _plain_value(value: Any) -> Any:
    if isinstance(value, str):
        text = "".join(sign for sign in value if sign.isprintable()).strip()
        return text[:64] or None
    if isinstance(value, tuple):
        value = value[0] if value else None
    if isinstance(value, bool) or value is None or isinstance(value, bytes):
        return None
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return value if 0 <= number < 2**31 else None


def clean_jpeg(data: bytes, exif: bytes) -> bytes:
    """The JPEG with `exif` as its only Exif, colour profile kept, everything else beside the picture left out.

    Raises UncleanError where the markers do not follow T.81.
    """
    kept = [b"\xff\xd8"]
    if exif:
        body = exif if exif.startswith(b"Exif\0\0") else b"Exif\0\0" + exif
        kept.append(b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body)
    kept.extend(data[start:end] for start, end in _jpeg_pieces(data))
    return b"".join(kept) + b"\xff\xd9"


def _jpeg_pieces(data: bytes) -> Iterator[tuple[int, int]]:
    """The stretches of the file to keep, between its start and its end marker."""
    if data[:2] != b"\xff\xd8":
        raise UncleanError
    at = 2
    while True:
        if at + 4 > len(data) or data[at] != 0xFF:
            raise UncleanError
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        if marker == 0xD9:
            return
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if end > len(data) or marker < 0xC0:
            raise UncleanError
        if marker == 0xDA:
            end = _end_of_scan(data, end)
            yield at, end
            if end + 2 == len(data):
                return
        elif not _is_beside(data, at, end):
            yield at, end
        at = end


def _is_beside(data: bytes, at: int, end: int) -> bool:
    """Whether a segment says something beside the picture: an application's data or a comment."""
    marker, body = data[at + 1], data[at + 4 : min(end, at + 20)]
    if marker == 0xE0:
        return not body.startswith(b"JFIF\0")
    if marker == 0xE2:
        return not body.startswith(b"ICC_PROFILE\0")
    if marker == 0xEE:
        return not body.startswith(b"Adobe")  # says how the colours are coded
    return 0xE0 <= marker <= 0xEF or marker == 0xFE


def _end_of_scan(data: bytes, at: int) -> int:
    """Where the coded data ends: the next marker that is neither a stuffed zero nor a restart."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            raise UncleanError
        following = data[at + 1]
        if following == 0 or 0xD0 <= following <= 0xD7:
            at += 2
        elif following == 0xFF:
            at += 1
        else:
            return at


def clean_png(data: bytes) -> bytes:
    """The PNG with the chunks alone that its picture needs. Raises UncleanError where the chunks do not fit."""
    if not data.startswith(_PNG_START):
        raise UncleanError
    kept, at = [_PNG_START], len(_PNG_START)
    while at + 12 <= len(data):
        length, name = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        end = at + 12 + length
        if end > len(data):
            raise UncleanError
        if name in _PNG_KEPT:
            kept.append(data[at:end])
        if name == b"IEND":
            return b"".join(kept)
        at = end
    raise UncleanError


def clean_webp(data: bytes) -> bytes:
    """The WebP (one still picture) with the chunks alone that its picture needs.

    Raises UncleanError where the chunks do not fit.
    """
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP":
        raise UncleanError
    stop = min(len(data), 8 + int.from_bytes(data[4:8], "little"))
    kept, at = [], 12
    while at + 8 <= stop:
        name, length = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        end = at + 8 + length + (length & 1)
        if at + 8 + length > stop:
            raise UncleanError
        chunk = data[at:end]
        if name == b"VP8X" and length >= 1:
            chunk = chunk[:8] + bytes([chunk[8] & ~(_WEBP_EXIF_FLAG | _WEBP_XMP_FLAG)]) + chunk[9:]
        if name in _WEBP_KEPT:
            kept.append(chunk)
        at = end
    if not kept:
        raise UncleanError
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body
