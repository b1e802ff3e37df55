"""From an account to one list of blocks. What goes in and in which order is a list of chapters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

from lidoff.account import Account
from lidoff.record.model import Table as Frozen
from lidoff.writeup.blocks import Block, Document, Text
from lidoff.writeup.chapters.closing import again, cautions, not_looked_at
from lidoff.writeup.chapters.cycle import cycle
from lidoff.writeup.chapters.faults import faults
from lidoff.writeup.chapters.findings import findings
from lidoff.writeup.chapters.how import how
from lidoff.writeup.chapters.knob import knobs
from lidoff.writeup.chapters.light import light
from lidoff.writeup.chapters.parts import parts
from lidoff.writeup.chapters.readings import readings
from lidoff.writeup.chapters.seen import seen
from lidoff.writeup.chapters.summary import summary
from lidoff.writeup.chapters.switching import switching
from lidoff.writeup.words import PRODUCTS, REGIONS, capital

Chapter = Callable[[Account], list[Block]]

CHAPTERS: Final[Mapping[str, Chapter]] = Frozen(
    {
        "summary": summary,
        "how": how,
        "cycle": cycle,
        "knobs": knobs,
        "readings": readings,
        "findings": findings,
        "parts": parts,
        "light": light,
        "switching": switching,
        "faults": faults,
        "seen": seen,
        "cautions": cautions,
        "not-looked-at": not_looked_at,
        "again": again,
    }
)
"""Every chapter by name, in the order in which a write-up has them."""


def compose(account: Account, chapters: Sequence[str] = tuple(CHAPTERS)) -> Document:
    """The write-up of an account: the named chapters in that order. Raises KeyError for a chapter there is none of."""
    item = account.item
    about: Text = (capital(PRODUCTS.get(item.kind or "", "a mains-powered product")),)
    if item.region in REGIONS:
        about = (*about, f" for {REGIONS[item.region]}")
    if item.protection_class in ("I", "II", "III"):
        about = (*about, f", protection class {item.protection_class}")
    return Document(
        title=item.title or _file_name(item.path) or "An item without a name",
        subtitle=about,
        blocks=tuple(block for name in chapters for block in CHAPTERS[name](account)),
        marks=(
            ("version", account.version),
            ("record", item.path.name),
            ("fingerprint", account.fingerprint),
            ("seal", ""),
        ),
    )


def _file_name(path: Path) -> str:
    """What a record without a title is called: its folder, or the lone file."""
    return path.resolve().parent.name if path.name == "item.toml" else path.stem
