"""The print on a photographed part, read on this machine.

The reader is the package rapidocr with the models that its wheel brings (Apache-2.0); it is given their paths, so that
it has nothing to fetch, and where they are missing this module says so instead of letting it try. Print is found in
two views of the photo, as it is and with its contrast made equal everywhere, and each find is read in every way up
that its shape allows. All readings are given back: which one is right is for the person who holds the part.
"""

from __future__ import annotations

import functools
import math
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from lidoff.photos.picture import PhotoError, open_upright

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    Corners = NDArray[np.float32]
    Levels = NDArray[np.float32]

# What follows was set by trial on rendered parts; docs/lettering.md has the counts. Common practice, no source.
_FIND_AT_LEAST: Final = 480  # long side of the picture in which print is looked for [pixels]
_FIND_AT_MOST: Final = 960
_ROOM: Final = 0.08  # a margin around the photo [share of its long side]: print at the very edge is not found
_READ_HEIGHT: Final = 48  # the height at which the model reads a line [pixels]
_LONG: Final = 2.2  # a find this many times longer than wide is read along its length only
_LEAST_CONFIDENCE: Final = 0.3
_NEAR: Final = 0.05  # how far around a point its contrast is judged [share of the long side, standard deviation]
_SMOOTH: Final = 1.5  # the grain of the sensor is taken out before contrast is raised [pixels, standard deviation]
_FLAT: Final = 2.0  # a surface that varies less than this holds no print [grey levels, standard deviation]
_STEEP: Final = 50.0  # grey levels for one standard deviation around the point
_LATIN: Final = re.compile(r"[0-9A-Za-z]")
_PACKAGES: Final = ("rapidocr", "onnxruntime", "PIL", "cv2")
_MISSING: Final = (
    "Reading print from a photo needs the optional text reader, which is not installed; run: pip install lidoff[text]"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """One reading of one piece of print.

    `confidence` is what the reader says of itself [0 to 1]: no probability, and high for some wrong readings.
    `rotation` is how far the upright photo was turned clockwise to read it [degrees; 0, 90, 180 or 270]. `view` is
    "plain" or "equalised". `box` is where it stands: left, top, right, bottom in the upright photo [share of its width
    and height].
    """

    text: str
    confidence: float
    rotation: int
    view: str
    box: tuple[float, float, float, float]

    def as_json(self) -> dict[str, Any]:
        """The reading as `decode --photo --json` prints it."""
        return {
            "text": self.text,
            "confidence": round(self.confidence, 4),
            "rotation": self.rotation,
            "view": self.view,
            "box": [round(edge, 4) for edge in self.box],
        }


def read_lettering(path: str | os.PathLike[str]) -> tuple[Lettering, ...]:
    """Everything on the photo that reads like print, in four rotations and two views, most confident first.

    Nothing is fetched and the file is not changed. Raises PhotoError where the photo cannot be opened, and where the
    optional text reader or its models are missing.
    """
    engine = _engine()
    import numpy as np

    photo = np.asarray(open_upright(path))
    margin = round(_ROOM * max(photo.shape[:2]))
    found = [
        lettering
        for view, pixels in _views(photo, margin)
        for lettering in _read_view(engine, pixels, view, margin, Path(path))
    ]
    return tuple(sorted(found, key=lambda one: (-one.confidence, one.rotation, one.view, one.text)))


@functools.cache
def _engine() -> Any:
    """The reader with its two models loaded, which takes seconds and is therefore done once."""
    if not all(map(find_spec, _PACKAGES)):
        raise PhotoError(_MISSING)
    try:
        import rapidocr
        from rapidocr import RapidOCR
    except ImportError as error:
        raise PhotoError(f"The text reader is installed but does not start: {error}.") from error
    folder = Path(rapidocr.__file__).parent / "models"
    finder, reader = (sorted(folder.glob(f"PP-OCR*_{part}_*.onnx")) for part in ("det", "rec"))
    if not finder or not reader:
        raise PhotoError(
            f"{folder}: the text reader's models are not there; run: pip install --force-reinstall rapidocr"
        )
    return RapidOCR(
        params={
            "Global.log_level": "critical",
            "Global.text_score": 0.0,
            "Det.model_path": str(finder[0]),
            "Det.limit_type": "max",  # the picture comes in the right size
            "Det.limit_side_len": _FIND_AT_MOST,
            "Rec.model_path": str(reader[0]),
        }
    )


def _views(photo: Pixels, margin: int) -> Iterator[tuple[str, Pixels]]:
    """The photo with a margin in the colour of its edge, as it is and with its contrast equalised."""
    import cv2

    def framed(pixels: Pixels) -> Pixels:
        return cv2.copyMakeBorder(pixels, margin, margin, margin, margin, cv2.BORDER_REPLICATE)  # type: ignore[return-value]

    yield "plain", framed(photo)
    yield "equalised", framed(_equalised(photo))


def _equalised(photo: Pixels) -> Pixels:
    """The lightness of each point against what lies around it: faint print and print under glare come out alike.

    level' = 128 + 50 (level - mean) / deviation, both taken with a Gaussian window. On drawn parts it read more than
    equalising the histogram of tiles did, since a body's edge inside a tile uses up what contrast there is.
    """
    import cv2
    import numpy as np

    grey = np.asarray(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), dtype=np.float32)
    grey = np.asarray(cv2.GaussianBlur(grey, (0, 0), _SMOOTH), dtype=np.float32)
    height, width = grey.shape
    # A wide window on a large photo takes most of a minute; what it gives is smooth, so a smaller photo gives it too.
    scale = min(1.0, _FIND_AT_MOST / max(height, width))
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    near = max(_NEAR * max(size), 1.0)

    def around(values: Levels) -> Levels:
        small = values if scale == 1.0 else cv2.resize(values, size, interpolation=cv2.INTER_AREA)
        smooth = cv2.GaussianBlur(small, (0, 0), near)
        return np.asarray(smooth if scale == 1.0 else cv2.resize(smooth, (width, height)), dtype=np.float32)

    apart = grey - around(grey)
    deviation = np.sqrt(np.maximum(around(apart * apart), _FLAT**2))
    levels = np.clip(128.0 + _STEEP * apart / deviation, 0.0, 255.0).astype(np.uint8)
    return cv2.cvtColor(levels, cv2.COLOR_GRAY2RGB)  # type: ignore[return-value]


