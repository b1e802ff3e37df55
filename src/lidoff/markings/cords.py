"""Cords: harmonised codes (HD 361), IEC 60227 types, plain prints such as "2x0.5mm2", American types and gauges."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build
from lidoff.markings.cord_tables import (
    AWG_SOURCE,
    CONDUCTORS,
    FORMS,
    IEC_TYPES,
    MATERIALS,
    SCREENS,
    SECTION_SOURCE,
    SECTIONS,
    UL_TYPES,
    VOLTAGES,
    awg_area,
)
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import HD_361, IEC_60227, UL_CORDS

_MATERIAL: Final = "|".join(sorted(MATERIALS, key=len, reverse=True))
_HARMONISED: Final = re.compile(
    rf"(?P<basis>H|A)(?P<volts>01|03|05|07)(?P<materials>(?:{_MATERIAL})+?)(?P<screen>C4|C|D5|D)?"
    rf"(?P<sheath>(?:{_MATERIAL})*)(?P<form>H[2678]?)?-?(?P<conductor>[FHKRUYDE])(?![A-Z])"
)
_SIZE: Final = re.compile(
    r"(?<![\d.])(?P<cores>\d{1,2})\s?(?P<mark>[XG])\s?(?P<size>\d{0,2}\.\d{1,2}|\d{1,2})(?![\d.])\s?(?P<unit>MM2|MM\^2|SQ\.?MM|MM)?"
)
_BARE_SIZE: Final = re.compile(r"(?<![\d.])(?P<size>\d{0,2}\.\d{1,2}|\d{1,2})\s?(?:MM2|MM\^2|SQ\.?MM)")
_GAUGE: Final = (
    re.compile(
        r"(?:(?P<cores>\d{1,2})\s?(?:C\s?X|[XC])\s?)?(?<![\d.])(?P<gauge>\d{1,2})\s?AWG(?:\s?[X/]?\s?(?P<more>\d)\s?C\b)?"
    ),
    re.compile(r"AWG\s?#?(?P<gauge>\d{1,2})(?:\s?[X/]\s?(?P<more>\d)\s?C?)?(?P<cores>(?!))?"),
    re.compile(r"(?<![\d./])(?P<gauge>1[0-8]|2[0-8])/(?P<more>[2-5])(?![\d/])(?P<cores>(?!))?"),
)
_STYLE: Final = re.compile(r"(?:UL|AWM|STYLE)\s?(?P<style>\d{4,5})")


def decode_cords(seen: Seen) -> list[Candidate]:
    """Every reading of a print as a cord or wire."""
    text = re.sub(r"(?<=\d),(?=\d)", ".", seen.text.upper())
    for reader in (_harmonised, _iec, _american, _plain):
        found = list(reader(text))
        if found:
            return found
    return []


def _section(text: str, lettered: bool) -> tuple[float | None, dict[str, object], str, float]:
    """Cross-section [mm²], cores and earth of a print, how it reads, and how well the size suits a cord."""
    match = _SIZE.search(text)
    more: dict[str, object] = {}
    if match:
        size = float(match["size"])
        cores = int(match["cores"])
        more["cores"] = cores
        earth = match["mark"] == "G"
        if earth or lettered:
            more["earth"] = earth
        known = 1.0 if size in SECTIONS else 0.4
        sign = "G" if earth else "×"
        if match["unit"] is None and not lettered:
            known *= 0.8
        return size, more, f"{cores} {sign} {size:g} mm²", known
    match = _BARE_SIZE.search(text) or (re.fullmatch(r"\s*(?P<size>\d{0,2}\.?\d{1,2})\s*", text) if lettered else None)
    if match:
        size = float(match["size"])
        return size, more, f"{size:g} mm²", 1.0 if size in SECTIONS else 0.5
    return None, more, "", 1.0


def _harmonised(text: str) -> Iterator[Candidate]:
    match = _HARMONISED.search(text.replace(" -", "-").replace("- ", "-"))
    if match is None:
        return
    rest = text[match.end() :]
    size, more, size_text, weight = _section(rest, lettered=True)
    signs = re.findall(_MATERIAL, match["materials"] + match["sheath"])
    low, high = VOLTAGES[match["volts"]]
    more |= {"voltage": high, "voltage_to_earth": low, "insulation": MATERIALS[signs[0]].meaning}
    why = [
        "harmonised type" if match["basis"] == "H" else "recognised national type",
        f"{match['volts']}: {low:g}/{high:g} V",
        f"{signs[0]} insulation: {MATERIALS[signs[0]].meaning}",
    ]
    if len(signs) > 1:
        more["sheath"] = MATERIALS[signs[-1]].meaning
        why.append(f"{signs[-1]} sheath: {MATERIALS[signs[-1]].meaning}")
    else:
        why.append("no sheath")
    if match["screen"]:
        more["screen"] = SCREENS[match["screen"][:2] if match["screen"] == "C4" else match["screen"][0]].meaning
    if match["form"]:
        more["form"] = FORMS[match["form"]].meaning
        why.append(f"{match['form']}: {FORMS[match['form']].meaning}")
    more["conductor"] = CONDUCTORS[match["conductor"]].meaning
    more["code"] = match[0]
    why.append(f"{match['conductor']}: {CONDUCTORS[match['conductor']].meaning}")
    if size is None:
        why.append("the cross-section was not read")
    elif size not in SECTIONS:
        why.append(f"{size:g} mm² is not a usual cross-section of cords")
    text_out = ", ".join(part for part in (size_text, match[0]) if part)
    yield build("cord", size, source=HD_361, score=0.95 * weight, why=why, text=text_out, more=more)


def _iec(text: str) -> Iterator[Candidate]:
    match = re.search(r"(?:60)?(227|245)\s?IEC\s?(\d\d)", text)
    row = IEC_TYPES.get(f"60{match[1]} IEC {match[2]}") if match else None
    if match is None or row is None:
        return
    size, more, size_text, weight = _section(f"{text[: match.start()]} {text[match.end() :]}", lettered=True)
    more |= {"voltage": row.voltage, "code": row.sign, "harmonised": row.harmonised}
    why = (f"{row.sign}: {row.what}, as {row.harmonised}",)
    text_out = ", ".join(part for part in (size_text, row.sign) if part)
    yield build("cord", size, source=IEC_60227, score=0.9 * weight, why=why, text=text_out, more=more)


def _american(text: str) -> Iterator[Candidate]:
    kind = next((sign for sign in sorted(UL_TYPES, key=len, reverse=True) if _stands_alone(sign, text)), None)
    style = _STYLE.search(text)
    rest = text if style is None else f"{text[: style.start()]} {text[style.end() :]}"
    gauge = next((hit for pattern in _GAUGE if (hit := pattern.search(rest))), None)
    if kind is None and gauge is None:
        return
    if kind is None and gauge is not None and "AWG" not in text and style is None:
        weight = 0.35
    else:
        weight = 0.9
    more: dict[str, object] = {}
    why: list[str] = []
    words: list[str] = []
    size: float | None = None
    if kind:
        row = UL_TYPES[kind]
        more |= {"code": kind, "voltage": row.voltage, "form": row.what}
        why.append(f"{kind}: {row.what}, {row.voltage:g} V")
        words.append(kind)
    if style:
        more["style"] = style["style"]
        words.append(f"style {style['style']}")
    if gauge:
        number = int(gauge["gauge"])
        if not 4 <= number <= 40:
            return
        size = float(f"{awg_area(number):.4g}")
        more["awg"] = number
        cores = gauge["more"] or gauge["cores"]
        if cores:
            more["cores"] = int(cores)
        words.append(f"{f'{cores} × ' if cores else ''}AWG {number} ({size:.3g} mm²)")
        why.append(f"gauge {number} is {size:.3g} mm²")
    else:
        why.append("the gauge was not read")
    yield build(
        "cord",
        size,
        source=UL_CORDS if kind or style else AWG_SOURCE,
        score=weight,
        why=why,
        text=", ".join(words),
        more=more,
    )


def _stands_alone(sign: str, text: str) -> bool:
    pattern = re.escape(sign).replace(r"\-", r"[- ]?")
    return re.search(rf"(?<![A-Z0-9]){pattern}(?![A-Z0-9])", text) is not None


def _plain(text: str) -> Iterator[Candidate]:
    size, more, size_text, weight = _section(text, lettered=False)
    if size is None or not 0.03 <= size <= 16:
        return
    cores = more.get("cores")
    if cores is None and not _BARE_SIZE.fullmatch(text):
        weight *= 0.6
    why = ["cores and cross-section as printed" if cores else "a cross-section as printed"]
    if size not in SECTIONS:
        why.append(f"{size:g} mm² is not a usual cross-section of cords")
    yield build("cord", size, source=SECTION_SOURCE, score=0.85 * weight, why=why, text=size_text, more=more)
