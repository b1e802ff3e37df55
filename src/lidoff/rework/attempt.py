"""What if: a change without a goal, with the figures before and after and the findings that appear and vanish."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from lidoff.circuit import build
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.hazards import Finding
from lidoff.kinds import KINDS, Key
from lidoff.quantity import QuantityError, parse
from lidoff.record import Item, dump, read_text
from lidoff.record.edit import remove_value, set_value
from lidoff.record.fields import out_of_bounds
from lidoff.record.model import EMPTY, Table, Value
from lidoff.rework.case import Judge
from lidoff.rework.edits import written
from lidoff.rework.energy import HOURS, Energy, energy_of
from lidoff.rework.errors import ReworkError
from lidoff.rework.proof import compared
from lidoff.studies import Faults, Stress, faults, stress

FIGURES: Final = (
    ("input.power", "power", "W"),
    ("input.current_rms", "input current", "A"),
    ("input.power_factor", "power factor", ""),
    ("light.mean_current", "mean LED current", "A"),
    ("light.percent_flicker", "percent flicker", "%"),
    ("light.svm", "SVM", ""),
)
"""Figures shown side by side: dotted name, words, unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """A change tried out: `changes` in SI, the record's text with them, and before and after of everything judged."""

    title: str
    state: str | None
    changes: Mapping[str, Value]
    record: str
    before: Mapping[str, Any]
    after: Mapping[str, Any]
    stress_before: tuple[Stress, ...]
    stress_after: tuple[Stress, ...]
    appeared: tuple[Finding, ...]
    vanished: tuple[Finding, ...]
    faults_before: tuple[int, int, int]
    faults_after: tuple[int, int, int]
    energy: Energy
    settled: bool
    solutions: tuple[Solution, Solution]
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff rework --try … --json` prints."""
        return {
            "try": dict(self.changes),
            "state": self.state,
            "record": self.record,
            "before": dict(self.before),
            "after": dict(self.after),
            "stress": {
                "before": [row.as_json() for row in self.stress_before if row.verdict in ("over", "close")],
                "after": [row.as_json() for row in self.stress_after if row.verdict in ("over", "close")],
            },
            "findings": {
                "appear": [finding_json(one) for one in self.appeared],
                "vanish": [finding_json(one) for one in self.vanished],
            },
            "faults": {
                word: {"severity_4": count[0], "severity_3": count[1], "severity_2": count[2]}
                for word, count in (("before", self.faults_before), ("after", self.faults_after))
            },
            "energy": self.energy.as_json(),
            "settled": self.settled,
            "warnings": list(self.warnings),
        }


def finding_json(one: Finding) -> dict[str, Any]:
    """A finding in short."""
    return {"id": one.id, "title": one.title, "risk": one.risk.level, "because": list(one.because)}


@dataclass(slots=True)
class _Side:
    item: Item
    solution: Solution
    failed: Faults | None
    known: Mapping[str, Any] = field(default_factory=lambda: EMPTY)


def attempt(
    item: Item,
    changes: Sequence[str],
    judge: Judge,
    *,
    state: str | None = None,
    hours: float = HOURS,
    text: str | None = None,
) -> Attempt:
    """The item with each "R2=100R" or "VR1.taper=log" written into its record, solved and judged beside what it was.

    Raises ReworkError where a change does not fit the record, LidoffError where either cannot be solved.
    """
    if text is None:
        text = item.path.read_text(encoding="utf-8") if item.path.is_file() else dump(item)
    wanted = dict(_parsed(item, one) for one in changes)
    if not wanted:
        raise ReworkError("Nothing is to be tried; give a change such as --try R2=100R")
    changed = text
    for name, value in wanted.items():
        changed = _written(changed, item, name, value)
    first = _side(read_text(text, item.path), state)
    second = _side(read_text(changed, Path(item.path)), state)
    before = judge(first.item, first.solution, first.known)
    after = judge(second.item, second.solution, second.known)
    appeared, vanished = compared(before, after)
    return Attempt(
        title=item.title,
        state=first.solution.circuit.state,
        changes=Table(wanted),
        record=changed,
        before=Table(first.solution.figures()),
        after=Table(second.solution.figures()),
        stress_before=stress(first.solution),
        stress_after=stress(second.solution),
        appeared=appeared,
        vanished=vanished,
        faults_before=_counted(first.failed),
        faults_after=_counted(second.failed),
        energy=energy_of(first.solution, second.solution, hours),
        settled=second.solution.settled,
        solutions=(first.solution, second.solution),
        warnings=tuple(dict.fromkeys((*first.solution.warnings, *second.solution.warnings))),
    )


def _side(item: Item, state: str | None) -> _Side:
    solution = solve(build(item, state=state))
    known: dict[str, Any] = {"stress": stress(solution)}
    failed: Faults | None
    try:
        failed = faults(solution.circuit, item)
        known["faults"] = tuple(one.as_json() for one in failed.faults)
    except LidoffError:
        failed = None
    return _Side(item, solution, failed, Table(known))


def _counted(failed: Faults | None) -> tuple[int, int, int]:
    found = failed.faults if failed is not None else ()
    four, three, two = (sum(one.severity == level for one in found) for level in (4, 3, 2))
    return four, three, two


def _parsed(item: Item, text: str) -> tuple[str, Value]:
    """The full name and SI value of a change."""
    name, equals, value = (piece.strip() for piece in text.partition("="))
    if not equals or not name or not value:
        raise ReworkError(f'"{text}" has not the form REF=VALUE or REF.KEY=VALUE, such as R2=100R')
    part = item.part(name)
    if part is not None:
        owner, key = part.name, KINDS[part.kind].keys[0]
    else:
        owner, _, word = name.rpartition(".")
        found = _key(item, owner, word)
        if found is None:
            known = ", ".join([*(p.name for p in item.parts), *(b.name for b in item.blocks), "supply"])
            raise ReworkError(f'"{name}" names no part and key of this record; its parts are {known}')
        owner, key = found
    return f"{owner}.{key.name}", _value(f"{owner}.{key.name}", key, value)


def _key(item: Item, owner: str, word: str) -> tuple[str, Key] | None:
    if owner == "supply":
        units = {"voltage": "V", "frequency": "Hz", "resistance": "ohm", "inductance": "H"}
        return ("supply", Key(name=word, unit=units[word], least_open=False)) if word in units else None
    if item.block(owner) is not None and word in ("repeat", "parallel"):
        return owner, Key(name=word, unit="", least=1.0, least_open=False, whole=True)
    part = item.part(owner)
    key = KINDS[part.kind].key(word) if part is not None else None
    return (part.name, key) if part is not None and key is not None else None


def _value(name: str, key: Key, text: str) -> Value:
    if key.unit == "bool":
        if text.lower() not in ("true", "false"):
            raise ReworkError(f"{name}: true or false is expected, not {text}")
        return text.lower() == "true"
    if key.unit == "word":
        if text not in key.choices:
            raise ReworkError(f'{name}: "{text}" is not one of {", ".join(key.choices)}')
        return text
    try:
        number = parse(text, key.unit)
    except QuantityError as error:
        raise ReworkError(f"{name}: {error}") from error
    if outside := out_of_bounds(number, key):
        raise ReworkError(f"{name}: {outside}")
    return number


def _written(text: str, item: Item, name: str, value: Value) -> str:
    owner, _, word = name.rpartition(".")
    part = item.part(owner)
    if isinstance(value, bool | str):
        return set_value(text, name, value)
    assert isinstance(value, float | int)
    found = _key(item, owner, word)
    key = found[1] if found is not None else KINDS[part.kind].keys[0] if part is not None else None
    if key is not None and key.whole:
        text = set_value(text, name, int(value))
        return remove_value(text, f"{owner}.count") if part is not None and part.count is not None else text
    text = set_value(text, name, written(float(value), key.unit) if key is not None and key.unit else float(value))
    if part is not None and part.marking is not None and key is KINDS[part.kind].keys[0]:
        text = remove_value(text, f"{owner}.marking")
    return text
