"""`trace.json`: what was traced on a record's photos, as it lies in the record folder.

Board coordinates are in mm, x to the right and y down as the first copper photo is seen. Every join keeps what it
rests on. The file is read strictly: what does not fit is one sentence that names the place.
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from lidoff.errors import LidoffError

NAME: Final = "trace.json"
VERSION: Final = 1
_LARGEST: Final = 8_000_000  # bytes

Point = tuple[float, float]
Origin = Literal["picture", "user"]


class TraceError(LidoffError, ValueError):
    """A trace that cannot be read or written: one sentence that names the file and the place in it."""


class _Kept(BaseModel):
    # Not a number and infinite are no places on a board; an unknown key may be a newer program's and is refused by
    # the version, a misspelt one by name.
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class KeptBoard(_Kept):
    """The board: its size between the corners [mm], what the mm rest on, and its outline [mm]."""

    width: Annotated[float, Field(gt=0, lt=2000)]
    height: Annotated[float, Field(gt=0, lt=2000)]
    scale_from: str = ""
    outline: tuple[Point, ...] = ()


class KeptPhoto(_Kept):
    """Where one photo lies on the board.

    `corners` in photo pixels, clockwise from the board's top left as seen; `pose` takes photo pixels to board mm.
    `residual` [mm] is the rms distance of the holes by which it was laid over the first copper photo.
    """

    file: str
    corners: tuple[Point, Point, Point, Point]
    corners_from: Origin = "picture"
    pose: tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
    mirrored: bool = False
    aligned_by: str = ""
    residual: float | None = None


class KeptHole(_Kept):
    """A hole through the board [mm]."""

    x: float
    y: float
    diameter: Annotated[float, Field(gt=0)]
    origin: Origin = "picture"


class KeptPad(_Kept):
    """A pad [mm]: the pin of a part, or a place where a wire comes on; `node` where its node was told."""

    id: Annotated[str, Field(min_length=1, max_length=60)]
    x: float
    y: float
    part: str | None = None
    pin: str | None = None
    node: str | None = None
    origin: Origin = "user"


class KeptBody(_Kept):
    """A part's body as a box on the board [mm]: no track is read through it."""

    x: float
    y: float
    width: Annotated[float, Field(gt=0)]
    height: Annotated[float, Field(gt=0)]
    part: str | None = None
    origin: Origin = "user"


class Picture(_Kept):
    """The picture's word: the view read, the weakest point of the path [mm], and how far that was from doubt."""

    kind: Literal["picture"] = "picture"
    photo: str = ""
    view: str
    score: float
    margin: float
    weakest: Point | None = None


class Continuity(_Kept):
    """A meter's word, which overrules a picture."""

    kind: Literal["continuity"] = "continuity"
    meter: str = ""
    value: str = ""


class Word(_Kept):
    """The user's word."""

    kind: Literal["user"] = "user"
    note: str = ""


class KeptJoin(_Kept):
    """Two pads joined, or told not to be, and what that rests on."""

    a: str
    b: str
    joined: bool
    evidence: Annotated[Picture | Continuity | Word, Field(discriminator="kind")]


class KeptWire(_Kept):
    """A jumper or a wire laid by hand between two pads."""

    a: str
    b: str
    note: str = ""


class KeptSaid(_Kept):
    """What the user said of the photos as a whole, kept so that they can be read anew.

    `width` [mm] of the board, or a `length`: two pixels of the copper photo and the mm between them. `clicked` are
    pairs of pixels (copper photo, the other) that show one hole. `unread`: said since the photos were last read.
    """

    width: Annotated[float, Field(gt=0, lt=2000)] | None = None
    length: tuple[Point, Point, Annotated[float, Field(gt=0, lt=2000)]] | None = None
    clicked: tuple[tuple[Point, Point], ...] = ()
    unread: bool = False


