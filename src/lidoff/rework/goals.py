"""Goals: what the rework is to reach, as `name=value`, read into a band and a subject.

A goal is a band of one figure, held at every corner of tolerances and mains. Two names are no figures but a change of
the job itself: `mains` puts the item on another mains, `length` changes how many sections a block has.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import KW_ONLY, dataclass
from typing import Final

from lidoff.quantity import QuantityError, parse, share
from lidoff.record.model import Table
from lidoff.rework.errors import ReworkError


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """One goal: the figure `name` is to lie between `low` and `high` [`unit`], None where that side is open.

    `subject` is the part, block or class it is about; `value` the text as given. `implied` goals are those that another
    one brings along.
    """

    name: str
    value: str
    low: float | None = None
    high: float | None = None
    unit: str = ""
    subject: str | None = None
    implied: bool = False

    @property
    def text(self) -> str:
        """The goal as it is given on the command line."""
        return f"{self.name}={self.value}"

    @property
    def words(self) -> str:
        """The goal as half a sentence."""
        return GOALS[self.name].told(self)

    @property
    def is_change(self) -> bool:
        """Whether it changes the job rather than asks for a figure."""
        return GOALS[self.name].change

    def slack(self, value: float | None) -> float:
        """How far inside its band a figure lies [1 at the middle of a band, 0 at an end, negative outside].

        Of a ceiling or floor the share that is left of it. A figure that does not exist is far outside.
        """
        if value is None or not math.isfinite(value):
            return -1e3
        if self.low is not None and self.high is not None:
            half = 0.5 * (self.high - self.low)
            return min(value - self.low, self.high - value) / half if half > 0.0 else -abs(value - self.low)
        if self.high is not None:
            return (self.high - value) / abs(self.high) if self.high else -value
        if self.low is not None:
            return (value - self.low) / abs(self.low) if self.low else value
        return 0.0

    def met(self, low: float | None, high: float | None) -> bool:
        """Whether a figure that runs from `low` to `high` stays inside the band."""
        if low is None or high is None or not (math.isfinite(low) and math.isfinite(high)):
            return False
        return (self.low is None or low >= self.low) and (self.high is None or high <= self.high)

    def shown(self, value: float | None) -> str:
        """A figure of this goal for people."""
        return GOALS[self.name].shown(value)

    def span(self, low: float | None, high: float | None) -> str:
        """A figure of this goal that runs from `low` to `high`, for people: "8.3 % to 12 %", the unit's words once."""
        first, last = self.shown(low), self.shown(high)
        number, _, unit = first.partition(" ")
        short = number if " " in unit and last.endswith(unit) else first
        return first if first == last else f"{short} to {last}"

    @property
    def key(self) -> str:
        """The name under which a document keeps it: with the part or block where there may be several of the kind."""
        return f"{self.name} {self.subject}" if self.name in ("stress", "length") and self.subject else self.name


@dataclass(frozen=True, slots=True)
class GoalKind:
    """A goal that can be set: the name it is given by and its title for people, an example and what it means.

    `read` reads its value, `shown` writes a figure of it. As half a sentence it is its title, its band and `tail`,
    unless `words` says otherwise. `change` marks what changes the job rather than asks for a figure.
    """

    name: str
    title: str
    example: str
    read: Callable[[str, str], Goal]
    shown: Callable[[float | None], str]
    tail: str = ""
    _: KW_ONLY
    about: str
    words: Callable[[Goal], str] | None = None
    change: bool = False

    def told(self, goal: Goal) -> str:
        """A goal of this kind as half a sentence."""
        return self.words(goal) if self.words else f"{self.title} {_range_words(goal)}{self.tail}"


