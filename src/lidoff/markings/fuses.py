"""Fuses: text after IEC 60127, plug fuses after BS 1362, thermal links, and bare ratings that may be a fuse's."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build, shown
from lidoff.markings.fuse_tables import BREAKING, PLUG_FUSES, SPEEDS, series_of
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import FUSE_PLUG, FUSE_TEXT, THERMAL_LINK
from lidoff.quantity import celsius

_SPEED_WORDS: Final = (
    ("very quick", "FF"),
    ("superfast", "FF"),
    ("very slow", "TT"),
    ("time-lag", "T"),
    ("time lag", "T"),
    ("anti-surge", "T"),
    ("antisurge", "T"),
    ("slow blow", "T"),
    ("slo-blo", "T"),
    ("slow", "T"),
    ("fast", "F"),
    ("quick", "F"),
)
_VOLTS: Final = re.compile(r"(\d{2,3})(?:V(?:AC|DC)?|~)(?:AC|DC|~)?")
_IEC: Final = re.compile(
    r"(?P<speed>FF|TT|F|M|T)?(?P<amount>\d+\.?\d*|\.\d+)(?P<unit>MA|A)?(?P<after>FF|TT|F|T)?(?P<breaking>[LEH])?"
)
_BODY: Final = re.compile(r"\b(?:5(?:\.2)?\s?x\s?20|6\.3\s?x\s?(?:32|30|25)|3\.6\s?x\s?10)\s?(?:mm)?\b")
_MARKS: Final = re.compile(r"\b(CE|UL|CSA|VDE|SEMKO|CCC|PSE|ENEC|BSI|KC|CQC)\b", re.IGNORECASE)


def decode_fuses(seen: Seen) -> list[Candidate]:
    """Every reading of a text as a fuse, a thermal link or the rating of contacts."""
    plug = list(_plug(seen))
    if plug:
        return plug
    return [*_thermal_link(seen), *_miniature(seen)]


def _plug(seen: Seen) -> Iterator[Candidate]:
    upper = seen.text.upper().replace("/", " ")
    if not re.search(r"BS\s?1362", upper):
        return
    rest = re.sub(r"BS\s?1362", " ", upper)
    amps = re.search(r"(\d+)\s?A(?![A-Z]{2})", rest)
    colour = re.search(r"RED|BROWN|BLACK", rest)
    if amps is None and colour is None:
        unread = ("the number of the plug fuse standard; the rating was not read",)
        yield build("fuse", None, source=FUSE_PLUG, score=0.5, why=unread, text="plug fuse, rating not read")
        return
    if amps is None:
        rows = [row for row in PLUG_FUSES if colour and row.colour == colour[0].lower()]
        printed = f"plug fuses printed in {colour[0].lower() if colour else ''}"
        for row in rows:
            more = {"standard": "BS 1362", "print_colour": row.colour}
            yield build(
                "fuse",
                row.current,
                source=FUSE_PLUG,
                score=0.6 / len(rows),
                why=(printed,),
                extra="plug fuse",
                more=more,
            )
        return
    current = float(amps[1])
    listed = next((row for row in PLUG_FUSES if row.current == current), None)
    why = [f"plug fuse with {current:g} A printed"]
    score = 0.95
    if listed is None:
        score = 0.3
        why.append("not a rating plug fuses are sold in")
    elif not listed.preferred:
        score = 0.85
        why.append("not one of the two preferred ratings, 3 A and 13 A")
    if listed is not None and colour and colour[0].lower() != listed.colour:
        score *= 0.5
        why.append(f"its print should be {listed.colour}")
    more = {"standard": "BS 1362"} | ({"print_colour": listed.colour} if listed else {})
    yield build("fuse", current, source=FUSE_PLUG, score=score, why=why, extra="plug fuse", more=more)


def _thermal_link(seen: Seen) -> Iterator[Candidate]:
    match = re.search(r"\bT[FM]\s?[:=]?\s?(\d{2,3})\s?(?:°?\s?C)?(?![\d.A-Z])", seen.text, re.IGNORECASE)
    if match is None or not 50 <= int(match[1]) <= 320:
        return
    rest = f"{seen.text[: match.start()]} {seen.text[match.end() :]}".upper()
    amps = re.search(r"(\d+(?:\.\d+)?)\s?A\b", rest)
    volts = re.search(r"(\d{2,3})\s?V", rest)
    temperature = round(int(match[1]) + 273.15, 2)
    more: dict[str, object] = {"type": "thermal link", "temperature": temperature}
    if volts:
        more["voltage"] = float(volts[1])
    current = float(amps[1]) if amps else None
    text = f"thermal link, opens at {celsius(temperature)}" + (f", {shown(current, 'A')}" if current else "")
    why = ("Tf is the temperature at which a thermal link opens for good",)
    yield build("fuse", current, source=THERMAL_LINK, score=0.8, why=why, text=text, more=more)


def _miniature(seen: Seen) -> Iterator[Candidate]:
    low = seen.text.lower()
    speed: str | None = None
    for word, letter in _SPEED_WORDS:
        if word in low:
            speed = letter
            low = low.replace(word, " ")
            break
    low = _MARKS.sub(" ", re.sub(r"\b(?:fuse|glass|ceramic)\b", " ", low))
    size = _BODY.search(low)
    if size:
        low = f"{low[: size.start()]} {low[size.end() :]}"
    compact = re.sub(r"[\s/;_-]+", "", low.upper())
    compact = re.sub(r"(?<=\d),(?=\d)", ".", compact)
    volts = None
    # The voltage is the last number with a V; "T2AL250V" holds no other.
    hits = list(_VOLTS.finditer(compact))
    if hits:
        volts = hits[-1]
        compact = compact[: volts.start()] + compact[volts.end() :]
    match = _IEC.fullmatch(compact)
    if match is None or float(match["amount"]) == 0 or re.match(r"0\d", match["amount"]):
        return
    speed = speed or match["speed"] or match["after"]
    unit = match["unit"]
    if unit is None and (speed is None or volts is None):
        return
    amount = float(match["amount"])
    # Below one ampere IEC 60127 marks milliamperes; without a unit "T500L250V" can only be those.
    milli = unit == "MA" or (unit is None and amount >= 32)
    current = amount / 1000.0 if milli else amount
    if not 0.002 <= current <= 63:
        return
    yield from _rated(seen, current, speed, match["breaking"], float(volts[1]) if volts else None, unit is None)


def _rated(
    seen: Seen, current: float, speed: str | None, breaking: str | None, volts: float | None, bare: bool
) -> Iterator[Candidate]:
    """A fuse of that rating [A, V]; without a speed letter also the rating of contacts."""
    why: list[str] = []
    score = 0.95 if speed else 0.5
    more: dict[str, object] = {}
    words: list[str] = []
    if speed:
        row = SPEEDS[speed]
        more |= {"speed": row.name, "letter": speed}
        words.append(f"{row.name} ({speed})")
        why.append(f"{speed} before the current is {row.name}")
    else:
        why.append("no letter for the speed")
    if breaking:
        capacity = BREAKING[breaking]
        more |= {"breaking": breaking, "breaking_capacity": max(capacity.current, capacity.multiple * current)}
        words.append(f"{capacity.name} breaking capacity ({breaking})")
        why.append(f"{breaking} is {capacity.name} breaking capacity")
        score = max(score, 0.8)
    if volts:
        more["voltage"] = volts
        words.append(f"{volts:g} V")
    if bare:
        score *= 0.8
        why.append("the unit of the current is left out")
    series = series_of(current)
    if series is None:
        score *= 0.4
        why.append(f"{shown(current, 'A')} is on no list of rated currents")
    else:
        why.append(f"{shown(current, 'A')} is a rated current ({series})")
    text = ", ".join([shown(current, "A"), *words])
    off_list = series is None
    yield build("fuse", current, source=FUSE_TEXT, score=score, why=why, text=text, more=more, off_list=off_list)
    if not speed and not breaking:
        reason = "switches, relays and connectors are printed with such ratings too"
        contacts = f"{shown(current, 'A')}{f', {volts:g} V' if volts else ''} contact rating"
        rated = {"current": current} | ({"voltage": volts} if volts else {})
        yield build("switch", current, source=FUSE_TEXT, score=0.3, why=(reason,), text=contacts, more=rated)
