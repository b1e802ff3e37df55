"""Reading `[[meter]]`, `[[reading]]` and `[[recording]]`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from lidoff.kinds import Key
from lidoff.quantity import UNIT_OF_QUANTITY, QuantityError, parse, parse_accuracy, parse_reading
from lidoff.record.fields import Fields, from_zero, frozen, out_of_bounds, positive, tabled, tables
from lidoff.record.locate import Path
from lidoff.record.model import Accuracy, Meter, Reading, Recording
from lidoff.record.names import Names, place, reference
from lidoff.record.problems import Notes, quoted

METER_KINDS: Final = ("power-meter", "multimeter-true-rms", "multimeter-average", "scope", "clamp", "light-meter")
_OTHER_METERS: Final = {
    "multimeter": "multimeter-true-rms",
    "dmm": "multimeter-true-rms",
    "wattmeter": "power-meter",
    "oscilloscope": "scope",
    "current_clamp": "clamp",
    "lux_meter": "light-meter",
}
METER_KEYS: Final = (
    positive("bandwidth", "Hz"),
    positive("sample_rate", "Hz"),
    from_zero("low_corner", "Hz"),
    positive("crest_factor_limit", ""),
    positive("input_resistance", "ohm"),
    from_zero("burden_resistance", "ohm"),
    from_zero("lead_resistance", "ohm"),
    positive("test_current", "A"),
    positive("test_frequency", "Hz"),
)
"""What else a meter's manual tells; which of these count for which kind of meter is for the judging of readings."""

# Values that a meter cannot show, whatever it hangs on; other quantities are from 0 up. A power factor a little over
# one is the meter's own error (common practice, no source).
_BOUNDS: Final[Mapping[str, tuple[float | None, float | None]]] = MappingProxyType(
    {
        "power": (None, None),
        "reactive_power": (None, None),
        "energy": (None, None),
        "voltage_dc": (None, None),
        "current_dc": (None, None),
        "temperature_rise": (None, None),
        "angle": (-360.0, 360.0),
        "power_factor": (-1.2, 1.2),
        "displacement_factor": (-1.2, 1.2),
        "percent_flicker": (0.0, 100.0),
        "flicker_index": (0.0, 1.0),
    }
)
_ABOVE_ZERO: Final = frozenset({"frequency", "temperature", "crest_factor"})
_COLUMNS: Final[Mapping[str, str]] = MappingProxyType(
    {"time": "s", "voltage": "V", "current": "A", "power": "W", "light": ""}
)
_SCALE: Final = re.compile(r"[+-]?\s*(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*[^\s\d]{0,8}(?:\s*/\s*[^\s\d]{1,8})?")


def bounds_of(quantity: str) -> Key:
    """What a value of a reading's quantity may be [its unit]."""
    low, high = _BOUNDS.get(quantity, (0.0, None))
    return Key(name=quantity, unit=UNIT_OF_QUANTITY[quantity], least=low, least_open=quantity in _ABOVE_ZERO, most=high)


def read_meters(notes: Notes, data: Mapping[str, Any]) -> tuple[Meter, ...]:
    """Every meter of the record."""
    meters: dict[str, Meter] = {}
    for path, one in tables(notes, data, "meter"):
        meter = _read_meter(notes, one, path)
        if meter is None:
            notes.lost.add("meter")
            continue
        if meter.name in meters:
            sentence = f"there are two meters of that name (line {meters[meter.name].line}); rename one of them"
            notes.error((*path, "name"), meter.name, sentence)
        else:
            meters[meter.name] = meter
    return tuple(meters.values())


