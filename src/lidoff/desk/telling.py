"""What a write-up tells and in which order, as the record's `[writeup]` has it, and changes of it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from lidoff.record.splice import remove_at, set_at
from lidoff.record.telling import ALWAYS, CHAPTERS, START

PARAGRAPH: Final = "writeup.paragraph"
"""The kind by which a page's script names the user's own paragraphs."""
_PATH: Final = ("writeup", "paragraph")
TITLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "summary": "In short: four answers",
        "how": "How it works, with the schematic",
        "cycle": "One mains cycle",
        "knobs": "Its knobs, turned up and down",
        "readings": "Readings and their verdicts",
        "findings": "What could hurt",
        "parts": "Its parts",
        "light": "Light, mains quality, disturbance",
        "switching": "Switching on and unplugging",
        "faults": "Parts failed one at a time",
        "seen": "What was seen, and the verdict",
        "cautions": "Cautions",
        "not-looked-at": "What was not looked at",
        "again": "Where the figures come from",
    }
)
"""What each chapter is called on the page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A chapter in its place: whether it goes in, whether it always does, and what moves it or leaves it out.

    `up`, `down` and `turned` are the lists that stand in the record once it is moved or turned; None where it cannot.
    """

    name: str
    title: str
    inside: bool
    always: bool
    up: tuple[str, ...] | None
    down: tuple[str, ...] | None
    turned: tuple[str, ...]


def told(data: Mapping[str, Any]) -> list[Told]:
    """The chapters as the record's `[writeup]` orders them; what it says wrongly is passed over."""
    written = data.get("writeup")
    telling = written if isinstance(written, Mapping) else {}
    order = _names(telling.get("order"))
    out = [name for name in _names(telling.get("leave_out")) if name not in ALWAYS]
    names = [*order, *(name for name in CHAPTERS if name not in order)]
    return [
        Told(
            name=name,
            title=TITLES[name],
            inside=name not in out,
            always=name in ALWAYS,
            up=_swapped(names, place - 1) if place else None,
            down=_swapped(names, place) if place < len(names) - 1 else None,
            turned=tuple(one for one in out if one != name) if name in out else (*out, name),
        )
        for place, name in enumerate(names)
    ]


def places(data: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Where an own paragraph may stand: before everything, or behind a chapter."""
    return ((START, "first of all"), *((one.name, f"behind: {one.title}") for one in told(data)))


def _names(value: Any) -> list[str]:
    known = [one for one in value if one in CHAPTERS] if isinstance(value, list) else []
    return list(dict.fromkeys(known))


def _swapped(names: Sequence[str], place: int) -> tuple[str, ...]:
    """The names with the one at a place and the one behind it changed about."""
    return (*names[:place], names[place + 1], names[place], *names[place + 2 :])


def set_telling(text: str, key: str, value: Any) -> str:
    """The text with a key of `[writeup]` set, or taken out where the value is None."""
    written = tomllib.loads(text).get("writeup")
    if value is None:
        return remove_at(text, ("writeup", key)) if isinstance(written, Mapping) and key in written else text
    return set_at(text, ("writeup", key), value)


def add_paragraph(text: str, table: Mapping[str, Any]) -> str:
    """The text with one more own paragraph behind the others."""
    written = tomllib.loads(text).get("writeup")
    held = written.get("paragraph") if isinstance(written, Mapping) else None
    return set_at(text, (*_PATH, len(held) if isinstance(held, list) else 0), table)


def set_paragraph(text: str, which: int, key: str, value: Any) -> str:
    """The text with a key of an own paragraph set, or taken out. Raises KeyError where there is no such paragraph."""
    path = (*_PATH, which, key)
    return remove_at(text, path) if value is None else set_at(text, path, value)


def remove_paragraph(text: str, which: int) -> str:
    """The text without an own paragraph. Raises KeyError where there is no such one."""
    return remove_at(text, (*_PATH, which))