def _read_view(engine: Any, pixels: Pixels, view: str, margin: int, path: Path) -> Iterator[Lettering]:
    import numpy as np

    height, width = pixels.shape[:2]
    try:
        finds = _find(engine, pixels)
        for corners in finds:
            piece, turned = _straightened(pixels, corners)
            inner = np.array([width - 2 * margin, height - 2 * margin])
            edges = np.clip((np.array([corners.min(axis=0), corners.max(axis=0)]) - margin) / inner, 0.0, 1.0)
            box = (float(edges[0, 0]), float(edges[0, 1]), float(edges[1, 0]), float(edges[1, 1]))
            for quarter in _ways_up(piece):
                text, confidence = _read(engine, np.rot90(piece, -quarter))
                # The model also knows ideographs, and sees them in the outlines of bodies and pads.
                if confidence >= _LEAST_CONFIDENCE and _LATIN.search(text):
                    yield Lettering(
                        text=text,
                        confidence=confidence,
                        rotation=90 * ((turned + quarter) % 4),
                        view=view,
                        box=box,
                    )
    except MemoryError as error:
        raise PhotoError(f"{path}: too large for the memory of this machine; crop it to the part.") from error


def _find(engine: Any, pixels: Pixels) -> list[Corners]:
    """The four corners of each piece of print, in `pixels`; the whole picture where none is made out."""
    import cv2
    import numpy as np

    height, width = pixels.shape[:2]
    longest = max(height, width)
    scale = min(max(longest, _FIND_AT_LEAST), _FIND_AT_MOST) / longest
    way = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_CUBIC
    size = (max(round(width * scale), 32), max(round(height * scale), 32))
    answer = engine(cv2.resize(pixels, size, interpolation=way), use_det=True, use_cls=False, use_rec=False)
    boxes = getattr(answer, "boxes", None)
    if boxes is None or not len(boxes):
        return [np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float32)]
    shrink = np.array([width / size[0], height / size[1]], dtype=np.float32)
    return [np.asarray(box, dtype=np.float32) * shrink for box in boxes]


def _straightened(pixels: Pixels, corners: Corners) -> tuple[Pixels, int]:
    """The piece of print as an upright rectangle, and the quarter turns clockwise that made it so."""
    import cv2
    import numpy as np

    across = max(float(np.linalg.norm(corners[1] - corners[0])), float(np.linalg.norm(corners[2] - corners[3])), 1.0)
    down = max(float(np.linalg.norm(corners[3] - corners[0])), float(np.linalg.norm(corners[2] - corners[1])), 1.0)
    # Small print is enlarged on the way, since the model reads lines of one height.
    scale = max(1.0, _READ_HEIGHT / min(across, down))
    size = (max(round(across * scale), 8), max(round(down * scale), 8))
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], dtype=np.float32)
    matrix = cv2.getPerspectiveTransform(corners, target)
    piece = cv2.warpPerspective(pixels, matrix, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    along = corners[1] - corners[0]
    quarters = round(math.degrees(math.atan2(float(along[1]), float(along[0]))) / 90.0)
    return piece, -quarters % 4  # type: ignore[return-value]


def _ways_up(piece: Pixels) -> tuple[int, ...]:
    """The quarter turns in which a piece can be a line of print: along its length if it is long, else all four."""
    height, width = piece.shape[:2]
    if width > _LONG * height:
        return 0, 2
    if height > _LONG * width:
        return 1, 3
    return 0, 1, 2, 3


def _read(engine: Any, piece: Pixels) -> tuple[str, float]:
    """The line of print in a piece, "" where there is none, and the reader's confidence [0 to 1]."""
    import numpy as np

    answer = engine(np.ascontiguousarray(piece), use_det=False, use_cls=False, use_rec=True)
    texts, scores = getattr(answer, "txts", None), getattr(answer, "scores", None)
    if not texts or not scores:
        return "", 0.0
    return " ".join(str(texts[0]).split()), float(scores[0])
