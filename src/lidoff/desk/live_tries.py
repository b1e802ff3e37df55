"""Values tried in the cycle: read as they were typed, and written into the record when they are kept."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from lidoff.circuit import Circuit
from lidoff.circuit.model import Element, Number
from lidoff.desk.item_desk import Snapshot
from lidoff.errors import LidoffError
from lidoff.kinds import KINDS, Key
from lidoff.quantity import iec60062, parse, with_interval
from lidoff.record import Item, State
from lidoff.record.fields import out_of_bounds
from lidoff.record.parts import BLOCK_COUNTS

_MOST: Final = 300  # values tried at once
_LONGEST: Final = 60  # characters of one
_CODED: Final = frozenset({"ohm", "F", "H"})
_VOLTS: Final = Key(name="voltage", unit="V")
# What somebody who tries another part changes first, where that is not the first number of its kind.
_FIRST: Final[Mapping[str, str]] = {"led": "forward_voltage", "fuse": "resistance", "thermistor": "hot"}


class TryError(LidoffError):
    """A value that cannot be tried or kept; `at` names it, the text says why."""

    def __init__(self, at: str, sentence: str) -> None:
        super().__init__(f"{at}: {sentence}")
        self.at = at


def read_values(circuit: Circuit, asked: Mapping[str, Any]) -> dict[str, Number]:
    """What was asked for in SI units, texts read as the record reads them. Raises TryError."""
    if len(asked) > _MOST:
        raise TryError("The page", "asked for more values at once than an item has")
    return {name: _read(circuit, name, value) for name, value in asked.items()}


def _read(circuit: Circuit, name: str, value: Any) -> Number:
    key = _key(circuit, name)
    if key.unit == "bool":
        if not isinstance(value, bool):
            raise TryError(name, "is either true or false")
        return value
    if isinstance(value, bool) or not isinstance(value, str | int | float) or len(str(value)) > _LONGEST:
        raise TryError(name, "is not a value that can be read")
    try:
        number = parse(value, key.unit)
    except LidoffError as error:
        raise TryError(name, str(error)) from error
    outside = "is not a finite number" if not math.isfinite(number) else out_of_bounds(number, key)
    if outside:
        raise TryError(name, outside)
    return number


def _key(circuit: Circuit, name: str) -> Key:
    owner, _, word = name.rpartition(".")
    if owner == "supply" and word == ("voltage" if circuit.supply.dc is None else "dc"):
        return _VOLTS
    count = next((one for one in BLOCK_COUNTS if one.name == word and owner in block_names(circuit)), None)
    if count is not None:
        return count
    element = circuit.element(owner)
    if element is None:
        raise TryError(name, "there is no such part in this state")
    key = KINDS[element.kind].key(word)
    if key is None or word not in (*tried_keys(element), "position", "closed"):
        raise TryError(name, "is not a value that can be tried here")
    return key


def block_names(circuit: Circuit) -> tuple[str, ...]:
    """The blocks that this state has parts of, in the order of the parts."""
    return tuple(dict.fromkeys(element.block for element in circuit.elements if element.block))


def tried_keys(element: Element) -> tuple[str, ...]:
    """The values of a part that can be tried, the one that comes first in mind first: numbers that the law has."""
    words = [
        key.name
        for key in KINDS[element.kind].keys
        if key.unit not in ("bool", "word") and key.name in element.values and key.name not in ("position", "rating")
    ]
    first = _FIRST.get(element.kind)
    return tuple(sorted(words, key=lambda word: word != first))


def shown(value: float, unit: str) -> str:
    """A value as one would type it: "2k2", "100n", "32 V"; "0R1" rather than "R1", which is a part."""
    rounded = float(f"{value:.4g}")
    if unit in _CODED and rounded >= 0.0:
        coded = iec60062(rounded, unit)
        return coded if coded[:1].isdigit() else f"0{coded}"
    return with_interval(rounded, 0.0, unit)


# Keeping ------------------------------------------------------------------------------------------------------------


def kept(snapshot: Snapshot, state: str | None, values: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The edits that write tried values into the record, as `edits.changed` takes them.

    A value that the state sets is changed in the state, any other in its part. Raises TryError for a part that this
    state alone adds, LidoffError where the record has errors.
    """
    item = snapshot.sound()
    chosen = _state(item, state)
    changes: list[dict[str, Any]] = []
    for name, value in values.items():
        if isinstance(value, str) and not value.strip():
            raise TryError(name, "has no value to keep")
        changes += _kept(snapshot, item, chosen, name, value)
    return changes