def _read_meter(notes: Notes, data: Mapping[str, Any], path: Path) -> Meter | None:
    written = data.get("name")
    fields = Fields(notes, data, path, written if isinstance(written, str) and written else "meter", "a meter")
    name = fields.text("name")
    if name is None and (not isinstance(written, str) or not written.strip()):
        fields.lacks("name", 'is missing; every meter needs a name that readings use, such as name = "plug-in meter"')
    kind = fields.word("kind", [*METER_KINDS, "?"], _OTHER_METERS) or "?"
    resolution = _read_resolution(fields)
    normal = fields.word("distribution", ("rectangular", "normal")) == "normal"
    accuracy = _read_accuracy(fields, resolution, normal)
    extra: dict[str, Any] = {spec.name: fields.known(spec) for spec in METER_KEYS}
    extra["note"] = fields.text("note", blank=True)
    # A key that is not known is warned about and still handed on: a manual may say more than this program knows.
    extra.update({key: frozen(value) for key, value in data.items() if key not in fields.asked})
    fields.finish()
    if name is None:
        return None
    return Meter(
        name=name,
        kind=kind,
        accuracy=tabled(accuracy),
        resolution=tabled(resolution),
        extra=tabled(extra),
        line=fields.line,
    )


def _quantities(table: Fields) -> list[str]:
    """The keys of a table that are quantities; the others are left for `finish` to warn about."""
    return [name for name in table.data if name in UNIT_OF_QUANTITY]


def _read_resolution(fields: Fields) -> dict[str, float | None]:
    table = fields.table("resolution", "a resolution by quantity")
    if table is None:
        return {}
    found = {name: table.known(positive(name, UNIT_OF_QUANTITY[name])) for name in _quantities(table)}
    table.finish(more=UNIT_OF_QUANTITY)
    return found


def _read_accuracy(fields: Fields, resolution: Mapping[str, float | None], normal: bool) -> dict[str, Accuracy | None]:
    table = fields.table("accuracy", "an accuracy by quantity")
    if table is None:
        return {}
    found: dict[str, Accuracy | None] = {}
    for name in _quantities(table):
        written = table.take(name)
        if written == "?":
            continue
        try:
            share, floor, said = parse_accuracy(
                written, UNIT_OF_QUANTITY[name], name.replace("_", " "), resolution.get(name)
            )
        except QuantityError as error:
            table.error(name, str(error))
            continue
        found[name] = Accuracy(share=share, floor=floor, normal=normal or said)
    table.finish(more=UNIT_OF_QUANTITY)
    return found


def read_readings(notes: Notes, data: Mapping[str, Any], names: Names) -> tuple[Reading, ...]:
    """Every reading of the record, in its order."""
    found = [
        _read_reading(notes, one, path, number, names)
        for number, (path, one) in enumerate(tables(notes, data, "reading"), start=1)
    ]
    return tuple(reading for reading in found if reading is not None)


def _read_reading(notes: Notes, data: Mapping[str, Any], path: Path, number: int, names: Names) -> Reading | None:
    fields = Fields(notes, data, path, f"reading {number}", "a reading")
    quantity = fields.word("quantity", UNIT_OF_QUANTITY)
    if "quantity" not in data:
        fields.lacks("quantity", 'is missing; say what was read, such as quantity = "power"')
    if quantity is not None:
        fields.key = f"reading {number} ({quantity})"
    meter = reference(fields, "meter", names.meters, "meter")
    state = reference(fields, "state", names.states, "state")
    at = place(fields, names, quantity)
    over = fields.known(positive("over", "s"))
    note = fields.text("note", blank=True)
    written = fields.take("value")
    if "value" not in data or written == "?":
        fields.lacks("value", "is missing; leave the reading out until it is taken")
    fields.finish()
    if quantity is None or written is None or written == "?":
        return None
    spec = bounds_of(quantity)
    try:
        read = parse_reading(written, spec.unit, quantity.replace("_", " "))
    except QuantityError as error:
        fields.error("value", str(error))
        return None
    bounds = out_of_bounds(read.value, spec)
    if bounds:
        fields.error("value", f"no meter can show {quoted(written)}, for a {quantity.replace('_', ' ')} {bounds}")
        return None
    return Reading(
        quantity=quantity,
        value=read.value,
        unit=spec.unit,
        text=written if isinstance(written, str) else "",
        doubt=read.doubt,
        digit=read.digit,
        meter=meter,
        state=state,
        at=at,
        over=over,
        note=note,
        line=fields.line,
    )


