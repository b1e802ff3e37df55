"""What a write-up is made of: one list of blocks that every renderer understands, without any of a renderer's markup.

Text is a row of runs; a run that is a number knows where the number comes from. Nothing here is escaped or laid out:
what a user wrote goes through as it is, and a renderer has to treat it as plain text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Tone = Literal["plain", "good", "doubt", "bad", "quiet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A figure in a text: how it is written, and where it comes from ("computed", "measured" …)."""

    text: str
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strong:
    """Words that carry the sentence."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """A judgement in a word or two."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """The user's own words, quoted."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A small picture in a line: where a reading lies against the band of the computed value, all in one unit.

    `low` to `high` is the band, `value` its middle; `point` with `half` either way is the reading. `words` says it.
    """

    low: float
    value: float
    high: float
    point: float
    half: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A small picture in a line: a share of something, 1 being all of it; it may be more."""

    share: float
    words: str


Run = str | Number | Strong | Tag | Said | Strip | Bar
Text = tuple[Run, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """The beginning of a chapter (level 1) or of a part of one (level 2); `id` is what a link names."""

    text: str
    id: str = ""
    level: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """Running text; `style` "lead" for the first words of a write-up, "note" for what stands beside the matter."""

    text: Text
    style: Literal["plain", "lead", "note"] = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A question that every reader has, with its answer."""

    question: str
    text: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Questions and answers side by side."""

    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BigFigure:
    """A figure that matters: how it is written, its unit, what it is, where it comes from and how far it may be off."""

    value: str
    unit: str
    caption: str
    origin: str
    spread: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BigFigures:
    """Figures that matter, in a row."""

    figures: tuple[BigFigure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing in two forms, as SVG text of our own making; `caption` says what to see in it.

    Without a narrow form the wide one is never made smaller than it can be read, and moved under a narrow page.
    """

    wide: str
    narrow: str = ""
    caption: Text = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gallery:
    """Pictures of the same sort, to be compared, side by side where there is room."""

    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table; `numeric` sets it to the right, `room` says how much of the width it may take."""

    title: str
    numeric: bool = False
    room: Literal["narrow", "usual", "wide", "most"] = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of a table; `note` runs below it over the whole width."""

    cells: tuple[Text, ...]
    tone: Tone = "plain"
    note: Text = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under columns. The first column names what the row is about."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    caption: Text = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """Points, in order where `ordered`."""

    items: tuple[Text, ...]
    ordered: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """What a reader must not pass over: a title and points under it."""

    title: str
    items: tuple[Text, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """The practitioner's own words, with for whom and why."""

    text: str
    about: tuple[Text, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """Something to be typed or compared letter by letter."""

    text: str


Block = Heading | Paragraph | Answers | BigFigures | Picture | Gallery | Table | Listing | Caution | Quote | Code


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole write-up: title, a line below it, and the blocks; `marks` are words on what it was made from."""

    title: str
    subtitle: Text
    blocks: tuple[Block, ...]
    marks: tuple[tuple[str, str], ...] = field(default=())


def plain(text: Text) -> str:
    """A text without its marks, for renderers that know none and for tests."""
    return "".join(run if isinstance(run, str) else getattr(run, "text", getattr(run, "words", "")) for run in text)


__all__ = [
    "Answer",
    "Answers",
    "Bar",
    "BigFigure",
    "BigFigures",
    "Block",
    "Caution",
    "Code",
    "Column",
    "Document",
    "Gallery",
    "Heading",
    "Listing",
    "Number",
    "Paragraph",
    "Picture",
    "Quote",
    "Row",
    "Run",
    "Said",
    "Strip",
    "Strong",
    "Table",
    "Tag",
    "Text",
    "Tone",
    "plain",
]