class Trace(_Kept):
    """All that was traced on one item; `remarks` are sentences on the photos, as they were last read."""

    lidoff_trace: Literal[1] = VERSION
    board: KeptBoard | None = None
    photos: tuple[KeptPhoto, ...] = ()
    said: KeptSaid = KeptSaid()
    remarks: tuple[str, ...] = ()
    holes: tuple[KeptHole, ...] = ()
    pads: tuple[KeptPad, ...] = ()
    bodies: tuple[KeptBody, ...] = ()
    joins: tuple[KeptJoin, ...] = ()
    wires: tuple[KeptWire, ...] = ()

    @model_validator(mode="after")
    def _names_fit(self) -> Trace:
        names = [pad.id for pad in self.pads]
        known = set(names)
        if len(known) < len(names):
            double = next(name for name in names if names.count(name) > 1)
            raise ValueError(f"two pads are named {double}")
        for kind, ends in (("join", self.joins), ("wire", self.wires)):
            for one in ends:
                for name in (one.a, one.b):
                    if name not in known:
                        raise ValueError(f"a {kind} names the pad {name}, which is not there")
        return self

    def pad(self, name: str) -> KeptPad | None:
        """The pad of that id, or None."""
        return next((pad for pad in self.pads if pad.id == name), None)


def read(folder: Path) -> Trace:
    """The trace of the record in `folder`; an empty one where nothing was traced yet. Raises TraceError."""
    file = folder / NAME
    try:
        if file.stat().st_size > _LARGEST:
            raise TraceError(f"{file}: over {_LARGEST // 1_000_000} MB; that is no trace: move it away.")
        data = file.read_bytes()
    except FileNotFoundError:
        return Trace()
    except OSError as error:
        raise TraceError(f"{file} cannot be read: {error.strerror or error}.") from error
    try:
        held = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise TraceError(f"{file}: not JSON ({_place(error)}); restore it from a copy or move it away.") from error
    if isinstance(held, dict) and isinstance(held.get("lidoff_trace"), int) and held["lidoff_trace"] > VERSION:
        raise TraceError(f"{file}: written by a newer Lidoff (format {held['lidoff_trace']}); update this one.")
    return parsed(data, file)


def parsed(data: bytes | str, file: Path) -> Trace:
    """The trace that a text holds; `file` is named where it does not fit. Raises TraceError."""
    try:
        return Trace.model_validate_json(data)
    except ValidationError as error:
        raise TraceError(f"{file}: {_sentence(error)}; mend it or move the file away.") from error


def _place(error: Exception) -> str:
    return f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "it cannot be taken apart"


def _sentence(error: ValidationError) -> str:
    """The first thing wrong, by its place in the file."""
    first = error.errors(include_url=False, include_input=False)[0]
    # The steps of a union name its branch as well, which is no place in the file.
    place = ".".join(str(step) for step in first["loc"] if step not in ("picture", "continuity", "user"))
    what = " ".join(str(first["msg"]).removeprefix("Value error, ").split())
    what = what[:1].lower() + what[1:]
    return f"{place}: {what}" if place else what


def write(folder: Path, trace: Trace) -> Path:
    """Writes the trace into the record folder; the file is whole at every instant. Raises TraceError."""
    file = folder / NAME
    write_whole(file, text(trace).encode())
    return file


def text(trace: Trace) -> str:
    """The trace as it stands in its file."""
    return trace.model_dump_json(indent=1) + "\n"


def write_whole(file: Path, data: bytes) -> None:
    """Writes a file in one go: a failure leaves what was there. Raises TraceError."""
    beside: str | None = None
    try:
        handle, beside = tempfile.mkstemp(prefix=f".{file.name}.", suffix=".new", dir=file.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        mode = file.stat().st_mode & 0o7777 if file.exists() else 0o666 & ~_umask()
        Path(beside).chmod(mode)
        Path(beside).replace(file)
    except OSError as error:
        if beside is not None:
            with contextlib.suppress(OSError):
                Path(beside).unlink()
        raise TraceError(f"{file} cannot be written: {error.strerror or error}; nothing was changed.") from error


def _umask() -> int:
    """The process's mask for new files, which can only be read by setting it."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