def parse_goals(texts: Iterable[str]) -> tuple[Goal, ...]:
    """Each `name=value` as a goal. Raises ReworkError where one has not that form or cannot be read."""
    goals = tuple(parse_goal(text) for text in texts)
    if not goals:
        raise ReworkError(f"No goal is given; give one such as --goal {GOALS['light'].example}")
    seen: set[tuple[str, str | None]] = set()
    for goal in goals:
        if (goal.name, goal.subject) in seen:
            raise ReworkError(f"The goal {goal.name} is given twice; give one band for it")
        seen.add((goal.name, goal.subject))
    return goals


def parse_goal(text: str) -> Goal:
    """One `name=value`, the name or its title in any spelling.

    Raises ReworkError where it has not that form, with the names there are.
    """
    name, equals, value = (piece.strip() for piece in text.partition("="))
    key = _NAMES.get(name.lower(), re.sub(r"[\s-]+", "_", name.lower()))
    if not equals or not value:
        raise ReworkError(f'"{text}" has not the form name=value, such as {GOALS["light"].example}')
    if key not in GOALS:
        raise ReworkError(f'There is no goal "{name}"; there are {", ".join(GOALS)}')
    return GOALS[key].read(key, value)


_RANGE: Final = re.compile(r"^(?P<low>.+?)\s*(?:–|—|\.\.|to|(?<=[\d%])\s*-)\s*(?P<high>.+)$")


def _number(name: str, text: str, unit: str) -> float:
    """One value [unit]; a share where the unit is %. Raises ReworkError."""
    try:
        if unit == "%":
            return share(text)
        return float(text) if unit == "1" else parse(text, unit)
    except (QuantityError, ValueError) as error:
        raise ReworkError(f"{name}={text}: {error}; an example is {GOALS[name].example}") from error


def _band(unit: str, side: str) -> Callable[[str, str], Goal]:
    """Reads a band, or one value that is the open side's bound: "high" a ceiling, "low" a floor, "both" ±10 %."""

    def read(name: str, value: str) -> Goal:
        bare = value.strip()
        found = _RANGE.match(bare)
        if found:
            low_text, high_text = found["low"], found["high"]
            if unit == "%" and high_text.strip().endswith("%") and not low_text.strip().endswith("%"):
                low_text += "%"
            low, high = (_number(name, one, unit) for one in (low_text, high_text))
            if not low < high:
                raise ReworkError(f"{name}={value}: the band runs from its lower to its higher end")
            return Goal(name=name, value=value, low=low, high=high, unit=unit)
        bare = bare.lstrip("<≤>≥ ")
        middle = _number(name, bare, unit)
        if side == "both":
            return Goal(name=name, value=value, low=0.9 * middle, high=1.1 * middle, unit=unit)
        if side == "low":
            return Goal(name=name, value=value, low=middle, unit=unit)
        return Goal(name=name, value=value, high=middle, unit=unit)

    return read


def _percent_flicker(name: str, value: str) -> Goal:
    text = value.strip().lstrip("<≤ ").rstrip("% ")
    try:
        most = float(text)
    except ValueError as error:
        raise ReworkError(f"{name}={value}: a percentage is expected, such as {GOALS[name].example}") from error
    return Goal(name=name, value=value, high=most, unit="%")


_PRACTICES: Final = {
    "no-effect": "no effect",
    "no-observable-effect": "no effect",
    "noel": "no effect",
    "low-risk": "low risk",
}


def _ieee(name: str, value: str) -> Goal:
    word = value.strip().lower().replace(" ", "-").replace("_", "-")
    if word not in _PRACTICES:
        raise ReworkError(f'{name}={value}: the practices are "no-effect" and "low-risk"')
    return Goal(name=name, value=value, high=1.0, unit="1", subject=_PRACTICES[word])


def _glow(name: str, value: str) -> Goal:
    if value.strip().lower() in ("none", "no", "0", "0 %", "off"):
        return Goal(name=name, value=value, high=GLOW_SEEN, unit="%")
    return Goal(name=name, value=value, high=_number(name, value, "%"), unit="%")


GLOW_SEEN: Final = 1e-5
"""Share of full light from which an LED is seen in a dark room (common practice, no source)."""


