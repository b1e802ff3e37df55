"""Taking photos into a record: upright, without the place they were taken at, the original never touched.

The pixels of a JPEG, PNG or WebP that stands upright already are kept as they are, byte for byte; only what is written
beside them is taken out. One that has to be turned, and every HEIC, is coded anew (JPEG at quality 95, no colour
thinned out).
"""

from __future__ import annotations

import contextlib
import os
import re
import unicodedata
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from lidoff.photos.cleaning import UncleanError, clean_jpeg, clean_png, clean_webp, kept_exif, tells_place
from lidoff.photos.picture import PhotoError, check_file, is_heic, open_upright
from lidoff.record import edit
from lidoff.record import open as open_record

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PIL.Image import Exif, Image

FOLDER: Final = "photos"
SHOWN: Final = ("copper", "parts", "plug", "cord", "label", "light-through", "other")
SIDES: Final = ("top", "bottom")
LARGEST_FILE: Final = 200_000_000
"""The largest file that is read [bytes]: fifty megapixels in PNG at four bytes each."""
_QUALITY: Final = 95
_SUFFIX: Final = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp"}
_ORIENTATION: Final = 0x0112


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleaned:
    """A photo ready to be kept: `data` is the file, `size` its width and height [pixels].

    `coded_anew` says whether the pixels had to be coded again, `had_place` whether the original said where it was
    taken.
    """

    data: bytes
    suffix: str
    size: tuple[int, int]
    coded_anew: bool
    had_place: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """One photo that now lies in a record: `file` as the record writes it, from which `original`."""

    file: str
    original: Path
    size: tuple[int, int]
    coded_anew: bool
    had_place: bool
    was_there: bool


def cleaned(path: str | os.PathLike[str]) -> Cleaned:
    """The photo upright and without what it tells beside its picture.

    Raises PhotoError where it is no JPEG, PNG, WebP or HEIC, is damaged, or is too large.
    """
    from PIL import Image

    name = Path(path)
    check_file(name)
    if name.stat().st_size > LARGEST_FILE:
        raise PhotoError(f"{name}: the file is over {LARGEST_FILE // 1_000_000} MB; save it as JPEG.")
    # Every pixel is unpacked once, whatever is done with it: that is how damage shows.
    picture = open_upright(name, longest=None)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if is_heic(name):
            import pillow_heif

            held = pillow_heif.open_heif(name)
            exif = Image.Exif()
            with contextlib.suppress(Exception):
                exif.load(held.info.get("exif") or b"")
            return _coded(picture, "JPEG", exif, held.info.get("icc_profile"))
        with Image.open(name) as opened:
            form, mode, profile = str(opened.format), opened.mode, opened.info.get("icc_profile")
            frames = getattr(opened, "n_frames", 1)
            exif = _exif(opened)
    if form == "MPO":  # two JPEGs in one file; the first is the photo
        form, frames = "JPEG", 1
    if form not in _SUFFIX:
        raise PhotoError(f"{name}: a {form} picture; photos are kept as JPEG, PNG or WebP: save it as one of these.")
    turned = exif.get(_ORIENTATION, 1) in range(2, 9)
    if not turned and frames == 1 and mode in ("RGB", "L", "RGBA", "P", "LA", "1"):
        with contextlib.suppress(UncleanError):
            data = _cleaned_file(name.read_bytes(), form, kept_exif(exif))
            return Cleaned(
                data=data, suffix=_SUFFIX[form], size=picture.size, coded_anew=False, had_place=tells_place(exif)
            )
    return _coded(picture, form, exif, profile)


def _exif(opened: Image) -> Exif:
    from PIL import Image

    try:
        return opened.getexif()
    except Exception:  # damaged Exif is no reason to refuse the picture
        return Image.Exif()


def _cleaned_file(data: bytes, form: str, exif: bytes) -> bytes:
    if form == "JPEG":
        return clean_jpeg(data, exif)
    return clean_png(data) if form == "PNG" else clean_webp(data)


