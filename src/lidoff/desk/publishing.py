"""The forms in which an account is published, as far as the write-up room makes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

if TYPE_CHECKING:
    from lidoff.account import Account

DATA: Final = "report.json"
_TYPES: Final[Mapping[str, str]] = {
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".gif": "image/gif",
    ".webp": "image/webp",
    ".webm": "video/webm",
    ".json": "application/json",
    ".csv": "text/csv; charset=utf-8",
}
"""What a file of a write-up is given out as; anything else is not given out."""
_SHOWN: Final = frozenset({".html", ".pdf", ".png", ".gif", ".webp", ".webm"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form: what it is called, which files of the record's folder it is, and what the write-up room is asked for.

    `files` are patterns below the record's folder; `needs` is the module that makes it.
    """

    name: str
    title: str
    files: tuple[str, ...]
    form: Literal["full", "short"] = "full"
    extras: tuple[str, ...] = field(default=())
    needs: str = "lidoff.writeup.files"

    @property
    def there(self) -> bool:
        """Whether this form can be made here."""
        return find_spec(self.needs) is not None


FORMS: Final = (
    Form(name="page", title="page (HTML)", files=("report.html",)),
    Form(name="short", title="one-page summary (HTML)", files=("report-short.html",), form="short"),
    Form(name="pdf", title="PDF to print", files=("report.pdf",), extras=("pdf",), needs="lidoff.writeup.pdf"),
    Form(
        name="stills",
        title="stills for slides and film",
        files=("stills/*.png",),
        extras=("stills",),
        needs="lidoff.writeup.stills",
    ),
    Form(
        name="animation",
        title="animation of one cycle",
        files=("*.gif", "*.webp"),
        extras=("animation",),
        needs="lidoff.writeup.animation",
    ),
)
"""Every form, the page first; the figures (report.json, figures.csv) are always made beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A file of a write-up: its name below the record's folder, and whether it is of the record as it stands."""

    name: str
    current: bool

    @property
    def shown(self) -> bool:
        """Whether the browser shows it, rather than keeping a copy."""
        return Path(self.name).suffix in _SHOWN

    @property
    def picture(self) -> bool:
        """Whether it is a picture to be shown small."""
        return Path(self.name).suffix in (".png", ".gif", ".webp")


def media(name: str) -> str | None:
    """What a file of a write-up is given out as, None where it is none."""
    return _TYPES.get(Path(name).suffix.lower())


def write(form: Form, account: Account, folder: Path) -> None:
    """Makes that form in the record's folder. Raises LidoffError where something there must not be replaced."""
    from lidoff.writeup import write as write_all
    from lidoff.writeup.files import Extras

    extras: dict[str, Any] = dict.fromkeys(form.extras, True)
    write_all(account, folder, forms=(form.form,), extras=Extras(**extras))


def made(folder: Path, fingerprint: str | None) -> dict[str, list[Made]]:
    """The files that were made, by the name of their form; those that nobody sealed are not listed."""
    from lidoff.writeup.files import read_seals

    try:
        seals = read_seals((folder / DATA).read_bytes()) or {}
    except OSError:
        return {}
    found: dict[str, list[Made]] = {}
    for form in FORMS:
        names = [name for name in seals if any(Path(name).match(pattern) for pattern in form.files)]
        there = [name for name in sorted(names) if (folder / name).is_file()]
        found[form.name] = [Made(name=name, current=seals[name].get("fingerprint") == fingerprint) for name in there]
    return found
