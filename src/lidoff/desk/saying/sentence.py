"""Understanding one said sentence: name, kind, what it is worth, where it is joined."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.desk.saying.joins import SayingError, Tokens, take_joins
from lidoff.desk.saying.words import KIND_OF_PREFIX, KIND_WORDS
from lidoff.desk.saying.worth import take_worth
from lidoff.kinds import KINDS
from lidoff.markings.colours import read_bands
from lidoff.record import Part
from lidoff.record.problems import nearest, quoted

GRAMMAR: Final = (
    ("R1 4k7 from p to m", "a resistor and the two nodes it joins"),
    ("R2 brown black brown gold 0.5W from live to a", "colours as seen; or|br where one is doubtful"),
    ("C1 330n X2 275V~ across live and neutral", "value, class and rating"),
    ("BR1 bridge on a, neutral gives p, m", "the two ac nodes, then plus and minus"),
    ("LED1 led 6 in series 3.05V from p to m", "from anode to cathode"),
    ("D1 1N4007 from b to p", "a type number is a marking"),
    ("VR1 500k from a to b wiper w", "other pins by their names"),
    ("Q1 triac BT131 from x to neutral gate g", "from mt2 to mt1"),
    ("section/R3 22k from in to out", "a part of the group called section"),
    ("C2 10uF 25V count 1 from p to m note: the flat box", "how many were counted; a remark"),
)
"""Sentences that are understood, each with what it shows."""

_REF: Final = re.compile(r"(?:(?P<block>[A-Za-z][\w-]*)/)?(?P<ref>(?P<letters>[A-Za-z]{1,4})[\w-]*)")
# A comma between two digits is a decimal one.
_TOKEN: Final = re.compile(r'"[^"]*"|“[^”]*”|(?:[^\s,;"“]|(?<=\d),(?=\d))+|[,;]')
_NOTE: Final = re.compile(r"(?:^|[\s,;])note\s*:?\s+(?P<note>.+)$", re.IGNORECASE | re.DOTALL)
_FILLER: Final = frozenset({"is", "a", "an", "the", "of", "with", "it", "one", "each", "per", "and"})
_LONGEST: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A sentence understood: the keys of the `[[part]]` that it tells of, and the same in words."""

    ref: str
    kind: str
    table: Mapping[str, Any]
    told: tuple[tuple[str, str], ...] = ()

    @property
    def name(self) -> str:
        """The name by which the record knows the part."""
        block = self.table.get("block")
        return f"{block}/{self.ref}" if block else self.ref

    @property
    def words(self) -> str:
        """How it was understood, as one sentence."""
        return _words(self.name, self.kind, self.told)


def said(sentence: str, known: Mapping[str, Part] | None = None) -> Said:
    """What the sentence says. `known` are the parts that are there, by name; a sentence about one of them changes it.

    Raises SayingError.
    """
    known = known or {}
    text = " ".join(sentence.split())
    if not text or len(text) > _LONGEST:
        raise SayingError("Say a part: its name, what it is worth, and the nodes it joins, as in: R1 4k7 from p to m")
    text, note = _without_note(text)
    words = _TOKEN.findall(text)
    match = _REF.fullmatch(words[0].rstrip(":")) if words else None
    if match is None or not any(letter.isdigit() or letter == "/" for letter in words[0]):
        raise SayingError(
            f"A sentence begins with the part's name, such as R1; {quoted(words[0] if words else text)} is none."
        )
    block, ref = match["block"], match["ref"]
    tokens = Tokens(words[1:])
    name = f"{block}/{ref}" if block else ref
    there = known.get(name)
    kind = _take_kind(tokens) or (there.kind if there else None) or KIND_OF_PREFIX.get(match["letters"].upper())
    if kind is None:
        raise SayingError(
            f"{name} may be several things by its letters; say which, as in: {name} triac … or {name} transistor …"
        )
    table: dict[str, Any] = {"ref": ref, "kind": kind}
    if block:
        table["block"] = block
    told: list[tuple[str, str]] = []
    _take_marking(tokens, table, told)
    joined = take_joins(tokens, kind, there.nodes if there and there.kind == kind else {})
    take_worth(tokens, kind, table, told)
    _take_type(tokens, kind, table, told)
    if joined is not None:
        table["nodes"] = joined.nodes
        told.append(("joined", joined.words))
    if note:
        table["note"] = note
        told.append(("note", note))
    if joined is None and not there:
        # Two bare words at the end, or "m to neutral", are most likely nodes: said once how nodes are told.
        bare = [word for word in tokens.left() if word.lower() not in _FILLER - {"a"}]
        _hint_nodes(name, kind, told, bare)
    left = [word for word in tokens.left() if word.lower() not in _FILLER]
    if left:
        raise SayingError(_not_understood(name, kind, told, left))
    return Said(ref=ref, kind=kind, table=table, told=tuple(told))