def read_recordings(notes: Notes, data: Mapping[str, Any], names: Names) -> tuple[Recording, ...]:
    """Every recording of the record, in its order."""
    found = [
        _read_recording(notes, one, path, number, names)
        for number, (path, one) in enumerate(tables(notes, data, "recording"), start=1)
    ]
    return tuple(recording for recording in found if recording is not None)


def _read_recording(notes: Notes, data: Mapping[str, Any], path: Path, number: int, names: Names) -> Recording | None:
    fields = Fields(notes, data, path, f"recording {number}", "a recording")
    file = fields.file("file")
    if "file" not in data:
        fields.lacks("file", 'is missing; name the file of samples, such as file = "recordings/clamp.csv"')
    columns = _read_columns(fields)
    units = _read_units(fields)
    scale = _read_scale(fields)
    rate = fields.known(positive("sample_rate", "Hz"))
    if columns and "time" not in columns and rate is None and "sample_rate" not in data:
        fields.lacks("sample_rate", "is missing; without a time column the rate of the samples has to be written")
    coupling = fields.word("coupling", ("dc", "ac"))
    meter = reference(fields, "meter", names.meters, "meter")
    state = reference(fields, "state", names.states, "state")
    at = place(fields, names)
    note = fields.text("note", blank=True)
    fields.finish()
    if file is None:
        return None
    return Recording(
        file=file,
        columns=tabled(columns),
        units=tabled(units),
        scale=tabled(scale),
        sample_rate=rate,
        coupling=coupling,
        meter=meter,
        state=state,
        at=at,
        note=note,
        line=fields.line,
    )


def _read_columns(fields: Fields) -> dict[str, str | int]:
    table = fields.table("columns", "columns by quantity")
    found: dict[str, str | int] = {}
    for name in _known_columns(table):
        assert table is not None
        written = table.take(name)
        is_heading = isinstance(written, str) and bool(written.strip())
        is_number = isinstance(written, int) and not isinstance(written, bool) and written >= 1
        if is_heading or is_number:
            found[name] = written
        else:
            table.error(name, f"must be a column's heading or its number from 1 up, but {quoted(written)} is written")
    if table is not None:
        table.finish(more=_COLUMNS)
    return found


def _read_units(fields: Fields) -> dict[str, str]:
    table = fields.table("units", "units by quantity")
    found: dict[str, str] = {}
    for name in _known_columns(table):
        assert table is not None
        written = table.text(name)
        if written is None:
            continue
        try:
            parse(f"1 {written}", _COLUMNS[name], name)
        except QuantityError as error:
            table.error(name, str(error))
            continue
        found[name] = written
    if table is not None:
        table.finish(more=_COLUMNS)
    return found


def _read_scale(fields: Fields) -> dict[str, str]:
    """Factors from what the file holds to the quantity, kept as written ("10 A/V"); a plain number is one too."""
    table = fields.table("scale", "scales by quantity")
    found: dict[str, str] = {}
    for name in _known_columns(table):
        assert table is not None
        written = table.take(name)
        text = repr(written) if isinstance(written, int | float) and not isinstance(written, bool) else written
        if isinstance(text, str) and _SCALE.fullmatch(text.strip()):
            found[name] = text.strip()
        else:
            table.error(name, f'must be a factor such as "10 A/V" or 100, but {quoted(written)} is written')
    if table is not None:
        table.finish(more=_COLUMNS)
    return found


def _known_columns(table: Fields | None) -> list[str]:
    return [] if table is None else [name for name in table.data if name in _COLUMNS]