def _harmonics(name: str, value: str) -> Goal:
    word = value.strip().lower().removeprefix("class").strip(" -_")
    if word not in ("a", "c", "d"):
        raise ReworkError(f'{name}={value}: the classes are "class-a", "class-c" (lighting) and "class-d"')
    return Goal(name=name, value=value, high=1.0, unit="1", subject=word)


def _stress(name: str, value: str) -> Goal:
    words = value.split()
    if len(words) < 2 or words[0][0].isdigit():
        raise ReworkError(f"{name}={value}: a part and a share of its rating are expected, as in {GOALS[name].example}")
    ref, quantity, of_rating = words[0], "", " ".join(words[1:])
    if words[1].lower() in ("power", "voltage", "current"):
        quantity, of_rating = words[1].lower(), " ".join(words[2:])
    high = _number(name, of_rating, "%")
    return Goal(name=name, value=value, high=high, unit="%", subject=f"{ref}.{quantity}" if quantity else ref)


def _length(name: str, value: str) -> Goal:
    words = value.split()
    try:
        count = int(words[-1])
    except (ValueError, IndexError) as error:
        raise ReworkError(f"{name}={value}: a number of sections is expected, as in {GOALS[name].example}") from error
    if count < 1:
        raise ReworkError(f"{name}={value}: at least one section is needed")
    return Goal(name=name, value=value, low=count, high=count, subject=words[0] if len(words) > 1 else None)


_MAINS: Final = re.compile(r"^\s*(?P<v>[\d.]+)\s*V\s*[,/ ]\s*(?P<f>[\d.]+)\s*Hz\s*$", re.IGNORECASE)


def _mains(name: str, value: str) -> Goal:
    found = _MAINS.match(value)
    if not found:
        raise ReworkError(f"{name}={value}: voltage and frequency are expected, as in {GOALS[name].example}")
    volts, hertz = float(found["v"]), float(found["f"])
    if not (90.0 <= volts <= 260.0 and 45.0 <= hertz <= 65.0):
        raise ReworkError(f"{name}={value}: a mains of 90 V to 260 V and 45 Hz to 65 Hz is expected")
    return Goal(name=name, value=value, low=volts, high=hertz)


def _interference(name: str, value: str) -> Goal:
    text = value.strip().lower()
    if text in ("limit", "under the limit"):
        return Goal(name=name, value=value, high=0.0, unit="dB", subject="limit")
    bare = text.removesuffix("lower").strip().removesuffix("db").strip().lstrip("-")
    try:
        lower = float(bare)
    except ValueError as error:
        raise ReworkError(f'{name}={value}: "limit" or a number of decibels is expected, such as 20 dB') from error
    return Goal(name=name, value=value, low=lower, unit="dB", subject="lowered")


def _shown_in(unit: str, *, scale: float = 1.0) -> Callable[[float | None], str]:
    space = f" {unit}" if unit else ""

    def show(value: float | None) -> str:
        return "–" if value is None or not math.isfinite(value) else f"{scale * value:.3g}{space}"

    return show


def _range_words(goal: Goal) -> str:
    low, high = goal.shown(goal.low), goal.shown(goal.high)
    if goal.low is not None and goal.high is not None:
        return f"{low} to {high}"
    return f"at most {high}" if goal.high is not None else f"at least {low}"


