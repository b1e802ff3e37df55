"""Writing a write-up to a folder, and never over anything that somebody has changed.

`report.json` carries a seal: the digest of itself and of every file that was written beside it, each with the version
and the fingerprint it was made from. A file that does not match its seal was not written here, or was changed since,
and is left alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from lidoff.account import Account
from lidoff.account.export import as_csv, as_json
from lidoff.errors import LidoffError
from lidoff.writeup.blocks import Comparison
from lidoff.writeup.compose import Form, compose
from lidoff.writeup.html import render

DATA: Final = "report.json"
TABLE: Final = "figures.csv"
PAGES: Final[Mapping[Form, str]] = {"full": "report", "short": "report-short"}
"""What the pages of each form are called, without the ending."""

_FILES: Final = "files"
_SEAL: Final = "sha256"


class WriteupError(LidoffError):
    """A write-up that cannot be written where it should go; the text says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extras:
    """What is made beside the page: a PDF of each form, a folder of stills, an animation; `ground` is what they lie on.

    `video` adds the animation as WebM; `comparison` is a still of before and after a rework.
    """

    pdf: bool = False
    stills: bool = False
    animation: bool = False
    video: bool = False
    ground: str = "paper"
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """Where the page and the files beside it lie. `files` are all that were written, the first page first.

    `stale` lie there from before and are of another record or version.
    """

    page: Path
    data: Path
    table: Path
    files: tuple[Path, ...]
    stale: tuple[Path, ...] = ()


def write(account: Account, folder: Path, *, forms: Sequence[Form] = (), extras: Extras | None = None) -> Written:
    """The write-up of an account in `folder`, made if need be, with its figures as `report.json` and `figures.csv`.

    Without `forms` it takes the form that the record asks for. All is made before any of it is written, and each file
    takes the place of an older one at once. Raises WriteupError where a file of that name is not an untouched write-up
    of the same record, or where the folder cannot be written.
    """
    made = _made(account, forms or (account.item.writeup.form or "full",), extras or Extras())
    record = account.item.path.name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        before = _sealed_before(folder, record)
        _refuse_changed(folder, made, before)
        own = {"version": account.version, "fingerprint": account.fingerprint}
        seals = {name: seal for name, seal in before.items() if name != DATA and (folder / name).is_file()}
        seals |= {name: {_SEAL: _digest(content), **own} for name, content in made.items()}
        document = {"record": record, **as_json(account)}
        made[DATA] = _with_seals(document, {**seals, DATA: {_SEAL: "", **own}})
        for name, content in made.items():
            _replace(folder / name, content)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise WriteupError(f"{folder}: the write-up cannot be written here: {reason}; name a folder with -o") from error
    stale = [folder / name for name, seal in seals.items() if name not in made and {k: seal.get(k) for k in own} != own]
    names = list(made)
    return Written(
        page=folder / names[0],
        data=folder / DATA,
        table=folder / TABLE,
        files=tuple(folder / name for name in names),
        stale=tuple(stale),
    )


def _made(account: Account, forms: Sequence[Form], extras: Extras) -> dict[str, bytes]:
    """Every file by its name in the folder, but the data: that carries the seals of these."""
    found: dict[str, bytes] = {}
    documents = {form: compose(account, form=form) for form in dict.fromkeys(forms)}
    for form, document in documents.items():
        found[f"{PAGES[form]}.html"] = render(document).encode()
    found[TABLE] = as_csv(account).encode()
    if extras.pdf:
        from lidoff.writeup.pdf import render_pdf

        for form, document in documents.items():
            found[f"{PAGES[form]}.pdf"] = render_pdf(document)
    if extras.stills:
        from lidoff.writeup.stills import render_stills

        pictures = render_stills(account, ground=extras.ground, comparison=extras.comparison)
        found |= {f"stills/{name}": content for name, content in pictures.items()}
    if extras.animation or extras.video:
        from lidoff.writeup.animation import render_animation

        kinds = (("gif", "webp") if extras.animation else ()) + (("webm",) if extras.video else ())
        found |= render_animation(account, kinds)
    return found


# Seals --------------------------------------------------------------------------------------------------------------


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _text(document: Mapping[str, Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def _with_seals(document: Mapping[str, Any], seals: Mapping[str, Mapping[str, str]]) -> bytes:
    """The data with the seals in it, its own taken over everything else."""
    own = seals[DATA]
    blank = _text({**document, _FILES: {**seals, DATA: {**own, _SEAL: ""}}})
    return _text({**document, _FILES: {**seals, DATA: {**own, _SEAL: _digest(blank)}}})


def _sealed_before(folder: Path, record: str) -> dict[str, dict[str, str]]:
    """The seals of the write-up that lies there, by file; empty where there is none.

    Raises WriteupError where the data there was not written here, was changed, or is of another record.
    """
    path = folder / DATA
    if not path.exists():
        return {}
    old = path.read_bytes()
    seals = read_seals(old)
    if seals is None:
        raise WriteupError(f"{path} was not written here, or has been changed since, and is left as it is; {_AWAY}")
    document = json.loads(old)
    if _with_seals({k: v for k, v in document.items() if k != _FILES}, seals) != old:
        raise WriteupError(f"{path} has been changed since it was written and is left as it is; {_AWAY}")
    if document.get("record") != record:
        raise WriteupError(f"{path} is of the write-up of another record, {document.get('record')}; {_AWAY}")
    return seals


_AWAY: Final = "move it away, or name a folder with -o"


def read_seals(content: bytes) -> dict[str, dict[str, str]] | None:
    """The seals in the data of a write-up; None where it holds none."""
    try:
        found = json.loads(content)[_FILES]
        ours = DATA in found and all(isinstance(seal[_SEAL], str) for seal in found.values())
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return found if ours else None


def _refuse_changed(folder: Path, made: Mapping[str, bytes], seals: Mapping[str, Mapping[str, str]]) -> None:
    """Raises WriteupError where something lies in the way that was not written here or was changed since."""
    for name, path in _in_the_way(folder, made):
        content = path.read_bytes()
        seal = seals.get(name)
        if content == made[name] or (seal is not None and _digest(content) == seal[_SEAL]):
            continue
        what = "was not written here" if seal is None else "has been changed since it was written"
        raise WriteupError(f"{path} {what} and is left as it is; {_AWAY}")


def _in_the_way(folder: Path, made: Mapping[str, bytes]) -> Iterator[tuple[str, Path]]:
    return ((name, folder / name) for name in made if (folder / name).exists())


def _replace(path: Path, content: bytes) -> None:
    """The file whole or not at all."""
    path.parent.mkdir(exist_ok=True)
    with tempfile.NamedTemporaryFile("wb", dir=path.parent, prefix=".", suffix=path.suffix, delete=False) as file:
        file.write(content)
    try:
        os.chmod(file.name, 0o644)  # noqa: PTH101 - the temporary file is readable by its owner alone
        os.replace(file.name, path)  # noqa: PTH105
    except OSError:
        Path(file.name).unlink(missing_ok=True)
        raise