def swatches(marking: str) -> tuple[tuple[str, ...], ...]:
    """The colours of a marking's bands, each with what it may be; () where the marking is none of bands."""
    found = read_bands(marking)
    return tuple(band.options for band in found.bands) if found is not None and len(found.bands) >= 3 else ()


def _without_note(text: str) -> tuple[str, str]:
    match = _NOTE.search(text)
    return (text[: match.start()], match["note"].strip()) if match else (text, "")


def _take_kind(tokens: Tokens) -> str | None:
    """The kind where it is said, longest words first ("current regulator" before "regulator")."""
    for place in range(len(tokens.words)):
        for length in (3, 2, 1):
            span = tokens.words[place : place + length]
            kind = KIND_WORDS.get(" ".join(word.lower() for word in span)) if len(span) == length else None
            # A node may be called as a kind is ("lamp"): what follows a joining word is a node.
            if kind is not None and not tokens.follows_join(place):
                tokens.drop(place, length)
                return kind
    return None


def _take_marking(tokens: Tokens, table: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """A marking between quotes, or a run of three or more colours."""
    for place, word in enumerate(tokens.words):
        if word[:1] in '"“':
            marking = word[1:-1].strip()
            if place and tokens.words[place - 1].lower() in ("marked", "marking", "print", "printed"):
                tokens.drop(place - 1, 2)
            else:
                tokens.drop(place, 1)
            table["marking"] = marking
            told.append(("marking", marking))
            return
    for start in range(len(tokens.words)):
        for end in range(min(len(tokens.words), start + 7), start + 2, -1):
            run = tokens.words[start:end]
            if any(len(word) < 2 for word in run) or read_bands(" ".join(run)) is None:
                continue
            table["marking"] = " ".join(run)
            told.append(("marking", table["marking"]))
            tokens.drop(start, end - start)
            return


def _take_type(tokens: Tokens, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """What is left and mixes letters and digits is a print: a type number, a code."""
    if "marking" in table:
        return
    prints = [word for word in tokens.left() if re.search(r"\d", word) and len(word) >= 2]
    lead = next((word for word in tokens.words if word.lower() in ("marked", "marking", "print", "printed")), None)
    if lead is not None:
        place = tokens.words.index(lead)
        prints = [word for word in tokens.words[place + 1 :] if word not in (",", ";")]
        tokens.take_word(lead)
    if not prints:
        return
    for word in prints:
        tokens.take_word(word)
    table["marking"] = " ".join(prints)
    told.append(("marking", table["marking"]))


def _hint_nodes(name: str, kind: str, told: list[tuple[str, str]], bare: list[str]) -> None:
    """Raises SayingError where what is left looks like nodes that no joining word leads."""
    nodes = [word for word in bare if word.lower() != "to"]
    if len(nodes) == 2 and len(KINDS[kind].pins) == 2:
        raise SayingError(
            f"Understood: {_words(name, kind, told)}. If {nodes[0]} and {nodes[1]} are its nodes, "
            f"say: from {nodes[0]} to {nodes[1]}."
        )


def _words(name: str, kind: str, told: tuple[tuple[str, str], ...] | list[tuple[str, str]]) -> str:
    parts = [f"{name}, {KINDS[kind].title}"]
    parts += [words if label in ("", "joined", "value") else f"{label} {words}" for label, words in told]
    return ", ".join(parts)


def _not_understood(name: str, kind: str, told: list[tuple[str, str]], left: list[str]) -> str:
    near = nearest(left[0], [*KIND_WORDS, "from", "between", "across", "gives", "wiper", "gate", "series"])
    hint = f" Was {quoted(near)} meant?" if near and near != left[0] else ""
    listed = ", ".join(quoted(word) for word in left[:4])
    return f"Understood: {_words(name, kind, told)}. Not understood: {listed}.{hint}"
