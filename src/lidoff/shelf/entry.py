"""What the shelf remembers of one item, as plain rows: made from its account, and from nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np

from lidoff.account import Account, PartAccount, StateAccount
from lidoff.circuit import Element
from lidoff.hazards import look_list
from lidoff.kinds import KINDS
from lidoff.quantity import UNITS, engineering
from lidoff.record import Item, Part
from lidoff.record.model import EMPTY
from lidoff.shelf.measures import MEASURES

Status = Literal["solved", "unsolved", "unreadable"]
Depth = Literal["none", "quick", "full"]
DEPTHS: Final[tuple[Depth, ...]] = ("none", "quick", "full")
"""How much was worked out, the least first: nothing, the quick way, the whole account."""

_FROM_FIGURES: Final = ("input.", "light.", "supply.")


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """A figure [SI] of a state, counted from 0, or of the whole item (None), with its range where that was worked
    out.
    """

    state: int | None
    name: str
    value: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part: its main value [SI] as a number and as shown, mean power [W] in the main state, worst stress over
    rating [1].
    """

    ref: str
    kind: str
    marking: str = ""
    value: float | None = None
    shown: str = ""
    power: float | None = None
    times: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FormedRow:
    """A recognised group."""

    name: str
    title: str
    refs: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRow:
    """A finding, or a rule that could not be decided."""

    rule: str
    outcome: Literal["found", "undecided"]
    title: str
    severity: int | None = None
    risk: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One item as it stands on the shelf.

    `looks` maps each question of the look list that applies to its answer, None where nobody looked. `words` holds the
    columns of the word search. `problem` is a sentence on what is wrong with the record, or what was not worked out.
    """

    status: Status
    depth: Depth
    fingerprint: str = ""
    problem: str = ""
    title: str
    protection_class: str = "?"
    region: str = ""
    kind: str = ""
    sentence: str = ""
    states: tuple[str, ...] = ()
    figures: tuple[FigureRow, ...] = ()
    parts: tuple[PartRow, ...] = ()
    formed: tuple[FormedRow, ...] = ()
    judged: tuple[JudgedRow, ...] = ()
    looks: Mapping[str, str | None] = field(default_factory=lambda: EMPTY)
    words: Mapping[str, str] = field(default_factory=lambda: EMPTY)


def entry_of(account: Account, depth: Depth) -> Entry:
    """What the shelf remembers of an account."""
    item = account.item
    looks = {look.question.id: look.answer for look in look_list(item)}
    parts = tuple(_part(one, account) for one in account.parts)
    formed = tuple(
        FormedRow(name=one.name, title=one.title, refs=one.refs)
        for one in (account.groups.best if account.groups is not None else ())
    )
    judged = tuple(_judged(account))
    return Entry(
        status="solved" if account.states else "unsolved",
        depth=depth,
        fingerprint=account.fingerprint,
        problem="" if account.states else _why(account),
        title=item.title or item.folder.name,
        protection_class=item.protection_class,
        region=item.region or "",
        kind=item.kind or "",
        sentence=account.findings.sentence if account.findings is not None else "",
        states=tuple(state.name or "" for state in account.states),
        figures=tuple(_figures(account)),
        parts=parts,
        formed=formed,
        judged=judged,
        looks=looks,
        words={
            "title": item.title or item.folder.name,
            "parts": "\n".join(
                " ".join(filter(None, (one.ref, KINDS[one.kind].title, one.shown, one.marking))) for one in parts
            ),
            "formed": "\n".join(one.title for one in formed),
            "findings": "\n".join(f"{one.title}. {one.because}" for one in judged if one.outcome == "found"),
            "seen": "\n".join(_seen(item)),
            "notes": "\n".join(_notes(item)),
        },
    )


def _why(account: Account) -> str:
    return next((one.why for one in account.skipped if one.stage == "cycle"), "No mains cycle was worked out.")


def _figures(account: Account) -> Iterator[FigureRow]:
    for place, state in enumerate(account.states):
        yield from _of_state(place, state)
    known: dict[str, Any] = {f"rated.{name}": value for name, value in account.item.rated.items()}
    if account.unplugged is not None:
        times, volts = account.unplugged.pins.curve
        if times:
            known["pins.after_1s"] = round(float(np.interp(1.0, times, np.abs(volts))), 3)  # to the millivolt
    travels = [knob.turn.dead_travel for knob in account.knobs if knob.turn.dead_travel is not None]
    if travels:
        known["knob.dead_travel"] = max(travels)
    if account.switched_on is not None:
        known["switch_on.peak"] = account.switched_on.peak
    for one in MEASURES:
        if one.of_item and (value := _number(known.get(one.name))) is not None:
            yield FigureRow(state=None, name=one.name, value=value)


def _of_state(place: int, state: StateAccount) -> Iterator[FigureRow]:
    for one in MEASURES:
        if not one.name.startswith(_FROM_FIGURES):
            continue
        figure = state.figure(one.name, one.unit)
        if figure is None or not math.isfinite(figure.value):
            continue
        low, high = (None, None) if figure.range is None else (figure.range.low, figure.range.high)
        yield FigureRow(state=place, name=one.name, value=figure.value, low=_number(low), high=_number(high))
    times = [row.times for row in state.stress if row.times is not None and math.isfinite(row.times)]
    if times:
        yield FigureRow(state=place, name="stress.times", value=max(times))


def _number(value: Any) -> float | None:
    if value is None or isinstance(value, bool | str) or not math.isfinite(float(value)):
        return None
    return float(value)


def _part(one: PartAccount, account: Account) -> PartRow:
    part, element = one.part, one.element
    value, shown = _main_value(part, element)
    if value is None and one.taken is not None:
        value, shown = one.taken.value, one.taken.text
    main = account.main or (account.states[0] if account.states else None)
    figures = main.figures["parts"].get(part.name, {}) if main is not None else {}
    return PartRow(
        ref=part.name,
        kind=part.kind,
        marking=part.marking or "",
        value=_number(value),
        shown=shown,
        power=_number(figures.get("power")),
        times=_number(one.worst.times) if one.worst is not None else None,
    )


def main_unit(kind: str) -> tuple[str, str] | None:
    """The key of a part kind that is its value, and that key's unit; None for kinds that are known by marking only."""
    first = KINDS[kind].keys[0] if KINDS[kind].keys else None
    if first is None or first.unit in ("bool", "word"):
        return None
    return first.name, first.unit