_SHARE: Final = _shown_in("%", scale=100.0)
_ALL: Final = (
    GoalKind(
        "light", "light", '"light=8–13 %"', _band("%", "both"), _SHARE, " of full",
        about="Light as a share of what the item gives at full on its nominal mains, held over the range of the mains.",
    ),
    GoalKind(
        "percent_flicker", "percent flicker", '"percent_flicker=3.3 %"', _percent_flicker, _shown_in("%"),
        about="Percent flicker: (most − least) ÷ (most + least) of the light over a cycle.",
    ),
    GoalKind(
        "svm", "SVM", "svm=0.4", _band("1", "high"), _shown_in(""),
        about="Stroboscopic visibility measure (IEC TR 63158); 1 is just visible, the EU's limit is 0.4.",
    ),
    GoalKind(
        "ieee_1789", "IEEE 1789", "ieee_1789=no-effect", _ieee, _shown_in("of the line"),
        about="Modulation of the light under a line of IEEE Std 1789-2015: no-effect or low-risk.",
        words=lambda g: f"modulation under the {g.subject} line of IEEE 1789",
    ),
    GoalKind(
        "dead_travel", "dead travel", '"dead_travel=15 %"', _band("%", "high"), _SHARE,
        about="Share of a knob's travel over which the light hardly changes; a glow from a leakier snubber "
        "counts as no light.",
    ),
    GoalKind(
        "glow_off", "light left when off", "glow_off=none", _glow, _SHARE, " of full",
        about="Light that is left when the item is off, as a share of full; `none` is what nobody sees in the dark.",
    ),
    GoalKind(
        "power_factor", "power factor", "power_factor=0.9", _band("1", "low"), _shown_in(""),
        about="Power factor at the terminals, at least.",
    ),
    GoalKind(
        "harmonics", "harmonics", "harmonics=class-c", _harmonics, _shown_in("of the limit"),
        about="Input current under the limits of a class of IEC 61000-3-2: class-a, class-c or class-d.",
        words=lambda g: f"harmonics under class {(g.subject or '').upper()}",
    ),
    GoalKind(
        "stress", "stress of a part", '"stress=R1 power 60 %"', _stress, _SHARE,
        about="What a part gets, as a share of what it is rated for: its power, voltage or current, or the worst of "
        "the three; `all` stands for every part.",
        words=lambda g: f"stress of {(g.subject or '').replace('.', ', ')} {_range_words(g)} of its rating",
    ),
    GoalKind(
        "inrush", "inrush", '"inrush=5 A"', _band("A", "high"), _shown_in("A"),
        about="Peak current when switched on at the worst instant, cold.",
    ),
    GoalKind(
        "discharge", "discharge of the pins", '"discharge=1 s"', _band("s", "high"), _shown_in("s"),
        about="Time after unplugging until the plug's pins stay below 34 V.",
        words=lambda g: f"pins below 34 V in {_range_words(g)}",
    ),
    GoalKind(
        "balance", "imbalance of the strings", '"balance=10 %"', _band("%", "high"), _SHARE,
        about="How much more than the mean the brightest of several strings side by side carries, where its LEDs drop "
        "less than the others by their tolerance.",
    ),
    GoalKind(
        "interference", "conducted disturbance", '"interference=20 dB"', _interference, _shown_in("dB"),
        about="Estimated conducted disturbance: `limit` for under the published limit, or by how many decibels lower.",
        words=lambda g: (
            "disturbance under the limit" if g.subject == "limit" else f"disturbance lower by {g.shown(g.low)}"
        ),
    ),
    GoalKind(
        "length", "length of the run", '"length=section 20"', _length, _shown_in(""),
        about="The run made longer or shorter: that many sections of a block in parallel (in series where the block is "
        "repeated in series only).",
        words=lambda g: f"{g.low:g} sections{f' of {g.subject}' if g.subject else ''}",
        change=True,
    ),
    GoalKind(
        "mains", "another mains", '"mains=120 V 60 Hz"', _mains, _shown_in(""),
        about="The item put on another mains.",
        words=lambda g: f"on a mains of {g.low:g} V {g.high:g} Hz",
        change=True,
    ),
)  # fmt: skip
GOALS: Final[Mapping[str, GoalKind]] = Table({kind.name: kind for kind in _ALL})
"""Every goal there is, by name."""
_NAMES: Final[Mapping[str, str]] = Table({kind.title.lower(): kind.name for kind in _ALL})
"""The name of each goal by its title, as pages show it."""
