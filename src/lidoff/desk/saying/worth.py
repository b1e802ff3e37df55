"""What a part is worth, as said: values, tolerances, ratings, counts and words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from lidoff.desk.saying.joins import Tokens
from lidoff.kinds import CAPACITOR_CLASSES, KINDS, Key
from lidoff.quantity import QuantityError, engineering, parse, share

# A unit that stands apart from its number: "4.7 kohm", "330 nF".
_UNIT_WORD: Final = re.compile(
    r"[pnuµμmkM]?(?:F|H|Hz|V|W|A|ohms?|Ohms?|Ω|R|VA|volts?|watts?|amps?)(?:~|ac|AC|dc|DC|rms)?|%|[kM]"
)
_NUMBER: Final = re.compile(r"[+±-]*\d+(?:[.,]\d+)?")
_AC: Final = re.compile(r"(?P<value>.+?)\s*(?:V~|~V|Vac|VAC|V\s*ac|V\s*AC)$")
_VOLTS: Final = re.compile(r".*\d\s*k?V(?:dc|DC|-|=)?$")
_TIMES: Final = re.compile(r"(?:x|×)(?P<count>\d{1,4})|(?P<before>\d{1,4})(?:x|×)")
# What a quantity of that unit means for a kind, where the kind's own first key does not take it.
_MEANS: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "resistor": (("value", "ohm"), ("rating.power", "W"), ("rating.voltage", "V")),
    "capacitor": (("value", "F"), ("rating.voltage", "V")),
    "inductor": (("value", "H"), ("resistance", "ohm"), ("rating.current", "A")),
    "potentiometer": (("value", "ohm"), ("rating.power", "W")),
    "fuse": (("rating", "A"), ("resistance", "ohm")),
    "diode": (("rating.voltage", "V"), ("rating.current", "A")),
    "bridge": (("rating.voltage", "V"), ("rating.current", "A")),
    "led": (("forward_voltage", "V"), ("test_current", "A")),
    "zener": (("voltage", "V"), ("rating.power", "W"), ("test_current", "A")),
    "varistor": (("voltage", "V"),),
    "triac": (("rating.voltage", "V"), ("rating.current_rms", "A")),
    "thyristor": (("rating.voltage", "V"), ("rating.current_rms", "A")),
    "diac": (("breakover", "V"),),
    "regulator": (("limit", "A"), ("dropout", "V")),
    "converter": (("power", "W"), ("minimum_voltage", "V")),
    "thermistor": (("cold", "ohm"),),
    "lamp": (("power", "W"), ("voltage", "V")),
    "heater": (("power", "W"), ("voltage", "V")),
    "transistor": (("rating.voltage", "V"), ("rating.current", "A")),
    "mosfet": (("rating.voltage", "V"), ("rating.current", "A")),
    "choke": (("value", "H"), ("resistance", "ohm"), ("rating.current", "A")),
    "indicator": (("strike", "V"), ("series", "ohm")),
    "relay": (("resistance", "ohm"),),
    "motor": (("resistance", "ohm"), ("inductance", "H")),
}
# A number and its unit that want a blank between them; "4k7" and "330n" stay as they are.
_APART: Final = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)(?P<unit>[pnuµμmkM]?(?:F|H|Hz|V|W|A|ohms?|Ω))")
_TAPERS: Final[Mapping[str, str]] = {"lin": "linear", "linear": "linear", "log": "log", "reverse-log": "reverse-log"}


def take_worth(tokens: Tokens, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """Takes out of a sentence what the part is worth, and writes it into the table and in words into `told`."""
    _join_units(tokens)
    _counts(tokens, kind, table, told)
    _by_name(tokens, kind, table, told)
    for word in list(tokens.words):
        if _flag(word, kind, table, told) or _quantity(word, kind, table, told):
            tokens.take_word(word)
    _drop_lonely(tokens, told)


def _join_units(tokens: Tokens) -> None:
    """Writes a number and the unit that follows it as one word."""
    place = 0
    while place < len(tokens.words) - 1:
        if _NUMBER.fullmatch(tokens.words[place]) and _UNIT_WORD.fullmatch(tokens.words[place + 1]):
            tokens.words[place] += tokens.words[place + 1]
            tokens.drop(place + 1, 1)
        place += 1


def _counts(tokens: Tokens, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """How many: "6 in series", "series 6", "2 in parallel", "count 6", "x6"."""
    for name in ("series", "parallel", "count"):
        if name != "count" and KINDS[kind].key(name) is None:
            continue
        for place, word in enumerate(tokens.words):
            if word.lower() not in (name, "counted" if name == "count" else name):
                continue
            start = place - 1 if tokens.low(place - 1) == "in" else place
            before, after = tokens.low(start - 1), tokens.low(place + 1)
            if re.fullmatch(r"\d{1,4}", before):
                table[name] = int(before)
                tokens.drop(start - 1, place - start + 2)
            elif re.fullmatch(r"\d{1,4}", after):
                table[name] = int(after)
                tokens.drop(start, place - start + 2)
            else:
                continue
            told.append(("counted", str(table[name])) if name == "count" else ("", f"{table[name]} in {name}"))
            break
    for word in list(tokens.words):
        match = _TIMES.fullmatch(word)
        if match and KINDS[kind].key("series") is not None and "series" not in table:
            table["series"] = int(match["count"] or match["before"])
            told.append(("", f"{table['series']} in series"))
            tokens.take_word(word)


def _by_name(tokens: Tokens, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> None:
    """Any key of the kind by its name, before its value: "ratio 5", "holding current 5mA"."""
    for spec in KINDS[kind].keys:
        words = spec.name.split("_")
        for place in range(len(tokens.words) - len(words)):
            there = [tokens.low(place + step) for step in range(len(words))]
            value = tokens.words[place + len(words)]
            if spec.unit in ("bool", "word") or spec.name in table or "_".join(there) not in (spec.name,):
                continue
            if _put(spec.name, value, spec.unit, table, told):
                tokens.drop(place, len(words) + 1)
                break


def _flag(word: str, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> bool:
    """Words of a kind: a class, a taper, a polarity, a speed, open or closed, not known."""
    low = word.lower()
    if kind == "capacitor" and word.upper() in CAPACITOR_CLASSES:
        _rating(table)["class"] = word.upper()
        told.append(("class", word.upper()))
        return True
    spec: Key | None
    if kind == "potentiometer" and low in _TAPERS:
        table["taper"] = _TAPERS[low]
        told.append(("taper", table["taper"]))
        return True
    for spec in KINDS[kind].keys:
        if spec.unit == "word" and low in spec.choices and len(low) > 1:
            table[spec.name] = low
            told.append((spec.name, low))
            return True
        if spec.name == "closed" and low in ("open", "closed", "off"):
            table["closed"] = low == "closed"
            told.append(("", "closed" if table["closed"] else "open"))
            return True
    if low in ("?", "unknown") and _MEANS.get(kind):
        key = _MEANS[kind][0][0]
        table[key] = "?"
        told.append(("", f"{key.replace('_', ' ')} to be inferred"))
        return True
    return False


def _quantity(word: str, kind: str, table: dict[str, Any], told: list[tuple[str, str]]) -> bool:
    """A value with its unit, or a tolerance."""
    text = word.lstrip("±")
    if text.endswith("%") and text != "%":
        try:
            share(text)
        except QuantityError:
            return False
        table["tolerance"] = _spaced(text, "%")
        told.append(("±", table["tolerance"]))
        return True
    ac = _AC.fullmatch(text)
    if ac is not None and kind in ("capacitor", "varistor"):
        return _put("rating.voltage_ac", f"{ac['value']}V", "V", table, told)
    if not re.search(r"\d", text):
        return False
    for key, unit in _MEANS.get(kind, ()):
        if unit == "V" and not _VOLTS.match(text):
            continue
        # A bare number is a value only where nothing else is: "R1 100".
        if _NUMBER.fullmatch(text) and not (key == "value" and kind in ("resistor", "potentiometer")):
            continue
        taken = _held(table, key)
        if taken is None and _put(key, text, unit, table, told):
            return True
    return False


def _put(key: str, text: str, unit: str, table: dict[str, Any], told: list[tuple[str, str]]) -> bool:
    try:
        number = parse(text, unit)
    except QuantityError:
        return False
    owner, _, last = key.rpartition(".")
    match = _APART.fullmatch(text)
    written: Any = f"{match['number']} {match['unit']}" if match else text
    if not unit and re.fullmatch(r"\d+", text):
        written = int(text)
    if owner:
        _rating(table)[last] = written
    else:
        table[key] = written
    shown = _shown(number, unit)
    label = "value" if key == "value" else ("rated" if owner else key.replace("_", " "))
    told.append((label, shown + (" ac" if last == "voltage_ac" else "")))
    return True


def _shown(number: float, unit: str) -> str:
    """A value with as few digits as it has."""
    if not unit:
        return f"{number:g}"
    texts = (engineering(number, unit, digits) for digits in range(1, 7))
    return next((text for text in texts if _is(text, number, unit)), engineering(number, unit, 6))


def _is(text: str, number: float, unit: str) -> bool:
    try:
        return parse(text, unit) == number
    except QuantityError:
        return False


def _rating(table: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = table.setdefault("rating", {})
    return found


def _held(table: Mapping[str, Any], key: str) -> Any:
    owner, _, last = key.rpartition(".")
    return table.get(owner, {}).get(last) if owner else table.get(key)


def _spaced(text: str, unit: str) -> str:
    return f"{text.removesuffix(unit).strip()} {unit}"


def _drop_lonely(tokens: Tokens, told: list[tuple[str, str]]) -> None:
    """Words that only lead to what was understood."""
    if told:
        for word in ("value", "rated", "at", "tolerance", "class", "rating"):
            while tokens.take_word(word):
                pass
