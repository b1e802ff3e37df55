"""Which names a packed item may hold: those that mean the same file below the same folder on every system."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Final

from lidoff.shelf.errors import PackError

LONGEST: Final = 240
"""Letters in a name with its folders; more cannot be unpacked everywhere."""
_DEEPEST: Final = 16
# Names that mean a device on Windows whatever follows the dot, and characters that its files cannot have.
_DEVICE: Final = re.compile(r"(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)(\..*)?", re.IGNORECASE)
_FORBIDDEN: Final = frozenset('<>:"|?*\\')


def refusal(name: str) -> str | None:
    """Why a name is refused, as the end of a sentence; None where it may stand."""
    if not name or len(name) > LONGEST:
        return "is empty or too long"
    if name.startswith("/"):
        return "begins at the root of a disk"
    if re.match(r"[A-Za-z]:", name):
        return "names a drive"
    pieces = name.split("/")
    if len(pieces) > _DEEPEST:
        return "is nested too deeply"
    for piece in pieces:
        why = _piece(piece)
        if why is not None:
            return why
    return None


def _piece(piece: str) -> str | None:
    if piece in ("", ".", ".."):
        return "leads out of its folder or nowhere"
    if any(one in _FORBIDDEN for one in piece):
        return f"holds a character that other systems give a meaning: {next(o for o in piece if o in _FORBIDDEN)}"
    if any(unicodedata.category(one) in ("Cc", "Cf", "Cs", "Zl", "Zp") for one in piece):
        return "holds a character that cannot be seen"
    if piece != piece.strip(" ") or piece.endswith("."):
        return "begins or ends in a blank, or ends in a dot"
    if _DEVICE.fullmatch(piece):
        return "means a device on some systems"
    return None


def checked(names: Iterable[str]) -> tuple[str, ...]:
    """The names, all of them fit. Raises PackError for the first that is not, and for two that are one elsewhere."""
    seen: dict[str, str] = {}
    listed = tuple(names)
    for name in listed:
        why = refusal(name)
        if why is not None:
            raise PackError(f"the file name {_quoted(name)} {why}; nothing was written.")
        key = folded(name)
        if key in seen:
            raise PackError(
                f"the file names {_quoted(seen[key])} and {_quoted(name)} are one on some systems; nothing was written."
            )
        seen[key] = name
    for name in listed:
        parts = folded(name).split("/")
        for length in range(1, len(parts)):
            inside = "/".join(parts[:length])
            if inside in seen:
                raise PackError(f"{_quoted(seen[inside])} would be a file and a folder; nothing was written.")
    _same_folders(listed)
    return listed


def _same_folders(names: Iterable[str]) -> None:
    """Two folders whose names differ in case only would become one elsewhere."""
    spelt: dict[str, str] = {}
    for name in names:
        pieces = name.split("/")[:-1]
        for length in range(1, len(pieces) + 1):
            folder = "/".join(pieces[:length])
            other = spelt.setdefault(folded(folder), folder)
            if other != folder:
                raise PackError(
                    f"the folders {_quoted(other)} and {_quoted(folder)} are one on some systems; nothing was written."
                )


def folded(name: str) -> str:
    """The name as a file system that minds neither case nor the way accents are written has it."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def _quoted(name: str) -> str:
    shown = name if len(name) <= 80 else f"{name[:77]}…"
    return repr(shown)
