"""Where a shelf lives: its index, and beside it the list of folders from which the index can be made anew."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

INDEX_NAME: Final = "shelf.sqlite"
VARIABLE: Final = "LIDOFF_SHELF"
_ENDINGS: Final = (".sqlite", ".sqlite3", ".db")


def index_path(given: Path | None, environ: Mapping[str, str], home: Path | None = None) -> Path:
    """The index file that is meant: `given`, else what LIDOFF_SHELF names, else one in the user's data folder.

    A path that ends in .sqlite, .sqlite3 or .db is the file itself; any other is a folder in which `shelf.sqlite`
    lies. Nothing is created, and nothing need be there.
    """
    named = given if given is not None else Path(environ[VARIABLE]) if environ.get(VARIABLE) else None
    if named is None:
        return data_folder(environ, home) / INDEX_NAME
    absolute = named.expanduser().absolute()
    if absolute.suffix.lower() in _ENDINGS and not absolute.is_dir():
        return absolute
    return absolute / INDEX_NAME


def data_folder(environ: Mapping[str, str], home: Path | None = None) -> Path:
    """The folder in which a user's programs keep their data, with our name at its end.

    Linux and the like: XDG Base Directory Specification 0.8, `XDG_DATA_HOME`, else ~/.local/share.
    """
    own = home if home is not None else Path.home()
    if sys.platform == "darwin":
        return own / "Library" / "Application Support" / "lidoff"
    if sys.platform == "win32":
        return Path(environ.get("LOCALAPPDATA") or own / "AppData" / "Local") / "lidoff"
    named = Path(environ.get("XDG_DATA_HOME") or "")
    # The specification: a path that is not absolute is to be ignored.
    return (named if named.is_absolute() else own / ".local" / "share") / "lidoff"


def folders_path(index: Path) -> Path:
    """The list of folders that belongs to an index: plain text, one a line."""
    return index.with_suffix(".folders.txt")
