"""Where a part is joined, as said: "from a to b", "across live and neutral", "on a, b gives p, m", "gate g"."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from lidoff.desk.saying.words import GIVES, PIN_WORDS, TWO_ENDS
from lidoff.errors import LidoffError
from lidoff.kinds import KINDS, OTHER_NODES
from lidoff.record.problems import quoted

_FIRST: Final = frozenset({"from", "between", "across", "on", "joins", "over", "in"})
_SECOND: Final = frozenset({"to", "and", ",", "-", "–", "→", "->", "&"})
_GIVING: Final = frozenset({"gives", "giving", "→", "->", "makes"})
_AT: Final = frozenset({"on", "at", "to", "=", "is"})
_COMMA: Final = frozenset({",", ";"})
_NODE: Final = re.compile(r"[^\s,;\"]{1,40}")


class SayingError(LidoffError):
    """A sentence that was not understood; the text says what was, and what was not."""


@dataclass(frozen=True, slots=True)
class Joined:
    """The nodes as the record writes them, and in words."""

    nodes: Sequence[str] | Mapping[str, str]
    words: str


class Tokens:
    """The words of a sentence that are still to be understood."""

    def __init__(self, words: Sequence[str]) -> None:
        self.words = list(words)

    def drop(self, place: int, count: int) -> None:
        """Takes words out that were understood."""
        del self.words[place : place + count]

    def take_word(self, word: str) -> bool:
        """Takes the first such word out; false where there is none."""
        if word not in self.words:
            return False
        self.words.remove(word)
        return True

    def left(self) -> list[str]:
        """What nobody has understood yet."""
        return [word for word in self.words if word not in _COMMA]

    def low(self, place: int) -> str:
        """The word at a place in small letters, "" beyond the end."""
        return self.words[place].lower() if 0 <= place < len(self.words) else ""

    def follows_join(self, place: int) -> bool:
        """Whether the word at a place stands where a node is expected."""
        return self.low(place - 1) in (_FIRST | _SECOND | _GIVING) - _COMMA


def take_joins(tokens: Tokens, kind: str, before: Mapping[str, str]) -> Joined | None:
    """The joins of a sentence, taken out of it; None where it says none.

    `before` are pins that are joined already, of a part that is there. Raises SayingError for half a join.
    """
    pins: dict[str, str] = {}
    gives = GIVES.get(kind)
    for place in range(len(tokens.words)):
        word = tokens.low(place)
        if word not in _FIRST or (word == "in" and tokens.low(place + 1) in ("series", "parallel", "")):
            continue
        first, second, end = _pair(tokens, place + 1, kind)
        ends = TWO_ENDS.get(kind, ("1", "2"))
        pins |= {ends[0]: first, ends[1]: second}
        if gives is not None and tokens.low(end) in _COMMA | _GIVING:
            end += tokens.low(end) in _COMMA
            if tokens.low(end) in _GIVING:
                plus, minus, end = _pair(tokens, end + 1, kind)
                pins |= {gives[0]: plus, gives[1]: minus}
        tokens.drop(place, end - place)
        break
    _named(tokens, kind, pins)
    return _joined(kind, {**before, **pins}) if pins else None


def _pair(tokens: Tokens, place: int, kind: str) -> tuple[str, str, int]:
    """Two nodes from a place on, and where what follows them begins."""
    first = _node(tokens, place, kind)
    step = place + 1
    if tokens.low(step) in _SECOND:
        step += 1
        if tokens.low(step) in ("and", "to"):
            step += 1
    elif tokens.low(step):
        raise SayingError(f"Behind the node {quoted(first)} “to” and the other node are expected.")
    return first, _node(tokens, step, kind), step + 1


def _node(tokens: Tokens, place: int, kind: str) -> str:
    word = tokens.words[place] if place < len(tokens.words) else ""
    if not word or word in _COMMA or word.lower() in _GIVING or not _NODE.fullmatch(word):
        shape = {"bridge": "on a, b gives p, m"}.get(kind, "from a to b")
        raise SayingError(f"A node is missing; the joins of {_an(KINDS[kind].title)} are said as: {shape}")
    return OTHER_NODES.get(word, word)


def _named(tokens: Tokens, kind: str, pins: dict[str, str]) -> None:
    """Pins by their names: "gate g", "wiper on w", "plus p minus m"."""
    words = PIN_WORDS.get(kind, {})
    place = 0
    while place < len(tokens.words):
        pin = words.get(tokens.low(place))
        step = place + 1
        if tokens.low(step) in _AT:
            step += 1
        if pin is None or step >= len(tokens.words) or tokens.words[step] in _COMMA:
            place += 1
            continue
        pins[pin] = OTHER_NODES.get(tokens.words[step], tokens.words[step])
        tokens.drop(place, step + 1 - place)
        if tokens.low(place) in _COMMA | {"and"}:
            tokens.drop(place, 1)


def _joined(kind: str, pins: dict[str, str]) -> Joined:
    known = KINDS[kind]
    missing = [pin for pin in known.pins if pin not in pins and pin not in known.optional_pins]
    if missing:
        have = ", ".join(f"{pin} on {node}" for pin, node in pins.items())
        raise SayingError(
            f"{_an(known.title).capitalize()} has also the pin{'s' * (len(missing) > 1)} {', '.join(missing)}: "
            f"say them by name, as in: {missing[0]} x (so far: {have})"
        )
    ordered = {pin: pins[pin] for pin in known.pins if pin in pins}
    if known.listed:
        return Joined(list(ordered.values()), f"from {ordered['1']} to {ordered['2']}")
    nodes: Any = ordered
    return Joined(nodes, ", ".join(f"{pin} on {node}" for pin, node in ordered.items()))


def _an(title: str) -> str:
    return f"{'an' if title[0] in 'aeioL' else 'a'} {title}"
