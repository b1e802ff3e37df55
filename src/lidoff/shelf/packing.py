"""One record folder as one file: a zip with a list of what is in it, the same bytes for the same folder."""

from __future__ import annotations

import hashlib
import json
import os
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lidoff import __version__
from lidoff.errors import LidoffError
from lidoff.record import open as open_record
from lidoff.record.source import FILE_NAME, find
from lidoff.shelf.errors import PackError
from lidoff.shelf.pack_names import checked

LIST: Final = "lidoff-pack.json"
"""The first file in a packed item: what else is in it, each with its size and SHA-256."""
FORMAT: Final = 1
MOST_FILES: Final = 10_000
MOST_BYTES: Final = 4_000_000_000
"""What a packed item may hold at most, packed and unpacked alike."""
ENDING: Final = ".lidoff.zip"
_THEN: Final = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold; when a file was made is not packed
_BLOCK: Final = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A packed item: the file, the names in it, and a sentence for each thing that was left out."""

    file: Path
    names: tuple[str, ...]
    size: int
    left_out: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """A mapping for `--json`."""
        return {
            "file": str(self.file), "files": list(self.names), "size": self.size, "left_out": list(self.left_out),
        }  # fmt: skip


def pack(item: Path, file: Path | None = None) -> Packed:
    """Packs a record folder, or a lone record with the files it names, into one file.

    `file` is the folder's name with `.lidoff.zip` beside it where it is not given. Every ordinary file goes in, byte
    for byte; links and what a name with a dot at its beginning hides are left out and named. Raises PackError where
    a file is in the way, and for names that could not be unpacked elsewhere; RecordError where no record is there.
    """
    record = find(item).absolute()
    name = record.parent.name if record.name == FILE_NAME else record.stem
    target = (file if file is not None else record.parent.with_name(f"{name}{ENDING}")).absolute()
    if target.exists() or target.is_symlink():
        raise PackError(f"{target}: is there already and was left as it is; name another file with --output.")
    left: list[str] = []
    if record.name == FILE_NAME:
        names = sorted(_files(record.parent, target, left))
    else:
        names = sorted({record.name, *_named(record, left)})
    checked([*names, LIST])
    if len(names) > MOST_FILES:
        raise PackError(f"{record.parent}: holds more than {MOST_FILES} files, which is more than one item has.")
    listed = [_listed(record.parent, one) for one in names]
    if sum(one["size"] for one in listed) > MOST_BYTES:
        raise PackError(f"{record.parent}: holds more than {MOST_BYTES // 10**9} GB, which cannot be packed.")
    head = {"lidoff_pack": FORMAT, "made_with": __version__, "name": name, "record": record.name, "files": listed}
    _write(target, record.parent, head)
    return Packed(file=target, names=tuple(names), size=target.stat().st_size, left_out=tuple(left))


def _files(folder: Path, target: Path, left: list[str]) -> Iterator[str]:
    """The ordinary files in a record folder, as names with slashes."""

    def failed(error: OSError) -> None:
        raise PackError(f"{error.filename}: cannot be looked into: {error.strerror or error}.") from error

    for base, folders, files in os.walk(folder, onerror=failed):
        here = Path(base)
        for name in sorted(folders):
            if name.startswith(".") or (here / name).is_symlink():
                left.append(f"{(here / name).relative_to(folder).as_posix()}: {_why(here / name)}")
        folders[:] = sorted(one for one in folders if not one.startswith(".") and not (here / one).is_symlink())
        for name in sorted(files):
            path = here / name
            if path == target:
                continue
            if name.startswith(".") or not stat.S_ISREG(path.lstat().st_mode):
                left.append(f"{path.relative_to(folder).as_posix()}: {_why(path)}")
            else:
                yield path.relative_to(folder).as_posix()


def _why(path: Path) -> str:
    if path.is_symlink():
        return "a link, which leads elsewhere on another machine"
    return "hidden by the dot it begins with" if path.name.startswith(".") else "a device or pipe"


def _named(record: Path, left: list[str]) -> Iterator[str]:
    """The files beside a lone record that it names: photos and recordings."""
    try:
        item = open_record(record)
    except LidoffError:
        left.append(f"{record.name}: cannot be read as it stands, so the files that it names were not looked for")
        return
    told = [one.file for one in item.photos] + [one.file for one in item.recordings]
    told += [one.photo for one in item.sightings if one.photo]
    for name in dict.fromkeys(told):
        path = Path(os.path.normpath(record.parent / name))
        if not path.is_relative_to(record.parent) or not path.is_file() or path.is_symlink():
            left.append(f"{name}: not there, or not below the record's folder")
        else:
            yield path.relative_to(record.parent).as_posix()


def _listed(folder: Path, name: str) -> dict[str, Any]:
    digest, size = hashlib.sha256(), 0
    with (folder / name).open("rb") as stream:
        while block := stream.read(_BLOCK):
            digest.update(block)
            size += len(block)
    return {"name": name, "size": size, "sha256": digest.hexdigest()}


def _write(target: Path, folder: Path, head: dict[str, Any]) -> None:
    """Writes all of it under another name first; what is in the way of the right one stays."""
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with zipfile.ZipFile(beside, "x") as packed:
            text = json.dumps(head, ensure_ascii=False, indent=1) + "\n"
            packed.writestr(_entry(LIST), text.encode(), zipfile.ZIP_DEFLATED, 9)
            for one in head["files"]:
                _copy(packed, folder / one["name"], one)
        try:
            os.link(beside, target)
        except FileExistsError:
            raise
        except OSError:
            if target.exists():
                raise FileExistsError(target) from None
            beside.rename(target)
    except FileExistsError:
        raise PackError(f"{target}: is there already and was left as it is; name another file with --output.") from None
    except OSError as error:
        raise PackError(f"{target}: cannot be written: {error.strerror or error}.") from error
    finally:
        beside.unlink(missing_ok=True)


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _THEN)
    entry.create_system = 3  # said to be made on Unix wherever it is made
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry


def _copy(packed: zipfile.ZipFile, path: Path, listed: dict[str, Any]) -> None:
    digest = hashlib.sha256()
    entry = _entry(listed["name"])
    entry.file_size = listed["size"]
    with path.open("rb") as source, packed.open(entry, "w") as into:
        while block := source.read(_BLOCK):
            digest.update(block)
            into.write(block)
    if digest.hexdigest() != listed["sha256"]:
        raise PackError(f"{path}: was changed while it was being packed; pack it again.")
