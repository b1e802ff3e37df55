"""Type numbers of diodes, bridges, transistors, thyristors, triacs, diacs and zeners.

What the register's letters tell is always given; ratings only for the generic types of the tables.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build, even, series_weight, shown
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import GENERIC, JEDEC, PRO_ELECTRON, ZENER_CODE, ZENER_TABLE
from lidoff.markings.type_tables import (
    JEDEC_PREFIX,
    JIS_PREFIX,
    PRO_ELECTRON_FUNCTION,
    PRO_ELECTRON_MATERIAL,
    TYPES,
    TypeRow,
)
from lidoff.markings.zener_tables import CODE_LETTERS, SERIES, SUFFIXES, ZENERS, family_of
from lidoff.quantity import percent

_VOLTS: Final = r"(?P<volts>\d{1,3}V\d{0,2}|\d{1,3}(?:\.\d{1,2})?)"
_ZENER_CODE: Final = re.compile(rf"(?P<stem>BZ[A-Z]\d{{2,3}})[-/]?(?P<letter>[A-E])?-?{_VOLTS}(?P<rest>[A-Z]{{0,3}})")
_ZENER_NAMED: Final = re.compile(rf"(?:ZPD|ZPY|ZTE|ZD|ZY|DZ)-?{_VOLTS}V?")
_PLAIN_ZENER: Final = re.compile(r"(?P<letter>[A-E])?-?(?P<volts>\d{1,2}V\d?|\d{1,3}V)")
_MAKERS: Final = r"(?:MJE|FJP|KSE|ST|E|APT|SS|MUR|SMD|S)?"


def decode_semiconductors(seen: Seen) -> list[Candidate]:
    """Every reading of a text as a type number."""
    # A blank within the number ("1N 4007") goes; one before a range number ("BT136 600") is a hyphen.
    # A capital I is the usual misreading of the 1 of 1N.
    text = re.sub(r"^[IL]N(?=\d{3,4})", "1N", seen.text.upper())
    code = re.sub(r"^([1-4]N|2S[A-K]|[ABC][A-Z]|[ABC][A-Z]{2}) (?=\d)", r"\1", text).replace(" ", "-")
    if code.startswith("BS1362"):
        return []
    found = [*_zeners(code), *_suppressors(code)]
    if not any(candidate.score > 0.8 for candidate in found):
        found += _rated(code)
    if any(candidate.score >= 0.6 and candidate.more.keys() & {"number", "series"} for candidate in found):
        return found
    return [*found, *_registered(code)]


def _from_row(row: TypeRow, voltage: float | None, why: tuple[str, ...], score: float) -> Candidate:
    more: dict[str, object] = {"type": row.what, "number": row.number} | dict(row.more)
    ratings = "a number many makers use" if row.source is GENERIC else ""
    words = [row.what]
    if voltage is not None:
        words.append(f"{voltage:g} V")
        more["voltage"] = voltage
    if row.current is not None:
        more["current_rms" if row.kind in ("triac", "thyristor") else "current"] = row.current
        words.append(shown(row.current, "A"))
    if row.kind == "diac":
        words = [row.what, shown(row.current or 0.0, "A") + " peak"]
        del more["voltage"]
    return build(
        row.kind, voltage, source=row.source, score=score, why=(*why, ratings), text=", ".join(words), more=more
    )


def _rated(code: str) -> Iterator[Candidate]:
    """Types in the tables, with the endings makers add."""
    row = TYPES.get(code)
    score = 0.9
    ending = ""
    if row is None:
        match = re.fullmatch(r"(.+?)(?:-(\d{3,4}))?([A-Z]{0,2})(?:-\d{1,2})?", code)
        if match:
            row = TYPES.get(match[1]) or (TYPES.get(f"{match[1]}-{match[2]}") if match[2] else None)
            ending = code.removeprefix(match[1])
    if row is None:
        bare = re.sub(rf"^{_MAKERS}(?=13\d{{3}}$|13\d{{3}}[A-Z])", "", code)
        match = re.fullmatch(r"(13\d{3})[A-Z]{0,2}", bare)
        row = TYPES.get(match[1]) if match else None
    if row is not None:
        volts = re.match(r"-(\d{3,4})", ending)
        voltage = float(volts[1]) if volts and row.voltage is None else row.voltage
        if len(row.number) <= 2 or row.number.isdigit():
            score = 0.7
        range_number = f"the range number {volts[1]} is its repetitive peak voltage" if volts else ""
        yield _from_row(row, voltage, (f"{row.number}: {row.what}", range_number), score)
        return
    match = re.fullmatch(r"BT([AB])(\d\d)-?(\d{3,4})[A-Z]{0,3}", code)
    if match:
        number = f"BT{match[1]}{match[2]}-{match[3]}"
        more = {"type": "triac", "number": number, "voltage": float(match[3]), "current_rms": float(match[2])}
        text = f"triac, {match[3]} V, {int(match[2])} A" + (", insulated tab" if match[1] == "A" else "")
        why = (f"the number gives {int(match[2])} A and {match[3]} V",)
        yield build("triac", float(match[3]), source=GENERIC, score=0.85, why=why, text=text, more=more)
    match = re.fullmatch(r"[A-Z]{0,3}?(\d{1,2})N(50|60|65|70|80|90)[A-Z]{0,2}", code)
    if match:
        drain = float(match[2]) * 10.0
        more = {"type": "n-channel MOSFET", "voltage": drain, "current": float(match[1]), "polarity": "n"}
        text = f"n-channel MOSFET, {drain:g} V, {match[1]} A"
        why = ("numbers of this form give amperes and tens of volts; not a register",)
        yield build("mosfet", drain, source=GENERIC, score=0.75, why=why, text=text, more=more)


def _registered(code: str) -> Iterator[Candidate]:
    """What the register alone tells of a number that is in no table."""
    match = re.fullmatch(r"([1-4])N(\d{2,5})([A-Z]{0,3})", code)
    if match:
        row = JEDEC_PREFIX[match[1]]
        score = 0.55 if len(match[2]) >= 3 else 0.35
        why = (f"{match[1]}N: {row.meaning}", "the digits are a serial number and tell no rating")
        text = f"{row.meaning.rpartition(': ')[2]}, registered as {match[1]}N{match[2]}"
        if row.kind:
            more = {"register": "JEDEC"}
            yield build(row.kind, None, source=JEDEC, score=score, why=why, text=text, more=more)
    match = re.fullmatch(r"(1S[SVRZ]?|2S[ABCDFJKM])-?(\d{2,4})([A-Z]{0,2})", code)
    if match:
        row = JIS_PREFIX["1S" if match[1].startswith("1S") else match[1]]
        more = {"register": "JIS", "type": row.meaning}
        polarity = "npn" if "npn" in row.meaning else ("pnp" if "pnp" in row.meaning else "")
        if polarity:
            more["polarity"] = polarity
        yield build(
            row.kind or "transistor",
            None,
            source=row.source,
            score=0.8,
            why=(f"{match[1]}: {row.meaning}",),
            text=f"{row.meaning}, registered as {match[1]}{match[2]}",
            more=more,
        )
    match = re.fullmatch(r"([ABC])([A-FLNP-UX-Z])(?:(\d{3})|([A-Z])(\d\d))([A-Z]{0,2})(?:[-/](\d{2,4}))?([A-Z]?)", code)
    if match:
        yield from _pro_electron(match)


def _pro_electron(match: re.Match[str]) -> Iterator[Candidate]:
    material, function = PRO_ELECTRON_MATERIAL[match[1]], PRO_ELECTRON_FUNCTION[match[2]]
    if function.kind is None or function.sign == "Z":
        return
    why = [f"{match[1]}: {material.meaning}", f"{match[2]}: {function.meaning}"]
    why.append("three digits: for consumer goods" if match[3] else "a letter and two digits: for professional use")
    more: dict[str, object] = {"register": "Pro Electron", "type": function.meaning, "material": material.meaning}
    value: float | None = None
    text = f"{material.meaning} {function.meaning}"
    if match[7] and function.sign in "YTR":
        value = float(match[7])
        more["voltage"] = value
        text += f", {value:g} V"
        why.append(f"the range number {match[7]} is the repetitive peak voltage")
    kinds = ("triac", "thyristor") if function.sign == "T" else (function.kind,)
    if function.sign in "SU":
        kinds = ("transistor", "mosfet")
    for kind in kinds:
        yield build(kind, value, source=PRO_ELECTRON, score=0.7 / len(kinds), why=why, text=text, more=more)


def _volts(text: str) -> float:
    return float(text.replace("V", ".").rstrip("."))


def _zener(
    voltage: float, share_of: float | None, score: float, why: tuple[str, ...], more: dict[str, object], extra: str = ""
) -> Candidate:
    series, reason = series_weight(voltage, None)
    listed = any(abs(row.voltage - voltage) < 1e-9 for row in ZENERS.values())
    weight = 1.0 if listed else series * 0.5
    tolerance = None if share_of is None else even(share_of)
    source = ZENER_TABLE if "number" in more else ZENER_CODE
    why = (*why, "a zener voltage on the registered lists" if listed else reason)
    return build(
        "zener", voltage, source=source, score=score * weight, why=why, tolerance=tolerance, extra=extra, more=more
    )


def _zeners(code: str) -> Iterator[Candidate]:
    match = re.fullmatch(r"1N(\d{3,4})([A-D]?)(?:UR|TR|G|-[A-Z]+)?", code)
    family = family_of(int(match[1])) if match else None
    if match and family is not None:
        row = ZENERS[int(match[1])]
        share_of = SUFFIXES[family].get(match[2])
        more: dict[str, object] = {"number": f"1N{match[1]}", "power": row.power}
        if row.test_current is not None:
            more["test_current"] = row.test_current
        why: tuple[str, ...] = (f"1N{match[1]} is registered as a zener of {row.voltage:g} V",)
        if match[2]:
            why = (*why, f"ending {match[2]}" + (f" is {percent(share_of)}" if share_of else ""))
        yield _zener(row.voltage, share_of, 0.95, why, more, shown(row.power, "W"))
        return
    match = _ZENER_CODE.fullmatch(code)
    if match and _volts(match["volts"]) > 0:
        series = SERIES.get(match["stem"])
        more = {"series": match["stem"]}
        extra = ""
        why = (f"{match['stem']}: silicon zener series",)
        if series:
            more |= {"power": series.power, "body": series.what}
            extra = shown(series.power, "W")
        letter = match["letter"]
        if letter:
            why = (*why, f"{letter} is {percent(CODE_LETTERS[letter])}")
        yield _zener(_volts(match["volts"]), CODE_LETTERS.get(letter or ""), 0.95, why, more, extra)
        return
    match = _ZENER_NAMED.fullmatch(code)
    if match and _volts(match["volts"]) > 0:
        yield _zener(_volts(match["volts"]), None, 0.8, ("a zener name with its voltage",), {})
        return
    match = _PLAIN_ZENER.fullmatch(code)
    if match and 1.8 <= _volts(match["volts"]) <= 200:
        letter = match["letter"]
        inside = not match["volts"].endswith("V")
        score = 0.85 if inside else 0.4
        why = ("voltage code: V stands for the decimal point" if inside else "a bare voltage, as on zeners",)
        if letter:
            why = (*why, f"{letter} is {percent(CODE_LETTERS[letter])}")
        yield _zener(_volts(match["volts"]), CODE_LETTERS.get(letter or ""), score, why, {})
    match = re.fullmatch(r"([A-E])(\d{1,2})", code)
    if match and 2 <= int(match[2]) <= 75 and match[1] == "C":
        share_of = CODE_LETTERS[match[1]]
        yield _zener(float(match[2]), share_of, 0.3, (f"{match[1]} and a voltage, as on glass zeners",), {})


def _suppressors(code: str) -> Iterator[Candidate]:
    """Transient suppressors of the generic numbers: P6KE and 1.5KE name the breakdown, SMAJ and SMBJ the stand-off."""
    match = re.fullmatch(r"(P4KE|P6KE|1\.5KE)(\d{1,3}(?:\.\d)?)(C?)(A?)", code)
    if match:
        both = bool(match[3])
        more: dict[str, object] = {"type": "transient suppressor", "bidirectional": both}
        reasons = (f"{match[1]}: breakdown voltage in the number", "A is 5 %" if match[4] else "no A: 10 %")
        share_of = 0.05 if match[4] else 0.10
        text = f"{match[2]} V transient suppressor{', both ways' if both else ''}"
        yield build(
            "zener",
            float(match[2]),
            source=GENERIC,
            score=0.9,
            why=reasons,
            tolerance=even(share_of),
            text=text,
            more=more,
        )
    match = re.fullmatch(r"(SMAJ|SMBJ|SMCJ|P6SMBJ?)(\d{1,3}(?:\.\d)?)(C?)(A?)", code)
    if match:
        more = {"type": "transient suppressor", "stand_off_voltage": float(match[2]), "bidirectional": bool(match[3])}
        why = (f"{match[1]}: the number is the voltage it stands off; it breaks down some 11 to 20 % above",)
        text = f"transient suppressor, stands off {match[2]} V"
        yield build("zener", None, source=GENERIC, score=0.9, why=why, text=text, more=more)
