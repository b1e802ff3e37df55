"""Reading `[writeup]`: what goes into the write-up, in which order, and the user's own words between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal

from lidoff.record.fields import Fields, tables
from lidoff.record.model import OwnParagraph, Telling
from lidoff.record.problems import Notes, listed, quoted
from lidoff.record.things import top_table

CHAPTERS: Final = (
    "summary",
    "how",
    "cycle",
    "knobs",
    "readings",
    "findings",
    "parts",
    "light",
    "switching",
    "faults",
    "seen",
    "cautions",
    "not-looked-at",
    "again",
)
"""The chapters of a write-up by the names that a record uses, in the order in which they stand without `order`."""

ALWAYS: Final = ("cautions", "not-looked-at", "again")
"""Chapters that no write-up is without."""

START: Final = "start"
"""Where an own paragraph stands before all chapters."""

_FORMS: Final[tuple[Literal["short", "full"], ...]] = ("short", "full")
_OTHER_NAMES: Final = {
    "hazards": "findings",
    "intro": "summary",
    "introduction": "summary",
    "waveform": "cycle",
    "schematic": "how",
    "meters": "readings",
    "warnings": "cautions",
    "verdict": "seen",
}


def read_telling(notes: Notes, data: Mapping[str, Any]) -> Telling:
    """The table `[writeup]` with its paragraphs; an empty one where there is none."""
    fields = top_table(notes, data, "writeup", "the write-up")
    if fields is None:
        return Telling()
    order = _chapters(fields, "order")
    left_out = _chapters(fields, "leave_out")
    for name in left_out:
        if name in ALWAYS:
            fields.error("leave_out", f"{quoted(name)} stands in every write-up and cannot be left out")
        elif name in order:
            fields.warn("leave_out", f"{quoted(name)} stands in order too; it is left out")
    form = fields.word("form", _FORMS)
    fields.take("paragraph")
    paragraphs = tuple(
        one
        for number, (path, table) in enumerate(tables(notes, fields.data, "paragraph", ("writeup",)), start=1)
        for one in _paragraph(Fields(notes, table, path, f"writeup.paragraph {number}", "an own paragraph"), left_out)
    )
    fields.finish()
    return Telling(
        order=order,
        leave_out=tuple(name for name in left_out if name not in ALWAYS),
        form=next((one for one in _FORMS if one == form), None),
        paragraphs=paragraphs,
    )


def _chapters(fields: Fields, key: str) -> tuple[str, ...]:
    """A list of chapters, each once."""
    found: dict[str, None] = {}
    for name in fields.texts(key):
        if name not in CHAPTERS:
            fields.error(key, _unknown(fields, name, CHAPTERS))
        elif name in found:
            fields.warn(key, f"names {quoted(name)} twice; the first counts")
        else:
            found[name] = None
    return tuple(found)


def _unknown(fields: Fields, name: str, known: Sequence[str]) -> str:
    near = fields.notes.nearest(name, list(known), _OTHER_NAMES)
    return f"there is no chapter {quoted(name)}{near or f'; there are {listed(known)}'}"


def _paragraph(fields: Fields, left_out: Sequence[str]) -> list[OwnParagraph]:
    """The paragraph as a list of one; of none where it says nothing."""
    text = fields.text("text", blank=True)
    after = fields.text("after")
    fields.finish()
    known = (START, *CHAPTERS)
    if after is not None and after not in known:
        fields.error("after", _unknown(fields, after, known))
        return []
    if text is None or not text.strip():
        if "text" not in fields.data or isinstance(fields.data["text"], str):
            fields.lacks("text", "is missing; write the paragraph between quotes")
        return []
    if after in left_out and after not in ALWAYS:
        fields.warn("after", f"{quoted(after)} is left out; the paragraph stands where that chapter would")
    return [OwnParagraph(after=after or START, text=text, line=fields.line)]
