"""An item as the text of an `item.toml`.

Only what the program understands is written: a record that a person wrote is changed with `lidoff.record.edit`, which
keeps the rest. Reading the text again gives the same item, apart from lines and path.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from lidoff.kinds import KINDS, RATING_UNITS
from lidoff.quantity import UNIT_OF_QUANTITY
from lidoff.record.measured import METER_KEYS
from lidoff.record.model import (
    Accuracy,
    Block,
    Item,
    Meter,
    Part,
    Reading,
    Recording,
    State,
    Supply,
    Telling,
    Unknown,
)
from lidoff.record.reading import FORMAT
from lidoff.record.supply import INFERABLE
from lidoff.record.things import RATED
from lidoff.record.toml_text import key_text, plain, quantity_text, share_text, value_text

_SUPPLY_UNITS: Final = {spec.name: spec.unit for spec in INFERABLE} | {"limit": "A"}
_METER_UNITS: Final = {spec.name: spec.unit for spec in METER_KEYS}
_THING_UNITS: Final = {
    "length": "m",
    "mass": "kg/m",
    "strand_diameter": "m",
    "clearance": "m",
    "creepage": "m",
    "fuse": "A",
    "value": "ohm",
    "leads": "ohm",
}


def dump(item: Item) -> str:
    """The text of an `item.toml` that holds `item`.

    Raises TypeError where the item holds something that TOML cannot.
    """
    sections = [f"lidoff = {FORMAT}\n"]
    sections += _section("[item]", _head(item))
    sections += _section("[supply]", _supply(item.supply))
    sections += _sections("block", map(_block, item.blocks))
    sections += _sections("part", map(_part, item.parts))
    sections += _sections("state", map(_state, item.states))
    sections += _sections("meter", map(_meter, item.meters))
    sections += _sections("reading", map(_reading, item.readings))
    sections += _sections("recording", map(_recording, item.recordings))
    sections += _sections(
        "photo",
        ({"file": one.file, "side": one.side, "shows": one.shows, "note": one.note} for one in item.photos),
    )
    sections += _sections(
        "sighting",
        (
            {"about": one.about, "seen": one.seen or None, "photo": one.photo, "note": one.note}
            for one in item.sightings
        ),
    )
    sections += _sections("wire", map(_thing, item.wires))
    sections += _sections("gap", map(_thing, item.gaps))
    sections += _sections("surface", map(_thing, item.surfaces))
    sections += _section("[plug]", _thing(item.plug))
    sections += _section("[verdict]", _thing(item.verdict))
    sections += _section("[drawing]", item.drawing)
    sections += _section("[writeup]", _telling(item.writeup))
    sections += _sections(
        "writeup.paragraph", ({"after": one.after, "text": one.text} for one in item.writeup.paragraphs)
    )
    return "\n".join(sections)


def part_table(part: Part) -> dict[str, Any]:
    """A part as the keys and values of its table in a record."""
    return {key: value for key, value in _part(part).items() if value is not None}


def _sections(name: str, tables: Iterable[Mapping[str, Any]]) -> list[str]:
    return [text for table in tables for text in _section(f"[[{name}]]", table, always=True)]


def _section(header: str, table: Mapping[str, Any], *, always: bool = False) -> list[str]:
    lines = [f"{key_text(key)} = {value_text(value)}\n" for key, value in table.items() if value is not None]
    return [f"{header}\n{''.join(lines)}"] if lines or always else []


def _head(item: Item) -> dict[str, Any]:
    return {
        "title": item.title or None,
        "class": item.protection_class if item.protection_class != "?" else None,
        "region": item.region,
        "kind": item.kind,
        "use": item.use,
        "rated": _rated(item.rated) or None,
        "note": item.note,
    }


def _rated(rated: Mapping[str, float]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, unit in RATED.items():
        if name in rated:
            found[name] = quantity_text(rated[name], unit)
        elif f"{name}_low" in rated:
            low, high = (plain(Decimal(repr(rated[f"{name}_{end}"]))) for end in ("low", "high"))
            found[name] = f"{low}-{high} {unit}".strip()
    return found


def _with_bounds(table: dict[str, Any], units: Mapping[str, str]) -> dict[str, Any]:
    """Numbers of the table as text with their units; unknowns as "?" with `between` behind them."""
    unknowns = {key: value for key, value in table.items() if isinstance(value, Unknown)}
    for key, value in table.items():
        if key in unknowns:
            table[key] = "?"
        elif key in units and isinstance(value, float | int) and not isinstance(value, bool):
            table[key] = _written(value, units[key])
    bounds = {
        key: [_written(bound, units.get(key, "")) for bound in value.between]
        for key, value in unknowns.items()
        if value.between is not None
    }
    if bounds:
        table["between"] = next(iter(bounds.values())) if len(unknowns) == 1 else bounds
    return table


def _written(value: float, unit: str) -> Any:
    """A value with its unit; a plain number as a number, a whole one without point."""
    if unit:
        return quantity_text(float(value), unit)
    return int(value) if float(value).is_integer() and abs(value) < 1e15 else value


def _supply(supply: Supply) -> dict[str, Any]:
    shape = None if supply.shape is None else {f"h{order}": share_text(held) for order, held in supply.shape.items()}
    table = {
        "voltage": supply.voltage,
        "measured": supply.measured,
        "range": None if supply.range is None else share_text(supply.range),
        "frequency": supply.frequency,
        "resistance": supply.resistance,
        "inductance": supply.inductance,
        "shape": shape,
        "dc": supply.dc,
        "limit": supply.limit,
        "nodes": supply.nodes,
    }
    return _with_bounds(table, _SUPPLY_UNITS)


def _part(part: Part) -> dict[str, Any]:
    kind = KINDS[part.kind]
    units = {spec.name: spec.unit for spec in kind.keys if spec.unit not in ("bool", "word")}
    values = _with_bounds(dict(part.values), units)
    rating: dict[str, Any] = {
        name: quantity_text(held, RATING_UNITS[name]) if isinstance(held, float) else held
        for name, held in part.rating.items()
    }
    if rating:
        # The rated current of a fuse, which is one of its values, stands in the table where there is one.
        if isinstance(part.values.get("rating"), float):
            rating["current"] = values["rating"]
        values["rating"] = rating
    tolerance: Any = part.tolerance
    if isinstance(tolerance, Mapping):
        tolerance = {name: share_text(held) for name, held in tolerance.items()}
    elif tolerance is not None:
        tolerance = share_text(tolerance)
    nodes: Any = None
    if part.nodes:
        nodes = list(part.nodes.values()) if kind.listed else part.nodes
    return {
        "ref": part.ref,
        "kind": part.kind,
        "block": part.block,
        "marking": part.marking,
        **values,
        "tolerance": tolerance,
        "nodes": nodes,
        "count": part.count,
        "note": part.note,
    }


def _block(block: Block) -> dict[str, Any]:
    counts = _with_bounds({"repeat": block.repeat, "parallel": block.parallel}, {"repeat": "", "parallel": ""})
    nodes = block.nodes if all(block.nodes) else None
    return {"name": block.name, **counts, "nodes": nodes, "count": block.count, "note": block.note}


def _state(state: State) -> dict[str, Any]:
    return {
        "name": state.name,
        "set": {name: _set_values(dict(values)) for name, values in state.set.items()} or None,
        "remove": state.remove or None,
        "bypass": state.bypass or None,
        "add": [part_table(part) for part in state.add] or None,
        "supply": None
        if state.supply is None
        else {key: value for key, value in _supply(state.supply).items() if value is not None},
        "minutes_on": None if state.minutes_on is None else _written(state.minutes_on, ""),
        "note": state.note,
    }


def _set_values(values: dict[str, Any]) -> dict[str, Any]:
    """What a state sets; as bare SI numbers, for the part whose units they have may be one that the state adds."""
    return _with_bounds(values, {})


def _meter(meter: Meter) -> dict[str, Any]:
    extra = {
        key: quantity_text(value, _METER_UNITS[key]) if key in _METER_UNITS else value
        for key, value in meter.extra.items()
    }
    return {
        "name": meter.name,
        "kind": meter.kind if meter.kind != "?" else None,
        "accuracy": {name: _accuracy(held, UNIT_OF_QUANTITY[name]) for name, held in meter.accuracy.items()} or None,
        "resolution": {
            name: quantity_text(held, UNIT_OF_QUANTITY[name], interval=True) for name, held in meter.resolution.items()
        }
        or None,
        **extra,
    }


def _accuracy(accuracy: Accuracy, unit: str) -> str:
    terms = []
    if accuracy.share or not accuracy.floor:
        terms.append(f"{plain(Decimal(repr(accuracy.share)) * 100)} %")
    if accuracy.floor:
        # In an accuracy a percentage is a share of the reading, even where the reading itself is in percent.
        floor = accuracy.floor if unit == "%" else quantity_text(accuracy.floor, unit, interval=True)
        terms.append(floor if isinstance(floor, str) else plain(Decimal(repr(floor))))
    return " + ".join(terms) + (" normal" if accuracy.normal else "")


def _reading(reading: Reading) -> dict[str, Any]:
    value: Any = reading.text
    if not value and reading.doubt:
        value = f"about {quantity_text(reading.value, reading.unit)}"
    elif not value:
        # A bare number was written; one without a point has a last digit of one.
        value = int(reading.value) if reading.digit >= 1.0 and reading.value.is_integer() else reading.value
    return {
        "quantity": reading.quantity,
        "value": value,
        "meter": reading.meter,
        "state": reading.state,
        "at": reading.at,
        "over": None if reading.over is None else quantity_text(reading.over, "s"),
        "note": reading.note,
    }


def _recording(recording: Recording) -> dict[str, Any]:
    rate = recording.sample_rate
    return {
        "file": recording.file,
        "columns": recording.columns or None,
        "units": recording.units or None,
        "scale": recording.scale or None,
        "sample_rate": None if rate is None else quantity_text(rate, "Hz"),
        "coupling": recording.coupling,
        "meter": recording.meter,
        "state": recording.state,
        "at": recording.at,
        "note": recording.note,
    }


def _telling(telling: Telling) -> dict[str, Any]:
    return {
        "order": telling.order or None,
        "leave_out": telling.leave_out or None,
        "form": telling.form,
    }


def _thing(thing: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in thing.items():
        if isinstance(value, Mapping):
            found[key] = _thing(value)
        else:
            found[key] = quantity_text(value, _THING_UNITS[key]) if key in _THING_UNITS else value
    return found
