"""Opening a photo from anywhere: upright, in plain colours, of a bounded size; the file is only ever read."""

from __future__ import annotations

import os
import stat
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS: Final = 50_000_000
"""The largest picture that is opened [pixels]; four times what a telephone makes as a rule."""
LONGEST_SIDE: Final = 3200
"""What a larger picture is reduced to [pixels]; a part that fills half of it still has print forty pixels high."""
# Formats that Pillow reads by itself: its list also has some that start other programs.
_FORMATS: Final = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
_NAMED: Final = "JPEG, PNG, WebP, HEIC, TIFF, BMP or GIF"
# ISO/IEC 14496-12, 4.3 (file type box) with the brands of ISO/IEC 23008-12 for coded still pictures.
_HEIC_BRANDS: Final = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_ORIENTATION: Final = 0x0112  # Exif 2.3 (JEITA CP-3451C), 4.6.4, tag 274


class PhotoError(LidoffError, ValueError):
    """A photo that cannot be opened or read; the text names the file and says what to do."""


def open_upright(path: str | os.PathLike[str], *, longest: int | None = LONGEST_SIDE) -> Image:
    """The first picture of the file, turned as its Exif orientation says, RGB, at most `longest` [pixels] on its long
    side; None keeps every pixel.

    Raises PhotoError where there is no such file, where it is no picture of a known format, is damaged, or has more
    than MOST_PIXELS.
    """
    from PIL import Image, UnidentifiedImageError

    name = Path(path)
    check_file(name)
    try:
        # Pillow only warns of pictures far larger than MOST_PIXELS; they end here before anything is unpacked.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if is_heic(name):
                # What turns a HEIC is in the container, which its reader follows; its Exif orientation is for show
                # (ISO/IEC 23008-12, 6.5.10).
                orientation, picture = 1, _plain(_from_heic(name))
            else:
                with Image.open(name, formats=_FORMATS) as opened:
                    _check_size(name, opened.size)
                    orientation = _orientation(opened)
                    if longest is not None:
                        # A JPEG can be unpacked at a half, a quarter or an eighth, never under the size asked for.
                        opened.draft("RGB", (longest, longest))
                    opened.load()
                    picture = _plain(opened)
    except PhotoError:
        raise
    except Image.DecompressionBombError as error:
        raise _too_large(name, "far more pixels than a camera makes") from error
    except UnidentifiedImageError as error:
        raise PhotoError(f"{name}: not a picture in {_NAMED}; save it as one of these.") from error
    except MemoryError as error:
        raise PhotoError(f"{name}: too large for the memory of this machine; crop it to the part.") from error
    except Exception as error:  # a damaged file makes the decoders raise almost anything
        raise PhotoError(f"{name}: the picture is damaged and cannot be unpacked; save or copy it again.") from error
    if longest is not None and max(picture.size) > longest:
        picture.thumbnail((longest, longest), Image.Resampling.LANCZOS)
    return _turned(picture, orientation)


def is_heic(name: Path) -> bool:
    """Whether the file begins as a HEIC does."""
    with name.open("rb") as stream:
        head = stream.read(12)
    return head[4:8] == b"ftyp" and head[8:12] in _HEIC_BRANDS


def _from_heic(name: Path) -> Image:
    try:
        import pillow_heif
    except ImportError as error:
        raise PhotoError(
            f"{name}: a HEIC photo needs the extra heif (pip install lidoff[heif]), or save it as JPEG."
        ) from error
    held = pillow_heif.open_heif(name, convert_hdr_to_8bit=True)
    _check_size(name, held.size)
    made: Image = held.to_pillow()
    return made


def _check_size(name: Path, size: tuple[int, int]) -> None:
    width, height = size
    if width * height > MOST_PIXELS:
        raise _too_large(name, f"{width} by {height} pixels")


def check_file(name: Path) -> None:
    """Raises PhotoError unless the name is that of a readable file with something in it; a pipe would wait for ever."""
    try:
        found = name.stat()
    except (OSError, ValueError) as error:
        raise PhotoError(f"{name}: there is no such photo; check the name.") from error
    if not stat.S_ISREG(found.st_mode):
        raise PhotoError(f"{name}: not a file; name the photo itself.")
    if not os.access(name, os.R_OK):
        raise PhotoError(f"{name}: the file may not be read; change its permissions.")
    if not found.st_size:
        raise PhotoError(f"{name}: the file is empty; copy the photo again.")


def _too_large(name: Path, how: str) -> PhotoError:
    return PhotoError(f"{name}: {how}; at most {MOST_PIXELS // 1_000_000} million are read: crop it to the part.")


def _orientation(opened: Image) -> int:
    """The Exif orientation, 1 to 8; 1 where there is none or none that can be read.

    That loses nothing: print is looked for all ways up.
    """
    try:
        found: Any = opened.getexif().get(_ORIENTATION, 1)
    except Exception:
        return 1
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def _turned(picture: Image, orientation: int) -> Image:
    from PIL import Image

    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }
    return picture.transpose(turns[orientation]) if orientation in turns else picture


def _plain(opened: Image) -> Image:
    """The picture in RGB; what is transparent is white, sixteen bits of grey become eight."""
    import numpy as np
    from PIL import Image

    if opened.mode.startswith("I") or opened.mode == "F":
        deep = np.asarray(opened, dtype=np.float64)
        low, high = float(deep.min()), float(deep.max())
        return Image.fromarray(((deep - low) * (255.0 / ((high - low) or 1.0))).astype(np.uint8)).convert("RGB")
    if opened.mode in ("RGBA", "LA", "PA") or "transparency" in opened.info:
        solid = opened.convert("RGBA")
        ground = Image.new("RGBA", solid.size, "white")
        ground.alpha_composite(solid)
        return ground.convert("RGB")
    return opened.convert("RGB")
