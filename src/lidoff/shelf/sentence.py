"""A small grammar for questions in words: "strips over 8 W with flicker over 80 %".

    question    = { comparison | phrase | introduced | word | silent word }
    comparison  = [ figure [ filling ] ] comparing quantity [ "and"|"to"|"-" quantity ] [ [ filling ] figure ]
    phrase      = an answer of the look list, a group, a rule, "high risk", "severity 3", "class II"
    introduced  = ( "with" | "without" ) [ article ] ( part kind | quantity part kind | group )
    word        = anything else, or a phrase between quotes; "or" joins two of them

Nothing is guessed: a comparison whose figure is not named and does not follow from its unit is refused with an example,
and what was understood can be said back word by word (`Query.understood`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, TypeVar

from lidoff.shelf.asking import has_part, within
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import BY_NAME, SAYINGS, Measure, plain_words
from lidoff.shelf.phrases import (
    ALWAYS,
    ARTICLES,
    BY_UNIT,
    COMPARING,
    FILLING,
    INTRODUCED,
    INTRODUCING,
    NEGATING,
    SILENT,
    Phrase,
)
from lidoff.shelf.query import Condition, HasPart, Is, Query, Saw, Words

_UNITS: Final = (
    r"%|percent\b|per\ cent\b|"
    r"(?:milli|kilo|micro|nano)?(?:watts?|volts?|amps?|amperes?|farads?|ohms?|hertz)\b|"
    r"[pnuµμmkMG]?(?:W|VA|V|A|Hz|F|H|Ω)\b|[kMR]\b"
)
_TOKEN: Final = re.compile(
    rf"""
    \s* (?:
      "(?P<quoted>[^"]+)" | “(?P<curly>[^”]+)”
    | (?P<quantity>[+-]?\d[\d.,]*(?<![.,])(?:\s?(?:{_UNITS}))?)(?!\w)
    | (?P<sign>>=|<=|=>|=<|[<>=≥≤~≈])
    | (?P<dash>[–—-])(?=\s*\d)
    | (?P<word>[^\W_][\w/.'’*+-]*[\w*+]|\w[*]?)
    | (?P<other>\S)
    )""",
    re.VERBOSE,
)
_LONG_UNITS: Final = (
    ("percent", "%"), ("per cent", "%"), ("milli", "m"), ("kilo", "k"), ("micro", "u"), ("nano", "n"),
    ("watts", "W"), ("watt", "W"), ("volts", "V"), ("volt", "V"), ("amperes", "A"), ("ampere", "A"), ("amps", "A"),
    ("amp", "A"), ("farads", "F"), ("farad", "F"), ("ohms", "ohm"), ("hertz", "Hz"),
)  # fmt: skip
_REGIONS: Final = ("GB", "EU", "US")
_LONGEST: Final = 500
_MOST_WORDS: Final = 8  # in one phrase
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class _Token:
    sort: str
    text: str

    @property
    def word(self) -> str:
        return self.text.casefold() if self.sort in ("word", "sign") else ""


def understand(text: str) -> Query:
    """The question that a sentence asks. Raises QueryError, with an example, for what is not understood."""
    if len(text) > _LONGEST:
        raise QueryError(f"a question of more than {_LONGEST} letters is not looked at; say it shorter.")
    parser = _Parser(_tokens(text))
    parser.run()
    return parser.query


def _tokens(text: str) -> list[_Token]:
    found: list[_Token] = []
    for match in _TOKEN.finditer(text):
        sort = str(match.lastgroup)
        piece = match[sort]
        if sort in ("quoted", "curly"):
            found.append(_Token("quoted", piece.strip()))
        elif sort == "word" and "-" in piece and tuple(piece.casefold().split("-")) in ALWAYS:
            # A rule's id, or a group's name, written as such.
            found += [_Token("word", one) for one in piece.split("-")]
        elif sort != "other":
            found.append(_Token(sort, piece))
    return found


class _Parser:
    def __init__(self, tokens: list[_Token]) -> None:
        self.tokens = tokens
        self.at = 0
        self.found: list[Condition] = []
        self.passed: list[str] = []
        self.without = False
        self.introduced = False
        self.either = False

    @property
    def query(self) -> Query:
        """What was understood; words that only name a question which an answer already names are passed over."""
        naming = {word for one in self.found if isinstance(one, Saw) for word in one.question.split("-")}
        named = [
            one
            for one in self.found
            if isinstance(one, Words) and len(one.any_of) == 1 and one.any_of[0].casefold().removesuffix("s") in naming
        ]
        return Query(
            conditions=tuple(dict.fromkeys(one for one in self.found if one not in named)),
            passed_over=tuple(dict.fromkeys((*self.passed, *(one.any_of[0] for one in named)))),
        )

    def run(self) -> None:
        """Reads to the end."""
        while self.at < len(self.tokens):
            if not (self._phrase() or self._comparison() or self._with_part() or self._flag()):
                self._word()
        if self.either:
            raise QueryError("a question cannot end in “or”.")

    # Pieces -----------------------------------------------------------------------------------------------------------

    def _phrase(self) -> bool:
        match = self._longest(ALWAYS, self.at)
        if match is None:
            return False
        make, end = match
        self._add(make(self.without), end)
        return True

    def _flag(self) -> bool:
        """Words that say how the next one is meant."""
        token = self.tokens[self.at]
        if token.word == "or":
            if not self.found or not isinstance(self.found[-1], Words) or self.found[-1].without:
                raise QueryError("“or” is understood between two words only, such as “strips or lamps”.")
            self.either = True
        elif token.word in NEGATING:
            self.without = self.introduced = True
        elif token.word in INTRODUCING:
            self.introduced = True
            self.passed.append(token.word)
        elif token.word in SILENT:
            self.passed.append(token.word)
            if token.word not in ARTICLES:
                self.introduced = False
        elif token.word in ("marked", "marking") and self._next_text():
            self._add(HasPart(marking=self._next_text(), without=self.without), self.at + 2)
            return True
        else:
            return False
        self.at += 1
        return True

    def _with_part(self) -> bool:
        """As in "with a triac", "without varistors", "with a 220 nF capacitor"."""
        if not self.introduced:
            return False
        match = self._longest(INTRODUCED, self.at)
        if match is not None:
            make, end = match
            condition = make(self.without)
            if isinstance(condition, HasPart) and condition.kind and self._sort(end, "of") and self._quantity(end + 1):
                condition = has_part(f"{condition.kind} {self._quantity(end + 1)}", without=self.without)
                end += 2
            self._add(condition, end)
            return True
        value = self._quantity(self.at)
        match = self._longest(INTRODUCED, self.at + 1) if value else None
        if match is None:
            return False
        condition = match[0](self.without)
        if not isinstance(condition, HasPart) or condition.kind is None:
            return False
        self._add(has_part(f"{condition.kind} {value}", without=self.without), match[1])
        return True

    def _comparison(self) -> bool:
        figure, at = self._figure(self.at)
        if figure is not None:
            at = self._skip(at)
        how = self._longest(COMPARING, at)
        if how is None and self._quantity(at) and self._sort(at + 1, "dash") and self._quantity(at + 2):
            how = ("..", at)  # "5–8 W"
        if how is None:
            return False
        sign, at = how
        low = self._quantity(at)
        if low is None:
            if figure is not None:
                raise QueryError(
                    f"{figure.words[0]} is compared with nothing; say a value, such as {_example(figure)}."
                )
            return False
        at += 1
        high = ""
        if sign == ".." or self._sort(at, "dash"):
            if not (self._sort(at, "and", "to", "dash") and self._quantity(at + 1)):
                raise QueryError(f"from {low} to what? Say both ends, such as between {low} and twice that.")
            sign, high, at = "..", str(self._quantity(at + 1)), at + 2
            if _unit(low) == "":
                low = f"{low} {_unit(high)}".strip()
        if figure is None:
            figure, at = self._figure_after(low, at)
        self._add(within(figure, sign, low, high), at)
        return True

    def _figure_after(self, value: str, at: int) -> tuple[Measure, int]:
        """The figure named behind a quantity, or the one that its unit means."""
        after, end = self._figure(self._skip(at))
        if after is not None and self._longest(COMPARING, self._skip(end)) is None:
            return after, end
        unit = _unit(value)
        base = next((one for one in BY_UNIT if unit == one or (unit[1:] == one and unit[0] in "numkM")), None)
        if base is None:
            raise QueryError(f"{value} of what? Name the figure, such as “flicker over 80 %” or “power over 8 W”.")
        return BY_NAME[BY_UNIT[base]], at

    def _word(self) -> None:
        token = self.tokens[self.at]
        self.at += 1
        if token.sort in ("sign", "dash"):
            self.passed.append(token.text)
            return
        if token.text in _REGIONS:
            self._add(Is(field="region", value=token.text), self.at)
            return
        before = self.found[-1] if self.found else None
        if self.either and isinstance(before, Words):
            self.found[-1] = Words(any_of=(*before.any_of, token.text))
            self.either = False
            return
        self._add(Words(any_of=(token.text,), without=self.without), self.at)

    # Helpers ----------------------------------------------------------------------------------------------------------

    def _add(self, condition: Condition, end: int) -> None:
        if self.either:
            raise QueryError("“or” is understood between two words only, such as “strips or lamps”.")
        self.found.append(condition)
        self.at = end
        self.without = self.introduced = False

    def _longest(self, table: Mapping[Phrase, _T], at: int) -> tuple[_T, int] | None:
        """What the longest phrase that begins here stands for, and where it ends."""
        for length in range(_MOST_WORDS, 0, -1):
            words = tuple(self._phrase_word(place) for place in range(at, at + length))
            if len(words) == length and words in table:
                return table[words], at + length
        return None

    def _phrase_word(self, at: int) -> str:
        if at >= len(self.tokens):
            return ""
        token = self.tokens[at]
        return token.word or (token.text if token.sort == "quantity" else "")

    def _figure(self, at: int) -> tuple[Measure | None, int]:
        for length in range(_MOST_WORDS, 0, -1):
            words = plain_words(" ".join(self._phrase_word(place) for place in range(at, at + length)))
            if at + length <= len(self.tokens) and words in SAYINGS:
                return SAYINGS[words], at + length
        return None, at

    def _skip(self, at: int) -> int:
        """Past at most two filling words."""
        end = at
        while end < len(self.tokens) and end - at < 2 and self.tokens[end].word in FILLING:
            if self._longest(COMPARING, end) is not None:
                break
            end += 1
        return end

    def _sort(self, at: int, *wanted: str) -> bool:
        return at < len(self.tokens) and (self.tokens[at].word in wanted or self.tokens[at].sort in wanted)

    def _quantity(self, at: int) -> str | None:
        if at >= len(self.tokens) or self.tokens[at].sort != "quantity":
            return None
        text = self.tokens[at].text
        for long, short in _LONG_UNITS:
            text = text.replace(long, short)
        return text

    def _next_text(self) -> str:
        return self.tokens[self.at + 1].text if self.at + 1 < len(self.tokens) else ""


def _unit(quantity: str) -> str:
    return quantity.lstrip("+-0123456789., ").replace("µ", "u").replace("μ", "u")


def _example(figure: Measure) -> str:
    return f"{figure.words[0]} over 80 %" if figure.unit == "%" else f"{figure.words[0]} over 8 {figure.unit}".strip()
