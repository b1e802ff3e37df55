"""Sentences that cannot be built without the sources of their numbers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from lidoff.quantity import engineering, percent, with_interval

Style = Literal["computed", "marked", "percent", "count"]

_SPOKEN: Final = {
    "V": "volts",
    "A": "amperes",
    "W": "watts",
    "VA": "volt-amperes",
    "Hz": "hertz",
    "s": "seconds",
    "J": "joules",
    "Ω": "ohms",
    "F": "farads",
    "H": "henries",
    "°": "degrees",
    "%": "percent",
}
_PREFIXES: Final = {"p": "pico", "n": "nano", "µ": "micro", "m": "milli", "k": "kilo", "M": "mega"}
_NUMBER: Final = re.compile(r"\d+(?:[.,]\d+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cited:
    """A number as it stands in a sentence, with the place it was taken from.

    `value` is in `unit` (SI symbol); `source` names the place: "figures: parts.R1.power" in the solution's figures,
    "group: ID: NAME" among the figures of a group, "record: R1.value", "turn: dead_travel", "vary: …", "waves: …"
    worked out from the solved waves, "leak: …" from the cycle in which the triac does not fire, "groups: …" counted.
    """

    value: float
    unit: str
    source: str
    style: Style = "computed"

    @property
    def shown(self) -> str:
        """As written: "4.7 kΩ", "91 %"."""
        if self.style == "percent":
            return percent(self.value)
        if self.style == "count":
            return f"{self.value:g}"
        if self.style == "marked":
            return with_interval(self.value, 0.0, self.unit)
        digits = 2 if self.unit == "deg" else 3
        return engineering(self.value, self.unit, digits)

    @property
    def spoken(self) -> str:
        """As read aloud: "4.7 kilohms", "91 percent"."""
        number, _, unit = self.shown.replace("°", " °").partition(" ")
        if not unit:
            return number
        word = _SPOKEN.get(unit)
        if word is None:
            word = _PREFIXES.get(unit[0], unit[0]) + _SPOKEN.get(unit[1:], unit[1:])
            word = {"kiloohms": "kilohms", "megaohms": "megohms"}.get(word, word)
        if float(number) == 1.0:
            word = {"henries": "henry", "hertz": "hertz", "percent": "percent"}.get(word, word.removesuffix("s"))
        return f"{number} {word}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """One sentence of the account, tied to a group and to the source of each of its numbers.

    `group` is the group's id, or "supply", "item" or "unexplained" for what belongs to none. `spoken` is a shorter
    form, to be read aloud while pointing at `refs`; both take their numbers from `figures`. Raises ValueError where a
    number stands in either text that no figure accounts for, or where there is no figure at all.
    """

    text: str
    spoken: str
    group: str
    figures: Mapping[str, Cited]
    refs: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.figures:
            raise ValueError(f'"{self.text}" has no figure; a sentence of the account needs one')
        for text, values in (
            (self.text, [cited.shown for cited in self.figures.values()]),
            (self.spoken, [cited.spoken for cited in self.figures.values()]),
        ):
            stray = uncited_numbers(text, values, self.refs)
            if stray:
                raise ValueError(f'"{text}" has numbers without a source: {", ".join(stray)}')

    def as_json(self) -> dict[str, Any]:
        """A mapping with the numbers in SI units."""
        return {
            "text": self.text,
            "spoken": self.spoken,
            "group": self.group,
            "refs": list(self.refs),
            "figures": {
                name: {"value": cited.value, "unit": cited.unit, "source": cited.source, "shown": cited.shown}
                for name, cited in self.figures.items()
            },
        }


def uncited_numbers(text: str, shown: list[str], refs: tuple[str, ...]) -> list[str]:
    """The numbers in a text that are neither part of a figure shown nor of a ref."""
    for known in sorted((*shown, *refs), key=len, reverse=True):
        text = re.sub(rf"(?<![\w.]){re.escape(known)}(?!\w)", " ", text)
    return _NUMBER.findall(text)
