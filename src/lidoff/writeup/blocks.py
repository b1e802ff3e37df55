"""What a write-up is made of: one list of blocks that every renderer understands, without any of a renderer's markup.

Text is a row of runs; a run that is a number knows where the number comes from. Nothing here is escaped or laid out:
what a user wrote goes through as it is, and a renderer has to treat it as plain text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal

Tone = Literal["plain", "good", "doubt", "bad", "quiet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A figure in a text: how it is written, where it comes from ("computed", "measured" …), and from where to where.

    `spread` is empty where nothing but the solver's own error, or nothing at all, is known of how far it may be off.
    """

    text: str
    origin: str
    spread: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strong:
    """Words that carry the sentence."""

    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Emphasis:
    """Words that are stressed in speaking."""

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


Run = str | Number | Strong | Emphasis | Tag | Said | Strip | Bar
Text = tuple[Run, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """The beginning of a chapter (level 1) or of a part of one (level 2); `id` is what a link names."""

    text: str
    id: str = ""
    level: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """Running text; `style` "lead" for the first words of a write-up, "note" for what stands beside the matter.

    "own" is what the user wrote into the write-up themselves.
    """

    text: Text
    style: Literal["plain", "lead", "note", "own"] = "plain"


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
class Origins:
    """What each origin means: the place that the mark at a number leads to."""

    meanings: tuple[tuple[str, str], ...]


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


Block = (
    Heading | Paragraph | Answers | BigFigures | Picture | Gallery | Table | Listing | Origins | Caution | Quote | Code
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole write-up: title, a line below it, and the blocks; `marks` are words on what it was made from."""

    title: str
    subtitle: Text
    blocks: tuple[Block, ...]
    form: Literal["short", "full"] = "full"
    marks: tuple[tuple[str, str], ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A picture of before and after, wide and narrow, with what changes in a line and more about it below."""

    wide: str
    narrow: str
    headline: str
    words: str = ""


LETTERS: Final = {"marked": "d"}  # m is for measured; what is marked was decoded


def letter(origin: str) -> str:
    """The small letter that stands at a number of that origin."""
    return LETTERS.get(origin, origin[:1])


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
    "Comparison",
    "Document",
    "Emphasis",
    "Gallery",
    "Heading",
    "Listing",
    "Number",
    "Origins",
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
    "letter",
    "plain",
]