def _coded(picture: Image, form: str, exif: Exif, profile: Any) -> Cleaned:
    held = BytesIO()
    with_profile: dict[str, Any] = {"icc_profile": profile} if isinstance(profile, bytes) and profile else {}
    if form == "JPEG":
        picture.save(held, "JPEG", quality=_QUALITY, subsampling=0, exif=kept_exif(exif), **with_profile)
    elif form == "PNG":
        picture.save(held, "PNG", compress_level=3, **with_profile)
    else:
        picture.save(held, "WEBP", quality=_QUALITY, **with_profile)
    return Cleaned(
        data=held.getvalue(),
        suffix=_SUFFIX[form],
        size=picture.size,
        coded_anew=True,
        had_place=tells_place(exif),
    )


def take_in(
    item: str | os.PathLike[str],
    files: Sequence[str | os.PathLike[str]],
    *,
    side: str | None = None,
    shows: str | None = None,
    note: str | None = None,
) -> tuple[TakenIn, ...]:
    """Copies photos into a record's folder and writes a `[[photo]]` for each; all of them or none.

    A photo that lies there already under any name is not copied again, and gets no second entry. Raises PhotoError
    for a photo that cannot be taken, RecordError for a record that cannot be read or saved; both leave the record as
    it was.
    """
    record = open_record(item)
    source = edit.load(record.path)
    folder = record.folder / FOLDER
    listed = {photo.file for photo in record.photos}
    text, made, taken = source.text, list[Path](), list[TakenIn]()
    try:
        for one in files:
            clean = cleaned(one)
            there = _same_file(folder, clean)
            target = there or _new_name(folder, Path(one), clean.suffix)
            if there is None:
                made.append(target)
                _write(target, clean.data)
            file = f"{FOLDER}/{target.name}"
            if file not in listed:
                table = {"file": file, "side": side, "shows": shows, "note": note}
                text = edit.add_table(text, "photo", {key: value for key, value in table.items() if value})
                listed.add(file)
            taken.append(
                TakenIn(
                    file=file,
                    original=Path(one),
                    size=clean.size,
                    coded_anew=clean.coded_anew,
                    had_place=clean.had_place,
                    was_there=there is not None,
                )
            )
        if text != source.text:
            edit.save(source, text)
    except BaseException:
        for target in made:
            target.unlink(missing_ok=True)
        raise
    return tuple(taken)


def _same_file(folder: Path, clean: Cleaned) -> Path | None:
    if not folder.is_dir():
        return None
    for held in sorted(folder.iterdir()):
        if held.is_file() and held.stat().st_size == len(clean.data) and held.read_bytes() == clean.data:
            return held
    return None


def _new_name(folder: Path, original: Path, suffix: str) -> Path:
    """A name that every file system takes, and that no photo of the record has yet."""
    letters = unicodedata.normalize("NFKD", original.stem).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:60] or "photo"
    name, number = folder / f"{stem}{suffix}", 2
    while name.exists():
        name, number = folder / f"{stem}-{number}{suffix}", number + 1
    return name


def _write(target: Path, data: bytes) -> None:
    try:
        target.parent.mkdir(exist_ok=True)
        # "x": a name that somebody else has taken meanwhile is left alone.
        with target.open("xb") as stream:
            stream.write(data)
    except OSError as error:
        raise PhotoError(f"{target} cannot be written: {error.strerror or error}; nothing was changed.") from error


def pixels(path: str | os.PathLike[str]) -> NDArray[Any]:
    """The photo upright in all its pixels: uint8 of shape (height, width, 3), red first. Raises PhotoError."""
    import numpy as np

    return np.array(open_upright(path, longest=None))


def focal_length(path: str | os.PathLike[str]) -> float | None:
    """The focal length that the camera wrote down, as a multiple of the picture's diagonal; None where it did not.

    From FocalLengthIn35mmFilm (Exif 2.3, tag 41989), whose frame of 24 by 36 mm has a diagonal of 43.27 mm.
    """
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(path) as opened:
                held: Any = opened.getexif().get_ifd(0x8769).get(0xA405)
        length = float(held)
    except Exception:
        return None
    return length / 43.27 if 5 <= length <= 1000 else None
