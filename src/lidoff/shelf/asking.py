"""From options to conditions: `--where "power>8 W"`, `--part "capacitor 220n"`, `--risk high` and the like."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from typing import Final

from lidoff.circuit.groups import FAMILIES
from lidoff.hazards import QUESTIONS, RETIRED, RULES
from lidoff.kinds import KINDS
from lidoff.quantity import UNITS, QuantityError, parse
from lidoff.shelf.entry import main_unit
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import Measure, measure, plain_words
from lidoff.shelf.query import Condition, Field, HasFinding, HasGroup, HasPart, Is, Query, Saw, Within
from lidoff.standards.risk import LEVELS

GROUPS: Final[tuple[str, ...]] = tuple(dict.fromkeys(name for family in FAMILIES for name in family.names))
"""The names of all groups that are recognised."""
_ANSWERS: Final = {one.id: one.answers for one in QUESTIONS}
NEAR: Final = 0.1
"""Share either way that "about" allows (our choice)."""
_SAME: Final = 0.005  # share within which a figure counts as the one written: half of its last digit at three digits
_VALUE: Final = 0.02  # share within which a part's value counts as the one written: an E96 step is 2.4 %

_SIGN: Final = re.compile(r"\s*(>=|=>|≥|<=|=<|≤|>|<|=|~|≈)\s*")


def within(of: Measure, how: str, low: str, high: str = "") -> Within:
    """A figure held against what somebody wrote; `how` is one of > >= < <= = ~ or ".." for from `low` to `high`.

    Raises QueryError where that is no value of the figure's unit.
    """
    first = value_of(of, low)
    if how == "..":
        last = value_of(of, high)
        return Within(measure=of, low=min(first, last), high=max(first, last), with_low=True, with_high=True)
    if how in (">", ">=", "=>", "≥"):
        return Within(measure=of, low=first, with_low=how != ">")
    if how in ("<", "<=", "=<", "≤"):
        return Within(measure=of, high=first, with_high=how != "<")
    room = abs(first) * (NEAR if how in ("~", "≈") else _SAME)
    return Within(measure=of, low=first - room, high=first + room, with_low=True, with_high=True)


def value_of(of: Measure, text: str) -> float:
    """What somebody wrote, in the unit in which the figure is kept. Raises QueryError."""
    written = text.strip()
    if of.unit in ("", "%"):
        bare = written.removesuffix("%").strip()
        # A plain number is a share where the figure is one: a power factor of 90 % is 0.9.
        scale = of.scale if of.unit == "%" else 0.01 if bare != written else 1.0
        try:
            return float(bare.replace(",", ".")) * scale
        except ValueError:
            what = "percent, such as 80 %" if of.unit == "%" else "a plain number, such as 0.9"
            raise QueryError(f"“{written}” is no value of {of.title}; that is {what}.") from None
    try:
        return parse(written, of.unit, of.title)
    except QuantityError as error:
        raise QueryError(f"“{written}” is no value of {of.title}: {error}") from None


def where(text: str) -> Within:
    """The condition of a comparison such as "power>8 W", "percent_flicker>=80 %" or "power=5 W..8 W"."""
    found = _SIGN.search(text)
    if found is None:
        raise QueryError(f'“{text}” compares nothing; write it like "power>8 W" or "percent_flicker>=80 %".')
    of, how, rest = measure(text[: found.start()]), found[1], text[found.end() :]
    low, dots, high = rest.partition("..")
    return within(of, ".." if dots else how, low, high)


def has_part(text: str, *, without: bool = False) -> HasPart:
    """The condition of a part such as "triac", "capacitor 220n", "resistor>100k" or "zener 5V1..15 V"."""
    sign = _SIGN.search(text)
    if sign is not None:
        name, how, rest = text[: sign.start()], sign[1], text[sign.end() :]
    else:
        name, how = text, "="
        rest = ""
        while name and plain_words(name) not in _kinds():
            name, _, last = name.rpartition(" ")
            rest = f"{last} {rest}".strip()
    kind = _kinds().get(plain_words(name))
    if kind is None:
        raise QueryError(f"“{text}” begins with no part kind that is known{_near(text.split(), _kinds())}.")
    title = KINDS[kind].title
    if not rest:
        return HasPart(kind=kind, title=title, without=without)
    told = main_unit(kind)
    if told is None:
        raise QueryError(f"a {title} has no value of its own; look for its marking.")
    unit = told[1]
    low_text, dots, high_text = rest.partition("..")

    def value(written: str) -> float:
        try:
            return parse(written, unit, f"a {title}'s {told[0]}") if unit in UNITS else float(written)
        except ValueError as error:
            raise QueryError(f"“{written}” is no value of a {title}: {error}") from None

    first = value(low_text)
    if dots:
        low, high = sorted((first, value(high_text)))
    elif how in (">", ">=", "=>", "≥"):
        low, high = first, None
    elif how in ("<", "<=", "=<", "≤"):
        low, high = None, first
    else:
        room = NEAR if how in ("~", "≈") else _VALUE
        low, high = first * (1.0 - room), first * (1.0 + room)
    shown = f"{how} {rest}" if sign is not None and not dots and how != "=" else rest
    return HasPart(kind=kind, title=title, low=low, high=high, shown=shown.replace("..", " to "), without=without)


def _kinds() -> dict[str, str]:
    found: dict[str, str] = {}
    for name, kind in KINDS.items():
        for word in (name, kind.title, f"{name}s", f"{kind.title}s"):
            found.setdefault(plain_words(word), name)
    return found


def has_group(text: str, *, without: bool = False) -> HasGroup:
    """The condition of a recognised group, by its name."""
    name = plain_words(text).replace(" ", "-")
    if name not in GROUPS:
        raise QueryError(f"“{text}” is no group that is recognised{_near([name], GROUPS)}.")
    return HasGroup(name=name, without=without)


def has_finding(text: str, *, without: bool = False) -> HasFinding:
    """The condition of a finding, by the rule's id."""
    name = plain_words(text).replace(" ", "-")
    known = [one.id for one in RULES]
    if name not in known:
        gone = " any more" if any(name == one.id for one in RETIRED) else ""
        raise QueryError(f"“{text}” is no rule of the catalogue{gone}{_near([name], known)}.")
    return HasFinding(rule=name, without=without)


