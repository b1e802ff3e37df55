"""A packed item taken out again. Everything in the file is held against its list before the folder gets its name.

Refused, with nothing left behind: names that lead elsewhere or mean another file on another system, links, files twice,
files not on the list, other sizes or contents than the list says, and whatever swells beyond what an item can be.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path, PurePosixPath
from typing import Any, Final

from lidoff.errors import LidoffError
from lidoff.record import open as open_record
from lidoff.shelf.errors import PackError
from lidoff.shelf.pack_names import checked, refusal
from lidoff.shelf.packing import FORMAT, LIST, MOST_BYTES, MOST_FILES

_LIST_BYTES: Final = 8_000_000
_RATIO: Final = 200  # times that a file may swell; deflate itself can do 1032
_SMALL: Final = 1_000_000  # [bytes] up to which a file may swell as it likes: a text of one letter does
_BLOCK: Final = 1 << 20
_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ENCRYPTED: Final = 0x1


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpacked:
    """A folder that was unpacked: where, the record in it, its files, and what is to be said of the record."""

    folder: Path
    record: Path
    names: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {"folder": str(self.folder), "record": str(self.record), "files": list(self.names)}


def unpack(file: Path, folder: Path | None = None) -> Unpacked:
    """Unpacks an item into a new folder: `folder`, or one beside the file by the name it was packed under.

    Raises PackError, and leaves nothing behind, where the file is no packed item, is damaged or is refused, and where
    something of the folder's name is there already.
    """
    source = file.absolute()
    try:
        with source.open("rb") as stream, zipfile.ZipFile(stream) as packed:
            return _unpack(source, packed, folder)
    except PackError as error:
        raise PackError(f"{source}: {error}") from None
    except FileNotFoundError:
        raise PackError(f"{source}: there is no such file.") from None
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, UnicodeError, ValueError) as error:
        raise PackError(f"{source}: is no packed item, or is damaged ({error}); nothing was written.") from error
    except OSError as error:
        raise PackError(f"{source}: cannot be unpacked: {error.strerror or error}; nothing was written.") from error


def _unpack(source: Path, packed: zipfile.ZipFile, folder: Path | None) -> Unpacked:
    entries = packed.infolist()
    _check_entries(entries)
    head = _head(packed, entries[0])
    wanted: Mapping[str, Mapping[str, Any]] = {one["name"]: one for one in head["files"]}
    names = [entry.filename for entry in entries[1:]]
    if sorted(names) != sorted(wanted) or len(wanted) != len(head["files"]):
        raise PackError("what is in it is not what its list says; nothing was written.")
    if sum(one["size"] for one in wanted.values()) > MOST_BYTES:
        raise PackError(f"holds more than {MOST_BYTES // 10**9} GB; nothing was written.")
    target = (folder if folder is not None else source.parent / head["name"]).absolute()
    if target.exists() or target.is_symlink():
        raise PackError(f"{target} is there already and was left as it is; name another folder with --folder.")
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=".unpacking-", dir=target.parent))
    try:
        for entry in entries[1:]:
            _take_out(packed, entry, wanted[entry.filename], beside)
        beside.chmod(0o755)
        if target.exists():
            raise PackError(f"{target} has come into being meanwhile and was left as it is.")
        beside.rename(target)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
    record = target / head["record"]
    return Unpacked(folder=target, record=record, names=tuple(sorted(names)), warnings=_said_of(record))


def _said_of(record: Path) -> tuple[str, ...]:
    """What is wrong with the record; it is the user's all the same."""
    try:
        item = open_record(record)
    except LidoffError as error:
        return (str(error).splitlines()[0],)
    return tuple(str(problem) for problem in item.warnings)