def _main_value(part: Part, element: Element | None) -> tuple[float | None, str]:
    """The value by which a part is known, None where it is not known or only a default of the kind."""
    told = main_unit(part.kind)
    if told is None:
        return None, ""
    key, unit = told
    found = element.values.get(key) if element is not None and key not in element.assumed | element.unknown else None
    value = _number(found if found is not None else _written(part, key))
    if value is None:
        return None, ""
    return value, engineering(value, unit) if unit and unit in UNITS else f"{key} {value:g}"


def _written(part: Part, key: str) -> float | None:
    value = part.values.get(key)
    return float(value) if isinstance(value, float | int) and not isinstance(value, bool) else None


def _judged(account: Account) -> Iterator[JudgedRow]:
    found = account.findings
    if found is None:
        return
    for one in found.findings:
        yield JudgedRow(
            rule=one.id,
            outcome="found",
            title=one.title,
            severity=one.risk.severity,
            risk=one.risk.level,
            because=" ".join(one.because),
        )
    for left in found.undecided:
        yield JudgedRow(rule=left.id, outcome="undecided", title=left.title, because=" ".join(left.needs))


def _seen(item: Item) -> Iterator[str]:
    for one in item.sightings:
        yield " ".join(filter(None, (one.about.replace("-", " "), one.seen, one.note)))


def _notes(item: Item) -> Iterator[str]:
    """Everything else that somebody wrote in words."""
    plug = item.plug
    told = [item.kind, item.use, item.note, plug.get("kind"), plug.get("fuse") and "plug fuse", plug.get("note")]
    told += [item.verdict.get("text"), item.verdict.get("for"), *item.verdict.get("because", ())]
    told += [one.note for one in item.parts] + [one.note for one in item.states]
    told += [one.note for one in item.readings] + [one.note for one in item.recordings]
    told += [one.note for one in item.photos]
    told += [one.name for one in item.states]
    for words in told:
        if words:
            yield str(words)


def unreadable(title: str, problem: str) -> Entry:
    """The entry of a record that cannot be read: its folder's name, and why."""
    return Entry(status="unreadable", depth="none", problem=problem, title=title, words={"title": title})
