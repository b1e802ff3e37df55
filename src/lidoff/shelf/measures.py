"""The figures that a shelf can be searched by: what each is called, how people say it, and where an account has it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from lidoff.quantity import engineering
from lidoff.shelf.errors import QueryError


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One figure.

    `name` is its dotted name, `title` what people see; `words` are the ways in which it is said. `unit` is a key of
    the units, "%" for percent (kept as `scale` times what people write) or "" for a plain number. `of_item` is true
    where it belongs to the whole item and not to one of its states.
    """

    name: str
    title: str
    words: tuple[str, ...]
    unit: str
    scale: float = 1.0
    of_item: bool = False

    def shown(self, value: float, digits: int = 3) -> str:
        """A value [SI, as kept] for people."""
        if self.unit == "%":
            return f"{_plain(value / self.scale, digits)} %"
        if not self.unit:
            return _plain(value, digits)
        return engineering(value, self.unit, digits)

    def written(self, value: float) -> str:
        """A bound [SI, as kept] as somebody would write it: to four digits, without zeros at the end."""
        return re.sub(r"(\.\d*?)0+(?!\d)", r"\1", self.shown(value, 4)).replace(". ", " ").rstrip(".")


def _plain(value: float, digits: int) -> str:
    """A number to so many digits, never with an exponent."""
    text = f"{value:.{digits}g}"
    return (
        f"{float(text):.0f}" if "e+" in text else f"{float(text):.{digits + 6}f}".rstrip("0") if "e" in text else text
    )


MEASURES: Final[tuple[Measure, ...]] = (
    Measure(name="input.power", title="power", words=("power", "watts", "wattage", "load"), unit="W"),
    Measure(name="input.current_rms", title="current, rms", words=("current", "current rms", "rms current"), unit="A"),
    Measure(name="input.current_peak", title="peak current", words=("peak current", "current peak"), unit="A"),
    Measure(name="input.apparent_power", title="apparent power", words=("apparent power", "volt amperes"), unit="VA"),
    Measure(name="input.power_factor", title="power factor", words=("power factor", "pf"), unit=""),
    Measure(
        name="input.displacement_factor",
        title="displacement factor",
        words=("displacement factor", "displacement"),
        unit="",
    ),
    Measure(name="input.crest_factor", title="crest factor", words=("crest factor", "crest"), unit=""),
    Measure(
        name="input.thd",
        title="harmonic distortion of the current",
        words=("thd", "distortion", "harmonic distortion", "harmonics"),
        unit="%",
        scale=0.01,
    ),
    Measure(
        name="light.percent_flicker",
        title="percent flicker",
        words=("percent flicker", "flicker", "flickers", "flickering", "modulation"),
        unit="%",
    ),
    Measure(name="light.flicker_index", title="flicker index", words=("flicker index",), unit=""),
    Measure(name="light.svm", title="stroboscopic visibility SVM", words=("svm", "stroboscopic visibility"), unit=""),
    Measure(name="light.pst_lm", title="short-term light flicker PstLM", words=("pst lm", "pstlm", "pst"), unit=""),
    Measure(
        name="light.frequency",
        title="frequency of the light",
        words=("light frequency", "flicker frequency"),
        unit="Hz",
    ),
    Measure(name="light.mean_current", title="LED current, mean", words=("led current", "mean current"), unit="A"),
    Measure(
        name="supply.voltage_rms", title="mains voltage", words=("mains voltage", "supply voltage", "mains"), unit="V"
    ),
    Measure(name="rated.power", title="rated power", words=("rated power", "label power"), unit="W", of_item=True),
    Measure(name="rated.voltage", title="rated voltage", words=("rated voltage",), unit="V", of_item=True),
    Measure(name="rated.current", title="rated current", words=("rated current",), unit="A", of_item=True),
    Measure(
        name="stress.times",
        title="worst stress, times the rating",
        words=("stress", "worst stress", "over rating", "overload"),
        unit="",
    ),
    Measure(
        name="pins.after_1s",
        title="voltage on the plug pins after one second",
        words=("pin voltage", "plug pins", "pins", "charge on the pins"),
        unit="V",
        of_item=True,
    ),
    Measure(
        name="knob.dead_travel",
        title="dead travel of the knob",
        words=("dead travel", "dead knob"),
        unit="%",
        scale=0.01,
        of_item=True,
    ),
    Measure(
        name="switch_on.peak", title="inrush, peak current", words=("inrush", "inrush current"), unit="A", of_item=True
    ),
)
"""Every figure by which a shelf can be searched; those of one item's states first."""

BY_NAME: Final[Mapping[str, Measure]] = {one.name: one for one in MEASURES}


def plain_words(text: str) -> str:
    """Words as they are compared: small letters, blanks for low lines, hyphens, dots and commas."""
    return " ".join(re.sub(r"[_\-.,]", " ", text.casefold()).split())


def _sayings() -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    for one in MEASURES:
        last = one.name.rpartition(".")[2]
        for words in (one.name, one.title, last, *one.words):
            # A short name belongs to whoever has it first: "power" is that of the input, not the rated one.
            found.setdefault(plain_words(words), one)
    return found


SAYINGS: Final[Mapping[str, Measure]] = _sayings()
"""Every way in which a figure is said, in `plain_words`."""


def measure(said: str) -> Measure:
    """The figure that is meant. Raises QueryError, which names those there are."""
    found = SAYINGS.get(plain_words(said))
    if found is None:
        known = ", ".join(one.words[0] for one in MEASURES)
        raise QueryError(f"“{said}” is no figure that the shelf keeps; those are: {known}.")
    return found
