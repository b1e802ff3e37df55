"""The forms in which an account is published, as far as the write-up room makes them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lidoff import writeup
from lidoff.account import Account


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A form: the `file` it is in the record's folder, what it is called, and whether the browser shows it."""

    name: str
    title: str
    file: str
    media: str
    shown: bool = True
    there: Callable[[], bool] = lambda: True


FORMS: Final = (
    Form(name="page", title="Page (HTML)", file=writeup.files.PAGE, media="text/html; charset=utf-8"),
    Form(name="data", title="All figures (JSON)", file=writeup.files.DATA, media="application/json", shown=False),
    Form(name="table", title="Figures (CSV)", file=writeup.files.TABLE, media="text/csv; charset=utf-8", shown=False),
)
"""Every form, the page first; page, data and table are always made together."""


def written(form: Form, account: Account, folder: Path) -> None:
    """Makes that form in the record's folder. Raises LidoffError where something of that name must not be replaced."""
    del form
    writeup.write(account, folder)