def at_risk(text: str) -> HasFinding:
    """The condition of a level of risk, or above."""
    if text.casefold() not in LEVELS:
        raise QueryError(f"“{text}” is no level of risk; those are {', '.join(LEVELS)}.")
    return HasFinding(risk=text.casefold())


def saw(text: str) -> Saw:
    """The condition of an answer of the look list: "plug-fuse-filler=no filler", or "…=?" where nobody looked."""
    question, _, answer = text.partition("=")
    id = plain_words(question).replace(" ", "-")
    if id not in _ANSWERS:
        raise QueryError(f"“{question.strip()}” is no question of the look list{_near([id], _ANSWERS)}.")
    if answer.strip() in ("?", "not looked at"):
        return Saw(question=id, answer=None)
    words = plain_words(answer)
    found = next((one for one in _ANSWERS[id] if plain_words(one) == words), None)
    if found is None:
        raise QueryError(f"{id} has no answer “{answer.strip()}”; those are: {', '.join(_ANSWERS[id])}; or ?.")
    return Saw(question=id, answer=found)


_FIELDS: Final[dict[Field, tuple[str, ...]]] = {
    "class": ("I", "II", "III", "?"),
    "region": ("GB", "EU", "US"),
    "kind": ("luminaire", "appliance", "adapter", "dimmer", "other"),
}


def has_field(field: Field, text: str) -> Is:
    """The condition of a word in the head of the record."""
    found = next((one for one in _FIELDS[field] if one.casefold() == text.strip().casefold()), None)
    if found is None:
        raise QueryError(f"“{text}” is no {field}; those are {', '.join(_FIELDS[field])}.")
    return Is(field=field, value=found)


def from_options(
    *,
    wheres: Sequence[str] = (),
    parts: Sequence[str] = (),
    markings: Sequence[str] = (),
    groups: Sequence[str] = (),
    findings: Sequence[str] = (),
    seen: Sequence[str] = (),
    risk: str | None = None,
    severity: int | None = None,
    protection_class: str | None = None,
    region: str | None = None,
    kind: str | None = None,
) -> Query:
    """The question that these options ask. Raises QueryError for what is not understood."""
    found: list[Condition] = [where(text) for text in wheres]
    found += [has_part(text) for text in parts]
    found += [HasPart(marking=text) for text in markings]
    found += [has_group(text) for text in groups]
    found += [has_finding(text) for text in findings]
    found += [saw(text) for text in seen]
    if risk is not None:
        found.append(at_risk(risk))
    if severity is not None:
        if not 1 <= severity <= 4:
            raise QueryError(f"{severity} is no severity; those are 1 to 4.")
        found.append(HasFinding(severity=severity))
    heads: tuple[tuple[Field, str | None], ...] = (("class", protection_class), ("region", region), ("kind", kind))
    found += [has_field(name, text) for name, text in heads if text is not None]
    return Query(conditions=tuple(found))


def _near(words: Iterable[str], known: Iterable[str]) -> str:
    """The nearest of the known names, as the end of a sentence."""
    names = list(known)
    for word in words:
        near = difflib.get_close_matches(word, names, 3, 0.5)
        if near:
            return f"; perhaps {' or '.join(near)}"
    return f"; those are: {', '.join(names)}" if len(names) <= 40 else ""
