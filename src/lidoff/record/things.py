"""Reading what was looked at: sightings, photographs, wires, gaps, surfaces, the plug, the verdict and the label."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from lidoff.kinds import MAINS_NODES, Key
from lidoff.quantity import QuantityError, parse
from lidoff.record.fields import Fields, from_zero, frozen, positive, tabled, tables
from lidoff.record.model import EMPTY, Photo, Sighting, Table
from lidoff.record.names import Names
from lidoff.record.problems import Notes, quoted

SIDES: Final = ("top", "bottom")
SHOWS: Final = ("copper", "parts", "plug", "cord", "label", "light-through", "other")
SURFACE: Final = "surface:"
RATED: Final = {
    "voltage": "V",
    "frequency": "Hz",
    "power": "W",
    "current": "A",
    "apparent_power": "VA",
    "power_factor": "",
    "temperature": "K",
}
# "220-240 V", "50/60 Hz", "100 to 240 V": how labels give what the item may be run on.
_RANGE: Final = re.compile(
    r"(?P<low>[\d.,]+)\s*(?P<unit>[^\d\s.,/–—-]*)\s*(?:-|–|—|/|\.\.\.?|…|to)\s*(?P<high>[\d.,]+.*)"
)
_Taker = Callable[[Fields, str], Any]


def _text(fields: Fields, key: str) -> str | None:
    return fields.text(key)


def _note(fields: Fields, key: str) -> str | None:
    return fields.text(key, blank=True)


def _texts(fields: Fields, key: str) -> tuple[str, ...] | None:
    return fields.texts(key) or None


def _file(fields: Fields, key: str) -> str | None:
    return fields.file(key)


def _whole(fields: Fields, key: str) -> int | None:
    return fields.whole(key)


def _word(*choices: str) -> _Taker:
    return lambda fields, key: fields.word(key, choices)


def _number(unit: str) -> _Taker:
    return lambda fields, key: fields.known(positive(key, unit))


def _from_zero(unit: str) -> _Taker:
    return lambda fields, key: fields.known(from_zero(key, unit))


def _degree(fields: Fields, key: str) -> int | None:
    value = fields.known(Key(name=key, unit="", least=1.0, least_open=False, most=4.0, whole=True))
    return None if value is None else int(value)


def _wire_resistance(fields: Fields, key: str) -> Mapping[str, Any] | None:
    """`"0.11 R"`, or a table with how it was measured."""
    if not isinstance(fields.data.get(key), Mapping):
        value = fields.known(positive(key, "ohm"))
        return None if value is None else Table({"value": value})
    table = fields.table(key, "a measured resistance")
    return None if table is None else _take(table, _RESISTANCE)


def _wiring(fields: Fields, key: str) -> Mapping[str, str] | None:
    """Colour of core to the pin it was found on."""
    table = fields.table(key, "the wiring")
    if table is None:
        return None
    return tabled({colour: table.word(colour, (*MAINS_NODES, "nothing", "?")) for colour in table.data})


_RESISTANCE: Final[Mapping[str, _Taker]] = {"value": _number("ohm"), "method": _text, "leads": _from_zero("ohm")}
WIRE: Final[Mapping[str, _Taker]] = {
    "ref": _text,
    "print": _text,
    "length": _number("m"),
    "resistance": _wire_resistance,
    "mass": _number("kg/m"),
    "core": _word("copper", "copper-clad aluminium", "?"),
    "told_by": _texts,
    "strands": _whole,
    "strand_diameter": _number("m"),
    "from": _text,
    "to": _text,
    "photo": _file,
    "note": _note,
}
GAP: Final[Mapping[str, _Taker]] = {
    "between": lambda fields, key: fields.node_pair(key),
    "clearance": _from_zero("m"),
    "creepage": _from_zero("m"),
    "insulation": _word("functional", "basic", "supplementary", "reinforced", "?"),
    "pollution_degree": _degree,
    "material_group": _word("I", "II", "IIIa", "IIIb", "?"),
    "photo": _file,
    "note": _note,
}
SURFACE_KEYS: Final[Mapping[str, _Taker]] = {
    "name": _text,
    "reached": _word("by hand", "test finger", "with a tool", "?"),
    "node": _text,
    "photo": _file,
    "note": _note,
}
PLUG: Final[Mapping[str, _Taker]] = {
    "kind": _text,
    "fuse": _number("A"),
    "fuse_marking": _text,
    "wiring": _wiring,
    "switch_breaks": _word("live", "neutral", "both", "?"),
    "photo": _file,
    "note": _note,
}
VERDICT: Final[Mapping[str, _Taker]] = {"text": _note, "for": _text, "because": _texts, "note": _note}


def _take(fields: Fields, spec: Mapping[str, _Taker]) -> Mapping[str, Any]:
    values = {key: taker(fields, key) for key, taker in spec.items()}
    fields.finish()
    return tabled(values)


def read_many(notes: Notes, data: Mapping[str, Any], key: str, spec: Mapping[str, _Taker]) -> list[Mapping[str, Any]]:
    """Every `[[key]]` as a plain mapping with SI values."""
    found = []
    for number, (path, one) in enumerate(tables(notes, data, key), start=1):
        fields = Fields(notes, one, path, _shown(key, number, one), f"a {key}")
        found.append(_take(fields, spec))
    return found


def _shown(key: str, number: int, data: Mapping[str, Any]) -> str:
    for name in ("ref", "name"):
        if isinstance(data.get(name), str) and data[name].strip():
            return str(data[name])
    return f"{key} {number}"


def read_one(notes: Notes, data: Mapping[str, Any], key: str, spec: Mapping[str, _Taker]) -> Mapping[str, Any]:
    """The single table `[key]` as a plain mapping with SI values."""
    fields = top_table(notes, data, key, f"the {key}")
    return EMPTY if fields is None else _take(fields, spec)


def top_table(notes: Notes, data: Mapping[str, Any], key: str, what: str) -> Fields | None:
    """The table `[key]` at the top of the record."""
    value = data.get(key)
    if value is None:
        return None
    if not isinstance(value, Mapping):
        form = (
            f"written [{key}] with one pair of brackets, for there is only one"
            if isinstance(value, list)
            else (f"a table headed [{key}], but {quoted(value)} is written")
        )
        notes.error((key,), key, f"must be {form}")
        return None
    return Fields(notes, value, (key,), key, what)


def read_drawing(notes: Notes, data: Mapping[str, Any]) -> Mapping[str, Any]:
    """The hints for the drawing, as they stand."""
    fields = top_table(notes, data, "drawing", "the drawing")
    return EMPTY if fields is None else Table(frozen(fields.data))


def check_gaps(notes: Notes, gaps: list[Mapping[str, Any]], surfaces: list[Mapping[str, Any]], names: Names) -> None:
    """The ends of a gap are nodes or surfaces; one that is neither is a warning, for a board may not be traced yet."""
    nodes = names.nodes
    touchable = [f"{SURFACE}{surface['name']}" for surface in surfaces if "name" in surface]
    traced = names.traced and "node" not in notes.lost
    for number, gap in enumerate(gaps, start=1):
        for end in gap.get("between", ()):
            is_surface = end.startswith(SURFACE)
            if end in touchable or end in nodes or (not is_surface and not traced):
                continue
            near = notes.nearest(end, touchable if is_surface else [*nodes, *touchable])
            what = "there is no [[surface]] named" if is_surface else "no part joins a node named"
            shown = quoted(end.removeprefix(SURFACE) if is_surface else end)
            notes.warn(("gap", number - 1, "between"), f"gap {number}.between", f"{what} {shown}{near}")


def read_sightings(notes: Notes, data: Mapping[str, Any]) -> tuple[Sighting, ...]:
    """Every sighting; one that says nothing but a note is about "note"."""
    found = []
    for number, (path, one) in enumerate(tables(notes, data, "sighting"), start=1):
        fields = Fields(notes, one, path, _about(one, number), "a sighting")
        about, seen = fields.text("about"), fields.text("seen")
        photo, note = fields.file("photo"), fields.text("note", blank=True)
        fields.finish()
        if about is None and "about" not in one and not (seen or note):
            fields.lacks("about", 'is missing; say what was looked at, such as about = "cord-grip"')
            continue
        found.append(Sighting(about=about or "note", seen=seen or "", photo=photo, note=note, line=fields.line))
    return tuple(found)


def _about(data: Mapping[str, Any], number: int) -> str:
    about = data.get("about")
    return about if isinstance(about, str) and about.strip() else f"sighting {number}"


def read_photos(notes: Notes, data: Mapping[str, Any]) -> tuple[Photo, ...]:
    """Every photograph."""
    found = []
    for number, (path, one) in enumerate(tables(notes, data, "photo"), start=1):
        fields = Fields(notes, one, path, f"photo {number}", "a photo")
        file = fields.file("file")
        side, shows = fields.word("side", SIDES), fields.word("shows", SHOWS)
        note = fields.text("note", blank=True)
        fields.finish()
        if "file" not in one:
            fields.lacks("file", 'is missing; name the picture, such as file = "photos/copper.jpg"')
        if file is not None:
            found.append(Photo(file=file, side=side, shows=shows, note=note, line=fields.line))
    return tuple(found)


def read_rated(fields: Fields) -> Mapping[str, float]:
    """What the label claims; a range on it becomes two values, `voltage_low` and `voltage_high`."""
    table = fields.table("rated", "a label")
    if table is None:
        return EMPTY
    found: dict[str, float | None] = {}
    for name, unit in RATED.items():
        written = table.data.get(name)
        match = _RANGE.fullmatch(written.strip()) if isinstance(written, str) else None
        if match is None:
            found[name] = table.known(positive(name, unit))
            continue
        table.take(name)
        both = _range(table, name, unit, match)
        if both is not None:
            found[f"{name}_low"], found[f"{name}_high"] = both
    table.finish()
    return tabled(found)


def _range(table: Fields, name: str, unit: str, match: re.Match[str]) -> tuple[float, float] | None:
    high_unit = match["high"].lstrip("0123456789.,").strip()
    try:
        low = parse(f"{match['low']} {match['unit'] or high_unit}", unit, name)
        high = parse(match["high"], unit, name)
    except QuantityError as error:
        table.error(name, str(error))
        return None
    if not 0.0 < low < high:
        table.error(name, f"a range on a label goes from the lower to the higher value, but {match[0]} is written")
        return None
    return low, high
