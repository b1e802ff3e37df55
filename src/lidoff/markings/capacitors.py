"""Capacitors: codes in picofarads, letter code, values written out, and what stands beside them.

Read by a small lexer, because the parts of the marking come in any order and often without blanks: "2A104K",
"104K X7R 50V", "0.1uF K X2 275V~", "4.7uF 400V 105C", "100nJ63".
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from lidoff.markings.building import OFF_SERIES, Tolerance, build, even, range_weight, series_weight, shown
from lidoff.markings.capacitor_tables import (
    BARE_VOLTS,
    CHANGE,
    CHIP_LETTERS,
    CHIP_SOURCE,
    CLASS_1,
    CLASS_1_NAMES,
    CONSTRUCTIONS,
    HIGH_TEMPERATURE,
    LOW_TEMPERATURE,
    TANTALUM_SOURCE,
    TANTALUM_VOLTS,
    coded_volts,
)
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import CAP_CLASS_2, CAP_DIGITS, CAP_SAFETY, CAP_TEXT, RKM, Source
from lidoff.markings.tolerances import tolerance_of
from lidoff.quantity import celsius

_SIZES: Final = ((1e-12, 10e-3), (0.1e-12, 1.0))
_PREFIX: Final = {"p": -12, "n": -9, "u": -6, "m": -3, "F": 0}
_STRICT: Final = ("Y1", "Y2", "X1", "Y3", "Y4", "X2", "X3", "X4")
_MARKS: Final = frozenset(
    {"CE", "UL", "CUL", "CSA", "CQC", "VDE", "ENEC", "SEMKO", "NEMKO", "DEMKO", "FIMKO", "KC", "SH"}
)

# Each pattern is tried in this order at the place the last one ended; END keeps a token from ending inside a word.
_END: Final = r"(?![A-Za-z0-9.])"
_DIELECTRIC: Final = rf"(?P<dielectric>[XYZ][245-9][DEFPRSTUV]|C[0O]G|NP[0O]|U2J|P2H|S2H){_END}"
_TOKENS: Final = tuple(
    re.compile(pattern)
    for pattern in (
        r"(?P<climate>(?P<cold>\d{2})/(?P<hot>\d{2,3})/(?P<damp>\d{2}))(?:/[ABC])?(?!\d)",
        r"(?P<range>-(?P<from>\d{2})\s*(?:to|\.{2,3}|~|/|\+)\s*\+?(?P<to>\d{2,3})\s*°?C)",
        rf"(?P<celsius>\+?(?:70|85|100|105|110|115|125|130|135|150)\s*°?C){_END}",
        r"(?P<hertz>50(?:/60)?\s*Hz)",
        rf"(?P<class>[XY][1-4](?:[/+ ]?[XY][1-4])?){_END}",
        _DIELECTRIC,
        r"(?P<construction>" + "|".join(sorted(CONSTRUCTIONS, key=len, reverse=True)) + r")(?![A-Za-z0-9])",
        r"(?P<coded>[0-3][A-Z])(?=\s?\d{3}(?!\d))",
        r"(?P<unit>\d*\.?\d+)\s*(?P<prefix>[pnumPNU]|MM|M)(?P<farad>F(?!D)|f(?!d)|FD|fd)(?P<tail>[BCDFGHJKMNPQSTZ])?(?![A-Za-z])",
        rf"(?P<rkm>(?P<whole>\d*)(?P<letter>[pnumPNU])(?P<part>\d{{0,2}}))"
        rf"(?:(?P<tail>[BCDFGJKMNPQSTZ])(?![A-Za-z])|{_END})",
        rf"(?P<drop>\d?R\d|\d)(?P<tail>[BCDFG])?{_END}",
        r"(?P<volts>\d+(?:\.\d+)?)\s*(?P<kilo>[kK]?)(?:WV|V|v)"
        # "5V1" is a zener; "400V10uF" is a voltage with the value glued to it.
        r"(?P<current>AC|ac|DC|dc|~|=|\.?\s?(?:AC|DC)(?![A-Za-z])|-(?!\d))?(?:(?!\d)|(?=[\d.]+\s?[pnum]F))",
        r"(?P<volts>\d{2,4})(?P<kilo>)(?P<current>~|AC|VAC)",
        r"(?P<code>\d{3})(?P<tail>[BCDFGHJKMNPQSTZ])?(?=[\s,;/()]|$|\d{2,4})",
        r"(?P<decimal>\d*\.\d+|\d)(?P<tail>[JKM])(?=\d{2,4}|[\s,;/()]|$)",
        rf"(?P<decimal>\d*\.\d+){_END}",
        rf"(?P<number>\d{{1,5}}){_END}",
        rf"(?P<tolerance>[BCDFGHJKMNPQSTZ]){_END}",
        r"±\s*(?P<percent>\d+(?:\.\d+)?)\s*%?|(?P<per_cent>\d+(?:\.\d+)?)\s*%",
        rf"(?P<polarity>BP|NP|bipolar|non-polar){_END}",
    )
)


@dataclass(slots=True)
class _Found:
    """What the lexer has gathered of one marking; used inside this module only."""

    values: list[tuple[float, float, str, Source]] = field(default_factory=list)
    letter: str | None = None
    tolerance: Tolerance | None = None
    more: dict[str, object] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    classes: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    coded: bool = False
    known: int = 0
    unknown: list[str] = field(default_factory=list)
    number: str | None = None


def decode_capacitors(seen: Seen) -> list[Candidate]:
    """Every reading of a marking as a capacitor."""
    return [*_chip_codes(seen), *_tantalum(seen), *_phrase(seen)]


def _chip_codes(seen: Seen) -> Iterator[Candidate]:
    """EIA-198: a letter for the significand and a digit for the power of ten, in picofarads."""
    match = re.fullmatch(r"([A-Za-z])([0-79])", seen.compact)
    if match is None or match[1] not in CHIP_LETTERS:
        return
    power = -1 if match[2] == "9" else int(match[2])
    value = float(f"{CHIP_LETTERS[match[1]]}e{power - 12}")
    why = (f"two-character chip code: {match[1]} is {CHIP_LETTERS[match[1]]}, ×10^{power} pF",)
    size, reason = range_weight(value, (0.5e-12, 10e-6), (0.1e-12, 1e-4))
    score = 0.08 if match[0] in ("X1", "X2", "Y1", "Y2", "Y4") else 0.25
    yield build("capacitor", value, source=CHIP_SOURCE, score=score * size, why=(*why, reason))


def _tantalum(seen: Seen) -> Iterator[Candidate]:
    """Three digits in picofarads and a letter for the voltage, before or behind, on chips of tantalum or polymer."""
    match = re.fullmatch(r"([GJACDEVT])?(\d\d[4-8])([GJACDEVT])?", seen.compact)
    if match is None or bool(match[1]) == bool(match[3]):
        return
    letter = match[1] or match[3]
    value = float(f"{match[2][:2]}e{int(match[2][2]) - 12}")
    volts = TANTALUM_VOLTS[letter]
    series, reason = series_weight(value, 0.1)
    size, _ = range_weight(value, (0.1e-6, 1e-3), (0.01e-6, 5e-3))
    yield build(
        "capacitor",
        value,
        source=TANTALUM_SOURCE,
        score=0.5 * series * size,
        why=(f"chip of tantalum or polymer: {letter} is {volts:g} V", reason),
        extra=f"{volts:g} V",
        more={"voltage": volts, "polarity": "polarised"},
    )


def _phrase(seen: Seen) -> Iterator[Candidate]:
    found = _lex(re.sub(r"(?<=\d),(?=\d)", ".", seen.text))
    volts = found.more.get("voltage") or found.more.get("voltage_ac")
    if found.number is not None and not (found.values and (found.letter or found.coded)):
        # A bare number: microfarads where a voltage stands beside it, as on small electrolytics; else picofarads.
        number = float(found.number)
        if volts:
            found.values.append(
                (float(f"{found.number}e-6"), 0.7, "a bare number beside a voltage is in microfarads", CAP_TEXT)
            )
        elif number >= 1 and len(found.number) <= 2:
            found.values.append(
                (float(f"{found.number}e-12"), 0.12, "one or two bare digits are in picofarads", CAP_TEXT)
            )
    if found.unknown and len(found.unknown) >= found.known:
        return
    if not found.values:
        if "class" in found.more:
            yield _candidate(found, None, 0.8, "only the class was made out", CAP_SAFETY)
        elif "dielectric" in found.more:
            yield _candidate(found, None, 0.5, "only the dielectric was made out", CAP_CLASS_2)
        return
    for value, weight, reason, source in found.values:
        yield _candidate(found, value, weight, reason, source)


def _candidate(found: _Found, value: float | None, weight: float, reason: str, source: Source) -> Candidate:
    tolerance = found.tolerance
    said = list(found.said)
    if value is not None and found.letter:
        tolerance = tolerance_of(found.letter, value)
        if found.letter in "BCDFGH" and not tolerance.absolute:
            weight *= 0.3
            said.append(f"{found.letter} would be {tolerance.text()}, rare on capacitors of this size")
        else:
            said.append(f"{found.letter} is {tolerance.text()}")
            weight = min(1.0, weight * 1.6)
    if len(found.more) > 0 and value is not None:
        weight = min(1.0, weight * 1.4)
    off_list = False
    if value is not None:
        series, series_reason = series_weight(value, None)
        size, size_reason = range_weight(value, *_SIZES)
        weight *= series * size
        off_list = series == OFF_SERIES
        said += [f"{shown(value, 'F')} is {series_reason}", size_reason]
    if found.unknown:
        weight *= 0.6 ** len(found.unknown)
        said.append(f"not made out: {' '.join(found.unknown)}")
    more = dict(found.more) | ({"not_read": tuple(found.unknown)} if found.unknown else {})
    return build(
        "capacitor",
        value,
        source=source,
        score=weight,
        why=(reason, *said),
        tolerance=tolerance if value is not None else None,
        extra=_extra(more),
        more=more,
        off_list=off_list,
    )


def _extra(more: dict[str, object]) -> str:
    words = [str(more[key]) for key in ("classes", "dielectric") if key in more]
    if "voltage_ac" in more:
        words.append(f"{more['voltage_ac']:g} V ac")
    if "voltage" in more:
        words.append(f"{more['voltage']:g} V")
    if isinstance(more.get("temperature"), float):
        words.append(celsius(float(str(more["temperature"]))))
    return " ".join(words)


def _lex(text: str) -> _Found:
    found = _Found()
    place = 0
    while place < len(text):
        if text[place] in " ,;/()":
            place += 1
            continue
        match = next((hit for token in _TOKENS if (hit := token.match(text, place)) and _take(found, hit)), None)
        if match is not None:
            found.known += 1
            place = match.end()
            continue
        if text[place] == "-":
            place += 1
            continue
        word = re.match(r"[^\s,;/()]+", text[place:])
        taken = word[0] if word else text[place]
        if taken.upper() in _MARKS:
            found.known += 1
            found.marks = (*found.marks, taken.upper())
            found.more["marks"] = found.marks
        else:
            found.unknown.append(taken)
        place += len(taken)
    return found


def _take(found: _Found, match: re.Match[str]) -> bool:
    """Notes what a token says; False where it cannot be meant here."""
    groups = {name: value for name, value in match.groupdict().items() if value is not None}
    has_value = bool(found.values) or found.number is not None
    if groups.keys() & {"unit", "rkm", "code", "decimal", "drop", "number"}:
        return _take_bare_volts(found, groups) if has_value else _take_value(found, groups)
    if "volts" in groups:
        volts = float(groups["volts"]) * (1000.0 if groups.get("kilo") else 1.0)
        alternating = any(sign in groups.get("current", "").upper() for sign in ("AC", "~"))
        found.more["voltage_ac" if alternating else "voltage"] = volts
    elif "coded" in groups:
        coded = coded_volts(groups["coded"])
        if coded is None:
            return False
        found.coded = True
        found.more["voltage"] = coded
        found.said.append(f"{groups['coded']} is {coded:g} V")
    elif "class" in groups:
        found.classes = (*found.classes, *re.findall(r"[XY][1-4]", groups["class"]))
        # A record holds one class; of several the strictest is taken, since Y parts may stand where X parts may.
        found.more["class"] = min(found.classes, key=_STRICT.index)
        found.more["classes"] = "/".join(found.classes)
    elif "dielectric" in groups:
        _take_dielectric(found, groups["dielectric"])
    elif "construction" in groups:
        found.more["construction"] = CONSTRUCTIONS[groups["construction"]].name
    elif "climate" in groups:
        found.more["temperature_min"] = round(273.15 - float(groups["cold"]), 2)
        found.more["temperature"] = round(273.15 + float(groups["hot"]), 2)
        found.said.append(f"climatic category {groups['climate']}")
    elif "range" in groups:
        found.more["temperature_min"] = round(273.15 - float(groups["from"]), 2)
        found.more["temperature"] = round(273.15 + float(groups["to"]), 2)
    elif "celsius" in groups:
        if not has_value and "°" not in groups["celsius"]:
            return False
        found.more["temperature"] = round(273.15 + float(re.sub(r"\D", "", groups["celsius"])), 2)
    elif "percent" in groups or "per_cent" in groups:
        found.tolerance = even(float(groups.get("percent") or groups["per_cent"]) / 100.0)
    elif "tolerance" in groups:
        if not has_value or found.letter:
            return False
        found.letter = groups["tolerance"]
    elif "polarity" in groups:
        found.more["polarity"] = "bipolar"
    return True


def _take_bare_volts(found: _Found, groups: dict[str, str]) -> bool:
    """A second number is a rated voltage, if it is one of the usual ones."""
    text = groups.get("number") or groups.get("code")
    if text is None or groups.get("tail") or float(text) not in BARE_VOLTS or "voltage" in found.more:
        return False
    found.more["voltage"] = float(text)
    found.said.append(f"the bare {text} is taken as volts")
    return True


def _take_value(found: _Found, groups: dict[str, str]) -> bool:
    letter = groups.get("tail")
    if "unit" in groups:
        prefix = groups["prefix"]
        power = {"P": -12, "N": -9, "U": -6, "M": -6, "MM": -12}.get(prefix, _PREFIX.get(prefix, 0))
        if groups["farad"].upper() == "FD" and prefix == "m":
            power, prefix = -6, "M"
        reason = "written out" if prefix != "M" else "written out, MF and MFD being microfarads in old print"
        found.values.append((float(f"{groups['unit']}e{power}"), 0.7, reason, CAP_TEXT))
    elif "rkm" in groups:
        if not groups.get("whole") and not groups.get("part"):
            return False
        mark = groups["letter"]
        value = float(f"{groups.get('whole') or '0'}.{groups.get('part') or '0'}e{_PREFIX[mark.lower()]}")
        if value == 0:
            return False
        weight = {"m": 0.15, "u": 0.6}.get(mark, 0.65 if mark.islower() else 0.45)
        if mark.isupper() and (len(groups.get("part", "")) == 2 or not groups.get("whole")):
            weight *= 0.2
        found.values.append((value, weight, f"letter code: {mark} stands for the decimal point", RKM))
    elif "code" in groups:
        _take_code(found, groups["code"])
        if not found.values:
            return False
    elif "decimal" in groups:
        if float(groups["decimal"]) == 0:
            return False
        found.values.append((float(f"{groups['decimal']}e-6"), 0.35, "a bare decimal is in microfarads", CAP_TEXT))
    elif "drop" in groups:
        if "R" not in groups["drop"]:
            return False
        value = float(groups["drop"].replace("R", ".") + "e-12")
        found.values.append((value, 0.12, "R for the decimal point, in picofarads, as on small ceramics", CAP_DIGITS))
    else:
        found.number = groups["number"]
    if letter:
        found.letter = letter
    return True


def _take_code(found: _Found, code: str) -> None:
    if code[:2] == "00" or code[0] == "0":
        return
    power = {"8": -2, "9": -1}.get(code[2], int(code[2]))
    value = float(f"{code[:2]}e{power - 12}")
    weight = {"0": 0.33, "8": 0.15, "9": 0.3, "7": 0.2, "6": 0.3}.get(code[2], 0.52)
    found.values.append((value, weight, f"three digits: {code[:2]} ×10^{power} pF", CAP_DIGITS))
    if code[2] == "0":
        # "100 16V" is far likelier 100 µF than 10 pF; whether a voltage stands there is known only at the end.
        found.number = code


def _take_dielectric(found: _Found, code: str) -> None:
    name = CLASS_1_NAMES.get(code, code)
    found.more["dielectric"] = name
    if name in CLASS_1:
        coefficient, spread = CLASS_1[name]
        found.more["temperature_coefficient"] = coefficient
        found.said.append(f"{name}: {coefficient * 1e6:g} ± {spread * 1e6:g} ppm/K")
        return
    change = CHANGE[name[2]]
    found.more["temperature_min"] = LOW_TEMPERATURE[name[0]].low
    found.more["temperature"] = HIGH_TEMPERATURE[name[1]].high
    found.said.append(
        f"{name}: {change.low:+.1%} to {change.high:+.1%} from {celsius(LOW_TEMPERATURE[name[0]].low)} "
        f"to {celsius(HIGH_TEMPERATURE[name[1]].high)}".replace(".0%", " %")
        .replace("%", " %")
        .replace("  ", " ")
    )