def _check_entries(entries: Sequence[zipfile.ZipInfo]) -> None:
    """Everything that can be seen without taking anything out."""
    if not entries or entries[0].filename != LIST:
        raise PackError(f"is no packed item: it does not begin with {LIST}; nothing was written.")
    if len(entries) > MOST_FILES + 1:
        raise PackError(f"holds more than {MOST_FILES} files; nothing was written.")
    for entry in entries:
        mode = entry.external_attr >> 16
        name = repr(entry.filename[:80])
        if entry.orig_filename != entry.filename:
            raise PackError(f"the file name {name} is written in a way that hides its end; nothing was written.")
        if entry.is_dir() or (mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode)):
            raise PackError(f"{name} is a link, a folder or a device, not a file; nothing was written.")
        if entry.flag_bits & _ENCRYPTED or entry.compress_type not in _METHODS:
            raise PackError(f"{name} is encrypted or packed in a way that is not used here; nothing was written.")
        if entry.file_size > _SMALL and entry.file_size > _RATIO * max(entry.compress_size, 1):
            raise PackError(f"{name} would swell more than {_RATIO} times; nothing was written.")
    checked(entry.filename for entry in entries)
    # Several entries that point at the same bytes swell without any of them looking large.
    places = sorted((entry.header_offset, entry.compress_size) for entry in entries)
    for (start, size), (following, _) in pairwise(places):
        if start + size > following:
            raise PackError("files in it lie upon each other; nothing was written.")


def _head(packed: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Mapping[str, Any]:
    """The list, checked: its form, and that its names may stand."""
    if entry.file_size > _LIST_BYTES:
        raise PackError("its list is too large; nothing was written.")
    with packed.open(entry) as stream:
        data = stream.read(_LIST_BYTES + 1)
    if len(data) > _LIST_BYTES:
        raise PackError("its list is too large; nothing was written.")
    try:
        head = json.loads(data)
    except (ValueError, RecursionError):
        raise PackError("its list cannot be read; nothing was written.") from None
    if not isinstance(head, dict) or not isinstance(head.get("lidoff_pack"), int):
        raise PackError("its list is none of Lidoff's; nothing was written.")
    if head["lidoff_pack"] > FORMAT:
        raise PackError(
            f"is packed in form {head['lidoff_pack']} and this program knows form {FORMAT}; use a newer Lidoff."
        )
    if not _has_form(head):
        raise PackError("its list lacks something or says it wrongly; nothing was written.")
    why = refusal(head["name"]) or ("is more than a name" if "/" in head["name"] else None)
    if why is not None or head["name"].startswith("."):
        raise PackError(f"the folder name {head['name'][:80]!r} {why or 'is hidden'}; nothing was written.")
    return head


def _has_form(head: Mapping[str, Any]) -> bool:
    files = head.get("files")
    if not isinstance(files, list) or not isinstance(head.get("name"), str):
        return False
    for one in files:
        if not isinstance(one, dict) or not isinstance(one.get("name"), str) or not isinstance(one.get("sha256"), str):
            return False
        if not isinstance(one.get("size"), int) or isinstance(one["size"], bool) or one["size"] < 0:
            return False
    return head.get("record") in [one["name"] for one in files]


def _take_out(packed: zipfile.ZipFile, entry: zipfile.ZipInfo, listed: Mapping[str, Any], into: Path) -> None:
    """One file, counted while it comes out: what its header says of its size is not trusted."""
    path = into.joinpath(*PurePosixPath(entry.filename).parts)
    path.parent.mkdir(parents=True, exist_ok=True)
    digest, size = hashlib.sha256(), 0
    # "x": a name that turns out to be taken on this file system after all is not written over.
    with packed.open(entry) as stream, path.open("xb") as out:
        while block := stream.read(min(_BLOCK, listed["size"] - size + 1)):
            size += len(block)
            if size > listed["size"]:
                raise PackError(f"{entry.filename!r} is larger than the list says; nothing was written.")
            digest.update(block)
            out.write(block)
        out.flush()
        os.fsync(out.fileno())
    if size != listed["size"] or digest.hexdigest() != listed["sha256"]:
        raise PackError(f"{entry.filename!r} is not what was packed; nothing was written.")
