"""IP codes and the symbols on rating plates, given as words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from lidoff.markings.building import build
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import IP_CODE, LUMINAIRE_SYMBOL, MARK_OF_CONFORMITY
from lidoff.markings.symbol_table import SYMBOLS
from lidoff.quantity import celsius

SOLIDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "0": "no protection",
        "1": "objects of 50 mm and more; the back of a hand",
        "2": "objects of 12.5 mm and more; a finger",
        "3": "objects of 2.5 mm and more; a tool",
        "4": "objects of 1 mm and more; a wire",
        "5": "dust, as far as it would harm",
        "6": "dust altogether",
    }
)
WATER: Final[Mapping[str, str]] = MappingProxyType(
    {
        "0": "no protection",
        "1": "drops falling straight down",
        "2": "drops when tilted up to 15°",
        "3": "spray up to 60° from upright",
        "4": "splashes from all sides",
        "5": "jets",
        "6": "strong jets",
        "7": "immersion for a short time",
        "8": "immersion for a long time, as the maker states",
        "9": "hot jets of high pressure",
    }
)
ACCESS: Final[Mapping[str, str]] = MappingProxyType(
    {"A": "the back of a hand", "B": "a finger", "C": "a tool", "D": "a wire"}
)
EXTRA: Final[Mapping[str, str]] = MappingProxyType(
    {
        "H": "high-voltage apparatus",
        "M": "moving during the water test",
        "S": "standing still during the water test",
        "W": "for stated weather",
    }
)
_IP: Final = re.compile(r"IP\s?(?P<solids>[0-6X])(?P<water>[0-8X]|9K?)(?P<access>[A-D])?(?P<extra>[HMSWF]*)")


def decode_enclosures(seen: Seen) -> list[Candidate]:
    """Every reading of a text as an IP code or a symbol in words."""
    return [*_ip_codes(seen), *_symbols(seen)]


def _ip_codes(seen: Seen) -> Iterator[Candidate]:
    both = re.fullmatch(r"(IP\s?\w\w)/(?:IP)?(\w\w)", seen.upper)
    if both:
        for place, code in enumerate((both[1], f"IP{both[2]}")):
            for candidate in _one_code(code):
                note = f"{candidate.why}; one of two codes, as a rule of the front and of the back"
                yield replace(candidate, why=note, score=candidate.score - 0.05 * place)
        return
    yield from _one_code(seen.upper)


def _one_code(code: str) -> Iterator[Candidate]:
    match = _IP.fullmatch(code)
    if match is None or not set(match["extra"]) <= set(EXTRA):
        return
    solids, water = match["solids"], match["water"]
    if solids == water == "X" and not match["access"]:
        return
    digits = f"{'0' if solids == 'X' else solids}{'0' if water == 'X' else water[0]}"
    why = []
    more: dict[str, object] = {
        "solids": None if solids == "X" else int(solids),
        "water": None if water == "X" else int(water[0]),
    }
    for sign, table, name in ((solids, SOLIDS, "solids"), (water[0], WATER, "water")):
        if sign == "X":
            why.append(f"{name}: not stated")
        else:
            more[f"{name}_text"] = table[sign]
            why.append(f"{name} {sign}: {table[sign]}")
    if match["access"]:
        more["access"] = ACCESS[match["access"]]
        why.append(f"{match['access']}: kept from dangerous parts: {ACCESS[match['access']]}")
    for letter in match["extra"]:
        why.append(f"{letter}: {EXTRA[letter]}")
    text = f"IP{solids}{water}{match['access'] or ''}{match['extra']}"
    yield build("enclosure", float(int(digits)), source=IP_CODE, score=0.95, why=why, text=text, more=more)


def _temperature(rated: re.Match[str]) -> Candidate:
    """A temperature on a label: "ta 40°C" (surroundings), "tc 75°C" (a marked point of the case), "T85", "105°C"."""
    meaning = {
        "ta": "the warmest surroundings it is rated for (ta)",
        "tc": "the warmest its marked point may be (tc)",
    }.get((rated[1] or "").lower(), "the temperature it is rated for")
    kelvin = round(273.15 + int(rated[2]), 2)
    score = 0.8 if rated[1] and rated[3] else (0.6 if rated[1] or "°" in rated[3] else 0.3)
    text = f"{celsius(kelvin)}: {meaning}"
    return build(
        "symbol", None, source=LUMINAIRE_SYMBOL, score=score, why=(meaning,), text=text, more={"temperature": kelvin}
    )


def _symbols(seen: Seen) -> Iterator[Candidate]:
    if re.fullmatch(r"E\d{5,6}", seen.compact):
        why = ("E and five or six digits: a file number of the body that judged it; it names the maker",)
        yield build("symbol", None, source=MARK_OF_CONFORMITY, score=0.7, why=why, text="file number of a UL listing")
    rated = re.fullmatch(r"(T[AC]?)?\s?[=:]?\s?(\d{2,3})\s?(°\s?C|C)?", seen.text, re.IGNORECASE)
    if rated and (rated[1] or rated[3]) and 25 <= int(rated[2]) <= 200:
        yield _temperature(rated)
    low = re.sub(r"[\s_-]+", " ", seen.text.lower()).strip(" .")
    for row in SYMBOLS:
        if low in row.words:
            yield build(
                "symbol",
                None,
                source=row.source,
                score=0.9,
                why=(row.meaning,),
                text=row.name,
                more=row.more,
            )
