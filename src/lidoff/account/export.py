"""An account as plain data: one mapping for JSON, one table of figures for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np

from lidoff.account.model import Account, LightAndMains, PartAccount, Range, StateAccount
from lidoff.circuit.groups import Group

COLUMNS: Final = ("state", "figure", "value", "unit", "low", "high", "origin")
# What a spreadsheet would take for a formula, were it the first letter of a cell.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
_UNITS: Final = (
    ("voltage", "V"),
    ("current", "A"),
    ("apparent_power", "VA"),
    ("power_factor", ""),
    ("power", "W"),
    ("frequency", "Hz"),
    ("percent_flicker", "%"),
    ("slow_modulation", "%"),
)


def as_json(account: Account) -> dict[str, Any]:
    """Everything in the account, in SI units, in the types that JSON has."""
    item = account.item
    document: dict[str, Any] = _plain(
        {
            "lidoff": account.version,
            "fingerprint": account.fingerprint,
            "title": item.title,
            "states": [_state(state) for state in account.states],
            "knobs": [
                {
                    "setting": knob.setting,
                    "clockwise": knob.clockwise,
                    "through": knob.through,
                    "plain_dead_travel": knob.plain_dead_travel,
                    **knob.turn.as_json(),
                }
                for knob in account.knobs
            ],
            "readings": None if account.judgement is None else account.judgement.as_json(),
            "used": {key: one.as_json() for key, one in account.used.items()},
            "parts": [_part(one) for one in account.parts],
            "groups": [] if account.groups is None else [_group(one) for one in account.groups.groups],
            "unexplained": [] if account.groups is None else account.groups.unexplained,
            "switch_on": None if account.switched_on is None else account.switched_on.as_json(),
            "unplug": None if account.unplugged is None else account.unplugged.as_json(),
            "explanation": None if account.explanation is None else account.explanation.as_json(),
            "faults": None if account.faults is None else account.faults.as_json(),
            "hazards": None if account.findings is None else account.findings.as_json(),
            "card": None if account.card is None else account.card.as_json(),
            "skipped": [{"stage": one.stage, "state": one.state, "why": one.why} for one in account.skipped],
            "missing": account.missing,
            "warnings": account.warnings,
        }
    )
    return document


def _state(state: StateAccount) -> dict[str, Any]:
    return {
        **state.figures,
        "ranges": {name: _range(one) for name, one in state.ranges.items()},
        "inputs": state.inputs,
        "stress": [row.as_json() for row in state.stress],
        "light_and_mains": None if state.page is None else _page(state.page),
    }


def _range(one: Range) -> dict[str, Any]:
    return {"low": one.low, "high": one.high, "most": one.most, "share": one.share}


def _page(page: LightAndMains) -> dict[str, Any]:
    return {
        "dimmed": page.dimmed,
        "warning": page.warning,
        "words": {words.key: words.text for words in (*page.light_words, *page.input_words)},
        "bounds": [one.as_dict() for one in page.light_bounds],
        "limits": [one.as_dict() for one in page.input_limits],
        "camera": None if page.camera is None else page.camera.line,
        "interference": None if page.interference is None else page.interference.as_dict(),
        "loudest": page.loudest,
        "elsewhere": page.elsewhere,
    }


def _part(one: PartAccount) -> dict[str, Any]:
    return {
        "ref": one.part.name,
        "kind": one.part.kind,
        "values": {} if one.element is None else one.element.values,
        "origins": one.origins,
        "marking": None if one.decoded is None else one.decoded.as_json(),
        "groups": [group.id for group in one.groups],
        "worst_state": one.worst_state,
        "stress": [row.as_json() for row in one.stress],
    }


def _group(group: Group) -> dict[str, Any]:
    return {
        "id": group.id,
        "name": group.name,
        "title": group.title,
        "refs": group.refs,
        "roles": group.roles,
        "figures": {name: {"value": value, "unit": unit} for name, (value, unit) in group.figures.items()},
        "why": group.why,
        "remarks": group.remarks,
        "rank": group.rank,
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, str) or value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return float(value) if np.isfinite(value) else None
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, Sequence | set | frozenset):
        return [_plain(inner) for inner in value]
    raise TypeError(f"{type(value).__name__} has no form in JSON")


def as_csv(account: Account) -> str:
    """The figures of all states and the readings, one a line, in SI units; `COLUMNS` stands in the first line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(_rows(account))
    return text.getvalue()


def _rows(account: Account) -> Iterator[tuple[str, ...]]:
    for state in account.states:
        for name, one in state.ranges.items():
            figure = None if name.startswith("stress.") else state.figure(name, "")
            if figure is not None:
                unit = unit_of(name)
                yield (_cell(state.name or ""), name, _number(figure.value), unit, *_ends(one), figure.origin)
    for reading in account.item.readings:
        at = reading.at if isinstance(reading.at, str) else " ".join(reading.at)
        name = f"reading.{at}.{reading.quantity}"
        yield (_cell(reading.state or ""), _cell(name), _number(reading.value), reading.unit, "", "", "measured")


def _ends(one: Range) -> tuple[str, str]:
    return _number(one.low), _number(one.high)


def _number(value: float) -> str:
    return f"{value:.6g}"


def _cell(text: str) -> str:
    """A user's text as a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def unit_of(name: str) -> str:
    """The unit of a figure, from its dotted name."""
    last = name.rpartition(".")[2]
    return next((unit for word, unit in _UNITS if last.startswith(word)), "")
