"""From an account to one list of blocks. What goes in and in which order is a list of chapters."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final, Literal

from lidoff.account import Account
from lidoff.record import Telling
from lidoff.record.model import Table as Frozen
from lidoff.record.telling import START
from lidoff.writeup.blocks import Block, Document, Heading, Text
from lidoff.writeup.chapters.brief import short_cycle, short_findings, short_how, short_knobs, short_readings
from lidoff.writeup.chapters.closing import again, cautions, not_looked_at, short_cautions, short_not_looked_at
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
from lidoff.writeup.own import own_blocks
from lidoff.writeup.words import PRODUCTS, REGIONS, capital

Chapter = Callable[[Account], list[Block]]
Form = Literal["short", "full"]

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


BRIEF: Final[Mapping[str, Chapter]] = Frozen(
    {
        "summary": summary,
        "how": short_how,
        "cycle": short_cycle,
        "knobs": short_knobs,
        "readings": short_readings,
        "findings": short_findings,
        "cautions": short_cautions,
        "not-looked-at": short_not_looked_at,
        "again": again,
    }
)
"""The chapters of the short form; what is not among them is left to the full one."""


def compose(account: Account, chapters: Sequence[str] | None = None, *, form: Form | None = None) -> Document:
    """The write-up of an account: the named chapters in that order, or what its record asks for.

    `form` is "full" or "short"; without it the record says, and where it does not, it is full. A chapter that the
    record puts in its order stands in the short form too. The user's own paragraphs stand behind their chapters; one
    whose chapter is left out stands where the chapter would. Raises KeyError for a chapter there is none of.
    """
    item = account.item
    telling = item.writeup
    taken: Form = form or telling.form or "full"
    places = chapters_of(telling) if chapters is None else tuple(chapters)
    left_out = () if chapters is not None else telling.leave_out
    blocks: list[Block] = list(own_blocks(telling.paragraphs, START))
    for place in places:
        found = [] if place in left_out else _chapter(account, place, taken, wanted=place in telling.order)
        if place == "summary" and blocks and found:
            found.insert(0, Heading(text="In short", id="summary"))
        blocks += [*found, *own_blocks(telling.paragraphs, place)]
    about: Text = (capital(PRODUCTS.get(item.kind or "", "a mains-powered product")),)
    if item.region in REGIONS:
        about = (*about, f" for {REGIONS[item.region]}")
    if item.protection_class in ("I", "II", "III"):
        about = (*about, f", protection class {item.protection_class}")
    return Document(
        title=item.title or _file_name(item.path) or "An item without a name",
        subtitle=about,
        blocks=tuple(blocks),
        form=taken,
        marks=(
            ("version", account.version),
            ("record", item.path.name),
            ("fingerprint", account.fingerprint),
        ),
    )


def chapters_of(telling: Telling) -> tuple[str, ...]:
    """All chapters in the order that a record asks for: those it names first, the others behind them as usual."""
    return (*telling.order, *(name for name in CHAPTERS if name not in telling.order))


def _chapter(account: Account, name: str, form: Form, *, wanted: bool) -> list[Block]:
    full = CHAPTERS[name]
    if form == "full":
        return full(account)
    return BRIEF[name](account) if name in BRIEF else full(account) if wanted else []


def _file_name(path: Path) -> str:
    """What a record without a title is called: its folder, or the lone file."""
    return path.resolve().parent.name if path.name == "item.toml" else path.stem
