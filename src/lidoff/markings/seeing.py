"""What was seen: one spelling for the signs, and the words apart."""

from __future__ import annotations

import re
import unicodedata
from typing import Final, NamedTuple

from lidoff.markings.model import MarkingError

LONGEST: Final = 120


class Seen(NamedTuple):
    """A marking made readable: `text` with single blanks, `compact` without any, both in the case as written."""

    raw: str
    text: str
    compact: str

    @property
    def upper(self) -> str:
        """`compact` in capitals."""
        return self.compact.upper()

    @property
    def words(self) -> tuple[str, ...]:
        """The words as written."""
        return tuple(self.text.split(" "))


def see(marking: str) -> Seen:
    """The marking with one spelling for its signs.

    Raises MarkingError where there is nothing to read or far too much.
    """
    if not isinstance(marking, str):
        raise MarkingError(f"{marking!r} is not a marking; write what stands on the part as text")
    if len(marking) > LONGEST:
        raise MarkingError(f"the marking has {len(marking)} characters; at most {LONGEST} of one part are read")
    text = marking.replace("²", "2").replace("℃", "°C").replace("º", "°")
    text = unicodedata.normalize("NFKC", text)
    text = text.replace("\N{GREEK SMALL LETTER MU}", "u").replace("\N{GREEK CAPITAL LETTER OMEGA}", "Ω")
    for dash in "\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}\N{HYPHEN}\N{NON-BREAKING HYPHEN}":
        text = text.replace(dash, "-")
    text = text.replace("\N{MULTIPLICATION SIGN}", "x").replace("\N{TILDE OPERATOR}", "~").replace("∿", "~")
    text = re.sub(r"\s+", " ", text).strip()
    if not text:
        raise MarkingError("the marking is empty; write what stands on the part")
    return Seen(raw=marking, text=text, compact=text.replace(" ", ""))