def _kept(snapshot: Snapshot, item: Item, state: State | None, name: str, value: Any) -> list[dict[str, Any]]:
    owner, _, key = name.rpartition(".")
    block = item.block(owner) is not None
    if block:
        value = int(parse(value, ""))  # a count is written as a whole number, however it was typed
    if state is not None:
        if owner == "supply":
            own = state.supply is not None and (key == "dc" or _wrote(snapshot, state, f"supply.{key}"))
            if own:
                return [_in_state(state, f"supply.{key}", _volts(value))]
            return [{"do": "set", "name": name, "value": _volts(value)}]
        if any(part.name == owner for part in state.add):
            raise TryError(name, f"{owner} is added by the state “{state.name}” alone; change it in the record there")
        if key in state.set.get(owner, {}) or key in ("position", "closed"):
            return [_in_state(state, f"set.{owner}.{key}", value)]
    elif owner == "supply":
        return [{"do": "set", "name": name, "value": _volts(value)}]
    changes: list[dict[str, Any]] = [{"do": "set", "name": name, "value": value}]
    tables = snapshot.tables("block" if block else "part")
    written = next((one for one in tables if (one.get("name") if block else _named(one)) == owner), {})
    # Bounds stand beside "?"; a value that is known has none.
    if written.get(key) == "?" and isinstance(written.get("between"), list):
        changes.append({"do": "set", "name": f"{owner}.between", "value": None})
    return changes


def as_state(snapshot: Snapshot, state: str | None, name: str, values: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The edit that writes the present knobs, switches and mains voltage down as a state of their own.

    Everything else that the state says that it was reached from is taken over. Raises TryError where the name is taken
    or empty.
    """
    item = snapshot.sound()
    name = name.strip()
    if not name:
        raise TryError("state", "give it a name, such as “half way up”")
    if item.state(name) is not None:
        raise TryError("state", f"there is a state “{name}” already; give this one another name")
    before = _state(item, state)
    table: dict[str, Any] = {}
    if before is not None:
        written = next((one for one in snapshot.tables("state") if one.get("name") == before.name), {})
        table = {key: value for key, value in written.items() if key in ("remove", "bypass", "add", "supply", "set")}
    settings = {ref: dict(one) for ref, one in dict(table.get("set", {})).items()}
    for full, value in values.items():
        owner, _, key = full.rpartition(".")
        if key in ("position", "closed"):
            settings.setdefault(owner, {})[key] = round(value, 4) if isinstance(value, float) else value
        elif full == "supply.voltage":
            table["supply"] = {**dict(table.get("supply", {})), "voltage": _volts(value)}
    first = {"name": name, **({"set": settings} if settings else {})}
    table.pop("set", None)
    return [{"do": "add", "kind": "state", "table": {**first, **table}}]


def _state(item: Item, name: str | None) -> State | None:
    if name is None:
        return item.states[0] if item.states else None
    return item.state(name)


def _in_state(state: State, key: str, value: Any) -> dict[str, Any]:
    return {"do": "set", "kind": "state", "which": state.name, "key": key, "value": value}


def _wrote(snapshot: Snapshot, state: State, key: str) -> bool:
    held: Any = next((one for one in snapshot.tables("state") if one.get("name") == state.name), {})
    for step in key.split("."):
        if not isinstance(held, Mapping) or step not in held:
            return False
        held = held[step]
    return True


def _volts(value: Any) -> Any:
    return f"{value:.4g} V" if isinstance(value, int | float) else value


def _named(table: Mapping[str, Any]) -> str:
    block = table.get("block")
    return f"{block}/{table.get('ref')}" if block else str(table.get("ref"))
