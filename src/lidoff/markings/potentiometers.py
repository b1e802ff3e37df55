"""Potentiometers: a value with a letter for the taper, before or behind it ("B500K", "500KB", "250K lin")."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build, even, series_weight, shown
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import POT_TAPER
from lidoff.quantity import QuantityError, parse

# Letter to taper as used today almost everywhere, and as older European parts had it.
_NOW: Final = {"A": "log", "B": "linear", "C": "reverse-log"}
_OLD: Final = {"A": "linear", "B": "log"}
_WORDS: Final = {"LIN": "linear", "LINEAR": "linear", "LOG": "log", "REVLOG": "reverse-log"}


def decode_potentiometers(seen: Seen) -> list[Candidate]:
    """Every reading of a text as a potentiometer."""
    return [*_readings(seen), *_bare(seen)]


def _usual(value: float) -> tuple[float, str]:
    """Tracks are made in 1, 2, 2.2, 2.5, 4.7 and 5 per decade; 2.5 and 5 are in no E series but usual here."""
    if float(f"{value:.1e}") == value and f"{value:.1e}"[:3] in ("1.0", "2.0", "2.2", "2.5", "4.7", "5.0"):
        return 1.0, f"{shown(value, 'ohm')} is a usual track"
    return series_weight(value, 0.2)


def _bare(seen: Seen) -> Iterator[Candidate]:
    """A value without a taper, "500K" or "104", as on trimmers."""
    code = seen.upper
    if re.fullmatch(r"[125]\d[1-6]", code):
        value = float(f"{code[:2]}e{code[2]}")
    elif re.fullmatch(r"\d+(?:\.\d+)?[KM]\d?", code):
        value = parse(code, "ohm")
    else:
        return
    if 50 <= value <= 10e6:
        weight, reason = _usual(value)
        why = ("a value without a taper, as on trimmers", reason, "20 % is usual, not marked")
        yield build("potentiometer", value, source=POT_TAPER, score=0.06 * weight, why=why, tolerance=even(0.2))


def _readings(seen: Seen) -> Iterator[Candidate]:
    code = seen.upper.replace("Ω", "").replace("OHM", "")
    match = re.fullmatch(r"([ABC])(\d+(?:\.\d+)?[KM]\d?|\d{2,4})", code)
    behind = match is None
    if behind:
        match = re.fullmatch(r"(\d+(?:\.\d+)?[KM]\d?)([ABC]|LIN|LINEAR|LOG|REVLOG)", code)
    if match is None:
        return
    letter, amount = (match[2], match[1]) if behind else (match[1], match[2])
    if amount.isdigit() and not amount.endswith("0"):
        return
    try:
        value = parse(amount, "ohm")
    except QuantityError:
        return
    if not 50 <= value <= 10e6:
        return
    weight, reason = _usual(value)
    written = letter in _WORDS
    tapers = ((_WORDS[letter], 0.9, "the taper is written out"),) if written else _lettered(letter, behind)
    for taper, score, why in tapers:
        reasons = (why, reason, "20 % is usual, not marked")
        yield build(
            "potentiometer",
            value,
            source=POT_TAPER,
            score=score * weight,
            why=reasons,
            tolerance=even(0.2),
            extra=f"{taper} track",
            more={"taper": taper},
        )


def _lettered(letter: str, behind: bool) -> tuple[tuple[str, float, str], ...]:
    # Behind the value the same letters are tolerances (B 0.1 %, C 0.25 %): said of tracks far more often.
    base = 0.7 if behind else 0.85
    found = [(_NOW[letter], base, f"{letter} is {_NOW[letter]} on parts of today")]
    if letter in _OLD:
        found.append((_OLD[letter], 0.25 * base, f"{letter} was {_OLD[letter]} on older European parts"))
    return tuple(found)
