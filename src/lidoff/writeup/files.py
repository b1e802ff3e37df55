"""Writing a write-up to a folder, and never over anything that somebody has changed.

The page carries a seal: digests of itself and of the two files beside it. A file that does not match its seal was not
written here, or was changed since, and is left alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lidoff.account import Account
from lidoff.account.export import as_csv, as_json
from lidoff.errors import LidoffError
from lidoff.writeup.compose import compose
from lidoff.writeup.html import render

PAGE: Final = "report.html"
DATA: Final = "report.json"
TABLE: Final = "figures.csv"
_SEAL: Final = re.compile(r'<meta name="lidoff-seal" content="([0-9a-f ]*)">')
_RECORD: Final = re.compile(r'<meta name="lidoff-record" content="([^"]*)">')
_BLANK: Final = '<meta name="lidoff-seal" content="">'


class WriteupError(LidoffError):
    """A write-up that cannot be written where it should go; the text says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """Where the page and the files beside it lie."""

    page: Path
    data: Path
    table: Path


def write(account: Account, folder: Path) -> Written:
    """The write-up of an account as `report.html`, `report.json` and `figures.csv` in `folder`, made if need be.

    All three are made before any is written, and each takes the place of an older one at once. Raises WriteupError
    where a file of that name is not an untouched write-up of the same record, or where the folder cannot be written.
    """
    document = compose(account)
    data = json.dumps(as_json(account), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    table = as_csv(account)
    page = _sealed(render(document), data, table)
    texts = {folder / PAGE: page, folder / DATA: data, folder / TABLE: table}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _refuse_changed(folder, texts, account.item.path.name)
        for path, text in texts.items():
            _replace(path, text)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise WriteupError(f"{folder}: the write-up cannot be written here: {reason}; name a folder with -o") from error
    return Written(page=folder / PAGE, data=folder / DATA, table=folder / TABLE)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _sealed(page: str, data: str, table: str) -> str:
    seal = " ".join(_digest(text) for text in (page, data, table))
    return page.replace(_BLANK, f'<meta name="lidoff-seal" content="{seal}">', 1)


def _refuse_changed(folder: Path, texts: dict[Path, str], record: str) -> None:
    """Raises WriteupError where something lies in the way that was not written here or was changed since."""
    page = folder / PAGE
    seals = ["", "", ""]
    if page.exists():
        old = page.read_text(encoding="utf-8", errors="replace")
        found = _SEAL.search(old)
        if found is None:
            raise WriteupError(f"{page} is not a write-up of this program and is left as it is; name a folder with -o")
        seals = (found[1].split() + seals)[:3]
        if _digest(_SEAL.sub(_BLANK, old, count=1)) != seals[0]:
            raise WriteupError(
                f"{page} has been changed since it was written and is left as it is; move it away, or name a folder "
                f"with -o"
            )
        whose = _RECORD.search(old)
        if whose is not None and whose[1] != record:
            raise WriteupError(f"{page} is the write-up of another record, {whose[1]}; name a folder with -o")
    for path, seal in zip((folder / DATA, folder / TABLE), seals[1:], strict=True):
        if path.exists():
            old = path.read_text(encoding="utf-8", errors="replace")
            if old != texts[path] and _digest(old) != seal:
                raise WriteupError(
                    f"{path} was not written here, or has been changed since, and is left as it is; move it away, or "
                    f"name "
                    "a folder with -o"
                )


def _replace(path: Path, text: str) -> None:
    """The file whole or not at all."""
    with tempfile.NamedTemporaryFile(
        "w", dir=path.parent, prefix=".", suffix=path.suffix, delete=False, encoding="utf-8", newline="\n"
    ) as file:
        file.write(text)
    try:
        os.chmod(file.name, 0o644)  # noqa: PTH101 - the temporary file is readable by its owner alone
        os.replace(file.name, path)  # noqa: PTH105
    except OSError:
        Path(file.name).unlink(missing_ok=True)
        raise
